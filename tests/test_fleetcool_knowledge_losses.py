"""What a system holds, drains and loses where nobody said."""

from importlib import resources

import pandas as pd
import pytest

from fleetcool.knowledge.losses import (
    ANY,
    COOLANT,
    DRAINS_ALL,
    DRAINS_RADIATOR,
    ONE_TOP_UP,
    by_size,
    of_size,
    usual_loss,
)

SIZES = ("light", "medium", "heavy")


@pytest.mark.parametrize("measure", [COOLANT, DRAINS_ALL, DRAINS_RADIATOR, ONE_TOP_UP])
def test_every_measure_has_a_row_for_a_size_nobody_knows(measure: str) -> None:
    assert by_size(measure)[ANY] > 0.0


def test_about_80_percent_comes_out_at_a_service_drain() -> None:
    """Source: Chrysler service manuals 2001/2002, refill share of that order."""
    assert by_size(DRAINS_ALL)[ANY] == 80.0


def test_a_larger_system_is_topped_up_with_more() -> None:
    """Common practice, no source."""
    litres = of_size(ONE_TOP_UP, pd.Series([*SIZES, "unheard of", None], dtype="str"))
    assert list(litres) == [0.5, 1.0, 2.0, 0.5, 0.5]


def test_every_size_has_a_loss_for_every_hose_and_for_none() -> None:
    usual = usual_loss()
    for size in SIZES:
        hoses = set(usual.loc[usual["size"] == size, "hose_material"])
        assert hoses == {ANY, "EPDM", "EPDM and silicone", "silicone"}
    assert not usual.duplicated(["size", "hose_material"]).any()


@pytest.mark.parametrize("file", ["coolant_by_size.csv", "coolant_loss.csv"])
def test_every_row_names_its_source(file: str) -> None:
    folder = resources.files("fleetcool.knowledge") / "property_tables"
    with resources.as_file(folder / file) as path:
        assert pd.read_csv(path)["source"].notna().all()
