"""The mix a stay aims at, what is in there now, and how much concentrate gets from one to other."""

import math

import pandas as pd

from fleetcool.coolant.freeze import freeze_point, percent_for
from fleetcool.coolant.handled import CORRECTION
from fleetcool.coolant.mixing import CONCENTRATE, WATER, blend, refill_with_mix
from fleetcool.coolant.mixing import replace as replaced
from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import BASES
from fleetcool.knowledge.properties import figure as known_figure
from fleetcool.supply.bill import bought_as
from fleetcool.units import fahrenheit
from reports.job_lookups import JobLookups, Row, Stay
from reports.view import figure, text
from reports.words import volume

_LEAST_LITRES = 0.05  # less than a tenth of a litre is not measured out


def row_of(look: JobLookups, stay: Stay) -> Row:
    """Return what is in the system now, empty if nobody worked it out."""
    return look.coolant.get(stay.vehicle, {})


def kind_of(look: JobLookups, stay: Stay) -> str:
    """Return the kind in there, as worked out, else as told; empty if unknown."""
    return text(row_of(look, stay).get("kind")) or look.view.vehicle_text(stay.vehicle, "coolant")


def base_of(look: JobLookups, stay: Stay) -> str:
    """Return the base of what is in there: as worked out, else that of its product or kind."""
    base, kind = text(row_of(look, stay).get("base")), kind_of(look, stay)
    if base:
        return base
    named = {kind, text(row_of(look, stay).get("coolant"))} - {""}
    found = {
        text(one["base"])
        for product, one in look.products.items()
        if product in named or text(one["kind"]) in named
    }
    return found.pop() if len(found) == 1 else ""


def holds(look: JobLookups, stay: Stay) -> float:
    """Return what the system holds [L]: as worked out, as told, as usual; NaN if nobody knows."""
    litres = (
        figure(row_of(look, stay).get("litres")),
        figure(look.view.vehicles.get(stay.vehicle, {}).get("coolant_litres")),
        figure(look.layouts.get(stay.layout, {}).get("coolant_litres")),
    )
    return next((one for one in litres if one > 0), math.nan)


def aim_of(look: JobLookups, stay: Stay) -> tuple[float, float, str]:
    """Return the mix to aim at, what the cold alone asks for [percent], and the sentences.

    The aim is the usual mix, or more where the coldest day asks for it; 0 is asked for where that
    day is not known.
    """
    base = base_of(look, stay)
    needed, cold = _needed(look, stay, base, _coldest(look, stay))
    aim = max(known_figure("usual glycol").value, needed)
    freezes = f", freezes at {degrees(freeze_point(base, aim))}" if base in BASES else ""
    said = f"Aim at {aim:.0f} % glycol in clean water{freezes}; the manual comes first"
    return aim, needed, ". ".join(one for one in (said, cold) if one)


def fills_up(look: JobLookups, stay: Stay) -> str:
    """Return how much concentrate goes in beside the ready mix where that alone is too weak."""
    aim, needed, _ = aim_of(look, stay)
    premix = figure(_product(look, stay).get("premix_pct"))
    now, litres = figure(row_of(look, stay).get("glycol_pct")), holds(look, stay)
    out = look.drains.get(stay.visit, math.nan)
    if not (0.0 <= now <= 100.0 and 0.0 < out <= litres and 0.0 <= premix < CONCENTRATE):
        return ""
    if premix >= aim:
        if CORRECTION not in stay.services and round(blend(litres, now, out, premix), 1) >= needed:
            return ""
        aim = aim if CORRECTION in stay.services else needed
    fill = refill_with_mix(litres, out, now, aim, premix)
    if fill.concentrate_litres < _LEAST_LITRES:
        return (
            f"The {premix:.0f} % mix alone does: what stays in has {now:.0f} %, so all of it comes "
            f"to {fill.reaches_pct:.0f} %"
        )
    settings = look.view.outlook.settings
    mix = fill.mix_litres >= _LEAST_LITRES
    beside = f" with {volume(fill.mix_litres, settings)} of the {premix:.0f} % mix" if mix else ""
    said = f"The {premix:.0f} % mix alone is too weak, as what stays in has {now:.0f} %: put in "
    said += f"{volume(fill.concentrate_litres, settings)} of {_concentrate(look, stay)}{beside}"
    if round(fill.reaches_pct, 1) < round(aim, 1):
        return f"{said}, which comes to {fill.reaches_pct:.0f} % only: drain and fill once more"
    return said


def correction(look: JobLookups, stay: Stay) -> str:
    """Return how much to let out and what to put in so that the mix comes right, as sentences."""
    aim, _, _ = aim_of(look, stay)
    now, litres = figure(row_of(look, stay).get("glycol_pct")), holds(look, stay)
    if not (0.0 <= now <= 100.0 and litres > 0.0):
        return "Test first: what is in there now is not known"
    settings = look.view.outlook.settings
    said = f"The system holds {volume(litres, settings)} with {now:.0f} % glycol"
    up = now < aim
    out = replaced(litres, now, aim, CONCENTRATE if up else WATER).litres
    if out < _LEAST_LITRES:
        return f"{said}, which is what is aimed at: test it again before anything is changed"
    what = _concentrate(look, stay) if up else "clean water"
    return (
        f"{said}. Let {volume(out, settings)} out, cold, and put in as much {what}; where less "
        "comes out at once, do the rest after it was run warm and has cooled"
    )


def degrees(celsius: float) -> str:
    """Return a temperature in both units; halves go down, so that it is never said too warm."""
    both = (math.floor(celsius + 0.499), math.floor(fahrenheit(celsius) + 0.499))
    # The true minus sign, at which no program breaks a line.
    return "{} °C ({} °F)".format(*(str(one).replace("-", "−") for one in both))


def _concentrate(look: JobLookups, stay: Stay) -> str:
    """Return "concentrate" with the number the fleet buys it by."""
    part = text(_product(look, stay).get("concentrate_part"))
    if not part:
        return "concentrate of the same kind"
    own = bought_as(pd.Series([part], dtype="str"), look.view.outlook.standing["parts"])
    return f"concentrate ({text(own.iloc[0])})"


def _product(look: JobLookups, stay: Stay) -> Row:
    """Return the product in there, else the first by name of its kind and base; empty if none."""
    known = look.products.get(text(row_of(look, stay).get("coolant")))
    if known is not None:
        return known
    kind, base = kind_of(look, stay), base_of(look, stay)
    names = sorted(
        name
        for name, one in look.products.items()
        if name == kind or (text(one["kind"]) == kind and text(one["base"]) == base)
    )
    return look.products[names[0]] if names else {}


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
    said = f"Coldest day at {where} {degrees(coldest)}: must freeze at {degrees(target)} or below"
    if base not in BASES or target >= 0.0:
        return 0.0, said
    try:
        return float(math.ceil(round(percent_for(base, target), 3))), said
    except NotUsableError:
        return 0.0, f"{said}, which no mix of it reaches: ask the maker"
