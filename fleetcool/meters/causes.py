"""What is odd about a reading: one cause each, told apart from its neighbours."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import CHANGED, LONG, ROLLED, Taken, typed_whole, written_in
from fleetcool.meters.between import Between, between
from fleetcool.meters.digits import slips_of
from fleetcool.meters.elsewhere import other_meter, other_vehicle, same_as
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.meters.joined import Joined
from fleetcool.meters.lasting import KM, MILES, NEAR, TENTHS

CAUSES = (
    "",  # nothing is odd
    "rollover",  # used: 10^k is added
    "replaced meter",  # used: what was run before is kept
    "long run",  # used: far more than usual, and later readings go on from there
    "miles for km",  # used as converted
    "km for miles",  # used as converted
    "tenths without the point",  # used as converted
    "another unit's reading",  # not used
    "hours for distance",  # not used
    "distance for hours",  # not used
    "typo",  # not used, the right value is proposed
    "same day",  # not used: a larger or equal one of that day is
    "too much",  # not used: more than can have been run since the one before
    "too high",  # not used: higher than one that comes later
    "too low",  # not used: lower than one that comes before
    "below nothing",  # not used
    "alone",  # not used: it agrees with no other reading
    "said not right",  # not used, or used as what is right instead
)
CODE = {name: code for code, name in enumerate(CAUSES)}


@dataclass(frozen=True, slots=True)
class Found:
    """What is odd about the readings, arrays of shape (n,).

    `cause` index in `CAUSES`, `lasting` (bool: it goes on in the readings that follow), `slip`
    index in `digits.SLIPS`, `proposed` [km or h] NaN for none, `other` vehicle index, -1 for
    none, `shown` [km or h] what the meter it fits showed, `before` and `after` positions of the
    used neighbours, -1 for none. `until` is the position of the last reading of a lasting change
    that the meter begins with and that ended, -1 elsewhere.
    """

    cause: Ints
    lasting: Bools
    slip: Ints
    proposed: Floats
    other: Ints
    shown: Floats
    before: Ints
    after: Ints
    until: Ints


@dataclass(frozen=True, slots=True)
class Repaired:
    """A repaired fleet: what the readings are taken for, the chain, and what is used.

    `factor` (n,) multiplies a value as it came; `held` (n,) says where the factor holds for
    more than one reading; `chosen` (n,) are those of the chain, `used` (n,) the largest of their
    day among them; `at` (n_chain,) their positions, `joined` what lies between them.
    """

    taken: Taken
    factor: Floats
    held: Bools
    chosen: Bools
    used: Bools
    at: Ints
    joined: Joined


def find(gathered: Gathered, repaired: Repaired) -> Found:
    """Return what is odd about each reading, and what would be right."""
    found = _nothing(len(gathered.on))
    _name_links(repaired, found)
    _name_converted(gathered, repaired, found)
    _name_said(gathered, repaired, found)
    found.cause[repaired.chosen & ~repaired.used] = CODE["same day"]
    left = np.flatnonzero(~repaired.chosen & (found.cause == 0))
    _name_left(gathered, repaired, found, left)
    return found


def _nothing(n: int) -> Found:
    nobody = np.full((4, n), -1, dtype="int64")
    values = np.full((2, n), np.nan)
    plain = np.zeros((2, n), dtype="int64")
    odd = np.zeros(n, dtype=bool)
    return Found(plain[0], odd, plain[1], values[0], nobody[0], values[1], *nobody[1:])


def _name_links(repaired: Repaired, found: Found) -> None:
    """Name what lies before a used reading when the meter did not run straight on.

    A smaller reading of the same day hands what lies before it to the one that is used.
    """
    at, kind = repaired.at, repaired.joined.kind
    used = np.flatnonzero(repaired.used[at])
    if not len(used):
        return
    first = np.append(0, used[:-1] + 1)
    weightiest = np.maximum.reduceat(kind, first)
    for wanted, name in ((ROLLED, "rollover"), (CHANGED, "replaced meter"), (LONG, "long run")):
        links = np.flatnonzero(weightiest == wanted)
        found.cause[at[used[links]]] = CODE[name]
        found.before[at[used[links]]] = at[first[links] - 1]


def _name_converted(gathered: Gathered, repaired: Repaired, found: Found) -> None:
    """Name readings used as converted; one that goes on, at its first reading only."""
    factor = repaired.factor
    converted = repaired.used & (factor != 1.0) & ~gathered.told
    found.proposed[converted] = repaired.taken.value[converted]
    before = np.full(len(factor), -1, dtype="int64")
    before[repaired.at[1:]] = repaired.at[:-1]
    same = (before >= 0) & (gathered.series[before] == gathered.series)
    goes_on = converted & repaired.held & same & (factor[before] == factor)
    found.lasting[converted & repaired.held] = True
    first = converted & ~goes_on
    for by, name in ((MILES, "miles for km"), (KM, "km for miles")):
        found.cause[first & (_are(factor, by) | _are(factor, by * TENTHS))] = CODE[name]
    found.cause[first & _are(factor, TENTHS)] = CODE["tenths without the point"]
    found.before[first & same] = before[first & same]
    _say_until(gathered, repaired, found, np.flatnonzero(first & ~same & repaired.held))


def _are(factor: Floats, by: float) -> Bools:
    return np.asarray(np.abs(factor / by - 1.0) < 1e-9)


def _say_until(gathered: Gathered, repaired: Repaired, found: Found, first: Ints) -> None:
    """Say where lasting changes end that start with the first reading of a meter."""
    at, factor = repaired.at, repaired.factor
    place = np.searchsorted(at, first)
    breaks = np.ones(len(at), dtype=bool)
    breaks[1:] = factor[at[1:]] != factor[at[:-1]]
    breaks[1:] |= gathered.series[at[1:]] != gathered.series[at[:-1]]
    starts = np.append(np.flatnonzero(breaks), len(at))
    stop = starts[np.searchsorted(starts, place, side="right")]
    ended = stop < len(at)
    ended[ended] = gathered.series[at[stop[ended]]] == gathered.series[first[ended]]
    found.until[first[ended]] = at[stop[ended] - 1]


def _name_said(gathered: Gathered, repaired: Repaired, found: Found) -> None:
    """Name readings a person called not right, and those below nothing."""
    not_right = (gathered.said == "not right") | ~np.isnan(gathered.instead)
    found.cause[not_right] = CODE["said not right"]
    found.proposed[not_right] = gathered.instead[not_right]
    found.cause[~repaired.chosen & (gathered.value < 0) & ~not_right] = CODE["below nothing"]


def _name_left(gathered: Gathered, repaired: Repaired, found: Found, left: Ints) -> None:
    """Name readings that are not used: first what names one value, then what names a side."""
    taken = repaired.taken
    value = gathered.value[left]
    around = between(taken, repaired.used, left)
    found.before[left], found.after[left] = around.before, around.after
    cause = _side(taken, left, around)
    slips = slips_of(value, written_in(gathered)[left], taken.usual[left], around)
    cause = np.where(slips.slip > 0, CODE["typo"], cause)
    whose, shown = _whose(gathered, repaired, left, value)
    distance = taken.series[left] % len(METERS) == 0
    own = np.where(distance, CODE["hours for distance"], CODE["distance for hours"])
    theirs = np.full(len(left), CODE["another unit's reading"])
    cause = np.where(np.isnan(shown), cause, np.where(whose >= 0, theirs, own))
    by, unit = _unit(value, around, distance)
    unit = np.where(np.isnan(shown), unit, 0)
    nearer = around.off(slips.right) + taken.usual[left] < around.off(value * by)
    no_tenths = ((slips.slip > 0) & nearer) | ~typed_whole(gathered)[left]
    unit = np.where((by == TENTHS) & no_tenths, 0, unit)
    cause = np.where(unit > 0, unit, cause)
    found.cause[left] = cause
    typo = cause == CODE["typo"]
    found.slip[left] = np.where(typo, slips.slip, 0)
    proposed = np.where(typo, slips.right, np.where(unit > 0, value * by, np.nan))
    found.proposed[left], found.other[left], found.shown[left] = proposed, whose, shown


def _whose(
    gathered: Gathered, repaired: Repaired, left: Ints, value: Floats
) -> tuple[Ints, Floats]:
    """Return whose meter readings fit and what that one showed that day, shape (m,).

    The vehicle's own other meter and an exact likeness stand before one that is only near. Index
    -1 for its own or for none; NaN where none is found.
    """
    taken, used = repaired.taken, repaired.used
    shown = other_meter(taken, used, left, value)
    whose = np.where(np.isnan(shown), same_as(taken, used, left, value), -1)
    shown = np.where(whose >= 0, value, shown)
    open_ = np.flatnonzero(np.isnan(shown))
    near, there = other_vehicle(gathered, taken, used, left[open_], value[open_])
    whose[open_], shown[open_] = near, there
    return whose, shown


def _unit(value: Floats, around: Between, distance: Bools) -> tuple[Floats, Ints]:
    """Return the factor by which a reading would fit, and the code of that cause, else 0."""
    by, code = np.ones(len(value)), np.zeros(len(value), dtype="int64")
    for factor, name in (
        (TENTHS, "tenths without the point"),
        (KM, "km for miles"),
        (MILES, "miles for km"),
    ):
        meant = value * factor
        fits = around.holds(meant) & (distance | (factor == TENTHS))
        fits &= around.off(meant) <= NEAR * np.maximum(around.nearest(meant), 0.0)
        by, code = np.where(fits, factor, by), np.where(fits, CODE[name], code)
    return by, code


def _side(taken: Taken, at: Ints, around: Between) -> Ints:
    """Return the code of the plain reason: lower, higher or more than its neighbours allow."""
    has_before, has_after = around.before >= 0, around.after >= 0
    p, q = np.maximum(around.before, 0), np.maximum(around.after, 0)
    lower = has_before & (taken.value[at] < taken.value[p])
    higher = has_after & (taken.value[at] > taken.value[q])
    choices = [lower, higher, has_before, has_after]
    codes = [CODE["too low"], CODE["too high"], CODE["too much"], CODE["too low"]]
    return np.asarray(np.select(choices, codes, CODE["alone"]).astype("int64"))
