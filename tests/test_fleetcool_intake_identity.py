"""Which vehicle is meant by a door number."""

from collections.abc import Mapping

import pandas as pd

from fleetcool.intake.identity import holders_of, identify, vehicles_on
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import numbers

NAMES = [column.name for column in TABLES["vehicles"].columns]
VIN_A, VIN_B = "1M8GDM9AXKP042788", "1G4AH59H45G118341"
INTAKE_DAY = 20000


def coming(*records: Mapping[str, object]) -> pd.DataFrame:
    return pd.DataFrame(records, columns=NAMES).astype(object)


def there(*records: Mapping[str, object]) -> pd.DataFrame:
    frame = pd.DataFrame(records, columns=[*NAMES, "vehicle"])
    for name in ("joined_on", "leaves_on"):
        frame[name] = numbers(frame[name].astype("str"))
    return frame


OLD = {"vehicle": "104", "unit": "104", "vin": VIN_A, "joined_on": "2015-01-01"}
GONE = OLD | {"leaves_on": "2026-02-01"}


def who(rows: pd.DataFrame, standing: pd.DataFrame) -> list[str | None]:
    return list(identify(rows, standing, INTAKE_DAY).vehicle)


def test_the_first_holder_is_called_by_its_number() -> None:
    assert who(coming({"unit": "0104"}, {"unit": "7A"}), there()) == ["104", "7A"]


def test_a_number_that_stands_is_the_same_vehicle() -> None:
    assert who(coming({"unit": "104"}), there(OLD)) == ["104"]
    assert who(coming({"unit": "104", "vin": VIN_A.lower()}), there(GONE)) == ["104"]


def test_one_that_joined_after_the_holder_left_is_another() -> None:
    new = {"unit": "104", "joined_on": "2026-03-01"}
    assert who(coming(new), there(GONE)) == ["104~2026-03-01"]


def test_another_vin_after_a_known_leaving_day_is_another_vehicle() -> None:
    # 20000 days after 1970-01-01 is 2024-10-04, the intake's day
    assert who(coming({"unit": "104", "vin": VIN_B}), there(GONE)) == ["104~2024-10-04"]


def test_another_vin_while_nobody_said_the_leaving_day_is_held_with_a_question() -> None:
    found = identify(coming({"unit": "104", "vin": VIN_B}), there(OLD), INTAKE_DAY)
    assert found.vehicle.isna().all()
    assert "leaves_on" in found.holds["do"].iloc[0]


def test_old_and_new_holder_may_come_in_one_table_in_any_order() -> None:
    old = {"unit": "104", "joined_on": "2015-01-01", "leaves_on": "2026-02-01"}
    new = {"unit": "104", "joined_on": "2026-03-01", "vin": VIN_B}
    assert who(coming(new, old), there()) == ["104~2026-03-01", "104"]
    later = there(GONE, {"vehicle": "104~2026-03-01"} | new)
    assert who(coming(new, old), later) == ["104~2026-03-01", "104"]


def test_was_unit_renumbers_and_the_old_number_is_free_again() -> None:
    assert who(coming({"unit": "204", "was_unit": "104"}), there(OLD)) == ["104"]
    moved = there(OLD | {"unit": "204", "was_unit": "104"})
    assert who(coming({"unit": "104", "joined_on": "2026-03-01"}), moved) == ["104~2026-03-01"]


def test_a_day_tells_which_holder_of_a_number_is_meant() -> None:
    new = {"vehicle": "104~2026-03-01", "unit": "104", "joined_on": "2026-03-01"}
    holders = holders_of(there(GONE, new), None)
    days = pd.Series(["2014-01-01", "2026-01-31", "2026-02-01", "2026-03-01", ""])
    found = vehicles_on(holders, pd.Series(["104"] * 5), days)
    named = [None if one != one else one for one in found["vehicle"]]  # noqa: PLR0124 - NaN
    assert named == ["104", "104", None, "104~2026-03-01", "104~2026-03-01"]
