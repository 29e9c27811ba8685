"""The buyer's book: what to order by which day, and the sheets that stand behind it."""

from reports.need_sheets import behind_sheet, by_week_sheets
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.stock_sheets import coolant_sheet, slow_parts_sheet, stock_sheet
from reports.view import View, figure, rows_of, text
from reports.words import counted, money, packs_text, week_words

_MOST_VISITS = 5  # named on an order line; Behind it names all


def buyer_sheets(view: View) -> tuple[Sheet, ...]:
    """Return the sheets of the buyer's book."""
    return (
        _order(view),
        *by_week_sheets(view),
        slow_parts_sheet(view),
        coolant_sheet(view),
        stock_sheet(view),
        behind_sheet(view),
    )


def _order(view: View) -> Sheet:
    orders = view.outlook.supply.orders
    currency = view.outlook.settings.currency
    headings = (
        Heading("order by", "day", 12),
        Heading("or late", width=9),
        Heading("supplier", width=14),
        Heading("part", width=11),
        Heading("their number", width=11),
        Heading("what", width=20),
        Heading("quantity", "number", 11),
        Heading("counted in", width=12.5),
        Heading("packs", width=9.5),
        Heading("deliver to", width=11),
        Heading("needed on", "day", 12),
        Heading(f"price, {currency}", "money", 9),
        Heading(f"cost, {currency}", "money", 10),
        Heading("for visits", width=12),
        Heading("why", width=27),
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
        said.append(
            f"{counted(late, 'line').capitalize()} cannot come in time any more; ask for a "
            "quicker way."
        )
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
        Past(order_by) if late > 0 else order_by,
        Past(f"{late:.0f} days too late") if late > 0 else "",
        text(one["supplier"]) or "no offer known",
        text(one["part"]),
        text(one["their_number"]),
        text(one["what"]),
        figure(one["quantity"]),
        text(one["counted_in"]),
        packs_text(one["packs"], one["pack"]),
        view.depot_name(text(one["depot"])),
        figure(one["needed_on"]),
        figure(one["price"]),
        figure(one["cost"]),
        _few_visits(text(one["for_visits"])),
        text(one["why"]),
    )


def _few_visits(visits: str) -> str:
    """Return the first visits one below the other, and how many more there are."""
    each = [one.strip() for one in visits.split(",") if one.strip()]
    more = [f"and {len(each) - _MOST_VISITS} more"] if len(each) > _MOST_VISITS else []
    return "\n".join(each[:_MOST_VISITS] + more)
