"""Which kind of coolant is in there."""

from typing import Any

import coolant_rows as made
import pandas as pd
import pytest
from coolant_rows import AS_OF, SETTINGS, Row, change, standing, top_up, van, work

from fleetcool.coolant.fills import fills_of
from fleetcool.coolant.kinds import KIND_COLUMNS, kinds_in
from fleetcool.coolant.products import named

DAY = AS_OF - 500.0


def kind_row(history: list[Row], **vehicle: Any) -> dict[str, Any]:
    rows = standing(history, [van(**vehicle)])
    frame = kinds_in(fills_of(rows, made.KNOWLEDGE, SETTINGS.whole_change_share))
    assert list(frame.columns) == list(KIND_COLUMNS)
    (row,) = frame.to_dict("records")
    return {str(name): value for name, value in row.items()}


@pytest.mark.parametrize(
    ("history", "vehicle", "kind", "coolant"),
    [
        ([change(DAY, coolant="HOAT eg")], {"coolant": "NOAT eg"}, "HOAT", "HOAT eg"),
        ([change(DAY, coolant="hoat ")], {"coolant": "NOAT eg"}, "HOAT", None),
        ([change(DAY)], {"coolant": "NOAT eg"}, "NOAT", "NOAT eg"),
        ([change(DAY - 90, coolant="HOAT eg"), change(DAY)], {"coolant": "NOAT"}, "NOAT", None),
        ([change(DAY - 90, coolant="HOAT eg"), change(DAY)], {}, "HOAT", "HOAT eg"),
        ([change(DAY)], {}, "OAT", None),
        ([], {}, "OAT", None),
        ([top_up(DAY, coolant="HOAT eg", litres_in=6)], {}, "OAT", None),
        ([work(DAY, "new pump", coolant="HOAT eg", replaced_share=74)], {}, "OAT", None),
        ([work(DAY, "new pump", coolant="HOAT eg", replaced_share=75)], {}, "HOAT", "HOAT eg"),
        ([change(DAY, coolant="green stuff")], {}, None, None),
        ([], {"layout": "unheard of"}, None, None),
        ([change(DAY, coolant="unknown")], {}, None, None),
        ([change(DAY, coolant="Unknown")], {"coolant": "HOAT eg"}, None, None),
        ([change(DAY - 90, coolant="HOAT eg"), change(DAY, coolant="unknown")], {}, None, None),
        ([change(DAY - 90, coolant="unknown"), change(DAY)], {}, None, None),
        ([change(DAY - 90, coolant="unknown"), change(DAY)], {"coolant": "HOAT"}, "HOAT", None),
        ([change(DAY - 90, coolant="unknown"), change(DAY, coolant="HOAT")], {}, "HOAT", None),
        ([], {"coolant": "unknown"}, None, None),
        ([change(DAY)], {"coolant": "unknown"}, None, None),
        ([change(DAY, coolant="HOAT")], {"coolant": "unknown"}, "HOAT", None),
        ([change(DAY - 90, coolant="HOAT"), change(DAY)], {"coolant": "unknown"}, "HOAT", None),
        ([top_up(DAY, coolant="unknown", litres_in=6)], {}, "OAT", None),
    ],
)
def test_the_kind_is_that_of_the_last_whole_change_else_what_is_said_else_the_layouts(
    history: list[Row], vehicle: dict[str, Any], kind: str | None, coolant: str | None
) -> None:
    row = kind_row(history, **vehicle)
    assert (row["kind"] if isinstance(row["kind"], str) else None) == kind
    assert (row["coolant"] if isinstance(row["coolant"], str) else None) == coolant


def test_the_coolant_of_a_visit_may_stand_beside_another_service_of_that_day() -> None:
    visit = [change(DAY), work(DAY, "new pump", coolant="OAT pg")]
    assert (kind_row(visit)["coolant"], kind_row(visit)["base"]) == ("OAT pg", "pg")


def test_when_it_was_changed_and_whether_that_is_assumed() -> None:
    row = kind_row([change(DAY, coolant="OAT eg", replaced_share=80), change(DAY - 700)])
    assert (row["whole_change_on"], row["assumed"]) == (DAY, False)
    assert kind_row([change(DAY)])["assumed"] is True
    assert pd.isna(kind_row([])["whole_change_on"])


def test_what_a_word_for_coolant_means() -> None:
    words = pd.Series([" oat PG ", "OAT", "water", "pink", "Unknown", None, ""], dtype="str")
    meant = named(words, made.KNOWLEDGE)
    assert list(meant["said"]) == [True, True, True, True, False, False, False]
    assert list(meant["unknown"]) == [False, False, False, False, True, False, False]
    assert list(meant["kind"].fillna("-")) == ["OAT", "OAT", "-", "-", "-", "-", "-"]
    assert list(meant["coolant"].fillna("-")) == ["OAT pg", "-", "-", "-", "-", "-", "-"]
    assert list(meant["base"]) == ["pg", "eg", "eg", "eg", "eg", "eg", "eg"]
    assert list(meant["base_said"]) == [True, False, False, False, False, False, False]
    assert list(meant["glycol_pct"]) == [50.0, 50.0, 0.0, 50.0, 50.0, 50.0, 50.0]
    assert list(meant["glycol_said"]) == [True, False, True, False, False, False, False]
