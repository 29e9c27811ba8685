"""How far a vehicle runs in a day, and how sure that is."""

from collections.abc import Sequence

import numpy as np
import pytest
from made_chain import Read, chain_of, names_of, steady

from fleetcool.meters.constants import BETWEEN, DRIFT, NOISE
from fleetcool.meters.laid_up import Spells
from fleetcool.meters.usage import Beginning, Usage, project_usage
from fleetcool.model.computed import USAGE_COLUMNS
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AUDIT_COLUMNS, LEARNT_COLUMNS

WEEKS = tuple(7.0 * week for week in range(100))


def begin(n: int, spells: Spells | None = None) -> Beginning:
    """Light vehicles first used on day -100."""
    size = np.zeros(n, dtype="int64")
    return Beginning(size, np.full(n, -100.0), spells=spells or Spells())


def usage_of(
    reads: Sequence[Sequence[Read]], as_of: int, spells: Spells | None = None, meter: int = 0
) -> Usage:
    """Return the usage of light vehicles with these readings of one meter."""
    read = {(at, meter): one for at, one in enumerate(reads) if one}
    n = len(reads)
    return project_usage(chain_of(n, read), begin(n, spells), names_of(n), as_of)


def test_a_long_steady_record_gives_its_own_rate() -> None:
    usage = usage_of([steady(120.0, WEEKS)], 693)
    assert usage.rate[0] == pytest.approx(120.0, rel=0.01)


def test_a_long_record_is_as_sure_as_the_closed_form_says() -> None:
    """Local level with gaps of 7 d: drift 7 q, noise phi / 7 + 7 q / 3, steady variance K times
    the noise with K of the closed form (as in the tests of the filter)."""
    usage = usage_of([steady(120.0, WEEKS)], 693)
    noise = NOISE / 7 + 7 * DRIFT / 3
    q = 7 * DRIFT / noise
    x = (q + np.sqrt(q**2 + 4 * q)) / 2
    assert usage.p[0] == pytest.approx(noise * x / (1 + x), rel=0.02)


def test_two_readings_are_drawn_to_the_class() -> None:
    usage = usage_of([steady(150.0, (0, 7)), *[steady(60.0, (0, 7))] * 30], 7)
    assert 62.0 < usage.rate[0] < 150.0


def test_a_vehicle_without_readings_has_the_class_mean_and_its_spread() -> None:
    usage = usage_of([*[steady(60.0, WEEKS[:60])] * 3, []], 413)
    assert usage.rate[9] == pytest.approx(60.0, rel=0.1)
    assert usage.p[9] == pytest.approx(BETWEEN)
    assert usage.anchor_on[9] == -100.0
    assert not usage.has_readings[9]
    assert usage.frame.loc[3, "n_used"] == 0
    assert usage.frame.loc[3, "state"] == "silent"
    assert "1003" not in set(usage.ahead["vehicle"])


def test_one_reading_counts_from_there_at_the_rate_of_the_class() -> None:
    usage = usage_of([*[steady(60.0, WEEKS[:60])] * 3, [(400.0, 90_000.0)]], 413)
    assert usage.rate[9] == pytest.approx(60.0, rel=0.1)
    assert usage.p[9] == pytest.approx(BETWEEN + 13 * DRIFT)
    assert (usage.anchor_on[9], usage.anchor_at[9]) == (400.0, 90_000.0)
    assert usage.frame["average_rate"].isna().tolist() == [False, False, False, True]


def test_an_empty_fleet_has_no_usage_and_all_frames() -> None:
    usage = project_usage(chain_of(0, {}), begin(0), names_of(0), 100)
    assert len(usage.rate) == 0
    assert tuple(usage.frame.columns) == USAGE_COLUMNS
    assert tuple(usage.ahead.columns) == AHEAD_COLUMNS
    assert tuple(usage.tried.columns) == AUDIT_COLUMNS
    assert tuple(usage.learnt.columns) == LEARNT_COLUMNS


def test_vehicles_without_any_reading_have_the_prior_of_their_size() -> None:
    """PRIOR: 70 km, 3 h and half an idle hour a day for a light vehicle."""
    usage = usage_of([[], []], 100)
    assert usage.rate == pytest.approx([70.0, 3.0, 0.5] * 2)


def test_a_fleet_of_hour_meters_only_is_projected() -> None:
    usage = usage_of([steady(5.0, WEEKS)] * 4, 693, meter=1)
    assert usage.rate[1::3] == pytest.approx(np.full(4, 5.0), rel=0.02)
    assert usage.frame["meter"].tolist() == ["odometer", "engine_hours"] * 4
    assert set(usage.ahead["meter"]) == {"engine_hours"}
    assert set(usage.ahead["usage_class"]) == {"light, engine hours"}


def test_an_old_reading_makes_the_rate_less_sure() -> None:
    read = [steady(80.0, WEEKS[:60])]
    fresh, stale = usage_of(read, 413), usage_of(read, 913)
    assert stale.p[0] - fresh.p[0] == pytest.approx(DRIFT * 500)


def test_reading_four_times_as_often_changes_little_for_a_steady_vehicle() -> None:
    weekly = usage_of([steady(80.0, WEEKS[:53])], 364)
    monthly = usage_of([steady(80.0, WEEKS[:53:4])], 364)
    assert monthly.rate[0] == pytest.approx(weekly.rate[0], rel=1e-3)
    assert np.sqrt(monthly.p[0]) == pytest.approx(np.sqrt(weekly.p[0]), rel=0.1)


def test_a_parked_bus_keeps_its_readings_and_its_rate_falls() -> None:
    parked = [(day, 1000.0 + 100.0 * min(day, 560.0)) for day in WEEKS]
    usage = usage_of([parked, steady(100.0, WEEKS)], 693)
    frame = usage.frame.set_index("vehicle")
    assert frame["state"].tolist() == ["parked", ""]
    assert frame["n_used"].tolist() == [100, 100]
    assert usage.rate[0] < 0.35 * usage.rate[3]
    assert usage.ahead["at_26_q50"][0] < usage.ahead["at_26_q50"][1]


def test_a_told_spell_in_the_past_does_not_lower_the_rate() -> None:
    stood = [(day, 1000.0 + 100.0 * (day - np.clip(day - 560, 0, 70))) for day in WEEKS]
    spell = Spells(np.zeros(1, dtype="int64"), np.array([560.0]), np.array([630.0]))
    told, untold = usage_of([stood], 693, spell), usage_of([stood], 693)
    assert told.rate[0] == pytest.approx(100.0, rel=0.02)
    assert untold.rate[0] < 0.97 * told.rate[0]


def test_a_told_spell_ahead_puts_off_what_will_have_run() -> None:
    spell = Spells(np.zeros(1, dtype="int64"), np.array([693.0]), np.array([721.0]))
    usage = usage_of([steady(100.0, WEEKS)] * 2, 693, spell)
    ahead = usage.ahead.set_index("vehicle")
    assert usage.frame["state"].tolist() == ["laid up", ""]
    assert ahead["at_4_q50"].iloc[0] == ahead["anchor_at"].iloc[0]
    gone = (ahead["at_8_q50"] - ahead["anchor_at"]).astype("float64")
    assert gone["1000"] == pytest.approx(gone["1001"] * 28 / 56, rel=0.02)


def test_a_meter_without_a_reading_for_more_than_45_days_is_silent() -> None:
    read = [steady(80.0, WEEKS[:60])]
    assert usage_of(read, 413 + 45).frame["state"].tolist() == [""]
    assert usage_of(read, 413 + 46).frame["state"].tolist() == ["silent"]


def test_a_vehicle_that_left_is_not_looked_ahead_for() -> None:
    n = 2
    here = np.array([True, False])
    beginning = Beginning(
        np.zeros(n, dtype="int64"), np.full(n, -100.0), np.array(["N", None], dtype=object), here
    )
    chain = chain_of(n, {(0, 0): steady(50.0, WEEKS), (1, 0): steady(60.0, WEEKS)})
    usage = project_usage(chain, beginning, names_of(n), 693)
    assert usage.ahead["vehicle"].tolist() == ["1000"]
    assert usage.has_readings[3]


def test_the_days_ahead_are_in_order_and_grow() -> None:
    usage = usage_of([steady(50.0, WEEKS), steady(200.0, WEEKS[60:63])], 693)
    for _, row in usage.ahead.iterrows():
        for weeks in (4, 8, 13, 26):
            assert row[f"at_{weeks}_q10"] < row[f"at_{weeks}_q50"] < row[f"at_{weeks}_q90"]
        assert row["at_4_q50"] < row["at_8_q50"] < row["at_13_q50"] < row["at_26_q50"]


def test_more_vehicles_beside_do_not_move_a_long_record_much() -> None:
    alone = usage_of([steady(100.0, WEEKS)], 693)
    among = usage_of([steady(100.0, WEEKS), *[steady(20.0, WEEKS)] * 15], 693)
    assert among.rate[0] == pytest.approx(alone.rate[0], rel=0.02)


def test_the_same_readings_give_the_same_usage_whatever_stands_beside_the_fleets_order() -> None:
    rates = [40.0, 90.0, 150.0]
    there = usage_of([steady(rate, WEEKS) for rate in rates], 693)
    back = usage_of([steady(rate, WEEKS) for rate in rates[::-1]], 693)
    assert there.rate[::3] == pytest.approx(back.rate[::3][::-1])


def test_what_was_learnt_says_its_unit() -> None:
    chain = chain_of(1, {(0, 0): steady(100.0, WEEKS)})
    for units, text in (("metric", "99.1 km a day"), ("us", "61.6 miles a day")):
        learnt = project_usage(chain, begin(1), names_of(1), 693, units).learnt
        told = learnt.set_index("name")["value"]
        assert told["usual day light"].endswith(text.split(maxsplit=1)[1])
        assert learnt["name"].is_monotonic_increasing
