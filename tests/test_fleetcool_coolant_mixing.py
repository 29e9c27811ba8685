"""Mixing arithmetic; exact balances of volume, worked by hand."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fleetcool.coolant.mixing import (
    MOST_ROUNDS,
    after_rounds,
    blend,
    containers,
    left_after,
    lower_to,
    raise_to,
    refill_after_flush,
    refill_with_mix,
    replace,
    rounds_until,
    top_up_to,
    top_up_with,
)
from fleetcool.coolant.sensible import check_target
from fleetcool.errors import NotUsableError

shares = st.floats(0, 100)
litres = st.floats(1, 60)


@pytest.mark.parametrize(
    ("volume", "now", "target", "source", "wanted"),
    [
        (12, 35, 50, 100, 2.769),  # 12·0.15/0.65
        (28, 42, 50, 100, 3.862),  # 28·0.08/0.58
        (28, 42, 50, 60, 12.444),  # 28·0.08/0.18, premix of 60 %
        (30, 40, 50, 100, 5.0),  # 30·0.10/0.60
    ],
)
def test_raising_takes_the_litres_of_the_balance(
    volume: float, now: float, target: float, source: float, wanted: float
) -> None:
    """x = V(t−c)/(s−c), exact arithmetic."""
    assert raise_to(volume, now, target, source) == pytest.approx(wanted, abs=0.001)


def test_lowering_takes_the_litres_of_the_balance() -> None:
    """28 L from 62 to 50 % with water: 28·0.12/0.62 = 5.419 L, exact arithmetic."""
    assert lower_to(28, 62, 50) == pytest.approx(5.419, abs=0.001)


def test_premix_of_the_wanted_share_never_gets_there() -> None:
    """Raising to 50 % with premix of 50 % is only ever neared; s > t is the limit to check."""
    with pytest.raises(NotUsableError, match="only ever comes near 50 percent"):
        raise_to(28, 42, 50, 50)
    with pytest.raises(NotUsableError, match="only ever comes near 50 percent"):
        replace(28, 42, 50, 50, 27)


def test_premix_of_the_wanted_share_does_when_all_of_it_drains() -> None:
    found = replace(28, 42, 50, 50, 28)
    assert [(one.litres, one.reaches_pct) for one in found.rounds] == [(28, 50)]


@pytest.mark.parametrize(("now", "target", "source"), [(40, 50, 45), (40, 50, 0), (60, 50, 100)])
def test_a_source_on_the_wrong_side_is_refused(now: float, target: float, source: float) -> None:
    with pytest.raises(NotUsableError, match="put in"):
        replace(20, now, target, source)


def test_six_litres_of_fourteen_cannot_reach_half_in_one_fill() -> None:
    """14 L flushed with water, 6 L drain: 6/14 = 42.857 % at best; then another
    14·(0.5 − 0.42857)/(1 − 0.42857) = 1.75 L of concentrate. Exact arithmetic."""
    found = replace(14, 0, 50, 100, 6)
    assert found.one_fill_pct == pytest.approx(42.857, abs=0.001)
    assert [one.litres for one in found.rounds] == pytest.approx([6, 1.75], abs=1e-9)
    assert [one.reaches_pct for one in found.rounds] == pytest.approx([42.857, 50], abs=0.001)
    assert found.litres == pytest.approx(7.75)


def test_after_a_flush_what_stays_in_is_water() -> None:
    """14 L, 9 L drain: 50 % is 7.0 L concentrate and 2.0 L water, 60 % is 8.4 and 0.6 L."""
    half, more = refill_after_flush(14, 9, 50), refill_after_flush(14, 9, 60)
    assert (half.concentrate_litres, half.water_litres) == pytest.approx((7.0, 2.0))
    assert (more.concentrate_litres, more.water_litres) == pytest.approx((8.4, 0.6))


def test_a_refill_that_cannot_be_had_names_the_best_and_the_second_round() -> None:
    with pytest.raises(NotUsableError) as refused:
        refill_after_flush(14, 6, 50)
    assert "at most 42.9 percent" in str(refused.value)
    assert "another 1.75 L" in str(refused.value)


@pytest.mark.parametrize(("source", "reaches"), [(50, 48.3), (0, 40.8), (100, 55.8)])
def test_a_top_up_blends(source: float, reaches: float) -> None:
    """17 L at 48 % and 3 L of premix, water or concentrate in a system of 20 L."""
    assert blend(20, 48, 3, source) == pytest.approx(reaches, abs=1e-9)
    assert top_up_with(20, 48, 3, source).reaches_pct == pytest.approx(reaches, abs=1e-9)


def test_a_top_up_can_hit_the_target() -> None:
    """20·0.50 − 0.48·17 = 1.84 L of concentrate, 1.16 L of water."""
    found = top_up_to(20, 48, 3, 50)
    assert (found.concentrate_litres, found.water_litres) == pytest.approx((1.84, 1.16))


def test_a_top_up_that_cannot_hit_the_target_says_what_it_can() -> None:
    with pytest.raises(NotUsableError, match=r"40\.8 percent \(water\) to 55\.8 percent"):
        top_up_to(20, 48, 3, 60)


def test_repeated_premix_nears_its_share() -> None:
    """10 L at 30 %, 4.5 L out and premix of 50 % in: 39.0, 43.95, 46.67, 48.17, 48.99 %."""
    found = [after_rounds(30, 50, 0.45, number) for number in range(1, 6)]
    assert found == pytest.approx([39.0, 43.95, 46.67, 48.17, 48.99], abs=0.005)


@pytest.mark.parametrize(
    ("share", "left", "rounds"),
    [
        (45, 10, 4),
        (45, 5, 6),  # five leave 5.03 %
        (45, 2, 7),
        (60, 10, 3),
        (60, 5, 4),
        (60, 2, 5),
        (80, 10, 2),
        (80, 5, 2),
        (80, 2, 3),
        (50, 25, 2),  # met exactly: the float's last digit must not add a round
        (90, 0.1, 3),
        (45, 100, 0),
        (100, 5, 1),
        (100, 0, 1),
    ],
)
def test_drains_until_little_enough_is_left(share: float, left: float, rounds: int) -> None:
    """n = ceil(ln r / ln(1−f)), exact arithmetic."""
    assert rounds_until(share, left) == rounds
    assert left_after(share, rounds) <= left + 1e-9


def test_old_coolant_left_after_each_drain() -> None:
    """45 % drains: 55, 30.25, 16.6375, 9.1506, 5.0328, 2.7681 % left."""
    assert [left_after(45, number) for number in range(1, 7)] == pytest.approx(
        [55, 30.25, 16.6375, 9.1506, 5.0328, 2.7681], abs=1e-4
    )


@pytest.mark.parametrize(("share", "left"), [(0, 5), (101, 5), (45, 0), (45, -1), (45, 101)])
def test_drains_that_make_no_sense_are_refused(share: float, left: float) -> None:
    with pytest.raises(NotUsableError):
        rounds_until(share, left)


def test_six_water_top_ups_thin_the_coolant() -> None:
    """Six times 1.5 L of water into 30 L leave the factor 0.735092 (closed form (1 − v/V)^6)."""
    share = 100.0
    for _ in range(6):
        share = blend(30, share, 1.5, 0)
    assert share / 100 == pytest.approx(0.735092, abs=1e-6)
    assert after_rounds(100, 0, 1.5 / 30, 6) == pytest.approx(share)


@pytest.mark.parametrize(
    ("wanted", "size", "number"),
    [(2.769, 1, 3), (3.0, 1, 3), (10.4, 5, 3), (0, 5, 0), (0.3, 0.1, 3)],
)
def test_containers_are_whole(wanted: float, size: float, number: int) -> None:
    """0.3/0.1 is 2.9999999999999996 or 3.0000000000000004 in floats; it is three."""
    assert containers(wanted, size) == number


def test_a_container_has_a_size() -> None:
    with pytest.raises(NotUsableError, match="--container"):
        containers(3, 0)


def test_an_over_concentrated_target_is_refused() -> None:
    check_target(60)
    with pytest.raises(NotUsableError, match="over-concentrated"):
        check_target(61)


@pytest.mark.parametrize(
    ("volume", "drains"), [(0, None), (-3, None), (14, 0), (14, 15), (float("inf"), None)]
)
def test_volumes_that_make_no_sense_are_refused(volume: float, drains: float | None) -> None:
    with pytest.raises(NotUsableError):
        replace(volume, 30, 50, 100, drains)


def test_a_drop_at_a_time_is_refused_instead_of_counted_for_ever() -> None:
    with pytest.raises(NotUsableError, match=f"fewer than {MOST_ROUNDS}"):
        replace(14, 0, 50, 100, 0.0001)


def test_nothing_is_done_when_the_share_is_there() -> None:
    assert replace(14, 50, 50, 100, 6).rounds == ()


@given(litres, shares, shares, shares, st.floats(0.1, 1))
def test_every_replacement_ends_at_its_target_and_never_passes_its_source(
    volume: float, now: float, target: float, source: float, part: float
) -> None:
    low, high = sorted((now, source))
    assume(low + 0.1 < target < high - 0.1)
    found = replace(volume, now, target, source, volume * part)
    share = now
    for one in found.rounds:
        assert 0 < one.litres <= volume * part * (1 + 1e-9)
        share = share + (source - share) * one.litres / volume
        assert share == pytest.approx(one.reaches_pct, abs=1e-6)
        assert low - 1e-9 <= share <= high + 1e-9
    assert share == pytest.approx(target, abs=1e-6)
    assert found.litres >= raise_to(volume, now, target, source) * (1 - 1e-9)


@given(litres, shares, st.floats(0.01, 1), shares)
def test_a_top_up_stays_between_what_is_mixed(
    volume: float, now: float, part: float, source: float
) -> None:
    low, high = sorted((now, source))
    assert low - 1e-9 <= blend(volume, now, volume * part, source) <= high + 1e-9


@given(litres, shares, st.floats(0.01, 1), shares)
def test_what_a_top_up_holds_is_what_was_poured(
    volume: float, now: float, part: float, source: float
) -> None:
    found = top_up_with(volume, now, volume * part, source)
    back = top_up_to(volume, now, volume * part, found.reaches_pct)
    assert back.concentrate_litres == pytest.approx(found.concentrate_litres, abs=1e-6)
    assert found.concentrate_litres + found.water_litres == pytest.approx(volume * part)


@given(st.floats(1, 99), st.floats(0.01, 99))
def test_one_drain_fewer_would_leave_too_much(share: float, left: float) -> None:
    rounds = rounds_until(share, left)
    assert left_after(share, rounds) <= left * (1 + 1e-6)
    assert rounds == 0 or left_after(share, rounds - 1) > left * (1 - 1e-6)


@pytest.mark.parametrize(
    ("now", "target", "neat", "reaches"),
    [
        (50, 53, 0.84, 53),  # (14·0.53 − 0.5·2.8 − 11.2·0.5)/0.5 = 0.42/0.5
        (30, 53, 1.96, 53),  # (14·0.53 − 0.3·2.8 − 11.2·0.5)/0.5 = 0.98/0.5
        (70, 53, 0.0, 54),  # what stays in is strong enough: 0.2·70 + 0.8·50 = 54
        (0, 90, 11.2, 80),  # even concentrate alone: 11.2/14
    ],
)
def test_concentrate_beside_a_mix_makes_up_what_the_mix_lacks(
    now: float, target: float, neat: float, reaches: float
) -> None:
    """14 L of which 11.2 L come out, filled with a 50 % mix; exact arithmetic."""
    fill = refill_with_mix(14, 11.2, now, target, 50)
    assert fill.concentrate_litres == pytest.approx(neat, abs=1e-9)
    assert fill.concentrate_litres + fill.mix_litres == pytest.approx(11.2)
    assert fill.reaches_pct == pytest.approx(reaches)


@given(litres, st.floats(0.05, 1), shares, shares, st.floats(0, 99))
def test_concentrate_and_mix_reach_what_blending_them_one_by_one_does(
    volume: float, share: float, now: float, target: float, premix: float
) -> None:
    drained = volume * share
    fill = refill_with_mix(volume, drained, now, target, premix)
    put_in = fill.concentrate_litres * 100 + fill.mix_litres * premix
    assert fill.reaches_pct * volume == pytest.approx(
        now * (volume - drained) + put_in, abs=1e-6 * volume
    )
    if 0 < fill.concentrate_litres < drained:
        assert fill.reaches_pct == pytest.approx(target, abs=1e-6)
