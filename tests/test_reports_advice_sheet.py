"""The sheet and the screen about part numbers: which to fit comes before any limit."""

from test_reports_waiting_block import ADVICE, APART, SILENT, priced, said

from reports.advice_screen import advice_json
from reports.advice_sheet import advice_sheet
from reports.view import view_of

FIT = ADVICE | {
    "part": "P-1", "instead_of": "P-2", "n_vehicles": 3, "why": "Fit P-1, not P-2: it lasts.",
}  # fmt: skip
OF_BAD = ADVICE | {"part": "P-2", "instead_of": "", "n_vehicles": 3, "why": "P-2 is in 3 vehicles."}
OF_GOOD = SILENT | {"service": "new pump", "part": "P-1", "instead_of": "", "why": "Too few."}
LINES = [FIT, OF_BAD, OF_GOOD, SILENT]


def test_lines_on_part_numbers_are_the_first_table_of_the_sheet() -> None:
    sheet = advice_sheet(view_of(priced(advice=LINES, apart=[APART])))
    numbers, advised, _, silent = sheet.blocks
    assert [one[:5] for one in numbers.rows] == [
        ("van", "new pump", 3.0, "P-1, not P-2", "45,000 to 80,000 km"),
        ("van", "new pump", 3.0, "P-2", "45,000 to 80,000 km"),
    ]
    assert numbers.rows[0][-1] == FIT["why"]
    assert advised.rows == ()
    assert [one[4] for one in silent.rows] == ["pump", "pump P-1"]


def test_the_first_sentence_says_to_choose_the_part_first_and_counts_each_limit_once() -> None:
    first = advice_sheet(view_of(priced(advice=LINES))).sentences[0]
    assert first.startswith("In one place of a layout one part number outlasts another: choose")
    assert "1 of 2 limits would be cheaper otherwise" in first
    several = priced(advice=[FIT, FIT | {"layout": "truck"}])
    assert "In 2 places of layouts" in advice_sheet(view_of(several)).sentences[0]


def test_a_part_whose_law_is_not_known_leaves_its_range_empty() -> None:
    nothing = dict.fromkeys(("best", "best_low", "best_high"), float("nan"))
    sheet = advice_sheet(view_of(priced(advice=[FIT | nothing])))
    assert not sheet.blocks[0].rows[0][4]


def test_the_tables_of_the_sheet_share_their_widths() -> None:
    blocks = advice_sheet(view_of(priced())).blocks
    assert len({tuple(one.width for one in block.headings) for block in blocks[:2]}) == 1


def test_the_screen_leads_with_the_number_to_fit_and_names_silent_numbers() -> None:
    text = said(priced(advice=LINES, apart=[APART]))
    order = (
        "van, new pump: P-1, not P-2", "Fit P-1", "van, new pump, P-2: limit 150,000 km",
        "Which part number lasts longer here", "Nothing to say", "New pump, P-1",
    )  # fmt: skip
    places = [text.index(one) for one in order]
    assert places == sorted(places)


def test_json_names_the_numbers_and_leaves_them_empty_where_a_line_is_about_all() -> None:
    lines = advice_json(priced(advice=LINES))["advice"]
    numbers = [(one["part"], one["instead_of"]) for one in lines]  # type: ignore[attr-defined] # a list of records
    assert numbers == [("P-1", "P-2"), ("P-2", ""), ("P-1", ""), ("", "")]
