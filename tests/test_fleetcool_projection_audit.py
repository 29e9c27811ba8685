"""How what issues said of meters compares with what came: cases, losses, ranges, warnings."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from fleetcool.meters.scores import HISTORIES, pinball, wilson
from fleetcool.model.computed import READING_COLUMNS
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AHEAD_WEEKS, AUDIT_COLUMNS
from fleetcool.projection.audit import audit

AS_OF = 20_000
FOUR = AS_OF - 28
Floats = NDArray[np.float64]
Row = dict[str, object]


def ahead(as_of: float, vehicle: str = "104", run: float = 2800.0, **more: object) -> Row:
    """Return what an issue said: 4 weeks on `run` more, early and late a tenth off."""
    said = {
        f"at_{weeks}_{q}": 10_000 + run * weeks / 4 * share
        for weeks in AHEAD_WEEKS
        for q, share in (("q10", 0.9), ("q50", 1.0), ("q90", 1.1))
    }
    base: Row = {
        "vehicle": vehicle,
        "meter": "odometer",
        "usage_class": "medium at NORTH",
        "history_days": 400.0,
        "n_used": 50.0,
        "anchor_on": float(as_of),
        "anchor_at": 10_000.0,
        "rate": 100.0,
        "relative_variance": 0.1,
        "average_rate": 80.0,
        "as_of": float(as_of),
    }
    return base | said | more


def earlier(*rows: Row) -> Earlier:
    return Earlier(ahead=pd.DataFrame(list(rows), columns=[*AHEAD_COLUMNS, "as_of"]))


def readings(*points: tuple[float, float], vehicle: str = "104", **more: object) -> pd.DataFrame:
    """Return used readings: day and km run by then."""
    rows = [
        dict.fromkeys(READING_COLUMNS, "")
        | {"vehicle": vehicle, "meter": "odometer", "on": on, "raw": at, "cumulative": at}
        | {"used": True}
        | more
        for on, at in points
    ]
    return pd.DataFrame(rows, columns=list(READING_COLUMNS))


def of_all(audited: pd.DataFrame, weeks: int = 4) -> "pd.Series[float]":
    rows = audited[(audited["weeks"] == weeks) & (audited["by"] == "all")]
    assert len(rows) == 1
    return rows.iloc[0]


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_range_of_a_share_is_the_published_one(k: int, n: int, low: float, high: float) -> None:
    """Source: Newcombe, Statistics in Medicine 17, 1998, table I, score method (from memory)."""
    found = wilson(np.array([float(k)]), np.array([float(n)]))

    assert np.round(found, 4).ravel().tolist() == [low, high]


def test_the_range_of_a_share_is_that_of_the_reference_library() -> None:
    """Source: scipy.stats.binomtest, proportion_ci with the method wilson."""
    from scipy.stats import binomtest  # noqa: PLC0415 - heavy

    pairs = [(k, n) for n in (1, 7, 30, 96) for k in range(0, n + 1, max(1, n // 5))]
    theirs = [binomtest(k, n).proportion_ci(method="wilson") for k, n in pairs]
    k, n = (np.array(values, dtype="float64") for values in zip(*pairs, strict=True))
    low, high = wilson(k, n)

    np.testing.assert_allclose(low, [one.low for one in theirs], atol=1e-12)
    np.testing.assert_allclose(high, [one.high for one in theirs], atol=1e-12)


def test_the_loss_is_smallest_on_average_at_the_quantile_itself() -> None:
    """Source: Koenker and Bassett, Regression quantiles, 1978 (from memory): what defines it."""
    came = np.arange(1.0, 1001.0)
    for probability in (0.1, 0.5, 0.9):
        tried = np.arange(0.0, 1001.0, 10.0)
        losses = [pinball(came, np.full(1000, at), probability).mean() for at in tried]
        assert abs(tried[int(np.argmin(losses))] - 1000 * probability) <= 10


def test_what_came_is_read_off_the_line_between_readings() -> None:
    came = readings((FOUR - 7, 9_000), (FOUR, 10_000), (AS_OF - 8, 12_000), (AS_OF + 0, 12_400))

    found = of_all(audit(earlier(ahead(FOUR - 4)), came, AS_OF))

    # Said for four days before the as-of day: 12,800, early and late 280 apart; it ran 12,200.
    assert found["n"] == 1
    assert (found["inside"], found["below"], found["above"]) == (0.0, 0.0, 1.0)
    assert found["bias_days"] == pytest.approx((12_200 - 12_800) / 100)
    losses = [0.9 * (12_520 - 12_200), 0.5 * (12_800 - 12_200), 0.1 * (13_080 - 12_200)]
    assert found["pinball"] == pytest.approx(sum(losses) / 3 / 100, abs=1e-6)
    plain = [0.1 * (12_200 - 11_792), 0.5 * (12_240 - 12_200), 0.1 * (12_688 - 12_200)]
    assert found["pinball_average"] == pytest.approx(sum(plain) / 3 / 100, abs=1e-6)


@pytest.mark.parametrize(
    ("ran", "where"),
    [(2519.0, "above"), (2520.0, "inside"), (3080.0, "inside"), (3081.0, "below")],
)
def test_days_before_early_ran_more_than_said_and_days_after_late_ran_less(
    ran: float, where: str
) -> None:
    came = readings((FOUR, 10_000), (AS_OF, 10_000 + ran))

    found = of_all(audit(earlier(ahead(FOUR)), came, AS_OF))

    assert [name for name in ("inside", "below", "above") if found[name] == 1.0] == [where]


def test_the_newest_issue_counts_whose_day_the_meter_was_read_on_or_after() -> None:
    said = earlier(*(ahead(FOUR - back, run=run) for back, run in ((0, 1e6), (7, 2800), (14, 1e6))))
    late = readings((FOUR - 7, 10_000), (AS_OF - 3, 10_000 + 100 * 32))

    found = of_all(audit(said, late, AS_OF))

    assert (found["n"], found["inside"]) == (1, 1.0)


@pytest.mark.parametrize("last", [AS_OF - 60, AS_OF - 8])
def test_a_meter_not_read_since_the_day_spoken_of_is_not_judged(last: int) -> None:
    came = readings((FOUR - 7, 10_000), (last, 10_500))

    assert audit(earlier(ahead(FOUR - 7)), came, AS_OF).empty


@pytest.mark.parametrize(("back", "n"), [(-1, 0), (0, 1), (31, 1), (32, 0)])
def test_only_issues_whose_day_passed_in_the_last_month_are_judged(back: int, n: int) -> None:
    came = readings((FOUR - 40, 9_000), (AS_OF + 10, 14_000))

    audited = audit(earlier(ahead(FOUR - back)), came, AS_OF)

    assert len(audited[(audited["by"] == "all") & (audited["weeks"] == 4)]) == n


def test_a_meter_joined_otherwise_since_then_is_compared_from_its_anchor_on() -> None:
    rebuilt = readings((FOUR, 210_000), (AS_OF, 212_800))

    found = of_all(audit(earlier(ahead(FOUR)), rebuilt, AS_OF))

    assert (found["inside"], found["bias_days"]) == (1.0, 0.0)


def test_a_meter_counted_from_a_reading_that_is_not_used_any_more_was_said_wrong() -> None:
    """The issue had believed 10,000 on its day; now the readings around say 8,000."""
    came = readings((FOUR - 10, 7_000), (FOUR + 10, 9_000), (AS_OF, 10_800))

    found = of_all(audit(earlier(ahead(FOUR)), came, AS_OF))

    assert (found["above"], found["bias_days"]) == (1.0, -20.0)


def test_distances_and_hours_are_pooled_in_days() -> None:
    hours = ahead(FOUR, run=140.0, meter="engine_hours", rate=5.0)
    came = [
        readings((FOUR, 10_000), (AS_OF, 12_900)),
        readings((FOUR, 10_000), (AS_OF, 10_145), meter="engine_hours"),
    ]

    found = of_all(audit(earlier(ahead(FOUR), hours), pd.concat(came), AS_OF))

    assert (found["n"], found["bias_days"]) == (2, 1.0)


def test_a_meter_read_once_has_no_plain_average_to_compare_with() -> None:
    came = readings((FOUR, 10_000), (AS_OF, 12_800))

    found = of_all(audit(earlier(ahead(FOUR, average_rate=np.nan)), came, AS_OF))

    assert np.isnan(found[["pinball", "pinball_average"]].astype("float64")).all()
    assert found["n"] == 1


def test_a_meter_of_which_nothing_was_said_for_that_day_is_not_judged() -> None:
    came = readings((FOUR, 10_000), (AS_OF, 12_800))

    assert audit(earlier(ahead(FOUR, at_4_q90=np.nan)), came, AS_OF).empty


def test_without_anything_to_compare_there_are_no_rows() -> None:
    some = readings((FOUR, 10_000), (AS_OF, 12_800))
    nothing = readings()

    for said, came in ((Earlier(), some), (earlier(ahead(FOUR)), nothing)):
        audited = audit(said, came, AS_OF)
        assert audited.empty
        assert audited.columns.tolist() == list(AUDIT_COLUMNS)
    other = readings((FOUR, 10_000), (AS_OF, 12_800), vehicle="999")
    unused = some.assign(used=False)
    assert audit(earlier(ahead(FOUR)), other, AS_OF).empty
    assert audit(earlier(ahead(FOUR)), unused, AS_OF).empty


def test_a_parked_bus_ran_less_than_late() -> None:
    came = readings((FOUR, 10_000), (FOUR + 14, 10_000), (AS_OF, 10_000))

    found = of_all(audit(earlier(ahead(FOUR)), came, AS_OF))

    assert (found["above"], found["bias_days"]) == (1.0, -28.0)


def test_groups_stand_in_order_and_a_class_without_a_name_is_none() -> None:
    told = [("1", "light", 44.9), ("2", "", 45.0), ("3", "heavy", 179.9), ("4", "light", 180.0)]
    said = [ahead(FOUR, v, usage_class=name, history_days=days) for v, name, days in told]
    came = [readings((FOUR, 10_000), (AS_OF, 12_800), vehicle=v) for v, _, _ in told]

    audited = audit(earlier(*said), pd.concat(came), AS_OF)

    rows = zip(audited["by"], audited["name"], audited["n"], strict=True)
    assert list(rows) == [
        ("all", "", 4),
        ("usage class", "heavy", 1),
        ("usage class", "light", 2),
        *(("history", name, n) for name, n in zip(HISTORIES, (1, 2, 1), strict=True)),
    ]


def law(
    n: int, seed: int, *, said_spread: float = 0.15, said_rate: float = 1.0
) -> tuple[Earlier, pd.DataFrame]:
    """Return what was said of n meters and what came: usage lognormal, spread truly 0.15."""
    random = np.random.default_rng(seed)
    z = {"q10": -1.2815515655446004, "q50": 0.0, "q90": 1.2815515655446004}
    said, came = [], []
    for at in range(n):
        name, typical = f"v{at:05d}", 2800.0 * np.exp(random.normal(0, 0.5))
        spoken = {
            f"at_4_{q}": 10_000 + said_rate * typical * np.exp(said_spread * score)
            for q, score in z.items()
        }
        said.append(ahead(FOUR, name, **spoken, rate=said_rate * typical / 28))
        ran = typical * np.exp(random.normal(0, 0.15))
        came.append((name, AS_OF, 10_000 + ran))
        came.append((name, FOUR, 10_000))
    frame = pd.DataFrame(came, columns=["vehicle", "on", "cumulative"])
    rest = {"meter": "odometer", "used": True, "raw": frame["cumulative"]}
    return earlier(*said), frame.assign(**rest).reindex(columns=list(READING_COLUMNS))


def test_the_true_law_holds_four_times_of_five_and_is_not_warned_of() -> None:
    found = of_all(audit(*law(1500, seed=1), AS_OF))

    # The spread of a share of 0.8 of 1,500 is 0.0103; the law itself is drawn in the test.
    assert found["inside"] == pytest.approx(0.80, abs=3 * 0.0103)
    assert found["below"] == pytest.approx(0.10, abs=3 * 0.0078)
    assert found["above"] == pytest.approx(0.10, abs=3 * 0.0078)
    assert not found["warns"]
    assert found["inside_low"] < 0.80 < found["inside_high"]


@pytest.mark.parametrize(
    ("wrong", "share", "bias"),
    [
        ({"said_spread": 0.05}, 0.33, 0.0),  # 2 Phi(1.28 / 3) - 1
        ({"said_spread": 0.45}, 1.0, 0.0),
        ({"said_rate": 2.0}, 0.0, -14.0),
    ],
)
def test_what_is_said_too_narrow_too_wide_or_too_fast_is_warned_of(
    wrong: dict[str, float], share: float, bias: float
) -> None:
    said, came = law(400, seed=2, **wrong)
    found = of_all(audit(said, came, AS_OF))

    assert found["warns"]
    assert found["inside"] == pytest.approx(share, abs=0.07)
    assert found["bias_days"] == pytest.approx(bias, abs=1.0)


def test_a_fault_is_not_warned_of_before_thirty_cases() -> None:
    warned = {n: of_all(audit(*law(n, seed=3, said_rate=2.0), AS_OF))["warns"] for n in (29, 30)}

    assert warned == {29: False, 30: True}


LAW = law(40, seed=4)


@settings(deadline=None, max_examples=20)
@given(order=st.permutations(range(40)), turn=st.integers(0, 79))
def test_the_order_of_rows_does_not_matter(order: Sequence[int], turn: int) -> None:
    said, came = LAW
    mixed = Earlier(ahead=said.ahead.iloc[list(order)].reset_index(drop=True))
    turned = pd.concat([came.iloc[turn:], came.iloc[:turn]], ignore_index=True)

    pd.testing.assert_frame_equal(audit(mixed, turned, AS_OF), audit(said, came, AS_OF))


@settings(deadline=None, max_examples=20)
@given(
    ran=st.lists(st.floats(0, 8000), min_size=1, max_size=12),
    more=st.floats(1, 3000),
)
def test_shares_add_up_and_more_usage_never_comes_later(ran: list[float], more: float) -> None:
    names = [f"v{at}" for at in range(len(ran))]
    said = earlier(*(ahead(FOUR, name) for name in names))

    def came(extra: float) -> pd.DataFrame:
        rows = zip(names, ran, strict=True)
        return pd.concat(
            [
                readings((FOUR, 10_000), (AS_OF, 10_000 + one + extra), vehicle=name)
                for name, one in rows
            ]
        )

    less, most = (of_all(audit(said, came(extra), AS_OF)) for extra in (0.0, more))
    for found in (less, most):
        assert found["inside"] + found["below"] + found["above"] == pytest.approx(1, abs=2e-6)
        assert found["inside_low"] <= found["inside"] + 1e-6
        assert found["inside"] <= found["inside_high"] + 1e-6
    assert most["below"] >= less["below"]
    assert most["bias_days"] > less["bias_days"]
