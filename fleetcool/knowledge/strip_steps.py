"""How far apart the patches of a test strip lie, by measure."""

from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

import pandas as pd


@cache
def strip_steps() -> Mapping[str, float]:
    """Return the step of a strip by measure of `coolant_tests`, in that measure's unit.

    A strip is read to the nearest patch, so its value is known to half a step.
    **Source:** common practice, no source; said in each row of the table.
    """
    file = resources.files("fleetcool.knowledge") / "property_tables" / "strip_steps.csv"
    with resources.as_file(file) as path:
        rows = pd.read_csv(path)
    return MappingProxyType(
        {str(name): float(step) for name, step in zip(rows["measure"], rows["step"], strict=True)}
    )
