"""Means of groups are drawn to that of all by how much is behind them."""

import numpy as np
import pytest

from fleetcool.meters.credibility import between_variance, credibility


def test_credibility_agrees_with_a_reckoning_by_hand() -> None:
    """Groups (1, 3) and (6, 8): means 2 and 7, within 2, between (25 - 2) / 2 = 11.5, all 4.5;
    k = 2 / 11.5, each keeps 2 / (2 + k) of its own. Reckoned by hand."""
    values, group = np.array([1.0, 3.0, 6.0, 8.0]), np.array([0, 0, 1, 1])
    found = credibility(values, np.ones(4), group, 2, 0.0)
    z = 2 / (2 + 2 / 11.5)
    assert (found.within, found.overall) == pytest.approx((2.0, 4.5))
    assert found.weight == pytest.approx([z, z])
    assert found.mean == pytest.approx([4.5 - 2.5 * z, 4.5 + 2.5 * z])
    bounded = credibility(values, np.ones(4), group, 2, 6.0)
    assert bounded.weight == pytest.approx([0.25, 0.25])


HACHEMEISTER = (  # average claims of five states in twelve quarters, and how many claims
    (1738, 1642, 1794, 2051, 2079, 2234, 2032, 2035, 2115, 2262, 2267, 2517),
    (1364, 1408, 1597, 1444, 1342, 1675, 1470, 1448, 1464, 1831, 1612, 1471),
    (1759, 1685, 1479, 1763, 1674, 2103, 1502, 1622, 1828, 2155, 2233, 2059),
    (1223, 1146, 1010, 1257, 1426, 1532, 1953, 1123, 1343, 1243, 1762, 1306),
    (1456, 1499, 1609, 1741, 1482, 1572, 1606, 1735, 1607, 1573, 1613, 1690),
)
CLAIMS = (
    (7861, 9251, 8706, 8575, 7917, 8263, 9456, 8003, 7365, 7832, 7849, 9077),
    (1622, 1742, 1523, 1515, 1622, 1602, 1964, 1515, 1527, 1748, 1654, 1861),
    (1147, 1357, 1329, 1204, 998, 1077, 1277, 1218, 896, 1003, 1108, 1121),
    (407, 396, 348, 341, 315, 328, 352, 331, 287, 384, 321, 342),
    (2902, 3172, 3046, 3068, 2693, 2910, 3275, 2697, 2663, 3017, 3242, 3425),
)


def test_credibility_agrees_with_the_published_figures_on_the_data_of_hachemeister() -> None:
    """Hachemeister 1975, data from memory; results of the vignette on credibility of the package
    actuar: collective 1683.713, variance within 139120026, and the figures below."""
    found = credibility(
        np.array(HACHEMEISTER, dtype="float64").ravel(),
        np.array(CLAIMS, dtype="float64").ravel(),
        np.repeat(np.arange(5), 12),
        5,
        0.0,
    )
    assert found.overall == pytest.approx(1683.713, abs=1e-3)
    assert found.within == pytest.approx(139120026, abs=1)
    assert found.weight == pytest.approx(
        [0.984740, 0.927635, 0.898475, 0.727909, 0.958791], abs=1e-6
    )
    assert found.mean == pytest.approx([2055.165, 1523.706, 1793.444, 1442.967, 1603.285], abs=1e-3)


def test_the_variance_between_groups_agrees_with_the_published_figure() -> None:
    """Hachemeister 1975; the same vignette: variance between states 89638.73."""
    claims = np.array(CLAIMS, dtype="float64")
    held = claims.sum(axis=1)
    own = (np.array(HACHEMEISTER) * claims).sum(axis=1) / held
    assert between_variance(own, held, 139120026.0) == pytest.approx(89638.73, abs=0.01)


def test_one_group_alone_tells_nothing_of_the_variance_between() -> None:
    assert between_variance(np.array([3.0, 0.0]), np.array([5.0, 0.0]), 1.0) == 0.0
