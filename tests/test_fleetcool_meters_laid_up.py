"""The list of what is away tells in which spells a vehicle stands laid up."""

import numpy as np
from made_chain import Read, chain_of, names_of
from made_rows import table

from fleetcool.meters.laid_up import Spells, believed, joined, laid_up

STILL = {"why": "laid up"}


def test_the_last_day_of_a_row_is_included() -> None:
    away = table("away", [{"unit": "1001", "start": 100.0, "stop": 109.0, "why": "laid up"}])
    found = laid_up(away, names_of(3))
    assert (found.vehicle.tolist(), found.start.tolist(), found.stop.tolist()) == (
        [1],
        [100],
        [110],
    )


def test_rows_of_bays_people_and_unknown_vehicles_lay_up_nothing() -> None:
    away = table(
        "away",
        [
            STILL | {"bay": "1", "unit": "1001", "vehicle": "1001", "start": 1.0, "stop": 5.0},
            STILL | {"who": "AB", "vehicle": None, "start": 1.0, "stop": 5.0},
            STILL | {"unit": "9999", "start": 1.0, "stop": 5.0},
            STILL | {"unit": "1000", "start": 9.0, "stop": 5.0},
        ],
    )
    assert len(laid_up(away, names_of(3)).vehicle) == 0
    assert len(laid_up(table("away", []), names_of(3)).vehicle) == 0


def test_only_a_reason_that_says_it_stands_still_lays_a_vehicle_up() -> None:
    for why, n in {
        "laid up for the winter": 1,
        "Laid-up": 1,
        "stands in the yard": 1,
        "school holidays": 1,
        "on charter": 0,
        "lent to HARBOUR": 0,
        "off the road, waiting for a door": 1,
        "stands in for 12": 0,
        "back from the holiday route": 0,
        "standby for the coast": 0,
        None: 0,
    }.items():
        away = table("away", [{"unit": "1001", "start": 100.0, "stop": 109.0, "why": why}])
        assert len(laid_up(away, names_of(3)).vehicle) == n


def test_spells_that_touch_are_made_one_whatever_their_order() -> None:
    vehicle = np.array([1, 0, 0, 0, 1])
    start, stop = np.array([5.0, 30, 10, 12, 0]), np.array([9.0, 40, 20, 30, 4])
    found = joined(vehicle, start, stop)
    assert found.vehicle.tolist() == [0, 1, 1]
    assert found.start.tolist() == [10, 0, 5]
    assert found.stop.tolist() == [40, 4, 9]


def told(start: float, stop: float) -> Spells:
    return Spells(np.zeros(1, dtype="int64"), np.array([start]), np.array([stop]))


def stays(read: list[Read], spell: Spells, meter: int = 0) -> bool:
    return len(believed(spell, chain_of(1, {(0, meter): read})).vehicle) == 1


WEEKS = [7.0 * week for week in range(100)]
RUNS = [(day, 50.0 * day) for day in WEEKS]
STANDS = [(day, 50.0 * (day - np.clip(day - 300, 0, 100))) for day in WEEKS]


def test_a_spell_in_which_the_vehicle_ran_is_not_believed() -> None:
    """Away on other work for 100 days, read weekly or only before and after."""
    spell = told(300.0, 400.0)
    assert not stays(RUNS, spell)
    assert not stays([one for one in RUNS if not 300 < one[0] < 400], spell)
    assert not stays([(day, value / 30) for day, value in RUNS], spell, meter=1)


def test_a_spell_in_which_it_stood_is_believed() -> None:
    spell = told(300.0, 400.0)
    assert stays(STANDS, spell)
    assert stays([one for one in STANDS if not 290 < one[0] < 410], spell)


def test_a_spell_that_goes_on_is_judged_by_what_is_read_so_far() -> None:
    assert not stays(RUNS, told(630.0, 900.0))
    assert stays(RUNS, told(690.0, 900.0))
    assert stays([*RUNS[:90], (693.0, RUNS[89][1] + 10)], told(630.0, 900.0))


def test_short_spells_and_those_without_readings_are_believed() -> None:
    assert stays(RUNS, told(300.0, 320.0))
    assert stays(RUNS, told(800.0, 900.0))
    assert stays(RUNS[:1], told(300.0, 400.0))
    assert len(believed(told(300.0, 400.0), chain_of(1, {})).vehicle) == 1
    assert len(believed(Spells(), chain_of(1, {(0, 0): RUNS})).vehicle) == 0
