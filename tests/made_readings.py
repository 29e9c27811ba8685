"""When the meters of an invented fleet are read, what they show, and what goes wrong with it.

Three kinds of trouble are planted: lasting ones (a meter replaced, rolled over, read in the other
unit from a day on), single mistyped readings, and two readings of one day. Every planted row
says what it is.
"""

from dataclasses import dataclass

import numpy as np
from made_use import AS_OF, CLASSES, FIRST_DAY, Bools, Floats, Ints, Regime, Use
from numpy.typing import NDArray

MILE = 1.609344  # km, exactly: international yard and pound
ODOMETER, HOURS = 0, 1
# Mistyped readings and how often each kind is; invented.
MISTYPED = {
    "digit": 0.22,
    "swap": 0.13,
    "drop": 0.12,
    "double": 0.10,
    "insert": 0.12,
    "tenths": 0.07,
    "unit": 0.14,
    "another": 0.06,
    "column": 0.04,
}
LASTING = ("", "changed", "told", "rolled", "switched")


@dataclass(frozen=True, slots=True)
class Meter:
    """One sort of meter of the fleet, arrays of shape (V,).

    `fitted` (bool) has such a meter. `base` [km or h] is what had been run before the first day.
    `event` is one of `LASTING`; it happens at the end of day `event_on` [day number]; `until`
    [day number] is the last day of a switch. `new_at` [km or h] is what a replaced meter starts
    from, `rolls_at` where it starts again from nil, `factor` what a switch multiplies by.
    """

    fitted: Bools
    base: Floats
    event: NDArray[np.object_]
    event_on: Floats
    until: Floats
    new_at: Floats
    rolls_at: Floats
    factor: Floats


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings as they came, in order of vehicle, meter and day, arrays of shape (n,).

    `meter` 0 odometer, 1 engine hours; `on` [day number]; `raw` [km or h] as it came; `shown`
    [km or h] what the meter showed; `true` [km or h] run since first use; `fault` "" or a name of
    `MISTYPED`, or "switched"; `after` (bool): the meter has been replaced or has rolled over by
    then; `told` (bool): an end of a told change.
    """

    vehicle: Ints
    meter: Ints
    on: Floats
    raw: Floats
    shown: Floats
    true: Floats
    fault: NDArray[np.object_]
    after: Bools
    told: Bools


def make_meter(
    regime: Regime, use: Use, which: int, last_on: Floats, chance: np.random.Generator
) -> Meter:
    """Return the odometers or hour meters of a fleet and what lastingly happens to them."""
    n = len(use.of_class)
    run = (use.distance, use.hours)[which]
    fitted = np.ones(n, dtype=bool) if which == ODOMETER else chance.random(n) < regime.hour_meters
    most = (250_000.0, 9_000.0)[which]
    base = np.where(use.is_new, 0.0, chance.uniform(0.02, 1.0, n) * most)
    shares = (regime.changes, regime.told_changes, regime.rollovers, regime.switches)
    event = chance.choice(
        np.array(LASTING, dtype=object), n, p=np.array([1 - sum(shares), *shares])
    )
    event[(which == HOURS) & (event == "switched")] = ""  # hours have no second unit
    event[use.is_new & (event == "rolled")] = ""
    at = use.entered_on + chance.uniform(0.15, 0.85, n) * (last_on - use.entered_on)
    event_on = np.floor(at)
    by_then = run[np.arange(n), (event_on - FIRST_DAY).astype("int64")]
    rolls = ((1.0e5, 1.0e6), (1.0e4, 1.0e5))[which]
    rolls_at = np.where(by_then < rolls[0], *rolls).astype("float64")
    base = np.where(event == "rolled", rolls_at - by_then, base)
    rolls_at = np.where(event == "rolled", rolls_at, np.inf)
    back = chance.random(n) < 0.5
    until = np.where(back, event_on + chance.integers(30, 200, n), np.inf)
    new_at = np.where(chance.random(n) < 0.7, 0.0, np.round(chance.uniform(0.02, 1.0, n) * most))
    factor = np.where(chance.random(n) < 0.5, MILE, 1 / MILE).astype("float64")
    return Meter(fitted, base, event, event_on, until, new_at, rolls_at, factor)


def last_read(use: Use, chance: np.random.Generator) -> Floats:
    """Return the day after which no reading comes [day number]; a few have fallen silent."""
    n = len(use.of_class)
    silent = (chance.random(n) < 0.04) * chance.uniform(30, 120, n)
    return np.asarray(np.maximum(np.floor(AS_OF - silent), use.entered_on))


def read_days(use: Use, last_on: Floats, chance: np.random.Generator) -> tuple[Ints, Floats]:
    """Return vehicle and day number of every look at the meters: weekly, now and then, monthly."""
    n = len(use.of_class)
    habit = chance.choice(4, n, p=(0.5, 0.15, 0.2, 0.15))
    most = 320
    gaps = np.empty((n, most))
    gaps[habit == 0] = np.maximum(
        np.round(chance.normal(7, 1.0, (int((habit == 0).sum()), most))), 3
    )
    gaps[habit == 1] = chance.integers(2, 6, (int((habit == 1).sum()), most))
    gaps[habit == 2] = np.ceil(chance.gamma(1.3, 10.0, (int((habit == 2).sum()), most)))
    gaps[habit == 3] = np.round(chance.normal(30, 3.0, (int((habit == 3).sum()), most)))
    gaps = np.maximum(gaps, 1.0)
    gaps[:, 0] = 0.0
    days = use.entered_on[:, None] + np.cumsum(gaps, axis=1)
    vehicle, place = np.nonzero(days <= last_on[:, None])
    return vehicle.astype("int64"), days[vehicle, place]


def make_readings(
    use: Use,
    which: int,
    meter: Meter,
    days: tuple[Ints, Floats],
    chance: np.random.Generator,
) -> Readings:
    """Return the readings of one sort of meter, single mistyped ones not yet among them."""
    kept = meter.fitted[days[0]] & ((which == ODOMETER) | (chance.random(len(days[0])) < 0.95))
    vehicle, on = days[0][kept], days[1][kept]
    again = np.flatnonzero(chance.random(len(on)) < 0.01)  # a second look that day
    share = chance.uniform(0.3, 1.0, len(on))
    vehicle = np.concatenate([vehicle, vehicle[again]])
    on = np.concatenate([on, on[again]])
    share = np.concatenate([share, share[again] * chance.uniform(0.5, 1.0, len(again))])
    run = _run((use.distance, use.hours)[which], vehicle, on, share)
    place = (1.0, 10.0)[which]
    before = meter.event_on[vehicle] >= on
    start = _run((use.distance, use.hours)[which], np.arange(len(use.of_class)), meter.event_on,
                 np.ones(len(use.of_class)))  # fmt: skip
    replaced = np.isin(meter.event[vehicle], ["changed", "told"]) & ~before
    true = meter.base[vehicle] + run
    shown = np.where(replaced, meter.new_at[vehicle] + run - start[vehicle], true)
    rolled = shown >= meter.rolls_at[vehicle]
    shown = np.floor(np.where(rolled, shown - meter.rolls_at[vehicle], shown) * place) / place
    switched = (meter.event[vehicle] == "switched") & ~before & (on <= meter.until[vehicle])
    raw = np.where(switched, np.round(shown * meter.factor[vehicle] * place) / place, shown)
    fault = np.where(switched, "switched", "").astype(object)
    made = Readings(vehicle, np.full(len(on), which), on, raw, shown, true, fault,
                    replaced | rolled, np.zeros(len(on), dtype=bool))  # fmt: skip
    return _and(made, _told_ends(which, meter, start))


def _run(run: Floats, vehicle: Ints, on: Floats, share: Floats) -> Floats:
    """Return what has been run by a share of a day, shape (n,)."""
    at = (on - FIRST_DAY).astype("int64")
    before = np.where(at > 0, run[vehicle, np.maximum(at - 1, 0)], 0.0)
    return np.asarray(before + share * (run[vehicle, at] - before))


def _told_ends(which: int, meter: Meter, start: Floats) -> Readings:
    """Return both ends of every told change."""
    one = np.flatnonzero((meter.event == "told") & meter.fitted)
    vehicle, n = np.repeat(one, 2), 2 * len(one)
    after = np.tile([False, True], len(one))
    true = (meter.base + start)[vehicle]
    raw = np.asarray(np.round(np.where(after, meter.new_at[vehicle], true)), dtype=np.float64)
    return Readings(vehicle, np.full(n, which), meter.event_on[vehicle], raw, raw, true,
                    np.full(n, "", dtype=object), after, np.ones(n, dtype=bool))  # fmt: skip


def _and(one: Readings, other: Readings) -> Readings:
    fields = Readings.__dataclass_fields__
    return Readings(*(np.concatenate([getattr(one, f), getattr(other, f)]) for f in fields))


def joined(parts: list[Readings]) -> Readings:
    """Return readings of several meters in order of vehicle, meter, day, meter fitted, value."""
    both = parts[0]
    for part in parts[1:]:
        both = _and(both, part)
    order = np.lexsort([both.shown, both.after & (both.told), both.on, both.meter, both.vehicle])
    return Readings(*(getattr(both, f)[order] for f in Readings.__dataclass_fields__))


def mistype(
    regime: Regime, readings: Readings, yard: Ints, chance: np.random.Generator
) -> Readings:
    """Return the readings with a share of them mistyped; `yard` (V,) is each vehicle's."""
    names = np.array(list(MISTYPED), dtype=object)
    n = len(readings.on)
    kind = chance.choice(names, n, p=np.array(list(MISTYPED.values())))
    hit = (chance.random(n) < regime.typos) & ~readings.told & (readings.fault == "")
    hit &= (readings.meter == ODOMETER) | (kind != "unit")
    raw = readings.raw.copy()
    for name in names:
        at = np.flatnonzero(hit & (kind == name))
        raw[at] = _mistyped(str(name), readings, yard, at, chance)
    spoilt = hit & (raw != readings.raw) & ~np.isnan(raw)
    fault = np.where(spoilt, kind, readings.fault)
    return Readings(
        readings.vehicle, readings.meter, readings.on, np.where(spoilt, raw, readings.raw),
        readings.shown, readings.true, fault, readings.after, readings.told,
    )  # fmt: skip


def _mistyped(
    kind: str, readings: Readings, yard: Ints, at: Ints, chance: np.random.Generator
) -> Floats:
    """Return what is typed instead of the values at `at`; NaN where that cannot happen."""
    value = readings.raw[at]
    if kind == "unit":
        by = np.where(chance.random(len(at)) < 0.5, MILE, 1 / MILE)
        return np.asarray(np.round(value * by), dtype=np.float64)
    if kind == "tenths":
        tenths = chance.integers(0, 10, len(at)) * (readings.meter[at] == ODOMETER)
        return np.asarray(np.floor(value * 10 + tenths), dtype=np.float64)
    if kind == "another":
        return _same_day(readings, yard, at, chance)
    if kind == "column":
        return _other_meter(readings, at)
    return _digits(kind, value, chance)


def _digits(kind: str, value: Floats, chance: np.random.Generator) -> Floats:
    """Return values with one digit wrong, swapped with its neighbour, dropped, twice or more."""
    whole = np.floor(value)
    n_digits = np.floor(np.log10(np.maximum(whole, 1))) + 1
    at = 10.0 ** np.floor(chance.uniform(0, 1, len(value)) * n_digits)
    if kind == "swap":
        at = 10.0 ** np.floor(chance.uniform(0, 1, len(value)) * np.maximum(n_digits - 1, 1))
    high, digit, low = np.floor(whole / (10 * at)), np.floor(whole / at) % 10, whole % at
    other = (digit + chance.integers(1, 10, len(value))) % 10
    if kind == "digit":
        typed = whole + (other - digit) * at
    elif kind == "swap":
        left = high % 10
        typed = whole + (left - digit) * at + (digit - left) * 10 * at
    elif kind == "drop":
        typed = high * at + low
    else:
        typed = (high * 10 + digit) * 10 * at + (digit if kind == "double" else other) * at + low
    return np.asarray(typed + (value - whole))


def _same_day(readings: Readings, yard: Ints, at: Ints, chance: np.random.Generator) -> Floats:
    """Return what another meter of the yard showed that day, NaN where none was read."""
    n = len(readings.on)
    keys = np.stack([readings.on, readings.meter, yard[readings.vehicle]])
    order = np.lexsort([chance.random(n), *keys])
    nxt = np.roll(order, -1)
    fits = (keys[:, order] == keys[:, nxt]).all(axis=0)
    fits &= (readings.vehicle[order] != readings.vehicle[nxt]) & ~readings.told[nxt]
    result = np.full(n, np.nan)
    result[order] = np.where(fits, readings.shown[nxt], np.nan)
    return result[at]


def _other_meter(readings: Readings, at: Ints) -> Floats:
    """Return what the vehicle's other meter showed that day, NaN where it was not read."""
    wide = 1.0e6
    keys = (readings.vehicle * 2 + readings.meter) * wide + readings.on
    wanted = (readings.vehicle[at] * 2 + 1 - readings.meter[at]) * wide + readings.on[at]
    found = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    fits = (keys[found] == wanted) & ~readings.told[found]
    return np.where(fits, readings.shown[found], np.nan)


def usual_day(use: Use, which: int) -> Floats:
    """Return what each vehicle usually runs in a day [km or h], shape (V,)."""
    run = (use.distance, use.hours)[which]
    first = (use.entered_on - FIRST_DAY).astype("int64")
    today = AS_OF - FIRST_DAY
    at = np.arange(len(first))
    own = (run[at, today] - run[at, first]) / np.maximum(today - first, 1)
    of_class = CLASSES[use.of_class, 2]
    least = 0.3 * (of_class if which == ODOMETER else of_class / CLASSES[use.of_class, 6])
    return np.asarray(np.maximum(own, least))
