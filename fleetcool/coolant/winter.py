"""Which vehicles would freeze on their coldest day, and how many litres would mend it."""

import numpy as np
import pandas as pd

from fleetcool.coolant.freeze import freezing_points, over_concentrated, percents_for
from fleetcool.coolant.mixing import CONCENTRATE, WATER
from fleetcool.knowledge.properties import BASES, Floats, figure, freezing, most_glycol
from fleetcool.model.knowledge import Knowledge

# One row a vehicle.
WINTER_COLUMNS = (
    "vehicle",
    "unit",
    "depot",  # home yard
    "coldest_c",  # the coldest day it is protected against, NaN when not said
    "coldest_from",  # vehicle, depot or not said
    "freezes_c",  # NaN when nothing is recorded, or when the mix is over-concentrated
    "measured_on",  # day of the test, NaN when it is worked out: no test, or filled since
    "glycol_pct",
    "wanted_c",  # freezes there or below when all is well
    "wanted_pct",  # glycol that is aimed at, NaN when nothing is changed
    "what",  # raise, lower, test, say coldest, no room, nothing
    "litres_drain",  # over all rounds, 0 when nothing is changed
    "litres_add",
    "add_what",  # part number, or water; missing when nothing is put in
    "product",  # what that part is; missing for water
    "rounds",  # drains and fills, because only the radiator's share comes out at once
    "note",  # sentence
)
_GUARD = 1e-9
_NO_MORE = " More glycol does not help then: keep it indoors or warm, and ask its maker."
_SENTENCES = {
    "test": "Neither a test nor a whole change is recorded: test it before the cold.",
    "say coldest": "The coldest day is not said: fill in coldest_c for the depot {depot} or for "
    "the vehicle.",
    "no room": f"It holds the most glycol that is recommended and the margin is thin.{_NO_MORE}",
    "nothing": "Protected on its coldest day.",
}


def winter_list(
    coolant: pd.DataFrame,
    vehicles: pd.DataFrame,
    depots: pd.DataFrame,
    knowledge: Knowledge,
    parcels: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Return one row a vehicle with `WINTER_COLUMNS`, sorted by yard, then unit.

    Coolant should freeze a margin below the coldest day; the vehicle's own coldest day goes before
    its yard's. A weak mix is raised with concentrate of its product to what the day needs, rounded
    up to a whole percent, at least to the working range; an over-concentrated one is lowered with
    water. Only what the radiator's drain lets out comes out at once. A mix that rests on an
    assumed first fill alone, with neither a test nor a whole change on record, is to be tested,
    never called protected.

    Args:
        coolant: what is in there now, `COOLANT_COLUMNS`.
        vehicles: the table vehicles with `vehicle`.
        depots: the table depots.
        knowledge: the knowledge in force.
        parcels: `PARCEL_COLUMNS`; what was filled after a test makes the mix a worked-out one.

    **Source:** the margin, the working range and the radiator's share are in `figures.csv`.
    """
    frame = _gathered(coolant, vehicles, depots, knowledge)
    _judge(frame)
    _aim(frame)
    _count_litres(frame)
    frame["measured_on"] = _untouched(frame, parcels)
    frame["note"] = _notes(frame)
    frame = frame.sort_values(["depot", "unit", "vehicle"], kind="stable")
    return frame.reset_index(drop=True).reindex(columns=list(WINTER_COLUMNS))


def _gathered(
    coolant: pd.DataFrame, vehicles: pd.DataFrame, depots: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Return what the list needs of each vehicle, one row each."""
    mine = vehicles.drop_duplicates("vehicle").set_index("vehicle")
    who = coolant["vehicle"]
    frame = pd.DataFrame(
        {
            "vehicle": who.to_numpy(),
            **{name: who.map(mine[name]).to_numpy() for name in ("unit", "depot", "layout")},
            **{
                name: coolant[name].astype("float64").to_numpy()
                for name in ("litres", "glycol_pct", "freezes_c", "measured_on")
            },
            "recorded": (coolant["measured_on"].notna() | coolant["whole_change_on"].notna())
            .astype(bool)
            .to_numpy(),
        }
    )
    own = who.map(mine["coldest_c"]).astype("float64").to_numpy()
    yard = frame["depot"].map(depots.drop_duplicates("depot").set_index("depot")["coldest_c"])
    frame["coldest_c"] = np.where(np.isnan(own), yard.astype("float64"), own)
    frame["coldest_from"] = np.where(
        ~np.isnan(own), "vehicle", np.where(frame["coldest_c"].notna(), "depot", "not said")
    )
    drains = frame["layout"].map(knowledge.layouts.set_index("layout")["drains_radiator_pct"])
    share = drains.astype("float64").fillna(figure("radiator drains").value) / 100.0
    frame["drained"] = share.clip(0.01, 1.0)
    return frame.join(_products(coolant, knowledge.coolants))


def _products(coolant: pd.DataFrame, known: pd.DataFrame) -> pd.DataFrame:
    """Return product, base, its parts and premix_pct of what is in each vehicle."""
    known = known.sort_values("coolant")
    by_kind = known.drop_duplicates(["kind", "base"]).set_index(["kind", "base"])["coolant"]
    wanted = pd.MultiIndex.from_frame(coolant[["kind", "base"]].astype(object))
    usual = pd.Series(by_kind.reindex(wanted).to_numpy(dtype=object), coolant.index)
    product = coolant["coolant"].astype(object).where(coolant["coolant"].isin(known["coolant"]))
    names = ["base", "concentrate_part", "premix_part", "premix_pct"]
    found = known.set_index("coolant")[names].reindex(product.fillna(usual).to_numpy())
    found = found.rename_axis("product").reset_index()
    base = coolant["base"].astype(object).reset_index(drop=True)
    found["base"] = base.fillna(found["base"].astype(object))
    return found


def _judge(frame: pd.DataFrame) -> None:
    """Add what, wanted_c and beyond, and complete glycol_pct and freezes_c from each other."""
    base = frame["base"].to_numpy(dtype=object)
    freezes = frame["freezes_c"].to_numpy()
    glycol = frame["glycol_pct"].to_numpy()
    glycol = np.where(np.isnan(glycol), percents_for(base, freezes), glycol)
    freezes = np.where(np.isnan(freezes), freezing_points(base, glycol), freezes)
    wanted = np.round(frame["coldest_c"].to_numpy() - figure("freezes below coldest").value, 1)
    over = over_concentrated(base, glycol)
    told = ~np.isnan(frame["freezes_c"].to_numpy()) | np.isnan(frame["glycol_pct"].to_numpy())
    known = ~np.isnan(freezes) & ~np.isnan(glycol) & frame["recorded"].to_numpy()
    known &= told | over  # of two bases no freezing point can be read off one scale
    weak = np.round(freezes, 1) > wanted
    glycol = np.where(weak & ~over, np.fmin(glycol, percents_for(base, freezes)), glycol)
    most = _by_base(base, {name: most_glycol(name) for name in BASES})
    room = np.round(glycol, 1) < np.round(most, 1)
    frame["what"] = np.select(
        [over & known, ~known, np.isnan(wanted), weak & room, weak],
        ["lower", "test", "say coldest", "raise", "no room"],
        "nothing",
    )
    frame["glycol_pct"] = np.where(known, glycol, np.nan)
    frame["freezes_c"] = np.where(known & ~over, freezes, np.nan)
    frame["wanted_c"] = wanted
    ends = _by_base(base, {name: float(freezing(name).value[-1]) for name in BASES})
    frame["beyond"] = wanted < np.round(ends, 1)


def _aim(frame: pd.DataFrame) -> None:
    """Add wanted_pct, source and add_what for the vehicles that are raised or lowered."""
    base = frame["base"].to_numpy(dtype=object)
    most = _by_base(base, {name: most_glycol(name) for name in BASES})
    needed = percents_for(base, np.minimum(frame["wanted_c"].to_numpy(), 0.0))
    needed = np.where(frame["beyond"], most, needed)
    up, down = frame["what"].eq("raise").to_numpy(), frame["what"].eq("lower").to_numpy()
    least, usual = figure("least glycol").value, figure("usual glycol").value
    raised = np.clip(needed, least, most)
    lowered = np.clip(np.where(np.isnan(needed), usual, needed), usual, most)
    aim = np.ceil(np.select([up, down], [raised, lowered], np.nan) - _GUARD)  # as people mix
    premix = frame["premix_pct"].astype("float64").to_numpy()
    neat = frame["concentrate_part"].notna().to_numpy()
    by_premix = up & ~neat & frame["premix_part"].notna().to_numpy() & (premix > aim + 0.05)
    frame["wanted_pct"] = aim
    frame["source"] = np.select([down, by_premix], [WATER, premix], CONCENTRATE)
    add_what = frame["concentrate_part"].astype(object).fillna("concentrate of the same kind")
    add_what = add_what.mask(by_premix, frame["premix_part"].astype(object)).mask(down, "water")
    frame["add_what"] = add_what.where(up | down)
    product = frame["product"].astype(object)
    neat_product = (product + " concentrate").where(~by_premix, product)
    frame["product"] = neat_product.where(up & frame["product"].notna()).astype("str")


def _untouched(frame: pd.DataFrame, parcels: pd.DataFrame | None) -> "pd.Series[float]":
    """Return the day of each test after which nothing was filled; NaN for the others."""
    tested = frame["measured_on"]
    if parcels is None or parcels.empty:
        return tested
    last = parcels.groupby("vehicle")["filled_on"].max().astype("float64")
    return tested.where(~(frame["vehicle"].map(last).astype("float64") > tested))


def _count_litres(frame: pd.DataFrame) -> None:
    """Add rounds, litres_drain and litres_add: full drains first, the last one makes up the rest.

    The same arithmetic as `mixing.replace`, over the whole fleet at once.
    """
    now, aim = frame["glycol_pct"].to_numpy(), frame["wanted_pct"].to_numpy()
    source, out = frame["source"].to_numpy(), frame["drained"].to_numpy()
    litres = frame["litres"].to_numpy()
    changed = ~np.isnan(aim)
    now, aim = np.where(changed, now, 0.0), np.where(changed, aim, 0.0)
    gap = np.where(changed, source - now, 1.0)
    still = np.where(changed, (source - aim) / gap, 1.0)
    decay = np.log1p(-np.minimum(out, 1.0 - _GUARD))
    full = np.floor(np.log(np.maximum(still, _GUARD)) / decay + _GUARD)
    at = source - gap * (1.0 - out) ** full
    last = np.where(changed, (aim - at) / np.where(changed, source - at, 1.0), 0.0)
    last = np.where(last > _GUARD, last, 0.0)
    frame["rounds"] = np.where(changed, full + (last > 0.0), 0.0)
    frame["litres_drain"] = np.where(changed, litres * (full * out + last), 0.0)
    frame["litres_add"] = frame["litres_drain"]


def _by_base(base: "np.ndarray[tuple[int], np.dtype[np.object_]]", of: dict[str, float]) -> Floats:
    """Return a figure of each row's base, NaN where the base is unknown; shape (n,)."""
    return np.select([base == name for name in of], list(of.values()), np.nan)


def _notes(frame: pd.DataFrame) -> "pd.Series[str]":
    """Return the sentences of each row: how bad it is, what to do, and where that is not enough."""
    up = frame["what"].eq("raise")
    frost = would_freeze(frame)
    lead = np.where(up & frost, "It would freeze on its coldest day: ", "Its margin is thin: ")
    tail = np.where(up & frame["beyond"], _NO_MORE, "")
    told = zip(
        frame["what"],
        frame["glycol_pct"],
        frame["wanted_pct"],
        frame["rounds"],
        frame["depot"],
        strict=True,
    )
    body = pd.Series([_note(*one) for one in told], frame.index, dtype="str")
    return pd.Series(np.where(up, lead, ""), frame.index, dtype="str") + body + tail


def would_freeze(found: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which vehicles freeze on their coldest day; NaN of either says no."""
    return found["freezes_c"].round(1) >= found["coldest_c"].round(1)


def _note(what: str, now: float, aim: float, rounds: float, depot: str) -> str:
    """Return the sentence for what is to be done; shares in percent."""
    if what in _SENTENCES:
        return _SENTENCES[what].format(depot=depot)
    again = f", in {rounds:.0f} drains and fills, run warm in between" if rounds > 1 else ""
    if what == "raise":
        return f"raise from {now:.1f} to {aim:.1f} percent of glycol{again}."
    return (
        f"Over-concentrated with {now:.1f} percent of glycol, which protects less, not more: "
        f"lower to {aim:.1f} percent with clean water{again}."
    )
