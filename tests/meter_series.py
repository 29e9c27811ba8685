"""Readings of a few meters, made by hand."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import METERS, Gathered

Read = Sequence[tuple[float, float]]  # day number and value


def gathered(read: dict[tuple[str, str], Read], **more: object) -> Gathered:
    """Return the readings of vehicles and meters; `more` are fields of `Gathered`."""
    vehicles = np.array(sorted({vehicle for vehicle, _ in read}), dtype=object)
    rows = [
        (int(np.searchsorted(vehicles, vehicle)) * len(METERS) + METERS.index(meter), on, value)
        for (vehicle, meter), values in read.items()
        for on, value in values
    ]
    rows.sort()
    n = len(rows)
    fields: dict[str, object] = {
        "vehicles": vehicles,
        "series": np.array([row[0] for row in rows], dtype="int64"),
        "on": np.array([row[1] for row in rows], dtype="float64"),
        "raw": np.array([row[2] for row in rows], dtype="float64"),
        "source": np.full(n, "readings", dtype=object),
        "fitted": np.zeros(n, dtype="int64"),
        "told": np.zeros(n, dtype=bool),
    }
    return Gathered(**(fields | more))  # type: ignore[arg-type] # fields by name


def weekly(*raw: float, days: Sequence[float] = (), meter: int = 0, **more: object) -> Chain:
    """Return the chain of one vehicle read every seven days, or on the days given."""
    on = list(days) or [7.0 * i for i in range(len(raw))]
    if not raw:
        return repair(gathered({("104", METERS[meter]): []}, **more))
    return repair(gathered({("104", METERS[meter]): list(zip(on, raw, strict=True))}, **more))


def used(chain: Chain) -> list[bool]:
    return [bool(one) for one in chain.frame["used"]]


def odd(chain: Chain) -> pd.DataFrame:
    """Return the readings something is odd about."""
    return chain.frame[chain.frame["cause"].ne("")].reset_index(drop=True)


def only(chain: Chain) -> dict[str, object]:
    """Return the one odd reading."""
    rows = odd(chain)
    assert len(rows) == 1, rows
    return {str(name): value for name, value in rows.iloc[0].items()}
