"""A look ahead over small, awkward fleets ends in a plan or in a reason, never in a fault."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path

import pytest

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.model.days import iso, monday, number
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store, close, open_store

AS_OF = number(date(2026, 11, 5))
UNTIL = monday("2026-W46") + 26 * 7
NOW = 1_794_000_000
VAN = "diesel four van"
HEAVY = "diesel six heavy"
SHOP = ["depot,mechanics,hours_a_day", "NORTH,1,8"]
VEHICLES = "unit,depot,layout,first_used_on,joined_on,distance_unit"
Tables = Mapping[str, list[str]]
Ahead = Callable[..., Outlook]


@pytest.fixture
def ahead(tmp_path: Path, migrated_file: Path) -> Iterator[Ahead]:
    """Take the lines of a few tables in, and look ahead."""
    path = tmp_path / "fleet.db"
    path.write_bytes(migrated_file.read_bytes())
    store: Store = open_store(f"sqlite:///{path}")

    def look(tables: Tables, settings: Settings | None = None, *, faults: int = 0) -> Outlook:
        options = settings or Settings()
        folder = tmp_path / "tables"
        folder.mkdir()
        for name, lines in tables.items():
            (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")
        if tables:
            moment = Moment(AS_OF, AS_OF, NOW, "tester")
            taken = take(store, [folder], settings=options, moment=moment)
            assert taken.judged is not None
            assert len(taken.judged.faults) == faults, taken.judged.faults
        return look_ahead(store, settings=options, as_of=AS_OF)

    yield look
    close(store)


def readings(units: list[str], rate: float = 100.0, n: int = 20) -> list[str]:
    """Return weekly odometer readings up to the as-of day, `rate` km a day."""
    return ["unit,on,odometer"] + [
        f"{unit},{iso(AS_OF - 7 * (n - at))},{90000 + 7 * at * rate:.0f}"
        for unit in units
        for at in range(n + 1)
    ]


def vans(*units: str, layout: str = VAN) -> list[str]:
    return [VEHICLES] + [f"{unit},NORTH,{layout},2018-05-01,2018-05-01,km" for unit in units]


def done(
    *units: str, service: str = "coolant change", on: str = "2018-06-01", km: int = 100
) -> list[str]:
    return ["unit,on,service,odometer"] + [f"{unit},{on},{service},{km}" for unit in units]


def somewhere(outlook: Outlook) -> set[tuple[str, str]]:
    plan = outlook.plan
    pairs = set(zip(plan.visit_services["vehicle"], plan.visit_services["service"], strict=True))
    for frame in (plan.rounds, plan.not_placed):
        for vehicle, services in zip(frame["vehicle"], frame["services"], strict=True):
            pairs |= {(vehicle, service) for service in services.split(", ")}
    return pairs


def all_due_are_somewhere(outlook: Outlook) -> bool:
    due = outlook.projection.due
    inside = due[due["q50"] < UNTIL]
    return set(zip(inside["vehicle"], inside["service"], strict=True)) <= somewhere(outlook)


def test_a_store_without_anything_gives_an_empty_plan(ahead: Ahead) -> None:
    outlook = ahead({})
    assert outlook.plan.visits.empty
    assert outlook.projection.due.empty
    assert outlook.supply.orders.empty


def test_a_depot_without_vehicles_has_weeks_or_none_but_no_visit(ahead: Ahead) -> None:
    outlook = ahead({"depots": SHOP})
    assert outlook.plan.visits.empty
    assert outlook.plan.not_placed.empty


def test_a_vehicle_without_readings_gets_its_services_by_age(ahead: Ahead) -> None:
    outlook = ahead({"depots": SHOP, "vehicles": vans("104")})
    assert not outlook.projection.due.empty
    assert all_due_are_somewhere(outlook)


def test_nothing_is_planned_after_a_vehicle_left(ahead: Ahead) -> None:
    lines = [f"{VEHICLES},leaves_on", f"104,NORTH,{VAN},2018-05-01,2018-05-01,km,2026-12-01"]
    outlook = ahead({"depots": SHOP, "vehicles": lines, "readings": readings(["104"])})
    leaves = number(date(2026, 12, 1))
    assert (outlook.plan.visits["stop_on"] <= leaves).all()
    assert (outlook.plan.rounds["on"] < leaves).all()
    assert (outlook.projection.due["q50"] < leaves).all()


def test_a_parked_vehicle_is_due_by_months_alone(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "vehicles": vans("104"),
        "readings": readings(["104"], rate=0.0),
        "history": done("104", service="new thermostat", on="2026-01-10", km=90000),
    }
    outlook = ahead(tables)
    clock = outlook.projection.clocks
    assert not (clock["governs"] == "distance").any()
    assert all_due_are_somewhere(outlook)


def test_a_vehicle_without_layout_still_gets_its_baseline_and_tests(ahead: Ahead) -> None:
    lines = ["unit,depot,first_used_on", "104,NORTH,2018-05-01"]
    outlook = ahead({"depots": SHOP, "vehicles": lines, "readings": readings(["104"])})
    assert all_due_are_somewhere(outlook)
    assert not outlook.projection.due.empty


def test_a_depot_whose_shop_is_unknown_is_named(ahead: Ahead) -> None:
    tables = {
        "depots": [*SHOP, "MILL,,"],
        "vehicles": [VEHICLES, f"104,MILL,{VAN},2018-05-01,2018-05-01,km"],
        "readings": readings(["104"]),
        "history": done("104"),
    }
    outlook = ahead(tables)
    assert outlook.plan.visits.empty
    assert outlook.plan.not_placed["reason"].str.contains("no shop is known for MILL").any()
    assert all_due_are_somewhere(outlook)


def test_with_two_hours_a_week_hours_are_named_as_what_is_short(ahead: Ahead) -> None:
    units = [str(100 + at) for at in range(40)]
    tables = {
        "depots": ["depot,mechanics,hours_a_day,cooling_hours_a_week", "NORTH,1,8,2"],
        "vehicles": vans(*units),
        "readings": readings(units),
        "history": done(*units),
    }
    outlook = ahead(tables)
    weeks = outlook.plan.weeks
    assert (weeks["hours_planned"] <= weeks["hours_available"] + 0.01).all()
    assert (weeks["hours_available"] <= 2).all()
    reasons = outlook.plan.not_placed["reason"]
    assert reasons.str.contains("hours at NORTH").any()
    assert all_due_are_somewhere(outlook)


def test_a_pool_of_which_none_may_be_out_is_named(ahead: Ahead) -> None:
    lines = [f"{VEHICLES},pool", f"104,NORTH,{VAN},2018-05-01,2018-05-01,km,CITY"]
    tables = {
        "depots": SHOP,
        "pools": ["pool,most_out", "CITY,0"],
        "vehicles": lines,
        "readings": readings(["104"]),
        "history": done("104"),
    }
    outlook = ahead(tables)
    assert outlook.plan.visits.empty
    assert outlook.plan.not_placed["reason"].str.contains("pool CITY").any()
    assert all_due_are_somewhere(outlook)


def test_a_shop_closed_all_the_time_is_named(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "away": ["depot,start,stop,why", "NORTH,2026-11-01,2027-12-31,rebuilding"],
        "vehicles": vans("104"),
        "readings": readings(["104"]),
        "history": done("104"),
    }
    outlook = ahead(tables)
    assert outlook.plan.visits.empty
    assert outlook.plan.rounds.empty
    reasons = " ".join(outlook.plan.not_placed["reason"])
    assert "the shop at NORTH is closed" in reasons
    assert all_due_are_somewhere(outlook)


def test_a_vehicle_away_all_the_time_is_named(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "away": ["unit,start,stop,why", "104,2026-11-01,2027-12-31,rented out"],
        "vehicles": vans("104"),
        "readings": readings(["104"]),
        "history": done("104"),
    }
    outlook = ahead(tables)
    assert outlook.plan.visits.empty
    assert outlook.plan.not_placed["reason"].str.contains("the vehicle is away").any()
    assert all_due_are_somewhere(outlook)


def test_a_limit_of_ones_own_moves_the_due_day(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "vehicles": vans("104"),
        "readings": readings(["104"]),
        "history": done("104", service="new thermostat", on="2026-10-08", km=93000),
        "limits": ["unit,service,months", "104,new thermostat,3"],
    }
    outlook = ahead(tables)
    due = outlook.projection.due
    row = due[(due["service"] == "new thermostat") & (due["occurrence"] == 1)]
    assert list(row["q50"].map(iso)) == ["2027-01-08"]
    clock = outlook.projection.clocks.set_index("service").loc["new thermostat"]
    assert str(clock["limit_from"]).startswith("Your limit for unit 104")


def test_severe_duty_is_never_later_than_normal_duty(ahead: Ahead) -> None:
    lines = [
        f"{VEHICLES},duty",
        f"104,NORTH,{VAN},2018-05-01,2018-05-01,km,normal",
        f"105,NORTH,{VAN},2018-05-01,2018-05-01,km,severe",
    ]
    history = done("104", "105", service="new drive belt", on="2026-06-18", km=90000)
    tables = {"depots": SHOP, "vehicles": lines, "history": history}
    outlook = ahead({**tables, "readings": readings(["104", "105"])})
    first = outlook.projection.due
    first = first[(first["service"] == "new drive belt") & (first["occurrence"] == 1)]
    day = first.set_index("vehicle")["q50"]
    assert day["105"] < day["104"]


def long_work(hours_a_day: float) -> Tables:
    services = ["new pump", "new cooling pack", "new thermostat", "coolant change", "new fan drive"]
    history = ["unit,on,service,odometer"]
    history += [f"104,2010-06-0{at + 1},{one},100" for at, one in enumerate(services)]
    return {
        "depots": ["depot,mechanics,hours_a_day", f"NORTH,1,{hours_a_day}"],
        "vehicles": vans("104", layout=HEAVY),
        "readings": readings(["104"]),
        "history": history,
    }


def test_a_visit_longer_than_a_day_runs_over_several_days(ahead: Ahead) -> None:
    outlook = ahead(long_work(2))
    visits = outlook.plan.visits
    longest = visits.sort_values("minutes").iloc[-1]
    assert longest["minutes"] > 120
    assert longest["stop_on"] - longest["start_on"] >= 2
    assert all_due_are_somewhere(outlook)


def test_a_visit_longer_than_a_weeks_hours_says_so(ahead: Ahead) -> None:
    tables = dict(long_work(8))
    tables["depots"] = ["depot,mechanics,hours_a_day,cooling_hours_a_week", "NORTH,1,8,1"]
    outlook = ahead(tables)
    reasons = outlook.plan.not_placed["reason"]
    assert reasons.str.contains("a week at NORTH has").any(), list(reasons)
    assert all_due_are_somewhere(outlook)


def test_with_every_service_late_all_of_them_are_placed(ahead: Ahead) -> None:
    services = [
        "coolant change", "new upper hose", "new lower hose", "new heater hoses",
        "new bypass hose", "new pump", "new thermostat", "new cap", "new drive belt",
        "new tensioner", "new idlers", "new fan drive", "new cooling pack", "new expansion tank",
        "new coolant filter", "coolant test", "belt look-over", "hose look-over",
        "pressure test", "pack cleaning", "additive dose",
    ]  # fmt: skip
    history = ["unit,on,service,odometer"]
    history += [f"104,{iso(14000 + at)},{one},{100 + at}" for at, one in enumerate(services)]
    tables = {
        "depots": SHOP,
        "vehicles": [VEHICLES, f"104,NORTH,{HEAVY},2008-01-01,2008-01-01,km"],
        "readings": readings(["104"]),
        "history": history,
    }
    outlook = ahead(tables)
    assert all_due_are_somewhere(outlook)
    late = outlook.projection.due
    late = late[(late["q50"] < AS_OF) & (late["occurrence"] == 1)]
    assert len(late) >= 12
    start = outlook.plan.visit_services.merge(outlook.plan.visits[["visit", "start_on"]])
    placed = start[start["service"].isin(late["service"]) & (start["occurrence"] == 1)]
    assert not placed.empty
    assert (placed["start_on"] < AS_OF + 42).all()


def test_a_horizon_of_one_week_plans_that_week(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "vehicles": vans("104"),
        "readings": readings(["104"]),
        "history": done("104"),
    }
    outlook = ahead(tables, Settings(horizon_weeks=1))
    assert set(outlook.plan.weeks["week"]) == {"2026-W46"}
    assert (outlook.plan.visits["start_on"] < monday("2026-W47")).all()


def test_a_vehicle_whose_works_cannot_be_read_is_held_and_the_others_planned(
    ahead: Ahead,
) -> None:
    lines = [f"{VEHICLES},works"]
    lines += [f"104,NORTH,{VAN},2018-05-01,2018-05-01,km,whenever it rains"]
    lines += [f"105,NORTH,{VAN},2018-05-01,2018-05-01,km,Mon-Fri 05-19"]
    tables = {"depots": SHOP, "vehicles": lines, "history": done("105")}
    outlook = ahead(tables, faults=1)
    assert set(outlook.plan.visits["unit"]) == {"105"}
    assert all_due_are_somewhere(outlook)


def test_a_campaign_is_planned_before_its_last_day(ahead: Ahead) -> None:
    tables = {
        "depots": SHOP,
        "vehicles": vans("104"),
        "readings": readings(["104"]),
        "history": done("104", service="new thermostat", on="2026-10-08", km=93000),
        "campaigns": ["campaign,unit,service,by", "TH-1,104,new thermostat,2026-12-11"],
    }
    outlook = ahead(tables)
    due = outlook.projection.due
    row = due[(due["service"] == "new thermostat") & (due["occurrence"] == 1)].iloc[0]
    assert row["q50"] <= number(date(2026, 12, 11))
    assert row["p_day"] == 1.0
    services = outlook.plan.visit_services.merge(outlook.plan.visits[["visit", "start_on"]])
    mine = services[(services["service"] == "new thermostat") & (services["occurrence"] == 1)]
    assert list(mine["start_on"] <= number(date(2026, 12, 11))) == [True]
