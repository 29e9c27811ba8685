"""The buyer's book: what to order by which day, what moves by week, what lies there, and why."""

import pandas as pd

from fleetcool.model.days import iso_week, monday
from reports.sheets import MOST_ROWS, Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import amount, counted, money, on_day, week_words

_WEEKS = 26


def buyer_sheets(view: View) -> tuple[Sheet, ...]:
    """Return the sheets of the buyer's book."""
    return (
        _order(view),
        _by_week(view),
        _slow_parts(view),
        _coolant(view),
        _stock(view),
        _behind(view),
    )


def _order(view: View) -> Sheet:
    orders = view.outlook.supply.orders
    headings = (
        Heading("supplier", width=16),
        Heading("order by", "day", 13),
        Heading("or late", width=15),
        Heading("part", width=18),
        Heading("their number", width=14),
        Heading("what", width=24),
        Heading("quantity", "number", 10),
        Heading("counted in", width=9),
        Heading("packs", width=14),
        Heading("deliver to", width=14),
        Heading("needed on", "day", 13),
        Heading("price", "money", 15),
        Heading("cost", "money", 16),
        Heading("for visits", width=24),
        Heading("why", width=36),
    )
    chosen = orders.sort_values(["order_by", "supplier", "depot", "part"])
    rows = tuple(_order_row(view, one) for one in rows_of(chosen))
    total = float(orders["cost"].astype("float64").sum())
    this_week = int((orders["order_by"].astype("float64") < view.stop).sum())
    late = int((orders["late_days"].astype("float64") > 0).sum())
    said = [
        (
            f"{counted(len(rows), 'order line').capitalize()}, "
            f"{money(total, view.outlook.settings)} in all; "
            f"{this_week or 'none'} to be placed by the end of this week."
        )
    ]
    if late:
        said.append(f"{late or 'none'} cannot come in time any more; ask for a quicker way.")
    return Sheet(
        "Order",
        (Block("order_lines", headings, rows, "Nothing needs to be ordered."),),
        title=f"Order, {week_words(view.outlook.week)}",
        sentences=tuple(said),
    )


def _order_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    late = figure(one["late_days"])
    order_by = figure(one["order_by"])
    return (
        text(one["supplier"]) or "no offer known",
        Past(order_by) if late > 0 else order_by,
        Past(f"{late:.0f} days too late") if late > 0 else "",
        text(one["part"]),
        text(one["their_number"]),
        text(one["what"]),
        figure(one["quantity"]),
        text(one["counted_in"]),
        _packs(one),
        view.depot_name(text(one["depot"])),
        figure(one["needed_on"]),
        figure(one["price"]),
        figure(one["cost"]),
        text(one["for_visits"]),
        text(one["why"]),
    )


def _packs(one: dict[str, object]) -> str:
    packs, pack = figure(one["packs"]), figure(one["pack"])
    if not packs > 0 or not pack > 1:
        return ""
    return f"{amount(packs)} of {amount(pack)}"


def _weeks(view: View) -> list[str]:
    first = monday(iso_week(view.outlook.as_of)) if view.outlook.as_of < view.start else view.start
    return [iso_week(first + 7 * number) for number in range(_WEEKS)]


def _by_week(view: View) -> Sheet:
    supply, weeks = view.outlook.supply, _weeks(view)
    moving = supply.parts[
        ~supply.parts["slow"].astype(bool) | supply.parts["is_coolant"].astype(bool)
    ]
    needs = supply.needs
    table = {
        (text(one["part"]), text(one["depot"]), text(one["week"])): (
            figure(one["expected"]),
            figure(one["p90"]),
        )
        for one in rows_of(needs)
    }
    wanted = {(part, depot) for part, depot, _ in table}
    headings = (
        Heading("part", width=18),
        Heading("what", width=24),
        Heading("depot", width=12),
        Heading("counted in", width=8),
        Heading("figure", width=13),
        *(Heading(f"{week[2:4]}-{week[5:]}", "number", 8) for week in weeks),
    )
    rows = []
    for one in rows_of(moving.sort_values(["part", "depot"])):
        part, depot = text(one["part"]), text(one["depot"])
        if (part, depot) not in wanted:
            continue
        for at, what in enumerate(("expected", "90 % enough")):
            values = [table.get((part, depot, week), (0.0, 0.0))[at] for week in weeks]
            rows.append(
                (
                    part,
                    text(one["what"]),
                    view.depot_name(depot),
                    text(one["counted_in"]),
                    what,
                    *(value or None for value in values),
                )
            )
    return Sheet(
        "By week",
        (
            Block(
                "by_week",
                headings,
                tuple(rows),
                "No coolant and no part moves as often as monthly.",
            ),
        ),
        title="By week: coolant and parts that move at least monthly",
        sentences=(
            (
                f"Weeks from {on_day(monday(weeks[0]))}, headed by year and "
                f"week number. Expected is "
                "what is used on average; in nine weeks of ten the second line is enough. An empty "
                "cell is nothing."
            ),
        ),
    )


def _slow_parts(view: View) -> Sheet:
    parts = view.outlook.supply.parts
    slow = parts["slow"].astype(bool) & ~parts["is_coolant"].astype(bool)
    needed = (
        (parts["expected"].astype("float64") > 0)
        | (parts["on_hand"].astype("float64") > 0)
        | (parts["keep_at_least"].astype("float64") > 0)
    )
    headings = (
        Heading("part", width=18),
        Heading("what", width=28),
        Heading("depot", width=14),
        Heading("expected in 26 weeks", "number", 11),
        Heading("first likely week", width=12),
        Heading("have", "number", 9),
        Heading("on order", "number", 9),
        Heading("keep at least", "number", 9),
        Heading("counted in", width=9),
        Heading("why", width=48),
    )
    rows = tuple(
        (
            text(one["part"]),
            text(one["what"]),
            view.depot_name(text(one["depot"])),
            figure(one["expected"]),
            text(one["first_week"]) or "none likely",
            figure(one["on_hand"]),
            figure(one["on_order"]),
            figure(one["keep_at_least"]),
            text(one["counted_in"]),
            text(one["note"]),
        )
        for one in rows_of(parts[slow & needed].sort_values(["part", "depot"]))
    )
    return Sheet(
        "Slow parts",
        (Block("slow_parts", headings, rows, "No slow part is kept or expected."),),
        title="Slow parts: those that move less than monthly",
        sentences=(
            "The first likely week is the one by which one is more likely needed than not.",
        ),
    )


def _coolant(view: View) -> Sheet:
    parts = view.outlook.supply.parts
    coolant = parts[parts["is_coolant"].astype(bool)].sort_values(["part", "depot"])
    orders = view.outlook.supply.orders
    planned = {
        (text(one["part"]), text(one["depot"])): one
        for one in rows_of(orders.sort_values(["part", "depot", "order_by"], ascending=False))
    }
    headings = (
        Heading("coolant", width=20),
        Heading("what", width=28),
        Heading("depot", width=14),
        Heading("litres there", "number", 10),
        Heading("counted on", "day", 13),
        Heading("litres on order", "number", 10),
        Heading("litres in 26 weeks", "number", 10),
        Heading("runs out on", "day", 13),
        Heading("litres to order", "number", 10),
        Heading("containers", width=14),
        Heading("order by", "day", 13),
        Heading("note", width=36),
    )
    rows = []
    for one in rows_of(coolant):
        line = planned.get((text(one["part"]), text(one["depot"])))
        rows.append(
            (
                text(one["part"]),
                text(one["what"]),
                view.depot_name(text(one["depot"])),
                figure(one["on_hand"]),
                figure(one["counted_on"]),
                figure(one["on_order"]),
                figure(one["expected"]),
                figure(one["runs_out_on"]),
                figure(line["quantity"]) if line else None,
                _packs(line) if line else "",
                figure(line["order_by"]) if line else None,
                text(one["note"]),
            )
        )
    return Sheet(
        "Coolant",
        (Block("coolant", headings, tuple(rows), "No coolant is needed or kept."),),
        title="Coolant: litres and containers",
        sentences=(
            (
                "Litres are those of the product as it is bought: a concentrate is thinned before "
                "it is filled, a premix is not."
            ),
        ),
    )


def _stock(view: View) -> Sheet:
    parts, coming = view.outlook.supply.parts, view.outlook.supply.coming
    as_of = view.outlook.as_of
    lying = parts[(parts["on_hand"].astype("float64") > 0) | ~parts["runs_out_on"].isna()]
    lying = lying.assign(_out=lying["runs_out_on"].astype("float64").fillna(float("inf")))
    rows = tuple(
        (
            text(one["part"]),
            text(one["what"]),
            view.depot_name(text(one["depot"])),
            text(one["bin"]),
            figure(one["on_hand"]),
            text(one["counted_in"]),
            figure(one["counted_on"]),
            figure(one["on_order"]),
            _past(figure(one["runs_out_on"]), as_of),
        )
        for one in rows_of(lying.sort_values(["_out", "part", "depot"]))
    )
    arriving = tuple(_coming_row(view, one) for one in rows_of(_by_promise(coming)))
    return Sheet(
        "Stock",
        (
            Block(
                "stock_coming",
                (
                    Heading("part", width=20),
                    Heading("what", width=28),
                    Heading("depot", width=14),
                    Heading("order", width=12),
                    Heading("quantity", "number", 10),
                    Heading("supplier", width=16),
                    Heading("promised on", "day", 13),
                    Heading("or late", width=10),
                ),
                arriving,
                "No order is on its way.",
                title="On its way",
            ),
            Block(
                "stock_there",
                (
                    Heading("part", width=20),
                    Heading("what", width=28),
                    Heading("depot", width=14),
                    Heading("bin", width=12),
                    Heading("there", "number", 10),
                    Heading("counted in", width=16),
                    Heading("counted on", "day", 13),
                    Heading("on order", "number", 10),
                    Heading("runs out on", "day", 13),
                ),
                rows,
                "No stock is counted.",
                title="There, the first to run out first",
            ),
        ),
        title="Stock",
        sentences=("Runs out on is the day on which planned and expected work has used it up.",),
    )


def _past(on: float, as_of: int) -> Cell:
    return Past(on) if on < as_of else on


def _by_promise(coming: pd.DataFrame) -> pd.DataFrame:
    return coming.sort_values(["promised_on", "order", "part"])


def _coming_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    late = text(one["late"]) not in {"", "False", "0", "0.0"}
    promised = figure(one["promised_on"])
    return (
        text(one["part"]),
        text(one["what"]),
        view.depot_name(text(one["depot"])),
        text(one["order"]),
        figure(one["quantity"]),
        text(one["supplier"]),
        Past(promised) if late else promised,
        Past("late") if late else "",
    )


def _behind(view: View) -> Sheet:
    behind = view.outlook.supply.behind
    headings = (
        Heading("part", width=20),
        Heading("depot", width=14),
        Heading("week", width=11),
        Heading("unit", width=9),
        Heading("service", width=20),
        Heading("visit", width=14),
        Heading("quantity", "number", 10),
        Heading("probability", "percent", 11),
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
    return Sheet(
        "Behind it",
        (Block("behind_it", headings, rows, "No need is in sight."),),
        title="Behind it: every need with its unit, service and days",
    )


def _percent(probability: float) -> float:
    return probability * 100
