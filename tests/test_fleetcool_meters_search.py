"""The best chain of readings, held against a plain search through all chains."""

import itertools
import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from meter_series import gathered

from fleetcool.meters.agree import Taken, taken_of
from fleetcool.meters.search import choose


def taken(raw: list[float], on: list[float]) -> Taken:
    read = {("104", "odometer"): list(zip(on, raw, strict=True))}
    n = len(raw)
    return taken_of(gathered(read), np.ones(n), np.zeros(n, dtype=bool))


def worth(readings: Taken, chain: tuple[int, ...]) -> float:
    """Return the worth of a chain by the formula, -inf when it cannot be one.

    +1 a reading, less min(0.9, 0.12 ln(rate/r0)^2 min(1, g/20)), below the usual at most 0.3;
    1.6 for a change between neighbours (one reading may lie between them).
    """
    total = float(len(chain))
    for before, after in itertools.pairwise(chain):
        gap = float(readings.on[after] - readings.on[before])
        step = float(readings.value[after] - readings.value[before])
        usual = float(readings.usual[after])
        if 0 <= step <= min(2000 * (gap + 1), usual * (2.5 * gap + 6 * math.sqrt(gap) + 4)):
            share = max(step / (max(gap, 1.0) * usual), 0.01)
            strain = 0.12 * math.log(share) ** 2 * min(1.0, gap / 20)
            total -= min(strain, 0.3 if share < 1 else 0.9)
        elif after - before <= 2:
            total -= 1.6
        else:
            return -math.inf
    return total


@given(
    st.lists(
        st.tuples(st.integers(1, 40), st.sampled_from([0, 300, 700, 2_000, 30_000, -300, -40_000])),
        min_size=2,
        max_size=9,
    )
)
@settings(max_examples=60, deadline=None)
def test_no_chain_is_worth_more_than_the_one_chosen(steps: list[tuple[int, int]]) -> None:
    """Values stay clear of a meter's last figure, so that no meter passes it."""
    on = list(np.cumsum([0.0, *(float(days) for days, _ in steps)]))
    raw = list(np.cumsum([400_000.0, *(float(run) for _, run in steps)]))
    readings = taken(raw, on)
    chosen = tuple(int(at) for at in np.flatnonzero(choose(readings)))
    n = len(raw)
    best = max(
        worth(readings, chain)
        for size in range(1, n + 1)
        for chain in itertools.combinations(range(n), size)
    )
    assert worth(readings, chosen) >= best - 1e-9


def test_series_are_searched_apart() -> None:
    read = {
        ("a", "odometer"): [(7.0 * k, 50_000.0 + 700 * k) for k in range(30)],
        ("b", "odometer"): [(7.0 * k, 10_000.0 + 700 * k) for k in range(30)],
    }
    read["a", "odometer"][12] = (84.0, 3.0)
    read["b", "odometer"][29] = (203.0, 5.0)
    of = gathered(read)
    chosen = choose(taken_of(of, np.ones(60), np.zeros(60, dtype=bool)))
    assert list(np.flatnonzero(~chosen)) == [12, 59]
