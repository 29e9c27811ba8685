"""The coolant of a job sheet: what comes out and goes in, what to record, the tag to hang up."""

import math

from fleetcool.coolant.handled import CORRECTION
from fleetcool.knowledge.properties import BASES
from reports.job_lookups import JobLookups, Stay
from reports.job_mix import (
    aim_of,
    base_of,
    correction,
    fills_up,
    holds,
    kind_of,
    row_of,
)
from reports.sheets import TICK, Line, Piece
from reports.steps import only_put_back
from reports.view import figure, text
from reports.words import amount, listed, volume

_HOW = (
    f"{TICK} Fill slowly, heater on hot, bleed until no more air comes, warm up until the "
    "thermostat opens, let it cool, top up."
)


def coolant_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return what to fill and what to record; nothing for a stay that leaves the coolant alone."""
    if not stay.is_wet:
        return _correction_lines(look, stay) if CORRECTION in stay.services else []
    told = any(only_put_back(one) for one in stay.steps)
    return [
        Line((Piece("Coolant: fill, bleed and test", style="section"),), keeps_next=True),
        _one(f"{TICK} {_what(look, stay)} {_how_much(look, stay)}"),
        _one(f"{TICK} {_mix(look, stay)}"),
        *([] if told else [_one(_HOW)]),
        _one(
            f"{TICK} Record: freezes at ____ °C; cap holds ____ kPa; cold level after the first "
            "warm-up ____; leaks ________"
        ),
    ]


def _correction_lines(look: JobLookups, stay: Stay) -> list[Line]:
    return [
        Line((Piece("Coolant: bring the mix right", style="section"),), keeps_next=True),
        _one(f"{TICK} {_what(look, stay)} {correction(look, stay)}."),
        _one(f"{TICK} {aim_of(look, stay)[2]}."),
        _one(
            f"{TICK} Run it warm, heater on hot, let it cool, test it. Out: ____ L. In: ____ L of "
            "________________. Record: freezes at ____ °C"
        ),
    ]


def tag_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return the line for who and when, and after wet work the tag for the filler neck."""
    done = _one(
        "Done on ____________  odometer ____________  hours ________  minutes ______  by ______"
    )
    if not stay.is_wet:
        return [done]
    kind = kind_of(look, stay) or "____________"
    return [
        done,
        Line(
            (
                Piece(
                    f"UNIT {text(stay.row['unit'])}   coolant: {kind}   (cut out, hang "
                    "on the filler neck)\n"
                    "Filled on ____________   freezes at ____ °C   by ______\n"
                    "Top up with the same kind only, never by colour. Open cold only.",
                    8,
                    "boxed",
                ),
            )
        ),
    ]


def _one(words: str) -> Line:
    return Line((Piece(words),))


def _what(look: JobLookups, stay: Stay) -> str:
    kind, product = kind_of(look, stay), text(row_of(look, stay).get("coolant"))
    if not kind:
        return "Kind not known: ____________. Find out before filling, never by colour."
    base = BASES.get(base_of(look, stay), "")
    said = ", ".join(one for one in (kind, base) if one)
    return f"{product} ({said})." if product and product != kind else f"{said}."


def _how_much(look: JobLookups, stay: Stay) -> str:
    settings = look.view.outlook.settings
    litres = holds(look, stay)
    out = look.drains.get(stay.visit, math.nan)
    held = volume(litres, settings) or "____ L"
    expected = f"about {volume(out, settings)} come out" if out > 0 and litres > 0 else ""
    said = "; ".join(one for one in (f"The system holds {held}", expected) if one)
    return f"{said}. Out: ____ L. In: ____ L of ________________"


def _planned(look: JobLookups, stay: Stay) -> str:
    """Return the coolant on the pull list of this stay."""
    said = [
        f"{amount(figure(one['quantity']))} {text(one['counted_in'])} of {text(one['part'])}"
        for one in look.pull.get(stay.visit, ())
        if text(one["part"]) in look.coolant_parts
    ]
    return f"Pulled for it: {listed(said)}" if said else ""


def _mix(look: JobLookups, stay: Stay) -> str:
    """Return the mix to aim at, what is pulled for it, and what goes in beside that."""
    told = (aim_of(look, stay)[2], _planned(look, stay), fills_up(look, stay))
    return ". ".join(one for one in told if one) + "."
