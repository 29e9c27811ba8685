"""What comes back in the mechanics' and the manager's books."""

from collections.abc import Mapping
from datetime import date

import pandas as pd

from fleetcool.intake.forms import DECISIONS, RESULTS, Form
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.returned import is_returned, read_returned
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault

TODAY = number(date(2026, 11, 12))
Cells = Mapping[str, str]


def standing() -> Standing:
    visits = pd.DataFrame({"visit": ["104-26W45", "105-26W46"], "unit": ["104", "105"]})
    services = pd.DataFrame(
        {
            "visit": ["104-26W45", "104-26W45", "105-26W46"],
            "service": ["new pump", "coolant change", "new cap"],
        }
    )
    frames = {
        name: pd.DataFrame(columns=[column.name for column in table.columns])
        for name, table in TABLES.items()
    }
    return Standing(TODAY, 1, frames, visits, services, pd.DataFrame(), pd.DataFrame())


def book(form: Form, lines: Mapping[str, Cells], printed: Mapping[str, Cells]) -> list[RawSheet]:
    names = [entry.name for entry in form.entries]
    heading = ("key", "visit", *(entry.heading for entry in form.entries))
    cells = [("Results, North",), (), heading]
    cells += [(key, key, *(line.get(name, "") for name in names)) for key, line in lines.items()]
    about = {"kind": form.book, "week": "2026-W46"}
    before = [("sheet", "key", "column", "value")]
    before += [
        (form.sheet, key, name, text)
        for key, line in printed.items()
        for name, text in line.items()
    ]
    return [
        RawSheet("book.xlsx", form.sheet, tuple(cells), hidden=False, about=about),
        RawSheet("book.xlsx", "printed", tuple(before), hidden=True, about=about),
    ]


PRINTED = {key: {"outcome": "as planned"} for key in ("104-26W45", "105-26W46")}


def read(
    form: Form, lines: Mapping[str, Cells], printed: Mapping[str, Cells] = PRINTED
) -> tuple[dict[str, pd.DataFrame], tuple[Fault, ...]]:
    settled, faults = read_returned(book(form, lines, printed), standing(), Settings(), TODAY)
    return {one.table: one.frame for one in settled}, faults


def result(**cells: str) -> dict[str, str]:
    return {"outcome": "as planned"} | cells


def test_a_line_that_nobody_touched_is_no_entry() -> None:
    assert read(RESULTS, {"104-26W45": result()}) == ({}, ())


def test_a_done_visit_becomes_one_row_of_history_a_service_and_a_reading() -> None:
    line = result(
        on="2026-11-10", odometer="48,210 mi", minutes="190", coolant="OAT eg", litres_in="11.5"
    )
    tables, faults = read(RESULTS, {"104-26W45": line})
    history = tables["history"]
    assert faults == ()
    assert history["service"].tolist() == ["new pump", "coolant change"]
    assert history["visit"].tolist() == ["104-26W45"] * 2
    assert history["reason"].tolist() == ["planned"] * 2
    assert history["minutes"].fillna(-1).tolist() == [190.0, -1.0]
    assert history["litres_in"].fillna(-1).tolist() == [-1.0, 11.5]
    assert history["how"].tolist()[1] == "drained and filled"
    assert tables["readings"][["odometer_written", "odometer_unit"]].to_numpy().tolist() == [
        [48210.0, "mi"]
    ]
    decision = tables["decisions"].iloc[0]
    assert (decision["what"], decision["on"]) == ("done", "2026-11-10")
    assert decision["decided_at"] == "2026-11-12T00:00:00Z"


def test_what_was_left_out_of_a_partly_done_visit_is_not_recorded() -> None:
    line = {"outcome": "partly", "on": "2026-11-10", "left_out": "coolant change"}
    tables, faults = read(RESULTS, {"104-26W45": line})
    assert faults == ()
    assert tables["history"]["service"].tolist() == ["new pump"]


def test_a_visit_that_did_not_come_is_a_decision_and_no_work() -> None:
    tables, faults = read(RESULTS, {"104-26W45": {"outcome": "not come", "by": "KL"}})
    assert faults == ()
    assert list(tables) == ["decisions"]
    assert tables["decisions"][["visit", "what", "by"]].to_numpy().tolist() == [
        ["104-26W45", "not come", "KL"]
    ]


def test_a_spare_line_records_work_found_at_any_vehicle() -> None:
    line = {"unit": "0107", "service": "new cap + coolant test", "on": "2026-11-11"}
    tables, faults = read(RESULTS, {"spare-1": line})
    assert faults == ()
    assert tables["history"][["unit", "service"]].to_numpy().tolist() == [
        ["107", "new cap"],
        ["107", "coolant test"],
    ]


def test_something_found_becomes_a_look_over_of_that_place() -> None:
    line = result(on="2026-11-10", found_place="lower hose", found="replace")
    tables, _ = read(RESULTS, {"104-26W45": line})
    assert tables["look_overs"][["unit", "lower_hose"]].to_numpy().tolist() == [["104", "replace"]]


def test_a_bad_cell_is_a_fault_with_its_row_and_the_good_lines_are_taken() -> None:
    lines = {
        "104-26W45": result(on="2026-02-31"),
        "105-26W46": result(on="2026-11-10"),
        "999-26W46": result(on="2026-11-10"),
        "spare-1": {"unit": "107", "service": "polishing", "on": "2026-11-10"},
    }
    tables, faults = read(RESULTS, lines)
    assert [(one.row, one.column) for one in faults] == [
        (4, "done on"),
        (6, "visit"),
        (7, "service"),
    ]
    assert tables["history"]["unit"].tolist() == ["105"]


def test_an_odometer_without_a_day_is_asked_for_its_day() -> None:
    tables, faults = read(RESULTS, {"104-26W45": result(odometer="48210")})
    assert tables == {}
    assert [(one.row, one.column) for one in faults] == [(4, "done on")]


def test_decisions_become_one_row_each() -> None:
    lines = {
        "104-26W45": {"fix_on": "2026-11-19", "split_off": "new pump", "by": "RT"},
        "105-26W46": {"not_from": "2026-11-16", "not_until": "2026-11-20"},
        "unit 106": {"not_before": "2026-12-01", "let_go": "yes"},
    }
    tables, faults = read(DECISIONS, lines, {})
    assert faults == ()
    found = tables["decisions"]
    assert found["what"].tolist() == ["fix", "split off", "not in", "not before", "let go"]
    assert found["on"].fillna("").tolist() == [
        "2026-11-19",
        "",
        "2026-11-16",
        "2026-12-01",
        "",
    ]
    assert found["until"].fillna("").tolist()[2] == "2026-11-20"
    assert found["unit"].tolist() == ["104", "104", "105", "106", "106"]
    assert found["by"].fillna("").tolist()[:2] == ["RT", "RT"]


def test_an_entry_equal_to_what_was_printed_is_none() -> None:
    cells = {"fix_on": "2026-11-19"}
    assert read(DECISIONS, {"104-26W45": cells}, {"104-26W45": cells}) == ({}, ())


def test_only_books_that_come_back_are_read() -> None:
    other = RawSheet("x.xlsx", "Results", (("key",),), hidden=False, about={"kind": "buyer"})
    assert not is_returned(other)
    assert read_returned([other], standing(), Settings(), TODAY) == ((), ())
