"""Who is meant by a door number, a plate or a VIN."""

import pandas as pd
import pytest

from fleetcool.actions.find_vehicle import Found, find_vehicle
from fleetcool.errors import NotThereError
from fleetcool.model.all_tables import TABLES
from fleetcool.model.standing import Standing

Row = dict[str, object]
VEHICLES: list[Row] = [
    {
        "vehicle": "104",
        "unit": "104",
        "joined_on": 18_000.0,
        "leaves_on": 19_000.0,
        "plate": "AB 1",
    },
    {"vehicle": "104~2022-02-01", "unit": "104", "joined_on": 19_024.0, "vin": "2Z9WCDB46GL007123"},
    {"vehicle": "200", "unit": "201", "was_unit": "200", "joined_on": 18_500.0},
    {"vehicle": "BUS-7", "unit": "BUS-7", "joined_on": 18_500.0},
]


def standing(*history: Row) -> Standing:
    rows = {"vehicles": VEHICLES, "history": list(history)}
    frames = {}
    for name, table in TABLES.items():
        columns = {}
        for column in table.columns:
            text = column.is_text and column.kind not in ("day", "moment")
            values = [row.get(column.name) for row in rows.get(name, [])]
            columns[column.name] = pd.Series(values, dtype="str" if text else "float64")
        columns["vehicle"] = pd.Series([row["vehicle"] for row in rows.get(name, [])], dtype="str")
        frames[name] = pd.DataFrame(columns)
    frames["vehicles"]["here"] = frames["vehicles"]["leaves_on"].isna()
    nothing = pd.DataFrame()
    return Standing(20_000, 1, frames, nothing, nothing, nothing, nothing)


@pytest.mark.parametrize(
    ("asked", "vehicle"),
    [
        ("201", "200"),
        ("200", "200"),  # its number before it was renumbered
        (" 0201 ", "200"),  # zeros and blanks count nothing
        ("bus-7", "BUS-7"),
        ("ab1", "104"),  # a plate, however it is written
        ("2z9wcdb46gl007123", "104~2022-02-01"),
    ],
)
def test_a_number_of_now_or_before_a_plate_and_a_vin_all_name_the_vehicle(
    asked: str, vehicle: str
) -> None:
    assert find_vehicle(standing(), asked).vehicle == vehicle


def test_a_number_two_vehicles_had_means_the_one_in_the_fleet_and_names_the_other() -> None:
    assert find_vehicle(standing(), "104") == Found("104~2022-02-01", ("104",), ())


def test_the_other_one_found_by_its_plate_names_the_one_in_the_fleet() -> None:
    assert find_vehicle(standing(), "AB 1").others == ("104~2022-02-01",)


def test_numbers_before_are_those_told_and_those_its_records_were_written_under() -> None:
    work = {"vehicle": "200", "unit": "199", "on": 18_600.0, "service": "new cap"}
    assert find_vehicle(standing(work), "201").former_units == ("199", "200")
    assert find_vehicle(standing(work), "199").vehicle == "200"


@pytest.mark.parametrize(("asked", "near"), [("1004", "104"), ("BUS7", "BUS-7"), ("  ", "104")])
def test_an_unknown_number_is_one_sentence_with_the_nearest_known(asked: str, near: str) -> None:
    with pytest.raises(NotThereError) as fault:
        find_vehicle(standing(), asked)
    assert f'There is no vehicle "{asked}"' in str(fault.value)
    if asked.strip():
        assert f'the nearest known is "{near}"' in str(fault.value)
