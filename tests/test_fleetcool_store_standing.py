"""What stands: the five kinds of table, versions, withdrawal, door numbers."""

import json

import numpy as np
import pandas as pd
import pytest

from fleetcool.errors import FleetcoolError, NotThereError, StoreError
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.taken import Judged
from fleetcool.store.dump import dump_standing
from fleetcool.store.engine import Store
from fleetcool.store.intakes import (
    keep_intake,
    known_files,
    list_intakes,
    read_held,
    revision,
    what_stands_on,
    withdraw,
)
from fleetcool.store.standing import read_standing

DAY = number(pd.Timestamp("2026-11-09").date())
NOW = 1_794_200_000
Row = dict[str, object]


def rows(*these: Row) -> pd.DataFrame:
    frame = pd.DataFrame(list(these))
    return frame.assign(file="t.csv", sheet="t", row=np.arange(len(frame)) + 2)


def judged(
    tables: dict[str, list[Row]],
    known: dict[str, list[int]] | None = None,
    *,
    brought: dict[str, int] | None = None,
    held: pd.DataFrame | None = None,
    settled: tuple[int, ...] = (),
    files: dict[str, str] | None = None,
) -> Judged:
    again = {
        name: pd.DataFrame({"row_id": ids, "file": "u.csv", "sheet": "u", "row": 2})
        for name, ids in (known or {}).items()
    }
    count = {name: len(these) for name, these in tables.items()}
    for name, ids in (known or {}).items():
        count[name] = count.get(name, 0) + len(ids)
    return Judged(
        files=files or {},
        brought=count if brought is None else brought,
        rows={name: rows(*these) for name, these in tables.items()},
        known=again,
        held=empty(("table",)) if held is None else held,
        settled=settled,
        counts=empty(("table", "taken", "known", "changed", "held")),
    )


def take(store: Store, what: Judged, on: int = DAY) -> int:
    return keep_intake(store, what, on=on, by="ab", kind="take", now=NOW)


def vehicle(key: str, unit: str, **more: object) -> Row:
    return {"key": key, "unit": unit, "depot": "NORTH", **more}


def reading(unit: str, on: str, km: float, **more: object) -> Row:
    key = f"{unit}|{on}|{km:.0f}"
    return {"key": key, "unit": unit, "on": on, "odometer": km, **more}


def example(column_kind: str) -> object:
    texts = {"day": "2026-11-02", "moment": "2026-11-02T07:30", "unit": "104"}
    return texts.get(column_kind, "words – ñ 'x' \\ \t; 1")


def full_row(name: str) -> Row:
    row: Row = {"key": "104"}
    for column in TABLES[name].columns:
        row[column.name] = example(column.kind) if column.is_text else 1.0
        if column.kind == "distance":
            row |= {f"{column.name}_written": 0.62, f"{column.name}_unit": "mi"}
    changed = {"remove": 0, "decided_at": "2026-11-02T07:30:00Z"}
    return {column: changed.get(column, value) for column, value in row.items()}


def test_rows_of_every_table_with_every_column_filled_come_back_as_they_were_kept(
    store: Store,
) -> None:
    take(store, judged({name: [full_row(name)] for name in TABLES}))

    standing = read_standing(store, DAY)

    day = number(pd.Timestamp("2026-11-02").date())
    for name, table in TABLES.items():
        kept, frame = full_row(name), standing[name]
        assert len(frame) == 1, name
        for column in table.columns:
            is_day = column.kind in {"day", "moment"}
            wanted = day + (0.3125 if column.kind == "moment" else 0.0)
            assert frame[column.name].iloc[0] == (wanted if is_day else kept[column.name])
            is_text = column.is_text and not is_day
            assert str(frame[column.name].dtype) == ("str" if is_text else "float64")
    assert standing.unused.empty


def test_an_empty_store_gives_empty_typed_frames(store: Store) -> None:
    standing = read_standing(store, DAY)

    assert set(standing.frames) == set(TABLES)
    assert all(frame.empty for frame in standing.frames.values())
    assert {"vehicle", "here"} <= set(standing["vehicles"].columns)
    assert str(standing["readings"]["on"].dtype) == "float64"
    assert standing.revision == 0
    assert standing.published_visits.empty
    assert standing.unused.empty


def test_the_newest_intake_is_named_and_without_issues_nothing_was_said_earlier(
    store: Store,
) -> None:
    before = read_standing(store, DAY)
    take(store, judged({"vehicles": [vehicle("1", "1")]}))
    newest = take(store, judged({"vehicles": [vehicle("2", "2")]}))
    after = read_standing(store, DAY)
    withdraw(store, newest, by="ab", now=NOW)

    assert (before.newest_intake, after.newest_intake) == (0, newest)
    assert read_standing(store, DAY).newest_intake == newest, "a withdrawal takes no number back"
    for earlier in (before.earlier, after.earlier):
        assert np.isnan(earlier.last_on)
        assert earlier.newest_intake == -1
        assert len(earlier.due) == len(earlier.ahead) == len(earlier.visits) == 0


def test_nothing_but_what_happened_up_to_the_day_is_seen(store: Store) -> None:
    decision = {"key": "d", "decided_at": "2026-11-09T10:00:00Z", "unit": "1", "what": "fix"}
    take(
        store,
        judged(
            {
                "vehicles": [vehicle("1", "1")],
                "readings": [reading("1", "2026-11-09", 10), reading("1", "2026-11-10", 20)],
                "decisions": [
                    {**decision, "on": "2027-01-04"},
                    {**decision, "key": "e", "decided_at": "2026-11-10T00:00:00Z"},
                ],
            }
        ),
    )

    standing = read_standing(store, DAY)

    assert standing["readings"]["odometer"].tolist() == [10.0]
    assert standing["decisions"]["key"].tolist() == ["d"]


def test_a_withdrawn_intake_leaves_what_another_repeated_and_takes_what_hung_on_it(
    store: Store,
) -> None:
    take(store, judged({"vehicles": [vehicle("1", "1"), vehicle("2", "2")]}))
    before = dump_standing(store, DAY)
    second = take(store, judged({"readings": [reading("1", "2026-11-01", 10)]}))
    first_reading = int(read_standing(store, DAY)["readings"]["row_id"].iloc[0])
    take(store, judged({}, {"readings": [first_reading]}))
    alone = take(store, judged({"vehicles": [vehicle("3", "3")]}))
    take(
        store,
        judged({"readings": [reading("2", "2026-11-02", 5, via=alone)]}),
    )
    assert len(read_standing(store, DAY)["readings"]) == 2
    assert what_stands_on(store, alone)["rows"] == {"readings": 1, "vehicles": 1}
    assert what_stands_on(store, second)["rows"] == {}

    withdraw(store, second, by="ab", now=NOW)
    withdraw(store, alone, by="ab", now=NOW)

    standing = read_standing(store, DAY)
    assert standing["readings"]["odometer"].tolist() == [10.0]
    assert standing["vehicles"]["vehicle"].tolist() == ["1", "2"]
    assert standing.revision == 7
    withdraw(store, 3, by="ab", now=NOW)
    assert dump_standing(store, DAY) == before


def test_a_withdrawal_that_cannot_be_is_refused_with_a_sentence(store: Store) -> None:
    one = take(store, judged({}))
    withdraw(store, one, by="cd", now=NOW)

    with pytest.raises(FleetcoolError, match="withdrawn already on 2026-11-09 by cd"):
        withdraw(store, one, by="ab", now=NOW)
    with pytest.raises(NotThereError, match="no intake"):
        withdraw(store, 7, by="ab", now=NOW)
    assert revision(store) == 2
    assert list_intakes(store)["withdrawn_by"].tolist() == ["cd"]


def test_a_fact_has_the_newest_value_of_each_column_that_holds_on_the_day(store: Store) -> None:
    part = {"key": "P1", "part": "P1", "what": "pump"}
    take(store, judged({"parts": [{**part, "counted_in": "each", "core_value": 900}]}))
    take(store, judged({"parts": [{**part, "core_value": 1200, "since": "2026-11-05"}]}))
    take(store, judged({"parts": [{**part, "core_value": 1500, "since": "2026-12-01"}]}))

    early, now, late = (
        read_standing(store, DAY + shift)["parts"].iloc[0] for shift in (-10, 0, 60)
    )

    assert [early["core_value"], now["core_value"], late["core_value"]] == [900.0, 1200.0, 1500.0]
    assert now["counted_in"] == "each"


def test_a_fact_that_only_holds_later_is_taken_from_its_earliest_version(store: Store) -> None:
    pool = {"key": "A", "pool": "A"}
    take(store, judged({"pools": [{**pool, "most_out": 2, "since": "2027-01-01"}]}))
    take(store, judged({"pools": [{**pool, "most_out": 3, "since": "2027-02-01"}]}))

    assert read_standing(store, DAY)["pools"]["most_out"].tolist() == [2.0]


def test_a_removed_fact_is_gone_until_it_is_said_anew(store: Store) -> None:
    pool = {"key": "A", "pool": "A"}
    take(store, judged({"pools": [{**pool, "most_out": 2, "spares": 1}]}))
    removal = take(store, judged({"pools": [{**pool, "remove": 1}]}))
    assert read_standing(store, DAY)["pools"].empty
    take(store, judged({"pools": [{**pool, "most_out": 4}]}))
    anew = read_standing(store, DAY)["pools"].iloc[0]
    withdraw(store, removal, by="ab", now=NOW)
    undone = read_standing(store, DAY)["pools"].iloc[0]

    assert (anew["most_out"], np.isnan(anew["spares"])) == (4.0, True)
    assert (undone["most_out"], undone["spares"]) == (4.0, 1.0)


def test_the_later_count_of_a_day_wins_and_falls_back_when_withdrawn(store: Store) -> None:
    count = {"key": "N|P|1", "depot": "N", "part": "P", "counted_on": "2026-11-02"}
    take(store, judged({"stock": [{**count, "on_hand": 4}]}))
    later = take(store, judged({"stock": [{**count, "on_hand": 6}]}))
    won = read_standing(store, DAY)["stock"]["on_hand"].tolist()
    withdraw(store, later, by="ab", now=NOW)

    assert won == [6.0]
    assert read_standing(store, DAY)["stock"]["on_hand"].tolist() == [4.0]


def order(name: str, quantity: int, **more: object) -> Row:
    return {"key": f"{name}|P", "order": name, "part": "P", "quantity": quantity, **more}


def quantities(store: Store) -> dict[str, float]:
    frame = read_standing(store, DAY)["orders"]
    return dict(zip(frame["order"], frame["quantity"], strict=True))


def test_a_newer_list_replaces_the_older_and_an_empty_one_empties_it(store: Store) -> None:
    take(store, judged({"orders": [order("A", 1), order("B", 2)]}))
    row_b = int(read_standing(store, DAY)["orders"]["row_id"].max())
    second = take(store, judged({"orders": [order("C", 3)]}, {"orders": [row_b]}))
    assert quantities(store) == {"B": 2.0, "C": 3.0}
    third = take(store, judged({}, brought={"orders": 0}))
    assert quantities(store) == {}
    withdraw(store, third, by="ab", now=NOW)
    assert quantities(store) == {"B": 2.0, "C": 3.0}
    withdraw(store, second, by="ab", now=NOW)
    assert quantities(store) == {"A": 1.0, "B": 2.0}


def test_a_line_put_right_later_joins_the_list_that_first_had_it(store: Store) -> None:
    first = take(store, judged({"orders": [order("A", 1)]}, brought={"orders": 2}))
    take(store, judged({"orders": [order("B", 2, via=first)]}))
    assert quantities(store) == {"A": 1.0, "B": 2.0}
    take(store, judged({}, brought={"orders": 4}))
    assert quantities(store) == {"A": 1.0, "B": 2.0}, "a list held as a whole replaces nothing"
    take(store, judged({"orders": [order("D", 4)]}))
    assert quantities(store) == {"D": 4.0}


def test_a_list_taken_in_after_the_day_does_not_hold_on_it(store: Store) -> None:
    take(store, judged({"orders": [order("A", 1)]}), on=DAY - 7)
    take(store, judged({"orders": [order("B", 2)]}), on=DAY + 1)

    assert quantities(store) == {"A": 1.0}


def test_a_door_number_means_its_holder_on_the_day(store: Store) -> None:
    second = "104~2026-03-01"
    take(
        store,
        judged(
            {
                "vehicles": [
                    vehicle("104", "104", leaves_on="2026-02-01"),
                    vehicle(second, "0104", joined_on="2026-03-01"),
                    vehicle("7", "7"),
                ],
                "readings": [
                    reading("104", "2026-01-31", 1),
                    reading("0104", "2026-02-10", 2),
                    reading(" 104", "2026-03-01", 3),
                    reading("999", "2026-03-01", 4),
                ],
                "vehicle_parts": [{"key": "v", "unit": "104", "place": "pump", "part": "P"}],
                "campaigns": [{"key": "c", "campaign": "c", "unit": "007", "service": "new cap"}],
                "limits": [{"key": "l", "service": "new cap", "km": 1000}],
            }
        ),
    )

    standing = read_standing(store, DAY)

    readings = standing["readings"]
    assert dict(zip(readings["odometer"], readings["vehicle"], strict=True)) == {
        1.0: "104",
        3.0: second,
    }
    assert standing["vehicle_parts"]["vehicle"].tolist() == [second]
    assert standing["campaigns"]["vehicle"].tolist() == ["7"]
    assert standing["limits"]["vehicle"].isna().tolist() == [True]
    assert standing.unused.to_dict("records") == [
        {"table": "readings", "unit": "0104", "rows": 1},
        {"table": "readings", "unit": "999", "rows": 1},
    ]
    vehicles = standing["vehicles"].set_index("vehicle")["here"]
    assert vehicles.to_dict() == {"104": False, second: True, "7": True}


def test_a_renumbered_vehicle_answers_to_all_its_numbers(store: Store) -> None:
    take(store, judged({"vehicles": [vehicle("12", "12"), vehicle("40", "40")]}))
    take(
        store,
        judged({"vehicles": [vehicle("12", "212", was_unit="12", since="2026-10-01")]}),
    )
    take(
        store,
        judged({"vehicles": [vehicle("12", "312", was_unit="212", since="2026-11-01")]}),
    )
    take(
        store,
        judged({"vehicles": [vehicle("12", "412", was_unit="312", since="2026-11-05")]}),
    )
    numbers = ("12", "212", "312", "412", "40")
    take(store, judged({"readings": [reading(u, "2026-11-02", 1) for u in numbers]}))

    standing = read_standing(store, DAY)

    readings = standing["readings"]
    assert dict(zip(readings["unit"], readings["vehicle"], strict=True)) == {
        "12": "12",
        "212": "12",
        "312": "12",
        "412": "12",
        "40": "40",
    }
    assert standing["vehicles"]["unit"].tolist() == ["412", "40"]


def test_held_rows_wait_until_a_standing_intake_settles_them(store: Store) -> None:
    held = pd.DataFrame(
        {
            "table": "readings",
            "file": "t.csv",
            "sheet": "t",
            "row": [3, 4],
            "cells": [json.dumps({"unit": "999\n"}), "{}"],
            "column": "unit",
            "found": "999",
            "expected": "a vehicle",
            "do": "add it",
            "cause": "no such vehicle",
            "waits_for": ["unit 999", ""],
        }
    )
    one = take(store, judged({}, held=held, files={"t.csv": "aa"}))
    waiting = read_held(store)
    two = take(store, judged({}, settled=(int(waiting["held_id"].iloc[0]),)))

    assert (waiting["row"].tolist(), waiting["intake"].tolist()) == ([3, 4], [one, one])
    assert json.loads(waiting["cells"].iloc[0]) == {"unit": "999\n"}
    assert read_held(store)["row"].tolist() == [4]
    assert what_stands_on(store, one)["held"] == 1
    assert what_stands_on(store, two)["settled"] == 1
    withdraw(store, two, by="ab", now=NOW)
    assert read_held(store)["row"].tolist() == [3, 4]
    assert known_files(store) == {"aa": one}
    withdraw(store, one, by="ab", now=NOW)
    assert read_held(store).empty
    assert known_files(store) == {}


def test_what_is_no_number_is_kept_as_nothing_and_control_characters_are_refused(
    store: Store,
) -> None:
    take(
        store,
        judged(
            {
                "vehicles": [vehicle("1", "1", coolant_litres=np.inf, cap_kpa=np.nan, year=2019)],
                "readings": [reading("1", "2026-11-01", -0.0, engine_hours=-np.inf)],
            }
        ),
    )
    with pytest.raises(StoreError, match="control character"):
        take(store, judged({"vehicles": [vehicle("2", "2", make="a\x00b")]}))

    standing = read_standing(store, DAY)
    assert standing["vehicles"]["coolant_litres"].isna().tolist() == [True]
    assert standing["vehicles"]["year"].tolist() == [2019.0]
    assert standing["readings"]["engine_hours"].isna().tolist() == [True]
    assert standing.revision == 1, "a refused intake leaves nothing behind"
    assert list_intakes(store)["number"].tolist() == [1]
