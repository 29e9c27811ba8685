"""Which parts and how much coolant a stay takes."""

from collections.abc import Sequence

import made_rows
import pandas as pd
import pytest
from supply_rows import Row, knowledge, standing

from fleetcool.supply.bill import bill, bought_as


def van(**more: object) -> Row:
    return {"vehicle": "104", "unit": "104", "depot": "NORTH", "layout": "van"} | more


def taken(*services: str, **rows: Sequence[Row]) -> dict[str, float]:
    """Return the quantity by part of one stay of van 104."""
    asked = pd.DataFrame({"visit": "V", "vehicle": "104", "service": list(services)})
    found = bill(asked, standing(**({"vehicles": [van()]} | rows)), knowledge())
    assert not found.duplicated(["service", "part"]).any()
    return {
        str(part): float(all_) for part, all_ in found.groupby("part")["quantity"].sum().items()
    }


def test_a_part_shared_within_a_stay_is_taken_once_and_the_coolant_drained_once() -> None:
    assert taken("new pump", "new thermostat") == {
        "V-PUMP": 1, "V-SEAL": 1, "V-THERMOSTAT": 1, "COOL-OAT-P": 7.0,
    }  # fmt: skip


def test_a_coolant_change_takes_the_litres_it_drains_of_the_vehicles_own_coolant() -> None:
    """Drained and not put back: 80 % of 10 L, or of the 12 L the vehicle is said to hold."""
    assert taken("coolant change") == {"COOL-OAT-P": 8.0}
    other = [van(coolant="NOAT eg", coolant_litres=12)]
    assert taken("coolant change", vehicles=other)["COOL-NOAT-P"] == pytest.approx(9.6)


def test_a_dry_service_takes_no_coolant() -> None:
    assert taken("new drive belt") == {"V-BELT": 1}


def test_a_part_for_one_coolant_kind_is_taken_only_with_that_kind() -> None:
    assert "DOSE" not in taken("coolant change")
    assert taken("coolant change", vehicles=[van(coolant="NOAT eg")])["DOSE"] == 1


def test_what_another_shop_does_takes_neither_parts_nor_coolant() -> None:
    assert taken("new pump", vehicles=[van(layout="other van")]) == {}


def test_a_vehicles_own_part_replaces_that_of_its_layout_with_its_own_quantity() -> None:
    own = [{"vehicle": "104", "unit": "104", "place": "drive belt", "part": "MINE", "quantity": 2}]
    assert taken("new drive belt", vehicle_parts=own) == {"MINE": 2}
    assert "V-PUMP" in taken("new pump", vehicle_parts=own)


def test_a_part_is_bought_under_our_number_and_under_the_newest_one() -> None:
    parts = [
        {"part": "WP-1", "same_as": "v pump", "replaced_by": "WP-2"},
        {"part": "WP-2", "replaced_by": "WP-3"},
        {"part": "WP-3"},
    ]
    assert "WP-3" in taken("new pump", parts=parts)


def test_numbers_that_replace_each_other_in_a_circle_end_on_one_of_them() -> None:
    parts = made_rows.table(
        "parts", [{"part": "A", "replaced_by": "B"}, {"part": "B", "replaced_by": "A"}]
    )
    assert bought_as(pd.Series(["A"]), parts).iloc[0] in {"A", "B"}


def test_a_number_unknown_to_the_parts_table_stays_as_it_is() -> None:
    parts = made_rows.table("parts", [{"part": "WP-1", "same_as": "V-PUMP"}])
    assert bought_as(pd.Series(["V-BELT", "vpump"]), parts).tolist() == ["V-BELT", "WP-1"]
