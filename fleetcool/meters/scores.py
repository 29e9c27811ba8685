"""How good foretold ranges were: share inside, pinball loss and bias, by how much was known."""

import numpy as np
import pandas as pd

from fleetcool.meters.gather import Floats
from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AUDIT_COLUMNS

WANTED = 0.80  # share that should come between early and late: 10 to 90 %
LEAST_CASES = 30  # below it nothing is warned of; common practice, no source
ALL = "all"
BY = (ALL, "usage class", "history")
HISTORIES = ("under 45 days", "45 to 180 days", "180 days or more")
AVERAGE_RANGE = np.array([0.8, 1.0, 1.2])  # the plain average is taken as ± 20 % of the wait
_HISTORY_FROM = (45.0, 180.0)  # days
_PROBABILITIES = np.array([0.10, 0.50, 0.90])
_MEANS = ("inside", "below", "above", "pinball", "pinball_average", "bias_days")
_Z = 1.959963984540054  # 95 % of the normal law lie within it


def scored(came: Floats, said: Floats, plain: Floats, a_day: Floats) -> dict[str, Floats]:
    """Return what is averaged over cases, each of shape (n,); losses and bias in days.

    Running more than was said means falling due sooner: it counts as below, and as bias above nil.
    A case without a plain average has no loss, so that both losses are of the same cases.

    Args:
        came: what was run [km or h], shape (n,).
        said: what was said of it at 10, 50 and 90 %, shape (n, 3).
        plain: the same of the plain average, shape (n, 3).
        a_day: the rate held then [km or h a day], shape (n,).
    """
    a_day = np.maximum(a_day, 1e-9)
    loss = pinball(came[:, None], said, _PROBABILITIES).mean(axis=1) / a_day
    return {
        "inside": ((came >= said[:, 0]) & (came <= said[:, 2])).astype("float64"),
        "below": (came > said[:, 2]).astype("float64"),
        "above": (came < said[:, 0]).astype("float64"),
        "pinball": np.where(np.isnan(plain[:, 1]), np.nan, loss),
        "pinball_average": pinball(came[:, None], plain, _PROBABILITIES).mean(axis=1) / a_day,
        "bias_days": (came - said[:, 1]) / a_day,
    }


def summed_up(cases: pd.DataFrame) -> pd.DataFrame:
    """Return the groups of judged cases, `AUDIT_COLUMNS`: all, by usage class, by history.

    Args:
        cases: one row a case: weeks, usage_class, history_days, and what `scored` returns.
    """
    if not len(cases):
        return empty(AUDIT_COLUMNS)
    bands = np.searchsorted(_HISTORY_FROM, cases["history_days"].to_numpy("float64"), "right")
    names = {
        ALL: pd.Series("", index=cases.index),
        "usage class": cases["usage_class"].fillna("").astype(str),
        "history": pd.Series(np.array(HISTORIES, dtype=object)[bands], index=cases.index),
    }
    told = pd.concat(
        [cases.assign(by=by, name=name)[(by == ALL) | (name != "")] for by, name in names.items()],
        ignore_index=True,
    )
    groups = told.groupby(["weeks", "by", "name"], sort=True)
    frame = groups[list(_MEANS)].mean().round(6).assign(n=groups.size()).reset_index()
    n = frame["n"].to_numpy(dtype="float64")
    low, high = wilson(groups["inside"].sum().to_numpy(dtype="float64"), n)
    frame["inside_low"], frame["inside_high"] = np.round(low, 6), np.round(high, 6)
    off = (frame["inside_low"] > WANTED) | (frame["inside_high"] < WANTED)
    frame = frame.assign(n=n, warns=off & (n >= LEAST_CASES))
    return in_order(frame)[list(AUDIT_COLUMNS)]


def in_order(audited: pd.DataFrame) -> pd.DataFrame:
    """Return audit rows by weeks, all before usage classes before history, then by name."""
    by = {name: at for at, name in enumerate(BY)}
    history = {name: str(at) for at, name in enumerate(HISTORIES)}
    keys = audited.assign(
        _by=audited["by"].map(by), _name=audited["name"].map(history).fillna(audited["name"])
    )
    keys = keys.sort_values(["weeks", "_by", "_name"], kind="stable", ignore_index=True)
    return keys[list(audited.columns)]


def wilson(k: Floats, n: Floats) -> tuple[Floats, Floats]:
    """Return the 95 % interval of the share k of n, both shape (m,), n at least 1.

    (p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n) with p = k/n, z = 1.96.

    **Source:** Wilson, Probable inference, 1927 (from memory).
    """
    p, square = k / n, _Z**2
    middle = (p + square / (2 * n)) / (1 + square / n)
    half = _Z * np.sqrt(p * (1 - p) / n + square / (4 * n**2)) / (1 + square / n)
    return np.maximum(middle - half, 0.0), np.minimum(middle + half, 1.0)


def pinball(came: Floats, said: Floats, probability: Floats) -> Floats:
    """Return max(q (y − f), (q − 1)(y − f)) for quantiles f of probability q, shapes broadcast.

    **Source:** Koenker and Bassett, Regression quantiles, 1978 (from memory).
    """
    over = came - said
    return np.asarray(np.maximum(probability * over, (probability - 1.0) * over))
