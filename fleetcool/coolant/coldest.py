"""What the coldest day asks of a freezing point, measured or worked out from measured glycol."""

import numpy as np
import pandas as pd

from fleetcool.coolant.freeze import freezing_points, over_concentrated
from fleetcool.coolant.tested import FREEZES_BY_GLYCOL, verdicts


def coldest_days(vehicles: pd.DataFrame, depots: pd.DataFrame) -> "pd.Series[float]":
    """Return the coldest day to be protected against by vehicle [°C]: its own, else its depot's.

    Args:
        vehicles: rows with vehicle, depot, coldest_c.
        depots: rows with depot, coldest_c.
    """
    rows = vehicles.drop_duplicates("vehicle").set_index("vehicle")
    yard = rows["depot"].map(depots.drop_duplicates("depot").set_index("depot")["coldest_c"])
    return rows["coldest_c"].astype("float64").fillna(yard.astype("float64")).dropna()


def against_coldest(
    judged: pd.DataFrame, coldest: "pd.Series[float]", kinds: pd.DataFrame
) -> pd.DataFrame:
    """Return the judged rows with freezing points held against each vehicle's coldest day.

    A freezing point warmer than the coldest day is to act upon; where that day is unknown the
    verdict stays. A test that only read the glycol gets a row more, `FREEZES_BY_GLYCOL`: where
    that much freezes.

    Args:
        judged: rows of `judge_tests`.
        coldest: coldest day to be protected against by vehicle [°C].
        kinds: rows with vehicle and base.
    """
    result = judged.copy()
    limit = result["vehicle"].map(coldest).astype("float64")
    frozen = (result["measure"] == "freeze_c") & limit.notna()
    again = _held_against(result[frozen], limit[frozen])
    kept = again["verdict"] == "good"
    for column in ("verdict", "side"):
        again[column] = again[column].where(~kept, result.loc[frozen, column])
    for column in ("verdict", "side", "act_above", "band"):
        result.loc[frozen, column] = again[column]
    more = _by_glycol(judged, coldest, kinds)
    if more.empty:
        return result
    both = pd.concat([result, more[list(result.columns)]], ignore_index=True)
    order = ["vehicle", "on", "row", "measure"]
    return both.sort_values(order, kind="stable").reset_index(drop=True)


def _by_glycol(
    judged: pd.DataFrame, coldest: "pd.Series[float]", kinds: pd.DataFrame
) -> pd.DataFrame:
    """Return rows of the freezing point of each test that only read the glycol.

    Too much glycol is named as such by its own row and has no freezing point that is known.
    """
    read = set(judged.loc[judged["measure"] == "freeze_c", "row"])
    rows = judged[(judged["measure"] == "glycol_pct") & ~judged["row"].isin(read)]
    base = rows["vehicle"].map(kinds.drop_duplicates("vehicle").set_index("vehicle")["base"])
    limit = rows["vehicle"].map(coldest).astype("float64")
    base_of = base.to_numpy(dtype=object)
    fine = limit.notna() & ~over_concentrated(base_of, rows["value"].to_numpy("float64"))
    points = {
        name: freezing_points(base_of, rows[of].clip(0.0, 100.0).to_numpy("float64"))
        for name, of in (("value", "value"), ("low", "high"), ("high", "low"))
    }
    rows = rows.assign(measure=FREEZES_BY_GLYCOL, act_below=np.nan, **points)
    rows = rows[fine & rows["value"].notna()]
    return _held_against(rows, limit[rows.index])


def _held_against(rows: pd.DataFrame, limit: "pd.Series[float]") -> pd.DataFrame:
    return verdicts(rows.assign(act_above=limit, good_from=np.nan, good_to=np.nan))
