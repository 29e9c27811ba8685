"""The to-fix workbook and the starter, opened again as a clerk would."""

import json
from pathlib import Path

import pandas as pd
from openpyxl import load_workbook

from fleetcool.intake import forms
from fleetcool.model.all_tables import TABLES
from fleetcool.model.settings import Settings
from fleetcool.model.taken import Judged, Question
from reports.starter import write_starter
from reports.to_fix import write_to_fix


def judged(*, asked: bool = True) -> Judged:
    cells = json.dumps({"Unit #": "0104", "Odo (mi)": "=12", "on": "31/02/2027"})
    held = pd.DataFrame(
        [
            ("readings", "a.csv", "a", 12, cells, "on", "31/02/2027", "a day",
             "correct it", "a day that does not exist", "", 41.0)
        ],
        columns=["table", "file", "sheet", "row", "cells", "column", "found", "expected", "do",
                 "cause", "waits_for", "held_id"],
    )  # fmt: skip
    questions = (
        Question("history", "service", "WP R&R", 3, ("new pump",), "What is it?"),
        Question("history", "service", "serp belt", 9, ("new drive belt",), "What is it?"),
    )
    counts = pd.DataFrame(columns=["table", "taken", "known", "changed", "held"])
    return Judged({}, {}, {}, {}, held, (), counts, questions=questions if asked else ())


def test_held_rows_come_with_their_own_headings_and_text(tmp_path: Path) -> None:
    write_to_fix(tmp_path / "to_fix.xlsx", judged(), Settings(), 20_000)
    workbook = load_workbook(tmp_path / "to_fix.xlsx")
    sheet = workbook["readings"]
    headings = [cell.value for cell in sheet[1]]
    assert headings == [
        forms.HELD_ID,
        forms.WRONG,
        "Unit #",
        "Odo (mi)",
        "on",
        forms.KEEP,
        forms.LEAVE_OUT,
    ]
    assert [cell.value for cell in sheet[2]][0:1] == ["41"]
    assert [cell.value for cell in sheet[2]][2:5] == ["0104", "=12", "31/02/2027"]
    assert "row 12" in str(sheet["B2"].value)
    assert sheet.column_dimensions["A"].hidden
    about = {row[0].value: row[1].value for row in workbook[forms.ABOUT_SHEET].iter_rows()}
    assert about["kind"] == forms.TO_FIX_KIND


def test_questions_are_asked_once_the_most_frequent_first(tmp_path: Path) -> None:
    write_to_fix(tmp_path / "to_fix.xlsx", judged(), Settings(), 20_000)
    sheet = load_workbook(tmp_path / "to_fix.xlsx")[forms.QUESTIONS_SHEET]
    assert tuple(cell.value for cell in sheet[1]) == forms.QUESTION_COLUMNS
    assert [sheet.cell(row, 3).value for row in (2, 3)] == ["serp belt", "WP R&R"]
    assert len(sheet.data_validations.dataValidation) == 2


def test_nothing_asked_makes_no_sheet_of_questions(tmp_path: Path) -> None:
    write_to_fix(tmp_path / "to_fix.xlsx", judged(asked=False), Settings(), 20_000)
    assert forms.QUESTIONS_SHEET not in load_workbook(tmp_path / "to_fix.xlsx").sheetnames


def test_the_starter_has_every_heading_with_a_note_and_one_example_row(tmp_path: Path) -> None:
    write_starter(tmp_path / "starter.xlsx", Settings())
    workbook = load_workbook(tmp_path / "starter.xlsx")
    assert workbook.sheetnames[:2] == ["vehicles", "readings"]
    assert workbook["lists"].sheet_state == "hidden"
    for name in workbook.sheetnames[:-1]:
        sheet = workbook[name]
        assert [cell.value for cell in sheet[1]] == [one.name for one in TABLES[name].columns]
        assert all(cell.comment is not None for cell in sheet[1])
        assert sheet.max_row >= 2
    assert workbook["vehicles"].data_validations.dataValidation
