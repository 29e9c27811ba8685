"""What a fleet's own readings have taught, in sentences."""

import numpy as np
import pandas as pd

from fleetcool.meters.backtest import PLENTY, Learnt
from fleetcool.meters.classes import SIZES, Classes
from fleetcool.meters.constants import DRIFT
from fleetcool.meters.filter import Beliefs
from fleetcool.meters.gather import METERS, Bools, Floats
from fleetcool.meters.seasons import LEAST_DAYS, Seasons
from fleetcool.model.days import MONTHS
from fleetcool.model.trust_frames import LEARNT_COLUMNS
from fleetcool.units import KM_PER_MILE


def learnt_rows(
    classes: Classes,
    seasons: Seasons,
    beliefs: Beliefs,
    learnt: Learnt,
    about: tuple[Bools, str],
) -> pd.DataFrame:
    """Return what was learnt and which defaults still stand, with `LEARNT_COLUMNS`.

    `about` tells which series have readings, shape (n_series,), and the units, "us" or "metric".
    """
    has, units = about
    rows = [
        *_season_rows(classes, seasons),
        *_class_rows(classes, beliefs, has, units),
        *_spread_rows(learnt),
    ]
    frame = pd.DataFrame(rows, columns=list(LEARNT_COLUMNS), dtype=object)
    return frame.sort_values("name", ignore_index=True)


def _season_rows(classes: Classes, seasons: Seasons) -> list[tuple[str, str, str]]:
    """Return the months of each band with a season of its own."""
    rows = []
    for at in np.flatnonzero(seasons.vehicle_days > 0):
        days = seasons.vehicle_days[at]
        why = f"how the use of a month stands to the usual day, from {days:,.0f} vehicle-days"
        name, factors = classes.band_names[at], seasons.factors[at]
        rows += [
            (f"season {name} {month + 1:02d}", f"{factors[month]:.2f} of a day, {text}", why)
            for month, text in enumerate(MONTHS)
        ]
    n_own = len(seasons.factors) - len(classes.band_names)
    if not rows:
        why = f"default until a class has twelve months and {LEAST_DAYS:,.0f} vehicle-days"
        rows.append(("season", "every month alike", why))
    if n_own:
        why = "their year differs plainly from their class, two years alike"
        rows.append(("season of single vehicles", f"{n_own} vehicles", why))
    return rows


def _class_rows(
    classes: Classes, beliefs: Beliefs, has: Bools, units: str
) -> list[tuple[str, str, str]]:
    """Return the usual day of each class that has readings, and how its rates wander."""
    rows = []
    found, first, n_of = np.unique(classes.of_series[has], return_index=True, return_counts=True)
    drift = beliefs.drift[has][first]
    for class_, at, n in zip(found.tolist(), first.tolist(), n_of.tolist(), strict=True):
        distance = class_ not in _hour_classes(classes)
        mean = beliefs.mean[has][at] / (KM_PER_MILE if distance and units == "us" else 1.0)
        unit = ("miles" if units == "us" else "km") if distance else "hours"
        why = f"{n} {'vehicle' if n == 1 else 'vehicles'} with readings; one differs from another"
        why += f" by about {np.sqrt(beliefs.between[has][at]):.0%}"
        rows.append((f"usual day {classes.names[class_]}", f"{mean:,.1f} {unit} a day", why))
    if (np.round(drift, 9) == DRIFT).all():
        value = f"{np.sqrt(DRIFT * 365.0):.0%} in a year"
        return [*rows, ("wandering of rates", value, "default until another foretells better")]
    return [
        *rows,
        *(
            (
                f"wandering of rates {classes.names[class_]}",
                f"{np.sqrt(q * 365.0):.0%} in a year",
                "of six sizes the one that foretold the past best",
            )
            for class_, q in zip(found.tolist(), drift.tolist(), strict=True)
        ),
    ]


def _hour_classes(classes: Classes) -> range:
    n = len(classes.names)
    return range(n - len(SIZES) * (len(METERS) - 1), n)


def _spread_rows(learnt: Learnt) -> list[tuple[str, str, str]]:
    shape, scale = learnt.shape, _scale(learnt.scale)
    if learnt.n == 0:
        why = "default until readings reach back further than 60 days"
    elif learnt.ours < 1:
        why = f"from {learnt.n} tries on the past; shape default until {PLENTY}"
    else:
        why = f"from {learnt.n:,} tries on the past"
    value = f"a0 {shape[0]:.3f}, a1 {shape[1]:.2f} days, a2 {shape[2]:.3f} a year"
    return [("spread, shape", value, why), ("spread, scale", scale, why)]


def _scale(scale: Floats) -> str:
    low, high = float(scale.min()), float(scale.max())
    return f"{low:.2f}" if np.round(high - low, 2) == 0 else f"{low:.2f} to {high:.2f} by evidence"
