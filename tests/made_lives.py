"""Lives that tests make: ages gathered as the fits take them, and published data retyped."""

import os
import warnings
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

import made_rows
import numpy as np
import pandas as pd
import pytest
from numpy.typing import ArrayLike, NDArray

from fleetcool.knowledge.reader import in_force
from fleetcool.meters.chain import repair
from fleetcool.meters.gather import gather
from fleetcool.meters.usage import project_usage
from fleetcool.model.tables import PLACES
from fleetcool.projection.fitted import fitted_and_sets
from fleetcool.projection.fleet import fleet_of
from fleetcool.projection.lasting import Lasting, lasting_of
from fleetcool.projection.spells import Spells, Watch, spells_of
from fleetcool.projection.weibull import Cells, Prior, flat

Floats = NDArray[np.float64]
Row = dict[str, object]

AS_OF = 20_000
KNOWLEDGE = in_force({}, AS_OF)
PUMP, CAP = PLACES.index("pump"), PLACES.index("cap")
_LAYOUTS = ("cross flow six", "long six", "short six", "tall six")


@dataclass(frozen=True, slots=True)
class Seen:
    """What the parts of a made fleet tell."""

    fitted: pd.DataFrame
    spells: Spells
    watch: Watch
    out_with: Floats

    def row(self, place: str, nth: int = 0, vehicle: str = "7") -> int:
        """Return the row of the nth part in a place of a vehicle."""
        frame = self.fitted
        at = (frame["place"] == place) & (frame["vehicle"] == vehicle)
        return int(np.flatnonzero(at.to_numpy())[nth])

    def lasting(self, units: str = "metric") -> Lasting:
        return lasting_of(self.fitted, self.out_with, KNOWLEDGE, self.watch, units)


def van(unit: str = "7", first: float = AS_OF - 2000.0, **more: object) -> Row:
    """Return a light vehicle that joined new."""
    layout = "petrol four timing belt"
    return {"unit": unit, "layout": layout, "first_used_on": first, "joined_on": first, **more}


def readings(unit: str = "7", a_day: float = 100.0, first: float = AS_OF - 2000.0) -> list[Row]:
    """Return readings of a vehicle that has run alike since first use, the last one today."""
    days = np.linspace(first + 50.0, AS_OF, 12).round()
    return [{"unit": unit, "on": on, "odometer": a_day * (on - first)} for on in days.tolist()]


def seen(
    vehicles: list[Row],
    history: list[Row],
    readings: list[Row],
    records_from: float = AS_OF - 2000.0,
) -> Seen:
    """Return what the parts of these vehicles tell on the as-of day."""
    rows = {"vehicles": vehicles, "history": history, "readings": readings}
    standing = made_rows.standing(AS_OF, rows)
    fleet = fleet_of(standing["vehicles"], KNOWLEDGE.layouts, AS_OF)
    chain = repair(gather(standing))
    names = fleet.frame["vehicle"].to_numpy(dtype=object)
    usage = project_usage(chain, fleet.beginning, names, AS_OF)
    fitted, out_with = fitted_and_sets(standing, KNOWLEDGE, fleet, chain, usage)
    watch = Watch(fleet, chain, usage, records_from, AS_OF)
    return Seen(fitted, spells_of(fitted, out_with, KNOWLEDGE, watch), watch, out_with)


def spells(  # noqa: PLR0917 - a column each
    age: Floats,
    failed: Floats,
    layout: object = 0,
    part: object = -1,
    place: int = PUMP,
    begun: object = 0.0,
    road: object = 0.0,
) -> Spells:
    """Return spells of medium vehicles, every one of which teaches."""
    n = len(age)

    def whole(value: object) -> np.ndarray:
        return np.broadcast_to(np.asarray(value, dtype="int64"), n).copy()

    return Spells(
        np.arange(n),
        whole(place),
        whole(1),
        whole(layout),
        whole(part),
        np.full(n, place == PUMP),
        np.broadcast_to(np.asarray(begun, dtype="float64"), n).copy(),
        np.asarray(age, dtype="float64"),
        np.asarray(failed, dtype="float64"),
        np.broadcast_to(np.asarray(road, dtype="float64"), n).copy(),
        np.ones(n, dtype=bool),
        np.zeros(n, dtype=bool),
        np.ones(n, dtype=bool),
        _LAYOUTS,
        ("A-1", "B-2"),
    )


def cells_of_ages(
    age: ArrayLike,
    failed: ArrayLike,
    count: ArrayLike = 1.0,
    begun: ArrayLike = 0.0,
    family: ArrayLike = 0,
) -> Cells:
    """Return the cells of ages at their full precision; `begun` is the age at late entry."""
    ages = np.asarray(age, dtype="float64")
    fail, n, begin, of = (
        np.broadcast_to(np.asarray(one, dtype="float64"), ages.shape)
        for one in (failed, count, begun, family)
    )
    late = begin > 0
    families = np.concatenate([of, of[late]]).astype("int64")
    order = np.argsort(families, kind="stable")
    return Cells(
        int(families.max(initial=0)) + 1,
        families[order],
        np.log(np.concatenate([ages, begin[late]]))[order],
        np.concatenate([n, -n[late]])[order],
        np.concatenate([n * fail, np.zeros(int(late.sum()))])[order],
    )


def unknown(shape: float, scale: float, n: int = 1) -> Prior:
    """Return a prior that knows nothing and starts the search at a shape and a scale."""
    return flat(np.full(n, np.log(shape)), np.full(n, np.log(scale)))


def reference(name: str) -> ModuleType:
    """Return a library to check against; skip where it is missing."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return import_module(name)
        except ImportError:
            if "reference" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
                pytest.fail(f"{name} must be there")
            pytest.skip(f"{name} is not installed")


# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3: hours to failure of 10 of 20
# units, the rest unharmed when the test was stopped at 500 h.
NIST_HOURS = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386, *((500,) * 10))
NIST_FAILED = (1,) * 10 + (0,) * 10

# Vehicle shock absorbers, km and how each failed (0 taken out unharmed). P. D. T. O'Connor,
# Practical Reliability Engineering, 1985, via W. Q. Meeker and L. A. Escobar, Statistical Methods
# for Reliability Data, 1998, p. 630.
_UNHARMED_KM = (
    *(6950, 7820, 8790, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12870, 13330, 13470),
    *(14040, 17540, 17890, 18450, 18960, 18980, 19410, 20100, 20150, 20320, 23490, 27410),
    *(27890, 28100),
)
_MODE_1_KM = (6700, 12200, 14300, 17520, 22700, 26510, 27490)
_MODE_2_KM = (9120, 13150, 20100, 20900)
SHOCK_KM = (*_UNHARMED_KM, *_MODE_1_KM, *_MODE_2_KM)
SHOCK_MODE = (0,) * len(_UNHARMED_KM) + (1,) * len(_MODE_1_KM) + (2,) * len(_MODE_2_KM)

# Diesel generator fans: hours, failed, how many. W. Nelson, Applied Life Data Analysis, 1982,
# p. 133.
FANS = (
    *((450, 1, 1), (460, 0, 1), (1150, 1, 2), (1560, 0, 1), (1600, 1, 1), (1660, 0, 1)),
    *((1850, 0, 5), (2030, 0, 3), (2070, 1, 2), (2080, 1, 1), (2200, 0, 1), (3000, 0, 4)),
    *((3100, 1, 1), (3200, 0, 1), (3450, 1, 1), (3750, 0, 2), (4150, 0, 4), (4300, 0, 4)),
    *((4600, 1, 1), (4850, 0, 4), (5000, 0, 3), (6100, 0, 3), (6100, 1, 1), (6300, 0, 1)),
    *((6450, 0, 2), (6700, 0, 1), (7450, 0, 1), (7800, 0, 2), (8100, 0, 2), (8200, 0, 1)),
    *((8500, 0, 3), (8750, 0, 2), (8750, 1, 1), (9400, 0, 1), (9900, 0, 1), (10100, 0, 3)),
    (11500, 0, 1),
)

# Bearing cages: hours, failed, how many. USAF Weibull Analysis Handbook, AFWAL-TR-83-2079, 1983.
CAGES = (
    *((50, 0, 288), (150, 0, 148), (230, 1, 1), (250, 0, 124), (334, 1, 1), (350, 0, 111)),
    *((423, 1, 1), (450, 0, 106), (550, 0, 99), (650, 0, 110), (750, 0, 114), (850, 0, 119)),
    *((950, 0, 127), (990, 1, 1), (1009, 1, 1), (1050, 0, 123), (1150, 0, 93), (1250, 0, 47)),
    *((1350, 0, 41), (1450, 0, 27), (1510, 1, 1), (1550, 0, 11), (1650, 0, 6), (1850, 0, 1)),
    (2050, 0, 2),
)
