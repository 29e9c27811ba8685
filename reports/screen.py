"""What the commands show on screen: rich tables of due days, plan, parts, an intake, the ledger."""

from collections.abc import Sequence

import pandas as pd
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from fleetcool.model.outlook import Outlook
from fleetcool.model.taken import Fault, Judged
from reports.view import by_day, figure, rows_of, text, view_of
from reports.words import amount, between, clock, counted, hours, money, on_day

_MOST = 60  # lines of one table on screen; the books show all


def due_screen(outlook: Outlook, weeks: int = 13) -> RenderableType:
    """Return the due days of the coming weeks, soonest first."""
    due = outlook.projection.due
    chosen = due[
        (due["occurrence"] == 1)
        & ~due["open_clock"].astype(bool)
        & (due["q50"].astype("float64") < outlook.as_of + 7 * weeks)
    ]
    clocks = outlook.projection.clocks[["vehicle", "service", "unit", "depot", "governs", "why"]]
    lines = chosen.merge(clocks, on=["vehicle", "service"], how="left")
    lines = lines.sort_values(["q50", "unit", "service"])
    table = _table("unit", "depot", "service", "due", "probably (4 of 5)", "governs", "why")
    for one in rows_of(lines.head(_MOST)):
        due_on = figure(one["q50"])
        past = due_on < outlook.as_of
        table.add_row(
            _plain(one["unit"]),
            _plain(one["depot"]),
            _plain(one["service"]),
            Text(f"{on_day(due_on)}{', past' if past else ''}", "orange3" if past else ""),
            between(figure(one["q10"]), figure(one["q90"])),
            _plain(one["governs"]),
            _plain(one["why"]),
        )
    head = f"{counted(len(lines), 'service')} due within {weeks} weeks of {on_day(outlook.as_of)}"
    return Group(Text(f"{head[0].upper()}{head[1:]}."), table, *_more(len(lines)))


def plan_screen(outlook: Outlook, weeks: int = 4) -> RenderableType:
    """Return the visits of the coming weeks by day, and what was not placed."""
    view, plan = view_of(outlook), outlook.plan
    stop = plan.start + 7 * weeks
    over = plan.visits["state"].isin(["done", "not come", "let go"])
    near = plan.visits[~over & ~(plan.visits["start_on"].astype("float64") >= stop)]
    near = by_day(near)
    table = _table("day", "from", "shop", "bay", "unit", "state", "services", "work", "visit")
    for one in rows_of(near.head(_MOST)):
        silent = text(one["state"]) == "no word yet"
        table.add_row(
            on_day(figure(one["start_on"])),
            clock(figure(one["start_minute"])),
            _plain(one["depot"]),
            _plain(one["bay"]),
            _plain(one["unit"]),
            Text(text(one["state"]), "orange3" if silent else ""),
            Text(view.services_text(text(one["visit"]))),
            hours(figure(one["minutes"])),
            _plain(one["visit"]),
        )
    pieces: list[RenderableType] = [
        Text(
            f"{counted(len(near), 'visit').capitalize()} in {weeks} weeks from "
            f"{on_day(plan.start)}."
        ),
        table,
        *_more(len(near)),
    ]
    if len(plan.not_placed):
        left = _table("unit", "services", "what stood in the way")
        for one in rows_of(plan.not_placed.sort_values(["due", "unit"]).head(_MOST)):
            left.add_row(_plain(one["unit"]), _plain(one["services"]), _plain(one["reason"]))
        pieces += [Text("Not placed:"), left, *_more(len(plan.not_placed))]
    return Group(*pieces)


def parts_screen(outlook: Outlook) -> RenderableType:
    """Return the order lines by the day they must be placed."""
    orders = outlook.supply.orders.sort_values(["order_by", "supplier", "part"])
    table = _table("order by", "supplier", "part", "what", "quantity", "depot", "cost", "why")
    for one in rows_of(orders.head(_MOST)):
        late = figure(one["late_days"])
        said = on_day(figure(one["order_by"]))
        table.add_row(
            Text(
                f"{said}, {late:.0f} days too late" if late > 0 else said,
                "orange3" if late > 0 else "",
            ),
            _plain(one["supplier"]),
            _plain(one["part"]),
            _plain(one["what"]),
            f"{amount(figure(one['quantity']))} {text(one['counted_in'])}",
            _plain(one["depot"]),
            money(figure(one["cost"]), outlook.settings),
            _plain(one["why"]),
        )
    said = f"{counted(len(orders), 'order line').capitalize()} proposed."
    return Group(Text(said), table, *_more(len(orders)))


def take_screen(judged: Judged, intake: int | None) -> RenderableType:
    """Return what an intake took and held: counts, causes, changes, questions, warnings."""
    pieces: list[RenderableType] = []
    if intake is not None:
        pieces.append(Text(f"Intake {intake}."))
    table = _table("table", "taken", "known", "changed", "held")
    for one in rows_of(judged.counts.sort_values("table")):
        names = ("taken", "known", "changed", "held")
        table.add_row(_plain(one["table"]), *(f"{figure(one[name]):.0f}" for name in names))
    pieces.append(table)
    if judged.faults:
        pieces.append(_causes(judged))
    for title, sentences in (
        ("Changed:", [change.sentence for change in judged.changes]),
        (
            "Asked once:",
            [f"{one.sentence} ({counted(one.rows, 'row')})" for one in judged.questions],
        ),
        ("Please look:", list(judged.warnings)),
    ):
        if sentences:
            pieces += [Text(title), *(Text(f"  {one}") for one in sentences[:_MOST])]
            pieces += _more(len(sentences))
    return Group(*pieces)


def _causes(judged: Judged) -> Table:
    counts: dict[str, int] = {}
    first: dict[str, Fault] = {}
    for fault in judged.faults:
        counts[fault.cause] = counts.get(fault.cause, 0) + 1
        first.setdefault(fault.cause, fault)
    table = _table("rows", "cause", "first one", "found", "expected", "what to do")
    for cause, rows in sorted(counts.items(), key=lambda one: (-one[1], one[0])):
        one = first[cause]
        where = f"{one.file}, {one.sheet}, row {one.row}, {one.column}"
        table.add_row(
            str(rows), Text(cause), Text(where), Text(one.found), Text(one.expected), Text(one.do)
        )
    return table


def ledger_screen(ledger: pd.DataFrame) -> RenderableType:
    """Return what timed work ran: every column of the ledger's frame, as it stands."""
    table = _table(*(str(name).replace("_", " ") for name in ledger.columns))
    for values in ledger.astype(object).itertuples(index=False):
        table.add_row(*(_plain(one) for one in values))
    return Group(Text(f"{counted(len(ledger), 'line').capitalize()} in the ledger."), table)


def _table(*headings: str) -> Table:
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in headings:
        table.add_column(heading, overflow="fold")
    return table


def _plain(value: object) -> Text:
    return Text(text(value))


def _more(n_lines: int) -> Sequence[RenderableType]:
    return [Text(f"… and {n_lines - _MOST} more.")] if n_lines > _MOST else []
