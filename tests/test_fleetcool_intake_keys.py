"""The text of a row's key."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.intake.keys import as_kept, key_texts
from fleetcool.model.all_tables import TABLES


def frame(table: str, *records: Mapping[str, object]) -> pd.DataFrame:
    return pd.DataFrame(records, columns=[column.name for column in TABLES[table].columns])


def test_blanks_are_a_dash_and_spelling_does_not_matter() -> None:
    one = {"unit": "0104", "on": "2026-09-01", "service": "New  Pump"}
    other = {"unit": "104", "on": "2026-09-01", "service": "new pump", "place": ""}
    keys = key_texts(TABLES["history"], frame("history", one, other))
    assert keys.tolist() == ["104|2026-09-01|new pump|-|-"] * 2


def test_part_numbers_keep_their_zeros_and_lose_dashes() -> None:
    rows = frame(
        "offers", {"part": "00-12 a", "supplier": "Acme", "from_quantity": 1.0}, {"part": "12A"}
    )
    assert key_texts(TABLES["offers"], rows).tolist() == ["0012A|acme|1", "12A|-|-"]


def test_a_measurement_is_the_same_one_when_all_its_values_are() -> None:
    rows = frame("readings", {"unit": "104", "on": "2026-09-01", "odometer": 100.04})
    assert key_texts(TABLES["readings"], rows).tolist() == ["104|2026-09-01|100|-|-|-"]


def test_away_is_told_by_what_is_away_with_its_kind() -> None:
    rows = frame(
        "away",
        {"unit": "0104", "start": "2026-12-24"},
        {"depot": "North", "start": "2026-12-24"},
        {"depot": "North", "bay": "2", "start": "2026-12-24"},
        {"depot": "North", "who": "KL", "start": "2026-12-24"},
        {"start": "2026-12-24"},
    )
    assert key_texts(TABLES["away"], rows).tolist() == [
        "unit:104|2026-12-24",
        "depot:north|2026-12-24",
        "bay:north/2|2026-12-24",
        "who:north/kl|2026-12-24",
        "-|2026-12-24",
    ]


def test_rows_that_stand_get_the_same_keys_as_rows_that_come() -> None:
    stays = frame("other_stays").assign(unit=["104"], start=[20000.3125], stop=[20001.0])
    kept = as_kept(TABLES["other_stays"], stays)
    # 20000 days after 1970-01-01 is 2024-10-04
    assert key_texts(TABLES["other_stays"], kept).tolist() == ["104|2024-10-04T07:30"]
    assert as_kept(TABLES["readings"], pd.DataFrame({"on": [np.nan]}))["on"].tolist() == [None]
