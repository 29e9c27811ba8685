"""A breakdown opened by hand: its number at once, its room in the shop, its end."""

import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest

from fleetcool.actions.decide import decide, keep_rows
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.open_visit import Opened, open_visit, opened_in, opening_rows
from fleetcool.actions.take import Moment, take
from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.intake.returned_results import visits_of
from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import iso_week
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.intakes import withdraw
from fleetcool.store.standing import read_standing
from fleetcool.visits.opening import opening_of, services_for
from jobs.week import Order, make_issue

ISSUED = 20762  # Thursday 5 November 2026
WEDNESDAY = ISSUED + 6
NOON = ISSUED * 86_400 + 17 * 3_600  # at home, five hours behind UTC
SETTINGS = Settings()


@pytest.fixture(scope="module")
def issued(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store whose week 2026-W46 was issued, to be copied."""
    folder = tmp_path_factory.mktemp("issued")
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    take(store, [twelve_vehicles], settings=SETTINGS, moment=moment(ISSUED))
    issue(store, folder, ISSUED)
    close(store)
    return folder / "fleet.db"


@pytest.fixture
def fleet(issued: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copyfile(issued, tmp_path / "fleet.db")
    store = open_store(f"sqlite:///{tmp_path / 'fleet.db'}")
    yield store
    close(store)


def planned_before(issued: Path, folder: Path, as_of: int) -> Plan:
    shutil.copyfile(issued, folder / "fleet.db")
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    plan = ahead(store, as_of, "2026-W46").plan
    close(store)
    return plan


def moment(as_of: int) -> Moment:
    return Moment(as_of, as_of, NOON + 86_400 * (as_of - ISSUED), "tester")


def issue(store: Store, folder: Path, as_of: int) -> Outlook:
    week = iso_week(as_of + 7)
    made = make_issue(store, SETTINGS, Order(week, as_of, folder / "out", "tester", lambda: NOON))
    assert made is not None
    assert made.published
    return made.outlook


def ahead(store: Store, as_of: int, week: str | None = None) -> Outlook:
    return look_ahead(store, settings=SETTINGS, as_of=as_of, week=week)


def opened(
    store: Store, unit: str, *places: str, as_of: int = WEDNESDAY, also: Sequence[str] = ()
) -> Opened:
    return open_visit(store, unit, places, settings=SETTINGS, moment=moment(as_of), also=also)


def kept(store: Store, unit: str, place: str, as_of: int = WEDNESDAY) -> str:
    """Open a visit without working out what follows; return its number."""
    standing = read_standing(store, as_of)
    knowledge = in_force(standing.frames, as_of)
    opening = opening_of(standing, knowledge, unit, [place], on=as_of)
    keep_rows(store, {"decisions": opening_rows(opening, moment(as_of), "")}, moment(as_of))
    return opening.visit


def planned_that_day(outlook: Outlook, day: int) -> list[str]:
    return planned_that_day_of(outlook.plan, day)


def planned_that_day_of(plan: Plan, day: int) -> list[str]:
    visits = plan.visits
    inside = (visits["start_on"] <= day) & (visits["stop_on"] > day)
    over = visits["state"] == "no word yet"
    return sorted(visits["visit"][inside & ~over])


@pytest.fixture(scope="module")
def before(issued: Path, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """Return the plan of the day of the breakdown, as the week's issue left it."""
    return planned_before(issued, tmp_path_factory.mktemp("before"), WEDNESDAY)


@pytest.fixture(scope="module")
def of_week(issued: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, int]:
    """Return unit and day of a visit issued for the week of the breakdown."""
    visits = planned_before(issued, tmp_path_factory.mktemp("monday"), WEDNESDAY - 2).visits
    fixed = visits[visits["state"] == "fixed"].sort_values(["start_on", "visit"])
    assert len(fixed), "the issue planned visits for this week"
    row = fixed.iloc[-1]
    return str(row["unit"]), int(row["start_on"])


def test_a_visit_opened_by_hand_has_its_number_and_its_place_at_once(fleet: Store) -> None:
    one = opened(fleet, "102", "pump")
    assert one.visit == "102-26W46"
    assert one.opening.services == ("new pump",)
    row = one.after.plan.visits.set_index("visit").loc[one.visit]
    assert (row["state"], row["bay"], row["depot"]) == ("here", "1", "NORTH")
    assert row["start_on"] == WEDNESDAY
    assert row["minutes"] > 0
    assert [
        again.visit for again in opened_in(fleet, one.intake, settings=SETTINGS, as_of=WEDNESDAY)
    ] == [one.visit]


@pytest.mark.parametrize(
    ("asked", "services"),
    [
        (["lower hose", "coolant change"], ("coolant change", "new lower hose")),  # not all hoses
        (["Pump + thermostat"], ("new pump", "new thermostat")),
        (["cooling pack"], ("new cooling pack",)),  # a place, not its cleaning
        (["pack cleaning"], ("pack cleaning",)),  # a service
    ],
)
def test_a_place_means_the_service_that_renews_it_and_the_least_else(
    fleet: Store, asked: list[str], services: tuple[str, ...]
) -> None:
    standing = read_standing(fleet, WEDNESDAY)
    knowledge = in_force(standing.frames, WEDNESDAY)
    assert services_for(asked, "diesel six medium", "102", standing, knowledge) == services


def test_nothing_else_is_planned_in_its_bay_or_for_its_vehicle_that_day(
    fleet: Store, of_week: tuple[str, int]
) -> None:
    unit, day = of_week
    other = "101" if unit != "101" else "102"
    one = opened(fleet, other, "pump", as_of=day)
    assert planned_that_day(one.before, day), "something was planned that day"
    assert planned_that_day(one.after, day) == [one.visit], "the shop has one bay"


def test_the_visits_it_pushes_out_are_named_with_their_new_day(
    fleet: Store, of_week: tuple[str, int]
) -> None:
    unit, day = of_week
    other = "101" if unit != "101" else "102"
    one = opened(fleet, other, "pump", as_of=day)
    moved = one.pushed.set_index("unit")
    assert unit in moved.index
    assert moved.loc[unit, "from_on"] == day
    assert moved.loc[unit, "to_on"] > day or np.isnan(moved.loc[unit, "to_on"])
    assert one.visit in moved.loc[unit, "reason"]
    later = ahead(fleet, day, "2026-W46").plan.visits.set_index("visit")
    assert later.loc[moved.loc[unit, "visit"], "state"] == "proposed"


def test_its_own_planned_visit_is_let_go_when_its_services_are_taken_in(
    fleet: Store, before: Plan
) -> None:
    moving = before.visits[before.visits["state"] == "proposed"]
    row = moving.sort_values(["start_on", "visit"]).iloc[0]
    names = before.visit_services["service"][before.visit_services["visit"] == row["visit"]]
    one = open_visit(
        fleet,
        str(row["unit"]),
        ["thermostat"],
        settings=SETTINGS,
        moment=moment(WEDNESDAY),
        with_planned=True,
    )
    assert set(names) | {"new thermostat"} == set(one.opening.services)
    plan = one.after.plan
    mine = plan.visit_services[
        (plan.visit_services["vehicle"] == row["vehicle"])
        & (plan.visit_services["occurrence"] == 1)
    ]
    assert not mine[["vehicle", "service"]].duplicated().any(), "no service is planned twice"
    assert row["visit"] not in set(plan.visits["visit"]) - {one.visit}
    assert np.isnan(one.pushed.set_index("visit").loc[row["visit"], "to_on"])


def test_its_planned_visit_stays_and_its_services_are_worth_doing_now(
    fleet: Store, before: Plan
) -> None:
    near = before.visits[
        (before.visits["state"] == "proposed") & (before.visits["start_on"] < WEDNESDAY + 80)
    ]
    row = near.sort_values(["start_on", "visit"]).iloc[0]
    names = set(before.visit_services["service"][before.visit_services["visit"] == row["visit"]])
    one = opened(fleet, str(row["unit"]), "expansion tank")
    assert set(one.after.plan.visits["visit"]) >= {row["visit"], one.visit}
    assert names & set(one.worth["service"])
    here = list(one.worth["parts_here"])
    assert here == sorted(here, reverse=True), "what is on the shelf comes first"


def test_publishing_the_next_week_keeps_its_number_and_doubles_nothing(
    fleet: Store, tmp_path: Path
) -> None:
    visit = kept(fleet, "102", "pump")
    outlook = issue(fleet, tmp_path, WEDNESDAY + 1)
    assert list(outlook.plan.visits["visit"]).count(visit) == 1
    later = read_standing(fleet, WEDNESDAY + 2)
    assert list(later.published_visits["visit"]).count(visit) == 1
    assert later.published_services["visit"].tolist().count(visit) == 1
    visits = ahead(fleet, WEDNESDAY + 2, "2026-W46").plan.visits.set_index("visit")
    assert visits.loc[visit, "state"] == "here"


def test_once_it_is_done_its_clocks_restart_and_it_leaves_the_plan(fleet: Store) -> None:
    visit = kept(fleet, "102", "pump")
    decide(fleet, visit, "done", moment=moment(WEDNESDAY), on=float(WEDNESDAY))
    after = ahead(fleet, WEDNESDAY + 1)
    clocks = after.projection.clocks
    pump = clocks[(clocks["unit"] == "102") & (clocks["service"] == "new pump")]
    assert list(pump["last_done_on"]) == [WEDNESDAY]
    assert visit not in set(after.plan.visits["visit"])


def test_withdrawing_its_intake_takes_it_away(fleet: Store) -> None:
    visit = kept(fleet, "102", "pump")
    known = visits_of(read_standing(fleet, WEDNESDAY))
    assert known.unit[visit] == "102", "results that name it are taken"
    assert known.services[visit] == ("new pump",)
    withdraw(fleet, 2, by="tester", now=NOON)
    assert visit not in set(read_standing(fleet, WEDNESDAY).published_visits["visit"])
    assert opened_in(fleet, 2, settings=SETTINGS, as_of=WEDNESDAY) == ()


def test_a_visit_that_waits_keeps_its_bay(fleet: Store) -> None:
    visit = kept(fleet, "102", "pump")
    decide(fleet, visit, "waiting", moment=moment(WEDNESDAY), until=float(WEDNESDAY + 8))
    plan = ahead(fleet, WEDNESDAY + 1, "2026-W46").plan
    rows = plan.visits[plan.visits["visit"] != visit]
    inside = rows[(rows["start_on"] <= WEDNESDAY + 8) & (rows["state"] == "proposed")]
    assert plan.visits.set_index("visit").loc[visit, "state"] == "waiting"
    assert inside.empty, "the shop has one bay"


def test_a_visit_that_came_early_holds_its_bay_from_that_day(
    fleet: Store, of_week: tuple[str, int]
) -> None:
    unit, day = of_week
    visit, friday = f"{unit}-26W46", ISSUED + 1
    assert day > friday
    decide(fleet, visit, "here", moment=moment(friday))
    plan = ahead(fleet, friday, "2026-W45").plan
    assert plan.visits.set_index("visit").loc[visit, "state"] == "here"
    assert set(planned_that_day_of(plan, friday)) <= {visit}, "the shop has one bay"


def test_a_visit_put_off_keeps_its_services_on_its_new_day(fleet: Store) -> None:
    visit = kept(fleet, "102", "pump")
    decide(fleet, visit, "put off", moment=moment(WEDNESDAY), on=float(WEDNESDAY + 5))
    plan = ahead(fleet, WEDNESDAY, "2026-W46").plan
    row = plan.visits.set_index("visit").loc[visit]
    assert (row["state"], row["start_on"]) == ("fixed", WEDNESDAY + 5)
    services = plan.visit_services
    assert list(services["service"][services["visit"] == visit]) == ["new pump"]


def test_on_a_closed_day_it_says_when_work_starts(fleet: Store) -> None:
    saturday = WEDNESDAY + 3
    one = opened(fleet, "102", "cap", as_of=saturday)
    assert one.opening.until == saturday + 2
    assert "work starts on 16 November 2026" in " ".join(one.opening.notes)


def test_a_yard_without_a_shop_names_the_one_that_serves_it(fleet: Store, tmp_path: Path) -> None:
    (tmp_path / "depots.csv").write_text(
        "depot,name,time_zone,served_by,minutes_to_shop\n"
        "SOUTH,South yard,America/Toronto,NORTH,40\n"
    )
    (tmp_path / "vehicles.csv").write_text(
        "unit,depot,layout,year,first_used_on,joined_on,distance_unit\n"
        "201,SOUTH,diesel six medium,2022,2022-02-10,2022-02-10,km\n"
    )
    files = [tmp_path / "depots.csv", tmp_path / "vehicles.csv"]
    take(fleet, files, settings=SETTINGS, moment=moment(WEDNESDAY))
    one = opened(fleet, "201", "pump")
    assert one.opening.notes == (
        "The yard SOUTH has no shop of its own; NORTH does it, 40 minutes away.",
    )
    row = one.after.plan.visits.set_index("visit").loc[one.visit]
    assert (row["yard"], row["depot"], row["bay"]) == ("SOUTH", "NORTH", "1")


def test_an_unknown_unit_or_place_is_named_with_the_nearest(fleet: Store) -> None:
    with pytest.raises(NotThereError, match=r'no unit in the fleet "1022".*"102"'):
        opened(fleet, "1022", "pump")
    with pytest.raises(NotThereError, match=r'place or service "pumpe".*"pump"'):
        opened(fleet, "102", "pumpe")
    assert read_standing(fleet, WEDNESDAY)["decisions"].empty


def test_a_vehicle_that_is_in_by_hand_already_is_not_opened_twice(fleet: Store) -> None:
    visit = kept(fleet, "102", "pump")
    with pytest.raises(NotUsableError, match=visit):
        opened(fleet, "102", "cap")
    decide(fleet, visit, "not come", moment=moment(WEDNESDAY))
    with pytest.raises(NotUsableError, match="not come, said on 11 November 2026"):
        decide(fleet, visit, "fix", moment=moment(WEDNESDAY), on=float(WEDNESDAY + 5))
    assert kept(fleet, "102", "cap") == "102-26W46b"
