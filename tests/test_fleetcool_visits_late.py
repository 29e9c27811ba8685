"""What a day of lateness costs a service."""

import numpy as np
import pandas as pd
import pytest
from wear_rows import AS_OF, basis, due, life, projection, risk

from fleetcool.model.computed import Projection
from fleetcool.model.settings import Settings
from fleetcool.visits.group import form_visits
from fleetcool.visits.late import late_rates

USUAL = 900.0  # one percent of the mid failure cost of a light vehicle, 900


def rates(projected: Projection) -> dict[tuple[str, int], float]:
    on = basis()
    found = form_visits(
        projected, on.standing, on.knowledge, Settings(), start=AS_OF, until=AS_OF + 182
    ).worth
    keys = zip(found["service"], found["occurrence"], strict=True)
    return {
        (str(one), int(turn)): rate
        for (one, turn), rate in zip(keys, found["late_rate"], strict=True)
    }


def pump(age: float, *, days: float = 10, **more: object) -> Projection:
    return projection(
        [due("104", "new pump", AS_OF + days, **more)],
        risks=[risk("104", "pump", age)],
        lives=[life("pump")],
    )


def test_an_old_part_costs_its_hazard_less_what_the_next_one_saves() -> None:
    """By hand: (cf − cp) h(a) − g a day, h = b / eta (a / eta)^(b − 1), with scipy for g."""
    from scipy import integrate, optimize, stats  # noqa: PLC0415 - an oracle of this test only

    law = stats.weibull_min(2.5, scale=200_000)
    share = (2 + 5 * 0.4) / (6 + 5)
    more = share * 90_000 + (1 - share) * 14_000
    planned = (60 + 42) * 9500 / 60 + (60 + 42 + 20) * 14_000 / 600 + 8000 + 2500

    def rate(age: float) -> float:
        lived = integrate.quad(law.sf, 0, age)[0]
        return float((planned + more * law.cdf(age)) / lived)

    best = optimize.minimize_scalar(rate, bounds=(1e4, 6e5), method="bounded").fun
    age = 1_900_000 + 100 * 10
    expected = 100 * (more * 2.5 / 200_000 * (age / 200_000) ** 1.5 - best)
    assert expected > USUAL / 5
    assert rates(pump(1_900_000))["new pump", 1] == pytest.approx(expected, rel=1e-6)


def test_a_young_part_costs_a_fifth_of_the_usual_rate_and_never_less() -> None:
    assert rates(pump(20_000))["new pump", 1] == pytest.approx(USUAL / 5)


def test_what_its_condition_governs_keeps_the_usual_rate() -> None:
    found = rates(pump(20_000, p_distance=0.0, p_condition=1.0))
    assert found["new pump", 1] == pytest.approx(USUAL)


def test_a_service_without_a_law_keeps_its_rate() -> None:
    dues = [due("104", "coolant change", AS_OF + 9), due("105", "new pump", AS_OF + 9)]
    found = rates(projection(dues, risks=[risk("104", "pump", 1e5)], lives=[life("pump")]))
    assert found["coolant change", 1] == pytest.approx(USUAL)
    assert found["new pump", 1] == pytest.approx(USUAL)


def test_a_second_one_is_as_old_as_its_interval_when_it_falls_due() -> None:
    """The first pump is old and dear to wait for; the one that follows it is not."""
    dues = [due("104", "new pump", AS_OF + 9), due("104", "new pump", AS_OF + 170, occurrence=2)]
    found = rates(projection(dues, risks=[risk("104", "pump", 1_900_000)], lives=[life("pump")]))
    assert found["new pump", 1] > USUAL / 5
    assert found["new pump", 2] == pytest.approx(USUAL / 5)


def test_a_part_that_does_not_wear_with_age_costs_the_fifth() -> None:
    row = risk("104", "pump", 1_900_000, shape=0.8)
    found = rates(
        projection([due("104", "new pump", AS_OF + 9)], risks=[row], lives=[life("pump")])
    )
    assert found["new pump", 1] == pytest.approx(USUAL / 5)


def test_no_services_and_no_laws_give_the_rates_as_they_are() -> None:
    rows = pd.DataFrame({"late_rate": [5.0]})
    assert np.array_equal(late_rates(rows, projection(), basis()), [5.0])
