"""What an intake's rows become against what stands: each kind of table, each sort of doubt."""

import json
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from fleetcool.intake.judge import judge
from fleetcool.intake.raw import Settled
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault, Judged

TODAY = number(date(2026, 11, 5))
NO_HELD = pd.DataFrame(columns=["held_id", "intake", "table", "file", "sheet", "row", "cells"])


def standing(**tables: list[dict[str, Any]]) -> Standing:
    frames = {}
    for name, table in TABLES.items():
        records = tables.get(name, [])
        extra = [key for record in records for key in record]
        names = [column.name for column in table.columns]
        columns = list(dict.fromkeys([*names, "vehicle", "row_id", *extra]))
        frame = pd.DataFrame(records, columns=columns)
        for column in table.columns:
            if not column.is_text:
                frame[column.name] = frame[column.name].astype("float64")
            elif column.kind in ("day", "moment"):
                days = pd.to_datetime(frame[column.name]).astype("datetime64[s]")
                seconds = days.to_numpy().astype("int64") / 86400.0
                frame[column.name] = np.where(days.isna(), np.nan, seconds)
            else:
                frame[column.name] = frame[column.name].astype("str")
        frame["row_id"] = np.arange(len(frame)) + 1
        if name == "vehicles":
            frame["here"] = True
        frames[name] = frame
    return Standing(
        TODAY,
        1,
        frames,
        pd.DataFrame(columns=[*VISIT_COLUMNS, "as_of", "in_last"]),
        pd.DataFrame(columns=[*VISIT_SERVICE_COLUMNS, "as_of"]),
        pd.DataFrame(columns=["region", "on", "name"]),
        pd.DataFrame(columns=["table", "unit", "rows"]),
    )


def rows(table: str, *records: dict[str, Any], faults: tuple[Fault, ...] = ()) -> Settled:
    made = [
        {
            "file": "fleet.xlsx",
            "sheet": table,
            "row": place,
            "cells": json.dumps({key: str(value) for key, value in record.items()}),
            "held_id": np.nan,
            "keep": None,
            "leave_out": False,
        }
        | record
        for place, record in enumerate(records, start=2)
    ]
    return Settled(table, pd.DataFrame(made), faults, (), ())


def judged(
    *settled: Settled,
    stands: Standing | None = None,
    held: pd.DataFrame = NO_HELD,
    units: Any = "metric",
) -> Judged:
    return judge(
        settled,
        standing=stands or standing(),
        held=held,
        settings=Settings(units=units),
        intake_day=TODAY,
        today=TODAY,
    )


def counts(found: Judged, table: str) -> tuple[int, ...]:
    line = found.counts[found.counts["table"] == table].iloc[0]
    return tuple(int(line[name]) for name in ("taken", "known", "changed", "held"))


V104 = {"vehicle": "104", "unit": "104", "depot": "NORTH", "layout": "diesel six heavy"}


def test_vehicles_and_readings_of_a_first_intake_are_all_taken() -> None:
    found = judged(
        rows("readings", {"unit": "104", "on": "2026-10-01", "odometer_written": 1000.0}),
        rows("vehicles", {"unit": "0104", "depot": "NORTH", "distance_unit": "mi"}),
    )
    assert counts(found, "vehicles") == (1, 0, 0, 0)
    reading = found.rows["readings"].iloc[0]
    assert reading["odometer"] == pytest.approx(1609.344)  # the vehicle's own unit, miles
    assert reading["odometer_unit"] == "mi"
    assert any("same door number" in text for text in found.warnings)
    assert found.brought == {"vehicles": 1, "readings": 1}


def test_a_distance_nobody_gave_a_unit_takes_that_of_the_settings() -> None:
    record = {"unit": "104", "on": "2026-10-01", "odometer_written": 100.0, "odometer_unit": None}
    found = judged(rows("readings", record), stands=standing(vehicles=[V104]), units="us")
    assert found.rows["readings"]["odometer"].iloc[0] == pytest.approx(160.9344)


def test_the_same_tables_again_are_known_and_name_the_rows_that_stand() -> None:
    stands = standing(
        vehicles=[V104],
        readings=[{"vehicle": "104", "unit": "104", "on": "2026-10-01", "odometer": 1000.4}],
        parts=[{"part": "00-12 A", "what": "pump", "core_value": 4120}],
        history=[
            {"vehicle": "104", "unit": "104", "on": "2026-09-01", "service": "new cap", "cost": 900}
        ],
    )
    found = judged(
        rows("vehicles", {k: v for k, v in V104.items() if k != "vehicle"}),
        rows("readings", {"unit": "104", "on": "2026-10-01", "odometer": 1000.0}),
        rows("parts", {"part": "0012a", "what": " pump ", "core_value": 4120.0}),
        rows("history", {"unit": "104", "on": "2026-09-01", "service": "new cap"}),
        stands=stands,
    )
    for table in ("vehicles", "readings", "parts", "history"):
        assert counts(found, table) == (0, 1, 0, 0), table
        assert found.known[table]["row_id"].tolist() == [1]
    assert found.rows == {}


def test_readings_that_differ_are_all_taken_and_twice_the_same_counts_once() -> None:
    one = {"unit": "104", "on": "2026-10-01", "odometer": 1000.0}
    found = judged(
        rows("readings", one, one, one | {"odometer": 1500.0}), stands=standing(vehicles=[V104])
    )
    assert counts(found, "readings") == (2, 1, 0, 0)


WORK = {"unit": "104", "on": "2026-09-01", "service": "new pump", "cost": 29000.0}


def test_work_that_fills_a_blank_completes_it() -> None:
    stands = standing(vehicles=[V104], history=[WORK | {"vehicle": "104"}])
    found = judged(rows("history", WORK | {"note": "seal wept"}), stands=stands)
    assert counts(found, "history") == (0, 0, 1, 0)
    assert found.rows["history"]["note"].tolist() == ["seal wept"]


@pytest.mark.parametrize(
    ("keep", "expected"),
    [(None, (0, 0, 0, 1)), ("old", (0, 0, 0, 0)), ("new", (0, 0, 1, 0)), ("both", (1, 0, 0, 0))],
)
def test_work_that_contradicts_is_held_until_keep_decides(
    keep: str | None, expected: tuple[int, ...]
) -> None:
    stands = standing(vehicles=[V104], history=[WORK | {"vehicle": "104"}])
    found = judged(rows("history", WORK | {"cost": 31000.0, "keep": keep}), stands=stands)
    assert counts(found, "history") == expected
    if keep is None:
        fault = found.faults[0]
        assert fault.cause == "contradicts what stands"
        assert fault.found == "cost 310.00"
        assert "cost 290.00" in fault.expected
    if keep == "both":
        assert found.rows["history"]["key"].iloc[0].endswith("#2")


def test_the_same_service_two_days_on_is_perhaps_the_same_work() -> None:
    stands = standing(vehicles=[V104], history=[WORK | {"vehicle": "104", "odometer": 5000}])
    near = WORK | {"on": "2026-09-03", "odometer": 5030.0}
    far = WORK | {"on": "2026-09-03", "odometer": 5060.0}
    assert judged(rows("history", near), stands=stands).held["cause"].tolist() == [
        "perhaps the same work"
    ]
    assert counts(judged(rows("history", far), stands=stands), "history") == (1, 0, 0, 0)
    both = judged(rows("history", near | {"keep": "both"}), stands=stands)
    assert counts(both, "history") == (1, 0, 0, 0)
    old = judged(rows("history", near | {"keep": "old"}), stands=stands)
    assert (counts(old, "history"), old.rows) == ((0, 0, 0, 0), {})


def test_top_ups_two_days_apart_are_two_top_ups() -> None:
    first = {"unit": "104", "on": "2026-09-01", "service": "coolant top-up"}
    found = judged(
        rows("history", first, first | {"on": "2026-09-03"}), stands=standing(vehicles=[V104])
    )
    assert counts(found, "history") == (2, 0, 0, 0)


def test_a_depot_nobody_knows_is_held_only_when_the_fleet_has_depots() -> None:
    new = {"unit": "105", "depot": "NROTH", "layout": "diesel six heavy"}
    assert counts(judged(rows("vehicles", new)), "vehicles") == (1, 0, 0, 0)
    found = judged(rows("vehicles", new), stands=standing(depots=[{"depot": "NORTH"}]))
    assert counts(found, "vehicles") == (0, 0, 0, 1)
    assert found.held["waits_for"].tolist() == ["depot NROTH"]
    assert "north" in found.held["expected"].iloc[0]


def test_the_same_number_after_its_vehicle_left_is_another_vehicle_with_rows_of_its_own() -> None:
    stands = standing(vehicles=[V104 | {"leaves_on": "2026-02-01"}])
    found = judged(
        rows("vehicles", {"unit": "104", "depot": "NORTH", "joined_on": "2026-03-01"}),
        rows(
            "readings",
            {"unit": "104", "on": "2026-02-10", "odometer": 1.0},
            {"unit": "104", "on": "2026-03-10", "odometer": 1.0},
        ),
        stands=stands,
    )
    assert found.rows["vehicles"]["key"].tolist() == ["104~2026-03-01"]
    assert found.rows["readings"]["on"].tolist() == ["2026-03-10"]
    assert found.held["cause"].tolist() == ["no vehicle of that number on that day"]


def test_two_rows_of_one_intake_that_contradict_are_both_held() -> None:
    found = judged(rows("history", WORK, WORK | {"cost": 1.0}), stands=standing(vehicles=[V104]))
    assert counts(found, "history") == (0, 0, 0, 2)
    assert "row 3 of history" in found.faults[0].expected


def test_a_new_price_is_listed_old_to_new_and_holds_from_the_intake_day() -> None:
    key = {"part": "P4T-PUMP", "supplier": "Acme", "from_quantity": 1.0}
    found = judged(
        rows("offers", key | {"price": 4480.0}), stands=standing(offers=[key | {"price": 4120}])
    )
    # TABLES, "Five kinds of table": price 41.20 → 44.80, +8.7 %
    assert [one.sentence for one in found.changes] == ["price 41.20 → 44.80, +8.7 %"]
    assert found.rows["offers"]["since"].tolist() == ["2026-11-05"]


def test_the_later_count_of_a_day_wins_and_a_blank_day_is_the_intake_day() -> None:
    key = {"depot": "NORTH", "part": "P4T-PUMP"}
    found = judged(
        rows("stock", key | {"on_hand": 3.0}),
        stands=standing(stock=[key | {"on_hand": 2, "counted_on": "2026-11-05"}]),
    )
    assert counts(found, "stock") == (0, 0, 1, 0)
    assert found.rows["stock"]["counted_on"].tolist() == ["2026-11-05"]


def test_a_new_list_takes_all_lines_and_names_those_that_vanished() -> None:
    line = {"order": "A1", "part": "P4T-PUMP", "quantity": 2.0}
    found = judged(rows("orders", line), stands=standing(orders=[line, line | {"order": "A2"}]))
    assert len(found.rows["orders"]) == 1
    assert [one.key for one in found.changes] == ["a2|P4TPUMP"]


def test_an_empty_list_empties_ours() -> None:
    line = {"order": "A1", "part": "P4T-PUMP", "quantity": 2.0}
    empty = Settled("orders", pd.DataFrame(), (), (), ())
    found = judged(empty, stands=standing(orders=[line]))
    assert found.brought == {"orders": 0}
    assert len(found.changes) == 1


def test_a_row_of_an_unknown_vehicle_is_held_and_waits_for_it() -> None:
    found = judged(
        rows("readings", {"unit": "105", "on": "2026-10-01", "odometer": 1.0}),
        stands=standing(vehicles=[V104]),
    )
    line = found.held.iloc[0]
    assert (line["cause"], line["waits_for"]) == ("no such vehicle", "unit 105")
    assert "104" in line["expected"]


def test_a_row_held_before_that_now_fits_is_settled_and_keeps_its_first_intake() -> None:
    held = pd.DataFrame([{"held_id": 7, "intake": 3, "table": "readings", "cells": "{}"}])
    record = {"unit": "104", "on": "2026-10-01", "odometer": 1.0, "held_id": 7.0}
    found = judged(rows("readings", record), stands=standing(vehicles=[V104]), held=held)
    assert found.settled == (7,)
    assert found.rows["readings"]["via"].tolist() == [3.0]
    assert found.brought == {}


def test_a_row_held_before_that_fails_unchanged_stays_held_silently() -> None:
    cells = json.dumps({"unit": "105"})
    held = pd.DataFrame([{"held_id": 7, "intake": 3, "table": "readings", "cells": cells}])
    record = {"unit": "105", "on": "2026-10-01", "odometer": 1.0, "held_id": 7.0}
    found = judged(
        rows("readings", record | {"cells": cells}),
        stands=standing(vehicles=[V104]),
        held=held,
    )
    assert (found.settled, len(found.held), found.faults) == ((), 0, ())
    changed = judged(
        rows("readings", record | {"cells": '{"unit": "106"}', "unit": "106"}),
        stands=standing(vehicles=[V104]),
        held=held,
    )
    assert (changed.settled, len(changed.held)) == ((7,), 1)


def test_a_row_to_be_left_out_is_settled_and_not_taken() -> None:
    held = pd.DataFrame([{"held_id": 7, "intake": 3, "table": "readings", "cells": "{}"}])
    record = {"unit": "105", "on": "2026-10-01", "held_id": 7.0, "leave_out": True}
    found = judged(rows("readings", record), stands=standing(vehicles=[V104]), held=held)
    assert (found.settled, found.rows, len(found.held)) == ((7,), {}, 0)


def test_a_row_with_a_fault_of_the_settling_is_held_and_the_others_are_taken() -> None:
    fault = Fault("fleet.xlsx", "readings", 2, "on", "31.2.2026", "a day", "correct it", "no day")
    good = {"unit": "104", "on": "2026-10-01", "odometer": 5.0}
    found = judged(
        rows("readings", {"unit": "104", "on": None}, good, faults=(fault,)),
        stands=standing(vehicles=[V104]),
    )
    assert counts(found, "readings") == (1, 0, 0, 1)
    assert found.faults == (fault,)


@pytest.mark.parametrize(
    ("table", "record", "cause"),
    [
        ("readings", {"on": "2026-10-01", "odometer": -1.0}, "an impossible amount"),
        ("readings", {"on": "2026-10-01", "odometer": 5_000_001.0}, "an impossible amount"),
        ("readings", {"on": "2026-11-06", "odometer": 1.0}, "a day that has not come yet"),
        (
            "other_stays",
            {"start": "2026-11-10T08:00", "stop": "2026-11-09T08:00"},
            "an end before its start",
        ),
        # pure water freezes at 0 °C: a coolant's 34 has lost its minus sign
        ("coolant_tests", {"on": "2026-10-01", "freeze_c": 34.0}, "an impossible amount"),
        ("vehicles", {"coolant_litres": 0.0}, "an impossible amount"),
        # half a percent is hardly ever meant where 45 % was written as 0.45
        (
            "history",
            {"on": "2026-10-01", "service": "new pump", "replaced_share": 0.45},
            "a share below 1 %",
        ),
        ("coolant_tests", {"on": "2026-10-01", "glycol_pct": 0.5}, "a share below 1 %"),
        ("limits", {"service": "new pump", "km": 0.0}, "a limit of nothing"),
        ("vehicles", {"coolant_litres": 9999.0}, "an impossible amount"),
    ],
)
def test_what_cannot_be_is_held(table: str, record: dict[str, Any], cause: str) -> None:
    found = judged(rows(table, {"unit": "104"} | record), stands=standing(vehicles=[V104]))
    assert found.held["cause"].tolist() == [cause]


def test_a_torque_no_fastener_here_takes_is_held() -> None:
    record = {"layout": "my four", "service": "new pump", "what": "pump bolts"}
    found = judged(rows("fasteners", record | {"manual_torque_nm": 9999.0}))
    assert found.held["cause"].tolist() == ["an impossible amount"]


def test_a_band_that_ends_below_its_start_is_held() -> None:
    record = {"coolant_kind": "OAT", "measure": "ph", "good_from": 9.0, "good_to": 7.0}
    found = judged(rows("bands", record))
    assert found.held["cause"].tolist() == ["a band that ends below its start"]


def test_layouts_that_lead_back_to_themselves_are_held_and_the_others_taken() -> None:
    found = judged(
        rows(
            "layouts",
            {"layout": "loop a", "like": "loop b"},
            {"layout": "loop b", "like": "loop a"},
            {"layout": "my four", "like": "petrol four timing belt"},
            {"layout": "beside", "like": "loop a"},
        )
    )
    assert found.held["cause"].tolist() == ["a circle", "a circle"]
    assert found.rows["layouts"]["layout"].tolist() == ["my four", "beside"]


def test_a_layout_that_would_close_a_circle_with_one_that_stands_is_held() -> None:
    stands = standing(layouts=[{"layout": "loop a", "like": "loop b"}])
    found = judged(rows("layouts", {"layout": "loop b", "like": "loop a"}), stands=stands)
    assert found.held["cause"].tolist() == ["a circle"]


def test_steps_that_a_job_sheet_cannot_follow_are_named() -> None:
    mine = {"layout": "my four"}
    found = judged(
        rows(
            "steps",
            mine | {"step": "seat out", "after": "bracket"},
            mine | {"step": "bracket", "after": "seat out"},
            mine | {"step": "shield x", "after": "no such step", "back_before": "nothing here"},
            mine | {"step": "cover y", "after": "shield x", "back_before": "new pump"},
        ),
        rows("service_steps", mine | {"service": "new pump", "step": "no step at all"}),
    )
    lost = "what no layout has as a step"
    said = [text.split(";")[0] for text in found.warnings if "step" in text.split(":")[0]]
    assert said == [
        f"steps: after names {lost}: no such step",
        f"steps: back_before names {lost}: nothing here",
        found.warnings[2].split(";")[0],
        f"service_steps: step names {lost}: no step at all",
    ]
    assert "bracket (my four), seat out (my four): each would have to come before itself" in said[2]


def test_unknown_layouts_are_asked_once_each_most_frequent_first_and_vehicles_are_taken() -> None:
    bus = {"depot": "NORTH", "make": "Orion", "model": "B7", "year": 2019.0, "engine": "6.7"}
    found = judged(
        rows(
            "vehicles",
            {"unit": "1", "depot": "NORTH", "make": "Vela"},
            bus | {"unit": "2"},
            bus | {"unit": "3"},
        )
    )
    assert counts(found, "vehicles") == (3, 0, 0, 0)
    asked = [(one.theirs, one.rows) for one in found.questions]
    assert asked == [("Orion|B7|2019|6.7", 2), ("Vela|||", 1)]


def test_an_answer_gives_standing_vehicles_their_layout() -> None:
    bus = {"depot": "NORTH", "make": "Orion", "model": "B7", "year": 2019}
    stands = standing(
        vehicles=[bus | {"unit": "2", "vehicle": "2"}, bus | {"unit": "3", "vehicle": "3"}]
    )
    answer = {"table": "vehicles", "column": "layout", "theirs": "orion|B7|2019|"}
    found = judged(rows("words", answer | {"ours": "diesel six medium"}), stands=stands)
    given = found.rows["vehicles"][["key", "layout"]].to_numpy().tolist()
    assert given == [["2", "diesel six medium"], ["3", "diesel six medium"]]
    assert found.questions == ()
    assert "vehicles" not in found.brought


def test_a_reading_that_fits_another_meter_is_named_but_taken() -> None:
    stands = standing(
        vehicles=[V104, V104 | {"unit": "2120", "vehicle": "2120"}],
        readings=[
            {"vehicle": "104", "unit": "104", "on": "2026-10-01", "odometer": 50_000},
            {"vehicle": "2120", "unit": "2120", "on": "2026-09-01", "odometer": 210_000},
            {"vehicle": "2120", "unit": "2120", "on": "2026-10-01", "odometer": 213_000},
        ],
    )
    record = {"unit": "104", "on": "2026-10-08", "odometer": 213_700.0}
    found = judged(rows("readings", record), stands=stands)
    assert counts(found, "readings") == (1, 0, 0, 0)
    assert any("looks like unit 2120's" in text for text in found.warnings)


def test_an_odd_vin_is_a_warning_with_a_proposal() -> None:
    found = judged(rows("vehicles", {"unit": "1", "depot": "NORTH", "vin": "IM8GDM9AXKP042788"}))
    assert counts(found, "vehicles") == (1, 0, 0, 0)
    assert any("1M8GDM9AXKP042788" in text for text in found.warnings)


def test_parts_that_nobody_described_are_counted_once_and_taken() -> None:
    found = judged(
        rows("stock", *({"depot": "N", "part": f"X{n}", "on_hand": 1.0} for n in range(7)))
    )
    assert counts(found, "stock") == (7, 0, 0, 0)
    assert [text for text in found.warnings if "7 rows name parts" in text]


def test_a_hundred_thousand_readings_keep_their_count() -> None:
    n = 100_000
    units = np.char.mod("%d", np.arange(1000) + 1)
    vehicles = pd.DataFrame({"unit": units, "depot": "NORTH", "layout": "diesel six heavy"})
    readings = pd.DataFrame(
        {
            "unit": np.tile(units, n // 1000),
            "on": np.repeat((np.datetime64("2024-01-01") + np.arange(n // 1000)).astype(str), 1000),
            "odometer": np.arange(n) * 2.0,
        }
    )
    made = [
        Settled(name, frame.assign(file="f", sheet=name, row=np.arange(len(frame))), (), (), ())
        for name, frame in (("vehicles", vehicles), ("readings", readings))
    ]
    assert counts(judged(*made), "readings") == (n, 0, 0, 0)
