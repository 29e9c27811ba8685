"""The loop on the demo: week published, results come back, clocks restart, next week."""

import shutil
import time
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from fleetcool.actions.decide import decide, keep_rows, rows_of
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.errors import NotThereError
from fleetcool.model.days import iso, number
from fleetcool.model.outlook import Outlook
from fleetcool.store.engine import Store, close, open_store
from jobs.demo import make_demo
from jobs.week import Order, make_issue
from jobs.where import find_home
from reports.as_json import due_json, plan_json

AS_OF = number(date(2026, 11, 5))
NEXT = number(date(2026, 11, 12))  # the Thursday after
AFTER = number(date(2026, 11, 16))  # the Monday after the published week
TODAY = number(date(2026, 11, 25))
NOW = 1_795_600_000  # that day, UTC
WEEK = "2026-W46"
Entries = dict[str, dict[str, object]]


class Fleet:
    """One copy of the demo: its folder and its open store."""

    def __init__(self, folder: Path) -> None:
        """Open the store in a folder."""
        home = find_home(folder, f"sqlite:///{folder / 'fleetcool.db'}")
        self.folder, self.settings = folder, home.settings
        self.store: Store = open_store(home.store_url)

    def moment(self, as_of: int) -> Moment:
        return Moment(as_of, TODAY, NOW, "tester")

    def ahead(self, as_of: int) -> Outlook:
        return look_ahead(self.store, settings=self.settings, as_of=as_of)

    def decide(self, visit: str, what: str, day: float = float("nan"), *, as_of: int) -> None:
        decide(self.store, visit, what, moment=self.moment(as_of), on=day, reason="as told")

    def issue(self, as_of: int, week: str) -> Outlook:
        order = Order(week, as_of, self.folder / "out", "tester", time.time)
        issue = make_issue(self.store, self.settings, order)
        assert issue is not None
        assert issue.published
        return issue.outlook

    def take(self, paths: list[Path], as_of: int) -> None:
        taken = take(self.store, paths, settings=self.settings, moment=self.moment(as_of))
        assert taken.judged is not None
        assert taken.judged.faults == ()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    make_demo(folder, by="tester", stage=lambda _name: None)
    return folder


@pytest.fixture(scope="module")
def first(demo: Path) -> Iterator[Outlook]:
    """What the demo's published week says."""
    fleet = Fleet(demo)
    yield fleet.ahead(AS_OF)
    close(fleet.store)


@pytest.fixture
def fleet(demo: Path, tmp_path: Path) -> Iterator[Fleet]:
    folder = tmp_path / "fleet"
    shutil.copytree(demo, folder)
    opened = Fleet(folder)
    yield opened
    close(opened.store)


def fill_in(book: Path, entries: Entries) -> int:
    """Type into the results sheet of a mechanic's book and return how many lines were there."""
    workbook = openpyxl.load_workbook(book)
    sheet: Any = workbook["Results"]
    column: dict[object, int] = {}
    found: set[str] = set()
    for row in sheet.iter_rows():
        if row[0].value == "key":
            column = {cell.value: turn for turn, cell in enumerate(row)}
        typed = entries.get(str(row[0].value), {})
        found |= {str(row[0].value)} if typed else set()
        for name in set(typed) & set(column):
            row[column[name]].value = typed[str(name)]
    workbook.save(book)
    return len(found)


def fill_all(fleet: Fleet, entries: Entries, week: str = WEEK) -> list[Path]:
    books = sorted((fleet.folder / "out" / week).glob("*-mechanic.xlsx"))
    assert sum(fill_in(book, entries) for book in books) == len(entries)
    return books


def in_week(outlook: Outlook, monday: int = number(date(2026, 11, 9))) -> pd.DataFrame:
    start = outlook.plan.visits["start_on"]
    return outlook.plan.visits[(start >= monday) & (start < monday + 7)]


def services_of(outlook: Outlook, visit: str) -> list[str]:
    rows = outlook.plan.visit_services
    return sorted(rows.loc[rows["visit"] == visit, "service"])


def item(outlook: Outlook, unit: str, service: str) -> dict[str, Any]:
    items = due_json(outlook)["items"]
    assert isinstance(items, list)
    found: dict[str, Any] = next(
        one for one in items if (one["unit"], one["service"]) == (unit, service)
    )
    return found


def visits_with(outlook: Outlook, unit: str, service: str) -> list[str]:
    rows = outlook.plan.visit_services.merge(outlook.plan.visits[["visit", "unit"]], on="visit")
    mine = rows[(rows["unit"] == unit) & (rows["service"] == service) & (rows["occurrence"] == 1)]
    return sorted(mine["visit"])


def row_of(outlook: Outlook, visit: str) -> pd.Series:
    rows = outlook.plan.visits.set_index("visit")
    found = rows.loc[visit]
    assert isinstance(found, pd.Series)
    return found


def largest(first: Outlook) -> tuple[str, str, list[str]]:
    """Return the visit of the week with most services: number, unit, services."""
    week = in_week(first)
    names = {visit: services_of(first, visit) for visit in week["visit"]}
    known = {
        visit: found
        for visit, found in names.items()
        if len(found) > 1 and "cooling baseline" not in found
    }
    visit = max(known, key=lambda one: len(known[one]))
    return visit, str(row_of(first, visit)["unit"]), known[visit]


def test_results_restart_the_right_clocks(fleet: Fleet, first: Outlook) -> None:
    """One visit as planned, one partly, one with a lower hose found bad."""
    partly, unit, planned = largest(first)
    done = [str(one) for one in in_week(first)["visit"] if one != partly]
    found = next(one for one in done if "new lower hose" not in services_of(first, one))
    asis = next(one for one in done if one != found)
    on = {one: datetime(2026, 11, 13) for one in (partly, found, asis)}  # noqa: DTZ001 - a cell has no zone
    left = planned[-1]
    entries: Entries = {
        asis: {"done on": on[asis]},
        partly: {"outcome": "partly", "done on": on[partly], "not done": left},
        found: {"done on": on[found], "found at": "lower hose", "found": "replace"},
    }
    fleet.take(fill_all(fleet, entries), AFTER)
    now = fleet.ahead(AFTER)
    for visit in entries:
        whose = str(row_of(first, visit)["unit"])
        for service in services_of(first, visit):
            if (visit, service) != (partly, left) and service != "cooling baseline":
                assert item(now, whose, service)["last_done_on"] == "2026-11-13", service
        assert visit not in set(now.plan.visits["visit"])
    assert item(now, unit, left)["last_done_on"] == item(first, unit, left)["last_done_on"]
    (again,) = visits_with(now, unit, left)
    assert again != partly
    whose = str(row_of(first, found)["unit"])
    bad = item(now, whose, "new lower hose")
    assert bad["governs"] == "condition"
    assert bad["due"] == "2026-11-20"  # found on 13 November; the remedy gives it 7 days
    (soon,) = visits_with(now, whose, "new lower hose")
    assert row_of(now, soon)["start_on"] < AFTER + 28


def test_a_visit_without_word_leads_and_is_not_proposed_again(fleet: Fleet, first: Outlook) -> None:
    fleet.issue(NEXT, "2026-W47")
    now = fleet.ahead(AFTER)
    silent = set(in_week(first)["visit"])
    states = now.plan.visits["state"]
    assert set(now.plan.visits["visit"][states == "no word yet"]) == silent
    assert list(states[: len(silent)]) == ["no word yet"] * len(silent)
    for visit in sorted(silent):
        unit = str(row_of(first, visit)["unit"])
        for service in services_of(first, visit):
            assert visits_with(now, unit, service) == [visit]
    issued = fleet.issue(number(date(2026, 11, 19)), "2026-W48")
    assert set(issued.plan.visits["visit"][: len(silent)]) == silent


def test_a_visit_done_is_closed_and_restarts_its_clocks(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "done", NEXT, as_of=AFTER)
    now = fleet.ahead(AFTER)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        assert item(now, unit, service)["last_done_on"] == "2026-11-12"


def test_work_told_in_the_history_closes_a_silent_visit_too(fleet: Fleet, first: Outlook) -> None:
    """The shop wrote its own table, after the next week was published."""
    visit, unit, services = largest(first)
    day = iso(row_of(first, visit)["start_on"])
    fleet.issue(NEXT + 5, "2026-W48")
    history = fleet.folder / "history.csv"
    lines = [f"{unit},{day},{service}" for service in services]
    history.write_text("\n".join(["unit,on,service", *lines]) + "\n")
    fleet.take([history], NEXT + 5)
    assert visit not in set(fleet.ahead(NEXT + 6).plan.visits["visit"])


def test_a_visit_that_did_not_come_is_planned_again_soon(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "not come", as_of=AFTER)
    now = fleet.ahead(AFTER)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        (again,) = visits_with(now, unit, service)
        assert AFTER <= row_of(now, again)["start_on"] < AFTER + 28


def test_a_waiting_visit_leads_and_keeps_its_bay(fleet: Fleet, first: Outlook) -> None:
    """It came back on the results sheet as waiting; nobody said for how long."""
    visit, _, services = largest(first)
    fleet.take(fill_all(fleet, {visit: {"outcome": "waiting"}}), AFTER)
    now = fleet.ahead(AFTER)
    row = row_of(now, visit)
    assert row["state"] == "waiting"
    assert services_of(now, visit) == services
    others = now.plan.visits[now.plan.visits["visit"] != visit]
    same = others[(others["depot"] == row["depot"]) & (others["bay"] == row["bay"])]
    placed = same[~same["state"].isin(["no word yet", "fixed"])]
    assert not ((placed["start_on"] < AFTER + 7) & (placed["stop_on"] > AFTER)).any()


def test_a_fixed_day_holds(fleet: Fleet, first: Outlook) -> None:
    visit, _, services = largest(first)
    fleet.decide(visit, "fix", NEXT + 8, as_of=AS_OF)
    for as_of in (AS_OF + 1, NEXT, AFTER):
        now = fleet.ahead(as_of)
        assert row_of(now, visit)["start_on"] == NEXT + 8
        assert row_of(now, visit)["state"] == "fixed"
        assert services_of(now, visit) == services


def test_a_visit_fixed_for_tomorrow_is_not_without_word(fleet: Fleet, first: Outlook) -> None:
    """It was to be on an earlier day of the week, and the next book starts on Monday."""
    week = in_week(first)
    visit = str(week.sort_values(["start_on", "visit"])["visit"].iloc[0])
    fleet.decide(visit, "fix", NEXT + 1, as_of=NEXT)
    row = row_of(fleet.ahead(NEXT), visit)
    assert (row["state"], row["start_on"]) == ("fixed", NEXT + 1)


def test_a_visit_put_off_is_not_before_that_day_and_then_stays(
    fleet: Fleet, first: Outlook
) -> None:
    visit, _, services = largest(first)
    fleet.decide(visit, "put off", AFTER + 8, as_of=AS_OF)
    issued = fleet.issue(NEXT, "2026-W47")
    start_on = row_of(issued, visit)["start_on"]
    assert start_on >= AFTER + 8
    assert set(services) <= set(services_of(issued, visit))
    later = fleet.ahead(int(start_on) - 3)
    assert row_of(later, visit)["state"] == "fixed"
    assert row_of(fleet.ahead(int(start_on) + 3), visit)["state"] == "no word yet"


def test_a_visit_let_go_is_not_proposed_again(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "let go", as_of=AS_OF)
    now = fleet.ahead(NEXT)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        assert visits_with(now, unit, service) == []
    reasons = now.plan.not_placed
    mine = reasons[(reasons["unit"] == unit) & reasons["reason"].str.startswith("let go")]
    listed = set(", ".join(mine["services"]).split(", "))
    assert listed
    assert listed <= set(services)


def test_a_number_nobody_knows_names_the_nearest(fleet: Fleet, first: Outlook) -> None:
    visit, _, _ = largest(first)
    with pytest.raises(NotThereError, match=visit):
        fleet.decide(visit[:-1], "let go", as_of=AS_OF)


def decided_for(fleet: Fleet, unit: str, what: str, **more: str) -> None:
    """Keep a decision that names a unit alone, as the manager's book brings it."""
    line: dict[str, object] = {"key": f"k|{unit}|{what}", "decided_at": "2026-11-05T12:00:00Z"}
    row = rows_of("decisions", [{**line, "unit": unit, "what": what, **more}])
    keep_rows(fleet.store, {"decisions": row}, fleet.moment(AS_OF))


def a_later_unit(first: Outlook) -> tuple[str, float]:
    visits = first.plan.visits
    later = visits[visits["start_on"] > AS_OF + 60].drop_duplicates("unit")
    alone = later[~later["unit"].isin(visits["unit"][visits["start_on"] <= AS_OF + 60])]
    return str(alone["unit"].iloc[0]), float(alone["start_on"].iloc[0])


def first_start(outlook: Outlook, unit: str) -> float:
    visits = outlook.plan.visits
    return float(visits["start_on"][visits["unit"] == unit].min())


@pytest.mark.parametrize(
    ("what", "more", "obeyed"),
    [
        ("not before", {"on": "2027-02-20"}, lambda day: day >= number(date(2027, 2, 20))),
        ("fix", {"on": "2026-11-25"}, lambda day: day == number(date(2026, 11, 25))),
        (
            "not in",
            {"on": "2026-12-01", "until": "2027-03-01"},
            lambda day: not number(date(2026, 12, 1)) <= day <= number(date(2027, 3, 1)),
        ),
    ],
)
def test_a_decision_that_names_a_unit_alone_is_obeyed(
    fleet: Fleet,
    first: Outlook,
    what: str,
    more: dict[str, str],
    obeyed: Callable[[float], bool],
) -> None:
    unit, before = a_later_unit(first)
    assert not obeyed(before)
    decided_for(fleet, unit, what, **more)
    assert obeyed(first_start(fleet.ahead(AS_OF), unit))


def test_next_week_visits_keep_their_numbers_and_issued_ones_their_day(
    fleet: Fleet, first: Outlook
) -> None:
    now = fleet.ahead(NEXT)
    old, new = first.plan.visits.set_index("visit"), now.plan.visits.set_index("visit")
    for visit in in_week(first)["visit"]:
        assert new.loc[visit, "start_on"] == old.loc[visit, "start_on"]
    stays = old.index.isin(new.index)
    assert stays.mean() > 0.9
    gone = set(old.index[~stays])
    assert gone == set(now.plan.let_go["visit"])


def test_nothing_moves_without_news(fleet: Fleet, first: Outlook) -> None:
    now = fleet.ahead(AS_OF + 1)
    old, new = first.plan.visits.set_index("visit"), now.plan.visits.set_index("visit")
    assert sorted(old.index) == sorted(new.index)
    moved = old["start_on"] != new["start_on"].reindex(old.index)
    assert list(old.index[moved]) == []
    assert all(services_of(now, visit) == services_of(first, visit) for visit in old.index)


def test_the_second_week_lets_no_visit_vanish(fleet: Fleet, demo: Path) -> None:
    del demo
    second = Path(__file__).parent.parent / "demo_fleet" / "second_week"
    before = fleet.ahead(AS_OF)
    fleet.take([second], NEXT)
    now = fleet.issue(NEXT, "2026-W47")
    told = set(now.standing["history"]["visit"].dropna())
    still = set(now.plan.visits["visit"]) | set(now.plan.let_go["visit"]) | told
    missing = set(before.plan.visits["visit"]) - still
    rows = before.plan.visit_services
    done = now.standing["history"][["vehicle", "service", "on"]]
    done = done[done["on"] >= AS_OF]
    left = rows[rows["visit"].isin(missing)].merge(done, on=["vehicle", "service"], how="left")
    assert left["on"].notna().all()


def test_no_vehicle_is_in_the_shop_while_it_or_the_bay_is_away(first: Outlook) -> None:
    away = first.standing["away"]
    for one in first.plan.visits.to_dict("records"):
        for row in away.to_dict("records"):
            inside = row["start"] < one["stop_on"] and one["start_on"] <= row["stop"]
            if inside and row.get("vehicle") == one["vehicle"]:
                pytest.fail(f"{one['visit']} while its vehicle is away")
            if inside and row["bay"] == one["bay"] and row["depot"] in {one["depot"], None}:
                pytest.fail(f"{one['visit']} while its bay is away")
    assert len(first.plan.visits) > 20


def test_no_visit_starts_outside_its_vehicles_stay(first: Outlook) -> None:
    leaves = first.standing["vehicles"].set_index("vehicle")["leaves_on"]
    stop = first.plan.visits.set_index("vehicle")["stop_on"]
    known = leaves.reindex(stop.index)
    assert not (stop > known).any()
    assert leaves.notna().any()


# Hours of the demo's shops by weekday, Monday first, as its tables depots and crew say; 15 % of
# them are kept free.
HOURS = {"NORTH": (16,) * 5, "HARBOUR": (0, 8, 8, 4, 0), "PRAIRIE": (8,) * 5}


def test_no_day_and_no_week_is_over_its_hours(first: Outlook) -> None:
    visits = first.plan.visits
    one_day = visits[visits["stop_on"] - visits["start_on"] == 1]
    assert len(one_day) > 20
    by_day = one_day.groupby(["depot", "start_on"])["minutes"].sum()
    for depot, on, minutes in by_day.reset_index().itertuples(index=False):
        assert minutes <= 0.85 * 60 * HOURS[str(depot)][int(on + 3) % 7], (depot, iso(on))
    weeks = first.plan.weeks
    assert (weeks["hours_planned"] <= weeks["hours_available"] + 0.01).all()


def test_no_bay_has_two_visits_at_once(first: Outlook) -> None:
    line = ["depot", "bay", "start_on"]
    visits = first.plan.visits.sort_values([*line, "start_minute"])
    same = visits[line].eq(visits[line].shift()).all(axis=1)
    overlap = same & (visits["start_minute"] < visits["stop_minute"].shift())
    assert list(visits["visit"][overlap]) == []


def test_every_service_due_inside_the_horizon_is_somewhere_with_a_reason(first: Outlook) -> None:
    plan: Any = plan_json(first)
    there = {
        (one["unit"], service)
        for part in ("visits", "rounds", "not_placed")
        for one in plan[part]
        for service in one["services"]
    }
    until = number(date(2026, 11, 9)) + 7 * first.settings.horizon_weeks
    due = first.projection.due
    units = first.standing["vehicles"].set_index("vehicle")["unit"]
    inside = due[due["q50"] < until]
    wanted = set(zip(inside["vehicle"].map(units), inside["service"], strict=True))
    assert sorted(wanted - there) == []
    assert (first.plan.not_placed["reason"].str.len() > 10).all()


BANDS = {"light": (1.5, 6.0), "medium": (1.5, 6.0), "heavy": (1.5, 6.0)}


def test_the_demo_lies_in_the_bands_it_was_made_for(first: Outlook) -> None:
    """0.3–0.6 wet visits and 1.5–6 cooling hours a vehicle-year.

    Common practice, no source; the demo's history and layouts were made so that it lies in them,
    so this shows that the parts work together, not that the bands are true.
    """
    plan, standing = first.plan, first.standing
    about = first.knowledge.services.set_index("service")
    services = plan.visit_services
    wet = services.loc[services["service"].map(about["wet"]).eq(1), "visit"].nunique()
    vehicles = standing["vehicles"]
    here = vehicles[vehicles["here"].astype(bool)]
    years = first.settings.horizon_weeks / 52
    assert 0.3 <= wet / (len(here) * years) <= 0.6
    size_of = first.knowledge.layouts.set_index("layout")["size"]
    size = here.set_index("vehicle")["layout"].map(size_of).fillna("light")
    minutes = plan.visits.groupby(plan.visits["vehicle"].map(size))["minutes"].sum()
    minutes = minutes.add(
        plan.rounds.groupby(plan.rounds["vehicle"].map(size))["minutes"].sum(), fill_value=0
    )
    for name, n in size.value_counts().items():
        low, high = BANDS[str(name)]
        assert low <= minutes[str(name)] / 60 / years / n <= high
