"""What every command shares: the options before it, the store opened and closed, the screen."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

if TYPE_CHECKING:
    from fleetcool.actions.take import Moment
    from fleetcool.model.outlook import Outlook
    from fleetcool.store.engine import Store
    from jobs.where import Home


@dataclass(frozen=True, slots=True)
class Asked:
    """The options that stand before every command."""

    store: str | None
    as_of: str | None
    units: Literal["us", "metric"] | None
    by: str

    def home(self, folder: Path | None = None) -> "Home":
        """Return the fleet's home; the folder started in unless another is named."""
        import dataclasses

        from jobs.where import find_home

        home = find_home(folder or Path.cwd(), self.store)
        if self.units is None:
            return home
        return dataclasses.replace(
            home, settings=dataclasses.replace(home.settings, units=self.units)
        )

    def moment(self, home: "Home") -> "Moment":
        """Return when and by whom this is asked."""
        from fleetcool.actions.take import Moment
        from fleetcool.model import days
        from jobs.where import as_of_day

        now = time.time()
        today = days.number(home.today(now))
        return Moment(as_of_day(home, self.as_of, now), today, int(now), self.by)

    def outlook(self, week: str | None = None, *, in_full: bool = False) -> "Outlook":
        """Return the look ahead from the store, as of the day asked for."""
        from fleetcool.actions.look_ahead import look_ahead

        home = self.home()
        with opened(home) as store:
            moment = self.moment(home)
            return look_ahead(
                store,
                settings=home.settings,
                as_of=moment.as_of,
                week=week,
                issued_today=True,
                in_full=in_full,
            )


@contextmanager
def opened(home: "Home") -> Iterator["Store"]:
    """Open the fleet's store, and close it again."""
    from fleetcool.store.engine import close, open_store

    store = open_store(home.store_url)
    try:
        yield store
    finally:
        close(store)


def say(thing: object) -> None:
    """Print a text or a table to the screen."""
    from rich.console import Console

    Console(width=None if sys.stdout.isatty() else 140, soft_wrap=False).print(thing)


@contextmanager
def progress(what: str) -> Iterator[Callable[[str], None]]:
    """Show what is being done, on a terminal only; give a function that tells the next stage."""
    if not sys.stderr.isatty():
        yield lambda _stage: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as status:
        yield lambda stage: status.update(f"{what}: {stage}")


def print_json(content: object) -> None:
    """Print content for programs."""
    import json

    click.echo(json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False))
