"""A screenful that tells each reader which book to open and what it says."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from reports.words import clock, counted, hours, money, on_day, week_words, weekday

MOST = 8


def first_look(outlook: Outlook, folder: Path) -> str:
    """Return the text shown after a week's books were made."""
    plan, supply = outlook.plan, outlook.supply
    start = days.monday(outlook.week)
    on = plan.visits["start_on"].astype(float)
    coming = plan.visits[(on >= start) & (on < start + 7)]
    rounds = plan.rounds[plan.rounds["on"].astype(float) < start + 7]
    cost = float(supply.orders["cost"].astype(float).sum())
    shops = sorted(plan.weeks["depot"].unique())
    lines = [
        f"The books of {outlook.week}, {week_words(outlook.week)}, lie in",
        f"  {folder}",
        f"They were made as of {weekday(outlook.as_of)}.",
        "",
        "Fleet manager: open manager.xlsx, sheet Week ahead.",
        (
            f"  {counted(len(coming), 'visit').capitalize()} in the coming week, "
            f"{hours(float(coming['minutes'].astype(float).sum()))} of work:"
        ),
        *_visits(coming, plan.visit_services),
        (
            f"  {counted(len(plan.visits), 'visit').capitalize()} over "
            f"{outlook.settings.horizon_weeks} weeks; the sheet Decisions tells why "
            f"{counted(len(plan.not_placed), 'vehicle')} could not be given a day."
        ),
        "",
        f"Mechanic: open your shop's book ({', '.join(f'{one}-mechanic.xlsx' for one in shops)}).",
        (
            f"  Days, parts to pull, one job sheet a visit, a yard round of "
            f"{counted(len(rounds), 'unit')}, and Results to fill in."
        ),
        "",
        "Buyer: open buyer.xlsx, sheet Order.",
        (
            f"  {counted(len(supply.orders), 'order line').capitalize()} for "
            f"{money(cost, outlook.settings)} to be placed within two weeks."
        ),
        "",
        "Dispatch: pin up the sheet Bring in; the .ics files go into a calendar.",
        "",
        (
            f"Commands started in {folder.parent.parent} use this fleet and take "
            f"{on_day(outlook.as_of)} as today."
        ),
        "Try there: fleetcool due --weeks 4",
    ]
    return "\n".join(lines)


def _visits(coming: pd.DataFrame, services: pd.DataFrame) -> Sequence[str]:
    """Return one line a visit, at most eight."""
    done = services.groupby("visit", sort=True)["service"].agg(list)
    rows = coming.sort_values(["start_on", "visit"], kind="stable").head(MOST)
    lines = [
        f"    {weekday(day)} {clock(minute)}, unit {unit} at {depot}: {', '.join(done[visit])}"
        for visit, day, minute, unit, depot in zip(
            rows["visit"],
            rows["start_on"],
            rows["start_minute"],
            rows["unit"],
            rows["depot"],
            strict=True,
        )
    ]
    more = len(coming) - len(lines)
    return [*lines, f"    and {more} more"] if more > 0 else lines
