"""Where one fleet is at home: its settings, its store, its inbox and its books."""

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fleetcool.errors import NotUsableError
from fleetcool.model import days
from fleetcool.model.settings import Settings, read_settings

SETTINGS_FILE = "fleetcool.toml"


@dataclass(frozen=True, slots=True)
class Home:
    """One fleet's folder and what is settled there.

    `store_url` is the database address, with a SQLite file made absolute; `zone` the home zone.
    """

    folder: Path
    settings: Settings
    store_url: str
    zone: ZoneInfo

    @property
    def inbox(self) -> Path:
        """Return the folder whose files are taken in by themselves."""
        return self.folder / "inbox"

    @property
    def out(self) -> Path:
        """Return the folder of the books."""
        return self.folder / "out"

    def today(self, now: float) -> date:
        """Return the local day at home; `now` is in seconds UTC."""
        return datetime.fromtimestamp(now, UTC).astimezone(self.zone).date()


def find_home(folder: Path, store: str | None) -> Home:
    """Return the home that a folder is.

    Args:
        folder: where fleetcool.toml may lie; without one all settings are defaults.
        store: address given by hand; it wins over the environment, which wins over the settings.

    Raises:
        NotUsableError: the settings cannot be used.
    """
    file = folder / SETTINGS_FILE
    settings = (
        read_settings(file.read_text(encoding="utf-8"), str(file)) if file.exists() else Settings()
    )
    url = store or os.environ.get("FLEETCOOL_STORE") or settings.store or "sqlite:///fleetcool.db"
    try:
        zone = ZoneInfo(settings.home_zone)
    except (ZoneInfoNotFoundError, ValueError):
        raise NotUsableError(
            str(file),
            f'home_zone = "{settings.home_zone}"',
            "a zone like America/Toronto",
            "correct it",
        ) from None
    return Home(folder.resolve(), settings, _absolute(url, folder), zone)


def _absolute(url: str, folder: Path) -> str:
    """Return the address with a relative SQLite file seen from the home folder."""
    kind, mark, path = url.partition(":///")
    if kind != "sqlite" or not mark or not path or path.startswith("/"):
        return url
    return f"sqlite:///{(folder / path).resolve()}"


def as_of_day(home: Home, given: str | None, now: float, thing: str = "--as-of") -> int:
    """Return the day taken as today [day number]: given by hand, pinned in the settings, or today.

    Raises:
        NotUsableError: the day given is none.
    """
    if given is None:
        return days.number(home.settings.as_of or home.today(now))
    try:
        return days.number(date.fromisoformat(given))
    except ValueError:
        raise NotUsableError(
            thing, f'"{given}"', "a day like 2027-01-28", "write year, month and day"
        ) from None
