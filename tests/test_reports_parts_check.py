"""The parts check of Week ahead and Days: here, on the way, to order or short."""

import dataclasses

import pandas as pd
import pytest
from test_reports_books import AS_OF, MONDAY, frame, outlook

from fleetcool.model import computed
from fleetcool.model.outlook import Outlook
from reports.parts_check import (
    COMES,
    SHORT,
    TO_ORDER,
    missing_parts,
    parts_block,
    parts_line,
    state_of,
)
from reports.sheets import Past
from reports.view import rows_of, view_of

VISIT = "104-27W18"  # on Monday 3 May 2027


@pytest.fixture(scope="module")
def made() -> Outlook:
    return outlook()


def supplied(
    made: Outlook,
    coming: list[tuple[object, ...]] | None = None,
    orders: list[tuple[object, ...]] | None = None,
    note: str = "",
) -> Outlook:
    """Return the outlook with these orders, and the pump of the visit not on the shelf."""
    pull = frame(
        computed.PULL_COLUMNS,
        (VISIT, "NORTH", "P6F-PUMP", "water pump", "each", 1.0, "A-11", False, note),
    )
    supply = dataclasses.replace(
        made.supply,
        pull=pull,
        coming=frame(computed.COMING_COLUMNS, *(coming or [])),
        orders=frame(computed.ORDER_COLUMNS, *(orders or [])),
    )
    return dataclasses.replace(made, supply=supply)


def coming(promised_on: float, *, late: bool = False) -> tuple[object, ...]:
    return ("4711", "P6F-PUMP", "water pump", "NORTH", "SUPPLIER A", 1.0, promised_on, late)


def to_order(order_by: float, late_days: float) -> tuple[object, ...]:
    return (
        "P6F-PUMP", "water pump", "each", "NORTH", "SUPPLIER B", "", 1.0, 1.0, 1.0, order_by,
        MONDAY, late_days, 18500.0, 18500.0, VISIT, "",
    )  # fmt: skip


def first_missing(made: Outlook) -> tuple[str, str, float, bool, str]:
    view = view_of(made)
    (one,) = missing_parts(view, rows_of(view.week_visits()))[VISIT]
    return one.state, one.order, one.on, one.late, one.words


def test_an_order_promised_for_the_day_or_before_comes_before_it(made: Outlook) -> None:
    found = first_missing(supplied(made, [coming(MONDAY)]))
    assert found == (COMES, "4711", MONDAY, False, "comes from SUPPLIER A")


def test_an_order_promised_for_the_day_after_leaves_the_visit_short(made: Outlook) -> None:
    state, order, on, late, words = first_missing(supplied(made, [coming(MONDAY + 1.0)]))
    assert (state, order, on, late) == (SHORT, "4711", MONDAY + 1.0, False)
    assert words == "comes after that day; ask SUPPLIER A or move the visit"


def test_a_late_order_is_no_promise_and_says_since_when_and_whom_to_ask(made: Outlook) -> None:
    state, order, on, late, words = first_missing(
        supplied(made, [coming(AS_OF - 4.0, late=True)], note="comes before that day")
    )
    assert (state, order, on, late) == (SHORT, "4711", AS_OF - 4.0, True)
    assert words == "late since then; ask SUPPLIER A"


def test_what_other_visits_use_up_is_short_whatever_comes(made: Outlook) -> None:
    found = first_missing(supplied(made, [coming(MONDAY)], note="short: order or move"))
    assert found[0] == SHORT


@pytest.mark.parametrize(("late_days", "state"), [(0.0, TO_ORDER), (2.0, SHORT)])
def test_what_no_order_brings_names_the_last_day_and_from_whom(
    made: Outlook, late_days: float, state: str
) -> None:
    found = first_missing(supplied(made, orders=[to_order(AS_OF + 1.0, late_days)]))
    assert found[:4] == (state, "", AS_OF + 1.0, late_days > 0)
    assert found[4].startswith("not ordered yet")
    assert found[4].endswith("SUPPLIER B")


def test_what_nobody_offers_is_for_the_buyer(made: Outlook) -> None:
    assert first_missing(supplied(made))[4] == "nothing is on order; ask the buyer"


def test_the_worst_part_speaks_for_the_visit() -> None:
    assert state_of(None) == parts_line(None) == "none needed"
    assert state_of(()) == parts_line(()) == "all here"


def test_the_block_has_a_line_for_each_visit_and_the_late_part_in_orange(made: Outlook) -> None:
    block = parts_block(view_of(made))
    column = [one.text for one in block.headings].index("parts")
    by_visit = {str(row[2]): row for row in block.rows}
    assert list(by_visit) == [VISIT, "31-27W18", "105-27W18", "2120-27W18"]
    assert by_visit[VISIT][column] == Past("short, late")
    assert by_visit["31-27W18"][column] == "all here"
    assert by_visit["105-27W18"][column] == "none needed"


def test_the_mechanic_reads_what_is_missing_in_one_line(made: Outlook) -> None:
    view = view_of(supplied(made, [coming(MONDAY)]))
    found = missing_parts(view, rows_of(view.week_visits()))
    assert parts_line(found[VISIT]) == "comes before: water pump, 3 May, order 4711"


def test_row_order_does_not_matter(made: Outlook) -> None:
    turned = dataclasses.replace(
        made.supply,
        **{
            name: frame_.iloc[::-1].reset_index(drop=True)
            for name in ("pull", "coming", "orders")
            if isinstance(frame_ := getattr(made.supply, name), pd.DataFrame)
        },
    )
    assert parts_block(view_of(dataclasses.replace(made, supply=turned))) == parts_block(
        view_of(made)
    )
