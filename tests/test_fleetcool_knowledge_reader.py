"""Shipped rows with the user's rows over them, and layouts that are like another."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetcool.errors import NotUsableError
from fleetcool.knowledge.reader import LAYOUT_TABLES, in_force, read_shipped
from fleetcool.model.days import number
from fleetcool.model.knowledge_tables import KNOWLEDGE

DAY = number(date(2026, 11, 25))


def rows_of(frame: pd.DataFrame, layout: str) -> pd.DataFrame:
    return frame[frame["layout"] == layout].reset_index(drop=True)


def test_without_rows_of_the_user_the_shipped_ones_are_in_force() -> None:
    knowledge = in_force({}, DAY)
    for table in KNOWLEDGE:
        frame = getattr(knowledge, table.name)
        assert len(frame) == len(read_shipped()[table.name]), table.name
        assert list(frame.columns) == [*(column.name for column in table.columns), "origin"]
        assert (frame["origin"] == "shipped").all()


def test_rows_hold_from_their_day_on_and_not_before() -> None:
    before_all = in_force({}, number(date(1999, 12, 31)))
    assert before_all.limits.empty
    own = pd.DataFrame({"finding": ["rust"], "within_days": [2.0], "valid_from": [DAY + 1.0]})
    assert (in_force({"remedies": own}, DAY).remedies["origin"] == "shipped").all()
    told = in_force({"remedies": own}, DAY + 1).remedies.set_index("finding")
    assert told.loc["rust", "within_days"] == 2.0


def test_a_row_of_the_user_displaces_the_shipped_one_column_by_column() -> None:
    own = pd.DataFrame(
        {"layout": ["petrol six fan"], "service": ["new pump"], "own_minutes": [75.0]}
    )
    knowledge = in_force({"layout_services": own}, DAY)
    rows = rows_of(knowledge.layout_services, "petrol six fan").set_index("service")
    pump = rows.loc[["new pump"]]
    shipped = rows_of(in_force({}, DAY).layout_services, "petrol six fan").set_index("service")
    assert pump["own_minutes"].to_list() == [75.0]
    assert pump["drain_share"].equals(shipped.loc[["new pump"], "drain_share"])
    assert pump[["origin", "source"]].to_numpy().tolist() == [["yours", "your tables"]]
    assert (rows.drop("new pump")["origin"] == "shipped").all()
    assert list(rows.index) == list(shipped.index)


def test_a_user_adds_parts_to_a_service_and_takes_shipped_ones_away() -> None:
    own = pd.DataFrame(
        {
            "layout": ["petrol six fan"] * 2,
            "service": ["new pump"] * 2,
            "part": ["P6F-SEAL-DRAIN", "OUR-RING"],
            "quantity": [np.nan, 2.0],
            "remove": [1.0, np.nan],
        }
    )
    parts = rows_of(in_force({"layout_parts": own}, DAY).layout_parts, "petrol six fan")
    pump = parts[parts["service"] == "new pump"]
    assert sorted(pump["part"]) == ["OUR-RING", "P6F-GASKET-PUMP", "P6F-PUMP"]


def test_limits_stay_side_by_side_because_a_limit_is_taken_whole() -> None:
    own = pd.DataFrame({"size": ["light"], "service": ["new cap"], "km": [50_000.0]})
    caps = in_force({"limits": own}, DAY).limits.query("service == 'new cap' & size == 'light'")
    assert caps["origin"].to_list() == ["shipped", "yours"]
    assert caps["months"].isna().to_list() == [False, True]


def test_a_limit_removed_by_the_user_is_gone() -> None:
    own = pd.DataFrame({"size": ["light"], "service": ["new cap"], "remove": [1.0]})
    caps = in_force({"limits": own}, DAY).limits.query("service == 'new cap'")
    assert sorted(caps["size"]) == ["heavy", "medium"]


def test_a_layout_like_another_gets_all_its_rows_and_its_own_win() -> None:
    user = {
        "layouts": pd.DataFrame(
            {"layout": ["our van"], "like": ["diesel four van"], "coolant_litres": [11.5]}
        ),
        "layout_places": pd.DataFrame(
            {"layout": ["our van"], "place": ["bypass hose"], "remove": [1.0]}
        ),
        "steps": pd.DataFrame(
            {"layout": ["our van"], "step": ["engine cover"], "take_apart_minutes": [20.0]}
        ),
    }
    knowledge = in_force(user, DAY)
    for name in LAYOUT_TABLES:
        frame = getattr(knowledge, name)
        missing = 1 if name == "layout_places" else 0
        like, ours = rows_of(frame, "diesel four van"), rows_of(frame, "our van")
        assert len(ours) == len(like) - missing, name
    layout = rows_of(knowledge.layouts, "our van").iloc[0]
    assert (layout["coolant_litres"], layout["size"], layout["cap_kpa"]) == (11.5, "light", 140.0)
    assert "bypass hose" not in set(rows_of(knowledge.layout_places, "our van")["place"])
    cover = rows_of(knowledge.steps, "our van").set_index("step").loc["engine cover"]
    assert (cover["take_apart_minutes"], cover["put_back_minutes"]) == (20.0, 15.0)
    assert cover["origin"] == "yours"


def test_likes_are_followed_through_several_layouts_in_any_row_order() -> None:
    layouts = pd.DataFrame(
        {
            "layout": ["c", "a", "b"],
            "like": ["b", "petrol six fan", "a"],
            "coolant_litres": [np.nan, np.nan, 12.0],
        }
    )
    services = pd.DataFrame({"layout": ["a"], "service": ["new cap"], "own_minutes": [9.0]})
    user = {"layouts": layouts, "layout_services": services}
    knowledge = in_force(user, DAY)
    litres = knowledge.layouts.set_index("layout")["coolant_litres"]
    assert litres[["a", "b", "c"]].to_list() == [11.0, 12.0, 12.0]
    caps = rows_of(knowledge.layout_services, "c").set_index("service")
    assert caps.loc["new cap", "own_minutes"] == 9.0
    turned = in_force({**user, "layouts": layouts.iloc[::-1]}, DAY)
    pd.testing.assert_frame_equal(knowledge.steps, turned.steps)


def test_a_user_row_on_a_shipped_layout_reaches_the_layouts_like_it() -> None:
    user = {
        "layouts": pd.DataFrame({"layout": ["our six"], "like": ["petrol six fan"]}),
        "steps": pd.DataFrame(
            {"layout": ["petrol six fan"], "step": ["shroud"], "take_apart_minutes": [30.0]}
        ),
    }
    steps = rows_of(in_force(user, DAY).steps, "our six").set_index("step")
    assert steps.loc["shroud", "take_apart_minutes"] == 30.0


def test_a_circle_of_likes_is_refused_by_name() -> None:
    layouts = pd.DataFrame({"layout": ["a", "b"], "like": ["b", "a"]})
    with pytest.raises(NotUsableError, match='found "a" like "b" like "a"'):
        in_force({"layouts": layouts}, DAY)


def test_a_like_that_nobody_knows_is_refused_by_name() -> None:
    layouts = pd.DataFrame({"layout": ["a"], "like": ["petrol sevn"]})
    with pytest.raises(NotUsableError, match='layout "a": found like "petrol sevn"'):
        in_force({"layouts": layouts}, DAY)


def test_reading_twice_gives_frames_that_earlier_use_has_not_changed() -> None:
    first = in_force({}, DAY)
    first.limits["km"] = -1.0
    assert (in_force({}, DAY).limits["km"].dropna() > 0).all()
