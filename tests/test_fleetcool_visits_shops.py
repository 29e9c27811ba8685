"""What a shop can take follows from who is there, which bays are there, and what is changed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from math import inf

import numpy as np
import pandas as pd
import pytest
from made_rows import Row, standing, table

from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.changes import Change
from fleetcool.visits.placing.pack import Packer
from fleetcool.visits.placing.spread import Work, spread_over
from fleetcool.visits.shops import Shop, closed_days, read_shops

MONDAY = 20766  # 9 November 2026
WHOLE = replace(Settings(), first_week_share=1.0)


@cache
def nothing_told() -> Standing:
    return standing(MONDAY, {})


def read(
    rows: Mapping[str, Sequence[Row]],
    *changes: Change,
    start: int = MONDAY,
    n: int = 14,
    settings: Settings = WHOLE,
) -> Shop:
    plain = nothing_told()
    told = {"depots": [{"depot": "NORTH"}], **rows}
    stood = replace(
        plain,
        frames={**plain.frames, **{name: table(name, some) for name, some in told.items()}},
        holidays=pd.DataFrame(
            {"region": ["CA-ON"], "on": [float(start + 2)], "name": ["Day of X"]}
        ),
    )
    return read_shops(stood, settings, ["NORTH"], start, n, changes)["NORTH"]


def always(what: str, amount: float) -> Change:
    return Change(what, amount, "NORTH", -inf, inf)  # type: ignore[arg-type]  # one of its words


def crew(who: str, hours: float, **more: object) -> Row:
    return {"depot": "NORTH", "who": who, **dict.fromkeys(("mon", "tue", "wed"), hours), **more}


EARLY = crew("AB", 8, start="06:00", stop="14:00")
LATE = crew("CD", 8, start="12:00", stop="20:00")


def test_the_day_is_a_monday() -> None:
    assert pd.Timestamp(MONDAY, unit="D") == pd.Timestamp("2026-11-09")
    assert pd.Timestamp(MONDAY, unit="D").day_name() == "Monday"


def test_two_shifts_that_overlap_make_a_long_day_of_bays_and_two_days_of_hours() -> None:
    shop = read({"crew": [LATE, EARLY]}, n=7)

    assert shop.crew.who == ("AB", "CD")
    assert shop.crew.begins[:, 0].tolist() == [360.0, 720.0]
    assert shop.crew.stops[:, 0].tolist() == [840.0, 1200.0]
    assert shop.opens.tolist() == [360] * 7
    assert shop.window.tolist() == [840.0] * 3 + [0.0] * 4
    assert shop.minutes.tolist() == [960.0] * 3 + [0.0] * 4
    assert shop.one.tolist() == [480.0] * 3 + [0.0] * 4
    assert shop.people.tolist() == [2] * 3 + [0] * 4
    assert np.flatnonzero(shop.last_day).tolist() == [2]


def test_when_only_the_late_shift_is_there_the_shop_opens_with_it() -> None:
    gone = [{"who": "AB", "start": MONDAY, "stop": MONDAY, "why": "course"}]

    shop = read({"crew": [EARLY, LATE], "away": gone}, n=2)

    assert shop.opens.tolist() == [720, 360]
    assert shop.window.tolist() == [480.0, 840.0]
    assert shop.people.tolist() == [1, 2]
    assert shop.why_less == ("AB away (course)",)


@pytest.mark.parametrize("who", ["AB", "ZZ"])
def test_a_person_away_half_a_day_gives_the_other_half(who: str) -> None:
    """AB is named in the crew; where no crew is told, anybody named is one of the mechanics."""
    away = [{"depot": "NORTH", "who": who, "start": MONDAY, "stop": MONDAY, "hours_left": 3.0}]
    named = (
        {"crew": [EARLY, LATE]} if who == "AB" else {"depots": [{"depot": "NORTH", "mechanics": 2}]}
    )

    shop = read({**named, "away": away}, n=2)

    assert sorted(shop.crew.hours[:, 0].tolist()) == [180.0, 480.0]
    assert shop.minutes.tolist() == [660.0, 960.0]


def test_somebody_away_twice_is_missed_once() -> None:
    away = [
        {"depot": "NORTH", "who": "ZZ", "start": MONDAY + day, "stop": MONDAY + 1} for day in (0, 1)
    ]

    shop = read({"depots": [{"depot": "NORTH", "mechanics": 3}], "away": away}, n=2)

    assert shop.people.tolist() == [2, 2]


def test_a_shift_that_is_not_told_lasts_as_long_as_its_hours() -> None:
    shop = read(
        {"crew": [crew("AB", 9, start="06:30"), crew("CD", 4, start="08:00", stop="10:00")]}
    )

    assert shop.crew.begins[:, 0].tolist() == [390.0, 480.0]
    assert shop.crew.stops[:, 0].tolist() == [930.0, 720.0]


def test_what_each_can_do_is_told_by_services_joined_by_plus() -> None:
    shop = read({"crew": [crew("AB", 8, can_do="coolant test + Look-over"), crew("CD", 8)]})

    assert shop.crew.able(("look-over", "coolant test")).tolist() == [True, True]
    assert shop.crew.able(("new pump", "coolant test")).tolist() == [False, True]
    assert shop.crew.able(()).tolist() == [True, True]


def test_hours_told_for_a_week_are_shared_by_its_open_days_and_the_share_kept_free_is_left() -> (
    None
):
    fact: Row = {
        "depot": "NORTH",
        "mechanics": 2,
        "cooling_hours_a_week": 20,
        "kept_free_share": 15,
        "holiday_region": "CA-ON",
    }

    shop = read({"depots": [fact]}, settings=Settings())

    assert shop.share.tolist() == pytest.approx([0.8 * 0.85, 0.85])
    assert shop.week_minutes.tolist() == [np.floor(20 * 60 * 0.8 * 0.8 * 0.85), 20 * 60 * 0.85]
    assert shop.minutes[[0, 2]].tolist() == [652.0, 0.0]
    assert shop.why_less == ("filled to 80% of the hours, Day of X closed", "")


def test_bays_come_smallest_first_and_one_away_is_not_there() -> None:
    bays = [
        {"depot": "NORTH", "bay": name, "biggest": size}
        for name, size in (("N1", "heavy"), ("N2", "light"), ("N3", "medium"))
    ]
    away = [{"bay": "N3", "start": MONDAY + 1, "stop": MONDAY + 1, "why": "lift test"}]

    shop = read({"bays": bays, "away": away}, n=3)

    assert shop.bays == ("N2", "N3", "N1")
    assert shop.bay_size.tolist() == [0, 1, 2]
    assert shop.bay_free[:, 1].tolist() == [True, False, True]
    assert shop.bay_free[:, [0, 2]].all()
    assert shop.why_less == ("bay N3 away (lift test)",)


def test_hours_more_a_week_are_shared_by_its_open_days_and_by_all_who_are_there() -> None:
    """Six hours more over three days for two people: an hour longer each on each day."""
    plain, more = (read({"crew": [EARLY, LATE]}, *some) for some in ([], [always("hours", 6.0)]))

    assert (more.minutes - plain.minutes).tolist() == ([120.0] * 3 + [0.0] * 4) * 2
    assert (more.one - plain.one).tolist() == ([60.0] * 3 + [0.0] * 4) * 2
    assert (more.window - plain.window).tolist() == ([60.0] * 3 + [0.0] * 4) * 2
    assert (more.week_minutes - plain.week_minutes).tolist() == [360.0, 360.0]
    assert more.crew.stops[:, 0].tolist() == [900.0, 1260.0]


def test_hours_more_in_one_week_only_change_that_week() -> None:
    change = Change("hours", 5.0, "NORTH", MONDAY + 7, MONDAY + 14)

    shop = read({"depots": [{"depot": "NORTH", "mechanics": 1}]}, change)

    assert shop.minutes.tolist() == [480.0] * 5 + [0.0] * 2 + [540.0] * 5 + [0.0] * 2


def test_a_week_that_begins_before_the_first_day_gives_its_days_their_part_only() -> None:
    shop = read({}, always("hours", 5.0), start=MONDAY + 3, n=11)

    assert shop.minutes.tolist() == [540.0] * 2 + [0.0] * 2 + [540.0] * 5 + [0.0] * 2


def test_people_more_are_like_the_one_with_most_hours_and_can_do_all() -> None:
    few = crew("EF", 4, start="07:00", stop="15:30", can_do="coolant test")
    shop = read({"crew": [few, LATE]}, always("people", 2.0), n=4)

    assert shop.crew.who == ("CD", "EF", "", "")
    assert shop.crew.hours[:, 0].tolist() == [480.0, 240.0, 480.0, 480.0]
    assert shop.crew.begins[2:, 0].tolist() == [720.0, 720.0]
    assert shop.people.tolist() == [4, 4, 4, 0]
    assert shop.crew.able(("new pump",)).tolist() == [True, False, True, True]


def test_people_more_come_on_top_of_the_hours_told_for_a_week() -> None:
    fact: Row = {"depot": "NORTH", "mechanics": 2, "cooling_hours_a_week": 20}
    change = Change("people", 1.0, "NORTH", MONDAY + 1, MONDAY + 2)

    shop = read({"depots": [fact]}, change)

    assert shop.week_minutes.tolist() == [28 * 60.0, 20 * 60.0]


def test_bays_more_are_of_the_biggest_kind_and_bays_less_leave_only_the_days_told() -> None:
    bays = [{"depot": "NORTH", "bay": "N1", "biggest": "medium"}]
    bays += [{"depot": "NORTH", "bay": "N2", "biggest": "light"}]
    few = Change("bays", -1.0, "NORTH", MONDAY, MONDAY + 1)

    more, less = read({"bays": bays}, always("bays", 1.0), n=2), read({"bays": bays}, few, n=2)

    assert more.bay_size.tolist() == [0, 1, 1]
    assert more.bay_free.all()
    assert less.bay_free.tolist() == [[True, False], [True, True]]
    none = read({"bays": bays}, always("bays", -9.0), n=2)
    assert not none.bay_free.any()


def test_a_day_that_is_closed_by_a_change_has_no_hours_and_says_so() -> None:
    shop = read({}, Change("closed", 1.0, "NORTH", MONDAY, MONDAY + 2), n=5)

    assert shop.minutes.tolist() == [0.0, 0.0, 480.0, 480.0, 480.0]
    assert shop.why_less == ("closed",)


def test_changes_of_other_shops_change_nothing() -> None:
    shop = read({}, Change("closed", 1.0, "HARBOUR", MONDAY, MONDAY + 2), n=5)

    assert shop.minutes.tolist() == [480.0] * 5


CASES: tuple[Mapping[str, Sequence[Row]], ...] = (
    {},
    {"crew": [EARLY, LATE]},
    {"crew": [crew("AB", 4, start="07:00", stop="15:30", can_do="coolant test")]},
    {"depots": [{"depot": "NORTH", "mechanics": 2, "cooling_hours_a_week": 11}]},
    {
        "depots": [{"depot": "NORTH", "mechanics": 2, "holiday_region": "CA-ON"}],
        "away": [{"depot": "NORTH", "start": MONDAY + 1, "stop": MONDAY + 1, "hours_left": 5.0}],
        "bays": [{"depot": "NORTH", "bay": "N1", "biggest": "light"}],
    },
)


@pytest.mark.parametrize("rows", CASES)
@pytest.mark.parametrize(("what", "amount"), [("hours", 7.0), ("people", 1.0), ("bays", 2.0)])
def test_more_never_makes_anything_smaller_and_less_never_makes_it_bigger(
    rows: Mapping[str, Sequence[Row]], what: str, amount: float
) -> None:
    plain = read(rows, settings=Settings())
    more = read(rows, always(what, amount), settings=Settings())
    less = read(rows, always(what, -amount), settings=Settings())

    for low, high in ((plain, more), (less, plain)):
        for name in ("minutes", "one", "people", "window", "week_minutes"):
            assert (getattr(high, name) >= getattr(low, name)).all(), name
        m, b = len(low.crew.who), len(low.bays)
        assert (high.crew.hours[:m] >= low.crew.hours).all()
        assert (high.crew.stops[:m] >= low.crew.stops)[low.crew.there].all()
        assert (high.bay_free[:, :b] >= low.bay_free).all()


@pytest.mark.parametrize("rows", CASES)
@pytest.mark.parametrize(("what", "amount"), [("hours", 7.0), ("people", 1.0), ("bays", 1.0)])
def test_a_bigger_shop_packs_whatever_the_smaller_one_does(
    rows: Mapping[str, Sequence[Row]], what: str, amount: float
) -> None:
    works = [
        Work(minutes, minutes + 20, 0, at % 2 == 0, ("coolant test",))
        for at, minutes in enumerate((50.0, 170.0, 120.0, 300.0, 90.0, 220.0))
    ]
    allowed = np.ones((len(works), 14), dtype=bool)
    names = [f"V{at}" for at in range(len(works))]
    shops = [read(rows), read(rows, always(what, amount))]
    spreads = [spread_over(shop, works, allowed) for shop in shops]
    packers = [
        Packer(shop, spread, works, names) for shop, spread in zip(shops, spreads, strict=True)
    ]
    n_packed = 0
    for some in range(1, 2 ** len(works)):
        plans = []
        for spread in spreads:
            mine = (spread.day == 0) & (some >> spread.visit & 1 == 1)
            plan = np.full(len(works), -1, dtype="int64")
            plan[spread.visit[mine]] = np.flatnonzero(mine)
            plans.append(plan)
        if (plans[0] >= 0).any() and not packers[0].check(plans[0]):
            n_packed += 1
            plans[1][plans[0] < 0] = -1
            assert (plans[1] >= 0).sum() == (plans[0] >= 0).sum()
            assert packers[1].check(plans[1]) == []

    assert n_packed > 0


def test_a_holiday_closes_the_shop_of_its_region_and_so_does_an_absence_of_the_whole_yard() -> None:
    stood = replace(
        standing(
            MONDAY,
            {
                "depots": [{"depot": "NORTH", "holiday_region": "CA-ON"}],
                "away": [{"depot": "NORTH", "start": MONDAY, "stop": MONDAY, "why": "moving"}],
            },
        ),
        holidays=pd.DataFrame({"region": ["CA-ON"], "on": [MONDAY + 2.0], "name": ["Day of X"]}),
    )

    assert closed_days(stood, "NORTH", MONDAY, 7) == {0: "moving", 2: "Day of X closed"}
