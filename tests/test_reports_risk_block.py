"""The parts most likely to fail soon, named whatever the plan says of them."""

import dataclasses

import pandas as pd
import pytest
from test_reports_books import outlook

from fleetcool.model.life_frames import RISK_COLUMNS
from reports.risk_block import MOST, risk_block
from reports.view import view_of


def risk(vehicle: str, chance: float, **more: object) -> dict[str, object]:
    chances = {f"chance_{weeks}": chance for weeks in (4, 13, 26, 52)}
    plain = {"place": "pump", "by": "km", "age": 61_000.0, "why": "12 failures among 15 pumps"}
    return {"vehicle": vehicle, **plain, **chances, **more}


def block(*rows: dict[str, object]) -> tuple[list[tuple[object, ...]], str]:
    risks = pd.DataFrame(rows, columns=list(RISK_COLUMNS))
    full = outlook()
    projection = dataclasses.replace(full.projection, risks=risks)
    found = risk_block(view_of(dataclasses.replace(full, projection=projection)))
    return [tuple(row) for row in found.rows], found.title


def test_the_likeliest_come_first_and_the_unlikely_are_left_out() -> None:
    rows, _ = block(risk("31", 0.2), risk("104", 0.42, part="WP-1"), risk("104", 0.079))
    assert [row[1] for row in rows] == ["104", "31"]
    assert [row[7] for row in rows] == ["WP-1", "number not said"]
    assert rows[0][4] == pytest.approx(42.0)


def test_an_age_in_days_is_shown_in_months_and_never_as_a_distance() -> None:
    rows, _ = block(risk("104", 0.3, place="upper hose", by="days", age=3652.425))
    assert rows[0][8] is None
    assert rows[0][9] == pytest.approx(120.0)


def test_a_long_list_says_how_many_there_are() -> None:
    rows, title = block(*(risk("104", 0.1, place=f"place {n}") for n in range(MOST + 5)))
    assert len(rows) == MOST
    assert title.endswith(f"{MOST} of {MOST + 5}")


def test_no_part_at_risk_is_said_in_a_sentence() -> None:
    assert block(risk("104", 0.01))[0] == []
