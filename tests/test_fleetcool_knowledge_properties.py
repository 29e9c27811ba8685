"""The shipped curves and figures are whole, and each row says where it comes from."""

import numpy as np
import pytest

from fleetcool.knowledge.properties import (
    BASES,
    boiling,
    figure,
    freezing,
    most_glycol,
    most_glycol_of_any,
    published_beyond,
)


@pytest.mark.parametrize("base", sorted(BASES))
def test_a_curve_rises_in_glycol_and_runs_one_way(base: str) -> None:
    for curve, way in ((freezing(base), -1.0), (boiling(base), 1.0)):
        assert (np.diff(curve.percent) > 0).all()
        assert (np.diff(curve.value) * way > 0).all()
        assert curve.percent[0] == 0
        assert curve.percent[-1] == most_glycol(base)
        assert all(len(source) > 10 for source in curve.sources)


def test_the_most_that_is_recommended_is_the_makers() -> None:
    """John Deere OMSU31337: never above 60 %."""
    assert most_glycol("eg") == most_glycol("pg") == most_glycol_of_any() == 60


def test_what_is_published_past_it_lies_past_it() -> None:
    """Navistar operator's manual 67 %, Chrysler service manuals 100 %."""
    assert [one.percent for one in published_beyond("eg")] == [67, 100]
    assert published_beyond("pg") == ()


def test_figures_have_a_unit_and_a_source_and_a_wrong_name_is_ours() -> None:
    margin = figure("freezes below coldest")
    assert (margin.value, margin.unit) == (5, "°C")
    assert "laboratory guideline" in margin.source
    with pytest.raises(KeyError):
        figure("no such figure")
    with pytest.raises(KeyError):
        freezing("oil")
