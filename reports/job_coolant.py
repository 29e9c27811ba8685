"""The coolant of a job sheet: what comes out and goes in, what to record, the tag to hang up."""

import math

from fleetcool.coolant.freeze import freeze_point, percent_for
from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import BASES
from fleetcool.knowledge.properties import figure as known_figure
from fleetcool.units import fahrenheit
from reports.job_lookups import JobLookups, Row, Stay
from reports.sheets import TICK, Line, Piece
from reports.steps import only_put_back
from reports.view import figure, text
from reports.words import amount, listed, volume

_HOW = (
    f"{TICK} Fill slowly, heater on hot, bleed until no more air comes, warm up until the "
    "thermostat opens, let it cool, top up."
)


def coolant_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return what to fill and what to record; nothing for a dry stay."""
    if not stay.is_wet:
        return []
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


def tag_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return the line for who and when, and after wet work the tag for the filler neck."""
    done = _one(
        "Done on ____________  odometer ____________  hours ________  minutes ______  by ______"
    )
    if not stay.is_wet:
        return [done]
    kind = _kind(look, stay) or "____________"
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


def _row(look: JobLookups, stay: Stay) -> Row:
    return look.coolant.get(stay.vehicle, {})


def _kind(look: JobLookups, stay: Stay) -> str:
    return text(_row(look, stay).get("kind")) or look.view.vehicle_text(stay.vehicle, "coolant")


def _base(look: JobLookups, stay: Stay) -> str:
    """Return the base of what is in there: as worked out, else that of its product or kind."""
    base, kind = text(_row(look, stay).get("base")), _kind(look, stay)
    if base:
        return base
    named = {kind, text(_row(look, stay).get("coolant"))} - {""}
    found = {
        text(one["base"])
        for product, one in look.products.items()
        if product in named or text(one["kind"]) in named
    }
    return found.pop() if len(found) == 1 else ""


def _what(look: JobLookups, stay: Stay) -> str:
    kind, product = _kind(look, stay), text(_row(look, stay).get("coolant"))
    if not kind:
        return "Kind not known: ____________. Find out before filling, never by colour."
    base = BASES.get(_base(look, stay), "")
    said = ", ".join(one for one in (kind, base) if one)
    return f"{product} ({said})." if product and product != kind else f"{said}."


def _how_much(look: JobLookups, stay: Stay) -> str:
    settings = look.view.outlook.settings
    litres = _holds(look, stay)
    out = look.drains.get(stay.visit, math.nan)
    holds = volume(litres, settings) or "____ L"
    expected = f"about {volume(out, settings)} come out" if out > 0 and litres > 0 else ""
    said = "; ".join(one for one in (f"The system holds {holds}", expected) if one)
    return f"{said}. Out: ____ L. In: ____ L of ________________"


def _holds(look: JobLookups, stay: Stay) -> float:
    """Return what the system holds [L]: as worked out, as told, as usual; NaN if nobody knows."""
    litres = (
        figure(_row(look, stay).get("litres")),
        figure(look.view.vehicles.get(stay.vehicle, {}).get("coolant_litres")),
        figure(look.layouts.get(stay.layout, {}).get("coolant_litres")),
    )
    return next((one for one in litres if one > 0), math.nan)


def _mix(look: JobLookups, stay: Stay) -> str:
    """Return the mix to aim at: the usual one, or more where the coldest day asks for it."""
    base, usual = _base(look, stay), known_figure("usual glycol").value
    coldest = _coldest(look, stay)
    needed, cold = _needed(look, stay, base, coldest)
    aim = max(usual, needed)
    freezes = f", freezes at {_degrees(freeze_point(base, aim))}" if base in BASES else ""
    said = f"Aim at {aim:.0f} % glycol in clean water{freezes}; the manual comes first"
    return ". ".join(one for one in (said, cold, _planned(look, stay)) if one) + "."


def _coldest(look: JobLookups, stay: Stay) -> float:
    """Return the coldest day to be protected against [°C], NaN when nobody has said it."""
    told = (
        figure(look.view.vehicles.get(stay.vehicle, {}).get("coldest_c")),
        figure(look.view.depots.get(text(stay.row["yard"]), {}).get("coldest_c")),
    )
    return next((one for one in told if not math.isnan(one)), math.nan)


def _needed(look: JobLookups, stay: Stay, base: str, coldest: float) -> tuple[float, str]:
    """Return the glycol [percent] that the coldest day asks for, 0 if unknown, and a sentence."""
    if math.isnan(coldest):
        return 0.0, ""
    target = coldest - known_figure("freezes below coldest").value
    where = look.view.depot_name(text(stay.row["yard"]))
    said = f"Coldest day at {where} {_degrees(coldest)}: must freeze at {_degrees(target)} or below"
    if base not in BASES or target >= 0.0:
        return 0.0, said
    try:
        return float(math.ceil(round(percent_for(base, target), 3))), said
    except NotUsableError:
        return 0.0, f"{said}, which no mix of it reaches: ask the maker"


def _degrees(celsius: float) -> str:
    """Return a temperature in both units; halves go down, so that it is never said too warm."""
    both = (math.floor(celsius + 0.499), math.floor(fahrenheit(celsius) + 0.499))
    # The true minus sign, at which no program breaks a line.
    return "{} °C ({} °F)".format(*(str(one).replace("-", "−") for one in both))


def _planned(look: JobLookups, stay: Stay) -> str:
    """Return the coolant on the pull list of this stay."""
    said = [
        f"{amount(figure(one['quantity']))} {text(one['counted_in'])} of {text(one['part'])}"
        for one in look.pull.get(stay.visit, ())
        if text(one["part"]) in look.coolant_parts
    ]
    return f"Pulled for it: {listed(said)}" if said else ""
