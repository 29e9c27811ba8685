"""Another part was fitted, or came in, than was planned: which row would put the tables right."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from fleetcool.intake.part_sameness import Sameness, sameness_of
from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.numbers import part_key
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Question
from fleetcool.supply.bill import bill

TABLE, COLUMN = "vehicle_parts", "(fitted)"  # under which the answers to these questions stand
FITS, SAME_AS, NEITHER = "fits unit", "same as", "neither"
_WRONG = "wrong part"
_ASKED = ("vehicle", "unit", "service", "part", "on")


@dataclass(frozen=True, slots=True)
class Correction:
    """What was fitted or came beside what was planned or ordered, and what would put it right.

    `unit` is empty where it is about a part that came in; `question` is None where no answer can
    be turned into a row.
    """

    unit: str
    sentence: str
    question: Question | None = None


def corrections(
    history: pd.DataFrame, receipts: pd.DataFrame, standing: Standing, knowledge: Knowledge
) -> tuple[Correction, ...]:
    """Return the corrections that new work and new receipts ask for, sorted by unit and part.

    A part counts as planned when letters and digits of its number, or those of a number it is
    same as, replaced by, or known to its maker or seller as, are among what the plan takes for
    that vehicle and service. What was answered once is not asked again.

    Args:
        history: new rows with vehicle, unit, service, part, on [day number].
        receipts: new rows with part, order, on [day number], how.
        standing: vehicles, their own parts, the parts table, offers, orders and answers.
        knowledge: the parts of each layout and service.
    """
    same = sameness_of(standing)
    found = [*_fitted(history, standing, knowledge, same), *_came(receipts, standing)]
    return tuple(sorted(found, key=lambda one: (one.unit, one.sentence)))


def _fitted(
    history: pd.DataFrame, standing: Standing, knowledge: Knowledge, same: Sameness
) -> list[Correction]:
    rows = history[history["part"].notna()][list(_ASKED)].drop_duplicates()
    if not len(rows):
        return []
    needs = bill(rows.assign(visit=rows["vehicle"]), standing, knowledge)
    needs = needs[~needs["is_coolant"].astype(bool)]
    planned: dict[tuple[str, str], list[str]] = {}
    for vehicle, service, part in needs[["vehicle", "service", "part"]].itertuples(
        index=False, name=None
    ):
        planned.setdefault((str(vehicle), str(service)), []).append(str(part))
    places = {
        str(service): names(renews)
        for service, renews in knowledge.services[["service", "renews"]].itertuples(
            index=False, name=None
        )
    }
    answered = _answered(standing["words"])
    found = []
    for vehicle, unit, service, part, on in rows.itertuples(index=False, name=None):
        usual = planned.get((str(vehicle), str(service)), [])
        if not usual or any(same.one(str(part), other) for other in usual):
            continue
        where = places.get(str(service), ())
        one = _another(str(unit), str(service), where, str(part), (usual[0], float(on)))
        if one.question is None or _plain(one.question.theirs) not in answered:
            found.append(one)
    return found


def _another(
    unit: str, service: str, places: Sequence[str], part: str, about: tuple[str, float]
) -> Correction:
    usual, on = about
    went = f"Unit {unit}: {part} went in for {service} on {day_text(on)}"
    said = f"{went}, while the plan takes {usual}. "
    alike = f"if both are the same part, give {part} a row in parts with same_as {usual}"
    if len(places) != 1:
        return Correction(unit, f"{said}{alike[0].upper()}{alike[1:]}.")
    row = f"unit {unit}, place {places[0]}, part {part}"
    sentence = f"{said}If it fits this vehicle, add to vehicle_parts: {row}; {alike}."
    choices = (f"{FITS} {unit}", f"{SAME_AS} {usual}", NEITHER)
    asked = Question(TABLE, COLUMN, f"{unit}: {places[0]}: {part}", 1, choices, sentence)
    return Correction(unit, sentence, asked)


def _came(receipts: pd.DataFrame, standing: Standing) -> list[Correction]:
    """Return what receipts of a wrong part say about the offer it was ordered from."""
    wrong = receipts[receipts["how"].eq(_WRONG)]
    orders, offers = standing["orders"], standing["offers"]
    found = []
    for part, order, on in wrong[["part", "order", "on"]].itertuples(index=False, name=None):
        key = part_key(str(part))
        mine = orders[orders["order"].eq(order) & _keys(orders).eq(key)]
        supplier = next(iter(mine["supplier"].dropna()), None)
        sold = offers[_keys(offers).eq(key)]
        sold = sold if supplier is None else sold[sold["supplier"].eq(supplier)]
        by = supplier or next(iter(sold["supplier"].dropna()), None)
        number = next(iter(sold["their_number"].dropna()), None)
        which = f"the offer of {by}" if by else "the offer it was ordered from"
        told = f", whose number for it is {number}" if number else ""
        named = f"Order {order}: what came" if isinstance(order, str) else "What came"
        sentence = (
            f"{named} for {part} on {day_text(float(on))} was the wrong part. Check {which}{told}: "
            f"correct their_number in offers; if what came does fit, give its number a row in "
            f"parts with same_as {part}."
        )
        found.append(Correction("", sentence))
    return found


def _keys(frame: pd.DataFrame) -> "pd.Series[str]":
    return frame["part"].astype(object).map(lambda one: part_key(str(one)))


def _answered(words: pd.DataFrame) -> set[str]:
    mine = words[words["table"].eq(TABLE) & words["column"].eq(COLUMN)] if len(words) else words
    return {_plain(str(one)) for one in mine["theirs"]} if len(mine) else set()


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
