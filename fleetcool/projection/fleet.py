"""The vehicles of a fleet as arrays: size, first use, when they joined, whether we plan them."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.first_use import first_use
from fleetcool.meters.usage import SIZES, Beginning

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

NEW_WITHIN = 60  # days after first use in which a vehicle joins as new


@dataclass(frozen=True, slots=True)
class Fleet:
    """The vehicles, sorted by identity; arrays of shape (n_vehicles,).

    `frame` has the rows of `vehicles`. `size` is 0 light, 1 medium, 2 heavy; `first_used_on`
    [day number], `first_use_assumed` (bool) when neither it nor the joining day nor the model
    year is known; `joined_on` [day number] or NaN; `planned` (bool): here and looked after by us;
    `leaves_on` [day number] or inf.
    """

    frame: pd.DataFrame
    size: NDArray[np.int64]
    first_used_on: Floats
    first_use_assumed: Bools
    joined_on: Floats
    planned: Bools
    leaves_on: Floats

    @property
    def beginning(self) -> Beginning:
        """Return what usage needs to know of the vehicles, laid-up spells apart."""
        depot = self.frame["depot"].astype(object)
        return Beginning(
            self.size,
            self.first_used_on,
            depot.where(depot.notna(), None).to_numpy(dtype=object),
            self.frame["here"].astype(bool).to_numpy(),
        )


def fleet_of(vehicles: pd.DataFrame, layouts: pd.DataFrame, as_of: int) -> Fleet:
    """Return the fleet of a frame of vehicles; a layout of unknown size counts as light."""
    frame = vehicles.assign(vehicle=vehicles["vehicle"].astype(str))
    frame = frame.sort_values("vehicle", ignore_index=True)
    size = frame["layout"].map(layouts.set_index("layout")["size"]).astype(object)
    codes = pd.Index(SIZES).get_indexer(pd.Index(size.fillna("light")))
    first = first_use(frame, as_of)
    ours = ~frame["looked_after_by"].astype(object).isin(["lessor", "dealer"]).to_numpy()
    leaves = np.nan_to_num(frame["leaves_on"].to_numpy(dtype=np.float64), nan=np.inf)
    return Fleet(
        frame,
        np.maximum(codes, 0).astype("int64"),
        first["on"].to_numpy(dtype=np.float64),
        first["assumed"].to_numpy(dtype=np.bool_),
        frame["joined_on"].to_numpy(dtype=np.float64),
        frame["here"].astype(bool).to_numpy() & ours,
        leaves,
    )
