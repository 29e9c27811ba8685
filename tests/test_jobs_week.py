"""A week's issue: the same bytes again, editions side by side, one row in the ledger."""

import hashlib
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fleetcool.actions.take import Moment, take
from fleetcool.model.settings import Settings
from fleetcool.store.backup import backup, restore
from fleetcool.store.dump import dump_standing
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.last_issue import last_issue
from fleetcool.store.ledger import ledger_lines
from jobs.week import Order, make_issue

AS_OF = 20762  # 2026-11-05
NOON = 1_794_000_000
WEEK = "2026-W46"
MOMENT = Moment(AS_OF, AS_OF, NOON, "tester")


@pytest.fixture(scope="module")
def taken_file(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a SQLite store that has taken the fleet in, to be copied."""
    path = tmp_path_factory.mktemp("taken") / "fleet.db"
    store = open_store(f"sqlite:///{path}")
    taken = take(store, [twelve_vehicles], settings=Settings(), moment=MOMENT)
    close(store)
    assert taken.judged is not None
    assert taken.judged.faults == ()
    return path


@pytest.fixture
def fleet(taken_file: Path, tmp_path: Path) -> Iterator[tuple[Store, Path]]:
    shutil.copyfile(taken_file, tmp_path / "fleet.db")
    store = open_store(f"sqlite:///{tmp_path / 'fleet.db'}")
    yield store, tmp_path
    close(store)


def order(out: Path, *, again: bool = True, as_of: int = AS_OF, week: str = WEEK) -> Order:
    return Order(week, as_of, out, "tester", lambda: NOON, again=again)


def news(store: Store, folder: Path, km: int) -> None:
    """Take a reading in that was not known."""
    file = folder / f"readings-{km}.csv"
    file.write_text(f"unit,on,odometer\n101,2026-11-04,{km}\n")
    take(store, [file], settings=Settings(), moment=MOMENT)


def hashes(folder: Path) -> dict[str, str]:
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def test_a_week_leaves_its_books_and_one_finished_row(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    issue = make_issue(store, Settings(), order(folder / "out"))
    assert issue is not None
    names = set(hashes(folder / "out"))
    assert {f"{WEEK}/{name}" for name in ("manager.xlsx", "buyer.xlsx", "summary.json")} <= names
    lines = ledger_lines(store)
    assert lines[["job", "period", "state"]].to_numpy().tolist() == [["week", WEEK, "done"]]


def test_the_same_week_again_has_the_same_bytes(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    first = hashes(folder / "out")
    make_issue(store, Settings(), order(folder / "out"))
    assert hashes(folder / "out") == first


def test_a_finished_week_is_left_alone_by_the_clock(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    assert make_issue(store, Settings(), order(folder / "out", again=False)) is None


def test_something_new_makes_a_second_edition_beside_the_first(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    first = hashes(folder / "out")
    news(store, folder, 131_000)
    issue = make_issue(store, Settings(), order(folder / "out"))
    assert issue is not None
    assert issue.edition == 2
    both = hashes(folder / "out")
    assert f"{WEEK}/manager-2.xlsx" in both
    assert {name: both[name] for name in first} == first, "earlier files stay as they are"
    words = sheet_words(folder / "out" / WEEK / "manager-2.xlsx")
    said = ("Other figures changed", " is new: ", " moved from ", " is no longer planned")
    assert [word for word in words if any(one in word for one in said)]


def sheet_words(book: Path) -> list[str]:
    from openpyxl import load_workbook  # noqa: PLC0415

    workbook = load_workbook(book, read_only=True)
    rows = workbook.worksheets[0].iter_rows(max_row=40, values_only=True)
    words = [str(cell) for row in rows for cell in row if cell is not None]
    workbook.close()
    return words


def test_a_second_edition_made_again_has_the_same_bytes(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    news(store, folder, 131_000)
    make_issue(store, Settings(), order(folder / "out"))
    before = hashes(folder / "out")
    again = make_issue(store, Settings(), order(folder / "out"))
    assert again is not None
    assert again.edition == 2
    assert hashes(folder / "out") == before


def test_other_settings_make_a_further_edition_and_overwrite_nothing(
    fleet: tuple[Store, Path],
) -> None:
    store, folder = fleet
    make_issue(store, Settings(units="us"), order(folder / "out"))
    first = hashes(folder / "out")
    issue = make_issue(store, Settings(units="metric"), order(folder / "out"))
    assert issue is not None
    assert issue.edition == 2
    assert {name: hashes(folder / "out")[name] for name in first} == first


def test_an_earlier_day_makes_books_but_publishes_nothing(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    first = hashes(folder / "out")
    earlier = make_issue(store, Settings(), order(folder / "out", as_of=AS_OF - 1))
    assert earlier is not None
    assert not earlier.published
    assert ledger_lines(store)["outcome"].tolist() == [
        f"edition 2 of {WEEK}, books only: 2026-11-05 is published already"
    ]
    kept = last_issue(store, WEEK)
    assert kept is not None
    assert (kept.as_of, kept.edition) == (AS_OF, 1)
    both = hashes(folder / "out")
    assert {name: both[name] for name in first} == first
    make_issue(store, Settings(), order(folder / "out", as_of=AS_OF - 1))
    assert hashes(folder / "out") == both


def test_another_week_asked_for_on_an_issue_day_does_not_replace_the_issue(
    fleet: tuple[Store, Path],
) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    other = make_issue(store, Settings(), order(folder / "out", week="2026-W48"))
    assert other is not None
    assert not other.published
    kept = last_issue(store, WEEK)
    assert kept is not None
    assert kept.edition == 1


def test_what_a_run_that_died_left_in_place_is_no_edition_of_its_own(
    fleet: tuple[Store, Path],
) -> None:
    """It died between two moves, and the next run is for a later day with other bytes."""
    store, folder = fleet

    def die(stage: str) -> None:
        if stage == "moved buyer.xlsx":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_issue(store, Settings(), order(folder / "out"), die)
    # Between moves the summary, which lists what is in place, still lies in the run's own folder.
    assert (folder / "out" / f".{WEEK}" / "summary.json").exists()
    issue = make_issue(store, Settings(), order(folder / "out", as_of=AS_OF + 1))
    assert issue is not None
    assert issue.edition == 1
    assert not list((folder / "out" / WEEK).glob("*-2.*"))


def test_a_book_someone_typed_in_is_not_overwritten(fleet: tuple[Store, Path]) -> None:
    from openpyxl import load_workbook  # noqa: PLC0415

    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    book = folder / "out" / WEEK / "manager.xlsx"
    workbook = load_workbook(book)
    workbook.worksheets[0]["A1"] = "typed"
    workbook.save(book)
    typed = book.read_bytes()
    make_issue(store, Settings(), order(folder / "out"))
    assert book.read_bytes() == typed
    assert (folder / "out" / WEEK / "manager-2.xlsx").exists()


def test_summary_lists_the_other_files_with_their_hashes(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    summary = json.loads((folder / "out" / WEEK / "summary.json").read_text())
    found = hashes(folder / "out" / WEEK)
    del found["summary.json"]
    assert summary["files"] == found


def books_and_lines(url: str, tables: Path, out: Path) -> tuple[dict[str, str], list[str]]:
    """Take tables into a new store and make the week's books; return their hashes and the dump."""
    store = open_store(url)
    take(store, [tables], settings=Settings(), moment=MOMENT)
    make_issue(store, Settings(), order(out))
    lines = dump_standing(store, AS_OF)
    backup(store, out.with_suffix(".db"))
    close(store)
    return hashes(out), lines


@pytest.mark.parametrize(
    "fleet_of", ["twelve", pytest.param("demo", marks=pytest.mark.long)], ids=str
)
def test_both_kinds_of_store_give_the_same_books_and_restore_into_each_other(
    twelve_vehicles: Path, fresh_url: Callable[..., str], tmp_path: Path, fleet_of: str
) -> None:
    demo = Path(__file__).parent.parent / "demo_fleet" / "tables"
    tables = twelve_vehicles if fleet_of == "twelve" else demo
    urls = {kind: fresh_url(kind) for kind in ("sqlite", "postgresql")}
    left = {kind: books_and_lines(url, tables, tmp_path / kind) for kind, url in urls.items()}

    assert left["sqlite"] == left["postgresql"], "the books byte for byte, the rows line by line"
    assert len(left["sqlite"][1]) > 100
    for kind, other in (("sqlite", "postgresql"), ("postgresql", "sqlite")):
        url = fresh_url(other)
        restore(tmp_path / f"{kind}.db", url)
        again = open_store(url)
        assert dump_standing(again, AS_OF) == left[kind][1]
        make_issue(again, Settings(), order(tmp_path / f"{kind} restored"))
        close(again)
        assert hashes(tmp_path / f"{kind} restored") == left[kind][0]
