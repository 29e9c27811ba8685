"""The lives, risks and pairs that a projection carries, through its public door."""

import made_rows
from made_lives import AS_OF, KNOWLEDGE, Row, readings, van

from fleetcool.model.life_frames import APART_COLUMNS, LIFE_COLUMNS, RISK_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.projection.project import project

FIRST = AS_OF - 2000.0


def fittings(unit: str, part: str, every: float, reason: str) -> list[Row]:
    """Return pumps fitted again and again, each for the same reason."""
    days = [FIRST + every * nth for nth in range(1, int(2000.0 // every) + 1)]
    return [
        {"unit": unit, "on": on, "service": "new pump", "part": part, "reason": reason}
        for on in days
        if on < AS_OF
    ]


def test_a_pump_that_keeps_failing_is_told_from_one_that_holds() -> None:
    units = [str(number) for number in range(1, 7)]
    rows: dict[str, list[Row]] = {
        "vehicles": [van(unit) for unit in units],
        "readings": [row for unit in units for row in readings(unit)],
        "history": [
            *(row for unit in units[:3] for row in fittings(unit, "SHORT", 300.0, "found bad")),
            *(row for unit in units[3:] for row in fittings(unit, "LONG", 900.0, "planned")),
        ],
    }
    found = project(made_rows.standing(AS_OF, rows), KNOWLEDGE, Settings(), until=AS_OF + 182)
    assert tuple(found.life.columns) == LIFE_COLUMNS
    assert tuple(found.risks.columns) == RISK_COLUMNS
    assert tuple(found.apart.columns) == APART_COLUMNS
    (pair,) = found.apart.to_dict("records")
    assert (pair["part"], pair["other"], pair["known"]) == ("LONG", "SHORT", True)
    pumps = found.risks[found.risks["place"] == "pump"].set_index("vehicle")
    assert pumps.loc["1", "chance_13"] > pumps.loc["5", "chance_13"]
    assert pumps.loc["1", "of_part"] == "SHORT"
    law = found.life[found.life["place"] == "pump"].set_index("part")
    assert law.loc["SHORT", "scale"] < 31_000.0  # each ran 30,000 km
    assert law.loc["LONG", "scale"] > 60_000.0  # two of three ran 90,000 km and held


def test_an_empty_fleet_has_the_frames_without_rows() -> None:
    found = project(made_rows.standing(AS_OF, {}), KNOWLEDGE, Settings(), until=AS_OF + 182)
    assert found.life.empty
    assert found.risks.empty
    assert found.apart.empty
    assert tuple(found.risks.columns) == RISK_COLUMNS
