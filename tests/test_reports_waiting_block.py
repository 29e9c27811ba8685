"""The table What waiting costs of the sheet Week ahead, and the sheet Limits advice."""

import dataclasses
import io

import pandas as pd
from rich.console import Console
from test_reports_books import outlook

from fleetcool.model.frames import empty
from fleetcool.model.life_frames import (
    ADVICE_COLUMNS,
    APART_COLUMNS,
    WAITING_COLUMNS,
    Prices,
)
from fleetcool.model.outlook import Outlook
from reports.advice_screen import advice_json, advice_screen
from reports.advice_sheet import advice_sheet
from reports.manager import manager_sheets
from reports.sheets import Sheet
from reports.view import view_of
from reports.waiting_block import waiting_block

LEVELS = (("low", -120.0), ("mid", 340.0), ("high", 123_456.0))


def waiting(visit: str, vehicle: str, **more: object) -> dict[str, object]:
    row: dict[str, object] = {"visit": visit, "vehicle": vehicle, "service": "new pump"}
    for week in (1, 2, 4, 8):
        row |= {f"cost_{level}_{week}": cost for level, cost in LEVELS} | {f"chance_{week}": 0.031}
    row |= {"place": "pump", "late_rate": 180.0, "why": "The cost of a failure decides."}
    return row | more


ADVICE: dict[str, object] = {
    "layout": "van", "service": "new pump", "place": "pump", "by": "km", "n_vehicles": 20,
    "n_parts": 40, "n_failures": 12, "data_share": 0.9, "limit": 150_000.0,
    "limit_text": "150,000 km", "best": 60_000.0, "best_low": 45_000.0, "best_high": 80_000.0,
    "cost_a_year": 500_000.0, "saving_a_year": 120_000.0, "saving_low": 30_000.0,
    "saving_high": 200_000.0, "speaks": True, "why": "Cheapest is sooner.",
}  # fmt: skip
SILENT = ADVICE | {
    "service": "new cap", "speaks": False, "n_failures": 0, "best_high": float("inf"),
    "why": "No failures among 40 caps: nothing speaks for another limit.",
}  # fmt: skip
APART: dict[str, object] = {
    "layout": "van", "place": "pump", "part": "P-1", "other": "P-2", "n_parts": 22,
    "n_failures": 2, "n_parts_other": 9, "n_failures_other": 5, "ratio": 2.0, "ratio_low": 1.6,
    "ratio_high": 2.4, "known": True, "why": "P-1 lasts 1.6 to 2.4 times as long as P-2 here",
}  # fmt: skip


def priced(
    waits: list[dict[str, object]] | None = None,
    advice: list[dict[str, object]] | None = None,
    apart: list[dict[str, object]] | None = None,
) -> Outlook:
    def frame(rows: list[dict[str, object]] | None, columns: tuple[str, ...]) -> pd.DataFrame:
        return pd.DataFrame(rows, columns=list(columns)) if rows else empty(columns)

    made = outlook()
    prices = Prices(frame(waits, WAITING_COLUMNS), frame(advice, ADVICE_COLUMNS))
    projection = dataclasses.replace(made.projection, apart=frame(apart, APART_COLUMNS))
    return dataclasses.replace(made, prices=prices, projection=projection)


def week_ahead(made: Outlook) -> Sheet:
    return next(one for one in manager_sheets(view_of(made)) if one.name == "Week ahead")


def one_of_the_week(made: Outlook) -> tuple[str, str]:
    first = view_of(made).week_visits().iloc[0]
    return str(first["visit"]), str(first["vehicle"])


def test_a_service_of_the_week_has_a_line_with_middle_low_and_high() -> None:
    made = outlook()
    visit, vehicle = one_of_the_week(made)
    view = view_of(priced([waiting(visit, vehicle, pays_until=float(view_of(made).start + 9))]))
    block = waiting_block(view)
    cells = dict(zip([one.text for one in block.headings], block.rows[0], strict=True))
    assert cells["visit"] == visit
    assert cells["may fail in 4 weeks"] == 3.1
    assert cells[f"1 week costs, {made.settings.currency}"] == "3.40 (−1.20 to 1,235)"
    assert cells["waiting pays until"] == float(view.start + 9)


def test_a_day_beyond_a_year_is_not_told_by_date() -> None:
    made = outlook()
    visit, vehicle = one_of_the_week(made)
    for until in (float("nan"), float(view_of(made).start + 2000)):
        block = waiting_block(view_of(priced([waiting(visit, vehicle, pays_until=until)])))
        assert block.rows[0][-1] == "over a year"


def test_other_weeks_and_services_without_a_visit_are_left_out() -> None:
    rows = [waiting("", "x"), waiting("nothing-27W40", "y")]
    assert waiting_block(view_of(priced(rows))).rows == ()


def test_the_week_ahead_says_that_limit_and_manual_come_first_where_it_prices_waiting() -> None:
    visit, vehicle = one_of_the_week(outlook())
    with_price, without = week_ahead(priced([waiting(visit, vehicle)])), week_ahead(priced())
    assert any("the maker's book come first" in one for one in with_price.sentences)
    assert not any("waiting pays" in one for one in without.sentences)
    assert "what_waiting_costs" in [one.table for one in without.blocks]


def test_the_table_stays_within_the_columns_of_the_visits() -> None:
    blocks = {one.table: one for one in week_ahead(priced()).blocks}
    widths = [one.width for one in blocks["week_ahead"].headings]
    for heading, width in zip(blocks["what_waiting_costs"].headings, widths, strict=False):
        assert heading.width <= width


def test_limits_that_would_be_cheaper_come_first_and_the_silent_say_why() -> None:
    sheet = advice_sheet(view_of(priced(advice=[ADVICE, SILENT], apart=[APART])))
    numbers, advised, apart, silent = sheet.blocks
    assert numbers.rows == ()
    assert sheet.name == "Limits advice"
    assert advised.rows[0][:5] == ("van", "new pump", 20.0, "150,000 km", "45,000 to 80,000 km")
    assert advised.rows[0][5:8] == (120_000.0, 30_000.0, 200_000.0)
    assert apart.rows[0][2:7] == ("yes", "P-1", "P-2", "2 of 22", "5 of 9")
    assert silent.rows[0][-1] == SILENT["why"]
    assert "1 of 2 limits" in sheet.sentences[0]
    assert "warranty comes first" in sheet.sentences[1]


def test_a_fleet_without_any_law_has_sentences_instead_of_tables() -> None:
    sheet = advice_sheet(view_of(priced()))
    assert [one.rows for one in sheet.blocks] == [(), (), (), ()]
    assert sheet.sentences[0] == "No limit stands beside a part whose life is known."


def said(made: Outlook) -> str:
    shown = io.StringIO()
    Console(width=140, file=shown).print(advice_screen(made))
    return shown.getvalue()


def test_the_screen_shows_what_speaks_then_parts_then_the_silent() -> None:
    text = said(priced(advice=[ADVICE, SILENT], apart=[APART]))
    places = [text.index(one) for one in ("Cheapest is sooner.", "P-1 lasts", "No failures among")]
    assert places == sorted(places)
    assert "Nothing to say" not in said(priced(advice=[ADVICE]))


def test_json_has_money_in_the_currency_and_null_for_what_has_no_end() -> None:
    found = advice_json(priced(advice=[ADVICE, SILENT], apart=[APART]))
    first, second = found["advice"]  # type: ignore[misc] # a list of records
    assert tuple(first) == ADVICE_COLUMNS
    assert (first["saving_a_year"], first["speaks"], first["n_failures"]) == (1200.0, True, 12)
    assert second["best_high"] is None
    assert found["apart"][0]["known"] is True  # type: ignore[index] # a list of records
