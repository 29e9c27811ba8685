"""The page of advice about topping up one coolant with another."""

import math

from fleetcool.coolant.advice import Advice, Coolant, Life
from fleetcool.knowledge.properties import BASES
from reports.coolant_answers import Answer
from reports.coolant_litres import litres_text
from reports.words import listed


def kinds_answer(advice: Advice, volume: float | None, *, us: bool) -> Answer:
    """Return whether one coolant may top up another, and what to do once they are mixed.

    Args:
        advice: what holds.
        volume: what the system holds [L]; None if nobody said.
        us: show US units beside.
    """
    verdict = "may" if advice.may else "should not"
    lines = [
        f"{advice.added.product} {verdict} top up {advice.held.product}.",
        *(f"  {one}" for one in advice.why),
        "",
        f"To put in:   {_known(advice.added)}",
        f"In there:    {_known(advice.held)}",
        "The colour says nothing: makers use the same dye for different kinds.",
    ]
    if advice.added.kind != advice.held.kind or not advice.may:
        lines += ["", *_once_mixed(advice, volume, us=us)]
    lines += ["", *(f"Caution: {one}" for one in advice.cautions)]
    lines.append("The vehicle maker's book and local rules go before all of this.")
    return Answer(tuple(lines), _content(advice))


def _known(coolant: Coolant) -> str:
    named = listed(coolant.specification) or "no open standard that tells its kind"
    return f"kind {coolant.kind}, base {BASES[coolant.base]}, specification {named}"


def _once_mixed(advice: Advice, volume: float | None, *, us: bool) -> list[str]:
    most = f"{advice.most_pct:g} percent"
    litres = "" if volume is None else litres_text(volume * advice.most_pct / 100.0, us=us)
    shares = (
        (
            f"  Up to {most} of the other kind{f' ({litres} here)' if litres else ''} the life in "
            "force stays."
        ),
        f"  Above {most} the shorter life counts from the day of mixing.",
    )
    lost = "the longer life" if advice.lives else "knowing at what it freezes"
    lines = [
        "Once they are mixed:",
        f"  Usually the engine is not harmed at once; what is lost is {lost}.",
        *(shares if advice.lives else ()),
        f"  Test it within {advice.test_days} days of mixing, whatever the share.",
        "  To be sure of it again: drain, flush and fill with one kind on one base.",
        "  Write down what went in, how much and when.",
    ]
    if advice.lives:
        lines.append("The shorter life, for a coolant change, whichever comes first:")
        lines += [f"  {_life(one)}" for one in advice.lives]
    return lines


def _life(life: Life) -> str:
    limits = [
        "" if math.isnan(life.months) else f"{life.months:g} months",
        "" if math.isnan(life.km) else f"{life.km:,.0f} km",
        "" if math.isnan(life.hours) else f"{life.hours:,.0f} engine hours",
    ]
    return f"{life.size}: {listed(limits)}, as {life.kind}"


def _content(advice: Advice) -> dict[str, object]:
    return {
        "added": _coolant_json(advice.added),
        "held": _coolant_json(advice.held),
        "may_top_up": advice.may,
        "why": list(advice.why),
        "most_pct": advice.most_pct,
        "test_within_days": advice.test_days,
        "shorter_life": [
            {
                "size": one.size,
                "kind": one.kind,
                "km": None if math.isnan(one.km) else one.km,
                "hours": None if math.isnan(one.hours) else one.hours,
                "months": None if math.isnan(one.months) else one.months,
            }
            for one in advice.lives
        ],
        "cautions": list(advice.cautions),
    }


def _coolant_json(coolant: Coolant) -> dict[str, object]:
    return {
        "coolant": coolant.product,
        "kind": coolant.kind,
        "base": coolant.base,
        "specification": list(coolant.specification),
    }
