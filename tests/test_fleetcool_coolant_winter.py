"""The winter list: what must be mended before the coldest day, and with how many litres."""

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.coolant.freeze import freeze_point, freezing_points, over_concentrated
from fleetcool.coolant.mixing import replace
from fleetcool.coolant.winter import WINTER_COLUMNS, winter_list
from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import COOLANT_COLUMNS

NAN = math.nan
KNOWLEDGE = in_force({}, 20_700)
LAYOUT = "petrol six fan"  # 50 percent come out of its radiator


def coolant(**columns: object) -> pd.DataFrame:
    """Return what is in some vehicles: conventional coolant of 14 L unless said."""
    size = max(len(one) for one in columns.values() if isinstance(one, list))
    usual: dict[str, object] = {
        "vehicle": [f"v{number}" for number in range(size)],
        "kind": "conventional",
        "base": "eg",
        "litres": 14.0,
        "glycol_pct": NAN,
        "freezes_c": NAN,
        "measured_on": NAN,
        "whole_change_on": 20_000.0,
    }
    frame = pd.DataFrame(usual | columns, index=range(size)).reindex(columns=list(COOLANT_COLUMNS))
    base, glycol = frame["base"].to_numpy(dtype=object), frame["glycol_pct"].to_numpy("float64")
    read = np.where(over_concentrated(base, glycol), np.nan, freezing_points(base, glycol))
    frame["freezes_c"] = frame["freezes_c"].astype("float64").fillna(pd.Series(read))
    return frame.astype({"kind": "str", "coolant": "str", "base": "str"})


def vehicles(size: int, **columns: object) -> pd.DataFrame:
    usual: dict[str, object] = {
        "vehicle": [f"v{number}" for number in range(size)],
        "unit": [f"{100 + number}" for number in range(size)],
        "depot": "NORTH",
        "layout": LAYOUT,
        "coldest_c": NAN,
    }
    names = [one.name for one in TABLES["vehicles"].columns]
    return pd.DataFrame(usual | columns, index=range(size)).reindex(columns=["vehicle", *names])


def depots(**coldest: float) -> pd.DataFrame:
    return pd.DataFrame({"depot": list(coldest), "coldest_c": list(coldest.values())})


def listed(held: pd.DataFrame, coldest_c: float = -30.0, **columns: object) -> pd.DataFrame:
    fleet = vehicles(len(held), **columns)
    return winter_list(held, fleet, depots(NORTH=coldest_c), KNOWLEDGE)


def test_a_weak_mix_is_raised_to_five_degrees_below_the_coldest_day() -> None:
    """Laboratory guideline, second-hand: at least 5 °C below. −35 °C takes 48.5 % ethylene glycol
    (ASHRAE 2001), 49 % as people mix, so 14·(0.49 − 0.33)/(1 − 0.33) = 3.343 L, exact."""
    row = listed(coolant(glycol_pct=[33.0])).iloc[0]
    assert row["freezes_c"] == pytest.approx(-18.2, abs=0.1)
    assert (row["wanted_c"], row["what"], row["rounds"]) == (-35.0, "raise", 1)
    assert row["wanted_pct"] == 49
    assert row["litres_drain"] == pytest.approx(3.343, abs=0.001)
    assert row["litres_add"] == row["litres_drain"]
    assert row["add_what"] == "COOL-CONVENTIONAL-C"


def test_what_the_radiator_lets_out_limits_a_round() -> None:
    """Water in 14 L of which 7 L drain: 7 L bring 50 %, the next round the rest to 60 %."""
    row = listed(coolant(glycol_pct=[0.0]), -60.0).iloc[0]
    assert (row["rounds"], row["wanted_pct"]) == (2, 60.0)
    assert row["litres_drain"] == pytest.approx(7 + 14 * 0.1 / 0.5)
    assert "in 2 drains and fills" in row["note"]
    assert "More glycol does not help then" in row["note"]


def test_a_protected_vehicle_is_left_alone() -> None:
    row = listed(coolant(glycol_pct=[50.0])).iloc[0]
    assert (row["what"], row["rounds"], row["litres_drain"]) == ("nothing", 0, 0)
    assert pd.isna(row["add_what"])


def test_a_day_at_the_very_end_of_the_table_is_still_answered() -> None:
    """The propylene table ends at 60 % and −51.1 °C (ASHRAE 2001)."""
    held = coolant(glycol_pct=[46.3], base=["pg"], kind=["OAT"])
    row = listed(held, -46.1166).iloc[0]
    assert (row["what"], row["wanted_pct"]) == ("raise", 60)
    assert row["litres_drain"] > 0


def test_a_thin_margin_is_told_from_what_would_freeze() -> None:
    """50 % ethylene glycol freezes at −37.0 °C (ASHRAE 2001)."""
    assert "Its margin is thin" in listed(coolant(glycol_pct=[50.0]), -36.9).iloc[0]["note"]
    assert "would freeze on its" in listed(coolant(glycol_pct=[50.0]), -37.0).iloc[0]["note"]


def test_exactly_enough_is_enough() -> None:
    """−37.0 °C against a coldest day of −32 °C: the margin is met after rounding to a tenth."""
    assert listed(coolant(glycol_pct=[50.0]), -32.0).iloc[0]["what"] == "nothing"
    assert listed(coolant(glycol_pct=[50.0]), -32.1).iloc[0]["what"] == "raise"


def test_an_over_concentrated_system_is_lowered_with_water_and_never_sold_as_protection() -> None:
    """28 L from 62 to 50 % takes 28·0.12/0.62 = 5.419 L of water, exact arithmetic."""
    row = listed(coolant(glycol_pct=[62.0], litres=[28.0]), -20.0).iloc[0]
    assert (row["what"], row["add_what"], row["wanted_pct"]) == ("lower", "water", 50.0)
    assert row["litres_drain"] == pytest.approx(5.419, abs=0.001)
    assert math.isnan(row["freezes_c"])
    assert "protects less, not more" in row["note"]


def test_an_over_concentrated_system_keeps_what_the_coldest_day_needs() -> None:
    row = listed(coolant(glycol_pct=[66.0]), -40.0).iloc[0]
    assert row["wanted_pct"] == 56  # −45 °C takes 55.3 %, ASHRAE 2001


def test_the_vehicles_own_coldest_day_goes_before_its_yards() -> None:
    found = winter_list(
        coolant(glycol_pct=[40.0, 40.0, 40.0]),
        vehicles(3, coldest_c=[-45.0, NAN, NAN], depot=["NORTH", "NORTH", "EAST"]),
        depots(NORTH=-10.0, EAST=NAN),
        KNOWLEDGE,
    ).set_index("vehicle")
    assert found.loc["v0", "coldest_from"] == "vehicle"
    assert found.loc["v0", "wanted_c"] == -50.0
    assert found["coldest_from"].to_dict() == {"v0": "vehicle", "v1": "depot", "v2": "not said"}
    assert found["what"].to_dict() == {"v0": "raise", "v1": "nothing", "v2": "say coldest"}
    assert found.loc["v1", "coldest_c"] == -10.0
    assert "fill in coldest_c for the depot EAST" in str(found.loc["v2", "note"])


def test_what_nobody_knows_is_to_be_tested() -> None:
    row = listed(coolant(glycol_pct=[NAN], base=[None], kind=[None])).iloc[0]
    assert (row["what"], row["rounds"]) == ("test", 0)
    assert "test it" in row["note"]


def test_an_assumed_first_fill_alone_protects_nobody() -> None:
    """Half and half taken for granted is no test: −37 °C must not be promised."""
    assumed = listed(coolant(glycol_pct=[50.0], whole_change_on=[NAN])).iloc[0]
    assert (assumed["what"], assumed["litres_drain"]) == ("test", 0)
    assert math.isnan(assumed["freezes_c"])
    tested = coolant(glycol_pct=[50.0], whole_change_on=[NAN], measured_on=[20_690.0])
    assert listed(tested).iloc[0]["what"] == "nothing"


def test_a_mix_that_cannot_be_raised_any_more_is_named() -> None:
    row = listed(coolant(glycol_pct=[60.0]), -60.0).iloc[0]
    assert (row["what"], row["litres_drain"]) == ("no room", 0)
    assert "ask its maker" in row["note"]


def test_a_freezing_point_alone_is_enough() -> None:
    row = listed(coolant(freezes_c=[-20.0], measured_on=[20_690.0])).iloc[0]
    assert row["glycol_pct"] == pytest.approx(35.2, abs=0.1)  # ASHRAE 2001
    assert (row["what"], row["measured_on"]) == ("raise", 20_690.0)


def test_without_concentrate_a_strong_enough_premix_is_taken() -> None:
    """−40 °C wants 52.0 % (ASHRAE 2001), 53 % as people mix;
    from 33 % with premix of 60 %: full 7 L bring 46.5 %, then 14·(53 − 46.5)/(60 − 46.5) = 6.74 L,
    exact arithmetic."""
    products = KNOWLEDGE.coolants.copy()
    products["concentrate_part"] = products["concentrate_part"].mask(products["base"].eq("eg"))
    held = coolant(glycol_pct=[33.0])
    weak, strong = (
        winter_list(
            held,
            vehicles(1),
            depots(NORTH=-35.0),
            dataclasses.replace(KNOWLEDGE, coolants=products.assign(premix_pct=share)),
        ).iloc[0]
        for share in (50.0, 60.0)
    )
    assert weak["add_what"] == "concentrate of the same kind"  # 50 percent does not get there
    assert (strong["add_what"], strong["rounds"]) == ("COOL-CONVENTIONAL-P", 2)
    assert strong["litres_add"] == pytest.approx(13.74, abs=0.01)


def test_the_product_in_it_names_the_part() -> None:
    held = coolant(glycol_pct=[20.0], coolant=["OAT pg"], kind=["OAT"], base=["pg"])
    assert listed(held).iloc[0]["add_what"] == "COOL-OAT-PG-C"


def test_rows_are_sorted_by_yard_then_unit_whatever_came_first() -> None:
    held = coolant(glycol_pct=[40.0] * 4)
    fleet = vehicles(4, unit=["9", "10", "2", "1"], depot=["NORTH", "NORTH", "EAST", "NORTH"])
    found = winter_list(held, fleet, depots(NORTH=-30.0, EAST=-30.0), KNOWLEDGE)
    assert found["unit"].tolist() == ["2", "1", "10", "9"]
    other = winter_list(
        held.iloc[::-1], fleet.iloc[::-1], depots(EAST=-30.0, NORTH=-30.0), KNOWLEDGE
    )
    pd.testing.assert_frame_equal(found, other)


def test_an_empty_fleet_has_an_empty_list() -> None:
    found = winter_list(coolant(glycol_pct=[40.0]).iloc[:0], vehicles(0), depots(), KNOWLEDGE)
    assert found.empty
    assert tuple(found.columns) == WINTER_COLUMNS


@given(
    st.lists(
        st.tuples(
            st.floats(0, 75),
            st.sampled_from(["eg", "pg"]),
            st.floats(4, 60),
            st.floats(-55, 5),
            st.sampled_from(list(KNOWLEDGE.layouts["layout"])),
        ),
        min_size=1,
        max_size=20,
    )
)
def test_the_whole_fleet_is_mended_as_one_vehicle_would_be(
    rows: list[tuple[float, str, float, float, str]],
) -> None:
    """The vectorised litres equal the scalar arithmetic, and what is mended is protected."""
    glycol, base, held, coldest, layout = (list(one) for one in zip(*rows, strict=True))
    found = winter_list(
        coolant(glycol_pct=glycol, base=base, litres=held, kind=["OAT"] * len(rows)),
        vehicles(len(rows), coldest_c=coldest, layout=layout),
        depots(NORTH=NAN),
        KNOWLEDGE,
    )
    drains = KNOWLEDGE.layouts.set_index("layout")["drains_radiator_pct"]
    for number, row in enumerate(found.to_dict("records")):  # v0, v1 … stay in order of unit
        if row["what"] not in ("raise", "lower"):
            assert row["litres_drain"] == 0
            continue
        source = 0.0 if row["what"] == "lower" else 100.0
        out = held[number] * float(drains[layout[number]]) / 100
        one = replace(held[number], row["glycol_pct"], row["wanted_pct"], source, out)
        assert row["litres_drain"] == pytest.approx(one.litres, rel=1e-6, abs=1e-6)
        assert row["rounds"] == len(one.rounds)
        freezes = freeze_point(base[number], row["wanted_pct"])
        assert np.round(freezes, 1) <= np.round(row["wanted_c"], 1) or row["wanted_pct"] == 60.0
