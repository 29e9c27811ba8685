"""How much to take out and put in so that a system holds the mix that is wanted.

Shares are percent of glycol concentrate by volume; volumes add up. **Source:** balance of volumes,
exact arithmetic; the slight shrinking of glycol and water when mixed (about 1 %) is left out.
"""

import math
from dataclasses import dataclass

from fleetcool.coolant.sensible import (
    GUARD,
    check_drain_share,
    check_part,
    check_share,
    check_volume,
)
from fleetcool.errors import NotUsableError

CONCENTRATE = 100.0
WATER = 0.0
MOST_ROUNDS = 100


@dataclass(frozen=True, slots=True)
class Round:
    """One drain and fill: litres out and in [L], and the share it reaches [percent]."""

    litres: float
    reaches_pct: float


@dataclass(frozen=True, slots=True)
class Replacement:
    """What changes a system from one share to another.

    Attributes:
        source_pct: glycol in what is put in [percent].
        rounds: the drains and fills, in order; none when nothing needs to be done.
        one_fill_pct: the share one fill alone can reach [percent].
    """

    source_pct: float
    rounds: tuple[Round, ...]
    one_fill_pct: float

    @property
    def litres(self) -> float:
        """Return what is put in over all rounds [L]; as much comes out."""
        return math.fsum(one.litres for one in self.rounds)


@dataclass(frozen=True, slots=True)
class TopUp:
    """What fills a gap: concentrate and water [L], and the share it reaches [percent]."""

    concentrate_litres: float
    water_litres: float
    reaches_pct: float


@dataclass(frozen=True, slots=True)
class Refill:
    """What fills up after a drain: concentrate and mix [L], and the share it reaches [percent]."""

    concentrate_litres: float
    mix_litres: float
    reaches_pct: float


def replace(
    volume: float, now: float, target: float, source: float, drains: float | None = None
) -> Replacement:
    """Return what raises or lowers a system to a share: drain x = V(t−c)/(s−c), fill with s.

    When less comes out at once than that, full drains go first and the last round makes up the
    rest.

    Args:
        volume: what the system holds [L].
        now: glycol in it [percent].
        target: glycol wanted [percent].
        source: glycol in what is put in [percent]; 100 concentrate, 0 water.
        drains: what comes out in one drain [L]; all of it unless said.

    Raises:
        NotUsableError: a quantity is impossible, or the source cannot bring it to the target.
    """
    drained = _drained(volume, drains)
    for what, share in (("now", now), ("target", target), ("source", source)):
        check_share(what, share)
    share_out = drained / volume
    one_fill = now + (source - now) * share_out
    if math.isclose(now, target, abs_tol=GUARD):
        return Replacement(source, (), one_fill)
    if not min(now, source) < target < max(now, source) and target != source:
        raise _source_does_not_reach(now, target, source)
    if target == source:
        if drains is None or share_out < 1.0 - GUARD:
            raise _only_nears(now, target, source)
        return Replacement(source, (Round(volume, target),), one_fill)
    full = _full_rounds((source - target) / (source - now), share_out)
    if full >= MOST_ROUNDS:
        raise NotUsableError(
            "--drains",
            f"{drained:g} L of {volume:g} L, which takes {full + 1} drains and fills",
            f"enough for fewer than {MOST_ROUNDS}",
            "look in the maker's book for the drain that lets more out",
        )
    done = [
        Round(drained, after_rounds(now, source, share_out, number))
        for number in range(1, full + 1)
    ]
    at = done[-1].reaches_pct if done else now
    last = volume * (target - at) / (source - at)
    rounds = (*done, Round(last, target)) if last > volume * GUARD else tuple(done)
    return Replacement(source, rounds, one_fill)


def raise_to(volume: float, now: float, target: float, source: float = CONCENTRATE) -> float:
    """Return the litres to drain and replace so that the share rises to the target [L]."""
    return replace(volume, now, target, source).litres


def lower_to(volume: float, now: float, target: float) -> float:
    """Return the litres to drain and replace by water so that the share falls [L]."""
    return replace(volume, now, target, WATER).litres


def blend(volume: float, now: float, added: float, source: float) -> float:
    """Return the share [percent] after a gap is filled up: c' = (c(V−d) + s·d)/V.

    Args:
        volume: what the full system holds [L].
        now: glycol in what is still in there [percent].
        added: litres put in [L]; volume − added were left.
        source: glycol in what is put in [percent].

    Raises:
        NotUsableError: a quantity is impossible.
    """
    check_volume(volume)
    check_part("top-up", added, volume)
    check_share("now", now)
    check_share("source", source)
    return (now * (volume - added) + source * added) / volume


def top_up_with(volume: float, now: float, added: float, source: float) -> TopUp:
    """Return the concentrate and water in a top-up of a known share, and the share it reaches.

    Raises:
        NotUsableError: a quantity is impossible.
    """
    reaches = blend(volume, now, added, source)
    concentrate = added * source / CONCENTRATE
    return TopUp(concentrate, added - concentrate, reaches)


def top_up_to(volume: float, now: float, added: float, target: float) -> TopUp:
    """Return the concentrate and water that fill a gap so that the target is hit: k = Vt − c(V−d).

    Raises:
        NotUsableError: no mix of concentrate and water reaches the target; the sentence names the
            shares within reach.
    """
    low = blend(volume, now, added, WATER)
    high = blend(volume, now, added, CONCENTRATE)
    check_share("target", target)
    if not low - GUARD <= target <= high + GUARD:
        raise NotUsableError(
            f"a top-up of {added:g} L",
            f"a target of {target:g} percent",
            f"{low:.1f} percent (water) to {high:.1f} percent (concentrate)",
            "drain some first and use fleetcool coolant mix",
        )
    concentrate = (volume * target - now * (volume - added)) / CONCENTRATE
    concentrate = min(max(concentrate, 0.0), added)
    return TopUp(concentrate, added - concentrate, target)


def refill_with_mix(
    volume: float, drained: float, now: float, target: float, premix: float
) -> Refill:
    """Return the concentrate beside a ready mix that brings what stays in to the target.

    Concentrate a = (V·t − c·(V−D) − D·p)/(1−p), with shares as parts of one; none where the mix
    does it alone, and all of the filling where even that falls short, which `reaches_pct` tells.

    Args:
        volume: what the system holds [L].
        drained: what came out and is filled up [L].
        now: glycol in what stays in there [percent].
        target: glycol wanted [percent].
        premix: glycol in the mix [percent].

    Raises:
        NotUsableError: a quantity is impossible.
    """
    alone = blend(volume, now, drained, premix)
    check_share("target", target)
    stronger = CONCENTRATE - premix
    neat = volume * (target - alone) / stronger if stronger > GUARD else 0.0
    neat = min(max(neat, 0.0), drained)
    return Refill(neat, drained - neat, alone + neat * (CONCENTRATE - premix) / volume)


def refill_after_flush(volume: float, drains: float, target: float) -> TopUp:
    """Return the concentrate and water for a system that was flushed and is full of water.

    What does not drain stays as water: concentrate = V·t, and D − V·t of water beside it.

    Raises:
        NotUsableError: more concentrate is needed than drains; the sentence names the best share
            D/V and the second round that reaches the target.
    """
    drained = _drained(volume, drains)
    check_share("target", target)
    concentrate = volume * target / CONCENTRATE
    if concentrate <= drained + GUARD:
        return TopUp(concentrate, max(drained - concentrate, 0.0), target)
    best = CONCENTRATE * drained / volume
    later = replace(volume, best, target, CONCENTRATE, drained).rounds
    then = " and then ".join(f"{one.litres:.2f} L" for one in later)
    raise NotUsableError(
        f"one fill of {drained:g} L after a flush of a system of {volume:g} L",
        f"a target of {target:g} percent, which takes {concentrate:.2f} L of concentrate",
        f"at most {best:.1f} percent, because the rest stays in as water",
        f"fill {drained:g} L of concentrate for {best:.1f} percent, run it warm and let it cool, "
        f"then drain another {then} and replace it with concentrate for {target:g} percent",
    )


def left_after(share: float, rounds: int) -> float:
    """Return the old coolant left [percent] after drains that each take out a share [percent]."""
    check_drain_share(share)
    return 100.0 * (1.0 - share / 100.0) ** rounds


def rounds_until(share: float, left: float) -> int:
    """Return how many drains of a share [percent] leave at most `left` percent of the old coolant.

    n = ceil(ln r / ln(1−f)), guarded against the last digit of a float.

    Raises:
        NotUsableError: the drain takes nothing out, or `left` cannot be reached.
    """
    check_drain_share(share)
    if not 0.0 <= left <= 100.0 or (left <= 0.0 and share < 100.0):
        raise NotUsableError(
            "--left", f"{left:g} percent", "more than 0 and at most 100 percent", "correct it"
        )
    if left >= 100.0:
        return 0
    if share >= 100.0:
        return 1
    return math.ceil(math.log(left / 100.0) / math.log1p(-share / 100.0) - GUARD)


def after_rounds(now: float, source: float, share_out: float, rounds: int) -> float:
    """Return the share [percent] after drains and fills: c_n = s − (s − c)(1 − f)^n.

    Args:
        now: glycol at the start [percent].
        source: glycol in what is put in [percent].
        share_out: part of the system that each drain takes out, 0 to 1.
        rounds: how many.
    """
    return source - (source - now) * (1.0 - share_out) ** rounds


def containers(litres: float, size: float) -> int:
    """Return how many whole containers hold at least these litres, rounded up.

    Raises:
        NotUsableError: the size is not above nil.
    """
    if not (math.isfinite(size) and size > 0.0):
        raise NotUsableError("--container", f"{size:g} L", "a size above 0 L", "correct it")
    return math.ceil(round(litres / size, 9))


def _full_rounds(still: float, share_out: float) -> int:
    """Return how many full drains come before the last, partial one.

    Args:
        still: part of the way (source − target)/(source − now) that is left at the target, 0 to 1.
        share_out: part of the system that each drain takes out, 0 to 1.
    """
    if share_out >= 1.0:
        return 0
    return math.floor(math.log(still) / math.log1p(-max(share_out, GUARD)) + GUARD)


def _source_does_not_reach(now: float, target: float, source: float) -> NotUsableError:
    up = target > now
    return NotUsableError(
        f"what is put in to {'raise' if up else 'lower'} {now:g} percent to {target:g} percent",
        f"{source:g} percent of glycol",
        f"{'more' if up else 'less'} than {target:g} percent",
        f"put in {'concentrate (--source 100)' if up else 'clean water (--source 0)'}",
    )


def _only_nears(now: float, target: float, source: float) -> NotUsableError:
    return NotUsableError(
        f"what is put in to {'raise' if target > now else 'lower'} {now:g} percent",
        f"{source:g} percent of glycol, which only ever comes near {target:g} percent",
        f"{'more' if target > now else 'less'} than {target:g} percent",
        "name a stronger source (--source 100 is concentrate)"
        if target > now
        else "name a weaker source (--source 0 is water)",
    )


def _drained(volume: float, drains: float | None) -> float:
    check_volume(volume)
    if drains is None:
        return volume
    check_part("--drains", drains, volume)
    return drains
