"""Which recorded work let coolant out or put some in, and what was written of how much."""

import numpy as np
import pandas as pd

from fleetcool.coolant.litres import drain_shares, litres_of
from fleetcool.knowledge.losses import ONE_TOP_UP, of_size
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

TOP_UP = "coolant top-up"
TOPPED_UP = "topped up"
PUT_BACK = "put back"
FLUSHED = "flushed"
REFILLED = ("drained and filled", FLUSHED)
DIGITS = 1  # a share in percent is compared to this many decimals


def tops_up(history: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which work only topped up; index like `history` (columns service, how)."""
    put_back = history["how"].astype(object).eq(PUT_BACK)
    return (history["service"].eq(TOP_UP) | history["how"].astype(object).eq(TOPPED_UP)) & ~put_back


def recorded_shares(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return the history with `replaced_share` [percent] filled from the litres written beside it.

    A blank share of work that opened the coolant side becomes litres put in by litres held. It
    stays blank where what the system holds is not known; where the system was flushed, as part of
    the filling is then water that stayed; and for topping up and putting back.
    """
    history, vehicles = standing["history"], standing["vehicles"]
    held = litres_of(vehicles, knowledge.layouts).set_index("vehicle")
    known = held["litres"].where(~held["assumed"]).astype("float64")
    litres = history["litres_in"].astype("float64")
    worked_out = (100.0 * litres / history["vehicle"].map(known).astype("float64")).clip(0.0, 100.0)
    how = history["how"].astype(object)
    counts = _opened(history, knowledge) & ~how.eq(FLUSHED) & (litres > 0.0)
    share = history["replaced_share"].astype("float64")
    return history.assign(replaced_share=share.fillna(worked_out.where(counts).round(DIGITS)))


def drains_of(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a work that let coolant out and put other coolant in.

    Returns:
        vehicle, on, service, how, coolant (as written), replaced_share (recorded, NaN if not) and
        assumed_share [percent]: the layout's drain share, or litres by litres where those tell
        more, though not for certain.
    """
    history = recorded_shares(standing, knowledge)
    rows = history[_opened(history, knowledge)]
    rows = rows[["vehicle", "on", "service", "how", "coolant", "replaced_share", "litres_in"]]
    vehicles = standing["vehicles"].drop_duplicates("vehicle").set_index("vehicle")
    rows = rows.assign(layout=rows["vehicle"].map(vehicles["layout"]))
    held = litres_of(standing["vehicles"], knowledge.layouts).set_index("vehicle")["litres"]
    litres = rows["litres_in"].astype("float64")
    by_litres = (100.0 * litres / rows["vehicle"].map(held).astype("float64")).clip(0.0, 100.0)
    drained = drain_shares(rows, knowledge)
    flushed = rows["how"].astype(object).eq(FLUSHED)
    assumed = by_litres.fillna(drained).where(~flushed, np.fmax(by_litres, drained))
    rows = rows.assign(assumed_share=assumed, on=rows["on"].astype("float64"))
    return rows.drop(columns=["layout", "litres_in"])


def top_ups_of(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a topping up.

    Coolant poured in beside dry work counts as one; litres that nobody wrote (a tick) take the
    usual ones of the size.

    Returns:
        vehicle, on, coolant (as written), litres [L], said (bool: the litres are written), share
        (0 to 1) and assumed (bool: the litres or what the system holds is not known).
    """
    history = standing["history"]
    litres = history["litres_in"].astype("float64")
    kind = history["service"].map(knowledge.services.set_index("service")["kind"])
    dry = ~_opened(history, knowledge) & ~kind.eq("dose")
    dry &= ~history["how"].astype(object).eq(PUT_BACK)
    rows = history[tops_up(history) | (dry & (litres > 0.0))]
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
    return opened & ~how.eq(PUT_BACK) & ~tops_up(history)
