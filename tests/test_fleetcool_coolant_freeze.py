"""Freezing points of glycol, against published tables and makers' figures.

All figures of the table: ASHRAE Handbook Fundamentals 2001, secondary coolants (second-hand),
straight lines between its rows.
"""

import os
from importlib import import_module

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.coolant.freeze import (
    freeze_point,
    freezing_points,
    over_concentrated,
    percent_for,
    percents_for,
    volume_percent,
)
from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import BASES, freezing, most_glycol, published_beyond

bases = st.sampled_from(sorted(BASES))


def of(base: str, number: int = 1) -> np.ndarray:
    return np.full(number, base, dtype=object)


def reference_celsius(fluid: str, share: float) -> float:
    """Return CoolProp's freezing point of an incompressible mix; skip where it is missing."""
    try:
        props = import_module("CoolProp.CoolProp").PropsSI
    except ImportError:
        if "reference" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
            pytest.fail("CoolProp must be there")
        pytest.skip("CoolProp is not installed")
    return float(props("T_freeze", "T", 300, "P", 2e5, f"INCOMP::{fluid}[{share}]")) - 273.15


@pytest.mark.parametrize(
    ("base", "percent", "celsius"),
    [
        ("eg", 50, -37.0),
        ("pg", 50, -33.65),
        ("eg", 40, -24.8),
        ("eg", 33, -18.2),
        ("eg", 30, -15.7),
        ("eg", 20, -8.8),
        ("eg", 10, -3.7),
        ("pg", 60, -51.1),
        ("pg", 55, -41.6),
        ("pg", 40, -21.5),
        ("pg", 30, -13.1),
        ("eg", 0, 0.0),
        ("pg", 0, 0.0),
    ],
)
def test_a_mix_freezes_where_the_handbook_says(base: str, percent: float, celsius: float) -> None:
    """ASHRAE Handbook Fundamentals 2001, as above."""
    assert freeze_point(base, percent) == pytest.approx(celsius, abs=0.1)


@pytest.mark.parametrize(
    ("base", "percent", "celsius"),
    [
        ("eg", 40, -24.4),  # Navistar operator's manual, −12 °F
        ("eg", 50, -36.7),  # Navistar operator's manual, −34 °F
        ("eg", 60, -52.0),  # Navistar operator's manual, −62 °F; John Deere OMSU31337
        ("eg", 50, -34.0),  # JIS K 2234, at most −34.0 °C: the mix may freeze 3 °C lower
        ("pg", 40, -21.0),  # John Deere OMSU31337
        ("pg", 50, -33.0),  # John Deere OMSU31337
        ("pg", 60, -49.0),  # John Deere OMSU31337
        ("pg", 50, -33.3),  # Lange's Handbook table 5.13, second-hand
        ("eg", 56, -46.0),  # Chrysler service manuals
    ],
)
def test_makers_figures_lie_within_three_degrees(base: str, percent: float, celsius: float) -> None:
    assert freeze_point(base, percent) == pytest.approx(celsius, abs=3.0)


@pytest.mark.parametrize(
    ("base", "celsius", "percent"),
    [
        ("eg", -37, 50.0),
        ("eg", -25, 40.2),
        ("eg", -5, 12.7),
        ("eg", -18, 32.7),
        ("eg", -45, 55.3),
        ("pg", -18, 36.3),
        ("pg", -34, 50.2),
        ("pg", -48, 58.5),
    ],
)
def test_a_freezing_point_needs_its_share(base: str, celsius: float, percent: float) -> None:
    """The same table read the other way, computed from the published rows."""
    assert percent_for(base, celsius) == pytest.approx(percent, abs=0.1)


def test_sixty_seven_percent_is_refused_with_the_published_figure() -> None:
    """Navistar operator's manual: 67 % −70.6 °C (−95 °F), more is not recommended."""
    with pytest.raises(NotUsableError) as refused:
        freeze_point("eg", 67)
    assert "over-concentrated" in str(refused.value)
    assert "-70.6 °C" in str(refused.value)
    assert published_beyond("eg")[0].freeze_c == pytest.approx((-95 - 32) / 1.8, abs=0.1)


def test_straight_concentrate_is_refused_and_named_worse_than_half_and_half() -> None:
    """Chrysler service manuals: concentrate alone freezes at −22 °C (−8 °F)."""
    with pytest.raises(NotUsableError) as refused:
        freeze_point("eg", 100)
    assert "over-concentrated" in str(refused.value)
    assert "-22 °C" in str(refused.value)
    assert "worse than 50 percent with -37.0 °C" in str(refused.value)
    assert published_beyond("eg")[-1].freeze_c > freeze_point("eg", 50)


def test_too_much_propylene_glycol_is_refused_without_inventing_a_figure() -> None:
    with pytest.raises(NotUsableError, match="no freezing point is published"):
        freeze_point("pg", 70)


@pytest.mark.parametrize("celsius", [-52.1, -70.6, 0.1])
def test_a_freezing_point_that_no_recommended_mix_has_is_refused(celsius: float) -> None:
    with pytest.raises(NotUsableError, match="over-concentrated"):
        percent_for("eg", celsius)


@pytest.mark.parametrize(("base", "percent"), [("meg", 50), ("eg", -1), ("eg", 101)])
def test_what_makes_no_sense_is_refused(base: str, percent: float) -> None:
    with pytest.raises(NotUsableError):
        freeze_point(base, percent)


@pytest.mark.parametrize(
    ("base", "mass", "volume"),
    [
        ("eg", 50, 47.6),
        ("eg", 20, 18.1),
        ("eg", 60, 57.8),
        ("pg", 50, 49.9),
        ("pg", 60, 60.0),
    ],
)
def test_percent_by_mass_becomes_percent_by_volume(base: str, mass: float, volume: float) -> None:
    """ASHRAE Handbook Fundamentals 2001, volume to mass file, second-hand."""
    assert volume_percent(base, mass) == pytest.approx(volume, abs=0.1)


def test_more_by_mass_than_the_table_has_is_refused() -> None:
    with pytest.raises(NotUsableError, match="over-concentrated"):
        volume_percent("eg", 61)


@pytest.mark.parametrize(
    ("fluid", "share", "celsius"),
    [("MEG", 0.30, -14.6), ("MEG", 0.50, -36.0), ("MEG", 0.60, -51.2), ("MPG", 0.50, -32.2)],
)
def test_the_reference_answers_by_mass_as_published(
    fluid: str, share: float, celsius: float
) -> None:
    """Melinder 2010, pure glycol by mass, as CoolProp 8.0.0 carries it; inhibited and pure tables
    differ by 1–3 °C."""
    found = reference_celsius(fluid, share)
    assert found == pytest.approx(celsius, abs=0.1)
    base = fluid[1:].lower()
    assert freeze_point(base, volume_percent(base, share * 100)) == pytest.approx(found, abs=3.0)


@pytest.mark.parametrize(("base", "fluid"), [("eg", "AEG"), ("pg", "APG")])
def test_the_reference_agrees_at_every_row_of_the_table(base: str, fluid: str) -> None:
    """CoolProp's AEG and APG are volume based and hold from 10 to 60 percent; below 10 percent it
    has no range, so the first three rows of each base are not compared."""
    curve = freezing(base)
    inside = (curve.percent >= 10.0) & (curve.percent <= 60.0)
    assert inside.sum() >= 42
    for percent, celsius in zip(curve.percent[inside], curve.value[inside], strict=True):
        assert celsius == pytest.approx(reference_celsius(fluid, percent / 100), abs=0.35), percent


def test_every_row_of_the_table_names_its_source() -> None:
    for base in BASES:
        assert all(len(source) > 10 for source in freezing(base).sources)


def test_a_fleet_is_answered_row_by_row() -> None:
    base = np.array(["eg", "pg", "eg", None, "eg", "oil", "pg"], dtype=object)
    percent = np.array([50.0, 50.0, np.nan, 50.0, 70.0, 50.0, -1.0])
    found = freezing_points(base, percent)
    assert found[:2] == pytest.approx([-36.98, -33.65], abs=0.05)
    assert np.isnan(found[[2, 3, 5, 6]]).all()
    assert found[4] == freeze_point("eg", most_glycol("eg"))  # the end stands; named beside it
    assert over_concentrated(base, percent).tolist() == [False] * 4 + [True, False, False]


def test_shares_of_a_fleet_are_none_outside_the_falling_branch() -> None:
    found = percents_for(of("eg", 4), np.array([-37.0, 1.0, -60.0, np.nan]))
    assert found[0] == pytest.approx(50.0, abs=0.1)
    assert np.isnan(found[1:]).all()
    assert np.isnan(percents_for(of("oil"), np.array([-10.0]))).all()


def test_over_concentration_is_judged_after_rounding() -> None:
    assert over_concentrated(of("eg", 3), np.array([60.0, 60.04, 60.06])).tolist() == [
        False,
        False,
        True,
    ]


@given(bases, st.floats(0, 60), st.floats(0, 60))
def test_more_glycol_freezes_lower_up_to_the_most_that_is_recommended(
    base: str, one: float, other: float
) -> None:
    less, more = sorted((one, other))
    assert freeze_point(base, more) <= freeze_point(base, less)
    if more - less > 0.01:
        assert freeze_point(base, more) < freeze_point(base, less)


@given(bases, st.floats(0, 60))
def test_the_way_there_and_back_ends_where_it_began(base: str, percent: float) -> None:
    assert percent_for(base, freeze_point(base, percent)) == pytest.approx(percent, abs=1e-6)
    found = percents_for(of(base), freezing_points(of(base), np.array([percent])))
    assert found[0] == pytest.approx(percent, abs=1e-6)
