"""How long parts last here, which of them may fail soon, and which part numbers lie apart."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge
from fleetcool.projection.apart import apart_of
from fleetcool.projection.life import life_of
from fleetcool.projection.risks import risks_of
from fleetcool.projection.spells import Watch, spells_of

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lasting:
    """The laws (`LIFE_COLUMNS`), the risks (`RISK_COLUMNS`), the pairs (`APART_COLUMNS`)."""

    life: pd.DataFrame
    risks: pd.DataFrame
    apart: pd.DataFrame


def lasting_of(
    fitted: pd.DataFrame, out_with: Floats, knowledge: Knowledge, watch: Watch, units: str
) -> Lasting:
    """Return what the fitted parts tell of how long such parts last.

    Args:
        fitted: the fitted parts, `FITTED_COLUMNS`.
        out_with: with how many places the work took each out, as of `fitted_and_sets`.
        knowledge: the knowledge in force.
        watch: vehicles, meters and since when work is recorded.
        units: "us" or "metric", for the sentences.
    """
    spells = spells_of(fitted, out_with, knowledge, watch)
    life = life_of(spells, knowledge)
    return Lasting(life, risks_of(fitted, spells, life, watch, units), apart_of(spells, life))
