"""What a line of results may say of parts and coolant, judged against the vehicle it is about."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from fleetcool.coolant.litres import litres_of
from fleetcool.intake.returned_lines import Line, WordRules, services_in
from fleetcool.knowledge.reader import in_force
from fleetcool.model.knowledge import names
from fleetcool.model.numbers import door_number, part_key
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault

MOST_FILLED = 1.3  # times what the system holds; more is another unit (common practice, no source)
_LONGEST = 40  # characters of a part number
_WITH_PARTS = ("parts", "vehicle_parts", "offers", "stock", "receipts", "orders", "history")


@dataclass(frozen=True, slots=True)
class Shop:
    """What is known of the work a shop does.

    Attributes:
        changes, wet: the services that change coolant, and those that open the coolant side.
        renews: service → places that get a new part.
        litres: door number → what its system holds [L]; only where that is known.
        parts: part numbers as they are compared.
    """

    changes: frozenset[str]
    wet: frozenset[str]
    renews: Mapping[str, tuple[str, ...]]
    litres: Mapping[str, float]
    parts: frozenset[str]


def shop_of(standing: Standing) -> Shop:
    """Return what lines of results are judged against."""
    knowledge = in_force(standing.frames, standing.as_of)
    services = knowledge.services
    kind, service = services["kind"].astype(object), services["service"].astype(object)
    renewing = services[kind.eq("renew").to_numpy()]
    held = _litres(standing["vehicles"], knowledge.layouts)
    frames = [knowledge.layout_parts, *(standing[name] for name in _WITH_PARTS)]
    known = pd.unique(pd.concat([one["part"].astype(object).dropna() for one in frames]))
    return Shop(
        frozenset(service[kind.eq("change")]),
        frozenset(service[services["wet"].astype("float64").eq(1.0)]),
        {str(s): names(r) for s, r in zip(renewing["service"], renewing["renews"], strict=True)},
        {
            door_number(str(u)): float(v)
            for u, v in zip(held["vehicle"], held["litres"], strict=True)
        },
        frozenset(part_key(str(one)) for one in known),
    )


def parts_of(
    line: Line, services: Sequence[str], shop: Shop, rules: WordRules
) -> tuple[dict[str, str], list[Fault]]:
    """Return service → part number fitted, and what cannot be right about that cell.

    One part belongs to the one service that renews a place; where several do, each part says its
    own: "new pump: WP-200 + new cap: 17". A place may stand for the service that renews it.
    """
    said = line.value("part")
    renewing = [one for one in services if one in shop.renews]
    found: dict[str, str] = {}
    faults: list[Fault] = []
    for piece in [] if said is None else str(said).split("+"):
        before, _, part = (one.strip() for one in piece.rpartition(":"))
        service, wrong = _service_of(line, before, renewing, shop, rules)
        faults += wrong or _no_part(line, part, shop)
        if service in found:
            faults.append(_part_fault(line, "one part a service", "two parts for one service"))
        found[service] = part
    return ({} if faults else found), faults


def litres_faults(line: Line, unit: str, shop: Shop) -> list[Fault]:
    """Return faults of amounts of coolant that are more than the system can take or give."""
    holds = shop.litres.get(door_number(unit))
    faults = []
    for name in ("litres_in", "litres_out"):
        litres = line.value(name)
        if holds is None or not isinstance(litres, float):
            continue
        if round(litres, 1) > round(MOST_FILLED * holds, 1):
            faults.append(
                line.fault(
                    name,
                    f"at most {MOST_FILLED * holds:.1f} L; the system of unit {unit} holds "
                    f"{holds:.1f} L",
                    "litres or gallons? Write the unit beside the number (L, us gal, imp gal), "
                    "or correct the number",
                    "more coolant than the system holds",
                )
            )
    return faults


def freeze_faults(line: Line) -> list[Fault]:
    """Return the fault of a freezing point above that of plain water: its sign was forgotten."""
    freezes = line.value("freezes_at")
    if not isinstance(freezes, float) or round(freezes, 1) <= 0.0:
        return []
    return [
        line.fault(
            "freezes_at",
            "a freezing point below that of water, like -37 °C or -34 °F",
            "write the minus sign, or the unit beside the number",
            "a freezing point without its sign",
        )
    ]


def _litres(vehicles: pd.DataFrame, layouts: pd.DataFrame) -> pd.DataFrame:
    """Return what each door number's system holds, where it is known; the one here now last."""
    here = vehicles["here"].astype(bool) if "here" in vehicles else vehicles["unit"].notna()
    ordered = vehicles.assign(vehicle=vehicles["unit"], here=here).sort_values("here")
    held = litres_of(ordered, layouts)
    return held[~held["assumed"].astype(bool).to_numpy()]


def _service_of(
    line: Line, named: str, renewing: Sequence[str], shop: Shop, rules: WordRules
) -> tuple[str, list[Fault]]:
    """Return the service a part belongs to."""
    done = ", ".join(renewing)
    if not renewing:
        return "", [_part_fault(line, "no part, as nothing was renewed", "a part without its work")]
    if not named:
        if len(renewing) == 1:
            return renewing[0], []
        expected = f'the service before each part, like "{renewing[0]}: WP-200"; done were {done}'
        return "", [_part_fault(line, expected, "a part without its service")]
    for service in renewing:
        if shop.renews[service] == (" ".join(named.lower().split()),):
            return service, []
    services, faults = services_in([named], line, "part", rules)
    fitting = [one for one in services if one in renewing]
    if faults or len(fitting) != 1:
        expected = f"a service that was done before each part: {done}"
        return "", faults or [_part_fault(line, expected, "a part of work that was not done")]
    return fitting[0], []


def _no_part(line: Line, part: str, shop: Shop) -> list[Fault]:
    """Return the fault of a text that can be no part number."""
    key = part_key(part)
    looks = any(one.isdigit() for one in key) and len(part) <= _LONGEST and "=" not in part
    if key and (looks or key in shop.parts):
        return []
    expected = "a part number as it stands on the box, or one of those in parts"
    return [_part_fault(line, expected, "not a part number")]


def _part_fault(line: Line, expected: str, cause: str) -> Fault:
    return line.fault("part", expected, "correct it", cause)
