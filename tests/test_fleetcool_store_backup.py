"""Backups: one SQLite file from either kind of store, and back into either kind."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fleetcool.errors import FleetcoolError, NotThereError, StoreError
from fleetcool.model.frames import empty
from fleetcool.model.taken import Judged
from fleetcool.store.backup import backup, is_empty, restore
from fleetcool.store.dump import dump_standing
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.holidays import keep_holidays, read_holidays
from fleetcool.store.intakes import keep_intake, list_intakes, revision, withdraw
from fleetcool.store.ledger import ledger_lines, mark_skipped

DAY, NOW = 20_766, 1_794_200_000


def fill(store: Store, n_vehicles: int, first: int = 1) -> int:
    units = [str(unit) for unit in range(first, first + n_vehicles)]
    vehicles = pd.DataFrame({"key": units, "unit": units, "depot": "NORTH", "cap_kpa": 103.4})
    readings = pd.DataFrame(
        {
            "key": units,
            "unit": units,
            "on": "2026-11-01",
            "odometer": np.arange(n_vehicles) * 1.609344,
        }
    )
    judged = Judged(
        files={f"{first}.csv": f"{first}"},
        brought={"vehicles": n_vehicles, "readings": n_vehicles},
        rows={"vehicles": vehicles, "readings": readings},
        known={},
        held=empty(("table",)),
        settled=(),
        counts=empty(("table",)),
    )
    return keep_intake(store, judged, on=DAY, by="ab", kind="take", now=NOW)


def filled(store: Store) -> list[str]:
    fill(store, 3)
    withdraw(store, fill(store, 2, first=11), by="ab", now=NOW)
    mark_skipped(store, "week", "2026-W40", reason="over", now=NOW)
    keep_holidays(store, pd.DataFrame({"region": ["CA-ON"], "on": ["2026-12-25"], "name": ["X"]}))
    return dump_standing(store, DAY)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_a_backup_of_one_kind_restores_into_the_other(
    store: Store, fresh_url: Callable[[str], str], tmp_path: Path, kind: str
) -> None:
    lines = filled(store)
    path, url = tmp_path / "backup.db", fresh_url(kind)

    backup(store, path)
    restore(path, url)

    again = open_store(url)
    assert len(lines) == 6
    assert dump_standing(again, DAY) == lines
    assert revision(again) == revision(store) == 3
    pd.testing.assert_frame_equal(list_intakes(again), list_intakes(store))
    pd.testing.assert_frame_equal(ledger_lines(again), ledger_lines(store))
    pd.testing.assert_frame_equal(read_holidays(again), read_holidays(store))
    fill(again, 1, first=20)  # numbers of new rows go on after those restored
    assert len(dump_standing(again, DAY)) == 8
    close(again)


def test_a_backup_is_one_file_and_never_overwrites(store: Store, tmp_path: Path) -> None:
    filled(store)
    folder = tmp_path / "backups"
    folder.mkdir()
    backup(store, folder / "b.db")

    assert [path.name for path in folder.iterdir()] == ["b.db"]
    with pytest.raises(FleetcoolError, match="is there already"):
        backup(store, folder / "b.db")


def test_a_store_that_is_not_empty_is_not_restored_into(
    store: Store, store_url: str, tmp_path: Path
) -> None:
    assert is_empty(store)
    lines = filled(store)
    backup(store, tmp_path / "b.db")

    with pytest.raises(FleetcoolError, match="not empty"):
        restore(tmp_path / "b.db", store_url)
    assert dump_standing(store, DAY) == lines


def test_what_is_no_backup_is_named(tmp_path: Path) -> None:
    odd = tmp_path / "odd.db"
    odd.write_bytes(b"no database " * 100)

    with pytest.raises(NotThereError, match="no backup"):
        restore(tmp_path / "none.db", f"sqlite:///{tmp_path}/new.db")
    with pytest.raises(StoreError, match="no whole backup"):
        restore(odd, f"sqlite:///{tmp_path}/new.db")
