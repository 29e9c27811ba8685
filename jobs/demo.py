"""Make a store with the demo fleet and the week's books, and say what each reader should open."""

import shutil
import time
from importlib import resources
from pathlib import Path

from fleetcool.actions.take import Moment, take
from fleetcool.errors import NotUsableError
from fleetcool.model import days
from fleetcool.store.engine import close, open_store
from jobs.week import Issue, Order, Stage, make_issue
from jobs.where import find_home
from reports.first_look import first_look


def demo_tables() -> Path:
    """Return the folder of the demo fleet: inside the installed package, else beside it."""
    package = Path(str(resources.files("fleetcool")))
    for folder in (package / "demo_fleet", package.parent / "demo_fleet"):
        if (folder / "tables").is_dir():
            return folder
    raise NotUsableError(
        "the demo fleet", "no tables beside the program", "the folder demo_fleet", "install again"
    )


def make_demo(into: Path, stage: Stage, *, by: str) -> str:
    """Make the demo's home in a folder and return the text that tells what to open first.

    `stage` is called with the name of each stage that was passed.

    Raises:
        NotUsableError: the folder holds a store already.
    """
    source = demo_tables()
    into.mkdir(parents=True, exist_ok=True)
    if any(into.glob("*.db")) or (into / "out").exists():
        raise NotUsableError(
            str(into),
            "a folder that holds a store already",
            "an empty or new folder",
            "name another one with --into",
        )
    shutil.copyfile(source / "fleetcool.toml", into / "fleetcool.toml")
    # the demo never touches the store that the environment names
    home = find_home(into, f"sqlite:///{(into / 'fleetcool.db').resolve()}")
    assert home.settings.as_of is not None
    as_of = days.number(home.settings.as_of)
    store = open_store(home.store_url)
    try:
        now = time.time()
        moment = Moment(as_of, days.number(home.today(now)), int(now), by)
        take(store, [source / "tables"], settings=home.settings, moment=moment)
        order = Order(days.next_week(as_of), as_of, home.out, by, time.time)
        issue = make_issue(store, home.settings, order, stage)
    finally:
        close(store)
    assert isinstance(issue, Issue)
    return first_look(issue.outlook, home.out / issue.outlook.week)
