"""What comes back in the mechanics' and the manager's books."""

import dataclasses
from collections.abc import Mapping
from datetime import date

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.intake.forms import DECISIONS, RESULTS, Form
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.returned import is_returned, read_returned
from fleetcool.intake.returned_checks import Shop, parts_of
from fleetcool.intake.returned_lines import Line, WordRules
from fleetcool.intake.words_read import Answers
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault

TODAY = number(date(2026, 11, 12))
Cells = Mapping[str, str]


def standing() -> Standing:
    visits = pd.DataFrame(
        {
            "visit": ["104-26W45", "105-26W46"],
            "unit": ["104", "105"],
            "start_on": [TODAY - 5.0, TODAY + 1.0],
        }
    )
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


def two_tables(first: list[Cells], second: list[Cells]) -> list[RawSheet]:
    """Return a book whose results stand in two tables, one of visits and one of coolant."""
    said, poured = ("outcome", "on"), ("coolant", "litres_in")
    heading_of = {entry.name: entry.heading for entry in RESULTS.entries}
    cells: list[tuple[str, ...]] = []
    for names, lines in ((said, first), (poured, second)):
        cells += [(), ("key", *(heading_of[name] for name in names))]
        cells += [("104-26W45", *(line.get(name, "") for name in names)) for line in lines]
    whole, hidden = book(RESULTS, {}, PRINTED)
    return [dataclasses.replace(whole, cells=tuple(cells)), hidden]


def test_what_two_tables_of_a_sheet_say_of_one_visit_is_one_line() -> None:
    sheets = two_tables([result(on="2026-11-10")], [{"coolant": "OAT eg", "litres_in": "11.5"}])
    settled, faults = read_returned(sheets, standing(), Settings(), TODAY)
    history = next(one.frame for one in settled if one.table == "history")
    assert faults == ()
    assert history["service"].tolist() == ["new pump", "coolant change"]
    assert history["litres_in"].fillna(-1).tolist() == [-1.0, 11.5]


def test_a_line_that_somebody_copied_within_a_table_counts_twice() -> None:
    sheets = two_tables([result(on="2026-11-10"), result(on="2026-11-11")], [])
    settled, _ = read_returned(sheets, standing(), Settings(), TODAY)
    history = next(one.frame for one in settled if one.table == "history")
    assert history["on"].tolist() == ["2026-11-10"] * 2 + ["2026-11-11"] * 2


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
        "unit 106": {"not_before": "2026-12-01"},
        "unit 107": {"let_go": "yes"},
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
    assert found["unit"].tolist() == ["104", "104", "105", "106", "107"]
    assert found["by"].fillna("").tolist()[:2] == ["RT", "RT"]


@pytest.mark.parametrize(
    ("key", "text", "on"),
    [
        ("105-26W46", "2 weeks", "2026-11-27"),  # from its own day
        ("105-26W46", "2", "2026-11-27"),
        ("104-26W45", "1", "2026-11-19"),  # its day is over: from today
        ("unit 106", "3 wk", "2026-12-03"),  # no visit: from today
        ("105-26W46", "2026-12-08", "2026-12-08"),
    ],
)
def test_a_visit_is_put_off_by_weeks_or_to_a_day(key: str, text: str, on: str) -> None:
    tables, faults = read(DECISIONS, {key: {"put_off": text}}, {})
    assert faults == ()
    assert tables["decisions"][["what", "on"]].to_numpy().tolist() == [["put off", on]]


@pytest.mark.parametrize(
    ("cells", "column", "cause"),
    [
        ({"put_off": "99"}, "put off", "weeks that cannot be"),
        ({"put_off": "soon"}, "put off", "not a day"),
        ({"let_go": "yes", "fix_on": "2026-11-19"}, "let go", "let go and planned"),
        ({"put_off": "2", "fix_on": "2026-11-19"}, "fix on", "two days in one line"),
        (
            {"fix_on": "2026-11-19", "not_from": "2026-11-18", "not_until": "2026-11-20"},
            "fix on",
            "two days in one line",
        ),
        ({"split_off": "new cap"}, "split off", "not a service of the visit"),
        ({"split_off": "new pump + coolant change"}, "split off", "all of a visit split off"),
    ],
)
def test_a_line_of_decisions_that_cannot_be_is_named(cells: Cells, column: str, cause: str) -> None:
    tables, faults = read(DECISIONS, {"104-26W45": cells}, {})
    assert tables == {}
    assert [(one.column, one.cause) for one in faults] == [(column, cause)]


def test_an_entry_equal_to_what_was_printed_is_none() -> None:
    cells = {"fix_on": "2026-11-19"}
    assert read(DECISIONS, {"104-26W45": cells}, {"104-26W45": cells}) == ({}, ())


def test_only_books_that_come_back_are_read() -> None:
    other = RawSheet("x.xlsx", "Results", (("key",),), hidden=False, about={"kind": "buyer"})
    assert not is_returned(other)
    assert read_returned([other], standing(), Settings(), TODAY) == ((), ())


def with_vehicle(litres: float) -> Standing:
    """Return what stands with unit 104 holding so many litres, and one part of ours."""
    plain = standing()
    vehicles = pd.DataFrame(
        [{"unit": "104", "vehicle": "v104", "coolant_litres": litres, "here": True}],
        columns=[*plain["vehicles"].columns, "vehicle", "here"],
    )
    parts = pd.DataFrame([{"part": "BIG-PUMP"}], columns=plain["parts"].columns)
    frames = {**plain.frames, "vehicles": vehicles, "parts": parts}
    return dataclasses.replace(plain, frames=frames)


def results(
    line: Cells, key: str = "104-26W45", litres: float = 12.0
) -> tuple[dict[str, pd.DataFrame], tuple[Fault, ...]]:
    sheets = book(RESULTS, {key: line}, PRINTED)
    settled, faults = read_returned(sheets, with_vehicle(litres), Settings(), TODAY)
    return {one.table: one.frame for one in settled}, faults


def done(**cells: str) -> dict[str, str]:
    return result(on="2026-11-10") | cells


PUMP_ONLY = {"outcome": "partly", "left_out": "coolant change"}


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("WP-999", "WP-999"),  # one service of the visit renews a place: the part is its
        ("new pump: WP-999", "WP-999"),
        ("pump: WP 999", "WP 999"),  # the place stands for the service that renews it
        ("big pump", "big pump"),  # no digit in it, but it is one of ours
    ],
)
def test_a_part_fitted_goes_with_the_service_that_renews_a_place(text: str, part: str) -> None:
    tables, faults = results(done(part=text))
    assert faults == ()
    history = tables["history"].set_index("service")["part"].fillna("")
    assert history.to_dict() == {"new pump": part, "coolant change": ""}


def test_several_parts_say_their_service_each() -> None:
    line = {"unit": "104", "on": "2026-11-10", "service": "new pump + new cap"}
    tables, faults = results(line | {"part": "cap: 17-A + new pump: WP-999"}, "spare-1")
    assert faults == ()
    history = tables["history"].set_index("service")["part"]
    assert history.to_dict() == {"new pump": "WP-999", "new cap": "17-A"}


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("yes", "not a part number"),
        ("=1+1", "not a part number"),
        ("::", "a word we do not know"),
        ("new pump: ", "not a part number"),
        ("9" * 41, "not a part number"),
        ("new cap: 17-A", "a part of work that was not done"),
        ("polishing: 17-A", "a word we do not know"),
        ("WP-1 + WP-2", "two parts for one service"),
    ],
)
def test_nonsense_in_the_part_cell_is_named_and_nothing_is_taken(text: str, cause: str) -> None:
    tables, faults = results(done(part=text))
    assert tables == {}
    assert cause in {one.cause for one in faults}
    assert {one.column for one in faults} == {"part fitted"}


def test_parts_of_several_services_without_their_names_are_asked_for_them() -> None:
    line = {"unit": "104", "on": "2026-11-10", "service": "new pump + new cap", "part": "WP-999"}
    tables, (fault,) = results(line, "spare-1")
    assert tables == {}
    assert fault.cause == "a part without its service"
    assert '"new pump: WP-200"' in fault.expected


def test_the_coolant_of_a_partly_done_wet_visit_stands_with_the_wet_work_done() -> None:
    line = done(**PUMP_ONLY, litres_in="6", litres_out="5.5", coolant="OAT eg")
    tables, faults = results(line)
    assert faults == ()
    columns = ["service", "litres_in", "litres_out", "coolant"]
    assert tables["history"][columns].to_numpy().tolist() == [["new pump", 6.0, 5.5, "OAT eg"]]
    assert tables["history"]["how"].isna().all()  # no whole change, nor said to be one


def test_coolant_put_back_is_said_and_what_was_added_is_a_top_up() -> None:
    tables, faults = results(done(**PUMP_ONLY, how="put back", litres_out="5", litres_in="0.5"))
    assert faults == ()
    columns = ["service", "how", "litres_out", "litres_in"]
    assert tables["history"][columns].fillna(-1.0).to_numpy().tolist() == [
        ["new pump", "put back", 5.0, -1.0],
        ["coolant top-up", "topped up", -1.0, 0.5],
    ]


def test_coolant_put_in_on_a_dry_visit_is_a_top_up() -> None:
    line = {"outcome": "as planned", "on": "2026-11-10", "litres_in": "1"}
    tables, faults = results(line, "105-26W46")
    assert faults == ()
    assert tables["history"][["service", "how"]].fillna("").to_numpy().tolist() == [
        ["new cap", ""],
        ["coolant top-up", "topped up"],
    ]


@pytest.mark.parametrize("how", ["", "drained and filled"])
def test_what_a_correction_put_in_stands_with_it_as_drained_and_filled(how: str) -> None:
    line = {"unit": "104", "service": "coolant correction", "on": "2026-11-10", "how": how}
    poured = {"litres_out": "3", "litres_in": "3", "coolant": "OAT eg concentrate"}
    tables, faults = results(line | poured, "spare-1")
    assert faults == ()
    columns = ["service", "how", "litres_out", "litres_in", "coolant"]
    assert tables["history"][columns].to_numpy().tolist() == [
        ["coolant correction", "drained and filled", 3.0, 3.0, "OAT eg concentrate"]
    ]


def test_a_coolant_change_cannot_have_its_coolant_put_back() -> None:
    tables, (fault,) = results(done(how="put back"))
    assert tables == {}
    assert (fault.column, fault.do) == (
        "coolant was",
        "correct it, or name coolant change under not done",
    )


@pytest.mark.parametrize(
    ("cells", "column", "cause"),
    [
        ({"litres_in": "-3"}, "litres put in", "a number below nil"),
        ({"litres_in": "15.7"}, "litres put in", "more coolant than the system holds"),
        ({"litres_out": "60"}, "litres drained", "more coolant than the system holds"),
        ({"litres_in": "4 gal"}, "litres put in", "an open unit"),
        ({"freezes_at": "37 °C"}, "freezes at", "a freezing point without its sign"),
        ({"freezes_at": "34 °F"}, "freezes at", "a freezing point without its sign"),
        ({"freezes_at": "-37"}, "freezes at", "an open unit"),  # no unit in this heading
    ],
)
def test_amounts_that_cannot_be_are_named(cells: Cells, column: str, cause: str) -> None:
    tables, (fault,) = results(done(**cells))
    assert tables == {}
    assert (fault.column, fault.cause) == (column, cause)


def test_more_than_the_system_holds_asks_litres_or_gallons() -> None:
    """12 L hold at most 1.3 × 12 = 15.6 L here (common practice, no source)."""
    _, (fault,) = results(done(litres_in="15.7"))
    assert fault.expected == "at most 15.6 L; the system of unit 104 holds 12.0 L"
    assert fault.do.startswith("litres or gallons?")
    for text, litres in (("15.6", 15.6), ("3 us gal", 11.356)):  # 1 US gallon is 3.785411784 L
        tables, faults = results(done(litres_in=text))
        assert faults == ()
        assert round(tables["history"]["litres_in"].max(), 3) == litres


@pytest.mark.parametrize(
    ("heading", "text", "celsius"),
    [
        ("freezes at (°C)", "-37", -37.0),
        ("freezes at (°F)", "-34", -36.7),  # (−34 − 32) / 1.8
        ("freezes at (°F)", "20", -6.7),  # above nil in °F, still below the point of water
        ("freezes at (°C)", "-34 °F", -36.7),  # the cell speaks before the heading
    ],
)
def test_a_freezing_point_is_a_refractometer_test_in_the_unit_of_its_heading(
    heading: str, text: str, celsius: float
) -> None:
    sheet, printed = book(RESULTS, {"104-26W45": done(freezes_at=text, odometer="100")}, PRINTED)
    cells = tuple(tuple(one.replace("freezes at", heading) for one in row) for row in sheet.cells)
    sheets = [dataclasses.replace(sheet, cells=cells), printed]
    settled, faults = read_returned(sheets, with_vehicle(12.0), Settings(), TODAY)
    assert faults == ()
    tests = {one.table: one.frame for one in settled}["coolant_tests"]
    assert tests[["unit", "with", "odometer_written"]].to_numpy().tolist() == [
        ["104", "refractometer", 100.0]
    ]
    assert tests["freeze_c"].round(1).tolist() == [celsius]


def test_a_cap_that_does_not_hold_is_marked_beside_what_else_was_found() -> None:
    tables, faults = results(done(cap_holds="no", found_place="pump", found="watch"))
    assert faults == ()
    assert tables["look_overs"][["cap", "pump"]].to_numpy().tolist() == [["replace", "watch"]]


@pytest.mark.parametrize("name", ["part", "litres_in", "minutes", "how"])
def test_work_on_a_visit_that_did_not_come_is_asked_about(name: str) -> None:
    cells = {"part": "WP-999", "litres_in": "3", "minutes": "30", "how": "flushed"}
    tables, faults = results({"outcome": "not come", name: cells[name]})
    assert tables == {}
    assert {one.cause for one in faults} == {"work told on a visit that was not done"}


def test_a_visit_of_which_all_was_left_out_did_not_come() -> None:
    tables, (fault,) = results(done(outcome="partly", left_out="new pump + coolant change"))
    assert tables == {}
    assert (fault.column, fault.do) == ("not done", "choose not come")


def test_a_spare_line_may_hold_a_test_or_a_top_up_alone() -> None:
    line = {"unit": "104", "on": "2026-11-10", "freezes_at": "-30 °C", "litres_in": "0.5"}
    tables, faults = results(line | {"note": "weeps at the pump"}, "spare-1")
    assert faults == ()
    assert tables["coolant_tests"]["freeze_c"].tolist() == [-30.0]
    assert tables["history"][["service", "litres_in", "note"]].to_numpy().tolist() == [
        ["coolant top-up", 0.5, "weeps at the pump"]
    ]


SHOP = Shop(
    frozenset({"coolant change"}),
    frozenset({"new pump", "coolant change"}),
    {"new pump": ("pump",), "new cap": ("cap",)},
    {},
    frozenset({"BIGPUMP"}),
)


@given(st.text(alphabet=st.sampled_from("A1 -:+=pumcanew\u00e9\u0663"), max_size=30))
def test_any_text_in_the_part_cell_is_either_parts_of_work_done_or_faults(text: str) -> None:
    rules = WordRules({"service": frozenset(SHOP.renews)}, Answers(), None)
    typed = {"part": text}
    line = Line("book.xlsx", "Results", 4, "spare-1", typed, typed, {"part": text})
    parts, faults = parts_of(line, ["new pump", "new cap"], SHOP, rules)
    assert bool(parts) != bool(faults)
    assert set(parts) <= set(SHOP.renews)
    assert all(part.strip() and ":" not in part for part in parts.values())
