"""A daily rate is followed from reading to reading."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_chain import Read, chain_of

from fleetcool.meters.filter import LEAST, LEAST_USUAL, LONG, YOUNG, Beliefs, follow, step
from fleetcool.meters.gaps import gaps_of
from fleetcool.meters.pace import even_pace

# Yearly flow of the river Nile at Aswan 1871-1970 [10^8 m3]; R, package datasets, Nile.
NILE = (
    "1120 1160 963 1210 1160 1160 813 1230 1370 1140 995 935 1110 994 1020 960 1180 799 958 1140 "
    "1100 1210 1150 1250 1260 1220 1030 1100 774 840 874 694 940 833 701 916 692 1020 1050 969 "
    "831 726 456 824 702 1120 1100 832 764 821 768 845 864 862 698 845 744 796 1040 759 "
    "781 865 845 944 984 897 822 1010 771 676 649 846 812 742 801 1040 860 874 848 890 "
    "744 749 838 1050 918 986 797 923 975 815 1020 906 901 1170 912 746 919 718 714 740"
)


def beliefs(n_vehicles: int, mean: float = 100.0) -> Beliefs:
    n = 3 * n_vehicles
    return Beliefs(np.full(n, mean), np.full(n, 0.22), np.full(n, 1.7), np.full(n, 4e-4))


def followed(read: list[Read], mean: float = 100.0) -> tuple[float, float]:
    """Return rate and relative variance of one vehicle after its last reading."""
    gaps = gaps_of(chain_of(1, {(0, 0): read}), even_pace(1))
    found = follow(gaps, beliefs(1, mean))
    return float(found.rate[-1]), float(found.p[-1])


def test_the_steady_gain_is_that_of_the_closed_form() -> None:
    """Local level model: K = x / (1 + x), x = (q + √(q² + 4 q)) / 2, variance K times the noise;
    at q = 1469.1 / 15099 the gain is .26704801 and the variance 4032.158 (closed form)."""
    mean, variance = np.zeros(1), np.array([1e7])
    for _ in range(200):
        mean, variance = step(mean, variance, np.array([1469.1]), np.zeros(1), np.array([15099.0]))
    assert variance[0] / 15099.0 == pytest.approx(0.26704801, abs=1e-8)
    assert variance[0] == pytest.approx(4032.158, abs=1e-3)


def test_the_likelihood_of_the_nile_is_the_published_one() -> None:
    """Durbin and Koopman give level variance 1469.1 and noise 15099; statsmodels'
    UnobservedComponents(..., "llevel").loglike gives -632.5377 there. It starts at nil with a
    variance of a million and leaves out the first year."""
    flow = np.array(NILE.split(), dtype="float64")
    mean, variance, drift = np.zeros(1), np.array([1e6]), np.zeros(1)
    noise = np.array([15099.0])
    terms = []
    for one in flow:
        spread = float((variance + drift + noise)[0])
        off = float(one - mean[0])
        terms.append(-0.5 * (np.log(2 * np.pi * spread) + off**2 / spread))
        mean, variance = step(mean, variance, drift, np.array([one]), noise)
        drift = np.array([1469.1])
    assert len(flow) == 100
    assert sum(terms[1:]) == pytest.approx(-632.5377, abs=1e-4)


def test_it_equals_a_plain_loop_over_the_gaps_of_one_vehicle() -> None:
    read = [(0.0, 0.0), (7.0, 900.0), (9.0, 900.0), (40.0, 3000.0), (47.0, 3001.0), (80.0, 9000.0)]
    m, psi2, phi, q = 100.0, 0.22, 1.7, 4e-4
    r, variance, usual, days = m, psi2 * m**2, m, YOUNG
    for (start, begun), (stop, ended) in pairwise(read):
        e, speed = stop - start, (ended - begun) / (stop - start)
        scale = max(r, usual) ** 2
        variance += q * scale * e
        noise = scale * phi / e + q * scale * e / 3
        gain = variance / (variance + noise)
        r, variance = r + gain * (speed - r), (1 - gain) * variance
        days += e
        usual += e / days * (speed - usual)
        days = min(days, LONG)
        r = max(r, LEAST * m, LEAST_USUAL * usual)
    assert followed(read) == pytest.approx((r, variance / r**2), rel=1e-12)


def test_vehicles_do_not_touch_each_other() -> None:
    first = [(0.0, 0.0), (7.0, 900.0), (30.0, 3000.0)]
    second = [(5.0, 0.0), (8.0, 30.0), (9.0, 50.0), (44.0, 100.0)]
    chain = chain_of(3, {(0, 0): first, (2, 0): second})
    found = follow(gaps_of(chain, even_pace(3)), beliefs(3))
    assert (found.rate[2], found.p[2]) == pytest.approx(followed(first))
    assert (found.rate[6], found.p[6]) == pytest.approx(followed(second))


def test_one_reading_alone_has_the_rate_of_the_class_and_its_spread() -> None:
    assert followed([(10.0, 5000.0)], mean=80.0) == pytest.approx((80.0, 0.22))


def test_two_readings_of_one_day_tell_nothing() -> None:
    plain = followed([(0.0, 0.0), (7.0, 500.0)])
    twice = followed([(0.0, 0.0), (7.0, 500.0), (7.0, 500.0)])
    assert twice == pytest.approx(plain)


@given(
    st.lists(st.floats(0.0, 400.0), min_size=2, max_size=12),
    st.integers(0, 11),
    st.floats(0.0, 200.0),
)
def test_more_use_never_gives_a_lower_rate_with_the_same_certainty(
    speeds: list[float], which: int, more: float
) -> None:
    """Held for the step itself, whose gain does not depend on what was observed."""
    mean, variance = np.array([100.0, 100.0]), np.full(2, 2200.0)
    for at, speed in enumerate(speeds):
        seen = np.array([speed, speed + (more if at == which % len(speeds) else 0.0)])
        mean, variance = step(mean, variance, np.full(2, 28.0), seen, np.full(2, 2400.0))
    assert mean[1] >= mean[0] - 1e-9


@given(st.floats(0.0, 600.0), st.floats(0.0, 600.0), st.integers(2, 60))
def test_more_use_in_the_last_gap_never_gives_a_lower_rate(
    less: float, more: float, days: int
) -> None:
    before = [(0.0, 0.0), (7.0, 700.0), (14.0, 1500.0)]
    low, high = sorted((less, more))
    slow, fast = (
        followed([*before, (14.0 + days, 1500.0 + speed * days)])[0] for speed in (low, high)
    )
    assert fast >= slow - 1e-9


def test_a_vehicle_at_other_work_is_seen_and_a_steady_one_is_not() -> None:
    days = 7.0 * np.arange(40)
    usual = [(day, 100.0 * day) for day in days]
    doubled = [(day, 100.0 * day + 250.0 * max(day - 245.0, 0.0)) for day in days]
    chain = chain_of(2, {(0, 0): usual, (1, 0): doubled})
    found = follow(gaps_of(chain, even_pace(2)), beliefs(2))
    assert np.isnan(found.changed_on[0])
    assert found.changed_on[3] > 245.0


def test_a_vehicle_that_stands_for_five_weeks_is_not_taken_to_stand_for_good() -> None:
    days = 7.0 * np.arange(40)
    stood = [(day, 100.0 * min(day, 238.0)) for day in days]
    rate, p = followed(stood)
    assert 20.0 < rate < 60.0
    assert p > 2 * followed([(day, 100.0 * day) for day in days])[1]
