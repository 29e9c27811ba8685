"""The table What waiting costs: a line a service of the week's visits whose waiting has a price."""

from reports.sheets import Block, Cell, Heading
from reports.view import View, figure, rows_of, text

_TITLE = "What waiting costs, from the day of the visit on"
_YEAR, _LONG = 365, "over a year"  # a day further ahead would say more than is known
_NONE = (
    "No service of this week has a price of waiting: what was found bad does not wait, and coolant "
    "and checks do not fail like a part."
)
SENTENCE = (
    "What waiting costs is told at the middle cost of a failure, and from what to what it lies "
    "between a low and a high one; below nil waiting pays. It pays until it costs more than a "
    "visit of its own would. That speaks of costs alone: the limit and the maker's book come "
    "first, and what was found bad on the vehicle has no line and does not wait."
)


def waiting_block(view: View) -> Block:
    """Return the table of what waiting costs, in the order of the week's visits."""
    waiting = view.outlook.prices.waiting
    visits = view.week_visits()["visit"].astype(str).tolist()
    turn = {visit: at for at, visit in enumerate(visits)}
    chosen = [one for one in rows_of(waiting) if text(one["visit"]) in turn]
    chosen.sort(key=lambda one: (turn[text(one["visit"])], text(one["service"])))
    rows = tuple(_row(view, one) for one in chosen)
    headings = _headings(view.outlook.settings.currency)
    return Block("what_waiting_costs", headings, rows, _NONE, title=_TITLE)


def _headings(currency: str) -> tuple[Heading, ...]:
    """Return the headings, each no wider than the column of the week's visits it stands in."""
    weeks = zip(("1 week", "2 weeks", "4 weeks"), (12, 12, 11), strict=True)
    return (
        Heading("visit", width=11.5),
        Heading("unit", width=8),
        Heading("service", width=11.5),
        Heading("may fail in 4 weeks", "percent", 8),
        *(Heading(f"{name} costs, {currency}", width=width) for name, width in weeks),
        Heading(f"8 weeks costs, {currency}", width=22),
        Heading("may fail in 8 weeks", "percent", 9),
        Heading(f"a day past due costs, {currency}", "money", 10),
        Heading("what decides", width=31),
        Heading("waiting pays until", "day", 12),
    )


def _row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    until = figure(one["pays_until"])
    vehicle = text(one["vehicle"])
    return (
        text(one["visit"]),
        view.vehicle_text(vehicle, "unit") or vehicle,
        text(one["service"]),
        100 * figure(one["chance_4"]),
        *(_costs(one, week) for week in (1, 2, 4, 8)),
        100 * figure(one["chance_8"]),
        figure(one["late_rate"]),
        text(one["why"]),
        until if until <= view.start + _YEAR else _LONG,
    )


def _costs(one: dict[str, object], week: int) -> str:
    """Return what waiting costs, and from what to what: `3.20 (0.80 to 12.40)`."""
    costs = [figure(one[f"cost_{level}_{week}"]) for level in ("low", "mid", "high")]
    return f"{_amount(costs[1])} ({_amount(min(costs))} to {_amount(max(costs))})"


def _amount(cents: float) -> str:
    units = abs(cents) / 100
    said = f"{units:,.0f}" if units >= 100 else f"{units:,.2f}"
    return f"−{said}" if cents < 0 else said
