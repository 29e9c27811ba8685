"""What a person reads beside a due day: how far the clock has run, which limit bites, and why."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.pace import Pace
from fleetcool.model.computed import BASELINE, CLOCK_COLUMNS, GOVERNS
from fleetcool.model.days import day_text
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.items import Items, Since
from fleetcool.units import KM_PER_MILE

Floats = NDArray[np.float64]

_COUNTED = ("distance", "hours", "months")
FRESH = 21  # days after which the day of a reading is told; common practice, no source


@dataclass(frozen=True, slots=True)
class Told:
    """What the sentences need beside the items, arrays of shape (n,).

    `shares` (n, 5) to govern, `day_on` [day number] of the day in the year or campaign,
    `found` and `added` sentences (what a finding says; what a passed test or another kind of
    coolant changed), `laid_up` what counts nothing, `open_clock` (bool), `baseline_on` [day
    number].
    """

    shares: Floats
    day_on: Floats
    found: NDArray[np.object_]
    added: NDArray[np.object_]
    laid_up: NDArray[np.object_]
    open_clock: NDArray[np.bool_]
    baseline_on: Floats
    as_of: int
    units: str


def clock_rows(
    items: Items, fleet: Fleet, distance: Since, hours: Since, told: Told
) -> pd.DataFrame:
    """Return one row a watched vehicle-service with `CLOCK_COLUMNS`."""
    vehicles = fleet.frame
    governs = np.array(GOVERNS, dtype=object)[told.shares.argmax(axis=1)]
    frame = items.frame
    rows = pd.DataFrame(
        {
            "vehicle": frame["vehicle"].to_numpy(),
            "unit": vehicles["unit"].to_numpy()[items.of_vehicle],
            "depot": vehicles["depot"].to_numpy()[items.of_vehicle],
            "service": frame["service"].to_numpy(),
            "last_done_on": items.last_done_on,
            "never_recorded": items.unknown,
            "since_km": distance.since,
            "since_hours": np.where(np.isnan(hours.left), np.nan, hours.since),
            "limit_km": frame["km"].to_numpy(),
            "limit_hours": frame["hours"].to_numpy(),
            "limit_months": frame["months"].to_numpy(),
            "limit_before": frame["before"].to_numpy(),
            "limit_from": frame["limit_from"].astype(object).fillna("no limit").to_numpy(),
            "governs": governs,
        }
    )
    rows["why"] = _why(rows, items, (distance, hours), told)
    return rows[list(CLOCK_COLUMNS)]


def baseline_rows(
    fleet: Fleet, at: NDArray[np.int64], n_unknown: NDArray[np.int64]
) -> pd.DataFrame:
    """Return the clock rows of the baselines of the vehicles at `at`."""
    vehicles = fleet.frame.iloc[at]
    rows = pd.DataFrame(
        {
            "vehicle": vehicles["vehicle"].to_numpy(),
            "unit": vehicles["unit"].to_numpy(),
            "depot": vehicles["depot"].to_numpy(),
            "service": BASELINE,
            "limit_from": "settings: unknown clocks are set within the months for baselines",
            "governs": "day",
            "why": [
                f"one look at everything sets {count} unknown clock{'s' if count > 1 else ''}"
                for count in n_unknown[at]
            ],
        }
    )
    rows["never_recorded"] = False
    return rows.reindex(columns=list(CLOCK_COLUMNS))


def laid_up_words(pace: Pace, n_vehicles: int, as_of: int) -> NDArray[np.object_]:
    """Return which days to come count nothing for each vehicle, shape (n_vehicles,)."""
    result = np.full(n_vehicles, "", dtype=object)
    for at in np.flatnonzero(pace.spell_stop > as_of)[::-1]:  # the next one is said
        first, last = day_text(pace.spell_start[at]), day_text(pace.spell_stop[at] - 1)
        result[pace.spell_of[at]] = f"laid up {first} to {last}, which counts nothing"
    return result


def _why(
    rows: pd.DataFrame, items: Items, usage: tuple[Since, Since], told: Told
) -> NDArray[np.object_]:
    """Return a sentence that names the limit most likely to bite and how far it has run."""
    governs = rows["governs"].to_numpy()
    result = np.full(len(rows), "", dtype=object)
    per, word = (KM_PER_MILE, "mi") if told.units == "us" else (1.0, "km")
    distance, hours = usage
    km, h = rows["limit_km"].to_numpy(), rows["limit_hours"].to_numpy()
    for i in np.flatnonzero(governs == "distance"):
        run, limit, rate = distance.since[i] / per, km[i] / per, 7 * distance.rate[i] / per
        result[i] = (
            f"distance governs: {run:,.0f} of {limit:,.0f} {word} run, {rate:,.0f} {word} a week"
            f"{_read(distance.read_on[i], items.clock_on[i], told.as_of)}"
        )
    for i in np.flatnonzero(governs == "hours"):
        result[i] = (
            f"hours govern: {hours.since[i]:,.0f} of {h[i]:,.0f} h run, "
            f"{7 * hours.rate[i]:,.0f} h a week"
            f"{_read(hours.read_on[i], items.clock_on[i], told.as_of)}"
        )
    months = rows["limit_months"].to_numpy()
    for i in np.flatnonzero(governs == "months"):
        result[i] = (
            f"months govern: {months[i]:,.0f} months, counted from {day_text(items.clock_on[i])}"
        )
    for i in np.flatnonzero(governs == "day"):
        result[i] = f"the day governs: to be done by {day_text(told.day_on[i])}"
    for i in np.flatnonzero(governs == "condition"):
        result[i] = f"condition governs: {told.found[i]}"
    return _with_more(result, governs, items, told)


def _read(read_on: float, clock_on: float, as_of: int) -> str:
    """Return by which reading that was run, where it is not of the last weeks."""
    if np.isnan(read_on):
        return ", the usual use of vehicles like it, as its meter was never read"
    if as_of - max(read_on, clock_on) <= FRESH:
        return ""
    if read_on <= clock_on:
        return f", not read since {day_text(clock_on)}"
    return f", by the reading of {day_text(read_on)}"


def _with_more(
    said: NDArray[np.object_], governs: NDArray[np.object_], items: Items, told: Told
) -> NDArray[np.object_]:
    """Return the sentences with what changed a limit, stands still, or was never recorded."""
    result = said.copy()
    for i in np.flatnonzero((told.added != "") & np.isin(governs, _COUNTED)):
        result[i] += f"; {told.added[i]}"
    for i in np.flatnonzero((told.laid_up != "") & np.isin(governs, _COUNTED[:2])):
        result[i] += f"; {told.laid_up[i]}"
    for i in np.flatnonzero(told.open_clock):
        result[i] = f"never recorded: the baseline of {day_text(told.baseline_on[i])} decides"
    for i in np.flatnonzero(items.unknown & ~items.assumed & ~told.open_clock):
        result[i] += "; never recorded, counted from first use"
    for i in np.flatnonzero(items.assumed & (items.gone > 0)):
        result[i] += (
            f"; {100 * items.gone[i]:.0f} % taken as used at the baseline of "
            f"{day_text(items.clock_on[i])}"
        )
    return result
