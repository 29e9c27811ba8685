"""All sheets of an intake settled: values, faults with their place, questions asked once."""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.intake import forms
from fleetcool.intake.files import read_paths
from fleetcool.intake.raw import RawSheet, Settled
from fleetcool.intake.settle import settle
from fleetcool.intake.starter_notes import choices_for, example_for, starter_tables
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.model.tables import PLACES, Table
from fleetcool.model.taken import Fault

KNOWN = {
    "service": frozenset({"new pump", "coolant change", "coolant test", "belt look-over"}),
    "place": frozenset(PLACES),
    "layout": frozenset({"petrol six fan", "diesel six heavy"}),
    "coolant": frozenset({"OAT", "conventional"}),
}
TODAY = number(date(2026, 11, 25))
COLUMNS = ["table", "column", "theirs", "ours"]


def _sheet(
    name: str,
    rows: Sequence[Sequence[str]],
    file: str = "tables.xlsx",
    about: Mapping[str, str] | None = None,
) -> RawSheet:
    return RawSheet(file, name, tuple(tuple(row) for row in rows), hidden=False, about=about or {})


def _settle(
    *sheets: RawSheet, words: Sequence[tuple[str, ...]] = (), settings: Settings | None = None
) -> dict[str, Settled]:
    frame = pd.DataFrame(words, columns=COLUMNS)
    settled = settle(sheets, words=frame, known=KNOWN, settings=settings or Settings(), today=TODAY)
    return {one.table: one for one in settled}


def _held(settled: Settled) -> set[int]:
    return {fault.row for fault in settled.faults}


def test_three_broken_cells_in_forty_rows_are_three_faults_and_leave_37_good_rows() -> None:
    rows = [[str(100 + one), "2026-10-28", f"{48000 + one:,}"] for one in range(40)]
    rows[4][1], rows[17][2], rows[30][0] = "31.02.2026", "broken", ""
    one = _settle(_sheet("readings", [["Our meters"], ["Unit #", "Date", "Odo (mi)"], *rows]))
    readings = one["readings"]
    assert [(fault.row, fault.column, fault.found) for fault in sorted_by_row(readings)] == [
        (7, "Date", "31.02.2026"),
        (20, "Odo (mi)", "broken"),
        (33, "Unit #", "an empty cell"),
    ]
    assert len(readings.frame) == 40
    assert (~readings.frame["row"].isin(_held(readings))).sum() == 37


def sorted_by_row(settled: Settled) -> list[Fault]:
    return sorted(settled.faults, key=lambda fault: fault.row)


def test_distances_keep_number_and_unit_as_written() -> None:
    rows = [["unit", "on", "odometer"], ["1", "2026-10-28", "100 mi"], ["2", "2026-10-28", "50 km"]]
    frame = _settle(_sheet("readings", [*rows, ["3", "2026-10-28", "70"]]))["readings"].frame
    assert list(frame["odometer_written"]) == [100, 50, 70]
    assert list(frame["odometer_unit"].fillna("")) == ["mi", "km", ""]
    assert frame["odometer"][0] == pytest.approx(160.9344)
    assert np.isnan(frame["odometer"][2])


def test_a_workbook_with_true_days_and_numbers_is_read_as_it_is(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Readings"
    sheet.append(["Unit #", "Date", "Odo (mi)", "Hour meter"])
    sheet.append([104, date(2026, 10, 28), 48210, 3412.5])
    book.save(tmp_path / "a.xlsx")
    settled = _settle(*read_paths([tmp_path / "a.xlsx"], Settings()))["readings"]
    assert settled.faults == ()
    row = settled.frame.iloc[0]
    assert (row["unit"], row["on"], row["engine_hours"]) == ("104", "2026-10-28", 3412.5)
    assert row["odometer_written"] == 48210


def test_a_semicolon_file_with_decimal_commas_and_dotted_days_is_read(tmp_path: Path) -> None:
    file = tmp_path / "history.csv"
    file.write_text(
        "Fahrzeug;unit;on;service;litres in;cost\n;104;28.10.2026;water pump;12,5;1.234,50\n",
        "cp1252",
    )
    settled = _settle(*read_paths([file], Settings()))["history"]
    assert settled.faults == ()
    row = settled.frame.iloc[0]
    assert (row["service"], row["litres_in"], row["cost"]) == ("new pump", 12.5, 123450)


def test_one_day_above_twelve_settles_the_order_for_its_column_and_file() -> None:
    rows = [["unit", "on"], ["1", "13/04/2026"], ["2", "03/04/2026"]]
    settled = _settle(_sheet("readings", rows))["readings"]
    assert list(settled.frame["on"]) == ["2026-04-13", "2026-04-03"]
    assert settled.frame["cells"][1] == '{"unit": "2", "on": "2026-04-03"}'


def test_an_open_order_of_day_and_month_is_asked_once_for_the_file() -> None:
    rows = [["unit", "on", "odometer"], ["1", "03/04/2026", "5 km"], ["2", "2026-01-01", "6 km"]]
    settled = _settle(_sheet("readings", [*rows, ["3", "05/06/2026", "7 km"]]))["readings"]
    (question,) = settled.questions
    assert (question.theirs, question.rows) == ("tables.xlsx", 2)
    assert _held(settled) == {2, 4}
    assert {fault.cause for fault in settled.faults} == {"asked: order of day and month"}
    told = (("any", "(day order)", "tables.xlsx", "month first"),)
    after = _settle(_sheet("readings", rows), words=told)["readings"]
    assert after.frame["on"][0] == "2026-03-04"
    by_settings = _settle(_sheet("readings", rows), settings=Settings(dates="dmy"))["readings"]
    assert by_settings.frame["on"][0] == "2026-04-03"


def test_a_day_still_to_come_is_a_fault_for_happenings_but_not_for_plans() -> None:
    readings = _sheet("readings", [["unit", "on"], ["1", "2026-11-26"], ["1", "2026-11-25"]])
    vehicles = _sheet("vehicles", [["unit", "depot", "leaves on"], ["1", "N", "2027-03-01"]])
    settled = _settle(readings, vehicles)
    assert [fault.cause for fault in settled["readings"].faults] == ["a day still to come"]
    assert settled["vehicles"].faults == ()


def test_a_coolant_said_to_be_unknown_is_no_blank() -> None:
    head = ["unit", "on", "service", "coolant", "litres in"]
    told = ["Unknown", "not known", "?", "", "n/a", "-", "OAT"]
    rows = [["1", "2026-10-28", "coolant change", one, "unknown"] for one in told]
    settled = _settle(_sheet("history", [head, *rows]))["history"]
    assert not settled.faults
    assert list(settled.frame["coolant"].fillna("")) == [*["unknown"] * 3, "", "", "", "OAT"]
    assert settled.frame["litres_in"].isna().all()


def test_a_vehicle_may_have_coolant_that_nobody_knows() -> None:
    rows = [["unit", "depot", "coolant", "layout"], ["1", "NORTH", "UNKNOWN", "unknown"]]
    frame = _settle(_sheet("vehicles", rows))["vehicles"].frame
    assert list(frame["coolant"]) == ["unknown"]
    assert frame["layout"].isna().all()


def test_unknown_words_are_asked_most_frequent_first_and_their_rows_wait() -> None:
    rows = [["unit", "on", "service"], *[["1", "2026-10-01", word] for word in "AABAB"]]
    settled = _settle(_sheet("history", rows))["history"]
    assert [(one.theirs, one.rows) for one in settled.questions] == [("A", 3), ("B", 2)]
    assert settled.questions[0].choices == tuple(sorted(KNOWN["service"]))
    assert _held(settled) == {2, 3, 4, 5, 6}
    assert all(fault.cause.startswith("asked:") for fault in settled.faults)


def test_an_answer_with_two_services_makes_two_rows() -> None:
    rows = [["unit", "on", "service"], ["1", "2026-10-01", "PM-C"]]
    told = (("history", "service", "PM-C", "coolant test + belt look-over"),)
    frame = _settle(_sheet("history", rows), words=told)["history"].frame
    assert list(frame["service"]) == ["coolant test", "belt look-over"]
    assert list(frame["row"]) == [2, 2]


def test_words_that_the_same_intake_defines_are_known() -> None:
    layouts = _sheet("layouts", [["layout", "like"], ["our bus", "diesel six heavy"]])
    vehicles = _sheet("vehicles", [["unit", "depot", "layout"], ["1", "N", "our bus"]])
    words = _sheet("words", [COLUMNS, ["history", "service", "WP", "new pump"]])
    history = _sheet("history", [["unit", "on", "service"], ["1", "2026-10-01", "WP"]])
    settled = _settle(layouts, vehicles, words, history)
    assert all(one.faults == () for one in settled.values())
    assert settled["history"].frame["service"][0] == "new pump"


def test_a_unit_nobody_said_is_asked_once_and_its_answer_holds() -> None:
    rows = [["unit", "depot", "Cap pressure"], ["1", "N", "15"], ["2", "N", "103 kPa"]]
    settled = _settle(_sheet("vehicles", rows))["vehicles"]
    (question,) = settled.questions
    assert (question.theirs, question.choices) == ("unit of Cap pressure", ("kPa", "psi", "bar"))
    assert _held(settled) == {2}
    told = (("vehicles", "cap_kpa", question.theirs, "psi"),)
    after = _settle(_sheet("vehicles", rows), words=told)["vehicles"]
    # 1 psi = 6.894757 kPa (NIST SP 811, from memory).
    assert list(after.frame["cap_kpa"]) == pytest.approx([103.421359, 103.0])


def test_plain_gallons_are_asked_once_for_all_tables() -> None:
    vehicles = _sheet("vehicles", [["unit", "depot", "Coolant (gal)"], ["1", "N", "3"]])
    history = _sheet(
        "history", [["unit", "on", "service", "litres in"], ["1", "2026-10-01", "pump", "2 gal"]]
    )
    settled = _settle(vehicles, history)
    questions = [one for table in settled.values() for one in table.questions]
    assert [(one.theirs, one.rows) for one in questions] == [("gal", 2)]
    after = _settle(vehicles, history, words=(("any", "(unit)", "gal", "US gal"),))
    # US gallon 3.785411784 L exactly (NIST SP 811, from memory).
    assert after["vehicles"].frame["coolant_litres"][0] == pytest.approx(11.356235352)
    assert after["history"].frame["litres_in"][0] == pytest.approx(7.570823568)


def test_year_make_and_model_in_one_column_are_split() -> None:
    rows = [["Unit #", "Yard", "Yr/Make/Model"], ["1", "N", "2019 Anymake Van 300"]]
    frame = _settle(_sheet("Vehicles list", [*rows, ["2", "N", "'07/Other/Bus"]]))["vehicles"].frame
    assert frame[["year", "make", "model"]].to_numpy().tolist() == [
        [2019.0, "Anymake", "Van 300"],
        [2007.0, "Other", "Bus"],
    ]


def test_blank_words_are_blank_where_a_column_may_be() -> None:
    rows = [["unit", "depot", "layout", "year", "plate"], ["1", "N", "N/A", "-", "none"]]
    settled = _settle(_sheet("vehicles", rows))["vehicles"]
    assert settled.faults == ()
    assert settled.frame[["layout", "year", "plate"]].isna().to_numpy().all()


def test_a_vehicle_called_na_is_a_vehicle() -> None:
    frame = _settle(_sheet("readings", [["unit", "on"], ["NA", "2026-10-01"]]))["readings"].frame
    assert list(frame["unit"]) == ["NA"]


def test_empty_rows_repeated_headings_and_the_example_row_are_left_out() -> None:
    head = ["unit", "on", "odometer"]
    rows = [head, ["EXAMPLE", "x", "y"], [], ["1", "2026-10-01", "5 km"], head, ["  ", "", ""]]
    frame = _settle(_sheet("readings", rows))["readings"].frame
    assert list(frame["row"]) == [4]


def test_control_characters_and_endless_texts_are_refused_and_formulas_are_text() -> None:
    rows = [["unit", "on", "service", "note"], ["1", "2026-10-01", "pump", "a\x07b"]]
    rows += [
        ["1", "2026-10-01", "pump", "x" * 2001],
        ["1", "2026-10-01", "pump", "=cmd|' /C calc'!A0"],
    ]
    settled = _settle(_sheet("history", rows))["history"]
    assert [fault.cause for fault in settled.faults] == [
        "control characters",
        "a text far too long",
    ]
    assert all(fault.found.isprintable() for fault in settled.faults)
    assert settled.frame["note"][2] == "=cmd|' /C calc'!A0"


def test_a_missing_heading_is_one_fault_in_the_heading_row() -> None:
    rows = [["Readings"], ["unit", "odometer"], ["1", "5"], ["2", "6"]]
    settled = next(iter(_settle(_sheet("readings", rows)).values()))
    assert [(fault.row, fault.column) for fault in settled.faults] == [(2, "on")]


def test_unknown_headings_and_sheets_are_warnings() -> None:
    rows = [["unit", "on", "Colour"], ["1", "2026-10-01", "red"]]
    settled = _settle(_sheet("readings", rows), _sheet("Lunch", [["who", "what"], ["AB", "soup"]]))
    assert settled["readings"].faults == ()
    assert any('"Colour"' in warning for warning in settled["readings"].warnings)
    assert any("Lunch" in warning for warning in settled["readings"].warnings)


def test_two_columns_for_the_same_thing_complete_each_other_unless_they_differ() -> None:
    rows = [["unit", "on", "odometer", "Miles"], ["1", "2026-10-01", "", "5"]]
    settled = _settle(_sheet("readings", [*rows, ["2", "2026-10-01", "7 mi", "900"]]))["readings"]
    assert list(settled.frame["odometer_written"]) == [5, 7]
    assert [(fault.row, fault.cause) for fault in settled.faults] == [(3, "two cells that differ")]
    assert any("both read as odometer" in warning for warning in settled.warnings)


def test_settings_and_answers_say_what_a_heading_means() -> None:
    rows = [["unit", "on", "Counter"], ["1", "2026-10-01", "5"]]
    settings = Settings(columns={"readings": {"Counter": "odometer (mi)"}})
    assert _settle(_sheet("readings", rows), settings=settings)["readings"].frame[
        "odometer_unit"
    ].tolist() == ["mi"]
    told = (("readings", "(heading)", "counter", "engine_hours"),)
    frame = _settle(_sheet("readings", rows), words=told)["readings"].frame
    assert frame["engine_hours"].tolist() == [5]


def test_patterns_of_use_moments_and_stops_are_checked() -> None:
    vehicles = [["unit", "depot", "works"], ["1", "N", "Mon-Fri 05-19"], ["2", "N", "sometimes"]]
    stays = [["unit", "start", "stop"], ["1", "2026-12-01", "2026-12-02"]]
    stays.append(["1", "2026-12-05 08:00", "2026-12-04"])
    settled = _settle(_sheet("vehicles", vehicles), _sheet("other stays", stays))
    assert _held(settled["vehicles"]) == {3}
    assert settled["other_stays"].frame["stop"][0] == "2026-12-03T00:00"
    assert _held(settled["other_stays"]) == {3}


def test_an_empty_list_comes_as_an_empty_frame() -> None:
    settled = _settle(_sheet("orders", [["order", "part", "quantity"]]))["orders"]
    assert len(settled.frame) == 0
    assert "price" in settled.frame


TO_FIX = {"kind": forms.TO_FIX_KIND}


def _to_fix(rows: Sequence[Sequence[str]]) -> RawSheet:
    head = [forms.HELD_ID, "Unit #", "Date", "service", forms.WRONG, forms.LEAVE_OUT, forms.KEEP]
    return _sheet("history", [head, *rows], "to_fix.xlsx", TO_FIX)


def test_a_corrected_to_fix_book_brings_rows_with_their_number_and_what_to_keep() -> None:
    settled = _settle(
        _to_fix(
            [
                ["7", "104", "2026-10-01", "water pump", "no such word", "", "New"],
                ["8", "104", "broken", "pump", "not a day", "yes", ""],
                ["", "105", "2026-10-02", "pump", "", "", ""],
            ]
        )
    )["history"]
    assert settled.faults == ()
    assert settled.warnings == ()
    assert list(settled.frame["held_id"].fillna(-1)) == [7, 8, -1]
    assert list(settled.frame["leave_out"]) == [False, True, False]
    assert list(settled.frame["keep"].fillna("")) == ["new", "", ""]


def test_answers_of_a_to_fix_book_become_words_and_hold_at_once() -> None:
    questions = [
        list(forms.QUESTION_COLUMNS),
        ["history", "service", "WP R&R", "2", "What?", "new pump"],
        ["history", "service", "PM-C", "1", "What?", ""],
        ["any", "(day order)", "a.csv", "1", "Which?", "day first"],
    ]
    settled = _settle(
        _to_fix([["7", "104", "03/04/2026", "wp r&r", "asked", "", ""]]),
        _sheet(forms.QUESTIONS_SHEET, questions, "to_fix.xlsx", TO_FIX),
    )
    assert settled["history"].faults == ()
    assert settled["history"].frame[["on", "service"]].to_numpy().tolist() == [
        ["2026-04-03", "new pump"]
    ]
    assert settled["words"].frame[["theirs", "ours", "row"]].to_numpy().tolist() == [
        ["WP R&R", "new pump", 2],
        ["a.csv", "day first", 4],
    ]


def test_books_of_readers_and_hidden_sheets_are_passed_over() -> None:
    rows = [["unit", "on"], ["1", "2026-10-01"]]
    book = _sheet("readings", rows, about={"kind": "mechanic"})
    hidden = dataclasses.replace(_sheet("readings", rows), hidden=True)
    settled = _settle(book, hidden)
    assert all(len(one.frame) == 0 for one in settled.values())


_CELLS = st.one_of(
    st.text(max_size=12),
    st.text("0123456789.,-/: miklLgaeps%$", max_size=12),
    st.sampled_from(["unit", "on", "2026-10-01", "31.02.2026", "EXAMPLE", "yes", "24/7", "1e9"]),
)


@given(
    st.sampled_from(starter_tables()),
    st.lists(st.lists(_CELLS, max_size=40), max_size=3),
    st.sampled_from([{}, {"kind": forms.TO_FIX_KIND}]),
)
def test_whatever_stands_in_the_cells_is_a_value_or_a_fault_in_its_row(
    table: Table, rows: list[list[str]], about: dict[str, str]
) -> None:
    head = [column.name for column in table.columns]
    for settled in _settle(_sheet(table.name, [head, *rows], about=about)).values():
        assert settled.frame["row"].between(2, len(rows) + 1).all()
        assert all(1 <= fault.row <= len(rows) + 1 for fault in settled.faults)
        good = settled.frame[~settled.frame["row"].isin(_held(settled))]
        good = good[~good["leave_out"]]
        columns = TABLES[settled.table].columns
        required = [column.name for column in columns if column.required]
        assert good[required].notna().to_numpy().all()


def _starter(table: Table, first: str | None) -> RawSheet:
    row = [example_for(table, column) for column in table.columns]
    if first is not None:
        row[0] = first
    return _sheet(table.name, [[column.name for column in table.columns], row])


@pytest.mark.parametrize("table", starter_tables(), ids=lambda table: table.name)
def test_a_starter_is_taken_without_a_fault_as_it_is_and_filled_in(table: Table) -> None:
    as_it_is = _settle(_starter(table, None))
    assert all(len(one.frame) == 0 and one.faults == () for one in as_it_is.values())
    good = {"place": "pump", "service": "new pump", "layout": "petrol six fan"}
    first = table.columns[0]
    by_kind = {"day": "2026-12-24", "choice": first.choices[0] if first.choices else ""}
    filled = _settle(_starter(table, by_kind.get(first.kind, good.get(first.kind, "A1"))))
    assert filled[table.name].faults == ()
    assert len(filled[table.name].frame) == 1


def test_the_starter_begins_with_what_is_needed_and_ends_with_what_is_shipped() -> None:
    tables = starter_tables()
    assert [table.name for table in tables[:2]] == ["vehicles", "readings"]
    shipped = [table.shipped for table in tables]
    assert shipped == sorted(shipped)
    assert not any(table.by_hand for table in tables)


def test_choices_are_those_of_the_column_or_the_words_we_know() -> None:
    vehicles = starter_tables()[0]
    assert choices_for(vehicles.column("duty"), KNOWN) == ("normal", "severe")
    assert choices_for(vehicles.column("layout"), KNOWN) == tuple(sorted(KNOWN["layout"]))
    assert choices_for(vehicles.column("remove"), KNOWN) == ("yes", "no")
    assert choices_for(vehicles.column("make"), KNOWN) == ()
