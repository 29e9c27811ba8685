"""How long parts last: what is known before, what a fleet's own failures add, and what it says."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_lives import CAP, KNOWLEDGE, Floats, readings, seen, spells, van

from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.life_frames import LIFE_COLUMNS
from fleetcool.projection.families import cells_of
from fleetcool.projection.life import life_of
from fleetcool.projection.weibull import fit, flat


def drawn(seed: int, n: int, eta: float, until: float) -> tuple[Floats, Floats]:
    draw = np.random.default_rng(seed)
    life = eta * draw.weibull(2.5, n)
    stop = draw.uniform(0.1, 1.0, n) * until
    age = np.round(np.minimum(life, stop)).astype("float64")
    return age, (life <= stop).astype("float64")


def row(life: pd.DataFrame, layout: str = "", part: str = "", place: str = "pump") -> pd.Series:
    found = life[(life["layout"] == layout) & (life["part"] == part) & (life["place"] == place)]
    assert len(found) == 1
    return found.iloc[0]


def test_without_a_failure_the_usual_life_stands_and_half_outlast_it() -> None:
    """The shipped life of pumps of medium vehicles, 420,000 km: common practice, no source."""
    told = spells(np.array([1000.0]), np.array([0.0]))
    found = row(life_of(told, KNOWLEDGE))
    median = found["scale"] * np.log(2.0) ** (1.0 / found["shape"])
    assert median == pytest.approx(420_000.0, rel=1e-3)
    assert found["shape"] == pytest.approx(2.5, rel=1e-3)
    assert found["data_share"] == pytest.approx(0.0, abs=0.01)
    assert found["by"] == "km"


def test_a_place_that_ages_by_days_takes_its_usual_life_in_months() -> None:
    """The shipped life of caps of medium vehicles, 84 months: common practice, no source."""
    found = row(
        life_of(spells(np.array([10.0]), np.array([0.0]), place=CAP), KNOWLEDGE), place="cap"
    )
    median = found["scale"] * np.log(2.0) ** (1.0 / found["shape"])
    assert median == pytest.approx(84 * DAYS_PER_MONTH, rel=1e-3)
    assert found["by"] == "days"


def test_many_failures_speak_for_themselves() -> None:
    age, failed = drawn(1, 2000, 200_000.0, 400_000.0)
    found = row(life_of(spells(age, failed), KNOWLEDGE))
    assert found["n_failures"] == failed.sum()
    assert found["scale"] == pytest.approx(200_000.0, rel=0.03)
    assert found["shape"] == pytest.approx(2.5, rel=0.08)
    assert found["scale_low"] < 200_000.0 < found["scale_high"]
    assert found["data_share"] > 0.98
    b10 = 200_000.0 * (-np.log(0.9)) ** (1 / 2.5)
    assert found["b10_low"] < b10 < found["b10_high"]


def test_few_failures_lie_between_what_is_usual_and_what_they_tell_alone() -> None:
    age, failed = drawn(2, 25, 150_000.0, 150_000.0)
    assert 2 <= failed.sum() <= 9
    told = spells(age, failed)
    found = row(life_of(told, KNOWLEDGE))
    family = np.zeros(len(age), dtype="int64")
    alone = fit(cells_of(told, family, 1), flat(np.log([2.0]), np.log([150_000.0])))
    usual = 420_000.0 / np.log(2.0) ** (1 / 2.5)
    assert float(np.exp(alone.scale[0])) < found["scale"] < usual
    assert 0.3 < found["data_share"] < 0.99


def test_a_layout_starts_from_what_the_others_of_its_size_tell() -> None:
    age, failed = drawn(3, 600, 150_000.0, 300_000.0)
    new = np.array([1000.0, 2000.0])
    told = spells(np.append(age, new), np.append(failed, [0, 0]), np.append(np.zeros(600), [1, 1]))
    life = life_of(told, KNOWLEDGE)
    young, old = row(life, "long six"), row(life, "cross flow six")
    assert young["scale"] == pytest.approx(old["scale"], rel=0.1)
    assert young["data_share"] < 0.05
    assert "in our other medium vehicles" in young["why"]
    assert "the usual life of pumps in medium vehicles" in old["why"]  # nothing else taught it


def test_a_part_number_starts_from_the_others_of_its_layout() -> None:
    age, failed = drawn(4, 400, 150_000.0, 300_000.0)
    part = np.append(np.zeros(400), [1])
    told = spells(np.append(age, 500.0), np.append(failed, 0.0), part=part)
    life = life_of(told, KNOWLEDGE)
    few, many = row(life, "cross flow six", "B-2"), row(life, "cross flow six", "A-1")
    assert few["scale"] == pytest.approx(many["scale"], rel=0.1)
    assert "how long other pumps last in this layout" in few["why"]


def test_layouts_that_lie_close_together_lend_each_other_more() -> None:
    def young(spread: float) -> float:
        ages, failures, layouts = [], [], []
        for number, sign in enumerate((1.0, -1.0, 1.0)):
            eta = 200_000.0 * np.exp(sign * spread)
            age, failed = drawn(20 + number, 200, eta, 400_000.0)
            ages.append(age)
            failures.append(failed)
            layouts.append(np.full(200, number))
        ages.append(np.array([100.0]))
        failures.append(np.array([0.0]))
        layouts.append(np.array([3]))
        told = spells(np.concatenate(ages), np.concatenate(failures), np.concatenate(layouts))
        return float(row(life_of(told, KNOWLEDGE), "tall six")["var_ln_scale"])

    assert young(0.0) == pytest.approx(0.2**2, rel=0.3)  # the least that layouts lie apart
    assert young(0.9) > 4 * young(0.0)
    assert young(0.9) <= 0.8**2 * 1.001  # and the most


def test_lognormal_lives_are_told_from_weibull_ones_when_there_are_many() -> None:
    draw = np.random.default_rng(5)
    life = np.round(200_000.0 * np.exp(draw.normal(0.0, 0.6, 800)))
    found = row(life_of(spells(life, np.ones(800)), KNOWLEDGE))
    assert found["law"] == "lognormal"
    assert found["scale"] == pytest.approx(200_000.0, rel=0.05)
    assert found["shape"] == pytest.approx(0.6, rel=0.06)
    assert found["b10"] == pytest.approx(200_000.0 * np.exp(-1.2816 * 0.6), rel=0.06)
    few = row(life_of(spells(life[:9], np.ones(9)), KNOWLEDGE))
    assert few["law"] == "weibull"  # nine failures tell no two laws apart


def test_the_sentence_counts_failures_those_on_the_road_and_what_was_left_out() -> None:
    age, failed = drawn(6, 41, 220_000.0, 200_000.0)
    road = np.where(np.cumsum(failed) <= 2, failed, 0.0)
    told = spells(np.append(age, 1.0), np.append(failed, 0.0), road=np.append(road, 0.0))
    teaches = np.append(np.ones(41, dtype=bool), [False])
    told = dataclasses.replace(told, teaches=teaches, left_out=~teaches)
    found = row(life_of(told, KNOWLEDGE))
    n, share = int(failed.sum()), round(100 * found["data_share"])
    assert found["why"] == (
        f"{n} failures, 2 of them on the road, among 41 pumps; the data carry {share} %, the rest "
        "is the usual life of pumps in medium vehicles; 1 of unknown age, end or distance left out"
    )
    assert (found["n_parts"], found["n_road"], found["n_left_out"]) == (41, 2, 1)


def test_a_place_without_a_usual_life_has_no_law() -> None:
    priors = KNOWLEDGE.life_priors
    bare = dataclasses.replace(KNOWLEDGE, life_priors=priors[priors["place"] != "pump"])
    assert life_of(spells(np.array([10.0]), np.array([1.0])), bare).empty


def test_no_part_gives_no_row_and_a_fleet_has_every_column_in_order() -> None:
    none = np.zeros(0)
    assert tuple(life_of(spells(none, none), KNOWLEDGE).columns) == LIFE_COLUMNS
    life = seen([van()], [], readings()).lasting().life
    assert tuple(life.columns) == LIFE_COLUMNS
    assert life["layout"].unique().tolist() == ["", "petrol four timing belt"]
    assert life.index.tolist() == list(range(len(life)))
    assert (life[["scale_low", "b10_low"]].to_numpy() < life[["scale", "b10"]].to_numpy()).all()


def test_what_is_never_seen_to_its_end_still_gets_the_usual_law() -> None:
    life = seen([van()], [], [], np.inf).lasting().life
    assert (life["n_parts"] == 0).all()
    assert (life["data_share"] == 0.0).all()
    assert "none of our pumps was watched" in row(life)["why"]


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 1000))
def test_the_order_of_the_parts_does_not_matter(seed: int) -> None:
    draw = np.random.default_rng(seed)
    n = int(draw.integers(2, 80))
    age, failed = drawn(seed, n, 200_000.0, 300_000.0)
    layout, part = draw.integers(-1, 3, n), draw.integers(-1, 2, n)
    order = draw.permutation(n)
    one = life_of(spells(age + 1, failed, layout, part), KNOWLEDGE)
    other = life_of(spells(age[order] + 1, failed[order], layout[order], part[order]), KNOWLEDGE)
    pd.testing.assert_frame_equal(one, other)
    numbers = one.select_dtypes("number")
    assert np.isfinite(numbers.to_numpy("float64")).all()
    assert one["data_share"].between(0.0, 1.0).all()
