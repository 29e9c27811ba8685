"""The manager's book: who is off the road when, at what cost, and what waits for a decision."""

from reports.advice_sheet import advice_sheet
from reports.bring_in import bring_in_sheet
from reports.decisions import decisions_sheet
from reports.month import month_sheet
from reports.odd_readings import odd_readings_sheet
from reports.sheets import Sheet
from reports.trust import trust_sheet
from reports.twelve_weeks import twelve_weeks_sheet
from reports.vehicles_sheet import vehicles_sheet
from reports.view import View
from reports.week_ahead import week_ahead_sheet


def manager_sheets(view: View, since: tuple[str, ...] = ()) -> tuple[Sheet, ...]:
    """Return the sheets of the manager's book; `since` says what changed since Thursday."""
    return (
        week_ahead_sheet(view, since),
        twelve_weeks_sheet(view),
        vehicles_sheet(view),
        decisions_sheet(view),
        odd_readings_sheet(view),
        advice_sheet(view),
        month_sheet(view),
        trust_sheet(view),
        bring_in_sheet(view),
    )
