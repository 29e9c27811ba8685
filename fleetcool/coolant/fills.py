"""What was filled into each system when, and how much coolant a visit drains."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.first_use import first_use
from fleetcool.coolant.handled import (
    DIGITS,
    FLUSHED,
    PUT_BACK,
    TOP_UP,
    TOPPED_UP,
    drains_of,
    top_ups_of,
)
from fleetcool.coolant.litres import drain_shares, litres_of
from fleetcool.coolant.products import named
from fleetcool.coolant.strengths import poured
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

NEVER_WHOLE = (TOPPED_UP, PUT_BACK)
FIRST_FILL = "first fill"
# One row a fill, a vehicle's fills in the order in which they went in.
FILL_COLUMNS = (
    "vehicle",
    "on",
    "share",  # 0 to 1: of the system that was replaced; 1 for the first fill
    "kind",  # missing when nobody knows, and for water
    "coolant",  # product, missing when not said
    "base",
    "base_said",  # bool: somebody named a product that has this base
    "glycol_pct",  # of what was put in [percent by volume]
    "by_work",  # the service, "topped up" or "first fill"
    "is_drain",  # bool: coolant was let out for it
    "whole",  # bool: a whole change
    "assumed",  # bool: the share, the kind or the strength after a flush was not recorded
    "share_assumed",  # bool
    "kind_said",  # bool: somebody recorded this kind, or that of what was in there before
)
_FIRST, _DRAIN, _TOP_UP = 0, 1, 2


def is_whole_change(history: pd.DataFrame, changes: set[str], share: float) -> NDArray[np.bool_]:
    """Tell which work changed the whole coolant, so that its age starts at nil; shape (n,).

    A coolant change recorded without a share does, and any work that replaced at least `share`
    percent of the coolant. Topping up and putting the old coolant back never do. Where litres
    stand in place of a share, `handled.recorded_shares` fills it in first.

    Args:
        history: work that was done.
        changes: the services that change coolant.
        share: percent from which a change counts as whole.
    """
    replaced = history["replaced_share"].astype("float64").to_numpy().round(DIGITS)
    how = history["how"].astype(object)
    allowed = ~(how.isin(NEVER_WHOLE) | history["service"].eq(TOP_UP)).to_numpy()
    unsaid = np.isnan(replaced)
    is_change = history["service"].isin(changes).to_numpy()
    return np.asarray(allowed & np.where(unsaid, is_change, replaced >= share))


def visit_litres(
    visit_services: pd.DataFrame, vehicles: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Return the coolant that each visit drains and must fill anew: visit, vehicle, litres [L].

    Several wet services of one visit drain once, to the deepest; `litres.drain_shares` tells how
    deep each one goes.

    Args:
        visit_services: rows with visit, vehicle, service.
        vehicles: rows with vehicle, layout, coolant_litres.
        knowledge: the knowledge in force.
    """
    rows = visit_services[["visit", "vehicle", "service"]].merge(
        vehicles[["vehicle", "layout"]], on="vehicle", how="left"
    )
    rows = rows.merge(knowledge.services[["service", "wet"]], on="service", how="left")
    rows = rows[rows["wet"].astype("float64").eq(1.0)]
    rows = rows.assign(share=drain_shares(rows, knowledge))
    deepest = rows.groupby(["visit", "vehicle"], as_index=False)["share"].max()
    deepest = deepest.merge(litres_of(vehicles, knowledge.layouts), on="vehicle", how="left")
    deepest["litres"] = deepest["litres"] * deepest["share"] / 100.0
    return pd.DataFrame(deepest[["visit", "vehicle", "litres"]])


def fills_of(standing: Standing, knowledge: Knowledge, share: float) -> pd.DataFrame:
    """Return one row a fill with `FILL_COLUMNS`, sorted by vehicle and order of filling.

    Every vehicle starts with its first fill. All wet work of one day is one visit and drains once,
    to the deepest; what was recorded goes before what is assumed, because a visit's coolant is
    written beside one of its services. Topping up on that day comes after it. A fill whose coolant
    is left blank is of the kind in there; after a whole change that is what the vehicle is said to
    have in it now. Coolant that is said to be unknown has no kind, and so has what is filled after
    such a change, until a whole change names one. Coolant that was put back is no fill. After a
    flush the rest of the system is water: what went in counts for its share of it.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        share: percent from which a change counts as whole.
    """
    vehicles = standing["vehicles"].drop_duplicates("vehicle").sort_values("vehicle")
    drained = _drained(drains_of(standing, knowledge), knowledge, share)
    topped = _topped(top_ups_of(standing, knowledge))
    first = _first_fills(vehicles, standing.as_of, [drained, topped])
    rows = pd.concat([first, drained, topped], ignore_index=True)
    vehicle = pd.Index(vehicles["vehicle"])
    code = vehicle.get_indexer(pd.Index(rows["vehicle"]))
    order = np.lexsort((rows["rank"], rows["step"], rows["on"], code))
    rows = rows.iloc[order[code[order] >= 0]].reset_index(drop=True)
    rows = _with_kinds(rows, vehicles, knowledge)
    flags = {name: rows[name].astype(bool) for name in ("is_drain", "whole", "share_assumed")}
    return rows.assign(**flags)[list(FILL_COLUMNS)]


def _drained(drains: pd.DataFrame, knowledge: Knowledge, share: float) -> pd.DataFrame:
    """Return one row a visit that drained, from the work that did."""
    services = knowledge.services
    changes = set(services.loc[services["kind"].eq("change"), "service"])
    recorded = drains["replaced_share"].astype("float64")
    deep = recorded.fillna(drains["assumed_share"].astype("float64"))
    whole = pd.Series(is_whole_change(drains, changes, share), drains.index)
    rows = drains.assign(
        deep=deep,
        whole=whole,
        counts=recorded.notna() | whole,
        share_assumed=recorded.isna(),
        said=drains["coolant"].notna(),
        flushed=drains["how"].astype(object).eq(FLUSHED),
    )
    visit = ["vehicle", "on"]
    rows = rows.sort_values(
        [*visit, "counts", "deep", "service", "coolant"],
        ascending=[True, True, False, False, True, True],
    )
    deepest = rows.drop_duplicates(visit)[[*visit, "deep", "share_assumed"]]
    main = rows.sort_values("whole", ascending=False, kind="stable").drop_duplicates(visit)
    poured = rows.sort_values(["said", "whole"], ascending=False, kind="stable")
    poured = poured.drop_duplicates(visit)[[*visit, "coolant"]]
    told = rows.groupby(visit, as_index=False).agg(
        flushed=("flushed", "any"), filled=("filled", "max")
    )
    one = deepest.merge(main[[*visit, "service", "whole"]], on=visit).merge(poured, on=visit)
    one = one.merge(told, on=visit)
    one = one.rename(columns={"service": "by_work"}).assign(share=one["deep"] / 100.0)
    one = one[one["deep"].round(DIGITS) > 0.0].drop(columns="deep")
    return one.assign(is_drain=True, step=_DRAIN, rank=0)


def _topped(top_ups: pd.DataFrame) -> pd.DataFrame:
    """Return one row a vehicle, day and word for coolant; the words of a day in their order."""
    word = top_ups["coolant"].str.strip().str.casefold().fillna("")
    rank = word.rank(method="dense").fillna(0.0)
    rows = top_ups.assign(rank=rank).sort_values("coolant", kind="stable")
    one = rows.groupby(["vehicle", "on", "rank"], as_index=False, sort=True).agg(
        share=("share", "sum"), share_assumed=("assumed", "any"), coolant=("coolant", "first")
    )
    one = one.assign(share=one["share"].clip(0.0, 1.0), by_work=TOPPED_UP, whole=False)
    one = one.assign(flushed=False, filled=np.nan)
    return one[one["share"] > 0.0].assign(is_drain=False, step=_TOP_UP)


def _first_fills(vehicles: pd.DataFrame, as_of: int, events: list[pd.DataFrame]) -> pd.DataFrame:
    """Return the first fill of each vehicle, not later than anything that was done to it."""
    used = first_use(vehicles, as_of)
    on = pd.concat([one[["vehicle", "on"]] for one in events]).groupby("vehicle")["on"].min()
    began = np.fmin(used["on"], used["vehicle"].map(on).astype("float64"))
    return pd.DataFrame(
        {
            "vehicle": used["vehicle"],
            "on": began,
            "share": 1.0,
            "by_work": FIRST_FILL,
            "is_drain": False,
            "whole": False,
            "flushed": False,
            "filled": np.nan,
            "share_assumed": used["assumed"],
            "step": _FIRST,
            "rank": 0,
        }
    )


def _with_kinds(rows: pd.DataFrame, vehicles: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return the fills with what was put in, named or inherited from what was in there."""
    mixed = rows["whole"].astype(bool) & ~rows["flushed"].astype(bool)
    meant = poured(rows["coolant"].astype("str"), mixed, knowledge)
    said = meant["said"].to_numpy()
    stated = said | meant["unknown"].to_numpy()
    first, whole = rows["step"].eq(_FIRST).to_numpy(), rows["whole"].astype(bool).to_numpy()
    now = named(vehicles["coolant"].set_axis(vehicles["vehicle"]), knowledge)
    of_layout = vehicles["layout"].map(knowledge.layouts.set_index("layout")["coolant_kind"])
    layout = named(of_layout.astype("str").set_axis(vehicles["vehicle"]), knowledge)
    changed = set(rows.loc[whole & stated, "vehicle"])
    told = now["said"] & ~now.index.isin(changed)  # else it speaks of now, not of before
    start = now.where(now["said"] | now["unknown"], layout).assign(said=told)
    code = pd.Index(vehicles["vehicle"]).get_indexer(pd.Index(rows["vehicle"]))
    newest = _newest(code, whole) & ~stated & now["said"].to_numpy()[code]
    recorded = np.where(first, start["said"].to_numpy()[code], said | newest).astype(bool)
    states = first | (whole & (stated | newest))
    own = np.arange(len(rows))
    held = np.maximum.accumulate(np.where(states, own, 0))
    source = np.where(states | stated, own, held)
    put_in = {
        name: np.select(
            [first, newest],
            [start[name].to_numpy(object)[code], now[name].to_numpy(object)[code]],
            meant[name].to_numpy(object),
        )[source]
        for name in ("kind", "coolant", "base", "base_said", "glycol_pct", "glycol_said")
    }
    flushed = rows["flushed"].to_numpy(dtype=bool)
    filled = np.where(put_in["glycol_said"].astype(bool), rows["filled"].astype("float64"), np.nan)
    thinned = np.where(flushed & ~np.isnan(filled), filled, 1.0)
    unsure = rows["share_assumed"].to_numpy(dtype=bool) | (flushed & np.isnan(filled))
    return rows.assign(
        **{name: pd.Series(put_in[name], dtype="str") for name in ("kind", "coolant", "base")},
        base_said=put_in["base_said"].astype(bool),
        glycol_pct=put_in["glycol_pct"].astype("float64") * thinned,
        kind_said=recorded[source],
        assumed=unsure | ~np.where(first, recorded, said),
    )


def _newest(code: NDArray[np.intp], whole: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell which row is the newest whole change of its vehicle."""
    at = np.flatnonzero(whole)
    result = np.zeros(len(code), dtype=bool)
    if len(at):
        last = np.append(code[at][1:] != code[at][:-1], [True])
        result[at[last]] = True
    return result
