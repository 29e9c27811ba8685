"""The sheet Month: its sentences, its two tables and its chart."""

import dataclasses
import re
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from openpyxl import load_workbook

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.model.days import number
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.trust_frames import BUDGET_COLUMNS, MONTH_COLUMNS, LookingBack
from fleetcool.store.engine import close, open_store
from fleetcool.supply.by_month import TOTAL
from reports.month import month_sheet, month_text
from reports.sheets import Sheet
from reports.spreadsheet import save_workbook
from reports.view import view_of

AS_OF = number(date(2026, 11, 5))
NAN = np.nan
BANNED = re.compile(r"overdue|due soon|renewal|fitment|position|\bgroup|\bjobs?\b", re.IGNORECASE)


@pytest.fixture(scope="module")
def ahead(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Outlook]:
    path = tmp_path_factory.mktemp("months") / "fleet.db"
    store = open_store(f"sqlite:///{path}")
    moment = Moment(AS_OF, AS_OF, AS_OF * 86400, "tester")
    take(store, [twelve_vehicles], settings=Settings(), moment=moment)
    yield look_ahead(store, settings=Settings(), as_of=AS_OF, in_full=True)
    close(store)


def months(*rows: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(MONTH_COLUMNS))


def budget(**more: float) -> pd.DataFrame:
    """Return fifteen alike months and their total."""
    one: Mapping[str, float] = {
        "hours": 30.0,
        "hours_low": 25.0,
        "hours_high": 35.0,
        "litres": 37.8541,
        "labour": 300_000.0,
        "parts": 100_000.0,
        "coolant": 20_000.0,
        "outside": 0.0,
        "money": 420_000.0,
        "money_low": 350_000.0,
        "money_high": 490_000.0,
        "from_plan": 0.25,
    } | more
    names = ["2026-12", *(f"2027-{at:02d}" for at in range(1, 13)), "2028-01", "2028-02"]
    rows = [{"month": name, **one} for name in names]
    total = {"month": TOTAL, **{name: 12 * value for name, value in one.items()}}
    total |= {"from_plan": 0.3, "money_low": 4_800_000.0, "money_high": 5_280_000.0}
    return pd.DataFrame([*rows, total], columns=list(BUDGET_COLUMNS))


def sheet(
    ahead: Outlook, done: pd.DataFrame, to_come: pd.DataFrame, settings: Settings | None = None
) -> Sheet:
    back = LookingBack(months=done, budget=to_come)
    return month_sheet(
        view_of(dataclasses.replace(ahead, back=back, settings=settings or ahead.settings))
    )


OCTOBER = ("2026-10", 13.0, 11.0, 9.0, 3.5, 1.0, 4.0, 1.0, 142.0)
NOVEMBER = ("2026-11", 1.0, 1.0, 1.0, NAN, 0.0, 0.0, 0.0, 141.0)


def test_the_last_whole_month_is_told_in_a_sentence(ahead: Outlook) -> None:
    said = sheet(ahead, months(OCTOBER, NOVEMBER), budget()).sentences[0]
    assert said == (
        "In October 2026 9 of 11 visits were done in the week they were promised for or before, "
        "the others 3.5 days late on average; 2 more visits had not been promised for one; "
        "1 part failed on the road, 4 were found in the shop; after 1 visit the vehicle came "
        "back for the same place within 30 days. "
        "Of 141 clocks the last time is unknown now; in October 2026 it was 142."
    )


def test_a_month_before_the_first_issue_says_why_its_promises_are_empty(ahead: Outlook) -> None:
    october = ("2026-10", 1.0, NAN, NAN, NAN, 0.0, 1.0, 0.0, NAN)
    november = ("2026-11", 0.0, NAN, NAN, NAN, 0.0, 0.0, 0.0, 1.0)
    made = sheet(ahead, months(october, november), budget())
    assert made.sentences[0] == (
        "In October 2026 1 visit was done; no parts failed on the road, 1 was found in the shop. "
        "What was promised is known from the first issue on, so those columns are still empty. "
        "Of 1 clock the last time is unknown now."
    )
    assert np.isnan(made.blocks[0].rows[0][2])  # type: ignore[arg-type] # shown empty


def test_a_fleet_without_a_whole_month_says_so(ahead: Outlook) -> None:
    said = sheet(ahead, months(("2026-11", *[NAN] * 7, 0.0)), budget()).sentences[0]
    assert said.startswith("No whole month is on record yet.")
    assert "Of no clocks the last time is unknown now." in said


def test_a_year_is_told_with_its_range_and_what_it_cannot_count(ahead: Outlook) -> None:
    said = sheet(ahead, months(OCTOBER, NOVEMBER), budget()).sentences[2]
    assert said.startswith(
        "The next twelve months take USD 50,400 (USD 48,000 to USD 52,800) and 360 hours of work "
        "(300 to 420)."
    )
    unknown = int(ahead.projection.due["open_clock"].astype(bool).sum())
    assert unknown > 1
    assert f"{unknown} services whose clock a cooling baseline must set first" in said
    assert re.search(r"[0-9]+ parts without a price cost nothing here: ", said)


def test_the_chart_draws_the_money_of_fifteen_months_and_leaves_the_total_out(
    ahead: Outlook,
) -> None:
    block = sheet(ahead, months(OCTOBER, NOVEMBER), budget()).blocks[1]
    chart = block.charts[0]
    assert (chart.first, chart.last, len(block.rows)) == (0, 14, 16)
    headings = [one.text for one in block.headings]
    assert [headings[at] for at in chart.drawn] == ["in all", "low", "high"]
    assert [block.rows[0][at] for at in chart.drawn] == [4200, 3500, 4900]
    assert block.rows[-1][0] == "first 12 months"
    assert block.rows[0][0] == "Dec 2026"


def test_other_shops_have_a_column_only_when_they_do_something(ahead: Outlook) -> None:
    for outside, there in ((0.0, False), (5000.0, True)):
        block = sheet(ahead, months(NOVEMBER), budget(outside=outside)).blocks[1]
        assert ("other shops" in [one.text for one in block.headings]) == there
        assert {len(row) for row in block.rows} == {len(block.headings)}


def test_coolant_is_told_in_the_units_of_the_fleet(ahead: Outlook) -> None:
    """Source: one US gallon is 3.785411784 L, NIST Special Publication 811, appendix B."""
    block = sheet(ahead, months(NOVEMBER), budget(), Settings(units="us")).blocks[1]
    assert block.headings[4].text == "coolant, US gal"
    assert block.rows[0][4] == pytest.approx(10.0, rel=1e-5)


def test_a_look_ahead_without_months_has_a_readable_sheet(ahead: Outlook) -> None:
    empty = LookingBack()
    made = sheet(ahead, empty.months, empty.budget)
    assert made.sentences == ()
    assert [block.rows for block in made.blocks] == [(), ()]
    assert all(block.none for block in made.blocks)


def test_the_sheet_of_a_real_look_ahead_is_written_and_fits_a_page(
    ahead: Outlook, tmp_path: Path
) -> None:
    made = month_sheet(view_of(ahead))
    save_workbook(tmp_path / "month.xlsx", [made], {}, ahead.settings, AS_OF)
    page = load_workbook(tmp_path / "month.xlsx")["Month"]
    assert page.page_setup.orientation == "landscape"
    assert sum(one.width for one in page.column_dimensions.values()) <= 150
    assert set(page.tables) == {"months_done", "months_to_come"}
    assert len(page._charts) == 1  # type: ignore[attr-defined] # no public way
    cells = [str(cell.value) for row in page.iter_rows() for cell in row if cell.value is not None]
    assert "November 2026" in cells
    assert not [one for one in cells if BANNED.search(one)]
    assert len(made.blocks[1].rows) == 16


def test_a_month_is_written_out() -> None:
    assert month_text("2027-03") == "March 2027"
