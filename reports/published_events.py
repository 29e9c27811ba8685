"""Visits published of late that the plan no longer holds: those done, and those called off."""

import pandas as pd

from fleetcool.visits.said import Said, said_of
from reports.view import View, rows_of, text

BACK_DAYS = 35  # older ones are history that nobody's calendar asks for; common practice
_GONE = "It is no longer planned."


def earlier_visits(
    view: View, depot: str
) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Return what one shop's calendar keeps: visits done, and visits let go or not come.

    Rows are as last published, with the state they ended in and `services` as text.
    """
    standing, plan = view.outlook.standing, view.outlook.plan
    known = {str(one) for one in pd.concat([plan.visits["visit"], plan.let_go["visit"]])}
    visits = standing.published_visits
    of_late = visits["start_on"].astype("float64") >= view.outlook.as_of - BACK_DAYS
    visits = visits[of_late & (visits["depot"] == depot)]
    rows = [one for one in rows_of(visits) if text(one["visit"]) not in known]
    if not rows:
        return [], []
    said = said_of(standing["decisions"], "visit")
    told = set(standing["history"]["visit"].dropna().astype(str))
    services = _services(standing.published_services)
    done, called_off = [], []
    for row in rows:
        visit = text(row["visit"])
        ended = said.get(visit, Said()).closed
        row |= {"services": ", ".join(services.get(visit, ()))}
        if ended == "done" or (not ended and visit in told):
            done.append(row | {"state": "done"})
        else:
            called_off.append(row | {"state": ended or "let go", "why": _GONE})
    return done, called_off


def _services(published: pd.DataFrame) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for one in rows_of(published.sort_values(["visit", "due", "service"])):
        found.setdefault(text(one["visit"]), []).append(text(one["service"]))
    return found
