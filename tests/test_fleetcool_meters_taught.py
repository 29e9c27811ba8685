"""What a fleet's readings have taught is told in sentences with their units."""

import numpy as np
import pytest
from made_chain import chain_of, names_of, steady

from fleetcool.meters.usage import Beginning, project_usage

WEEKS = [7.0 * week for week in range(100)]


def taught(n: int, meter: int = 0, units: str = "metric") -> dict[str, str]:
    """Return the values by name, of light vehicles that run 100 km or h a day."""
    chain = chain_of(n, {(at, meter): steady(100.0, WEEKS) for at in range(n)})
    beginning = Beginning(np.zeros(n, dtype="int64"), np.zeros(n))
    learnt = project_usage(chain, beginning, names_of(n), 693, units).learnt
    assert learnt["name"].is_monotonic_increasing
    assert learnt["name"].is_unique
    assert learnt["why"].str.len().min() > 10
    return dict(zip(learnt["name"].astype(str), learnt["value"].astype(str), strict=True))


def test_a_fleet_without_readings_is_told_its_defaults() -> None:
    told = taught(0)
    assert told["season"] == "every month alike"
    assert told["spread, scale"] == "1.00"
    assert told["wandering of rates"] == "38% in a year"
    assert not [name for name in told if name.startswith("usual day")]


@pytest.mark.parametrize(
    ("meter", "units", "name", "unit"),
    [
        (0, "metric", "usual day light", "km a day"),
        (0, "us", "usual day light", "miles a day"),
        (1, "us", "usual day light, engine hours", "hours a day"),
    ],
)
def test_a_usual_day_is_told_of_classes_with_readings(
    meter: int, units: str, name: str, unit: str
) -> None:
    told = taught(5, meter, units)
    assert [one for one in told if one.startswith("usual day")] == [name]
    assert told[name].endswith(unit)


def test_a_class_with_a_year_of_readings_is_told_its_months() -> None:
    told = taught(13)
    months = [name for name in told if name.startswith("season light ")]
    assert len(months) == 12
    assert told["season light 01"] == "1.00 of a day, January"
