"""Limits on sums hold for everything that can be packed, and rule out much that cannot."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_shops import shop

from fleetcool.visits.placing.pack import Packer
from fleetcool.visits.placing.shop_rows import Cell, Rows, rounded, shop_rows
from fleetcool.visits.placing.spread import Held, Spread, Work, spread_over
from fleetcool.visits.shops import Shop

NAN = float("nan")


def choices(where: Shop, works: Sequence[Work]) -> Spread:
    return spread_over(where, works, np.ones((len(works), len(where.minutes)), dtype=bool))


def row(rows: Rows, cell: Cell) -> tuple[list[float], float]:
    at = rows.cells.index(cell)
    return rows.use.toarray()[at].tolist(), float(rows.capacity[at])


def kept(minutes: float, bay: int = 0, begin: float = NAN, **more: object) -> Held:
    plain = Held("K1", bay, (0,), (minutes,), (minutes,), begin, NAN, 0, wet=False)
    return replace(plain, **more)  # type: ignore[arg-type]  # the test names fields of the record


@pytest.mark.parametrize("step", [1, 2, 3])
def test_rounded_lengths_that_fit_one_after_the_other_add_up_to_at_most_one(step: int) -> None:
    """All sets of up to four lengths out of twelfths; exact by hand in fractions."""
    long = 12
    share = {
        length: Fraction(float(rounded(np.array([length]), np.array([long]), step)[0]))
        for length in range(long + 1)
    }
    for some in product(range(long + 1), repeat=4):
        if sum(some) <= long:
            assert sum(share[one] for one in some) <= share[sum(some)] + Fraction(1, 10**9)


def test_halves_and_thirds_are_those_of_the_literature() -> None:
    """u^(1) and u^(2) of Fekete & Schepers, Math. Programming 91 (2001), 11–31; from memory."""
    minutes, long = np.array([3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]), np.full(7, 12.0)

    assert rounded(minutes, long, 1).tolist() == [0, 0, 0, 0.5, 1, 1, 1]
    assert rounded(minutes, long, 2) == pytest.approx([0, 1 / 3, 0.5, 0.5, 0.5, 2 / 3, 1])


def test_more_than_half_a_day_goes_once_into_each_bay() -> None:
    where = shop(((420, 900),) * 3, (0, 2), n=1)
    works = [Work(250, 250, size, wet=False) for size in (0, 2, 2, 1)]

    rows = shop_rows(where, choices(where, works), works)

    assert row(rows, Cell("bays", 0, 0, 1)) == ([1, 1, 1, 1], 2)
    assert row(rows, Cell("bays", 0, 1, 1)) == ([0, 1, 1, 1], 1)


def test_of_rows_that_say_the_same_only_one_stays() -> None:
    """With a bay for each mechanic, neither the bays nor each one's hours say more."""
    where = shop(((420, 900),) * 2, (2, 2), n=1)
    works = [Work(300, 300, 2, wet=False)] * 4

    rows = shop_rows(where, choices(where, works), works)

    assert [cell.kind for cell in rows.cells] == ["hours", "shift", "shift"]


def test_rows_that_cannot_bind_are_left_out() -> None:
    where = shop(n=3)
    works = [Work(60, 60, 0, wet=False)] * 3

    assert shop_rows(where, choices(where, works), works).cells == ()


def test_a_week_that_has_less_than_its_days_is_a_limit_of_its_own() -> None:
    where = replace(shop(n=3), week_minutes=np.array([600.0]))
    works = [Work(300, 300, 0, wet=False)] * 3

    rows = shop_rows(where, choices(where, works), works)

    assert row(rows, Cell("week hours", 0, 0, 0)) == ([300.0] * 9, 600.0)


def test_kept_visits_take_their_part_first_and_never_leave_less_than_nothing() -> None:
    where = shop(((420, 900),) * 2, (2, 2), n=1, share=0.5)
    works = [Work(200, 300, 0, wet=False)] * 4
    spread = choices(where, works)

    some = shop_rows(where, spread, works, [kept(240.0)])
    full = shop_rows(where, spread, works, [kept(700.0)])

    assert row(some, Cell("hours", 0, 0, 0)) == ([200.0] * 4, 240.0)
    assert row(some, Cell("shift", 0, 0, 0)) == ([0.625] * 4, 1.5)
    assert row(full, Cell("hours", 0, 0, 0))[1] == 0.0


def test_a_bay_in_which_a_kept_visit_stands_is_gone() -> None:
    where = shop(((420, 900),) * 2, (2, 2), n=1)
    works = [Work(300, 300, 0, wet=False)] * 3
    stands = kept(0.0, blocks_bay=True)

    rows = shop_rows(where, choices(where, works), works, [stands])

    assert row(rows, Cell("bays", 0, 0, 0)) == ([0.625] * 3, 1.0)


sizes = st.integers(0, 2)
shops_of = st.builds(
    lambda shifts, sizes, less: shop(
        shifts, sorted(sizes), n=3, hours=[stop - begin - 60 * less for begin, stop in shifts]
    ),
    st.lists(st.sampled_from([(360, 840), (540, 780), (720, 1080)]), min_size=1, max_size=3),
    st.lists(sizes, min_size=1, max_size=3),
    st.integers(0, 1),
)
works_of = st.lists(
    st.builds(
        lambda labour, wait, size: Work(labour, labour + wait, size, wet=False),
        st.integers(1, 12).map(lambda some: some * 40),
        st.sampled_from([0, 0, 40]),
        sizes,
    ),
    min_size=1,
    max_size=8,
)
held_of = st.lists(
    st.tuples(st.integers(-1, 2), st.sampled_from([60.0, 120.0, 240.0]), st.booleans()), max_size=2
)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(shops_of, works_of, held_of, st.lists(st.integers(-1, 1), min_size=8, max_size=8))
def test_whatever_can_be_packed_keeps_every_row(
    where: Shop,
    works: list[Work],
    held: list[tuple[int, float, bool]],
    days: list[int],
) -> None:
    kept_ones = [
        kept(minutes, min(bay, len(where.bays) - 1), 720.0 if timed else NAN, visit=f"K{at}")
        for at, (bay, minutes, timed) in enumerate(held)
    ]
    spread = choices(where, works)
    rows = shop_rows(where, spread, works, kept_ones)
    packer = Packer(where, spread, works, [f"V{at}" for at in range(len(works))], kept_ones)
    plan = np.full(len(works), -1, dtype="int64")
    hours = np.array([cell.kind in {"hours", "week hours"} for cell in rows.cells], dtype=bool)
    for visit in range(len(works)):
        at = np.flatnonzero((spread.visit == visit) & (spread.day == days[visit]))
        plan[visit] = at[0] if len(at) else -1
        taken = np.zeros(len(spread.day))
        taken[plan[plan >= 0]] = 1.0
        over = np.asarray(rows.use @ taken) > rows.capacity + 1e-6
        if packer.check(plan) or over[hours].any():
            plan[visit] = -1
        else:
            assert not over.any(), [rows.cells[at] for at in np.flatnonzero(over)]
