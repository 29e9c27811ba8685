"""The work of a job sheet: what to pull, what to test first, take apart, do, and put back."""

import math

from fleetcool.units import KPA_PER_PSI
from reports.job_fasteners import Fasteners
from reports.job_lookups import JobLookups, Row, Stay
from reports.sheets import TICK, Line, Piece
from reports.steps import (
    Step,
    back_words,
    before_services,
    is_taken_apart,
    is_undone,
    only_put_back,
    put_back_order,
    way_back_words,
    way_in_words,
)
from reports.view import figure, text
from reports.words import amount

_BACK = "Put back, in this order"
_TIGHTEN = ". Tighten to the maker's manual; a guard is the most its thread takes"
_BELT = "belt off"  # the step that takes the belt of the layout's route off
_BLANK_STEPS = 6  # lines to fill in where the layout is not known


def pull_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return what to take from the shelf, two to a line."""
    mine = look.pull.get(stay.visit, ())
    if not mine:
        return [_section("Pull: nothing from the shelf.")]
    said = [_pulled(one) for one in mine]
    return [_section("Pull", keeps=True), *_in_two(said)]


def _pulled(one: Row) -> str:
    unit = "" if text(one["counted_in"]) == "each" else f" {text(one['counted_in'])}"
    note = f", {text(one['note'])}" if text(one["note"]) else ""
    short = "" if is_here(one["here"]) else ", SHORT"
    return (
        f"{TICK} {amount(figure(one['quantity']))}{unit} {text(one['what'])}, "
        f"{text(one['part'])}, bin {text(one['bin']) or '____'}{short}{note}"
    )


def is_here(value: object) -> bool:
    """Tell whether a value of a column `here` or `parts_here` says yes."""
    return text(value) not in {"", "False", "0", "0.0", "short"}


def first_line(look: JobLookups, stay: Stay) -> Line:
    """Return what is looked at first; a dry stay puts no pressure on the system."""
    if not stay.is_pressed:
        said = f"{TICK} First: look for leaks before anything is taken apart. Found: ____________"
        return Line((Piece(said, style="bold"),))
    said = (
        f"{TICK} First, before anything is taken apart: pressure test. Engine cold, "
        f"{_never_above(look, stay)}. Held ____ kPa for ____ minutes. Leaks found: ____________"
    )
    return Line((Piece(said, style="bold"),))


def _never_above(look: JobLookups, stay: Stay) -> str:
    """Return the most pressure, in both units; never rounded up."""
    own = figure(look.view.vehicles.get(stay.vehicle, {}).get("cap_kpa"))
    usual = figure(look.layouts.get(stay.layout, {}).get("cap_kpa"))
    rating = usual if math.isnan(own) else own
    if math.isnan(rating):
        return "never above the rating on the cap (read it: ____)"
    psi = math.floor(round(rating / KPA_PER_PSI * 10, 6)) / 10
    whose = "of this layout, unless the cap says less" if math.isnan(own) else "of this vehicle"
    return f"never above the cap's {math.floor(rating)} kPa ({psi:g} psi) {whose}"


def apart_lines(stay: Stay, fasteners: Fasteners) -> list[Line]:
    """Return the steps on the way in, numbered, with the sockets they take."""
    if not stay.layout:
        return _by_the_manual("The layout of this vehicle is not known")
    if not stay.has_steps:
        return _by_the_manual(f"No steps are known for the layout {stay.layout}")
    apart = [one for one in stay.steps if is_taken_apart(one)]
    if not apart:
        return [_section("Take apart: nothing needs to come off.")]
    lines = [_section("Take apart, in this order", keeps=True)]
    for number, one in enumerate(apart, 1):
        sockets = fasteners.sockets(text(one["step"]))
        lines.append(
            _plain(f"{TICK} {number}. {_said(one)}" + (f" ({sockets})" if sockets else ""))
        )
    return lines


def _by_the_manual(why: str) -> list[Line]:
    return [
        _section("Take apart and put back: by the maker's manual", keeps=True),
        _plain(
            f"{why}, so no steps are printed and the minutes leave out getting in and out. Write "
            "down what comes off, and put it back from the last to the first."
        ),
        *_in_two([f"{TICK} {at}. ________________________" for at in range(1, _BLANK_STEPS + 1)]),
    ]


def do_lines(stay: Stay, fasteners: Fasteners) -> list[Line]:
    """Return the services, each below the steps that come right before it."""
    lines = [_section("Do, while it is open", keeps=True)]
    above = before_services(stay.steps, stay.services)
    plain: list[Piece] = []
    for service in stay.services:
        first, rows = above.get(service, ()), fasteners.of_service(service)
        if first or rows or len(plain) == 4:
            lines += _row(plain)
            plain = []
        lines += [_plain(f"{TICK} {_said(one)}") for one in first]
        if rows:
            lines += fasteners.beside(f"{TICK} {service}", rows, "bold")
        else:
            plain.append(Piece(f"{TICK} {service}", 3, "bold"))
    return lines + _row(plain)


def _row(pieces: list[Piece]) -> list[Line]:
    return [Line(tuple(pieces))] if pieces else []


def back_lines(look: JobLookups, stay: Stay, fasteners: Fasteners) -> list[Line]:
    """Return the way back in working order, each step with what is tightened there."""
    back = put_back_order(stay.steps, stay.services)
    left = fasteners.of_steps_not_undone([text(one["step"]) for one in back])
    if not back and not left:
        return []
    apart = [one for one in stay.steps if is_taken_apart(one)]
    number = {text(one["step"]): at for at, one in enumerate(apart, 1)}
    lines = [_section(_BACK + (_TIGHTEN if fasteners.any_tightened else ""), keeps=True)]
    closed = False
    last_undone = max((at for at, one in enumerate(back) if is_undone(one)), default=-1)
    for at, one in enumerate(back):
        if at > last_undone and not closed:
            lines += _closed_first(fasteners, left)
            closed = True
        name = text(one["step"])
        said = _said(one) if only_put_back(one) else _undone(one, number[name])
        lines += fasteners.beside(f"{TICK} {said}", fasteners.of_step(name))
        if name == _BELT:
            lines += _route(look, stay)
    return lines if closed else [*lines, *_closed_first(fasteners, left)]


def _closed_first(fasteners: Fasteners, left: list[Row]) -> list[Line]:
    """Return what was opened on the way in and has no step of its own on the way back."""
    return fasteners.beside(f"{TICK} Close what was opened", left) if left else []


def _undone(step: Step, number: int) -> str:
    told = way_back_words(step)
    return f"{number} back: {back_words(text(step['step']))}" + (f". {told}" if told else "")


def _route(look: JobLookups, stay: Stay) -> list[Line]:
    route = text(look.layouts.get(stay.layout, {}).get("belt_route"))
    if not route:
        return []
    return [
        Line((Piece("", 1), Piece(f"Usual here: {route}; the drawing goes first", 11, "small")))
    ]


def _said(step: Step) -> str:
    words = way_in_words(step)
    wait, people = figure(step["wait_minutes"]), figure(step["people"])
    tail = f" (wait {wait:.0f} min)" if wait > 0 else ""
    return words + tail + (f" ({people:.0f} people)" if people > 1 else "")


def _section(words: str, *, keeps: bool = False) -> Line:
    return Line((Piece(words, style="section"),), keeps_next=keeps)


def _plain(words: str) -> Line:
    return Line((Piece(words),))


def _in_two(said: list[str]) -> list[Line]:
    return [
        Line(tuple(Piece(one, 6) for one in pair)) if len(pair) > 1 else _plain(pair[0])
        for pair in (said[at : at + 2] for at in range(0, len(said), 2))
    ]
