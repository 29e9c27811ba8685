"""What issues leave behind comes back as months: promises kept, unknown clocks falling."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.model.days import iso, monday, number
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.projection.project import project
from fleetcool.store.engine import Store, close, open_store
from fleetcool.visits.months import NEVER_RECORDED
from jobs.week import Order, make_issue

AS_OF = number(date(2026, 11, 5))
LATER = number(date(2026, 12, 3))
NOON = 1_794_000_000


@pytest.fixture(scope="module")
def fleet(
    twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Store, Path]]:
    folder = tmp_path_factory.mktemp("months")
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    take(store, [twelve_vehicles], settings=Settings(), moment=at(AS_OF))
    yield store, folder
    close(store)


def at(day: int) -> Moment:
    return Moment(day, day, NOON + (day - AS_OF) * 86400, "tester")


def issue(store: Store, folder: Path, week: str, as_of: int) -> Outlook:
    order = Order(week, as_of, folder / "out", "tester", lambda: NOON)
    made = make_issue(store, Settings(), order)
    assert made is not None
    return made.outlook


def test_a_month_later_the_books_say_which_promises_were_kept(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    first = issue(store, folder, "2026-W46", AS_OF)
    assert first.back.months.set_index("month")["promised"].isna().all()
    second = issue(store, folder, "2026-W47", AS_OF + 7)
    sunday = monday("2026-W46") + 6
    kept = first.plan.visits[first.plan.visits["start_on"] <= sunday].iloc[0]
    late = second.plan.visits[second.plan.visits["start_on"] > sunday].iloc[0]
    assert late["start_on"] <= sunday + 7
    services = pd.concat([first.plan.visit_services, second.plan.visit_services])
    lines = ["unit,on,service,visit"]
    for visit, on in ((kept, sunday), (late, float(late["stop_on"]) - 1 + 7)):
        done = services.loc[services["visit"] == visit["visit"], "service"]
        lines += [f"{visit['unit']},{iso(on)},{one},{visit['visit']}" for one in sorted(set(done))]
    (folder / "history.csv").write_text("\n".join(lines) + "\n")
    take(store, [folder / "history.csv"], settings=Settings(), moment=at(LATER))
    again = look_ahead(store, settings=Settings(), as_of=LATER, in_full=True)
    november = again.back.months.set_index("month").loc["2026-11"]
    assert november[["visits_done", "promised", "on_time"]].tolist() == [2.0, 2.0, 1.0]
    assert november["days_late"] == 7.0
    unknown = [int(one.projection.clocks["never_recorded"].sum()) for one in (first, second)]
    said = again.standing.earlier.constants
    assert said.loc[said["name"] == NEVER_RECORDED, "value"].tolist() == [
        str(one) for one in unknown
    ]
    assert november["never_recorded"] == unknown[-1]
    now = float(again.projection.clocks["never_recorded"].sum())
    assert again.back.months["never_recorded"].tolist()[-1] == now < unknown[0]

    looking_further_changes_no_due_day(again)


def looking_further_changes_no_due_day(ahead: Outlook) -> None:
    """The budget wants later occurrences; the plan and what is published do without them."""
    until = monday(ahead.week) + 7 * Settings().horizon_weeks
    near = project(ahead.standing, ahead.knowledge, Settings(), until=until)
    pd.testing.assert_frame_equal(ahead.projection.due, near.due)
    pd.testing.assert_frame_equal(ahead.projection.moved, near.moved)
    assert len(ahead.back.budget) == 16
