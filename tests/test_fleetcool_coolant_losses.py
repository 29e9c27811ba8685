"""What top-ups tell: dilution before a leak, a leak when it is proven, another kind."""

from collections.abc import Sequence

import coolant_rows as made
import numpy as np
import pandas as pd
import pytest
from coolant_rows import AS_OF, Row, change, standing, top_up, van, work

from fleetcool.coolant.losses import TOP_UP_COLUMNS, loss_findings, top_ups
from fleetcool.knowledge.losses import usual_loss
from fleetcool.model.computed import FINDING_COLUMNS
from fleetcool.model.days import day_text

NEW = change(AS_OF - 700.0, coolant="OAT eg", replaced_share=100)
Test = dict[str, object]


def often(n: int, litres: float | None, last: float = 10, **more: object) -> list[Row]:
    """Return n top-ups 30 days apart, the last of them some days ago."""
    return [top_up(AS_OF - last - 30.0 * at, litres_in=litres, **more) for at in reversed(range(n))]


def findings(
    history: Sequence[Row],
    km_a_day: float = np.nan,
    vehicles: Sequence[Row] | None = None,
    coolant_tests: Sequence[Test] = (),
) -> pd.DataFrame:
    rows = standing(history, vehicles, coolant_tests)
    coolant = made.contents(history, None, vehicles, coolant_tests).coolant
    added = top_ups(rows, made.KNOWLEDGE)
    added["km"] = km_a_day * (added["on"] - made.USED)
    return loss_findings(added, coolant, rows["vehicles"], made.KNOWLEDGE, AS_OF)


def found(*args: object, **more: object) -> list[str]:
    return list(findings(*args, **more)["finding"])  # type: ignore[arg-type]  # passed through


def test_every_top_up_is_told_with_its_litres_and_what_went_in() -> None:
    history = [
        top_up(AS_OF - 9.0, litres_in=1.5, coolant="OAT eg"),
        top_up(AS_OF - 8.0, coolant="Water"),
        work(AS_OF - 7.0, "new drive belt", litres_in=0.3),
        work(AS_OF - 20.0, "new pump", how="put back"),
    ]
    frame = top_ups(standing(history), made.KNOWLEDGE)
    assert tuple(frame.columns) == TOP_UP_COLUMNS
    assert list(frame["litres"]) == [1.5, 0.5, 0.3]  # a tick is 0.5 L: common practice, no source
    assert list(frame["said"]) == [True, False, True]
    assert list(frame["poured"]) == ["OAT eg", "water", "unnamed"]
    assert set(frame["worked_on"]) == {AS_OF - 20.0}


def test_three_top_ups_above_what_hoses_let_through_point_to_a_leak() -> None:
    """1 L every 30 days at 50 km a day is .67 L every 1,000 km; .10 L: common practice."""
    history = [NEW, *often(3, 1.0, coolant="OAT eg")]
    frame = findings(history, km_a_day=50)
    assert tuple(frame.columns) == FINDING_COLUMNS
    (row,) = frame.to_dict("records")
    assert (row["finding"], row["service"]) == ("leak suspected", "pressure test")
    assert (row["seen_by"], row["found_on"]) == ("top-ups", AS_OF - 10)
    assert row["due_early"] == row["due"] == row["due_late"] == AS_OF - 10 + 7
    assert row["why"] == (
        f"Topped up 3 times in a year, the last time on {day_text(AS_OF - 10)}: 0.67 L every "
        "1,000 km, more than the 0.10 L that its hoses let through"
    )
    assert "leak" in str(row["look_for"])


@pytest.mark.parametrize(
    ("history", "km_a_day"),
    [
        (often(2, 1.0), 50),  # not proven
        (often(3, 0.1), 50),  # .07 L every 1,000 km
        (often(3, 1.0), 400),  # .08 L every 1,000 km
        ([*often(3, 1.0), work(AS_OF - 5.0, "new pump", how="put back")], 50),  # mended since
        ([*often(3, 1.0), change(AS_OF - 10.0)], 50),  # topped up while it was being filled
        (often(3, 1.0, last=200), 50),  # the level has held since
        (often(3, 1.0, last=380), 50),  # more than a year ago
        ([], 50),
    ],
)
def test_anything_less_points_to_no_leak(history: list[Row], km_a_day: float) -> None:
    assert "leak suspected" not in found([NEW, *history], km_a_day)


def test_without_distance_the_loss_counts_by_time() -> None:
    assert found([NEW, *often(3, 1.0)]) == ["leak suspected"]
    assert "1.00 L every 30 days" in findings([NEW, *often(3, 1.0)])["why"].iloc[0]
    assert found([NEW, *often(3, 0.1)]) == []


def test_ticks_alone_are_evidence_and_are_named_so() -> None:
    frame = findings([NEW, *often(4, None)], km_a_day=50)
    assert list(frame["finding"]) == ["leak suspected"]
    assert "0.33 L every 1,000 km, partly from ticks" in frame["why"].iloc[0]


def test_silicone_hoses_may_lose_more_than_rubber_ones() -> None:
    """Silicone lets water vapour through: common practice, no source."""
    usual = usual_loss().set_index(["size", "hose_material"])["litres_a_1000_km"]
    assert (usual.xs("silicone", level=1) > usual.xs("EPDM", level=1)).all()
    truck = [van(layout="truck")]
    history = often(4, 1.0, coolant="NOAT eg")
    assert found(history, 1000 / 30 / 0.11, truck) == []  # .11 L every 1,000 km
    assert found(history, 1000 / 30 / 0.13, truck) == ["leak suspected"]


def test_dilution_is_named_before_a_leak() -> None:
    """Half glycol after five times 1 L of water in 10 L: 50 × .9^5 = 29.5 %, computed."""
    frame = findings([NEW, *often(5, 1.0, coolant="water")], km_a_day=50)
    assert list(frame["finding"]) == ["diluted", "leak suspected"]
    row = frame.iloc[0]
    assert (row["service"], row["due"]) == ("coolant test", AS_OF - 10 + 7)
    assert row["why"] == (
        "Topped up 5 times since the last whole change, with water or unnamed: "
        f"30 % glycol on {day_text(AS_OF - 10)}, at least 40 % is wanted"
    )


def test_water_that_leaves_enough_glycol_is_no_dilution() -> None:
    """50 × .9^2 = 40.5 %, computed; the band starts at 40 % (ASTM D3306 working range)."""
    assert found([NEW, *often(2, 1.0, coolant="water")], 50) == []
    assert found([NEW, *often(3, 1.0, coolant="water")], 500) == ["diluted"]


@pytest.mark.parametrize(
    ("coolant", "words"),
    [(None, "with water or unnamed"), ("OAT eg", "the test says with water")],
)
def test_a_test_that_shows_water_tells_what_went_in(coolant: str | None, words: str) -> None:
    tests: list[Test] = [{"unit": "104", "on": AS_OF - 2, "with": "lab", "glycol_pct": 36}]
    frame = findings([NEW, *often(1, 1.0, coolant=coolant)], coolant_tests=tests)
    assert list(frame["finding"]) == ["diluted"]
    assert frame["found_on"].iloc[0] == AS_OF - 2
    assert words in frame["why"].iloc[0]


def test_weak_coolant_that_nobody_topped_up_is_not_called_diluted() -> None:
    tests: list[Test] = [{"unit": "104", "on": AS_OF - 2, "with": "lab", "glycol_pct": 36}]
    assert found([NEW], coolant_tests=tests) == []
    assert found([*often(1, 1.0, last=800), NEW], coolant_tests=tests) == []


def test_more_than_a_tenth_of_another_kind_asks_for_a_test_within_30_days() -> None:
    """Source: Caterpillar SEBU6251, at most 10 %; 30 days: common practice, no source."""
    nine = top_up(AS_OF - 50.0, coolant="HOAT", litres_in=0.9)
    twelve = top_up(AS_OF - 50.0, coolant="HOAT", litres_in=1.2)
    assert found([NEW, nine]) == []
    (row,) = findings([NEW, twelve]).to_dict("records")
    assert (row["finding"], row["service"], row["seen_by"]) == (
        "foreign kind",
        "coolant test",
        "mix",
    )
    assert (row["found_on"], row["due"]) == (AS_OF - 50, AS_OF - 20)
    assert "12 % of another kind (HOAT)" in str(row["why"])
    tests: list[Test] = [{"unit": "104", "on": AS_OF - 9, "with": "lab", "glycol_pct": 50}]
    assert found([NEW, twelve], coolant_tests=tests) == []


def test_findings_stand_by_vehicle_whatever_the_order_of_the_rows() -> None:
    vehicles = [van("9"), van("104")]
    history = [row | {"unit": unit} for unit in ("9", "104") for row in often(3, 1.0)]
    one, other = findings(history, vehicles=vehicles), findings(history[::-1], vehicles=vehicles)
    assert list(one["vehicle"]) == ["104", "9"]
    pd.testing.assert_frame_equal(one, other)
