"""The buyer's sheets of need by week: what moves at least monthly, and every need behind it."""

from fleetcool.model.days import iso_week, monday
from reports.sheets import MOST_ROWS, Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import LEAST_SHOWN, on_day

_WEEKS = 26
_PRINTED_WEEKS = 8  # of Behind it; the lines after them stay in the sheet


def by_week_sheets(view: View) -> tuple[Sheet, Sheet]:
    """Return the need of each week, half of the weeks on a sheet so that it prints readably."""
    weeks = _weeks(view)
    half = _WEEKS // 2
    return (
        _some_weeks(view, "By week", weeks[:half]),
        _some_weeks(view, "Later weeks", weeks[half:]),
    )


def _some_weeks(view: View, name: str, weeks: list[str]) -> Sheet:
    headings = (
        Heading("part", width=11),
        Heading("what", width=25),
        Heading("depot", width=13),
        Heading("counted in", width=12.5),
        Heading("figure", width=12),
        *(Heading(f"{week[2:4]}-{week[5:]}", "number", 7.5) for week in weeks),
    )
    last = on_day(monday(weeks[-1]) + 6)
    return Sheet(
        name,
        (
            Block(
                name.lower().replace(" ", "_"),
                headings,
                tuple(_week_rows(view, weeks)),
                "No coolant and no part that moves at least monthly is needed in these weeks.",
            ),
        ),
        title=f"{name}: coolant and parts that move at least monthly",
        sentences=(
            (
                f"Weeks from Monday {on_day(monday(weeks[0]))} to Sunday {last}, headed by year "
                "and week number. Expected is what is used on average; in nine weeks of ten the "
                "second line is enough. An empty cell, or a line left out, is nothing."
            ),
        ),
    )


def _week_rows(view: View, weeks: list[str]) -> list[tuple[Cell, ...]]:
    supply = view.outlook.supply
    moving = ~supply.parts["slow"].astype(bool) | supply.parts["is_coolant"].astype(bool)
    needs = supply.needs[supply.needs["week"].isin(weeks)]
    table = {
        (text(one["part"]), text(one["depot"]), text(one["week"])): (
            figure(one["expected"]),
            figure(one["p90"]),
        )
        for one in rows_of(needs)
    }
    wanted = {(part, depot) for (part, depot, _), said in table.items() if max(said) >= LEAST_SHOWN}
    rows: list[tuple[Cell, ...]] = []
    for one in rows_of(supply.parts[moving].sort_values(["part", "depot"])):
        part, depot = text(one["part"]), text(one["depot"])
        if (part, depot) not in wanted:
            continue
        for at, what in enumerate(("expected", "90 % enough")):
            values = [table.get((part, depot, week), (0.0, 0.0))[at] for week in weeks]
            said = (part, text(one["what"]), view.depot_name(depot), text(one["counted_in"]), what)
            if max(values) < LEAST_SHOWN:
                continue
            rows.append((*said, *(value if value >= LEAST_SHOWN else None for value in values)))
    return rows


def behind_sheet(view: View) -> Sheet:
    """Return every need with its unit, service, days and probability, soonest first."""
    behind = view.outlook.supply.behind
    headings = (
        Heading("part", width=14),
        Heading("depot", width=14),
        Heading("week", width=11),
        Heading("unit", width=9),
        Heading("service", width=20),
        Heading("visit", width=14),
        Heading("quantity", "number", 10),
        Heading("probability", "percent", 13),
        Heading("due early", "day", 13),
        Heading("due", "day", 13),
        Heading("due late", "day", 13),
    )
    order = ["week", "part", "depot", "unit", "service", "visit"]
    chosen = behind.sort_values(order)
    rows = tuple(
        (
            text(one["part"]),
            view.depot_name(text(one["depot"])),
            text(one["week"]),
            text(one["unit"]),
            text(one["service"]),
            text(one["visit"]) or "none yet",
            figure(one["quantity"]),
            _percent(figure(one["probability"])),
            figure(one["due_early"]),
            figure(one["due"]),
            figure(one["due_late"]),
        )
        for one in rows_of(chosen.head(MOST_ROWS + 1))
    )
    printed_until = iso_week(monday(_weeks(view)[0]) + 7 * _PRINTED_WEEKS)
    n_near = min(int((chosen["week"].astype(str) < printed_until).sum()), len(rows))
    said = "Probability is that of the need falling into this week."
    if n_near < len(rows):
        said += f" The first {_PRINTED_WEEKS} weeks are printed; all weeks stand in the sheet."
    return Sheet(
        "Behind it",
        (Block("behind_it", headings, rows, "No need is in sight.", printed=n_near),),
        title="Behind it: every need with its unit, service and days",
        sentences=(said,) if rows else (),
    )


def _percent(probability: float) -> float:
    return probability * 100


def _weeks(view: View) -> list[str]:
    first = monday(iso_week(view.outlook.as_of)) if view.outlook.as_of < view.start else view.start
    return [iso_week(first + 7 * number) for number in range(_WEEKS)]
