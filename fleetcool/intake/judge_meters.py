"""Does a reading fit another vehicle's meter better than its own? A hint, never a refusal."""

import numpy as np
import pandas as pd

from fleetcool.intake.keys import normal
from fleetcool.model.days import numbers
from fleetcool.model.tables import Column

MOST_KM_A_DAY = 1500.0
BACK_KM = 50.0
MOST_HINTS = 200
LOOK_BACK = 3  # readings


def looks_like(rows: pd.DataFrame, standing: pd.DataFrame) -> tuple[str, ...]:
    """Return a sentence for each reading that fits another unit's meter and not its own.

    Each meter is carried on from its last standing reading at its mean rate. A reading fits its
    own when it lies up to 50 km below or up to 1,500 km a day above (common practice, no source)
    one of the last three, since the last of them may be the odd one.
    """
    meters = _meters(standing)
    if meters.empty:
        return ()
    unit = normal(Column("unit", "unit"), rows["unit"])
    on, km = numbers(rows["on"].astype("str")), rows["odometer"].to_numpy("float64")
    lines = _lines(standing).groupby("unit", sort=True)
    odd = meters.reindex(unit)["on"].to_numpy("float64") <= on
    for back in range(LOOK_BACK):
        own = lines.nth(-1 - back).set_index("unit").reindex(unit)
        days = on - own["on"].to_numpy("float64")
        ahead = km - own["odometer"].to_numpy("float64")
        with np.errstate(invalid="ignore"):
            odd &= ~((ahead >= -BACK_KM) & (ahead <= MOST_KM_A_DAY * (days + 1)))
    hints = []
    for at in np.flatnonzero(odd)[:MOST_HINTS]:
        other = _nearest(meters.drop(index=unit.iloc[at]), on[at], km[at])
        if other:
            hints.append(
                f"{rows['sheet'].iloc[at]} row {int(rows['row'].iloc[at])}: {km[at]:,.0f} km on "
                f"{rows['on'].iloc[at]} does not fit unit {unit.iloc[at]}; "
                f"it looks like unit {other}'s."
            )
    return tuple(hints)


def _meters(standing: pd.DataFrame) -> pd.DataFrame:
    """Return by unit the last reading (on, km) and the mean rate [km/d]."""
    if not standing["odometer"].notna().any():
        return pd.DataFrame()
    lines = _lines(standing).groupby("unit", sort=True)
    first, last = lines.first(), lines.last()
    days = (last["on"] - first["on"]).clip(lower=1.0)
    rate = ((last["odometer"] - first["odometer"]) / days).clip(0.0, MOST_KM_A_DAY)
    return pd.DataFrame({"on": last["on"], "km": last["odometer"], "rate": rate})


def _lines(standing: pd.DataFrame) -> pd.DataFrame:
    """Return the odometer readings of each unit, oldest first: unit, on, odometer [km]."""
    some = standing[standing["odometer"].notna()][["unit", "on", "odometer"]]
    some = some.assign(
        unit=normal(Column("unit", "unit"), some["unit"]), on=numbers(some["on"].astype("str"))
    )
    return some.sort_values(["unit", "on", "odometer"], kind="stable")


def _nearest(meters: pd.DataFrame, on: float, km: float) -> str:
    days = on - meters["on"]
    ahead = days.clip(lower=0.0) * meters["rate"]
    apart = (meters["km"] + ahead - km).abs()
    allowed = 100.0 + 0.5 * ahead
    fits = apart[(apart <= allowed) & (days >= 0)]
    return str(fits.idxmin()) if len(fits) else ""
