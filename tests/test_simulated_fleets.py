"""The main job held against fleets of which the truth is known.

Meters are read as people read them, mistyped, replaced and rolled over; services fall due on days
that the simulated use tells. The promises are asserted on big fleets in the long ring, whose
tables are printed with -s; small siblings with bounds as wide as chance needs run always.
"""

import sys
from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import pytest
from made_fleets import Fleet, make_fleet
from made_readings import HOURS
from made_use import REGIMES, STEADY, TROUBLED, VARIED, WILD, Regime
from simulated import (
    Score,
    Seen,
    cases_of,
    groups_of,
    score,
    seen_of,
    table_of,
    true_shared,
)
from simulated_meters import (
    Share,
    false_changes,
    good_rejected,
    judged,
    lasting,
    named_right,
    put_right,
    typos,
)

MANY, SOME, FEW = 5000, 600, 45
SEEDS = 12
EVENTS = ("changed", "told", "rolled", "switched")
METER_NAMES = ("odometers", "hour meters")


@dataclass(frozen=True, slots=True)
class Tried:
    """A fleet, what was computed of it, and how that compares with the truth."""

    seen: Seen
    rows: pd.DataFrame
    cases: pd.DataFrame

    @property
    def fleet(self) -> Fleet:
        return self.seen.fleet


@cache
def tried(regime: Regime, n_vehicles: int, seed: int) -> Tried:
    seen = seen_of(make_fleet(regime, n_vehicles, seed))
    return Tried(seen, judged(seen.fleet, seen.chain.frame), cases_of(seen, seed + 1))


@cache
def small_fleets(regime: Regime) -> pd.DataFrame:
    """Return the cases of twelve fleets of 45 vehicles, three a vehicle."""
    seen = [seen_of(make_fleet(regime, FEW, 100 + seed)) for seed in range(SEEDS)]
    cases = [cases_of(one, 200 + seed, 3) for seed, one in enumerate(seen)]
    return pd.concat(cases, ignore_index=True)


def scores_of(cases: pd.DataFrame) -> dict[str, Score]:
    return {name: score(cases, among) for name, among in groups_of(cases).items() if among.any()}


def meters_table(one: Tried) -> str:
    """Return how well the meters were repaired as lines of text."""
    lines = []
    for meter, name in enumerate(METER_NAMES):
        lines.append(f"{one.fleet.regime.name}, {name}")
        for kind, found in typos(one.rows, meter).items():
            lines.append(f"  mistyped, {kind:28} {found}")
        lines.append(f"  good readings not used {'':15} {good_rejected(one.rows, meter)}")
        for event in EVENTS:
            dealt, named = lasting(one.fleet, one.rows, event, meter)
            lines.append(f"  {event:38} {dealt}  named right {named}")
        lines.append(f"  falsely said to be replaced {'':10} {false_changes(one.rows, meter)}")
    lines.extend(f"  named right, {k:25} {found}" for k, found in named_right(one.rows).items())
    lines.extend(f"  put right, {k:27} {found}" for k, found in put_right(one.rows).items())
    return "\n".join(line for line in lines if "of 0)" not in line)


def at_least(found: Share, promised: float) -> bool:
    """Tell whether there were cases, and as many good ones as promised; the figure is printed."""
    sys.stdout.write(f"{found}, promised {promised}\n")
    return found.of > 0 and found.value >= promised


# Bounds of the siblings: the promise less two to three standard deviations of so few cases.
def test_mistyped_readings_of_a_small_fleet_do_no_harm() -> None:
    """Promised 95 %; some 230 cases leave 3 points to chance."""
    assert at_least(typos(tried(TROUBLED, SOME, 1).rows, 0)["all"], 0.92)


def test_lasting_trouble_of_a_small_fleet_is_dealt_with() -> None:
    """Promised 98 % of the replaced meters; of 20 to 50 one or two may be missed by chance."""
    one = tried(TROUBLED, SOME, 1)
    for event, least in (("changed", 0.95), ("told", 1.0), ("rolled", 0.9), ("switched", 0.9)):
        assert at_least(lasting(one.fleet, one.rows, event, 0)[0], least)


def test_good_readings_of_a_small_fleet_are_used_and_no_meter_is_falsely_replaced() -> None:
    """Promised below 0.1 % of the vehicles: of 500, two are too many."""
    rows = tried(TROUBLED, SOME, 1).rows
    assert good_rejected(rows, 0).value < 0.01
    assert false_changes(rows, 0).good <= 1


def test_due_days_of_a_small_fleet_come_between_early_and_late() -> None:
    """Promised 0.77 to 0.85; 600 cases, one a vehicle, leave 5 points to chance."""
    one = scores_of(tried(TROUBLED, SOME, 1).cases)["all"]
    assert 0.72 <= one.inside <= 0.90
    assert one.mae_ratio <= 0.80
    assert one.pinball_ratio <= 0.70


def test_due_days_of_a_steady_small_fleet_are_better_than_the_plain_average() -> None:
    """Promised 0.92 and 0.85 of the plain average; 600 cases leave 5 points to chance."""
    one = scores_of(tried(STEADY, SOME, 2).cases)["all"]
    assert 0.72 <= one.inside <= 0.90
    assert one.mae_ratio <= 0.97
    assert one.pinball_ratio <= 0.90


@pytest.mark.parametrize("n_vehicles", [1, 2, 9])
@pytest.mark.parametrize("regime", [VARIED, WILD], ids=lambda regime: regime.name)
def test_a_handful_of_vehicles_gets_due_days_in_order(regime: Regime, n_vehicles: int) -> None:
    cases = cases_of(seen_of(make_fleet(regime, n_vehicles, 3)), 4, 5)
    days = cases[["q10", "q50", "q90"]].to_numpy()
    assert len(cases) == 5 * n_vehicles
    assert np.isfinite(days).all()
    assert (np.diff(days, axis=1) >= 0).all()


@pytest.mark.long
@pytest.mark.parametrize("regime", REGIMES, ids=lambda regime: regime.name)
def test_mistyped_readings_do_no_harm_and_meters_are_mended(regime: Regime) -> None:
    one = tried(regime, MANY, 11)
    sys.stdout.write(f"\n{meters_table(one)}\n")
    for meter in (0, 1):
        if regime.typos:
            assert at_least(typos(one.rows, meter)["all"], 0.95)
        assert false_changes(one.rows, meter).value < 0.001
        assert good_rejected(one.rows, meter).value < 0.01


# No promise: some points below what was measured, so that it cannot get worse unseen.
NAMED_AT_LEAST = {
    "digit": 0.80,
    "swap": 0.86,
    "drop": 0.85,
    "double": 0.50,  # of a last digit, it cannot be told from tenths
    "insert": 0.53,
    "tenths": 0.78,
    "unit": 0.90,
    "another": 0.87,
    "column": 0.95,
}
PUT_RIGHT_AT_LEAST = {
    "digit": 0.78,
    "swap": 0.86,
    "drop": 0.83,
    "double": 0.95,
    "insert": 0.95,
    "tenths": 0.94,
    "unit": 0.93,
}


@pytest.mark.long
@pytest.mark.parametrize("regime", [VARIED, WILD], ids=lambda regime: regime.name)
def test_causes_are_told_apart_and_right_values_offered(regime: Regime) -> None:
    rows = tried(regime, MANY, 11).rows
    named, offered = named_right(rows), put_right(rows)
    for kind, least in NAMED_AT_LEAST.items():
        assert named[kind].value >= least, f"{kind} named right {named[kind]}"
    for kind, least in PUT_RIGHT_AT_LEAST.items():
        assert offered[kind].value >= least, f"{kind} put right {offered[kind]}"


@pytest.mark.long
@pytest.mark.parametrize("meter", [0, 1], ids=METER_NAMES)
def test_replaced_meters_are_found_within_one_reading(meter: int) -> None:
    one = tried(TROUBLED, MANY, 12)
    if meter == 0:
        sys.stdout.write(f"\n{meters_table(one)}\n")
    assert at_least(lasting(one.fleet, one.rows, "changed", meter)[0], 0.98)
    assert at_least(lasting(one.fleet, one.rows, "told", meter)[0], 1.0)


@pytest.mark.long
@pytest.mark.parametrize(
    ("regime", "most_mae", "most_pinball"),
    [(VARIED, 0.80, 0.70), (STEADY, 0.92, 0.85), (WILD, 0.80, 0.70)],
    ids=lambda value: getattr(value, "name", str(value)),
)
def test_due_days_hold_what_is_promised(
    regime: Regime, most_mae: float, most_pinball: float
) -> None:
    cases = tried(regime, MANY, 11).cases
    sys.stdout.write(f"\n{table_of(cases, f'{regime.name}, {MANY} vehicles')}\n")
    scores = scores_of(cases)
    assert 0.77 <= scores["all"].inside <= 0.85
    assert 0.74 <= scores["history under 45 d"].inside <= 0.88
    assert 0.74 <= scores["2 readings or fewer"].inside <= 0.88
    assert scores["all"].mae_ratio <= most_mae
    assert scores["all"].pinball_ratio <= most_pinball


@pytest.mark.long
def test_due_days_hold_when_depots_say_nothing_of_the_work() -> None:
    """No promise: the plain average knows here which vehicles do like work, and we do not."""
    seen = seen_of(make_fleet(VARIED, MANY, 11), np.random.default_rng(14))
    cases = cases_of(seen, 12)
    sys.stdout.write(f"\n{table_of(cases, 'varied, depots dealt out anew')}\n")
    one = score(cases)
    assert 0.77 <= one.inside <= 0.88
    assert one.mae_ratio <= 0.90
    assert one.pinball_ratio <= 0.80


@pytest.mark.long
@pytest.mark.parametrize("regime", REGIMES, ids=lambda regime: regime.name)
def test_due_days_of_fleets_of_45_vehicles_come_between_early_and_late(regime: Regime) -> None:
    cases = small_fleets(regime)
    title = f"{regime.name}, {SEEDS} fleets of {FEW} vehicles"
    sys.stdout.write(f"\n{table_of(cases, title)}\n")
    assert 0.74 <= scores_of(cases)["all"].inside <= 0.88


@pytest.mark.long
@pytest.mark.parametrize("regime", REGIMES, ids=lambda regime: regime.name)
def test_due_days_by_hour_meters_come_between_early_and_late(regime: Regime) -> None:
    """Some 2,000 hour meters: 2 points wider than what is promised of 5,000 vehicles."""
    cases = cases_of(tried(regime, MANY, 11).seen, 13, which=HOURS)
    sys.stdout.write(f"\n{table_of(cases, f'{regime.name}, hour meters')}\n")
    assert 0.75 <= score(cases).inside <= 0.87


@pytest.mark.long
@pytest.mark.parametrize("regime", REGIMES, ids=lambda regime: regime.name)
def test_what_is_learnt_of_its_own_past_is_true_of_what_comes(regime: Regime) -> None:
    """What the back-tests say of themselves agrees with the truth to 4 points."""
    one = tried(regime, MANY, 11)
    said = one.seen.usage.tried
    overall = said[said["by"].eq("all")]
    inside = float(np.average(overall["inside"], weights=overall["n"]))
    truly, shared = score(one.cases).inside, true_shared(one.seen, 120)
    sys.stdout.write(
        f"\n{regime.name}: back-tests say {inside:.3f} inside, truly {truly:.3f}; "
        f"odometers and hour meters {one.seen.usage.shared:.3f}, truly {shared:.3f}\n"
    )
    assert inside == pytest.approx(truly, abs=0.04)
    assert one.seen.usage.shared == pytest.approx(shared, abs=0.06)
