"""The ledger and its locks: one holder a period, free as soon as the holder is dead."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcool.errors import HeldByAnotherError
from fleetcool.store.engine import Store
from fleetcool.store.ledger import (
    Claim,
    claim,
    fail,
    finish,
    ledger_lines,
    mark_skipped,
    renew,
    still_held,
)
from fleetcool.store.locks import hold, lock_file

NOW = 1_794_200_000
WEEK = "2026-W47"
HOLDER = """
import sys
from fleetcool.store.engine import open_store
from fleetcool.store.ledger import claim
from fleetcool.store.locks import hold
store = open_store(sys.argv[1])
with hold(store, "week", "2026-W47"):
    claim(store, "week", "2026-W47", owner="the other", now=1794200000, lease_s=3600)
    print("held", flush=True)
    sys.stdin.read()
"""


def take(store: Store, owner: str, now: int = NOW, *, again: bool = False) -> Claim | None:
    return claim(store, "week", WEEK, owner=owner, now=now, lease_s=600, again=again)


def state(store: Store) -> list[tuple[str, int, str]]:
    lines = ledger_lines(store)
    return list(zip(lines["state"], lines["attempt"], lines["outcome"].fillna(""), strict=True))


def test_only_one_can_claim_a_period_while_its_lease_runs(store: Store) -> None:
    first = take(store, "one")
    assert first is not None
    assert take(store, "two") is None
    assert take(store, "two", NOW + 599, again=True) is None
    renewed = renew(store, first, now=NOW + 500, lease_s=600)
    assert take(store, "two", NOW + 700) is None
    second = take(store, "two", NOW + 1101)
    assert second is not None
    assert (second.attempt, renewed.attempt) == (2, 1)
    assert (still_held(store, renewed), still_held(store, second)) == (False, True)
    with pytest.raises(HeldByAnotherError, match="week 2026-W47 is being made by two since 2026-"):
        finish(store, renewed, outcome="late", now=NOW + 1200)
    with pytest.raises(HeldByAnotherError):
        renew(store, renewed, now=NOW + 1200, lease_s=600)
    finish(store, second, outcome="edition 1", now=NOW + 1200)
    assert state(store) == [("done", 2, "edition 1")]


def test_a_done_period_is_claimed_again_only_when_asked_and_a_failed_one_always(
    store: Store,
) -> None:
    first = take(store, "one")
    assert first is not None
    fail(store, first, reason="no power", now=NOW)
    assert state(store) == [("failed", 1, "no power")]
    second = take(store, "one")
    assert second is not None
    finish(store, second, outcome="edition 1", now=NOW)
    assert take(store, "two") is None
    third = take(store, "two", again=True)
    assert third is not None
    finish(store, third, outcome="edition 2", now=NOW)
    assert state(store) == [("done", 3, "edition 2")]


def test_a_period_that_is_over_is_marked_skipped_once(store: Store) -> None:
    assert mark_skipped(store, "week", WEEK, reason="the week is over", now=NOW)
    assert not mark_skipped(store, "week", WEEK, reason="again", now=NOW)
    assert take(store, "one") is None
    assert state(store) == [("skipped", 0, "the week is over")]


def test_a_run_that_died_in_a_period_that_is_over_is_marked_skipped_once_its_lease_is_over(
    store: Store,
) -> None:
    assert take(store, "dead") is not None
    assert not mark_skipped(store, "week", WEEK, reason="over", now=NOW + 599)
    assert mark_skipped(store, "week", WEEK, reason="over", now=NOW + 600)
    assert state(store) == [("skipped", 1, "over")]


def test_the_holder_of_the_lock_takes_over_a_claim_whose_lease_still_runs(store: Store) -> None:
    assert take(store, "dead") is not None
    with hold(store, "week", WEEK):
        taken = take(store, "next")
        with pytest.raises(HeldByAnotherError, match="this process"), hold(store, "week", WEEK):
            pass
        with hold(store, "week", "2026-W48"):
            assert taken is not None
    assert take(store, "third") is None


def test_a_lock_is_free_at_once_when_its_holder_is_killed(store: Store, store_url: str) -> None:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, store_url],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parent.parent,
    )
    assert holder.stdout is not None
    assert holder.stdin is not None
    try:
        assert holder.stdout.readline() == "held\n"
        with (
            pytest.raises(HeldByAnotherError, match="made by the other since 2026-11-09"),
            hold(store, "week", WEEK),
        ):
            pass
        assert take(store, "next") is None
    finally:
        os.kill(holder.pid, signal.SIGKILL)
        holder.wait()
        holder.stdin.close()
        holder.stdout.close()

    with hold(store, "week", WEEK):
        taken = take(store, "next")
    assert taken is not None
    assert taken.attempt == 2


def test_a_lock_that_was_let_go_leaves_no_file_and_can_be_had_again(store: Store) -> None:
    with pytest.raises(KeyError), hold(store, "inbox", "../odd name"):
        raise KeyError
    with hold(store, "inbox", "../odd name"):
        pass
    if store.path is not None:
        file = lock_file(store.path, "inbox", "../odd name")
        assert not file.exists()
        assert file.parent == store.path.parent
