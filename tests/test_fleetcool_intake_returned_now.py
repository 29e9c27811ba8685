"""What a sheet *Now* opens: of the mechanic's book, of a plain workbook, of a CSV."""

from collections.abc import Mapping, Sequence
from datetime import date

import pandas as pd
import pytest

from fleetcool.intake.forms import NOW
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.returned import is_returned, read_returned
from fleetcool.intake.returned_now import is_now
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault

TODAY = number(date(2026, 11, 11))  # a Wednesday
AT = "2026-11-11T14:30:00Z"
HEADS = ("unit", "for", "note", "on")


def frame(table: str, rows: Sequence[Mapping[str, object]] = ()) -> pd.DataFrame:
    columns = [column.name for column in TABLES[table].columns]
    made = pd.DataFrame(list(rows), columns=[*columns, "vehicle", "here"])
    texts = [column.name for column in TABLES[table].columns if column.is_text]
    others = [column.name for column in TABLES[table].columns if not column.is_text]
    return made.astype(dict.fromkeys(texts, object) | dict.fromkeys(others, "float64"))


def standing(decisions: Sequence[Mapping[str, object]] = ()) -> Standing:
    frames = {name: frame(name) for name in TABLES}
    frames["depots"] = frame(
        "depots", [{"depot": "NORTH", "time_zone": "America/Toronto", "mechanics": 1.0}]
    )
    frames["vehicles"] = frame(
        "vehicles",
        [
            {
                "unit": unit,
                "vehicle": unit,
                "depot": "NORTH",
                "layout": "diesel six medium",
                "here": True,
            }
            for unit in ("104", "105")
        ],
    )
    frames["decisions"] = frame("decisions", decisions)
    visits = pd.DataFrame(
        {"visit": ["104-26W46"], "unit": ["104"], "vehicle": ["104"], "start_on": [TODAY + 1.0]}
    )
    services = pd.DataFrame({"visit": ["104-26W46"], "service": ["new cap"]})
    holidays = pd.DataFrame({"region": [], "on": [], "name": []})
    return Standing(TODAY, 1, frames, visits, services, holidays, pd.DataFrame())


def csv(*lines: Sequence[str], heads: Sequence[str] = HEADS) -> RawSheet:
    return RawSheet("now.csv", "now", (tuple(heads), *map(tuple, lines)), hidden=False, about={})


def read(
    *sheets: RawSheet, stands: Standing | None = None
) -> tuple[list[tuple[object, ...]], tuple[Fault, ...]]:
    """Return (visit, service, on, until, reason) of each decision, and the faults."""
    settled, faults = read_returned(sheets, stands or standing(), Settings(), TODAY, AT)
    rows = [one.frame for one in settled if one.table == "decisions"]
    columns = ["visit", "service", "on", "until", "reason"]
    said = [tuple(row) for one in rows for row in one[columns].to_numpy().tolist()]
    return said, faults


def test_a_line_opens_a_visit_under_a_number_not_used_before() -> None:
    said, faults = read(csv(("0104", "cap", "hisses", "")))
    assert faults == ()
    assert said == [("104-26W46b", "new cap", "2026-11-11", "2026-11-11", "hisses")]


def test_the_moment_it_was_taken_in_is_the_moment_it_came() -> None:
    settled, _ = read_returned([csv(("104", "cap", "", ""))], standing(), Settings(), TODAY, AT)
    assert list(settled[0].frame["decided_at"]) == [AT]
    assert list(settled[0].frame["what"]) == ["open"]


def test_lines_about_one_unit_open_one_visit_and_several_places_may_stand_in_one() -> None:
    said, faults = read(csv(("104", "pump + lower hose", "", ""), ("104", "thermostat", "", "")))
    assert faults == ()
    assert {row[0] for row in said} == {"104-26W46b"}
    assert [row[1] for row in said] == ["new lower hose", "new pump", "new thermostat"]


def test_a_line_that_cannot_be_used_is_named_and_the_others_are_taken() -> None:
    said, faults = read(
        csv(
            ("105", "pump", "", ""),
            ("1044", "pump", "", ""),
            ("104", "pumpe", "", ""),
            ("104", "", "no place", ""),
            ("104", "pump", "", "2026-11-01"),
        )
    )
    assert [row[0] for row in said] == ["105-26W46"]
    assert [(fault.row, fault.column) for fault in faults] == [
        (3, "unit"),
        (4, "for"),
        (5, "for"),
        (6, "on"),
    ]
    assert "the nearest is 104" in faults[0].expected
    assert '"pump"' in faults[1].expected


def test_a_book_of_the_mechanic_brings_its_now_lines_too() -> None:
    names = [entry.heading for entry in NOW.entries]
    lines = (("Now, North",), ("key", *names), ("spare-1", "105", "drive belt", "", "", "KL"))
    about = {"kind": "mechanic", "week": "2026-W46", "as_of": "2026-11-05"}
    sheet = RawSheet("north.xlsx", "Now", lines, hidden=False, about=about)
    said, faults = read(sheet)
    assert faults == ()
    assert [row[:2] for row in said] == [("105-26W46", "new drive belt")]


OPENED = {
    "decided_at": "2026-11-10T13:00:00Z",
    "visit": "105-26W46",
    "unit": "105",
    "vehicle": "105",
    "service": "new pump",
    "what": "open",
    "on": float(TODAY - 1),
}
DONE = OPENED | {"what": "done", "service": None, "decided_at": "2026-11-10T20:00:00Z"}


def test_a_line_that_a_standing_visit_answers_opens_nothing() -> None:
    line = csv(("105", "pump", "saved once more", ""))
    assert read(line, stands=standing([OPENED])) == ([], ())


def test_a_plain_line_opens_again_once_that_visit_had_its_end() -> None:
    said, _ = read(csv(("105", "pump", "", "")), stands=standing([OPENED, DONE]))
    assert [row[0] for row in said] == ["105-26W46b"]


def test_a_line_still_standing_in_the_book_of_the_week_does_not_open_it_again() -> None:
    lines = (("key", "unit", "for"), ("spare-1", "105", "pump"))
    about = {"kind": "mechanic", "as_of": "2026-11-05"}
    sheet = RawSheet("north.xlsx", "Now", lines, hidden=False, about=about)
    assert read(sheet, stands=standing([OPENED, DONE])) == ([], ())


def test_a_sheet_without_its_headings_says_which_it_lacks() -> None:
    said, faults = read(csv(("104", "pump"), heads=("vehicle", "part")))
    assert said == []
    assert [fault.found for fault in faults] == ["vehicle, part"]
    assert "unit and for" in faults[0].expected


@pytest.mark.parametrize(
    ("sheet", "kind", "hidden", "told"),
    [
        ("Now", "", False, True),
        ("now", "mechanic", False, True),
        ("now", "manager", False, False),  # another reader's book
        ("now", "", True, False),  # hidden sheets are not read
        ("nowhere", "", False, False),
    ],
)
def test_only_visible_sheets_named_now_are_read_so(
    sheet: str, kind: str, *, hidden: bool, told: bool
) -> None:
    about = {"kind": kind} if kind else {}
    raw = RawSheet("a.xlsx", sheet, (), hidden=hidden, about=about)
    assert is_now(raw) is told
    assert is_returned(raw) is (told or kind in {"mechanic", "manager"})
