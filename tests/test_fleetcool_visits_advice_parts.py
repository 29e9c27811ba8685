"""What the fleet's own failures say of one part number against another, and of each alone."""

from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest
from wear_rows import AS_OF, PUMP_PRICE, Row, basis, due, life, projection, risk, standing

from fleetcool.model.life_frames import ADVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.visits.advice import limits_advice

GOOD, BAD = "P-1", "P-2"
BAD_LAW = {"part": BAD, "scale": 50_000.0, "shape": 4.0, "n_parts": 15, "n_failures": 12}
GOOD_LAW = {"part": GOOD, "scale": 200_000.0, "n_parts": 16, "n_failures": 1, "data_share": 0.6}
MIXED_LAW = {"n_parts": 31, "n_failures": 13, "n_road": 6, "shape": 0.9, "scale": 120_000.0}
LIVES = (
    life("pump", **MIXED_LAW),
    life("pump", **{**BAD_LAW, "n_road": 5, "data_share": 0.95}),
    life("pump", **{**GOOD_LAW, "n_road": 1}),
)
PAIR: Row = {
    "layout": "van", "place": "pump", "part": GOOD, "other": BAD, "n_parts": 16, "n_failures": 1,
    "n_parts_other": 15, "n_failures_other": 12, "ratio": 4.0, "ratio_low": 2.4,
    "ratio_high": 13.1, "known": True, "why": "P-1 lasts 2.4 to 13.1 times as long as P-2 here",
}  # fmt: skip
N_BAD, N_GOOD = 3, 5


def sitting(n_bad: int = N_BAD, n_good: int = N_GOOD) -> list[Row]:
    """Return the pumps of vans 200 on: first those of the short-lived number, then the others."""
    numbers = [BAD] * n_bad + [GOOD] * n_good
    return [
        risk(str(200 + at), "pump", 30_000.0 + 1_000 * at, part=number, of_part=number)
        for at, number in enumerate(numbers)
    ]


def advice(
    lives: Sequence[Row] = LIVES,
    *,
    apart: Sequence[Row] = (PAIR,),
    risks: Sequence[Row] | None = None,
    n: int = 8,
    km_a_day: float = 100.0,
    options: Settings | None = None,
    **tables: Sequence[Row],
) -> pd.DataFrame:
    units = [str(200 + at) for at in range(n)]
    vans: list[Row] = [{"unit": unit, "layout": "van", "depot": "NORTH"} for unit in units]
    projected = projection(
        [due(unit, "new pump", AS_OF + 30) for unit in units],
        risks=sitting() if risks is None else risks,
        lives=lives,
        apart=apart,
        clocks=[{"vehicle": u, "service": "new pump", "limit_km": 150_000.0} for u in units],
        km_a_day=km_a_day,
    )
    found = limits_advice(projected, basis(standing(vehicles=vans, **tables), options))
    assert tuple(found) == ADVICE_COLUMNS
    return found


@cache
def usual() -> pd.DataFrame:
    """Return the advice of the usual fleet, worked out once."""
    return advice()


def of(found: pd.DataFrame, part: str, instead_of: str = "") -> "pd.Series[Any]":
    rows = found[found["part"].eq(part) & found["instead_of"].eq(instead_of)]
    assert len(rows) == 1
    return rows.iloc[0]


def costs(price: float = PUMP_PRICE) -> tuple[float, float]:
    """Return what a new pump costs planned and after a failure [cents], by hand."""
    share = (6 + 5 * 0.4) / (13 + 5)
    planned = (60 + 42) * 9500 / 60 + (60 + 42 + 20) * 14_000 / 600 + price + 2500
    return planned, planned + share * 90_000 + (1 - share) * 14_000


def rate(shape: float, scale: float, price: float = PUMP_PRICE, n: int = 100_001) -> float:
    """Return the cost rate of renewal at 150,000 km, the mean life summed up in small steps."""
    planned, failed = costs(price)
    steps = np.linspace(0.0, 150_000.0, n)
    survive = np.exp(-((steps / scale) ** shape))
    lived = float(np.sum((survive[1:] + survive[:-1]) / 2) * (steps[1] - steps[0]))
    return float((planned * survive[-1] + failed * (1 - survive[-1])) / lived)


def test_a_mixture_of_two_parts_is_told_apart_and_the_number_to_fit_leads() -> None:
    found = usual()
    assert found[["part", "instead_of"]].to_numpy().tolist() == [
        [GOOD, BAD], [BAD, ""], [GOOD, ""], ["", ""],
    ]  # fmt: skip
    assert found["speaks"].tolist() == [True, True, False, False]
    assert found["n_vehicles"].tolist() == [3, 3, 5, 8]


def test_the_line_to_fit_says_how_much_longer_where_and_what_to_order() -> None:
    why = of(usual(), GOOD, BAD)["why"]
    assert why.startswith(
        "Fit P-1, not P-2: it lasts 2.4 to 13.1 times as long here (1 failure among 16 of P-1, "
        "12 failures among 15 of P-2; the same pattern of wear taken for both). "
        "P-2 is in 3 vehicles now: 202 (32,000 km), 201 (31,000 km), 200 (30,000 km). "
        "There P-1 would save USD "
    )
    assert "both renewed at the limit in force, which works out at 150,000 km." in why
    assert "Order P-1, and no more of P-2." in why
    assert why.endswith("for the maker's book to say.")


def test_fitting_the_longer_lived_saves_the_difference_of_the_two_cost_rates() -> None:
    """By the cost rate of Barlow and Proschan 1965, ch. 4 (from memory), integrated by steps."""
    found = of(usual(), GOOD, BAD)
    run = N_BAD * 100 * 365.2425
    assert found["cost_a_year"] == pytest.approx(rate(4.0, 50_000.0) * run, rel=1e-5)
    saved = (rate(4.0, 50_000.0) - rate(2.5, 200_000.0)) * run
    assert found["saving_a_year"] == pytest.approx(saved, rel=1e-5)
    assert 0 < found["saving_low"] < found["saving_a_year"] < found["saving_high"]


def test_the_range_of_the_saving_leaves_both_fits_free() -> None:
    """Against plain drawing of both fits (seeded): eight cases of ten lie between its ends."""
    found = of(usual(), GOOD, BAD)
    draw, n = np.random.default_rng(7), 800
    rates = [
        np.array([
            rate(shape * np.exp(0.1 * a), scale * np.exp(np.sqrt(0.005) * b), n=2_001)
            for a, b in draw.standard_normal((n, 2))
        ])
        for shape, scale in ((4.0, 50_000.0), (2.5, 200_000.0))
    ]  # fmt: skip
    apart = (rates[0][:, None] - rates[1][None]) * N_BAD * 100 * 365.2425
    low, high = np.quantile(apart, (0.1, 0.9))
    width = high - low
    assert found["saving_low"] == pytest.approx(low, abs=0.1 * width)
    assert found["saving_high"] == pytest.approx(high, abs=0.1 * width)


def test_the_short_lived_number_has_its_own_cheapest_range_and_rows_for_its_units() -> None:
    found = of(usual(), BAD)
    assert found["best_high"] < 50_000
    assert found["n_failures"] == 12
    assert "P-2 is in 3 vehicles now: 202 (32,000 km)" in found["why"]
    assert "Sooner would save USD" in found["why"]
    assert "until another number is in: unit 202, service new pump, km " in found["why"]
    assert "; so for the other 2." in found["why"]
    assert "12 failures among 15 of P-2; the data carry 95 %" in found["why"]


def test_a_number_that_all_vehicles_have_gets_a_row_of_the_layout() -> None:
    found = of(advice(risks=sitting(8, 0)), BAD)
    assert "A row of the table limits for it: layout van, service new pump, km " in found["why"]


def test_a_number_in_one_vehicle_gets_the_row_of_that_unit_only() -> None:
    why = of(advice(risks=sitting(1, 7)), BAD)["why"]
    assert "P-2 is in 1 vehicle now: 200 (30,000 km)." in why
    assert "so for the other" not in why


def test_the_other_number_stays_silent_with_too_few_failures() -> None:
    found = of(usual(), GOOD)
    assert not found["speaks"]
    assert found["why"].endswith("1 failure among 16 of P-1: too few to speak.")


def test_the_mixture_itself_never_speaks_of_a_limit() -> None:
    """By its law alone a sooner limit would pay; it holds for neither number."""
    short = life("pump", n_failures=13, n_road=6, data_share=0.9, scale=70_000.0)
    found = of(advice([short, *LIVES[1:]]), "")
    assert found["saving_low"] > 0
    assert not found["speaks"]
    assert "13 failures among 40 pumps of several numbers" in found["why"]
    assert "First choose the part: P-1 lasts 2.4 to 13.1 times as long" in found["why"]


def test_when_nobody_has_the_short_lived_number_any_more_the_line_says_so() -> None:
    found = advice(risks=sitting(0, 8))
    fit = of(found, GOOD, BAD)
    assert fit["speaks"]
    assert fit["n_vehicles"] == 0
    assert fit[["cost_a_year", "saving_a_year", "saving_low", "saving_high"]].eq(0).all()
    assert "None of P-2 is in a vehicle now. In one vehicle of this layout P-1" in fit["why"]
    assert found[found["part"].eq(BAD)].empty


def test_what_one_vehicle_would_save_does_not_grow_with_the_fleet() -> None:
    small, large = (of(advice(risks=sitting(0, 8), n=n), GOOD, BAD)["why"] for n in (8, 16))
    assert small == large


def test_vehicles_whose_number_nobody_recorded_are_counted() -> None:
    unknown = [one | {"part": np.nan, "of_part": ""} for one in sitting()[3:5]]
    why = of(advice(risks=[*sitting()[:3], *unknown, *sitting()[5:]]), GOOD, BAD)["why"]
    assert "Of 2 vehicles nobody recorded which number is in." in why


def test_at_most_ten_vehicles_are_named() -> None:
    why = of(advice(risks=sitting(14, 2), n=16), GOOD, BAD)["why"]
    assert "P-2 is in 14 vehicles now: 213 (43,000 km)" in why
    assert "204 (34,000 km) and 4 more." in why
    assert "203 (" not in why


def test_one_part_number_only_leaves_the_limit_of_the_layout_to_speak() -> None:
    law = life("pump", n_failures=12, n_road=6, data_share=0.9, scale=70_000.0)
    found = advice([law, law | {"part": GOOD}], apart=[], risks=sitting(0, 8))
    assert found["part"].tolist() == [""]
    assert found["speaks"].tolist() == [True]


def test_without_failures_nothing_speaks() -> None:
    none = [life("pump", part=part, n_failures=0, n_road=0) for part in ("", GOOD, BAD)]
    found = advice(none, apart=[PAIR | {"known": False}])
    assert found["part"].tolist() == [""]
    assert found["why"].tolist() == [
        "No failures among 40 pumps: nothing speaks for another limit."
    ]


def test_a_longer_lived_number_without_failures_lasts_at_least_so_long() -> None:
    why = of(advice(apart=[PAIR | {"n_failures": 0}]), GOOD, BAD)["why"]
    assert "it lasts at least 2.4 times as long here (no failure among 16 of P-1" in why


def priced(good: float | None, bad: float) -> "pd.Series[Any]":
    offers: list[Row] = [{"part": BAD, "supplier": "S", "price": bad}]
    if good is not None:
        offers.append({"part": GOOD, "supplier": "S", "price": good})
    parts: list[Row] = [{"part": GOOD}, {"part": BAD, "same_as": GOOD}]
    return of(advice(offers=offers, parts=parts), GOOD, BAD)


def test_prices_of_both_numbers_are_counted() -> None:
    """As above by the cost rate of Barlow and Proschan, each number at its own price."""
    found = priced(12_000.0, 5_000.0)
    run = N_BAD * 100 * 365.2425
    saved = (rate(4.0, 50_000.0, 5_000.0) - rate(2.5, 200_000.0, 12_000.0)) * run
    assert found["saving_a_year"] == pytest.approx(saved, rel=1e-5)
    assert "It costs USD 120.00 against USD 50.00, which is counted." in found["why"]


def test_an_unknown_price_stays_out() -> None:
    found = priced(None, 5_000.0)
    run = N_BAD * 100 * 365.2425
    saved = (rate(4.0, 50_000.0, 5_000.0) - rate(2.5, 200_000.0, 5_000.0)) * run
    assert found["saving_a_year"] == pytest.approx(saved, rel=1e-5)
    assert "against USD" not in found["why"]


def test_a_longer_lived_number_that_is_surely_dearer_to_run_is_not_put_on_order() -> None:
    found = priced(900_000.0, 5_000.0)
    assert found["saving_high"] < 0
    assert "but it is the dearer one to run" in found["why"]
    assert "Fit P-1" not in found["why"]
    assert "no more of" not in found["why"]


def test_parked_vehicles_still_learn_which_number_to_fit_without_money() -> None:
    found = advice(km_a_day=0.0)
    fit = of(found, GOOD, BAD)
    assert len(found) == 1
    assert np.isnan(fit["saving_a_year"])
    assert "What that saves cannot be told" in fit["why"]


def test_of_two_hoses_the_one_without_differing_numbers_decides_the_limit() -> None:
    """Upper hoses of two numbers, lower ones of one: both are renewed together, by their days."""
    short = {"by": "days", "scale": 900.0, "n_failures": 12, "n_road": 6, "data_share": 0.9}
    long = {"by": "days", "scale": 4_000.0, "n_failures": 4, "n_road": 1, "data_share": 0.9}
    lives = [
        life("upper hose", **short), life("upper hose", part=BAD, **short),
        life("upper hose", part=GOOD, **long), life("lower hose", **{**short, "scale": 1_000.0}),
    ]  # fmt: skip
    units = ("104", "105")
    found = limits_advice(
        projection(
            lives=lives,
            apart=[PAIR | {"place": "upper hose"}],
            risks=[risk("104", "upper hose", 800.0, by="days", part=BAD)],
            clocks=[{"vehicle": u, "service": "new hoses", "limit_months": 60.0} for u in units],
        ),
        basis(),
    )
    assert found["service"].eq("new hoses").all()
    assert "P-2 is in 1 vehicle now: 104 (26 months)." in of(found, GOOD, BAD)["why"]
    assert of(found, BAD)["place"] == "upper hose"
    assert of(found, "")["place"] == "lower hose"
    assert of(found, "")["speaks"]


def test_without_a_limit_the_line_still_says_where_the_short_lived_number_is() -> None:
    vans: list[Row] = [
        {"unit": str(200 + at), "layout": "van", "depot": "NORTH"} for at in range(8)
    ]
    projected = projection(risks=sitting(), lives=LIVES, apart=[PAIR])
    found = limits_advice(projected, basis(standing(vehicles=vans)))
    assert found["n_vehicles"].tolist() == [N_BAD]
    assert found["speaks"].tolist() == [True]
    assert "P-2 is in 3 vehicles now" in found["why"][0]
    assert "What that saves cannot be told" in found["why"][0]


def test_a_vehicle_that_left_has_no_part_in() -> None:
    gone = risk("999", "pump", 50_000.0, part=BAD, of_part=BAD)
    assert of(advice(risks=[*sitting(), gone]), GOOD, BAD)["why"] == of(usual(), GOOD, BAD)["why"]


def test_of_three_numbers_nobody_is_told_to_fit_the_second() -> None:
    pairs = [PAIR, PAIR | {"other": "P-3"}, PAIR | {"part": BAD, "other": "P-3"}]
    found = advice([*LIVES, life("pump", part="P-3", scale=20_000.0)], apart=pairs)
    fit = found[found["instead_of"].ne("")]
    assert fit["part"].tolist() == [GOOD, GOOD]
    assert set(fit["instead_of"]) == {BAD, "P-3"}


def test_a_layout_that_nobody_drives_any_more_has_no_line() -> None:
    assert "truck" not in set(advice(apart=[PAIR, PAIR | {"layout": "truck"}])["layout"])


def test_the_order_of_rows_does_not_matter() -> None:
    turned = advice(LIVES[::-1], risks=sitting()[::-1])
    pd.testing.assert_frame_equal(usual(), turned)


def test_in_us_units_the_lines_by_number_speak_of_miles() -> None:
    found = advice(options=Settings(units="us"))
    assert not found["why"].str.contains(" km").any()
    assert "202 (20,000 mi)" in of(found, GOOD, BAD)["why"]
