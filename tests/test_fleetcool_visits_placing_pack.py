"""Bays and mechanics of a day are packed by time of day; what does not fit is a valid limit."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from made_shops import shop

from fleetcool.visits.placing.pack import Packed, Packer
from fleetcool.visits.placing.problem import Limit
from fleetcool.visits.placing.spread import Held, Spread, Work, spread_over
from fleetcool.visits.shops import Shop

NAN = float("nan")
Taken = tuple[int, int, int, int]  # bay, mechanic, begin, end


def packer(where: Shop, works: Sequence[Work], held: Sequence[Held] = ()) -> Packer:
    names = [f"V{at:02}" for at in range(len(works))]
    spread = spread_over(where, works, np.ones((len(works), len(where.minutes)), dtype=bool))
    return Packer(where, spread, works, names, held)


def on_days(spread: Spread, days: Sequence[int]) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """Return the choice of each visit that starts on its day, −1 for a day it cannot have."""
    found = np.full(len(days), -1, dtype="int64")
    for visit, day in enumerate(days):
        at = np.flatnonzero((spread.visit == visit) & (spread.day == day))
        found[visit] = at[0] if len(at) else -1
    return found


def together(
    where: Shop, works: Sequence[Work], days: Sequence[int], held: Sequence[Held] = ()
) -> tuple[list[Limit], Packed]:
    one = packer(where, works, held)
    choice = on_days(one.spread, days)
    assert (choice >= 0).all()
    return one.check(choice), one.pack(choice)


def work(minutes: float, size: int = 0, *services: str, wet: bool = False) -> Work:
    return Work(minutes, minutes, size, wet, services)


def can_pack(where: Shop, works: Sequence[Work], taken: tuple[Taken, ...] = ()) -> bool:
    """Try every bay, mechanic and full hour of day 0 for each visit in turn."""
    if not works:
        return True
    one, crew = works[0], where.crew
    able = crew.able(one.services)
    for bay, who in np.ndindex(len(where.bays), len(crew.who)):
        used = sum(end - begin for _, person, begin, end in taken if person == who)
        if where.bay_size[bay] < one.size or not able[who]:
            continue
        if used + one.elapsed > crew.hours[who, 0]:
            continue
        for begin in range(int(crew.begins[who, 0]), int(crew.stops[who, 0]), 60):
            end = begin + int(one.elapsed)
            late = one.wet and where.last_day[0] and begin > 14 * 60
            clash = any(
                (bay == other[0] or who == other[1]) and begin < other[3] and other[2] < end
                for other in taken
            )
            if late or clash or end > crew.stops[who, 0]:
                continue
            if can_pack(where, works[1:], (*taken, (bay, who, begin, end))):
                return True
    return False


hours_of = st.integers(1, 5).map(lambda hours: 60 * hours)
works_of = st.lists(
    st.builds(
        Work,
        hours_of,
        st.just(0.0),
        st.integers(0, 2),
        st.booleans(),
        st.sampled_from([(), ("pump",)]),
    ).map(lambda one: replace(one, elapsed=one.labour)),
    min_size=1,
    max_size=5,
)
shifts_of = st.lists(st.sampled_from([(360, 840), (540, 780), (720, 1080)]), min_size=1, max_size=2)
shops_of = st.builds(
    lambda shifts, sizes, less, last, skill: shop(
        shifts,
        sorted(sizes),
        n=1,
        hours=[stop - begin - 60 * less for begin, stop in shifts],
        last=[0] if last else [],
        can_do=[skill, *[""] * (len(shifts) - 1)],
    ),
    shifts_of,
    st.lists(st.integers(0, 2), min_size=1, max_size=3),
    st.integers(0, 1),
    st.booleans(),
    st.sampled_from(["", "belt"]),
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(shops_of, works_of)
def test_what_is_packed_on_a_day_is_what_trying_everything_can_pack(
    where: Shop, works: list[Work]
) -> None:
    one = packer(where, works)
    choice = on_days(one.spread, [0] * len(works))
    there = [work for work, at in zip(works, choice, strict=True) if at >= 0]

    limits = one.check(choice)

    assert (not limits) == can_pack(where, there)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(shops_of, works_of)
def test_a_limit_names_only_sets_that_cannot_be_packed(where: Shop, works: list[Work]) -> None:
    one = packer(where, works)
    for limit in one.check(on_days(one.spread, [0] * len(works))):
        visits = one.spread.visit[limit.choices].tolist()
        for some in combinations(visits, limit.most + 1):
            assert not can_pack(where, [works[at] for at in some])


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    shops_of,
    st.lists(st.tuples(st.integers(30, 900), st.integers(0, 100), st.integers(0, 2)), max_size=7),
    st.lists(st.integers(0, 3), min_size=7, max_size=7),
)
def test_in_what_is_accepted_nobody_and_no_bay_does_two_things_at_once(
    one_day: Shop, asks: list[tuple[int, int, int]], days: list[int]
) -> None:
    shifts = [
        (int(one_day.crew.begins[at, 0]), int(one_day.crew.stops[at, 0]))
        for at in range(len(one_day.crew.who))
    ]
    where = shop(shifts, [int(size) for size in one_day.bay_size], n=6, last=[4])
    works = [Work(long, long + wait, size, long % 2 == 0) for long, wait, size in asks]
    one = packer(where, works)
    choice = on_days(one.spread, days[: len(works)])
    for _ in range(40):
        limits = one.check(choice)
        if not limits:
            break
        broken = {int(at) for limit in limits for at in limit.choices}
        gone = min(int(one.spread.visit[at]) for at in broken if at in set(choice.tolist()))
        choice[gone] = -1
    packed = one.pack(choice)

    spans: dict[tuple[str, str, int], list[tuple[float, float]]] = {}
    for visit in np.flatnonzero(choice >= 0):
        first, last = int(one.spread.day[choice[visit]]), int(one.spread.last[choice[visit]])
        for day in range(first, last + 1):
            begin = packed.begin[visit] if day == first == last else 0.0
            end = packed.back[visit] if day == last else 1e6
            spans.setdefault(("bay", packed.bay[visit], day), []).append((begin, end))
        if first == last:
            who = spans.setdefault(("who", packed.who[visit], first), [])
            who.append((packed.begin[visit], packed.back[visit]))
    for taken in spans.values():
        ordered = sorted(taken)
        assert all(one[1] <= two[0] for one, two in pairwise(ordered))
    for (kind, name, day), taken in spans.items():
        if kind == "who":
            turn = where.crew.who.index(name)
            assert sum(end - begin for begin, end in taken) <= where.crew.shift[turn, day]


def test_two_shifts_that_overlap_share_one_bay() -> None:
    """06–14 and 12–20: one bay takes eight hours, then six."""
    where = shop(((360, 840), (720, 1200)), (2,), n=1)

    limits, packed = together(where, [work(480), work(360)], [0, 0])

    assert limits == []
    assert list(zip(packed.who, packed.begin, packed.back, strict=True)) == [
        ("M1", 360.0, 840.0),
        ("M2", 840.0, 1200.0),
    ]
    assert together(where, [work(480), work(420)], [0, 0])[0]


def test_a_heavy_vehicle_only_goes_into_a_heavy_bay() -> None:
    where = shop(((420, 900), (420, 900)), (0, 2), n=1)

    limits, packed = together(where, [work(300, 2), work(300, 0)], [0, 0])
    two, _ = together(where, [work(300, 2), work(300, 2)], [0, 0])

    assert limits == []
    assert packed.bay.tolist() == ["B2", "B1"]
    assert [one.most for one in two] == [1]


def test_wet_visits_come_before_others_in_their_bay() -> None:
    _, packed = together(shop(n=1), [work(200), work(60, wet=True), work(100, wet=True)], [0, 0, 0])

    assert packed.begin.tolist() == [580.0, 520.0, 420.0]


def test_wet_visits_of_the_last_open_day_start_by_two_o_clock() -> None:
    """Of 360 and 300 minutes from 08:00 on, either the second starts at 14:00 or it is too late."""
    where = shop(((480, 1200),), n=1, last=[0])

    in_time = together(where, [work(360, wet=True), work(300, wet=True)], [0, 0])
    late = together(where, [work(361, wet=True), work(361, wet=True)], [0, 0])

    assert in_time[0] == []
    assert max(in_time[1].begin) <= 14 * 60
    assert [one.most for one in late[0]] == [1]


def test_who_cannot_do_it_does_not_get_it() -> None:
    where = shop(((420, 900), (420, 900)), (2, 2), n=1, can_do=["pump", ""])

    limits, packed = together(where, [work(400, 0, "belt"), work(400, 0, "pump")], [0, 0])
    two, _ = together(where, [work(400, 0, "belt"), work(400, 0, "belt")], [0, 0])

    assert limits == []
    assert packed.who.tolist() == ["M2", "M1"]
    assert [one.most for one in two] == [1]


def test_a_mechanic_gives_no_more_labour_than_the_hours_of_the_day() -> None:
    where = shop(n=1, hours=[240])

    assert together(where, [work(120), work(120)], [0, 0])[0] == []
    assert together(where, [work(120), work(121)], [0, 0])[0]


def test_a_visit_over_two_days_keeps_its_bay_and_is_done_first_on_the_second() -> None:
    where = shop(((420, 900), (420, 900)), (2, 2), n=2)

    limits, packed = together(where, [work(600), work(300), work(380), work(100)], [0, 1, 1, 1])

    assert limits == []
    assert (packed.begin[0], packed.back[0]) == (420.0, 540.0)
    assert packed.begin[1:].min() == 420.0
    assert packed.back.max() <= 900.0


def test_days_linked_by_long_visits_are_packed_together() -> None:
    """Two visits over days 0–1 and 1–2 need a bay each; with one bay they cannot both be there."""
    two = shop(((420, 900), (420, 900)), (2, 2), n=3)
    one = shop(((420, 900), (420, 900)), (2,), n=3)

    assert together(two, [work(600), work(600)], [0, 1])[0] == []
    (limit,) = together(one, [work(600), work(600)], [0, 1])[0]
    assert limit.most == 1


def test_a_limit_covers_other_visits_that_ask_at_least_as_much() -> None:
    one = packer(shop(n=2), [work(300), work(300), work(310), work(100)])

    (limit,) = one.check(on_days(one.spread, [0, 0, 1, 1]))

    assert one.spread.visit[limit.choices].tolist() == [0, 1, 2]
    assert set(one.spread.day[limit.choices].tolist()) == {0}
    assert limit.most == 1


def test_the_same_days_in_another_order_of_rows_are_packed_alike() -> None:
    where = shop(((420, 900), (480, 960)), (0, 2), n=2)
    works = [work(100 + 35 * at, at % 2, wet=at % 2 == 0) for at in range(6)]
    names = [f"V{at:02}" for at in range(6)]
    days = [0, 0, 0, 0, 1, 1]
    seen = []
    for order in ([0, 1, 2, 3, 4, 5], [5, 3, 1, 0, 2, 4]):
        mine = [works[at] for at in order]
        spread = spread_over(where, mine, np.ones((6, 2), dtype=bool))
        one = Packer(where, spread, mine, [names[at] for at in order])
        choice = on_days(spread, [days[at] for at in order])
        packed = one.pack(choice)
        rows = zip(order, packed.bay, packed.who, packed.begin, packed.back, strict=True)
        seen.append((bool(one.check(choice)), sorted(rows)))

    assert seen[0] == seen[1]
    assert not seen[0][0]


def held(bay: int, begin: float, back: float, **more: object) -> Held:
    labour = back - begin
    plain = Held("K1", bay, (0,), (labour,), (labour,), begin, back, 0, wet=False)
    return replace(plain, **more)  # type: ignore[arg-type]  # the test names fields of the record


def test_new_visits_fill_the_gaps_between_kept_ones() -> None:
    kept = [held(0, 540.0, 720.0)]

    limits, packed = together(shop(n=1), [work(120), work(180)], [0, 0], kept)

    assert limits == []
    assert packed.begin.tolist() == [420.0, 720.0]
    assert packed.breaks == {}


def test_one_visit_that_does_not_fit_beside_a_kept_one_is_a_limit_for_all_like_it() -> None:
    one = packer(shop(n=1), [work(200), work(250), work(100)], [held(0, 540.0, 720.0)])

    (limit,) = one.check(on_days(one.spread, [0, -1, -1]))

    assert one.spread.visit[limit.choices].tolist() == [0, 1]
    assert limit.most == 0


def test_a_kept_visit_that_stands_in_its_bay_takes_it_away_on_all_its_days() -> None:
    stands = held(0, NAN, NAN, days=(0, 1), labour=(0.0, 0.0), elapsed=(0.0, 0.0), blocks_bay=True)
    one = packer(shop(n=3), [work(60)], [stands])

    assert [limit.most for limit in one.check(on_days(one.spread, [0]))] == [0]
    assert [limit.most for limit in one.check(on_days(one.spread, [1]))] == [0]
    assert one.check(on_days(one.spread, [2])) == []


def breaks(where: Shop, *kept: Held) -> dict[str, str]:
    return packer(where, [], kept).pack(np.zeros(0, dtype="int64")).breaks


def test_a_kept_visit_says_which_limit_it_breaks() -> None:
    where = shop(((420, 900),), (0, 2), n=2, closed=[1])
    away = replace(where, bay_free=np.array([[False, True], [True, True]]))
    first, other = held(0, 420.0, 600.0), held(0, 500.0, 620.0, visit="K2")

    assert breaks(where, first) == {}
    assert breaks(where, held(0, 840.0, 960.0)) == {"K1": "hours"}
    assert breaks(where, held(0, 420.0, 600.0, days=(1,))) == {"K1": "closed"}
    assert breaks(where, first, other) == {"K2": "bay taken"}
    assert breaks(where, first, replace(other, bay=1)) == {"K2": "hours"}
    assert breaks(where, held(0, 420.0, 600.0, size=2)) == {"K1": "bay too small"}
    assert breaks(away, first) == {"K1": "bay away"}


def test_kept_visits_beyond_all_the_hours_of_a_day_break_them_not_those_beyond_the_share() -> None:
    kept = [
        held(0, 420.0, 700.0, visit="K1"),
        held(0, 700.0, 820.0, visit="K2"),
        held(0, 820.0, 900.0, visit="K3"),
    ]

    assert breaks(shop(n=1, share=0.8), *kept) == {}
    assert breaks(shop(n=1, hours=[300]), *kept) == {"K2": "hours", "K3": "hours"}


def test_kept_visits_at_one_minute_of_one_bay_leave_the_first_its_place() -> None:
    where = shop([(420, 900)] * 2, [2, 2])
    kept = [Held(name, 0, (1,), (120.0,), (120.0,), 420.0, 540.0, 0, wet=False) for name in "abc"]
    limits, packed = together(where, [work(60)], [1], kept)
    assert limits == []
    assert packed.breaks == {"b": "bay taken", "c": "bay taken"}
    assert (packed.held["a"].bay, packed.held["a"].begin, packed.held["a"].back) == ("B1", 420, 540)
    assert set(packed.held) == {"a"}
    assert packed.bay.tolist() == ["B2"]
