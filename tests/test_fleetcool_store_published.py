"""What an issue leaves: written once with the ledger's end, read by later days."""

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import sqlalchemy as sa
from alembic import command

from fleetcool.errors import HeldByAnotherError
from fleetcool.model import computed, plan_frames
from fleetcool.model.days import iso, iso_week, number
from fleetcool.model.frames import empty
from fleetcool.model.published import Published
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AUDIT_COLUMNS
from fleetcool.store.backup import backup, restore
from fleetcool.store.engine import Store, close, open_store, reading, writing
from fleetcool.store.ledger import Claim, claim, ledger_lines
from fleetcool.store.migrating import _config
from fleetcool.store.published import NEWEST_INTAKE, SINCE, publish, published_days, read_earlier
from fleetcool.store.schema import INTAKES, PUBLISHED, PUBLISHED_PARTS
from fleetcool.store.standing import read_standing

DAY = number(pd.Timestamp("2026-11-09").date())
NOW = 1_794_200_000
TEXTS = {"visit", "vehicle", "unit", "yard", "depot", "state", "bay", "rides_along", "why"}


def visits(*numbers: str, start_on: float) -> pd.DataFrame:
    row = {column: "x" if column in TEXTS else 1.5 for column in plan_frames.VISIT_COLUMNS} | {
        "start_on": start_on,
        "fixed": True,
        "later_cost": np.nan,
    }
    return pd.DataFrame([row | {"visit": name} for name in numbers])


def services(*numbers: str) -> pd.DataFrame:
    texts = {"vehicle", "service", "governs", "why"}
    row = {c: "x" if c in texts else 2.0 for c in plan_frames.VISIT_SERVICE_COLUMNS}
    return pd.DataFrame([row | {"visit": name} for name in numbers])


def issue(as_of: int, *numbers: str, edition: int = 1) -> Published:
    return Published(
        as_of=as_of,
        week="2026-W47",
        edition=edition,
        revision=3,
        visits=visits(*numbers, start_on=as_of + 7.0),
        visit_services=services(*numbers),
        due=empty(computed.DUE_COLUMNS),
        needs=pd.DataFrame(
            {"part": ["P"], "depot": "N", "week": "2026-W47", "expected": 1.0, "p90": 2.0}
        ),
        constants=pd.DataFrame({"name": ["k"], "value": ["1"]}),
        files=pd.DataFrame({"name": ["summary.json"], "sha256": ["aa"]}),
    )


def claimed(store: Store, period: str) -> Claim:
    taken = claim(store, "week", period, owner="us", now=NOW, lease_s=600, again=True)
    assert taken is not None
    return taken


def test_each_visit_is_read_as_last_published_before_the_day(store: Store) -> None:
    publish(store, issue(DAY - 7, "1-26W46", "2-26W46"), claim=claimed(store, "a"), now=NOW)
    publish(store, issue(DAY, "2-26W46", "3-26W47"), claim=claimed(store, "b"), now=NOW)

    standing = read_standing(store, DAY + 7)
    on_the_day = read_standing(store, DAY)

    last = standing.published_visits
    assert last["visit"].tolist() == ["1-26W46", "2-26W46", "3-26W47"]
    assert last["as_of"].tolist() == [DAY - 7, DAY, DAY]
    assert last["in_last"].tolist() == [False, True, True]
    assert last["start_on"].tolist() == [DAY, DAY + 7, DAY + 7]
    assert last["fixed"].tolist() == [True, True, True]
    assert last["later_cost"].isna().all()
    assert standing.published_services["as_of"].tolist() == [DAY - 7, DAY, DAY]
    assert on_the_day.published_visits["visit"].tolist() == ["1-26W46", "2-26W46"]
    assert on_the_day.published_visits["in_last"].tolist() == [True, True]


def test_a_later_edition_of_the_same_day_replaces_the_earlier_one(store: Store) -> None:
    publish(store, issue(DAY, "1-26W47", "2-26W47"), claim=claimed(store, "a"), now=NOW)
    publish(store, issue(DAY, "2-26W47", edition=2), claim=claimed(store, "a"), now=NOW)

    assert read_standing(store, DAY + 1).published_visits["visit"].tolist() == ["2-26W47"]
    assert published_days(store)["edition"].tolist() == [2]


def test_an_earlier_day_publishes_nothing_but_is_finished(store: Store) -> None:
    publish(store, issue(DAY, "1-26W47"), claim=claimed(store, "a"), now=NOW)
    wrote = publish(store, issue(DAY - 7, "9-26W46"), claim=claimed(store, "b"), now=NOW)

    lines = ledger_lines(store)
    assert not wrote
    assert read_standing(store, DAY + 1).published_visits["visit"].tolist() == ["1-26W47"]
    assert lines["state"].tolist() == ["done", "done"]
    assert "books only" in lines["outcome"].iloc[1]


def test_nothing_is_published_under_a_claim_that_was_taken_over(store: Store) -> None:
    lost = claimed(store, "a")
    claim(store, "week", "a", owner="them", now=NOW + 601, lease_s=600)

    with pytest.raises(HeldByAnotherError, match="them"):
        publish(store, issue(DAY, "1-26W47"), claim=lost, now=NOW + 700)
    assert published_days(store).empty
    assert ledger_lines(store)["state"].tolist() == ["running"]


def test_all_parts_of_an_issue_are_written(store: Store) -> None:
    publish(store, issue(DAY, "1-26W47"), claim=claimed(store, "a"), now=NOW)

    with reading(store) as connection:
        n_rows = {
            name: len(connection.execute(table.select()).all())
            for name, table in PUBLISHED_PARTS.items()
        }
    assert n_rows == {
        "visits": 1,
        "visit_services": 1,
        "due": 0,
        "needs": 1,
        "ahead": 0,
        "audit": 0,
        "constants": 1,
        "files": 1,
    }


def told(as_of: int, **parts: pd.DataFrame) -> Published:
    """Return an issue of one visit that also says what meters will run and how good that was."""
    ahead = pd.DataFrame([dict.fromkeys(AHEAD_COLUMNS, 1.5) | {"usage_class": "light"}])
    of_two = pd.concat([ahead.assign(vehicle=name, meter="odometer") for name in ("2", "1")])
    audited = pd.DataFrame([dict.fromkeys(AUDIT_COLUMNS, 0.5) | {"by": "all", "name": "all"}])
    known = {NEWEST_INTAKE: str(as_of - DAY + 500), f"{SINCE}00 N": "a sentence", "kappa": "1.1"}
    constants = pd.DataFrame(list(known.items()), columns=["name", "value"])
    base: dict[str, pd.DataFrame] = {
        "ahead": of_two[list(AHEAD_COLUMNS)],
        "audit": audited.assign(weeks=[4.0], warns=[True], inside_low=[np.nan]),
        "constants": constants,
        "due": dues(as_of, as_of + 30.0),
    }
    return dataclasses.replace(issue(as_of, f"1-{as_of}"), **(base | parts))


def dues(as_of: int, *q50: float) -> pd.DataFrame:
    texts = {"vehicle": "1", "service": "new cap"}
    rows = [
        dict.fromkeys(computed.DUE_COLUMNS, 0.25)
        | texts
        | {"occurrence": at, "q50": one, "open_clock": at == 1, "q99": np.nan, "q01": as_of}
        for at, one in enumerate(q50, start=1)
    ]
    return pd.DataFrame(rows, columns=list(computed.DUE_COLUMNS))


def needs(*weeks: str) -> pd.DataFrame:
    return pd.DataFrame(
        {"part": "P", "depot": "N", "week": list(weeks), "expected": 1.0, "p90": 2.0}
    )


def tell(store: Store, *issues: Published) -> None:
    for one in issues:
        publish(store, one, claim=claimed(store, str(one.as_of)), now=NOW)


def test_before_any_issue_nothing_was_said(store: Store) -> None:
    tell(store, told(DAY))

    on_the_day = read_standing(store, DAY).earlier
    assert np.isnan(on_the_day.last_on)
    assert on_the_day.newest_intake == -1
    assert on_the_day.ahead.columns.tolist() == [*AHEAD_COLUMNS, "as_of"]
    assert all(len(getattr(on_the_day, one.name)) == 0 for one in frames_of(on_the_day))
    counted = read_standing(store, DAY, issued_today=True).earlier
    assert counted.last_on == DAY


def earlier_of(store: Store, as_of: int) -> Earlier:
    with reading(store) as connection:
        return read_earlier(connection, as_of)


def frames_of(earlier: Earlier) -> list["dataclasses.Field[object]"]:
    fields = dataclasses.fields(earlier)
    return [one for one in fields if isinstance(getattr(earlier, one.name), pd.DataFrame)]


def test_what_was_said_comes_back_as_it_was_said(store: Store) -> None:
    tell(store, told(DAY - 7), told(DAY))

    earlier = earlier_of(store, DAY + 3)

    assert (earlier.last_on, earlier.newest_intake) == (float(DAY), 500)
    pd.testing.assert_frame_equal(
        earlier.due,
        told(DAY).due,
        check_dtype=False,
    )
    assert earlier.due["open_clock"].tolist() == [True]
    assert str(earlier.due["open_clock"].dtype) == "bool"
    ahead = earlier.ahead
    assert ahead["as_of"].tolist() == [DAY, DAY], "a week ago is no week by which anything is told"
    assert ahead["vehicle"].tolist() == ["1", "2"]
    assert ahead.columns.tolist() == [*AHEAD_COLUMNS, "as_of"]
    assert earlier.audit["as_of"].tolist() == [DAY - 7, DAY]
    assert earlier.audit["warns"].tolist() == [True, True]
    assert earlier.audit["inside_low"].isna().all()
    assert earlier.constants["name"].tolist() == ["kappa", NEWEST_INTAKE] * 2
    assert earlier.visits[["visit", "as_of", "start_on"]].to_numpy().tolist() == [
        [f"1-{DAY - 7}", DAY - 7.0, DAY],
        [f"1-{DAY}", float(DAY), DAY + 7.0],
    ]


@pytest.mark.parametrize(
    ("ages", "read"),
    [
        # weekly: the newest, and for 4, 8 and 26 weeks those so old, one and four weeks older
        (range(7, 240, 7), [7, 28, 35, 56, 63, 84, 182, 189, 210]),
        ([1, 27], [1]),  # nothing is four weeks old yet
        ([5, 33, 40, 59], [5, 33, 40, 59]),
        ([3, 88, 181, 214], [3]),  # gaps: none whose day passed in the last month
        ([3, 87, 213], [3, 87, 213]),
    ],
)
def test_issues_by_which_something_can_be_judged_are_read(
    store: Store, ages: list[int], read: list[int]
) -> None:
    light = {"due": empty(computed.DUE_COLUMNS), "needs": needs()}
    tell(store, *(told(DAY - age, **light) for age in sorted(ages, reverse=True)))

    ahead = earlier_of(store, DAY).ahead

    assert sorted({int(DAY - on) for on in ahead["as_of"]}) == read


def test_of_due_days_what_comes_next_is_read_and_of_the_audit_what_is_said_of_all(
    store: Store,
) -> None:
    both = told(DAY).audit
    audited = pd.concat([both, both.assign(by="history", name="under 45 days")])
    tell(store, told(DAY, due=dues(DAY, DAY + 30.0, DAY + 90.0), audit=audited))

    earlier = earlier_of(store, DAY + 3)

    assert earlier.due["q50"].tolist() == [DAY + 30.0]
    assert earlier.audit["by"].tolist() == ["all"]
    assert len(rows_of(store, "audit", DAY)) == len(rows_of(store, "due", DAY)) == 2


def test_visits_are_read_as_each_issue_said_them_but_not_after_430_days(store: Store) -> None:
    tell(store, told(DAY - 431), told(DAY - 430), told(DAY - 7))

    visits = earlier_of(store, DAY).visits

    assert visits["as_of"].tolist() == [DAY - 430, DAY - 7]
    assert visits.columns.tolist() == ["visit", "as_of", "start_on", "stop_on", "vehicle"]


def test_of_issues_older_than_thirteen_weeks_only_what_is_audited_is_kept(store: Store) -> None:
    """Of due days and needs those 4, 8, 13 and 26 weeks after the issue; of meters 213 days."""
    old = DAY - 92
    offsets = (0, 27, 28, 34, 35, 56, 63, 91, 97.5, 98, 182, 188, 189)
    weeks = [iso_week(old + 7 * ahead) for ahead in (0, 4, 5, 8, 13, 26, 27)]
    full = {"due": dues(old, *(old + one for one in offsets), np.nan), "needs": needs(*weeks)}
    young = DAY - 91
    kept = {
        "due": dues(young, young + 1.0, np.nan),
        "needs": needs(iso_week(young + 7), iso_week(young + 28)),
    }
    tell(store, told(DAY - 214), told(DAY - 213), told(old, **full), told(young, **kept))
    whole = rows_of(store, "due", old)
    tell(store, told(DAY))

    assert len(whole) == 14, "nothing goes before its time"
    assert (rows_of(store, "due", old)["q50"] - old).tolist() == [28, 34, 56, 91, 97.5, 182, 188]
    assert rows_of(store, "needs", old)["week"].tolist() == [weeks[at] for at in (1, 3, 4, 5)]
    assert len(rows_of(store, "due", young)) == 2
    assert len(rows_of(store, "needs", young)) == 2
    left = {age: len(rows_of(store, "ahead", DAY - age)) for age in (214, 213, 92, 0)}
    assert left == {214: 0, 213: 2, 92: 2, 0: 2}
    audited = earlier_of(store, DAY + 1).audit
    assert len(audited) == 5, "how good the issues were is kept for good"


def rows_of(store: Store, part: str, as_of: int) -> pd.DataFrame:
    table = PUBLISHED_PARTS[part]
    with reading(store) as connection:
        rows = connection.execute(table.select().where(table.c.as_of == iso(as_of))).mappings()
        found = pd.DataFrame(list(rows.all()), columns=[one.name for one in table.c])
    order = {"due": "occurrence", "needs": "week"}
    return found.sort_values(order[part], ignore_index=True) if part in order else found


def test_what_was_published_again_the_same_day_leaves_the_same_rows(store: Store) -> None:
    tell(store, told(DAY - 7), told(DAY))
    before = {name: rows_of(store, name, DAY) for name in PUBLISHED_PARTS}
    publish(store, told(DAY), claim=claimed(store, str(DAY)), now=NOW)

    for name, rows in before.items():
        pd.testing.assert_frame_equal(rows_of(store, name, DAY), rows)


def test_what_issues_said_goes_through_a_backup_into_the_other_kind_of_store(
    store: Store, store_kind: str, fresh_url: Callable[[str], str], tmp_path: Path
) -> None:
    tell(store, told(DAY - 35), told(DAY))
    backup(store, tmp_path / "b.db")
    url = fresh_url("postgresql" if store_kind == "sqlite" else "sqlite")
    restore(tmp_path / "b.db", url)

    again = open_store(url)
    one, other = (earlier_of(at, DAY + 1) for at in (store, again))
    for field in frames_of(one):
        assert len(getattr(one, field.name))
        pd.testing.assert_frame_equal(getattr(one, field.name), getattr(other, field.name))
    close(again)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_a_store_made_before_issues_were_judged_keeps_all_it_had(
    fresh_url: Callable[[str], str], kind: str
) -> None:
    """A store at schema 0002 with an issue in it is brought to the newest one."""
    url = fresh_url(kind)
    engine = sa.create_engine(url)
    config = _config()
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0002")
        made = set(sa.inspect(connection).get_table_names())
        fact = {"as_of": iso(DAY), "week": "2026-W47", "edition": 1, "revision": 3}
        connection.execute(PUBLISHED.insert().values(**fact, published_at=NOW))
        due = {"vehicle": "1", "service": "new cap", "occurrence": 1, "q50": DAY + 9.5}
        connection.execute(
            PUBLISHED_PARTS["due"].insert().values(as_of=iso(DAY), open_clock=0, **due)
        )
        taken = {"number": 7, "taken_at": NOW, "on": iso(DAY), "by": "ab", "kind": "take"}
        connection.execute(INTAKES.insert().values(**taken))
    engine.dispose()

    store = open_store(url)
    standing = read_standing(store, DAY + 7)

    assert {"published_ahead", "published_audit", "rows_meter_decisions"}.isdisjoint(made)
    earlier = standing.earlier
    assert (earlier.last_on, earlier.newest_intake, standing.newest_intake) == (DAY, -1, 7)
    assert earlier.due["q50"].tolist() == [DAY + 9.5]
    assert earlier.ahead.empty
    assert earlier.audit.empty
    tell(store, told(DAY + 7))
    assert len(earlier_of(store, DAY + 8).ahead) == 2
    with writing(store) as connection:
        assert {"published_ahead", "published_audit"} <= set(
            sa.inspect(connection).get_table_names()
        )
    close(store)
