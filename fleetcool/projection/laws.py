"""Laws of life as arrays: how many survive an age, how long they live, how fast they fail there."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

# No part is taken as older than the age that one in 10^100 reaches: one that is fails as one of it.
_OLDEST_HAZARD, _OLDEST_Z = 230.0, 21.0
_MOST_HAZARD, _MOST_Z = 700.0, 37.0  # beyond it exp(−H) is nil in floating point


class Lives(Protocol):
    """Laws of n kinds of part; an age has the shape (n,) or (n, m), what returns has it too."""

    def surviving(self, age: Floats) -> Floats:
        """Return the share R(t) that survives an age."""

    def hazard(self, age: Floats) -> Floats:
        """Return the rate h(t) at which those of an age fail [per unit of age]."""

    def lived(self, age: Floats) -> Floats:
        """Return the mean life up to an age, ∫R from 0 to t [unit of age]."""

    def oldest(self) -> Floats:
        """Return an age beyond which next to none survive, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Laws:
    """Weibull and lognormal laws of n parts, arrays of shape (n,).

    `lognormal` (bool) tells which; `shape` is b or sigma [1]; `scale` is eta or the median
    [unit of age]. **Source:** W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability
    Data, 1998, ch. 4 (from memory).
    """

    lognormal: Bools
    shape: Floats
    scale: Floats

    def surviving(self, age: Floats) -> Floats:
        """Return the share R(t) that survives an age."""
        return np.asarray(np.exp(-self.cumulated(age)))

    def cumulated(self, age: Floats) -> Floats:
        """Return the cumulated hazard H(t) = −ln R(t), capped where next to none survive."""
        from scipy.special import log_ndtr  # noqa: PLC0415 - heavy, only where it is needed

        law = self._beside(age)
        share = np.maximum(age, 0.0) / law.scale
        with np.errstate(over="ignore"):
            weibull = np.minimum(share**law.shape, _MOST_HAZARD)
        if not law.lognormal.any():
            return np.asarray(weibull)
        return np.asarray(np.where(law.lognormal, -log_ndtr(-law.z(age)), weibull))

    def hazard(self, age: Floats) -> Floats:
        """Return the rate h(t) at which those of an age fail [per unit of age]."""
        from scipy.special import log_ndtr  # noqa: PLC0415 - heavy, only where it is needed

        law = self._beside(age)
        share = np.maximum(age, 1e-12 * law.scale) / law.scale
        with np.errstate(over="ignore"):
            capped = np.minimum(share, _MOST_HAZARD ** (1 / law.shape))
            weibull = law.shape / law.scale * capped ** (law.shape - 1)
        if not law.lognormal.any():
            return np.asarray(weibull)
        z = law.z(age)
        inverse_mills = np.exp(-0.5 * z * z - log_ndtr(-z)) / np.sqrt(2 * np.pi)
        lognormal = inverse_mills / (law.shape * share * law.scale)
        return np.asarray(np.where(law.lognormal, lognormal, weibull))

    def lived(self, age: Floats) -> Floats:
        """Return the mean life up to an age, ∫R from 0 to t [unit of age].

        Weibull: (eta / b) Γ(1/b) P(1/b, (t/eta)^b). Lognormal: E[T; T ≤ t] + t R(t) with
        E[T; T ≤ t] = exp(mu + sigma²/2) Φ(z − sigma).
        """
        from scipy.special import gammainc, ndtr  # noqa: PLC0415 - heavy, only where needed

        law = self._beside(age)
        weibull = law.mean() * gammainc(1 / law.shape, self.cumulated(age))
        if not law.lognormal.any():
            return np.asarray(weibull)
        z = law.z(age)
        lognormal = law.mean() * ndtr(z - law.shape) + np.maximum(age, 0.0) * ndtr(-z)
        return np.asarray(np.where(law.lognormal, lognormal, weibull))

    def left(self, age: Floats) -> Floats:
        """Return ∫R from t on [unit of age], precise where few survive."""
        from scipy.special import gammaincc, ndtr  # noqa: PLC0415 - heavy, only where needed

        law = self._beside(age)
        weibull = law.mean() * gammaincc(1 / law.shape, self.cumulated(age))
        if not law.lognormal.any():
            return np.asarray(weibull)
        z = law.z(age)
        lognormal = law.mean() * ndtr(law.shape - z) - np.maximum(age, 0.0) * ndtr(-z)
        return np.asarray(np.where(law.lognormal, lognormal, weibull))

    def mean(self) -> Floats:
        """Return the mean life [unit of age]: eta Γ(1 + 1/b), or exp(mu + sigma²/2)."""
        from scipy.special import gamma  # noqa: PLC0415 - heavy, only where it is needed

        with np.errstate(over="ignore"):
            factor = np.where(
                self.lognormal, np.exp(0.5 * self.shape**2), gamma(1 + 1 / self.shape)
            )
        return np.asarray(self.scale * factor)

    def oldest(self) -> Floats:
        """Return an age beyond which next to none survive (one in 10^12), shape (n,)."""
        weibull = 27.6 ** (1 / self.shape)
        return np.asarray(self.scale * np.where(self.lognormal, np.exp(7.03 * self.shape), weibull))

    def felt(self, age: Floats) -> Floats:
        """Return ages [unit of age], none beyond the one that next to none ever reach."""
        law = self._beside(age)
        weibull = _OLDEST_HAZARD ** (1 / law.shape)
        share = np.where(law.lognormal, np.exp(_OLDEST_Z * law.shape), weibull)
        return np.asarray(np.clip(age, 0.0, share * law.scale))

    def z(self, age: Floats) -> Floats:
        """Return (ln t − mu) / sigma of a lognormal law, capped; 0 for a Weibull one."""
        with np.errstate(divide="ignore"):
            z = np.log(np.maximum(age, 0.0) / self.scale) / self.shape
        return np.asarray(np.where(self.lognormal, np.clip(z, -_MOST_Z, _MOST_Z), 0.0))

    def take(self, rows: NDArray[np.int64]) -> "Laws":
        """Return the laws of some rows, in that order."""
        return Laws(self.lognormal[rows], self.shape[rows], self.scale[rows])

    def _beside(self, age: Floats) -> "Laws":
        """Return the laws shaped to stand beside ages of shape (n,) or (n, m)."""
        if np.ndim(age) <= self.shape.ndim:
            return self
        return Laws(self.lognormal[:, None], self.shape[:, None], self.scale[:, None])


def laws_of(rows: pd.DataFrame) -> Laws:
    """Return the laws of rows with `law`, `shape` and `scale`, as in `RISK_COLUMNS`."""
    return Laws(
        rows["law"].astype(object).eq("lognormal").to_numpy(dtype=bool),
        rows["shape"].to_numpy(dtype="float64"),
        rows["scale"].to_numpy(dtype="float64"),
    )
