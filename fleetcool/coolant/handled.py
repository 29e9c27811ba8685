"""Which recorded work let coolant out or put some in, and what was written of how much."""

import pandas as pd

from fleetcool.coolant.litres import drain_shares, litres_of
from fleetcool.knowledge.losses import ONE_TOP_UP, of_size
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

TOP_UP = "coolant top-up"
CORRECTION = "coolant correction"
TOPPED_UP = "topped up"
PUT_BACK = "put back"
FLUSHED = "flushed"
REFILLED = ("drained and filled", FLUSHED)
DIGITS = 1  # a share in percent is compared to this many decimals
LITRE_DIGITS = 2  # and litres to these


def tops_up(history: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which work only topped up; index like `history` (columns service, how)."""
    put_back = history["how"].astype(object).eq(PUT_BACK)
    return (history["service"].eq(TOP_UP) | history["how"].astype(object).eq(TOPPED_UP)) & ~put_back


def recorded_shares(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return the history with `replaced_share` [percent] filled from the litres written beside it.

    A blank share of work that opened the coolant side becomes litres put in, else litres let out,
    by litres held. It stays blank where what the system holds is not known, and for topping up and
    putting back. A flush leaves only water, so it replaces all of what was in there, whatever
    share of the filling is then coolant.
    """
    history = standing["history"]
    opened = _opened(history, knowledge)
    litres = _exchanged(history)
    worked_out = (100.0 * litres / _known_litres(standing, knowledge)).clip(0.0, 100.0)
    share = history["replaced_share"].astype("float64")
    share = share.fillna(worked_out.where(opened & (litres > 0.0)).round(DIGITS))
    flushed = opened & history["how"].astype(object).eq(FLUSHED)
    return history.assign(replaced_share=share.mask(flushed, 100.0))


def drains_of(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a work that let coolant out and put other coolant in.

    Returns:
        vehicle, on, service, how, coolant (as written), replaced_share (recorded, NaN if not),
        assumed_share [percent]: litres by litres, though not for certain, else the layout's drain
        share; and filled (0 to 1): litres put in by litres held, NaN where either is not known.
    """
    history = recorded_shares(standing, knowledge)
    filled = history["litres_in"].astype("float64") / _known_litres(standing, knowledge)
    history = history.assign(filled=filled.clip(0.0, 1.0), litres=_exchanged(history))
    rows = history[_opened(history, knowledge)]
    columns = ["vehicle", "on", "service", "how", "coolant", "replaced_share", "filled", "litres"]
    rows = rows[columns]
    vehicles = standing["vehicles"].drop_duplicates("vehicle").set_index("vehicle")
    rows = rows.assign(layout=rows["vehicle"].map(vehicles["layout"]))
    held = litres_of(standing["vehicles"], knowledge.layouts).set_index("vehicle")["litres"]
    by_litres = 100.0 * rows["litres"] / rows["vehicle"].map(held).astype("float64")
    assumed = by_litres.clip(0.0, 100.0).fillna(drain_shares(rows, knowledge))
    rows = rows.assign(assumed_share=assumed, on=rows["on"].astype("float64"))
    return rows.drop(columns=["layout", "litres"])


def top_ups_of(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a topping up.

    Coolant poured in beside dry work counts as one, and so do the litres put back beyond those
    that were let out; litres that nobody wrote (a tick) take the usual ones of the size.

    Returns:
        vehicle, on, coolant (as written), litres [L], said (bool: the litres are written), share
        (0 to 1) and assumed (bool: the litres or what the system holds is not known).
    """
    history = standing["history"]
    put_back = history["how"].astype(object).eq(PUT_BACK)
    litres = history["litres_in"].astype("float64")
    beyond = (litres - history["litres_out"].astype("float64")).round(LITRE_DIGITS)
    litres = litres.mask(put_back, beyond)
    kind = history["service"].map(knowledge.services.set_index("service")["kind"])
    dry = ~_opened(history, knowledge) & ~kind.eq("dose")
    rows = history.assign(litres_in=litres)
    rows = rows[tops_up(history) | ((dry | put_back) & (litres > 0.0))]
    vehicles = standing["vehicles"]
    size_of = vehicles["layout"].map(knowledge.layouts.set_index("layout")["size"])
    size = rows["vehicle"].map(pd.Series(size_of.to_numpy(), vehicles["vehicle"]))
    held = litres_of(vehicles, knowledge.layouts).set_index("vehicle")
    system = rows["vehicle"].map(held["litres"]).astype("float64")
    share = rows["replaced_share"].astype("float64") / 100.0
    written = rows["litres_in"].astype("float64").fillna(share * system)
    litres = written.fillna(of_size(ONE_TOP_UP, size))
    unsure = rows["vehicle"].map(held["assumed"]).astype(bool)
    return pd.DataFrame(
        {
            "vehicle": rows["vehicle"],
            "on": rows["on"].astype("float64"),
            "coolant": rows["coolant"].astype("str"),
            "litres": litres,
            "said": written.notna(),
            "share": (litres / system).clip(0.0, 1.0),
            "assumed": written.isna() | unsure,
        }
    ).reset_index(drop=True)


def _opened(history: pd.DataFrame, knowledge: Knowledge) -> "pd.Series[bool]":
    """Tell which work let coolant out that was not put back."""
    wet = history["service"].map(knowledge.services.set_index("service")["wet"])
    how = history["how"].astype(object)
    opened = wet.astype("float64").eq(1.0) | how.isin(REFILLED)
    opened |= history["replaced_share"].astype("float64").notna()
    opened |= history["service"].eq(CORRECTION) & (_exchanged(history) > 0.0)
    return opened & ~how.eq(PUT_BACK) & ~tops_up(history)


def _exchanged(history: pd.DataFrame) -> "pd.Series[float]":
    """Return the litres put in [L], else those let out, NaN where neither is written."""
    return history["litres_in"].astype("float64").fillna(history["litres_out"].astype("float64"))


def _known_litres(standing: Standing, knowledge: Knowledge) -> "pd.Series[float]":
    """Return what the system of each row of history holds [L], NaN where nobody said."""
    held = litres_of(standing["vehicles"], knowledge.layouts).set_index("vehicle")
    known = held["litres"].where(~held["assumed"]).astype("float64")
    return standing["history"]["vehicle"].map(known).astype("float64")
