"""What is settled for a whole sheet at once: order of day and month by column, decimal sign."""

from collections.abc import Sequence

from fleetcool.intake.days_read import Order, orders_shown
from fleetcool.intake.numbers_read import decimal_sign
from fleetcool.intake.settle_questions import DAY_ORDER
from fleetcool.intake.settle_sheets import Placed
from fleetcool.intake.settle_table import HELD_BEFORE, Context, SheetRules
from fleetcool.intake.words_read import ANY, Answers, loose
from fleetcool.model.tables import NUMERIC_KINDS


def sheet_rules(placed: Sequence[Placed], context: Context, newest: Answers) -> list[SheetRules]:
    """Return what is settled for each sheet before its cells are read.

    An order of day and month comes from the column itself, else from an answer for the file or
    the settings, else from the other columns of the file. Rows that were held before come from
    many files, so that only answers and settings speak for them; `newest` are the answers that
    come with this intake.
    """
    shown = [_orders(one) for one in placed]
    by_file: dict[str, list[tuple[int, int]]] = {}
    for one, orders in zip(placed, shown, strict=True):
        by_file.setdefault(one.file, []).extend(orders.values())
    rules = []
    for one, orders in zip(placed, shown, strict=True):
        usual = _order_said(one, context, newest)
        if usual is None and not one.fixing:
            usual = _order(by_file[one.file])
        rules.append(
            SheetRules(
                {
                    position: (None if one.fixing else _order([evidence])) or usual
                    for position, evidence in orders.items()
                },
                _decimal(one),
            )
        )
    return rules


def _orders(one: Placed) -> dict[int, tuple[int, int]]:
    return {
        heading.position: orders_shown(texts)
        for name, heading, texts in one.columns
        if one.table.column(name).kind in ("day", "moment")
    }


def _order(evidence: Sequence[tuple[int, int]]) -> Order | None:
    day_first = sum(one[0] for one in evidence)
    month_first = sum(one[1] for one in evidence)
    if day_first == month_first:
        return None
    return "dmy" if day_first > month_first else "mdy"


def _order_said(one: Placed, context: Context, newest: Answers) -> Order | None:
    """Return the order an answer or the settings say for a file."""
    file = HELD_BEFORE if one.fixing else one.file
    answer = context.answers.find(ANY, DAY_ORDER, file)
    if answer is None and one.fixing:
        for answers in (newest, context.answers):
            said = {
                ours for (_, column, _), ours in answers.by_table.items() if column == DAY_ORDER
            }
            if len(said) == 1:
                answer = said.pop()
                break
    if answer is not None:
        return "dmy" if loose(answer).startswith(("day", "dmy")) else "mdy"
    return context.settings.dates


def _decimal(one: Placed) -> str:
    signs = [
        decimal_sign(texts)
        for name, _, texts in one.columns
        if (kind := one.table.column(name).kind) in NUMERIC_KINDS and kind != "flag"
    ]
    dots, commas = signs.count("."), signs.count(",")
    return "." if dots > commas else "," if commas > dots else ""
