"""Every place but the coolant wears by something, and says why it is taken so."""

from importlib import resources

import pandas as pd

from fleetcool.knowledge.wears_by import DAYS, KM, wears_by
from fleetcool.model.tables import PLACES


def test_every_place_but_the_coolant_wears_by_distance_or_by_days() -> None:
    table = wears_by()
    assert list(table.index) == [place for place in PLACES if place != "coolant"]
    assert table["by"].isin([KM, DAYS]).all()
    assert table["many"].str.len().gt(3).all()


def test_rubber_and_plastic_age_by_days_and_what_turns_by_distance() -> None:
    """Common practice, no source."""
    by = wears_by()["by"]
    assert (by[["upper hose", "lower hose", "heater hoses", "cap", "expansion tank"]] == DAYS).all()
    assert (by[["pump", "drive belt", "timing belt", "tensioner", "idlers"]] == KM).all()


def test_every_row_names_its_source() -> None:
    file = resources.files("fleetcool.knowledge") / "property_tables" / "wears_by.csv"
    with resources.as_file(file) as path:
        assert pd.read_csv(path)["source"].notna().all()
