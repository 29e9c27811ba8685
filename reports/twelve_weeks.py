"""The sheet Twelve weeks: hours there and planned, what is short, what is saved together."""

import pandas as pd

from fleetcool.model.days import iso_week
from reports.sheets import Block, Cell, Heading, Lines, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import hours, money

_N_WEEKS = 12
_NONE = "No shop has hours."
PLANNED, ALONE = "as planned", "each alone"


def twelve_weeks_sheet(view: View) -> Sheet:
    """Return hours and prices by week, for all shops and each, and what was saved together."""
    weeks = view.outlook.plan.weeks
    names = [iso_week(view.start + 7 * number) for number in range(_N_WEEKS)]
    chosen = weeks[weeks["week"].isin(names)].sort_values(["depot", "week"])
    headings = _headings(view.outlook.settings.currency)
    return Sheet(
        "Twelve weeks",
        (
            _all_shops(chosen, names, view, headings),
            _by_shop(chosen, names, view, headings),
            _together(view),
        ),
        title="Twelve weeks: hours of cooling work needed and there",
        sentences=(
            (
                "Hours needed are those of the visits planned now; later weeks still fill up. "
                "A visit counts in the week it starts, its hours in the weeks they are worked."
            ),
            (
                "What one more hour or bay would save stands only where that is short; short of "
                "says what keeps visits from the day of that week that would be their cheapest."
            ),
            *_saved(view),
        ),
    )


def _headings(currency: str) -> tuple[Heading, ...]:
    return (
        Heading("week", width=11),
        Heading("starts", "day", 13),
        Heading("shop", width=18),
        Heading("hours there", "number", 11),
        Heading("hours needed", "number", 11),
        Heading("visits", "whole", 9),
        Heading(f"one more hour saves, {currency}", "money", 11),
        Heading(f"one more bay saves, {currency}", "money", 11),
        Heading("short of", width=36),
        Heading("why there are fewer hours", width=44),
    )


def _by_shop(
    chosen: pd.DataFrame, names: list[str], view: View, headings: tuple[Heading, ...]
) -> Block:
    rows = tuple(
        (
            text(one["week"]),
            float(view.start + 7 * names.index(text(one["week"]))),
            view.depot_name(text(one["depot"])),
            figure(one["hours_available"]),
            figure(one["hours_planned"]),
            figure(one["visits"]),
            _price(one["hour_price"]),
            _price(one["bay_price"]),
            text(one["short_of"]),
            text(one["why_less"]),
        )
        for one in rows_of(chosen)
    )
    title = "Each shop by week"
    return Block("weeks_by_shop", headings, rows, _NONE, title=title, starts_page=True)


def _price(cents: object) -> float | None:
    """Return a price, or nothing where nothing is short."""
    return round(figure(cents)) if figure(cents) >= 0.5 else None


def _all_shops(
    chosen: pd.DataFrame, names: list[str], view: View, headings: tuple[Heading, ...]
) -> Block:
    numbers = chosen[["hours_available", "hours_planned", "visits"]].astype("float64")
    totals = numbers.groupby(chosen["week"].astype(str)).sum().reindex(names, fill_value=0.0)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (week, float(view.start + 7 * at), "all shops", *map(float, values))
        for at, (week, values) in enumerate(zip(names, totals.to_numpy(), strict=True))
    )
    drawn = Lines("Hours of cooling work, all shops", 0, (3, 4), 0, 11, "hours a week")
    return Block("weeks_in_all", headings[:6], rows, _NONE, title="All shops", charts=(drawn,))


def _together(view: View) -> Block:
    """Return what the plan's visits take beside other ways of putting the services together."""
    frame = view.outlook.plan.together
    planned = frame[frame["how"] == PLANNED]["cost"].astype("float64")
    least = float(planned.iloc[0]) if len(planned) else float("nan")
    rows = tuple(_way(one, least) for one in rows_of(frame))
    currency = view.outlook.settings.currency
    headings = (
        Heading("how", width=11),
        Heading("visits", "whole", 13),
        Heading("hours of work", "number", 18),
        Heading("hours off the road", "number", 11),
        Heading(f"cost, {currency}", "money", 11),
        Heading("more than planned", "percent", 9),
    )
    none = "Ways of putting work together are not compared in this issue."
    return Block("together", headings, rows, none, title="What doing work together saves")


def _way(one: dict[str, object], planned: float) -> tuple[Cell, ...]:
    cost = figure(one["cost"])
    return (
        text(one["how"]),
        figure(one["visits"]),
        figure(one["minutes"]) / 60,
        figure(one["off_road_minutes"]) / 60,
        cost,
        100 * (cost - planned) / planned if planned > 0 else None,
    )


def _saved(view: View) -> tuple[str, ...]:
    ways = {text(one["how"]): one for one in rows_of(view.outlook.plan.together)}
    if PLANNED not in ways or ALONE not in ways:
        return ()
    less = {
        name: figure(ways[ALONE][name]) - figure(ways[PLANNED][name])
        for name in ("visits", "minutes", "off_road_minutes", "cost")
    }
    return (
        (
            f"Doing work together saves {less['visits']:,.0f} stays, {hours(less['minutes'])} of "
            f"work, {hours(less['off_road_minutes'])} off the road and "
            f"{money(less['cost'], view.outlook.settings)} over the plan against each service in "
            "a stay of its own."
        ),
    )
