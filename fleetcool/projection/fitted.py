"""Which part sat in which place of which vehicle, from when to when, and why it came out."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.meters.usage import Usage
from fleetcool.model.computed import FITTED_COLUMNS
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.meters_at import run_at
from fleetcool.projection.work import has_places

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FLUID = "coolant"  # a place, but nothing that is fitted
_N = len(PLACES)  # a spot is a place of a vehicle: vehicle index × _N + index in PLACES


def fitted_parts(
    standing: Standing, knowledge: Knowledge, fleet: Fleet, chain: Chain, usage: Usage
) -> pd.DataFrame:
    """Return each part that was ever in a place of a vehicle, with `FITTED_COLUMNS`.

    See `fitted_and_sets`.
    """
    return fitted_and_sets(standing, knowledge, fleet, chain, usage)[0]


def fitted_and_sets(
    standing: Standing, knowledge: Knowledge, fleet: Fleet, chain: Chain, usage: Usage
) -> tuple[pd.DataFrame, Floats]:
    """Return each part that was ever in a place of a vehicle, and with how many it came out.

    A part comes out on the day the next one goes into its place; `why_out` is the reason of that
    work, missing when nobody said one. The first part of each place that the layout has is taken
    to be there since first use, unless work is recorded on or before that day. Several rows of
    one day for one place are one fitting. A part of a vehicle that left has no day on which it
    came out: it left with the vehicle.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        fleet: the vehicles, those that left as well.
        chain: used readings.
        usage: daily rates, to reach beyond the last reading.

    Returns:
        Rows sorted by vehicle, place and day, `FITTED_COLUMNS`; km on the repaired meter, NaN for
        a vehicle without any used reading. Beside them, shape (n,), how many places the work that
        took the part out renewed without telling them apart: 1 when it was about this place
        alone, NaN while it is in there.
    """
    there = has_places(knowledge, fleet)
    there[:, PLACES.index(FLUID)] = False
    events = _one_a_day(_events(standing["history"], knowledge, fleet, there))
    first = _since_first_use(events, fleet, there)
    both = pd.concat([events.assign(assumed=False), first.assign(assumed=True)])
    both = both.iloc[np.lexsort((both["fitted_on"].to_numpy(), both["spot"].to_numpy()))]
    both = both.reset_index(drop=True)
    spot = both["spot"].to_numpy(dtype="int64")
    usual = _quantities(knowledge, fleet).ravel()[spot]
    stays = np.append(spot[1:] != spot[:-1], [True] * (len(spot) > 0)).astype(bool)
    both["vehicle"] = fleet.frame["vehicle"].astype("str").take(spot // _N).to_numpy()
    both["place"] = pd.Series(PLACES, dtype="str").take(spot % _N).to_numpy()
    both["quantity"] = both["quantity"].fillna(pd.Series(usual, both.index))
    both["fitted_at"] = _run_by(both, fleet, chain, usage)
    for name, came in (("out_on", "fitted_on"), ("out_at", "fitted_at"), ("why_out", "reason")):
        both[name] = both[came].shift(-1).mask(stays)
    out_with = both["n_places"].shift(-1).mask(stays).to_numpy(dtype="float64")
    return both[list(FITTED_COLUMNS)], out_with


def _events(
    history: pd.DataFrame, knowledge: Knowledge, fleet: Fleet, there: NDArray[np.bool_]
) -> pd.DataFrame:
    """Return one row a (recorded work, place that got a new part).

    The place told stands before those the service renews. A service that renews several places
    counts for those the layout has; its part and quantity name the whole set, so the quantity is
    left to the layout. A service that renews nothing counts when a place and a part are told.
    """
    vehicle = pd.Index(fleet.frame["vehicle"]).get_indexer(pd.Index(history["vehicle"]))
    places, begin, n_own = _renews(knowledge)
    service = pd.Index(knowledge.services["service"]).get_indexer(pd.Index(history["service"]))
    told = pd.Index(PLACES).get_indexer(pd.Index(history["place"].astype(object)))
    n = np.where(service >= 0, n_own[service], 0)
    several = (told < 0) & (n > 1)
    counts = (n > 0) | ((told >= 0) & history["part"].notna().to_numpy())
    counts &= (vehicle >= 0) & history["on"].notna().to_numpy()
    n = np.where(counts, np.where(told >= 0, 1, n), 0)
    row = np.repeat(np.arange(len(n)), n)
    nth = np.arange(len(row)) - np.repeat(np.cumsum(n) - n, n)
    place = np.where(told[row] >= 0, told[row], places[begin[service[row]] + nth])
    keep = (place != PLACES.index(FLUID)) & (there[vehicle[row], place] | ~several[row])
    row, place = row[keep], place[keep]
    n_places = np.bincount(row, minlength=len(n))[row].astype("float64")
    events = history[["part", "quantity", "reason"]].iloc[row].reset_index(drop=True)
    found = events.assign(
        spot=vehicle[row] * _N + place,
        fitted_on=np.floor(history["on"].to_numpy(dtype="float64")[row]),
        quantity=np.where(several[row], np.nan, events["quantity"].astype("float64")),
        several=several[row],
        n_places=n_places,
    )
    return pd.DataFrame(found)


def _renews(knowledge: Knowledge) -> tuple[Ints, Ints, Ints]:
    """Return the places (indices in `PLACES`) that services put new parts into, coolant left out.

    One flat array with a last filler, and for each service where its places begin and how many
    they are, shapes (n_services + 1,); the last is for a service that is not known.
    """
    renews = [
        [PLACES.index(one) for one in names(text) if one in PLACES and one != FLUID]
        for text in knowledge.services["renews"]
    ]
    n = np.array([*(len(places) for places in renews), 0], dtype="int64")
    flat = np.array([*(place for places in renews for place in places), 0], dtype="int64")
    return flat, np.minimum(np.cumsum(n) - n, len(flat) - 1), n


def _one_a_day(events: pd.DataFrame) -> pd.DataFrame:
    """Return one row a (spot, day): spot, fitted_on, part, quantity, reason, n_places.

    It is the one with a part number, else the one about that place alone, completed by the rest.
    """
    keys, kept = ["spot", "fitted_on"], ["part", "quantity", "reason", "n_places"]
    again = events.duplicated(keys, keep=False)
    alone = events.loc[~again, [*keys, *kept]]
    if not again.any():
        return alone
    some = events[again]
    some = some.assign(bare_=some["part"].isna(), quiet_=some["reason"].isna())
    order = [*keys, "bare_", "several", "quiet_", "part", "reason", "quantity"]
    some = some.sort_values(order, kind="stable").groupby(keys)[kept].first().reset_index()
    return pd.concat([alone, some], ignore_index=True)


def _since_first_use(events: pd.DataFrame, fleet: Fleet, there: NDArray[np.bool_]) -> pd.DataFrame:
    """Return the parts taken to be there since first use, one a place the layout has."""
    spot = np.flatnonzero(there)
    begun = np.full(there.size, np.inf)
    np.minimum.at(begun, events["spot"].to_numpy(), events["fitted_on"].to_numpy())
    first = np.floor(fleet.first_used_on)[spot // _N]
    new = begun[spot] > first
    rows = pd.DataFrame({"spot": spot[new], "fitted_on": first[new], "quantity": np.nan})
    rows["n_places"] = np.nan
    blank = pd.Series(np.nan, rows.index, dtype="str")
    return rows.assign(part=blank, reason=blank)


def _quantities(knowledge: Knowledge, fleet: Fleet) -> Floats:
    """Return how many parts a place takes, shape (n_vehicles, n_places), NaN where nobody says."""
    rows = knowledge.layout_places.drop_duplicates(["layout", "place"])
    layouts = pd.Index(sorted(rows["layout"].unique()))
    table = np.full((len(layouts) + 1, _N), np.nan)
    place = pd.Index(PLACES).get_indexer(pd.Index(rows["place"]))
    row = layouts.get_indexer(pd.Index(rows["layout"]))
    known = place >= 0
    table[row[known], place[known]] = rows["quantity"].to_numpy(dtype="float64")[known]
    return np.asarray(table[layouts.get_indexer(pd.Index(fleet.frame["layout"].astype(object)))])


def _run_by(rows: pd.DataFrame, fleet: Fleet, chain: Chain, usage: Usage) -> Floats:
    """Return what each vehicle had run when each part was fitted [km], shape (n,)."""
    at = rows["spot"].to_numpy(dtype="int64") // _N
    on = rows["fitted_on"].to_numpy(dtype="float64")
    run = run_at(fleet, chain, usage, at, on, 0)
    run = np.where(usage.has_readings[at * len(METERS)], run, np.nan)
    new = rows["assumed"].to_numpy(dtype=bool) & ~np.isnan(run)
    return np.where(new, 0.0, run)
