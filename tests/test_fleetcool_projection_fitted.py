"""What sat in which place from when to when, worked out by hand from invented work."""

import math
import random

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.meters.chain import repair
from fleetcool.meters.gather import gather
from fleetcool.meters.usage import project_usage
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import FITTED_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.projection.fitted import fitted_parts
from fleetcool.projection.fleet import fleet_of

AS_OF = 20_000
FIRST = 18_000.0
KNOWLEDGE = in_force({}, AS_OF)
REASONS = ("planned", "while open", "found bad", "failed in the yard", "failed on the road")

Row = dict[str, object]


def table(name: str, rows: list[Row]) -> pd.DataFrame:
    """Return the frame of a table as the store gives it."""
    columns = {}
    for column in TABLES[name].columns:
        values = [row.get(column.name) for row in rows]
        text = column.is_text and column.kind not in ("day", "moment")
        columns[column.name] = pd.Series(values, dtype="str" if text else "float64")
    frame = pd.DataFrame(columns)
    if "unit" in frame:
        frame["vehicle"] = frame["unit"]
    if name == "vehicles":
        frame["here"] = True
    return frame


def fitted(
    *history: Row, vehicles: list[Row] | None = None, readings: list[Row] | None = None
) -> pd.DataFrame:
    """Return the fitted parts of vehicle 7, a van that has run 100 km a day since first use."""
    van = {"unit": "7", "layout": "petrol four timing belt", "first_used_on": FIRST}
    rows: dict[str, list[Row]] = {
        "vehicles": [van] if vehicles is None else vehicles,
        "history": [{"unit": "7", **row} for row in history],
        "readings": [
            {"unit": "7", "on": on, "odometer": 100.0 * (on - FIRST)}
            for on in (18_100.0, 18_500.0, 19_000.0, 19_500.0, 19_900.0)
        ]
        if readings is None
        else readings,
    }
    frames = {name: table(name, rows.get(name, [])) for name in TABLES}
    nothing = pd.DataFrame()
    standing = Standing(AS_OF, 1, frames, nothing, nothing, nothing, nothing)
    fleet = fleet_of(standing["vehicles"], KNOWLEDGE.layouts, AS_OF)
    chain = repair(gather(standing))
    names = fleet.frame["vehicle"].to_numpy(dtype=object)
    usage = project_usage(chain, fleet.beginning, names, AS_OF)
    return fitted_parts(standing, KNOWLEDGE, fleet, chain, usage)


def of(parts: pd.DataFrame, place: str) -> list[Row]:
    rows = parts[parts["place"] == place].to_dict("records")
    return [{str(name): value for name, value in row.items()} for row in rows]


def test_a_vehicle_without_work_has_the_parts_of_its_layout_since_first_use() -> None:
    parts = fitted()
    assert tuple(parts.columns) == FITTED_COLUMNS
    # the places of the shipped layout but the coolant: a van without bypass hose and fan drive
    assert list(parts["place"]) == [
        *("upper hose", "lower hose", "heater hoses", "pump", "thermostat", "cap", "drive belt"),
        *("timing belt", "tensioner", "idlers", "cooling pack", "expansion tank"),
    ]
    assert parts["assumed"].all()
    assert (parts["fitted_on"] == FIRST).all()
    assert (parts["fitted_at"] == 0.0).all()
    assert parts[["part", "out_on", "out_at", "why_out"]].isna().all(axis=None)
    assert parts.set_index("place")["quantity"][["pump", "heater hoses", "idlers"]].tolist() == [
        *(1.0, 2.0, 2.0)
    ]


def test_new_work_ends_the_part_before_with_its_reason_day_and_distance() -> None:
    first, second = of(
        fitted({"on": 19_000.0, "service": "new pump", "part": "P-1", "reason": "found bad"}),
        "pump",
    )
    assert (first["assumed"], first["out_on"], first["why_out"]) == (True, 19_000.0, "found bad")
    assert first["out_at"] == pytest.approx(100_000.0)
    assert (second["assumed"], second["part"], second["fitted_on"]) == (False, "P-1", 19_000.0)
    assert second["fitted_at"] == pytest.approx(100_000.0)
    assert math.isnan(float(str(second["out_on"])))


@pytest.mark.parametrize("reason", [*REASONS, "damage"])
def test_every_reason_is_kept_as_it_was_said(reason: str) -> None:
    before, _ = of(fitted({"on": 19_000.0, "service": "new cap", "reason": reason}), "cap")
    assert before["why_out"] == reason


def test_work_without_a_reason_takes_the_part_out_and_leaves_why_open() -> None:
    before, _ = of(fitted({"on": 19_000.0, "service": "new cap"}), "cap")
    assert before["out_on"] == 19_000.0
    assert str(before["why_out"]) == "nan"


def test_new_hoses_renew_every_hose_the_layout_has_and_no_other() -> None:
    parts = fitted({"on": 19_000.0, "service": "new hoses", "part": "SET", "quantity": 1.0})
    recorded = parts[~parts["assumed"]]
    assert list(recorded["place"]) == ["upper hose", "lower hose", "heater hoses"]
    assert recorded["quantity"].tolist() == [1.0, 1.0, 2.0]  # of the place, not of the set


def test_a_place_told_stands_before_those_of_the_service() -> None:
    parts = fitted({"on": 19_000.0, "service": "new hoses", "place": "lower hose"})
    assert list(parts.loc[~parts["assumed"], "place"]) == ["lower hose"]


def test_a_part_told_with_a_place_counts_whatever_the_service_and_a_look_does_not() -> None:
    parts = fitted(
        {"on": 19_000.0, "service": "pressure test", "place": "cap", "part": "C-1"},
        {"on": 19_100.0, "service": "hose look-over", "place": "upper hose"},
    )
    assert list(parts.loc[~parts["assumed"], "place"]) == ["cap"]


def test_coolant_is_no_part() -> None:
    parts = fitted({"on": 19_000.0, "service": "coolant change", "part": "GALLON"})
    assert parts["assumed"].all()
    assert "coolant" not in set(parts["place"])


def test_a_place_the_layout_lacks_is_kept_when_somebody_recorded_it() -> None:
    (row,) = of(fitted({"on": 19_000.0, "service": "new fan drive"}), "fan drive")
    assert not row["assumed"]


def test_two_rows_of_one_day_for_one_place_are_one_fitting_and_the_part_number_wins() -> None:
    rows = of(
        fitted(
            {"on": 19_000.0, "service": "new pump", "reason": "planned"},
            {"on": 19_000.0, "service": "new pump", "part": "P-9", "place": "pump"},
        ),
        "pump",
    )
    assert [row["part"] for row in rows][1:] == ["P-9"]
    assert rows[0]["why_out"] == "planned"  # the row without a number still says why


def test_work_on_the_day_of_first_use_leaves_nothing_assumed_before_it() -> None:
    (row,) = of(fitted({"on": FIRST, "service": "new thermostat"}), "thermostat")
    assert not row["assumed"]


def test_work_after_the_last_reading_lies_on_the_line_of_the_daily_rate() -> None:
    _, row = of(fitted({"on": 19_950.0, "service": "new cap"}), "cap")
    assert row["fitted_at"] == pytest.approx(195_000.0, rel=0.001)


def test_a_replaced_meter_does_not_make_a_part_young() -> None:
    old = [{"unit": "7", "on": on, "odometer": 100.0 * (on - FIRST)} for on in (18_500.0, 19_000.0)]
    new = [
        {"unit": "7", "on": on, "odometer": 100.0 * (on - 19_000.0)} for on in (19_200.0, 19_400.0)
    ]
    first, _ = of(fitted({"on": 19_300.0, "service": "new cap"}, readings=[*old, *new]), "cap")
    assert first["out_at"] == pytest.approx(130_000.0, rel=0.01)


def test_without_a_reading_the_distance_is_not_known() -> None:
    parts = fitted({"on": 19_000.0, "service": "new cap"}, readings=[])
    assert parts["fitted_at"].isna().all()
    assert parts["out_at"].isna().all()


def test_a_vehicle_of_unknown_layout_is_taken_to_have_every_place() -> None:
    parts = fitted(vehicles=[{"unit": "7", "first_used_on": FIRST}])
    assert len(parts) == 16  # all places but the coolant
    assert parts["quantity"].isna().all()


def test_no_vehicle_has_no_part() -> None:
    parts = fitted(vehicles=[], readings=[])
    assert tuple(parts.columns) == FITTED_COLUMNS
    assert not len(parts)


def work() -> st.SearchStrategy[list[Row]]:
    one = st.fixed_dictionaries(
        {
            "on": st.integers(17_990, 19_990).map(float),
            "service": st.sampled_from(
                ["new pump", "new hoses", "new upper hose", "coolant change"]
            ),
            "part": st.sampled_from([None, "A", "B"]),
            "reason": st.sampled_from([None, *REASONS]),
        }
    )
    return st.lists(one, max_size=6)


@settings(max_examples=25, deadline=None)
@given(work(), st.randoms(use_true_random=False))
def test_parts_follow_each_other_without_gap_whatever_the_order_of_the_rows(
    rows: list[Row], order: random.Random
) -> None:
    parts = fitted(*rows)
    shuffled = list(rows)
    order.shuffle(shuffled)
    pd.testing.assert_frame_equal(parts, fitted(*shuffled))
    for _, spot in parts.groupby(["vehicle", "place"]):
        assert spot["out_on"].tolist()[:-1] == spot["fitted_on"].tolist()[1:]
        assert math.isnan(spot["out_on"].iloc[-1])
        assert (np.diff(spot["fitted_on"]) > 0).all()
        assert (np.diff(spot["fitted_at"]) >= 0).all()
