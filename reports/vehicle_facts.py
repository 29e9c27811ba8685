"""What is known of one vehicle: its rows out of everything a look ahead has worked out."""

import math
from dataclasses import dataclass

import pandas as pd

from fleetcool.coolant.losses import DILUTED, LEAK
from fleetcool.model.days import DAYS_PER_MONTH, iso
from fleetcool.model.outlook import Outlook
from fleetcool.model.tables import PLACES
from reports.vehicle_done import done_rows
from reports.vehicle_words import Row, made
from reports.view import View, figure, rows_of, text, view_of
from reports.words import on_day

_COMING = ("proposed", "fixed", "here", "waiting", "no word yet")


@dataclass(frozen=True, slots=True)
class Record:
    """Everything about one vehicle; rows are in the order in which they are read.

    Attributes:
        view: the look ahead with its look-ups.
        vehicle: its identity.
        former_units: door numbers it had before, oldest first.
        others: vehicles that had its number in turn, one sentence each.
        due: the clocks with the days of what comes next, soonest first.
        coolant: its row of `COOLANT_COLUMNS`, empty when it is not in the fleet.
        parcels: of what is in there, largest share first.
        findings: what still stands, soonest first, but dilution before a leak.
        trends: one row a measure.
        fitted: the parts, by place and day.
        tests: coolant tests, oldest first.
        visits: those to come, by day.
        done: work, tests, look-overs and driver reports, newest first: on, kind, what, odometer,
            place, part, quantity, reason, coolant, how, litres_out, litres_in, replaced_share,
            minutes, cost, where, paid_by, done_by, visit, their_number, note.
        run_now: km run by the as-of day, or by its last reading when it has left; NaN if unknown.
        risks: how likely the parts in it fail, `RISK_COLUMNS`.
    """

    view: View
    vehicle: str
    former_units: tuple[str, ...]
    others: tuple[str, ...]
    due: tuple[Row, ...]
    coolant: Row
    parcels: tuple[Row, ...]
    findings: tuple[Row, ...]
    trends: tuple[Row, ...]
    fitted: tuple[Row, ...]
    tests: tuple[Row, ...]
    visits: tuple[Row, ...]
    done: tuple[Row, ...]
    run_now: float
    risks: tuple[Row, ...] = ()

    @property
    def facts(self) -> Row:
        """Return the vehicle's row of the table vehicles."""
        return self.view.vehicles[self.vehicle]

    @property
    def outlook(self) -> Outlook:
        """Return the look ahead the record is taken from."""
        return self.view.outlook

    @property
    def here(self) -> bool:
        """Tell whether it is in the fleet on the as-of day."""
        return bool(self.facts["here"])


def record_of(
    outlook: Outlook,
    vehicle: str,
    former_units: tuple[str, ...] = (),
    others: tuple[str, ...] = (),
) -> Record:
    """Return the record of one vehicle.

    Args:
        outlook: what was worked out.
        vehicle: its identity.
        former_units: door numbers it had before, oldest first.
        others: identities of the vehicles that had its number in turn.
    """
    view, projection, standing = view_of(outlook), outlook.projection, outlook.standing

    def own(frame: pd.DataFrame, *by: str) -> pd.DataFrame:
        return frame[frame["vehicle"].astype(object) == vehicle].sort_values(
            list(by), kind="stable"
        )

    visits = own(outlook.plan.visits, "start_on", "visit")
    parcels = own(projection.parcels, "filled_on", "by_work").sort_values(
        "share", ascending=False, kind="stable"
    )
    return Record(
        view,
        vehicle,
        former_units,
        tuple(_other(view.vehicles[one]) for one in others),
        tuple(rows_of(_due(outlook, vehicle))),
        next(iter(rows_of(own(projection.coolant))), {}),
        tuple(rows_of(parcels)),
        tuple(_dilution_first(rows_of(own(projection.findings, "due", "finding")))),
        tuple(rows_of(own(projection.trends, "measure"))),
        tuple(_in_places(own(projection.fitted, "fitted_on"))),
        tuple(rows_of(own(standing["coolant_tests"], "on"))),
        tuple(rows_of(visits[visits["state"].isin(_COMING)])),
        done_rows(outlook, vehicle),
        _run_now(outlook, vehicle),
        tuple(rows_of(own(projection.risks, "place", "fitted_on"))),
    )


def _other(facts: Row) -> str:
    """Return a sentence about another vehicle with the same number, and how to see its record."""
    unit, plate, vin = (text(facts[name]) for name in ("unit", "plate", "vin"))
    joined, leaves = figure(facts["joined_on"]), figure(facts["leaves_on"])
    told = [
        f"{unit} on its door",
        made(facts),
        f"plate {plate}" if plate else "",
        f"VIN {vin}" if vin else "",
        "" if math.isnan(joined) else f"joined {on_day(joined)}",
        "" if math.isnan(leaves) else f"left {on_day(leaves)}",
    ]
    said = ", ".join(one for one in told if one)
    show = f"fleetcool vehicle {(vin or plate).replace(' ', '')}" if vin or plate else ""
    if not show and not math.isnan(leaves):
        show = f"fleetcool --as-of {iso(leaves - 1)} vehicle {unit}"
    record = f" Its record: {show}." if show else ""
    return f"Another vehicle had the same number in turn: {said}.{record}"


def _due(outlook: Outlook, vehicle: str) -> pd.DataFrame:
    """Return the vehicle's clocks with q10, q50, q90 of what comes next, soonest first.

    `moved` is the sentence on why the day moved since the last issue, missing when it did not.
    """
    due, clocks = outlook.projection.due, outlook.projection.clocks
    first = due[(due["vehicle"].astype(object) == vehicle) & (due["occurrence"] == 1)]
    rows = clocks[clocks["vehicle"].astype(object) == vehicle].merge(
        first[["service", "q10", "q50", "q90", "open_clock"]], on="service", how="left"
    )
    moved = outlook.projection.moved
    own = moved[moved["vehicle"].astype(object) == vehicle]
    why = dict(zip(own["service"], own["why"], strict=True))
    rows["moved"] = rows["service"].astype(object).map(why)
    return rows.sort_values(["q50", "service"], na_position="last", ignore_index=True)


def _dilution_first(findings: list[dict[str, object]]) -> list[dict[str, object]]:
    """Return the findings with dilution named before a leak, however soon each is to be mended."""
    days = [figure(one["due"]) for one in findings if one["finding"] in {DILUTED, LEAK}]

    def key(one: dict[str, object]) -> float:
        return min(days) if one["finding"] == DILUTED else figure(one["due"])

    return sorted(findings, key=lambda one: (key(one), text(one["finding"])))


def _in_places(fitted: pd.DataFrame) -> list[dict[str, object]]:
    """Return the parts in the order of the places, the one in there now first in each."""
    place = {name: at for at, name in enumerate(PLACES)}
    return sorted(
        rows_of(fitted),
        key=lambda one: (place.get(text(one["place"]), len(place)), -figure(one["fitted_on"])),
    )


def _run_now(outlook: Outlook, vehicle: str) -> float:
    usage = outlook.projection.usage
    own = usage[(usage["vehicle"].astype(object) == vehicle) & (usage["meter"] == "odometer")]
    for one in rows_of(own):
        if figure(one["n_used"]) > 0:
            since = max(0.0, outlook.as_of - figure(one["anchor_on"]))
            return figure(one["anchor_at"]) + figure(one["rate"]) * since
    readings = outlook.projection.readings
    rows = readings[
        (readings["vehicle"].astype(object) == vehicle) & (readings["meter"] == "odometer")
    ]
    run = rows["cumulative"].astype("float64").max()
    return float(run)


def age_of(record: Record, fitted: Row) -> tuple[float, float]:
    """Return how long a fitted part was or is in there: km and months, NaN when not known.

    A part that is still in counts up to the as-of day, in a vehicle that left to that day.
    """
    out_on, out_at = figure(fitted["out_on"]), figure(fitted["out_at"])
    leaves = figure(record.facts["leaves_on"])
    now = float(record.outlook.as_of)
    if math.isnan(out_on):
        out_on = now if math.isnan(leaves) else min(now, leaves)
        out_at = record.run_now
    run = max(0.0, out_at - figure(fitted["fitted_at"])) if not math.isnan(out_at) else math.nan
    if math.isnan(figure(fitted["fitted_at"])):
        run = math.nan
    return run, max(0.0, out_on - figure(fitted["fitted_on"])) / DAYS_PER_MONTH


def risk_of(record: Record, fitted: Row) -> Row:
    """Return how likely a fitted part fails, its row of `RISK_COLUMNS`, empty when not known."""
    if not math.isnan(figure(fitted["out_on"])):
        return {}
    keys = ("place", "part")
    same = (
        one
        for one in record.risks
        if all(text(one[key]) == text(fitted[key]) for key in keys)
        and figure(one["fitted_on"]) == figure(fitted["fitted_on"])
    )
    return next(same, {})
