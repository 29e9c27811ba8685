"""Rates as people see them, and the state of a meter or its vehicle."""

import numpy as np
from made_chain import Read, chain_of, steady

from fleetcool.meters.pace import Pace, even_pace
from fleetcool.meters.seen import states

WEEKS = [7.0 * week for week in range(61)]
AS_OF = 425


def state(
    read: list[Read], changed_on: float = np.nan, spell: tuple[float, float] | None = None
) -> str:
    """Return the state of one vehicle's odometer; its class runs 100 km a day."""
    chain = chain_of(1, {(0, 0): read} if read else {})
    pace = even_pace(1)
    if spell:
        pace = Pace(
            np.zeros(1, dtype="int64"),
            np.ones((1, 12)),
            np.zeros(1, dtype="int64"),
            np.array(spell[:1]),
            np.array(spell[1:]),
        )
    on = np.array([read[-1][0] if read else 100.0, 100.0, 100.0])
    at = np.array([read[-1][1] if read else 0.0, 0.0, 0.0])
    mean, changed = np.full(3, 100.0), np.array([changed_on, np.nan, np.nan])
    return str(states(chain, pace, (on, at, mean, changed), AS_OF)[0])


def still_from(day: float) -> list[Read]:
    return [(week, 1000.0 + 100.0 * min(week, day)) for week in WEEKS]


def test_a_vehicle_that_runs_has_no_state() -> None:
    assert not state(steady(100.0, WEEKS))
    assert not state(steady(5.0, WEEKS))


def test_a_meter_that_is_read_and_has_not_moved_for_28_days_is_parked() -> None:
    assert state(still_from(420.0 - 28)) == "parked"
    assert not state(still_from(420.0 - 21))


def test_a_vehicle_that_came_this_month_and_stands_is_not_called_parked() -> None:
    assert not state([(400.0, 500.0), (420.0, 500.0)])


def test_a_spell_that_covers_the_day_is_laid_up_and_goes_first() -> None:
    assert state(still_from(300.0), spell=(420.0, 430.0)) == "laid up"
    assert state(still_from(300.0), spell=(420.0, 425.0)) == "parked"
    assert state([], spell=(420.0, 430.0)) == "laid up"


def test_silence_goes_before_parked_and_changed_work() -> None:
    gone = [(day, value) for day, value in still_from(200.0) if day <= 350]
    assert state(gone) == "silent"
    assert state(gone, changed_on=345.0) == "silent"
    assert state([]) == "silent"


def test_changed_work_is_said_for_90_days() -> None:
    assert state(steady(100.0, WEEKS), changed_on=AS_OF - 90.0) == "changed work"
    assert not state(steady(100.0, WEEKS), changed_on=AS_OF - 91.0)
    assert state(still_from(300.0), changed_on=400.0) == "parked"
