"""What the newest test says of the mix in each system."""

import numpy as np
import pandas as pd

from fleetcool.coolant.freeze import percents_for
from fleetcool.knowledge.properties import most_glycol

_BEST_FIRST = {"lab": 0, "refractometer": 1, "strip": 2}


def measured_mix(tests: pd.DataFrame, bases: pd.DataFrame) -> pd.DataFrame:
    """Return the newest test with glycol or a freezing point: on, glycol_pct; index the vehicle.

    A freezing point becomes glycol on the falling branch of the base in there; one that is colder
    than any recommended mix counts as the most that is recommended. Of several tests of a day the
    laboratory goes before the refractometer, that before a strip, then the least glycol.

    Args:
        tests: the table coolant_tests, with vehicle.
        bases: rows with vehicle and base (eg or pg).
    """
    base = tests["vehicle"].map(bases.drop_duplicates("vehicle").set_index("vehicle")["base"])
    freeze = tests["freeze_c"].to_numpy(dtype=np.float64)
    found = percents_for(base.to_numpy(dtype=object), freeze)
    most = base.map({one: most_glycol(one) for one in ("eg", "pg")}).to_numpy(dtype="float64")
    beyond = np.where(freeze > 0.0, 0.0, most)
    found = np.where(np.isnan(found) & ~np.isnan(freeze), beyond, found)
    said = tests["glycol_pct"].astype("float64").to_numpy()
    rows = pd.DataFrame(
        {
            "vehicle": tests["vehicle"].to_numpy(),
            "on": tests["on"].astype("float64").to_numpy(),
            "rank": tests["with"].astype(object).map(_BEST_FIRST).fillna(3).to_numpy("float64"),
            "glycol_pct": np.where(np.isnan(said), found, said),
        }
    ).dropna(subset=["glycol_pct"])
    rows = rows.sort_values(
        ["vehicle", "on", "rank", "glycol_pct"], ascending=[True, False, True, True]
    )
    return rows.drop_duplicates("vehicle").set_index("vehicle")[["on", "glycol_pct"]]
