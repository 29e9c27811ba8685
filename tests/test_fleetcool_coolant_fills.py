"""Which work put how much of what into a system, and what a visit drains."""

from dataclasses import replace

import coolant_rows as made
import numpy as np
import pandas as pd
import pytest
from coolant_rows import AS_OF, USED, Row, change, fills, top_up, van, work

from fleetcool.coolant.fills import FILL_COLUMNS, fills_of, is_whole_change, visit_litres
from fleetcool.knowledge.reader import in_force

KNOWLEDGE = in_force({}, 20_000)
DAY = AS_OF - 500.0


def shares(frame: pd.DataFrame) -> list[float]:
    return [round(float(share), 6) for share in frame["share"]]


def test_several_wet_services_of_one_visit_drain_once_to_the_deepest() -> None:
    vehicles = pd.DataFrame(
        {"vehicle": ["104"], "layout": ["diesel six heavy"], "coolant_litres": [40.0]}
    )
    services = ["new thermostat", "coolant change", "new drive belt"]
    rows = pd.DataFrame({"visit": "104-27W05", "vehicle": "104", "service": services})
    alone = [visit_litres(rows.iloc[[at]], vehicles, KNOWLEDGE)["litres"].sum() for at in range(3)]
    together = visit_litres(rows, vehicles, KNOWLEDGE)["litres"]
    assert alone[2] == 0.0
    assert 0.0 < alone[0] <= alone[1] <= 40.0
    assert list(together) == [alone[1]]


def test_what_counts_as_a_whole_change() -> None:
    """From 75 % replaced it counts as whole: the project's rule; common practice, no source."""
    history = pd.DataFrame(
        [
            ("coolant change", np.nan, None),
            ("coolant change", 60.0, "drained and filled"),
            ("new pump", 80.0, "drained and filled"),
            ("new pump", np.nan, "put back"),
            ("coolant change", 90.0, "topped up"),
            ("coolant top-up", 90.0, None),
        ],
        columns=["service", "replaced_share", "how"],
    )
    whole = is_whole_change(history, {"coolant change"}, 75.0)
    assert list(whole) == [True, False, True, False, False, False]


def test_a_vehicle_without_history_has_its_layouts_kind_from_first_use() -> None:
    (row,) = fills([]).to_dict("records")
    assert list(row) == list(FILL_COLUMNS)
    assert (row["on"], row["share"], row["kind"], row["by_work"]) == (USED, 1, "OAT", "first fill")
    assert (row["assumed"], row["is_drain"], row["whole"]) == (True, False, False)


def test_what_the_vehicle_is_said_to_have_in_it_is_no_assumption() -> None:
    (row,) = fills([], [van(coolant="OAT pg")]).to_dict("records")
    assert (row["coolant"], row["base"], row["assumed"]) == ("OAT pg", "pg", False)


def test_work_older_than_first_use_moves_the_first_fill_before_it() -> None:
    frame = fills([change(USED - 50.0)])
    assert list(frame["on"]) == [USED - 50.0, USED - 50.0]
    assert list(frame["by_work"]) == ["first fill", "coolant change"]


@pytest.mark.parametrize(
    ("row", "share", "assumed"),
    [
        (work(DAY, "new pump", replaced_share=45, litres_in=9), 0.45, False),  # share first
        (work(DAY, "new pump", litres_in=4.5), 0.45, False),  # 4.5 of 10 L
        (work(DAY, "new pump", litres_in=12), 1.0, False),  # never more than all of it
        (work(DAY, "new pump"), 0.70, True),  # the layout's share for that service
        (change(DAY), 0.80, True),  # the layout's share for draining all
        (work(DAY, "new upper hose"), 0.40, True),  # the layout's share for the radiator
        (work(DAY, "new pump", litres_out=3), 0.30, False),  # 3 of 10 L came out
        (work(DAY, "new pump", litres_out=3, litres_in=4.5), 0.45, False),  # what went in first
        (change(DAY, how="flushed", litres_in=5), 1.0, False),  # nothing of the old stayed
        (change(DAY, how="flushed"), 1.0, True),  # but how much water stayed is not known
        (work(DAY, "new pump", how="flushed", replaced_share=45, litres_in=9), 1.0, False),
        (work(DAY, "new drive belt", how="drained and filled", litres_in=3), 0.30, False),
    ],
)  # fmt: skip
def test_the_share_of_a_drain_comes_from_what_is_written_else_from_its_layout(
    row: Row, share: float, *, assumed: bool
) -> None:
    first, drain = fills([{**row, "coolant": "OAT eg"}]).to_dict("records")
    assert first["by_work"] == "first fill"
    assert drain["is_drain"]
    assert drain["share"] == pytest.approx(share, abs=1e-9)
    assert drain["assumed"] is assumed


@pytest.mark.parametrize(
    ("row", "whole"),
    [
        (change(DAY), True),  # recorded without a share
        (change(DAY, replaced_share=74.9), False),
        (change(DAY, litres_in=4), False),  # 4 of 10 L is a recorded share
        (change(DAY, litres_out=4), False),  # and so is 4 of 10 L let out
        (change(DAY, how="flushed", litres_in=4), True),
        (work(DAY, "new pump", how="flushed"), True),  # a flush leaves only water
        (work(DAY, "new pump", litres_out=8), True),
        (top_up(DAY, litres_out=9), False),
        (work(DAY, "new pump", replaced_share=75), True),
        (work(DAY, "new pump", litres_in=8), True),
        (work(DAY, "new pump"), False),
        (work(DAY, "new cooling pack"), False),
        (top_up(DAY, litres_in=9), False),
    ],
)
def test_only_what_was_recorded_makes_a_whole_change(row: Row, *, whole: bool) -> None:
    """75 %: a setting; common practice, no source."""
    assert list(fills([row])["whole"]) == [False, whole]


def test_an_assumed_share_never_makes_a_pump_job_a_whole_change() -> None:
    knowledge = made.KNOWLEDGE.layout_services.assign(drain_share=95.0)
    deep = replace(made.KNOWLEDGE, layout_services=knowledge)
    rows = made.standing([work(DAY, "new pump")])
    assert list(fills_of(rows, deep, 75.0)["whole"]) == [False, False]


def test_where_nobody_knows_what_the_system_holds_litres_prove_no_whole_change() -> None:
    frame = fills([work(DAY, "new pump", litres_in=11)], [van(layout="unheard of")])
    assert list(frame["whole"]) == [False, False]
    assert list(frame["assumed"]) == [True, True]


def test_three_wet_services_of_one_visit_with_30_45_and_20_percent_drain_once_at_45() -> None:
    visit = [
        work(DAY, "new thermostat", replaced_share=30),
        work(DAY, "new pump", replaced_share=45),
        work(DAY, "new upper hose", replaced_share=20),
    ]
    frame = fills(visit)
    assert shares(frame) == [1.0, 0.45]
    assert list(frame["by_work"]) == ["first fill", "new pump"]


def test_litres_written_once_for_a_visit_go_before_what_its_other_services_would_drain() -> None:
    visit = [work(DAY, "new thermostat", litres_in=4.5, coolant="OAT eg"), work(DAY, "new pump")]
    frame = fills(visit)
    assert shares(frame) == [1.0, 0.45]
    assert list(frame["coolant"])[-1] == "OAT eg"


def test_a_coolant_change_without_a_share_is_the_deepest_of_its_visit() -> None:
    frame = fills([change(DAY), work(DAY, "new pump", replaced_share=45)])
    assert shares(frame) == [1.0, 0.8]
    assert list(frame["whole"]) == [False, True]
    assert list(frame["by_work"])[-1] == "coolant change"


def test_coolant_put_back_is_no_fill() -> None:
    assert len(fills([work(DAY, "new pump", how="put back", replaced_share=60)])) == 1


@pytest.mark.parametrize(
    ("litres", "share"),
    [((4.0, 5.5), 0.15), ((4.0, 4.0), None), ((4.0, 3.5), None), ((None, 5.5), None)],
)
def test_what_is_put_back_beyond_what_came_out_is_a_top_up(
    litres: tuple[float | None, float], share: float | None
) -> None:
    out, back = litres
    frame = fills([work(DAY, "new pump", how="put back", litres_out=out, litres_in=back)])
    expected = [1.0] if share is None else [1.0, share]
    assert shares(frame) == expected
    assert list(frame["by_work"])[1:] == ["topped up"] * (len(expected) - 1)


@pytest.mark.parametrize(
    ("row", "percent", "assumed"),
    [
        (change(DAY, coolant="OAT eg", litres_in=7), 35.0, False),  # 7 of 10 L at 50 %
        (change(DAY, coolant="OAT eg", litres_in=11), 50.0, False),
        (change(DAY, coolant="OAT eg"), 50.0, True),
        (change(DAY, coolant="OAT", litres_in=7), 50.0, True),  # a kind names no strength
        (change(DAY, coolant="water", litres_in=7), 0.0, False),
    ],
)
def test_after_a_flush_what_went_in_counts_for_its_share_of_the_system(
    row: Row, percent: float, *, assumed: bool
) -> None:
    """Source: balance of volumes; what does not drain after a flush is water."""
    flush = fills([{**row, "how": "flushed"}]).iloc[-1]
    assert flush["glycol_pct"] == pytest.approx(percent)
    assert bool(flush["assumed"]) is assumed


def test_after_a_flush_where_nobody_knows_what_the_system_holds_its_strength_is_assumed() -> None:
    flush = change(DAY, coolant="OAT eg", litres_in=5, how="flushed")
    row = fills([flush], [van(layout="unheard of")]).iloc[-1]
    assert (row["share"], row["glycol_pct"], bool(row["assumed"])) == (1.0, 50.0, True)


def test_litres_beside_another_service_of_a_visit_tell_how_strong_a_flush_is() -> None:
    visit = [change(DAY, how="flushed"), work(DAY, "new pump", coolant="OAT eg", litres_in=8)]
    row = fills(visit).iloc[-1]
    assert (row["share"], row["glycol_pct"]) == (1.0, pytest.approx(40.0))


def test_a_fill_after_a_flush_brings_the_strength_of_its_product() -> None:
    flush = change(DAY, coolant="OAT eg", litres_in=7, how="flushed")
    frame = fills([flush, work(DAY + 9, "new pump", replaced_share=45)])
    assert list(frame["glycol_pct"]) == pytest.approx([50.0, 35.0, 50.0])


def test_dry_work_is_no_fill_unless_coolant_went_in_beside_it() -> None:
    assert len(fills([work(DAY, "new drive belt"), work(DAY, "coolant test")])) == 1
    assert len(fills([work(DAY, "additive dose", litres_in=0.5)])) == 1
    beside = fills([work(DAY, "new drive belt", litres_in=0.5)])
    assert list(beside["by_work"]) == ["first fill", "topped up"]


@pytest.mark.parametrize(("layout", "share"), [("van", 0.5 / 10), ("truck", 2.0 / 30)])
def test_a_tick_for_a_top_up_takes_the_usual_litres_of_the_size(layout: str, share: float) -> None:
    """0.5 L and 2 L: common practice, no source."""
    frame = fills([top_up(DAY)], [van(layout=layout)])
    assert frame["share"].iloc[1] == pytest.approx(share)
    assert bool(frame["assumed"].iloc[1])


def test_water_brings_no_glycol_and_no_kind() -> None:
    row = fills([top_up(DAY, coolant="Water", litres_in=1)]).iloc[1]
    assert row["glycol_pct"] == 0.0
    assert pd.isna(row["kind"])
    assert not row["assumed"]


def test_a_fill_that_nobody_named_is_of_the_kind_in_there() -> None:
    frame = fills([change(DAY, coolant="OAT pg", replaced_share=90), top_up(DAY + 9, litres_in=1)])
    assert list(frame["kind"]) == ["OAT", "OAT", "OAT"]
    assert list(frame["coolant"])[1:] == ["OAT pg", "OAT pg"]
    assert list(frame["assumed"]) == [True, False, True]


def test_topping_up_on_the_day_of_a_drain_comes_after_it() -> None:
    frame = fills([top_up(DAY, litres_in=1), work(DAY, "new pump", replaced_share=45)])
    assert list(frame["by_work"]) == ["first fill", "new pump", "topped up"]


def test_a_premix_brings_the_share_its_product_names_else_half() -> None:
    coolants = made.KNOWLEDGE.coolants.copy()
    coolants.loc[coolants["coolant"] == "OAT eg", "premix_pct"] = 60.0
    knowledge = replace(made.KNOWLEDGE, coolants=coolants)
    rows = made.standing([change(DAY, coolant="OAT eg"), top_up(DAY + 1, coolant="HOAT")])
    assert list(fills_of(rows, knowledge, 75.0)["glycol_pct"]) == [50.0, 60.0, 50.0]


def test_the_order_of_the_rows_does_not_matter() -> None:
    rows = [
        top_up(DAY, coolant="HOAT", litres_in=1),
        work(DAY, "new pump", coolant="OAT eg"),
        work(DAY, "new thermostat"),
        top_up(DAY, coolant="OAT", litres_in=2),
        change(DAY - 90, litres_in=8),
        work(DAY - 60, "new pump", replaced_share=45, coolant="HOAT"),
        work(DAY - 60, "new pump", replaced_share=45, coolant="OAT eg"),
    ]
    pd.testing.assert_frame_equal(fills(rows), fills(rows[::-1]))
