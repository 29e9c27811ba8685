"""All books of one week: which files there are, what they are called, in which order written."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from fleetcool.model.days import day
from fleetcool.model.outlook import Outlook
from reports.buyer import buyer_sheets
from reports.calendar import calendar_bytes, write_calendar
from reports.manager import manager_sheets
from reports.mechanic import mechanic_sheets
from reports.spreadsheet import save_workbook
from reports.summary import write_summary
from reports.view import View, view_of
from reports.words import file_words

SinceSentences = Mapping[str, Sequence[str]]
EVERYONE = ""


def write_books(
    outlook: Outlook, folder: Path, edition: int, since: SinceSentences | None = None
) -> list[Path]:
    """Write the books of a week into a folder and return their paths, the summary last.

    Args:
        outlook: what was worked out.
        folder: where they go; it must exist.
        edition: 1 for the first issue of the week; later ones carry it in their names.
        since: what changed since the last edition: depot → sentences, "" for the manager.
    """
    view = view_of(outlook)
    said = {} if since is None else dict(since)
    tail = "" if edition <= 1 else f"-{edition}"
    files = [_manager(view, folder / f"manager{tail}.xlsx", edition, said)]
    files.append(_buyer(view, folder / f"buyer{tail}.xlsx", edition))
    words = file_words(view.shops)
    for depot in view.shops:
        path = folder / f"{words[depot]}-mechanic{tail}.xlsx"
        sheets = mechanic_sheets(view, depot, tuple(said.get(depot, ())))
        about = _about(view, "mechanic", edition) | {"depot": depot}
        save_workbook(path, sheets, about, outlook.settings, outlook.as_of)
        files.append(path)
        path = folder / f"{words[depot]}{tail}.ics"
        write_calendar(path, calendar_bytes(view, depot, edition))
        files.append(path)
    summary = folder / f"summary{tail}.json"
    write_summary(summary, view, edition, files)
    return [*files, summary]


def _manager(view: View, path: Path, edition: int, since: SinceSentences) -> Path:
    sheets = manager_sheets(view, tuple(since.get(EVERYONE, ())))
    outlook = view.outlook
    save_workbook(path, sheets, _about(view, "manager", edition), outlook.settings, outlook.as_of)
    return path


def _buyer(view: View, path: Path, edition: int) -> Path:
    outlook = view.outlook
    save_workbook(
        path, buyer_sheets(view), _about(view, "buyer", edition), outlook.settings, outlook.as_of
    )
    return path


def _about(view: View, kind: str, edition: int) -> dict[str, str]:
    return {
        "kind": kind,
        "week": view.outlook.week,
        "as_of": day(view.outlook.as_of).isoformat(),
        "edition": str(edition),
        "revision": str(view.outlook.standing.revision),
    }
