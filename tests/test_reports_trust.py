"""The sheet Trust: what was said and what came, what was learnt, which defaults still stand."""

import dataclasses
import re
from pathlib import Path

import made_rows
import numpy as np
import pandas as pd
import pytest

from fleetcool.actions.look_ahead import work_out
from fleetcool.meters.scores import wilson
from fleetcool.model.frames import empty
from fleetcool.model.knowledge_tables import KNOWLEDGE
from fleetcool.model.life_frames import LIFE_COLUMNS
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AUDIT_COLUMNS, LEARNT_COLUMNS, LookingBack
from reports.defaults import SETTING_WORDS, settings_block
from reports.manager import manager_sheets
from reports.sheets import Block, Past, Sheet
from reports.spreadsheet import save_workbook
from reports.trust import doubts, trust_sheet
from reports.view import view_of

AS_OF = 20_000
SETTINGS = Settings()
NEVER_SAID = r"overdue|due soon|renewal|fitment|position|group|\bopen\b visits|closed|\bjob\b"
Row = dict[str, object]


def outlook_of(n_vehicles: int, **more: list[Row]) -> Outlook:
    units = [str(100 + at) for at in range(n_vehicles)]
    rows: dict[str, list[Row]] = {
        "depots": [{"depot": "NORTH", "name": "North yard", "cooling_hours_a_week": 20}],
        "vehicles": [
            {"unit": unit, "depot": "NORTH", "layout": "petrol four drive belt"}
            | {"first_used_on": AS_OF - 500, "joined_on": AS_OF - 500}
            for unit in units
        ],
        "readings": [
            {"unit": unit, "on": AS_OF - 7 * week, "odometer": 50_000 - 500 * week}
            for unit in units
            for week in range(20)
        ],
    }
    standing = made_rows.standing(AS_OF, rows | more)
    holidays = empty(("region", "on", "name"))
    return work_out(
        dataclasses.replace(standing, holidays=holidays), SETTINGS, "2024-W41", in_full=True
    )


@pytest.fixture(scope="module")
def outlook() -> Outlook:
    made = outlook_of(2)
    nothing = {"learnt": empty(LEARNT_COLUMNS), "tried": empty(AUDIT_COLUMNS)}
    bare = dataclasses.replace(made.projection, life=empty(LIFE_COLUMNS), **nothing)
    return dataclasses.replace(made, projection=bare, back=LookingBack())


def judged(weeks: int, n: int, inside: int, below: int, **more: object) -> Row:
    low, high = wilson(np.array([float(inside)]), np.array([float(n)]))
    base = {"weeks": float(weeks), "by": "all", "name": "", "n": float(n), "inside": inside / n}
    shares = {"below": below / n, "above": (n - inside - below) / n}
    days = {"pinball": 2.0, "pinball_average": 3.0, "bias_days": 0.5}
    ranges = {"inside_low": low[0], "inside_high": high[0]}
    warns = n >= 30 and bool(low[0] > 0.8 or high[0] < 0.8)
    return base | shares | days | ranges | {"warns": warns} | more


def audit_of(*rows: Row) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=list(AUDIT_COLUMNS))


def with_audit(
    outlook: Outlook, audit: pd.DataFrame, earlier: pd.DataFrame | None = None
) -> Outlook:
    said = Earlier() if earlier is None else Earlier(audit=earlier)
    standing = dataclasses.replace(outlook.standing, earlier=said)
    return dataclasses.replace(outlook, standing=standing, back=LookingBack(audit))


def sheet_of(outlook: Outlook) -> Sheet:
    return trust_sheet(view_of(outlook))


def block(sheet: Sheet, table: str) -> Block:
    return next(one for one in sheet.blocks if one.table == table)


def test_the_sheet_says_how_many_came_between_early_and_late(outlook: Outlook) -> None:
    sheet = sheet_of(with_audit(outlook, audit_of(judged(4, 96, 79, 8))))

    assert sheet.sentences[0] == (
        "Of 96 meters of which was said 4 weeks before what they would run, 79 came between early "
        "and late (82 %, wanted about 80 %; chance leaves 73 % to 89 % open), 8 sooner than early "
        "and 9 later than late."
    )
    (row,) = block(sheet, "what_was_said").rows
    assert row[:4] == ("all meters", "4 weeks", "79 of 96 between early and late", 96.0)
    assert [round(float(str(cell)), 1) for cell in row[4:9]] == [82.3, 73.5, 88.6, 8.3, 9.4]
    assert row[9:] == (2.0, 3.0, 0.5)


def test_before_anything_could_be_judged_the_past_speaks(outlook: Outlook) -> None:
    bare = sheet_of(outlook)
    tried = dataclasses.replace(outlook.projection, tried=audit_of(judged(8, 200, 163, 20)))
    constants = pd.DataFrame({"name": ["kappa"], "value": ["1"], "as_of": [AS_OF - 14.0]})
    standing = dataclasses.replace(outlook.standing, earlier=Earlier(constants=constants))
    told = sheet_of(dataclasses.replace(outlook, projection=tried, standing=standing))

    assert "could be judged yet" in bare.sentences[0]
    assert "an issue 4, 8 or 26 weeks old, or up to 31 days older" in bare.sentences[0]
    assert "nothing was issued before" in bare.sentences[0]
    assert block(bare, "what_was_said").rows == ()
    assert "the first issue was made on 20 September 2024" in told.sentences[0]
    assert told.sentences[1] == (
        "Tried on the past instead, 8 weeks ahead: of 200 cases 82 % came between early and late, "
        "wanted about 80 %."
    )
    assert len(block(told, "tried_on_the_past").rows) == 1


def test_what_is_doubtful_comes_first_in_words_and_in_orange(outlook: Outlook) -> None:
    audit = audit_of(
        judged(4, 96, 79, 8),
        judged(4, 40, 31, 4, by="usage class", name="medium"),
        judged(8, 90, 40, 10),
        judged(8, 35, 16, 4, by="usage class", name="light"),
        judged(8, 20, 2, 9, by="history", name="under 45 days"),
    )
    sheet = sheet_of(with_audit(outlook, audit))

    assert sheet.sentences[0].startswith("Doubtful: of what was said 8 weeks before, 44 % came")
    assert "later than late" in sheet.sentences[0]
    assert sheet.sentences[1] == "Doubtful for some: light; the table says more."
    rows = block(sheet, "what_was_said").rows
    orange = [tuple(isinstance(cell, Past) for cell in row) for row in rows]
    marked = (False, False, True, False, True, *[False] * 7)
    assert orange == [marked, marked, *[(False,) * 12] * 3]
    words = [row[2].value for row in rows[:2] if isinstance(row[2], Past)]
    assert [str(one).split(":")[0] for one in words] == ["doubtful", "doubtful"]
    assert str(rows[-1][2]).endswith("too few to judge by")
    assert [row[0] for row in rows[2:]] == ["all meters", "medium", "read for under 45 days"]


@pytest.mark.parametrize(
    ("inside", "below", "said"),
    [
        (98, 1, "further apart than they need be"),
        (40, 58, "sooner than early"),
        (40, 2, "later than late"),
        (40, 30, "too close together"),
    ],
)
def test_a_doubt_says_what_is_wrong(inside: int, below: int, said: str) -> None:
    (sentence,) = doubts(audit_of(judged(4, 100, inside, below)))

    assert said in sentence


def test_many_doubtful_classes_are_not_all_named() -> None:
    rows = [judged(4, 40, 9, 9, by="usage class", name=f"class {at}") for at in range(8)]

    (sentence,) = doubts(audit_of(*rows))

    assert "class 4 and 3 more;" in sentence
    assert "class 5" not in sentence
    assert doubts(audit_of(judged(4, 96, 79, 8))) == ()
    assert doubts(empty(AUDIT_COLUMNS)) == ()


def test_the_share_is_charted_week_by_week_and_this_issue_is_last(outlook: Outlook) -> None:
    monday, thursday = AS_OF - 7 - 3, AS_OF - 7
    earlier = [
        audit_of(judged(4, 50, 30 + at, 5), judged(4, 9, 9, 0, by="history", name="x")).assign(
            as_of=float(on)
        )
        for at, on in enumerate((AS_OF - 14, monday, thursday))
    ]
    now = audit_of(judged(4, 50, 40, 5), judged(8, 25, 20, 2), judged(26, 25, 20, 2))
    over = block(sheet_of(with_audit(outlook, now, pd.concat(earlier))), "share_by_issue")

    assert over.rows == (
        (
            AS_OF - 14.0,
            "before",
            "50 and none meters",
            60.0,
            pytest.approx(np.nan, nan_ok=True),
            80,
        ),
        (float(thursday), "before", "50 and none meters", 64.0, over.rows[1][4], 80.0),
        (float(AS_OF), "now", "50 and 25 meters", 80.0, 80.0, 80.0),
    )
    (chart,) = over.charts
    assert (chart.over, chart.drawn, chart.first, chart.last) == (0, (3, 4, 5), 0, 2)
    assert chart.by_day


def test_one_issue_makes_no_chart(outlook: Outlook) -> None:
    over = block(sheet_of(with_audit(outlook, audit_of(judged(4, 50, 40, 5)))), "share_by_issue")

    assert over.rows == ()
    assert "once two weeks" in over.none


def test_twelve_months_of_a_season_are_one_line(outlook: Outlook) -> None:
    months = ("January", "February", "March")
    rows = [
        (
            f"season light {at + 1:02d}",
            f"{1.0 + 0.1 * at:.2f} of a usual day in {month}",
            "of 9 days",
        )
        for at, month in enumerate(months)
    ]
    rows.append(("spread, scale", "0.9", "from 700 tries"))
    learnt = pd.DataFrame(rows, columns=list(LEARNT_COLUMNS))
    projection = dataclasses.replace(outlook.projection, learnt=learnt)

    told = block(sheet_of(dataclasses.replace(outlook, projection=projection)), LEARNT).rows

    assert told[0] == (
        "season light",
        "January 1.00, March 1.20",
        "least and most of a usual day; of 9 days",
    )
    assert told[1] == ("spread, scale", "0.9", "from 700 tries")


LEARNT = "learnt_from_this_fleet"


def test_minutes_of_the_shop_are_told_with_the_visits_behind_them(outlook: Outlook) -> None:
    done: list[Row] = [
        {"unit": "100", "on": AS_OF - 30 * at, "service": "coolant change", "minutes": 200}
        for at in range(1, 7)
    ]
    history = made_rows.table("history", done)
    frames = dict(outlook.standing.frames) | {"history": history}
    standing = dataclasses.replace(outlook.standing, frames=frames)

    bare = block(sheet_of(outlook), LEARNT).rows
    told = block(sheet_of(dataclasses.replace(outlook, standing=standing)), LEARNT).rows

    assert bare == (
        (
            "minutes in the shop",
            "as in the tables",
            "default until done visits say how many minutes they took",
        ),
    )
    assert told[0][0] == "minutes in the shop, petrol four drive belt"
    assert re.match(r"1\.\d\d of the tables'", str(told[0][1]))
    assert "6 done visits took 1,200 minutes" in str(told[0][2])


def test_each_place_says_how_much_of_its_life_is_own_data(outlook: Outlook) -> None:
    rows = [
        dict.fromkeys(LIFE_COLUMNS, np.nan)
        | {"place": "pump", "size": size, "layout": layout, "part": "", "data_share": share}
        | {"n_parts": n, "n_failures": worn}
        for size, layout, share, n, worn in (
            ("light", "", 0.12, 9.0, 0.0),
            ("heavy", "", 0.5, 1.0, 1.0),
            ("heavy", "diesel six heavy", 0.9, 1.0, 1.0),
        )
    ]
    life = pd.DataFrame(rows, columns=list(LIFE_COLUMNS))
    projection = dataclasses.replace(outlook.projection, life=life)

    told = block(sheet_of(dataclasses.replace(outlook, projection=projection)), LEARNT).rows

    assert told[-1] == (
        "life of the pump",
        "12 to 50 % own data",
        "light: 9 parts, none worn out; heavy: 1 part, 1 worn out",
    )


def test_every_setting_has_words_and_leaves_the_sheet_once_it_is_set() -> None:
    names = [one.name for one in dataclasses.fields(Settings)]
    assert sorted(SETTING_WORDS) == sorted(names), "a new setting wants its words"
    all_left = {str(row[0]): str(row[1]) for row in settings_block(Settings()).rows}
    some = settings_block(Settings(visit_cost=4000, as_of=pd.Timestamp("2026-11-05").date())).rows

    assert len(all_left) == len(names)
    assert all_left["bringing a vehicle in"] == "USD 25.00"
    assert all_left["a day off the road"].splitlines() == [
        "light USD 140.00",
        "medium USD 240.00",
        "heavy USD 420.00",
    ]
    assert all_left["hours of the first week filled"] == "80 %"
    assert all_left["how far visits are planned"] == "26 weeks"
    assert all_left["share of another kind"] == "10 %"
    assert all_left["day taken as today"] == "the day itself"
    assert {"bringing a vehicle in", "day taken as today"}.isdisjoint(str(row[0]) for row in some)
    assert len(some) == len(names) - 2


def test_shipped_tables_say_how_many_rows_are_the_fleets_own(outlook: Outlook) -> None:
    cautions = outlook.knowledge.cautions
    origin = ["yours", *["shipped"] * (len(cautions) - 1)]
    knowledge = dataclasses.replace(outlook.knowledge, cautions=cautions.assign(origin=origin))

    sheet = sheet_of(dataclasses.replace(outlook, knowledge=knowledge))

    found = block(sheet, "tables_as_shipped")
    assert found.rows == (("cautions", float(len(cautions) - 1), 1.0),)
    assert found.title.endswith(f"; {len(KNOWLEDGE) - 1} others stand as shipped")


def test_the_sheet_stands_after_odd_readings_and_prints_on_wide_a4(
    outlook: Outlook, tmp_path: Path
) -> None:
    from openpyxl import load_workbook  # noqa: PLC0415 - heavy

    full = with_audit(
        outlook,
        audit_of(judged(4, 90, 40, 10), judged(8, 96, 79, 8)),
        audit_of(judged(4, 90, 70, 10)).assign(as_of=AS_OF - 7.0),
    )
    sheets = manager_sheets(view_of(full))
    names = [sheet.name for sheet in sheets]
    assert names.index("Trust") > names.index("Odd readings")

    save_workbook(tmp_path / "m.xlsx", sheets, {}, SETTINGS, AS_OF)
    page = load_workbook(tmp_path / "m.xlsx")["Trust"]

    assert page.page_setup.orientation == "landscape"
    assert sum(one.width for one in page.column_dimensions.values()) < 190
    assert len(page._charts) == 1
    doubtful = [cell for row in page.iter_rows() for cell in row if is_orange(cell)]
    assert [str(cell.value).split(":")[0] for cell in doubtful] == [
        "doubtful",
        "0.4444444444444444",
    ]
    words = " ".join(str(c.value) for row in page.iter_rows() for c in row if c.value is not None)
    assert not re.search(NEVER_SAID, words)


def is_orange(cell: object) -> bool:
    colour = getattr(getattr(cell, "font", None), "color", None)
    return colour is not None and colour.rgb == "FFC55A11"


def test_an_empty_fleet_has_a_sheet_too(tmp_path: Path) -> None:
    nobody = outlook_of(0)

    sheet = sheet_of(nobody)

    save_workbook(tmp_path / "t.xlsx", (sheet,), {}, SETTINGS, AS_OF)
    assert "could be judged yet" in sheet.sentences[0]
