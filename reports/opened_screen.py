"""What a visit opened by hand means, as text: number, bay, pull list, what moves, job sheet."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from fleetcool.actions.open_visit import Opened
from fleetcool.model.days import day, iso
from reports.job_sheet import job_sheet
from reports.job_work import is_here
from reports.pages_text import pages_text
from reports.sheets import Pages
from reports.spreadsheet import save_workbook
from reports.view import figure, rows_of, text, view_of
from reports.words import amount, clock, counted, file_word, hours, listed, money, on_day, short_day

Json = Mapping[str, object]
BOOK_KIND = "job sheet"  # a book that is not read when it comes back


def opened_text(opened: Opened) -> str:
    """Return the sentences about a visit that was opened, without its job sheet."""
    lines = [*_head(opened), *_notes(opened), "", *_pull(opened), "", *_worth(opened)]
    return "\n".join([*lines, "", *_pushed(opened)])


def sheet_text(opened: Opened) -> str:
    """Return its job sheet as text."""
    return pages_text(opened_pages(opened))


def opened_pages(opened: Opened) -> Pages:
    """Return its job sheet as printed pages."""
    return job_sheet(view_of(opened.after), _row(opened))


def write_job_sheet(opened: Opened, file: Path) -> Path:
    """Write its job sheet as a workbook, and return the file."""
    after = opened.after
    about = {
        "kind": BOOK_KIND,
        "visit": opened.visit,
        "as_of": day(after.as_of).isoformat(),
        "revision": str(after.standing.revision),
    }
    file.parent.mkdir(parents=True, exist_ok=True)
    save_workbook(file, [opened_pages(opened)], about, after.settings, after.as_of)
    return file


def sheet_name(opened: Opened) -> str:
    """Return the file name of its job sheet."""
    return f"{file_word(opened.visit)}.xlsx"


def opened_json(opened: Opened) -> Json:
    """Return the same content for programs: SI units, days ISO, null for none."""
    row, opening = _row(opened), opened.opening
    return {
        "intake": opened.intake,
        "visit": opened.visit,
        "unit": opening.unit,
        "depot": text(row["depot"]) or None,
        "bay": text(row["bay"]) or None,
        "start_on": iso(opening.on),
        "stop_on": iso(opening.until + 1),
        "minutes": round(figure(row["minutes"])),
        "services": list(opening.services),
        "notes": list(_notes(opened)),
        "pull": [
            {
                "part": text(one["part"]),
                "what": text(one["what"]) or None,
                "quantity": figure(one["quantity"]),
                "counted_in": text(one["counted_in"]) or None,
                "bin": text(one["bin"]) or None,
                "here": is_here(one["here"]),
            }
            for one in _pull_rows(opened)
        ],
        "worth_doing": [
            {
                "service": text(one["service"]),
                "extra_minutes": round(figure(one["extra_minutes"])),
                "saves": round(figure(one["saves"])),
                "due": _iso(one["due"]),
                "parts_here": bool(one["parts_here"]),
            }
            for one in rows_of(opened.worth)
        ],
        "pushed_out": [
            {
                "visit": text(one["visit"]),
                "unit": text(one["unit"]),
                "from": _iso(one["from_on"]),
                "to": _iso(one["to_on"]),
                "reason": text(one["reason"]),
            }
            for one in rows_of(opened.pushed)
        ],
    }


def _row(opened: Opened) -> dict[str, object]:
    visits = opened.after.plan.visits
    return rows_of(visits[visits["visit"] == opened.visit])[0]


def _pull_rows(opened: Opened) -> list[dict[str, object]]:
    pull = opened.after.supply.pull
    return rows_of(pull[pull["visit"] == opened.visit].sort_values(["bin", "part"]))


def _head(opened: Opened) -> Sequence[str]:
    row, opening = _row(opened), opened.opening
    until = "" if opening.until == opening.on else f" until {on_day(opening.until)}"
    bay = f"bay {text(row['bay'])} at {text(row['depot'])}" if text(row["bay"]) else "no bay told"
    wait = figure(row["wait_minutes"])
    waiting = f" and {hours(wait)} of waiting" if wait > 0 else ""
    back = clock(figure(row["stop_minute"]))
    done = f", done about {back} of that day" if back else ""
    planned = opened.after.plan.visits
    coming = planned[
        (planned["vehicle"] == opening.vehicle)
        & (planned["visit"] != opened.visit)
        & planned["state"].isin(["proposed", "fixed"])
    ].sort_values(["start_on", "visit"])
    work = f"{hours(figure(row['minutes']))} of work{waiting}{done}"
    kept = f"Kept as intake {opened.intake}; fleetcool withdraw {opened.intake} takes it back."
    said = [
        f"Visit {opened.visit}: unit {opening.unit}, {listed(opening.services)}.",
        f"In {bay} on {on_day(opening.on)}{until}, {work}. {kept}",
    ]
    view = view_of(opened.after)
    said += [
        f"Its planned visit {text(one['visit'])} on {on_day(figure(one['start_on']))} stays: "
        f"{view.services_text(text(one['visit']))}."
        for one in rows_of(coming.head(1))
    ]
    return said


def _notes(opened: Opened) -> Sequence[str]:
    """Return what must be said of yard, shop and day, and of a bay that others hold by then."""
    row, visits = _row(opened), opened.after.plan.visits
    bay, depot = text(row["bay"]), text(row["depot"])
    others = visits[
        (visits["depot"] == depot)
        & (visits["bay"] == bay)
        & (visits["visit"] != opened.visit)
        & visits["state"].isin(["here", "waiting"])
        & (visits["start_on"] < figure(row["stop_on"]))
        & (visits["stop_on"] > figure(row["start_on"]))
    ]
    if not bay or others.empty:
        return opened.opening.notes
    held = listed(sorted(others["visit"].astype(str)))
    full = f"No bay of {depot} is free: bay {bay} is taken by {held}; somebody must say who waits."
    return (*opened.opening.notes, full)


def _pull(opened: Opened) -> Sequence[str]:
    rows = _pull_rows(opened)
    if not rows:
        return ["Pull: nothing from the shelf that we know of."]
    short = [one for one in rows if not is_here(one["here"])]
    head = "Pull, all here:" if not short else f"Pull, {counted(len(short), 'part')} short:"
    return [head, *(_part_line(one) for one in rows)]


def _part_line(one: Mapping[str, object]) -> str:
    bin_ = f", bin {text(one['bin'])}" if text(one["bin"]) else ""
    note = f" ({text(one['note'])})" if text(one["note"]) else ""
    short = "" if is_here(one["here"]) else ", SHORT"
    what = f"{text(one['what'])}, " if text(one["what"]) else ""
    quantity = f"{amount(figure(one['quantity']))} {text(one['counted_in'])}".strip()
    return f"  {quantity}  {what}{text(one['part'])}{bin_}{short}{note}"


def _worth(opened: Opened) -> Sequence[str]:
    if not len(opened.worth):
        return ["Nothing else is worth doing while it is open."]
    lines = ["Worth doing while it is open:"]
    for one in rows_of(opened.worth):
        saved = figure(one["saves"])
        saves = f", saves {money(saved, opened.after.settings)}" if saved > 0 else ""
        here = "parts here" if bool(one["parts_here"]) else "parts NOT here"
        lines.append(
            f"  {text(one['service'])}: {figure(one['extra_minutes']):.0f} min more{saves}, due "
            f"{short_day(figure(one['due']))}, {here}"
        )
    return lines


def _pushed(opened: Opened) -> Sequence[str]:
    if not len(opened.pushed):
        return ["It pushes out no visit of the next eight weeks."]
    lines = [f"It pushes out {counted(len(opened.pushed), 'visit')}:"]
    for one in rows_of(opened.pushed):
        to_on = figure(one["to_on"])
        to = f"to {short_day(to_on)}" if to_on == to_on else "no longer placed"  # noqa: PLR0124 - NaN
        lines.append(
            f"  {text(one['visit'])}, unit {text(one['unit'])}: from "
            f"{short_day(figure(one['from_on']))} {to}; {text(one['reason'])}"
        )
    return lines


def _iso(value: object) -> str | None:
    number = figure(value)
    return None if number != number else iso(number)  # noqa: PLR0124 - NaN is not itself
