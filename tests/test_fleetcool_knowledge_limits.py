"""Which limit is in force: the user's before shipped, then scope, then the later day."""

import dataclasses
from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetcool.knowledge.limits import LIMIT_COLUMNS, coolant_kind_of, limits_for
from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import number
from fleetcool.model.knowledge import Knowledge

DAY = number(date(2026, 11, 25))
Row = dict[str, object]


def knowledge_with(*rows: Row, shipped: bool = True) -> Knowledge:
    """Return knowledge with these limits of the user, without the shipped ones on request."""
    knowledge = in_force({"limits": pd.DataFrame(list(rows))} if rows else {}, DAY)
    if shipped:
        return knowledge
    own = knowledge.limits[knowledge.limits["origin"] == "yours"]
    return dataclasses.replace(knowledge, limits=own)


def vehicles(*rows: Row) -> pd.DataFrame:
    blank: Row = {"layout": np.nan, "duty": np.nan, "coolant": np.nan}
    return pd.DataFrame([{**blank, "vehicle": row["unit"], **row} for row in rows])


def limit(
    knowledge: Knowledge, vehicle: Mapping[str, object], service: str, first: int = 0
) -> pd.Series:
    lines = limits_for(knowledge, vehicles({"unit": "104", **vehicle}), DAY)
    found = lines[(lines["service"] == service) & (lines["first"] == first)]
    assert len(found) == 1
    return found.iloc[0]


P4D: Row = {"layout": "petrol four drive belt"}


def test_a_vehicle_gets_the_services_of_its_layout_and_those_without_a_place() -> None:
    fleet = vehicles({"unit": "1", "layout": "diesel six heavy"}, {"unit": "2"})
    lines = limits_for(in_force({}, DAY), fleet, DAY)
    assert tuple(lines.columns) == LIMIT_COLUMNS
    heavy = set(lines.loc[lines["vehicle"] == "1", "service"])
    unknown = set(lines.loc[lines["vehicle"] == "2", "service"])
    assert "new coolant filter" in heavy
    assert "new timing belt" not in heavy
    assert unknown == {"belt look-over", "coolant test", "hose look-over", "pressure test"}
    assert not lines.duplicated(["vehicle", "service", "first"]).any()
    assert set(lines["service"]).isdisjoint({"cooling baseline", "coolant top-up"})


def test_any_row_of_the_user_goes_before_every_shipped_one_and_is_taken_whole() -> None:
    knowledge = knowledge_with({"service": "new upper hose", "months": 36.0})
    line = limit(knowledge, P4D, "new upper hose")
    assert line["months"] == 36.0
    assert np.isnan(line["km"])
    assert line["limit_from"] == (
        "Your limit: 36 months (your tables) in place of the shipped 96,561 km or 60 months "
        "(hose makers and trade press, 4–5 years or 60,000 mi)."
    )


SCOPED: dict[str, object] = {
    "unit": "104",
    "layout": "petrol four drive belt",
    "size": "light",
    "coolant_kind": "OAT",
    "duty": "normal",
}


@pytest.mark.parametrize("winner", range(6))
def test_scope_columns_count_in_their_order(winner: int) -> None:
    """With the first `winner` scopes taken out, the next one decides."""
    scopes = list(SCOPED)
    rows: list[Row] = [{"service": "new cap", "months": 99.0}]
    rows += [
        {"service": "new cap", "months": float(at), scope: SCOPED[scope]}
        for at, scope in enumerate(scopes)
        if at >= winner
    ]
    line = limit(knowledge_with(*rows), P4D, "new cap")
    assert line["months"] == (winner if winner < len(scopes) else 99.0)


def test_a_row_with_more_scope_goes_before_one_with_less_of_the_same() -> None:
    rows: tuple[Row, ...] = (
        {"service": "new cap", "months": 10.0, "size": "light"},
        {"service": "new cap", "months": 20.0, "size": "light", "coolant_kind": "OAT"},
        {"service": "new cap", "months": 30.0, "size": "light", "coolant_kind": "HOAT"},
    )
    assert limit(knowledge_with(*rows), P4D, "new cap")["months"] == 20.0


def test_the_later_valid_from_wins_between_equals_and_future_rows_wait() -> None:
    own = [
        {"service": "new cap", "months": months, "valid_from": day, "origin": "yours"}
        for months, day in ((10.0, DAY - 9.0), (20.0, DAY - 1.0), (30.0, DAY + 1.0))
    ]
    knowledge = in_force({}, DAY)
    both = pd.concat([knowledge.limits, pd.DataFrame(own)], ignore_index=True)
    both["source"] = both["source"].fillna("your tables")
    line = limit(dataclasses.replace(knowledge, limits=both), P4D, "new cap")
    assert line["months"] == 20.0
    assert "since 2026-11-24" in line["limit_from"]


def test_first_limits_hold_until_the_first_known_work() -> None:
    """Toyota/Lexus schedule 2012, second-hand: first at 10 years or 100,000 mi, then every 5 years
    or 50,000 mi."""
    vehicle = {"layout": "petrol four timing belt"}
    knowledge = in_force({}, DAY)
    first = limit(knowledge, vehicle, "coolant change", first=1)
    then = limit(knowledge, vehicle, "coolant change", first=0)
    assert (first["km"], first["months"]) == (160_934, 120)
    assert (then["km"], then["months"]) == (80_467, 60)
    assert "until the first known work" in first["limit_from"]
    pump = [limit(knowledge, vehicle, "new pump", first=stage)["km"] for stage in (0, 1)]
    assert pump[0] == pump[1]


def test_a_user_row_told_not_to_be_for_the_first_leaves_the_shipped_first_limit() -> None:
    knowledge = knowledge_with({"service": "coolant change", "months": 30.0, "first": 0.0})
    vehicle = {"layout": "petrol four timing belt"}
    assert limit(knowledge, vehicle, "coolant change", first=0)["months"] == 30.0
    assert limit(knowledge, vehicle, "coolant change", first=1)["months"] == 120.0


def test_severe_duty_shortens_by_the_factor_of_the_service() -> None:
    knowledge = in_force({}, DAY)
    normal = limit(knowledge, P4D, "new upper hose")
    severe = limit(knowledge, {**P4D, "duty": "severe"}, "new upper hose")
    assert severe["km"] == round(normal["km"] * 0.8)
    assert severe["months"] == normal["months"] * 0.8
    assert severe["limit_from"].endswith("; times 0.8 for severe duty.")
    coolant = limit(knowledge, {**P4D, "duty": "severe"}, "coolant change")
    assert coolant["km"] == limit(knowledge, P4D, "coolant change")["km"]


def test_a_row_made_for_severe_duty_is_not_shortened_again() -> None:
    knowledge = knowledge_with(
        {"service": "new upper hose", "months": 30.0, "duty": "severe"},
        {"service": "new upper hose", "months": 70.0},
    )
    assert limit(knowledge, {**P4D, "duty": "severe"}, "new upper hose")["months"] == 30.0
    assert limit(knowledge, P4D, "new upper hose")["months"] == 70.0


def test_a_user_row_without_a_severe_factor_takes_the_one_of_the_service() -> None:
    knowledge = knowledge_with({"service": "new upper hose", "months": 50.0})
    line = limit(knowledge, {**P4D, "duty": "severe"}, "new upper hose")
    assert line["months"] == 40.0
    own = knowledge_with({"service": "new upper hose", "months": 50.0, "severe_factor": 0.5})
    assert limit(own, {**P4D, "duty": "severe"}, "new upper hose")["months"] == 25.0


def test_the_layout_limit_goes_before_the_one_of_its_size() -> None:
    line = limit(in_force({}, DAY), {"layout": "petrol four timing belt"}, "new pump")
    assert line["km"] == 120_000
    assert "layout petrol four timing belt" in line["limit_from"]


def test_a_distance_limit_for_hoses_never_reaches_a_heavy_vehicle() -> None:
    fleet = vehicles({"unit": "1", "layout": "diesel six heavy", "duty": "severe"})
    lines = limits_for(in_force({}, DAY), fleet, DAY)
    hoses = lines[lines["service"].str.contains("hose")]
    assert len(hoses) > 0
    assert hoses["km"].isna().all()


def test_the_coolant_kind_comes_from_product_kind_or_layout() -> None:
    knowledge = in_force(
        {"coolants": pd.DataFrame({"coolant": ["Blue 50"], "kind": ["Si-OAT"]})}, DAY
    )
    layout = "petrol four drive belt"
    fleet = vehicles(
        {"unit": "1", "layout": layout, "coolant": "blue 50 "},
        {"unit": "2", "layout": layout, "coolant": "p-hoat"},
        {"unit": "3", "layout": layout},
        {"unit": "4", "layout": layout, "coolant": "green stuff"},
        {"unit": "5"},
    ).set_index(pd.Index([7, 3, 5, 9, 1]))
    kinds = coolant_kind_of(knowledge, fleet)
    assert kinds.index.to_list() == [7, 3, 5, 9, 1]
    assert kinds.fillna("?").to_list() == ["Si-OAT", "P-HOAT", "OAT", "?", "?"]


def test_capitals_of_a_kind_do_not_matter_in_a_limit() -> None:
    knowledge = knowledge_with({"service": "new cap", "months": 24.0, "coolant_kind": "oat"})
    assert limit(knowledge, P4D, "new cap")["months"] == 24.0


def test_an_unknown_kind_gets_the_shortest_life() -> None:
    knowledge = in_force({}, DAY)
    unknown = limit(knowledge, {**P4D, "coolant": "green stuff"}, "coolant change")
    known = knowledge.limits.query("service == 'coolant change' & size == 'light'")
    assert unknown["months"] == known["months"].min()
    assert unknown["km"] == known["km"].min()


def test_the_order_of_vehicles_does_not_matter() -> None:
    knowledge = knowledge_with({"service": "new cap", "months": 24.0, "unit": "3"})
    layouts = knowledge.layouts["layout"].to_list()
    fleet = vehicles(
        *({"unit": str(at), "layout": layout} for at, layout in enumerate(layouts * 2))
    )
    lines = limits_for(knowledge, fleet, DAY)
    shuffled = limits_for(knowledge, fleet.sample(frac=1.0, random_state=1), DAY)
    pd.testing.assert_frame_equal(lines, shuffled)
    caps = lines[(lines["service"] == "new cap") & (lines["months"] == 24.0)]
    assert set(caps["vehicle"]) == {"3"}


def test_shares_and_start_of_counting_are_filled_where_a_row_does_not_say() -> None:
    line = limit(knowledge_with({"service": "new cap", "months": 24.0}), P4D, "new cap")
    assert (line["early_share"], line["late_share"], line["counts_from"]) == (10.0, 10.0, "done")


def test_no_vehicle_and_no_limit_give_no_line() -> None:
    knowledge = in_force({}, DAY)
    none = limits_for(knowledge, vehicles({"unit": "1"}).iloc[:0], DAY)
    assert none.empty
    assert tuple(none.columns) == LIMIT_COLUMNS
    only = knowledge_with({"service": "new cap", "months": 24.0}, shipped=False)
    lines = limits_for(only, vehicles({"unit": "1", **P4D}), DAY)
    assert list(lines["service"]) == ["new cap", "new cap"]
