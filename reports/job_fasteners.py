"""The fasteners of one stay, beside the step or service at which each is turned."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from fleetcool.units import INCH_BELOW_NM, NM_PER_LBF_FT, NM_PER_LBF_IN, torque_text
from reports.job_lookups import JobLookups, Row, Stay
from reports.sheets import Line, Piece, Style
from reports.steps import is_taken_apart
from reports.view import figure, text
from reports.words import amount, listed

MANUAL_BLANK = "manual: ____"
# Columns of what is ticked, the fastener, the manual's torque, the guard.
_BESIDE = ((3, 4, 2, 3), (4, 3, 2, 3), (2, 5, 2, 3))
_BELOW = (1, 5, 3, 3)
_LETTERS, _MORE = 9, 6  # letters that fit a column; few more that may break a line


@dataclass(frozen=True, slots=True)
class Fasteners:
    """The fasteners of a stay by step and by service; each stands in one of them.

    `told` gathers the traps as they are printed.
    """

    steps: dict[str, list[Row]]
    services: dict[str, list[Row]]
    apart: frozenset[str]
    told: set[str] = field(default_factory=set)

    @property
    def any_tightened(self) -> bool:
        """Tell whether a step of the stay has a fastener."""
        return any(self.steps.values())

    def of_step(self, step: str) -> Sequence[Row]:
        """Return what is turned at a step."""
        return self.steps.get(step, ())

    def of_service(self, service: str) -> Sequence[Row]:
        """Return what is turned for a service."""
        return self.services.get(service, ())

    def of_steps_not_undone(self, printed: Iterable[str]) -> list[Row]:
        """Return what is loosened on the way in and met at none of the steps printed later."""
        met = set(printed)
        return [one for step, rows in self.steps.items() if step not in met for one in rows]

    def sockets(self, step: str) -> str:
        """Return the sockets a step on the way in takes, in a few words; empty without any."""
        heads = {figure(one["head_mm"]) for one in self.of_step(step) if step in self.apart}
        sizes = [amount(one) for one in sorted(heads) if one > 0]
        return f"{'sockets' if len(sizes) > 1 else 'socket'} {listed(sizes)} mm" if sizes else ""

    def beside(self, said: str, rows: Sequence[Row], style: Style = "plain") -> list[Line]:
        """Return a ticked line with its fasteners beside it, or below it where it is long.

        The trap of a fastener stands below it, and once a stay where several share it.
        """
        if not rows:
            return [Line((Piece(said, style=style),))]
        spans = _spans(said, what(rows[0]))
        lines = [] if spans else [Line((Piece(said, style=style),), keeps_next=True)]
        for at, one in enumerate(rows):
            here = spans if not at and spans else _BELOW
            trap = self._untold(text(one["trap"]))
            texts = (said if here is spans else "", what(one), *_torque(one))
            pieces = zip(texts, here, (style, "small", "bold", "small"), strict=True)
            lines.append(
                Line(
                    tuple(Piece(*one) for one in pieces),
                    keeps_next=bool(trap) or at + 1 < len(rows),
                )
            )
            if trap:
                lines.append(Line((Piece("", 1), Piece(trap, 11, "small"))))
        return lines

    def _untold(self, trap: str) -> str:
        if not trap or trap in self.told:
            return ""
        self.told.add(trap)
        # A sign like "M6" keeps its capital.
        first = trap[:1].lower() if trap[1:2].islower() or trap[1:2] == " " else trap[:1]
        return f"Mind: {first}{trap[1:]}"


def fasteners_of(look: JobLookups, stay: Stay) -> Fasteners:
    """Return the fasteners a stay meets; one that names both stands at its step."""
    order = [text(one["step"]) for one in stay.steps]
    steps: dict[str, list[Row]] = {name: [] for name in order}
    services: dict[str, list[Row]] = {}
    for one in look.fasteners.get(stay.layout, ()):
        step, service = text(one["step"]), text(one["service"])
        if step in steps:
            steps[step].append(one)
        elif service in stay.services:
            services.setdefault(service, []).append(one)
    apart = frozenset(text(one["step"]) for one in stay.steps if is_taken_apart(one))
    return Fasteners(steps, services, apart)


def what(one: Row) -> str:
    """Return count, what, thread and head of a fastener."""
    count, head = figure(one["count"]), figure(one["head_mm"])
    words = " ".join(
        part
        for part in (
            f"{count:.0f} ×" if count > 0 else "",
            text(one["what"]),
            text(one["thread"]),
        )
        if part
    )
    return f"{words}, head {amount(head)} mm" if head > 0 else words


def _spans(said: str, first: str) -> tuple[int, ...]:
    """Return over how many columns each text of a line goes; none when they do not fit beside."""
    for spans in _BESIDE:
        if len(said) <= spans[0] * _LETTERS and len(first) <= spans[1] * _LETTERS + _MORE:
            return spans
    return ()


def _torque(one: Row) -> tuple[str, str]:
    """Return the manual's torque or a blank for it, and the guard."""
    manual, guard = figure(one["manual_torque_nm"]), figure(one["guard_nm"])
    guarded = "" if math.isnan(guard) else f"guard {guard_text(guard)}"
    if manual > guard:
        guarded += ", and the manual's figure is above it: read it and its unit again"
    return MANUAL_BLANK if math.isnan(manual) else f"manual: {torque_text(manual)}", guarded


def guard_text(guard_nm: float) -> str:
    """Return the most a thread takes [N·m] in both unit systems, never rounded up."""
    inch = guard_nm < INCH_BELOW_NM
    other, unit = (NM_PER_LBF_IN, "lbf·in") if inch else (NM_PER_LBF_FT, "lbf·ft")
    newton = math.floor(round(guard_nm * 10, 6)) / 10
    return f"{newton:g} N·m ({math.floor(round(guard_nm / other, 6))} {unit})"
