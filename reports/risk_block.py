"""The table of the parts most likely to fail soon: a line a part, whatever the plan says of it."""

from fleetcool.model.days import DAYS_PER_MONTH
from reports.sheets import Block, Cell, Heading
from reports.view import View, by_day, figure, rows_of, text
from reports.words import distance_unit, first_upper, in_distance_unit

LEAST = 0.08  # chance of failing within 13 weeks from which a part is named; common practice
MOST = 12  # lines
_TITLE = "Parts most likely to fail in the next 13 weeks"
_NONE = f"No part is more than {100 * LEAST:.0f} % likely to fail in the next 13 weeks."


def risk_block(view: View) -> Block:
    """Return the parts that may fail soon, the likeliest first, with the vehicle's next visit."""
    risks = view.outlook.projection.risks
    risks = risks.assign(chance_13=risks["chance_13"].astype("float64").round(4))
    likely = risks[risks["chance_13"] >= LEAST].sort_values(
        ["chance_13", "vehicle", "place"], ascending=[False, True, True]
    )
    visits = view.outlook.plan.visits
    coming = by_day(visits[visits["state"].isin(["proposed", "fixed", "here", "waiting"])])
    next_on = coming.drop_duplicates("vehicle").set_index("vehicle")["start_on"].to_dict()
    rows = tuple(
        _row(view, one, figure(next_on.get(text(one["vehicle"]), float("nan"))))
        for one in rows_of(likely.head(MOST))
    )
    title = _TITLE if len(likely) <= MOST else f"{_TITLE}, {MOST} of {len(likely)}"
    return Block("parts_at_risk", _headings(view), rows, _NONE, title=title)


def _headings(view: View) -> tuple[Heading, ...]:
    """Return the headings, each no wider than the column of the week's visits it stands in."""
    unit = distance_unit(view.outlook.settings)
    return (
        Heading("next visit", "day", 12),
        Heading("unit", width=8),
        Heading("place", width=11.5),
        Heading("may fail in 4 weeks", "percent", 8),
        Heading("in 13 weeks", "percent", 12),
        Heading("in 26 weeks", "percent", 12),
        Heading("in 52 weeks", "percent", 11),
        Heading("part", width=22),
        Heading(f"age, {unit}", "whole", 9),
        Heading("age, months", "whole", 10),
        Heading("where the chance comes from", width=31),
    )


def _row(view: View, one: dict[str, object], next_on: float) -> tuple[Cell, ...]:
    vehicle, age = text(one["vehicle"]), figure(one["age"])
    by_km = text(one["by"]) == "km"
    return (
        next_on,
        view.vehicle_text(vehicle, "unit") or vehicle,
        text(one["place"]),
        *(100 * figure(one[f"chance_{weeks}"]) for weeks in (4, 13, 26, 52)),
        text(one["part"]) or "number not said",
        in_distance_unit(age, view.outlook.settings) if by_km else None,
        None if by_km else age / DAYS_PER_MONTH,
        _why(text(one["why"])),
    )


def _why(why: str) -> str:
    """Return the clause about its law; its age stands in a column, the rest in the record."""
    clauses = why.split("; ")
    return first_upper(clauses[1] if len(clauses) > 1 else why)
