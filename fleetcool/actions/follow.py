"""What follows from an intake: the two projections around it, and the sentences from both."""

import dataclasses
from collections.abc import Collection, Sequence

import pandas as pd

from fleetcool.actions.consequences import Brought, consequences_of
from fleetcool.actions.follow_decisions import decisions_followed
from fleetcool.coolant.fills import NEVER_WHOLE
from fleetcool.intake.wrong_part import corrections
from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Consequence, Judged
from fleetcool.projection.project import project
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing

MOST_VEHICLES = 200  # of which an intake may tell; a whole fleet's first tables tell of more
MOST_WORK = 1000  # rows of history
MOST_READINGS = 4  # of one vehicle
COMPANY = 300  # vehicles projected beside those, so that their class and yard are known
_TELLING = (
    "history",
    "look_overs",
    "coolant_tests",
    "driver_reports",
    "decisions",
    "meter_decisions",
)
_METERS = {
    "readings": ("odometer", "engine_hours"),
    "history": ("odometer", "engine_hours"),
    "coolant_tests": ("odometer",),
}
_TOLD_SHARE = ["litres_in", "litres_out", "replaced_share"]


def stood_before(store: Store, standing: Standing, judged: Judged, as_of: int) -> Standing | None:
    """Return what stands on a day without an intake, None when nothing is to be said of it.

    Nothing is said of an intake that tells of no work, look-over, test, driver report or result,
    nor of one that tells of more than 200 units, as a fleet's first tables do.
    """
    if standing["vehicles"].empty:
        return None  # a fleet's first tables: of new vehicles nothing has changed
    told = [judged.rows[name] for name in _TELLING if name in judged.rows]
    n_units = len({unit for frame in told for unit in frame["unit"].dropna().unique()})
    receipts = judged.rows.get("receipts")
    if len(judged.rows.get("history", ())) > MOST_WORK or n_units > MOST_VEHICLES:
        return None
    if not n_units and (receipts is None or not receipts["how"].eq("wrong part").any()):
        return None
    return standing if standing.as_of == as_of else read_standing(store, as_of)


def what_follows(
    store: Store, before: Standing, judged: Judged, intake: int, settings: Settings
) -> Judged:
    """Return the judgement with what follows from the intake, now that it is kept.

    Decisions come first, each with its price and the visits that move by it.
    """
    judged = _follow(store, before, judged, intake, settings)
    decided, together = decisions_followed(store, judged, intake, settings, before.as_of)
    if not decided:
        return judged
    return dataclasses.replace(
        judged,
        consequences=_joined((*decided, *judged.consequences)),
        warnings=(*judged.warnings, *together),
    )


def _joined(told: Sequence[Consequence]) -> tuple[Consequence, ...]:
    """Return what follows with all that is said of one unit in one piece."""
    said: dict[str, list[str]] = {}
    for one in told:
        said.setdefault(one.unit, []).append(one.says)
    return tuple(Consequence(unit, " ".join(pieces)) for unit, pieces in said.items())


def _follow(
    store: Store, before: Standing, judged: Judged, intake: int, settings: Settings
) -> Judged:
    after = read_standing(store, before.as_of)
    knowledge = in_force(after.frames, after.as_of)
    new = {name: _of_intake(after[name], intake) for name in (*_TELLING, "readings", "receipts")}
    wrong = corrections(new["history"], new["receipts"], after, knowledge)
    judged = dataclasses.replace(
        judged,
        warnings=(*judged.warnings, *(one.sentence for one in wrong if not one.question)),
        questions=(*judged.questions, *(one.question for one in wrong if one.question)),
    )
    touched = {str(one) for name in _TELLING for one in new[name]["vehicle"].dropna()}
    touched &= set(before["vehicles"]["vehicle"])  # of a new vehicle nothing has changed
    if not touched:
        return judged
    chosen = touched | _company(after)
    was, now = (
        project(_of_vehicles(one, chosen), known, settings, until=one.as_of)
        for one, known in ((before, _known_before(before, judged, knowledge)), (after, knowledge))
    )
    vehicles = after["vehicles"]
    said, more = consequences_of(
        was,
        now,
        vehicles[vehicles["vehicle"].isin(touched)],
        brought=_brought(new, after, knowledge),
        units=settings.units,
        as_of=after.as_of,
    )
    return dataclasses.replace(judged, consequences=said, more_units=more)


def _known_before(before: Standing, judged: Judged, knowledge: Knowledge) -> Knowledge:
    """Return the knowledge in force without the intake; the same where it brought none."""
    if any(table.shipped for name, table in TABLES.items() if name in judged.rows):
        return in_force(before.frames, before.as_of)
    return knowledge


def _of_intake(frame: pd.DataFrame, intake: int) -> pd.DataFrame:
    return frame[frame["intake"].eq(intake)].reset_index(drop=True)


def _company(standing: Standing) -> set[str]:
    """Return vehicles that are projected beside the others.

    What a class of vehicles runs, how a yard's baselines are spread and the day on which records
    begin are taken from all vehicles at hand: up to 300 of them are the whole fleet.
    """
    few = sorted(str(one) for one in standing["vehicles"]["vehicle"])[:COMPANY]
    history = standing["history"]
    first = history.loc[history["on"].eq(history["on"].min()), "vehicle"].head(1)
    return {*few, *(str(one) for one in first)}


def _of_vehicles(standing: Standing, vehicles: Collection[str]) -> Standing:
    """Return what stands of some vehicles; rows that speak of no single one stay."""
    wanted = list(vehicles)

    def some(frame: pd.DataFrame) -> pd.DataFrame:
        if "vehicle" not in frame:
            return frame
        mine = frame["vehicle"].isin(wanted) | frame["vehicle"].isna()
        return frame[mine].reset_index(drop=True)

    return dataclasses.replace(
        standing,
        frames={name: some(frame) for name, frame in standing.frames.items()},
        published_visits=some(standing.published_visits),
        published_services=some(standing.published_services),
    )


def _brought(new: dict[str, pd.DataFrame], after: Standing, knowledge: Knowledge) -> Brought:
    work, decisions = new["history"], new["decisions"]
    readings = [
        new[name].loc[new[name][meter].notna(), ["vehicle", "on"]].assign(meter=meter)
        for name, meters in _METERS.items()
        for meter in meters
    ]
    missed = decisions[decisions["what"].eq("not come") & decisions["visit"].notna()]
    return Brought(
        frozenset(work["vehicle"].astype(str)),
        _unsaid(work, knowledge),
        _few(pd.concat(readings, ignore_index=True)),
        _not_done(decisions, after),
        {
            str(vehicle): f"Visit {visit} did not come."
            for vehicle, visit in missed[["vehicle", "visit"]].itertuples(index=False, name=None)
        },
    )


def _few(readings: pd.DataFrame) -> pd.DataFrame:
    """Return the readings of vehicles that brought a few; a whole table of them tells no news."""
    n = readings.groupby("vehicle")["on"].transform("size")
    return readings[n <= MOST_READINGS].reset_index(drop=True)


def _not_done(decisions: pd.DataFrame, after: Standing) -> dict[str, frozenset[str]]:
    """Return by vehicle the services of its visits that came back without them."""
    over = decisions[decisions["what"].isin(["done", "not come"]) & decisions["visit"].notna()]
    planned = after.published_services[["visit", "service"]].drop_duplicates()
    planned = planned.merge(over[["visit", "vehicle"]].drop_duplicates(), on="visit")
    work = after["history"][["visit", "service"]].dropna().drop_duplicates()
    told = planned.merge(work, on=["visit", "service"], how="left", indicator=True)
    left = told[told["_merge"].eq("left_only")]
    return {
        str(vehicle): frozenset(rows["service"].astype(str))
        for vehicle, rows in left.groupby("vehicle", sort=True)
    }


def _unsaid(work: pd.DataFrame, knowledge: Knowledge) -> frozenset[str]:
    """Return the vehicles with a day's wet work that says neither litres nor share."""
    services = knowledge.services
    wet = services.loc[services["wet"].astype("float64").eq(1.0), "service"]
    changes = services.loc[services["kind"].eq("change"), "service"]
    rows = work.assign(
        told=work[_TOLD_SHARE].notna().any(axis=1)
        | work["how"].isin(NEVER_WHOLE)
        | work["service"].isin(changes),
        wet=work["service"].isin(wet),
    )
    days = rows.groupby(["vehicle", "on"])[["told", "wet"]].any()
    silent = days[days["wet"] & ~days["told"]].reset_index()
    return frozenset(silent["vehicle"].astype(str))
