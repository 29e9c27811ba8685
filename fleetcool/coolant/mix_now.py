"""Whether what is in a system now has too little or too much glycol, fills since a test counted."""

import numpy as np
import pandas as pd

from fleetcool.coolant.contents import Contents
from fleetcool.coolant.fills import FIRST_FILL
from fleetcool.coolant.freeze import over_concentrated
from fleetcool.coolant.measure_words import value_text
from fleetcool.coolant.tested import with_bands
from fleetcool.model.days import day_text

WEAK, OVER = "weak glycol", "over-concentrated"
GLYCOL = (WEAK, OVER)
# One row a vehicle.
MIX_COLUMNS = (
    "vehicle",
    "glycol_pct",
    "freezes_c",
    "coldest_c",  # NaN when not said
    "least_pct",  # glycol below which the band of its kind acts
    "filled_on",  # newest fill, the first one apart; NaN when none
    "measured_on",
    "weak",  # bool: freezes above the coldest day, or below the least
    "over",  # bool
    "said",  # bool: the share rests on a test, or on fills whose share somebody recorded
)
_DIGITS = 1  # temperatures and shares are compared to a tenth


def mix_now(contents: Contents, coldest: "pd.Series[float]", bands: pd.DataFrame) -> pd.DataFrame:
    """Return what the mix in each system is and whether that does, with `MIX_COLUMNS`.

    Args:
        contents: what is in each vehicle, and what was filled when.
        coldest: coldest day to be protected against by vehicle [°C].
        bands: the table bands.
    """
    coolant, fills = contents.coolant, contents.fills
    who = coolant["vehicle"]
    later = fills[fills["by_work"].ne(FIRST_FILL)].groupby("vehicle")["on"].max()
    band = with_bands(coolant[["kind"]].assign(measure="glycol_pct"), bands)
    rows = pd.DataFrame(
        {
            "vehicle": who.to_numpy(),
            "glycol_pct": coolant["glycol_pct"].to_numpy("float64"),
            "freezes_c": coolant["freezes_c"].to_numpy("float64"),
            "coldest_c": who.map(coldest).to_numpy("float64"),
            "least_pct": band["act_below"].to_numpy("float64"),
            "filled_on": who.map(later).to_numpy("float64"),
            "measured_on": coolant["measured_on"].to_numpy("float64"),
        }
    )
    glycol = rows["glycol_pct"].round(_DIGITS)
    base = coolant["base"].to_numpy(dtype=object)
    over = over_concentrated(base, rows["glycol_pct"].to_numpy())
    over |= (glycol > band["act_above"].to_numpy("float64")).to_numpy()
    warm = rows["freezes_c"].round(_DIGITS) > rows["coldest_c"].round(_DIGITS)
    rows["weak"] = (warm | (glycol < rows["least_pct"])) & ~over
    rows["over"] = over
    rows["said"] = rows["measured_on"].notna() | (rows["filled_on"].notna() & _named(who, fills))
    return rows[list(MIX_COLUMNS)]


def findings_of_mix(mix: pd.DataFrame, tested: pd.DataFrame, *, us: bool) -> pd.DataFrame:
    """Return vehicle, finding, found_on, why of what was filled since the newest test, or untested.

    A system that is too strong is named only after a test, because concentrate is often written
    for what was mixed with water. What the tests already say is not said again.

    Args:
        mix: `MIX_COLUMNS`.
        tested: rows with vehicle and finding of the newest tests.
        us: say values in the units of the United States.
    """
    untested = mix["measured_on"].isna()
    since = untested | (mix["filled_on"] > mix["measured_on"])
    over = mix["over"] & ~untested
    rows = mix[since & mix["said"] & (mix["weak"] | over)]
    rows = rows.assign(finding=np.where(rows["over"], OVER, WEAK), found_on=rows["filled_on"])
    there = pd.MultiIndex.from_frame(tested[["vehicle", "finding"]])
    rows = rows[~pd.MultiIndex.from_frame(rows[["vehicle", "finding"]]).isin(there)]
    columns = ["glycol_pct", "freezes_c", "coldest_c", "filled_on", "measured_on", "over"]
    why = [_why(*one, us=us) for one in rows[columns].itertuples(index=False, name=None)]
    rows = rows.assign(why=pd.Series(why, rows.index, dtype="str"))
    return rows[["vehicle", "finding", "found_on", "why"]].reset_index(drop=True)


def _named(who: "pd.Series[str]", fills: pd.DataFrame) -> "pd.Series[bool]":
    """Tell in which vehicles the last whole change or first fill names its product, or water."""
    start = fills[fills["whole"] | fills["by_work"].eq(FIRST_FILL)]
    start = start.drop_duplicates("vehicle", keep="last").set_index("vehicle")
    named = start["coolant"].notna() | start["glycol_pct"].eq(0.0)
    return pd.Series(who.map(named).eq(other=True).to_numpy(dtype=bool), who.index)


def _why(  # noqa: PLR0913, PLR0917 - the values of one row
    glycol: float,
    freezes: float,
    coldest: float,
    filled: float,
    measured: float,
    over: object,
    *,
    us: bool,
) -> str:
    percent = value_text("glycol_pct", glycol)
    tested = "" if np.isnan(measured) else f" and the test of {day_text(measured)}"
    said = f"{percent}, worked out from what was filled up to {day_text(filled)}{tested}"
    if over:
        return f"{said}: more than is recommended, and it protects less"
    said += f": {value_text('freeze_c', freezes, us=us)}"
    if np.isnan(coldest):
        return said
    cold = value_text("freeze_c", coldest, us=us).removeprefix("freezing point ")
    return f"{said}, the coldest day is {cold}"
