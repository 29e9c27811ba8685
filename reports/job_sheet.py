"""The job sheet: what the mechanic reads who has this vehicle in the bay, a page or two."""

from collections.abc import Mapping
from dataclasses import replace

from reports.job_cautions import caution_lines
from reports.job_coolant import coolant_lines, tag_lines
from reports.job_fasteners import fasteners_of
from reports.job_head import head_lines
from reports.job_lookups import JobLookups, Stay, look_up, stay_of
from reports.job_work import apart_lines, back_lines, do_lines, first_line, is_here, pull_lines
from reports.sheets import TICK, Line, Pages, Piece
from reports.view import View, figure, rows_of, text
from reports.words import counted, on_day

_NAME = "Job sheets"
_NONE = "No visit is planned in this week."


def job_sheets(view: View, depot: str) -> Pages:
    """Return the job sheets of one shop for the week, each beginning on its own page."""
    return _pages(view, rows_of(view.week_visits(depot)))


def job_sheet(view: View, visit: Mapping[str, object]) -> Pages:
    """Return the job sheet of one visit, given as a row of the plan's visits."""
    return _pages(view, [dict(visit)])


def _pages(view: View, visits: list[dict[str, object]]) -> Pages:
    if not visits:
        return Pages(_NAME, (), _NONE)
    look = look_up(view, visits)
    lines: list[Line] = []
    for visit in visits:
        page = _page(look, stay_of(look, visit))
        lines += [*page[:-1], replace(page[-1], ends_page=True)]
    return Pages(_NAME, tuple(lines), _NONE)


def _page(look: JobLookups, stay: Stay) -> list[Line]:
    fasteners = fasteners_of(look, stay)
    return [
        *head_lines(look, stay),
        *caution_lines(look, stay),
        *pull_lines(look, stay),
        first_line(look, stay),
        *apart_lines(stay, fasteners),
        *do_lines(stay, fasteners),
        *back_lines(look, stay, fasteners),
        *coolant_lines(look, stay),
        *_while_open(look, stay),
        *tag_lines(look, stay),
    ]


def _while_open(look: JobLookups, stay: Stay) -> list[Line]:
    mine = look.while_open.get(stay.visit, ())
    if not mine:
        return []
    heading = "Worth doing while it is open: look, then decide"
    lines = [Line((Piece(heading, style="section"),), keeps_next=True)]
    for one in sorted(mine, key=lambda one: (not is_here(one["parts_here"]), text(one["service"]))):
        service = text(one["service"])
        unknown = (stay.vehicle, service) in look.never_recorded
        due = "never recorded" if unknown else f"due {on_day(figure(one['due']))}"
        more = counted(int(figure(one["extra_minutes"]) or 0), "minute")
        here = "its parts are on the shelf here" if is_here(one["parts_here"]) else "parts not here"
        lines.append(Line((Piece(f"{TICK} {service}: {more} more, {due}, {here}"),)))
    return lines
