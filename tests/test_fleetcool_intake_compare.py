"""Whether two rows say the same once units and spelling are settled."""

import pandas as pd
import pytest

from fleetcool.intake.compare import compare
from fleetcool.model.all_tables import TABLES

COLUMNS = [column.name for column in TABLES["history"].columns]


def known(new: dict[str, object], old: dict[str, object]) -> bool:
    return bool(
        compare(
            TABLES["history"],
            pd.DataFrame([new], columns=[*COLUMNS, "odometer_unit"]),
            pd.DataFrame([old], columns=COLUMNS),
        ).known[0]
    )


@pytest.mark.parametrize(
    ("new", "old", "same"),
    [
        # TABLES "Five kinds of table": within 1 of the unit written, hours 0.1, money exactly
        ({"odometer": 100.0, "odometer_unit": "km"}, {"odometer": 101.0}, True),
        ({"odometer": 100.0, "odometer_unit": "km"}, {"odometer": 101.1}, False),
        ({"odometer": 100.0, "odometer_unit": "mi"}, {"odometer": 101.6}, True),
        ({"odometer": 100.0, "odometer_unit": "mi"}, {"odometer": 101.7}, False),
        ({"engine_hours": 10.0}, {"engine_hours": 10.1}, True),
        ({"engine_hours": 10.0}, {"engine_hours": 10.2}, False),
        ({"cost": 100.0}, {"cost": 101.0}, False),
        ({"quantity": 1.0}, {"quantity": 1.0000001}, True),
        ({"note": " leak "}, {"note": "leak"}, True),
        ({"part": "A-1"}, {"part": "a 1"}, True),
        ({"unit": "0104"}, {"unit": "104"}, True),
        ({}, {"note": "leak"}, True),  # blank means not said
        ({"note": "leak"}, {}, False),  # the new one says more
    ],
)
def test_a_row_is_known_when_it_says_nothing_else(
    new: dict[str, object],
    old: dict[str, object],
    same: bool,  # noqa: FBT001 - a row of the table
) -> None:
    assert known(new, old) is same
