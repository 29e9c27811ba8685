"""What an issue leaves: written once with the ledger's end, read by later days."""

import numpy as np
import pandas as pd
import pytest

from fleetcool.errors import HeldByAnotherError
from fleetcool.model import computed
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.published import Published
from fleetcool.store.engine import Store, reading
from fleetcool.store.ledger import Claim, claim, ledger_lines
from fleetcool.store.published import publish, published_days
from fleetcool.store.schema import PUBLISHED_PARTS
from fleetcool.store.standing import read_standing

DAY = number(pd.Timestamp("2026-11-09").date())
NOW = 1_794_200_000
TEXTS = {"visit", "vehicle", "unit", "yard", "depot", "state", "bay", "rides_along", "why"}


def visits(*numbers: str, start_on: float) -> pd.DataFrame:
    row = {column: "x" if column in TEXTS else 1.5 for column in computed.VISIT_COLUMNS} | {
        "start_on": start_on,
        "fixed": True,
        "later_cost": np.nan,
    }
    return pd.DataFrame([row | {"visit": name} for name in numbers])


def services(*numbers: str) -> pd.DataFrame:
    texts = {"vehicle", "service", "governs", "why"}
    row = {c: "x" if c in texts else 2.0 for c in computed.VISIT_SERVICE_COLUMNS}
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
