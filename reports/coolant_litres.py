"""What the coolant commands answer about litres, drains and doses: sentences, and as JSON."""

from dataclasses import dataclass

from fleetcool.coolant.dose import Dose
from fleetcool.coolant.mixing import (
    CONCENTRATE,
    WATER,
    Replacement,
    TopUp,
    containers,
    left_after,
    rounds_until,
)
from fleetcool.knowledge.properties import figure, most_glycol_of_any
from fleetcool.units import LITRES_PER_US_GALLON
from reports.coolant_answers import Answer
from reports.words import counted

CAUTION = (
    "Work on a cold engine; coolant is poison, catch it all and label it. The maker's book goes "
    "first."
)
_MOST_LINES = 12


def litres_text(litres: float, *, us: bool) -> str:
    """Return a volume [L], with US units beside it in gallons."""
    return f"{litres:.2f} L" + (f" ({litres / LITRES_PER_US_GALLON:.2f} US gal)" if us else "")


def source_words(percent: float) -> str:
    """Return what is put in, by its share of glycol [percent]."""
    if percent == CONCENTRATE:
        return "concentrate"
    return "clean water" if percent == WATER else f"premix of {percent:g} percent"


@dataclass(frozen=True, slots=True)
class MixAsked:
    """What was asked: volume [L], glycol now and wanted [percent], what drains at once [L]."""

    volume: float
    now: float
    target: float
    drains: float | None


def mix_answer(found: Replacement, asked: MixAsked, container: float | None, *, us: bool) -> Answer:
    """Return how a system is brought from one share of glycol to another.

    Args:
        found: the drains and fills.
        asked: what was asked.
        container: size of one container of what is put in [L]; None if nobody asked.
        us: show US units beside.

    Raises:
        NotUsableError: the container has no size.
    """
    what = source_words(found.source_pct)
    if not found.rounds:
        lines = [f"It holds {asked.target:g} percent already; nothing is to be done."]
    elif len(found.rounds) == 1:
        litres = litres_text(found.litres, us=us)
        lines = [
            (
                f"Drain {litres} of the {litres_text(asked.volume, us=us)} and put in {litres} "
                f"of {what}: {asked.now:g} percent becomes {asked.target:g} percent."
            ),
        ]
        usual = figure("radiator drains").value / 100.0
        if asked.drains is None and found.litres > usual * asked.volume:
            lines.append("If less than that comes out at once, say how much with --drains.")
    else:
        lines = _round_lines(found, asked.target, what, us=us)
    bought = _containers(found.litres, container, what)
    lines += [*bought, CAUTION]
    content: dict[str, object] = {
        "litres": round(found.litres, 6),
        "rounds": len(found.rounds),
        "source_pct": found.source_pct,
        "in_one_fill": len(found.rounds) <= 1,
        "one_fill_pct": round(found.one_fill_pct, 4),
        "each": [
            {"litres": round(one.litres, 6), "reaches_pct": round(one.reaches_pct, 4)}
            for one in found.rounds
        ],
    }
    return Answer(tuple(lines), content | _containers_json(found.litres, container))


def _round_lines(found: Replacement, target: float, what: str, *, us: bool) -> list[str]:
    first = found.rounds[0]
    lines = [
        (
            f"{target:g} percent cannot be had in one fill: {litres_text(first.litres, us=us)} "
            f"drain, and one fill reaches {found.one_fill_pct:.1f} percent at best."
        ),
    ]
    for number, one in enumerate(found.rounds[:_MOST_LINES], 1):
        litres = litres_text(one.litres, us=us)
        lines.append(
            f"Round {number}: drain {litres}, put in {litres} of {what}, "
            f"run it warm and let it cool: {one.reaches_pct:.1f} percent."
        )
    if len(found.rounds) > _MOST_LINES:
        lines.append(f"… and so on, {counted(len(found.rounds), 'round')} in all.")
    lines.append(f"That takes {litres_text(found.litres, us=us)} of {what} in all.")
    return lines


def top_up_answer(found: TopUp, container: float | None, *, us: bool) -> Answer:
    """Return what fills a gap, or a flushed system, and the share it reaches."""
    over = round(found.reaches_pct, 1) > most_glycol_of_any()
    least = figure("least glycol").value
    lines = [
        (
            f"Put in {litres_text(found.concentrate_litres, us=us)} of concentrate and "
            f"{litres_text(found.water_litres, us=us)} of clean water: it then holds "
            f"{found.reaches_pct:.1f} percent."
        ),
        *_containers(found.concentrate_litres, container, "concentrate"),
    ]
    if over:
        lines.append("That is over-concentrated: it protects less, not more. Use water or premix.")
    elif round(found.reaches_pct, 1) < least:
        lines.append(f"That is below the working range, which starts at {least:g} percent.")
    lines.append("Mix before pouring, with coolant of the same kind and specification. " + CAUTION)
    content: dict[str, object] = {
        "litres": round(found.concentrate_litres + found.water_litres, 6),
        "concentrate_litres": round(found.concentrate_litres, 6),
        "water_litres": round(found.water_litres, 6),
        "reaches_pct": round(found.reaches_pct, 4),
        "over_concentrated": over,
    }
    return Answer(tuple(lines), content | _containers_json(found.concentrate_litres, container))


def drain_answer(share: float, left: float) -> Answer:
    """Return how many drains [percent each] leave at most `left` percent of the old coolant.

    Raises:
        NotUsableError: it cannot be reached.
    """
    rounds = rounds_until(share, left)
    shown = [left_after(share, number) for number in range(1, min(rounds, _MOST_LINES) + 1)]
    lines = [
        (
            f"{counted(rounds, 'drain and fill', 'drains and fills')} of {share:g} percent "
            f"{'leaves' if rounds == 1 else 'each leave'} {left_after(share, rounds):.2f} percent "
            f"of the old coolant, at most {left:g} was asked."
        ),
        *(f"after {number}: {one:.2f} percent left" for number, one in enumerate(shown, 1)),
    ]
    if rounds > _MOST_LINES:
        lines.append("… and so on.")
    lines.append("Run it warm and let it cool between them, so that it mixes. " + CAUTION)
    return Answer(
        (lines[0][:1].upper() + lines[0][1:], *lines[1:]),
        {
            "rounds": rounds,
            "left_pct": round(left_after(share, rounds), 6),
            "left_after_each_pct": [round(one, 6) for one in shown],
        },
    )


def dose_answer(found: Dose, per: str) -> Answer:
    """Return the additive a system needs; `per` is l or usgal, for what people read."""
    scale, name = (LITRES_PER_US_GALLON, "US gal") if per == "usgal" else (1.0, "L")
    filters = (
        f": {counted(found.filters, 'charged filter')} and "
        f"{counted(found.liquid_units, 'unit')} of liquid"
        if found.filters
        else ""
    )
    reached = f"{found.reaches * scale:.2f} units/{name}"
    most = f"{found.most * scale:.2f} units/{name}"
    lines = [
        (
            f"It needs {found.exact:g} units, rounded up to {counted(found.units, 'unit')}"
            f"{filters}; it then holds {reached}, the upper limit is {most}."
        ),
    ]
    if found.units == 0:
        lines = [f"It needs no additive: {reached} is at or above what is wanted."]
    elif round(found.reaches, 3) > round(found.most, 3):
        lines.append("Rounded up to whole units it would pass the upper limit: measure the part.")
    lines.append(
        "Dose only on a test of today, and test again afterwards: too much does harm too. "
        "Not for coolant that wants no additive. " + CAUTION
    )
    content = {
        "units": found.units,
        "exact_units": found.exact,
        "filters": found.filters,
        "liquid_units": found.liquid_units,
        "reaches_units_by_litre": round(found.reaches, 6),
        "most_units_by_litre": round(found.most, 6),
        "above_most": round(found.reaches, 3) > round(found.most, 3),
    }
    return Answer(tuple(lines), content)


def _containers(litres: float, size: float | None, what: str) -> list[str]:
    if size is None:
        return []
    number = containers(litres, size)
    return [f"Whole containers of {size:g} L of {what}: {number}."]


def _containers_json(litres: float, size: float | None) -> dict[str, object]:
    return {} if size is None else {"containers": containers(litres, size)}
