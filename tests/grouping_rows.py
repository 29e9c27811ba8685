"""Services of small invented vehicles as the exact partition takes them, built by hand."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.visits.absent import Ride
from fleetcool.visits.grouping.coming import Coming
from fleetcool.visits.grouping.days import read_curves
from fleetcool.visits.grouping.pricing import Pricing
from fleetcool.visits.labour import Labour

MONDAY = 20_850  # 1 February 2027
Row = Mapping[str, object]
STEPS = ("drain", "fill", "belt", "shroud")
ACCESS = np.array([[30.0, 60.0, 12.0, 20.0]])
WAIT = np.array([[15.0, 0.0, 0.0, 0.0]])
SERVICES = {  # own minutes, access steps; in the order of their names
    "a pump": (54.0, (0, 1, 2)),
    "b thermostat": (6.0, (0, 1)),
    "c change": (18.0, (0, 1)),
    "d belt": (6.0, (2,)),
    "e fan": (25.0, (2, 3)),
    "f hose": (10.0, (0, 1, 3)),
    "g pack": (40.0, (3,)),
    "h cap": (2.0, ()),
}


def labour(n_services: int = 8) -> Labour:
    """Return the minutes of one layout, the first services only."""
    names = list(SERVICES)[:n_services]
    needs = np.zeros((1, len(names), len(STEPS)), dtype=bool)
    for turn, name in enumerate(names):
        needs[0, turn, list(SERVICES[name][1])] = True
    own = np.array([[SERVICES[name][0] for name in names]])
    places = {name: turn for turn, name in enumerate(names)}
    one = np.ones(1)
    return Labour({"van": 0}, places, own, needs, ACCESS, WAIT, one, np.zeros(1, dtype="int64"))


def pricing(vehicles: Sequence[str], week_minutes: float = np.inf) -> Pricing:
    """Return rates: a cent and a half a minute, 25.00 a visit; a stay takes half its minutes."""
    n = len(vehicles)
    return Pricing(
        pd.Index(sorted(vehicles)),
        np.full(n, 150.0),
        np.full(n, 250.0),
        2500,
        np.full(n, 20.0),
        np.full(n, week_minutes),
        np.full(n, 480.0),
        np.zeros(n, dtype="int64"),
        0.5 * np.arange(2000.0)[None, :],
    )


def service(vehicle: str, name: str, due: float, **more: object) -> dict[str, object]:
    """Return one row: due on a day from Monday on, without spread unless told."""
    spread = float(str(more.pop("spread", 0.0)))
    quantiles = dict(zip(QUANTILE_COLUMNS, MONDAY + due + spread * np.arange(-4, 5), strict=True))
    row: dict[str, object] = {"vehicle": vehicle, "service": name, "occurrence": 1, **quantiles}
    row |= {"early_rate": 10.0, "late_rate": 900.0, "outside": False, "coolant_cost": 0.0}
    return row | more


def coming(
    rows: Sequence[Row] | pd.DataFrame,
    *,
    days: int = 120,
    riding: Mapping[str, tuple[Ride, ...]] | None = None,
    ready: "pd.Series[float] | None" = None,
    apart: Sequence[str] = (),
    visits: Mapping[str, str] | None = None,
    week_minutes: float = np.inf,
) -> Coming:
    """Return the services, sorted, over some days from Monday on.

    `apart` are names of services split off; `visits` gives the published visit of a service.
    """
    frame = pd.DataFrame(rows).sort_values(["vehicle", "service", "occurrence"], ignore_index=True)
    places = list(SERVICES)
    frame = frame.assign(layout_at=0, service_at=frame["service"].map(places.index))
    frame = frame.assign(due=frame["q50"], due_early=frame["q10"], due_late=frame["q90"])
    of = visits or {}
    return Coming(
        frame,
        read_curves(frame, ready),
        frame["service"].isin(list(apart)).to_numpy(),
        np.array([of.get(name, "") for name in frame["service"]], dtype=object),
        riding or {},
        range(MONDAY, MONDAY + days),
        pricing(sorted(set(frame["vehicle"])), week_minutes),
        labour(),
    )


def sets_of(coming_rows: Coming, group: NDArray[np.int64]) -> list[list[str]]:
    """Return the names of the services of each group, sorted."""
    named = coming_rows.rows.groupby(group)["service"].apply(sorted)
    return sorted(list(one) for one in named)
