"""What the commands show on screen: rich tables of due days, parts, an intake, the ledger."""

import math
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import PurePath
from zoneinfo import ZoneInfo

import pandas as pd
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fleetcool.model.days import number
from fleetcool.model.outlook import Outlook
from fleetcool.model.taken import Change, Fault, Judged
from reports.view import figure, rows_of, text
from reports.words import amount, counted, money, on_day, short_day, short_span

_BENEATH = 12  # places shown beneath one cause; the to-fix workbook has all
_FEW = 3  # lines named that left a list
MOST = 60  # lines of one table on screen; the books show all
_RUNS = {"week": "the books of a week", "since": "Since Thursday", "night": "check and backup"}


def due_screen(outlook: Outlook, weeks: int = 13) -> RenderableType:
    """Return the due days of the coming weeks, soonest first."""
    due = outlook.projection.due
    chosen = due[
        (due["occurrence"] == 1)
        & ~due["open_clock"].astype(bool)
        & (due["q50"].astype("float64") < outlook.as_of + 7 * weeks)
    ]
    clocks = outlook.projection.clocks[["vehicle", "service", "unit", "depot", "governs", "why"]]
    lines = chosen.merge(clocks, on=["vehicle", "service"], how="left")
    moved = outlook.projection.moved[["vehicle", "service", "why"]]
    moved = moved.rename(columns={"why": "moved"}).astype({"vehicle": object, "service": object})
    lines = lines.merge(moved, on=["vehicle", "service"], how="left")
    lines = lines.sort_values(["q50", "unit", "service"])
    table = headed("unit", "depot", "service", "due", "probably (4 of 5)", "why")
    for one in rows_of(lines.head(MOST)):
        due_on = figure(one["q50"])
        past = due_on < outlook.as_of
        table.add_row(
            plain(one["unit"]),
            plain(one["depot"]),
            plain(one["service"]),
            Text(f"{short_day(due_on)}{', past' if past else ''}", "orange3" if past else ""),
            short_span(figure(one["q10"]), figure(one["q90"])),
            Text("; ".join(said for name in ("why", "moved") if (said := text(one[name])))),
        )
    head = f"{counted(len(lines), 'service')} due within {weeks} weeks of {on_day(outlook.as_of)}"
    return Group(Text(f"{head[0].upper()}{head[1:]}."), table, *more_lines(len(lines)))


def parts_screen(outlook: Outlook) -> RenderableType:
    """Return the order lines by the day they must be placed."""
    orders = outlook.supply.orders.sort_values(["order_by", "supplier", "part"])
    table = headed("order by", "supplier", "part", "what", "quantity", "depot", "cost", "visits")
    for one in rows_of(orders.head(MOST)):
        late = figure(one["late_days"])
        said = short_day(figure(one["order_by"]))
        table.add_row(
            Text(
                f"{said}, {late:.0f} days too late" if late > 0 else said,
                "orange3" if late > 0 else "",
            ),
            plain(one["supplier"]),
            plain(one["part"]),
            plain(one["what"]),
            f"{amount(figure(one['quantity']))} {text(one['counted_in'])}",
            plain(one["depot"]),
            money(figure(one["cost"]), outlook.settings),
            _some_visits(text(one["for_visits"])),
        )
    said = f"{counted(len(orders), 'order line').capitalize()} proposed."
    return Group(Text(said), table, *more_lines(len(orders)))


def _some_visits(visits: str) -> str:
    each = [one.strip() for one in visits.split(",") if one.strip()]
    return each[0] + (f" and {len(each) - 1} more" if len(each) > 1 else "") if each else ""


def take_screen(judged: Judged, intake: int | None) -> RenderableType:
    """Return what an intake took and held: counts, causes, changes, questions, warnings."""
    pieces: list[RenderableType] = []
    if intake is not None:
        pieces.append(Text(f"Intake {intake}."))
    pieces.append(_counts(judged))
    pieces += _causes(judged)
    for title, sentences in (
        ("Changed:", _changes(judged.changes)),
        (
            "Asked once:",
            [f"{one.sentence} ({counted(one.rows, 'row')})" for one in judged.questions],
        ),
        ("What follows, by unit:", _follows(judged)),
        ("Please look:", list(judged.warnings)),
    ):
        if sentences:
            pieces += [Text(title), *(_indented(one, 2) for one in sentences[:MOST])]
            pieces += more_lines(len(sentences))
    return Group(*pieces)


def _follows(judged: Judged) -> list[str]:
    said = [f"unit {one.unit}: {one.says}" for one in judged.consequences]
    if judged.more_units:
        verb = "has" if judged.more_units == 1 else "have"
        more = counted(judged.more_units, "more unit")
        said.append(f"{more} {verb} changes too; fleetcool due shows their days.")
    return said


def _counts(judged: Judged) -> RenderableType:
    names = ("taken", "known", "changed", "held")
    said = judged.counts[(judged.counts[list(names)].astype("float64") > 0).any(axis=1)]
    if not len(said):
        return Text("No row was taken in.")
    table = headed("table", *names)
    for column in table.columns[1:]:
        column.justify = "right"
    for one in rows_of(said.sort_values("table")):
        table.add_row(plain(one["table"]), *(f"{figure(one[name]):,.0f}" for name in names))
    return table


def _causes(judged: Judged) -> list[RenderableType]:
    """Return each cause with what to do, and the places beneath it."""
    groups: dict[str, list[Fault]] = {}
    for fault in judged.faults:
        cause = "wait for an answer" if fault.cause.startswith("asked:") else fault.cause
        groups.setdefault(cause, []).append(fault)
    lines: list[RenderableType] = [Text("Held:")] if groups else []
    for cause, faults in sorted(groups.items(), key=lambda one: (-len(one[1]), one[0])):
        what = sorted({fault.do for fault in faults})
        lines.append(_indented(f"{counted(len(faults), 'row')}: {cause} – {'; '.join(what)}", 2))
        lines += [_indented(_where(fault), 6) for fault in faults[:_BENEATH]]
        if len(faults) > _BENEATH:
            lines.append(Text(f"      … and {len(faults) - _BENEATH} more."))
    return lines


def _where(fault: Fault) -> str:
    alone = PurePath(fault.file).stem == fault.sheet
    place = fault.file if alone else f"{fault.file}, sheet {fault.sheet}"
    found = fault.found if fault.found.startswith("an empty") else f'"{fault.found}"'
    return f"{place}, row {fault.row}, {fault.column}: found {found}, expected {fault.expected}"


def _changes(changes: Sequence[Change]) -> list[str]:
    """Return what changed, one sentence each; lines that left a list are counted."""
    gone: dict[str, list[str]] = {}
    sentences = []
    for one in changes:
        key = ", ".join(piece for piece in one.key.split("|") if piece not in {"", "-"})
        if one.column:
            sentences.append(f"{one.table.replace('_', ' ')} {key}: {one.sentence}")
        else:
            gone.setdefault(one.table, []).append(key)
    for table, keys in sorted(gone.items()):
        first = "; ".join(keys[:_FEW])
        more = f" and {len(keys) - _FEW} more" if len(keys) > _FEW else ""
        lines = counted(len(keys), "line")
        verb = "is" if len(keys) == 1 else "are"
        sentences.append(
            f"{table.replace('_', ' ')}: {lines} {verb} no longer in the list: {first}{more}"
        )
    return sentences


def _indented(text: str, by: int) -> RenderableType:
    return Padding(Text(text), (0, 0, 0, by))


def ledger_screen(ledger: pd.DataFrame, zone: ZoneInfo) -> RenderableType:
    """Return what ran and what came of it, newest last, times local in the home zone.

    Args:
        ledger: job, period, state, attempt, owner, claimed_at and ended_at [UTC seconds], outcome.
        zone: the zone in which times are said.
    """
    began = ledger["claimed_at"].astype("float64").fillna(ledger["ended_at"].astype("float64"))
    lines = ledger.assign(began=began).sort_values(["began", "job", "period"], kind="stable")
    table = headed("what", "for", "started", "ended", "how it ended", "what came of it, or why not")
    for one in rows_of(lines.tail(MOST)):
        job, state, period = text(one["job"]), text(one["state"]), text(one["period"])
        tries = figure(one["attempt"])
        table.add_row(
            Text(_RUNS.get(job, job)),
            Text(on_day(number(date.fromisoformat(period))) if job == "night" else period),
            Text(_local(figure(one["claimed_at"]), zone)),
            Text(_local(figure(one["ended_at"]), zone)),
            Text(
                f"{state}, {tries:.0f} tries" if tries > 1 else state,
                "orange3" if state in {"failed", "skipped"} else "",
            ),
            Text(f"by {text(one['owner'])}" if state == "running" else text(one["outcome"])),
        )
    head = f"{counted(len(lines), 'run').capitalize()}; times are those of {zone.key}."
    return Group(Text(head), table, *more_lines(len(lines)))


def _local(seconds: float, zone: ZoneInfo) -> str:
    """Return a time [UTC seconds] as `5 November 2026, 17:00` in a zone, empty for NaN."""
    if math.isnan(seconds):
        return ""
    at = datetime.fromtimestamp(seconds, UTC).astimezone(zone)
    return f"{on_day(number(at.date()))}, {at:%H:%M}"


def headed(*headings: str) -> Table:
    """Return a table without rows; what is too long for a column goes on beneath."""
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in headings:
        table.add_column(heading, overflow="fold")
    return table


def plain(value: object) -> Text:
    """Return a value as it is, whatever brackets it holds; empty when it is missing."""
    return Text(text(value))


def more_lines(n_lines: int) -> Sequence[RenderableType]:
    """Return how many lines a table leaves out, nothing when it shows all."""
    return [Text(f"… and {n_lines - MOST} more.")] if n_lines > MOST else []
