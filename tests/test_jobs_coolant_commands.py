"""The coolant commands through their door: sentences, JSON in SI, refusals in one sentence."""

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from fleetcool.errors import FleetcoolError
from jobs.command_line import main
from jobs.coolant_commands import coolant


@pytest.fixture(autouse=True)
def _in_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)


def run(words: str, *before: str) -> Result:
    return CliRunner().invoke(main, [*before, "coolant", *words.split()], catch_exceptions=False)


def answer(words: str, *before: str) -> str:
    result = run(words, *before)
    assert result.exit_code == 0, result.output
    return str(result.output)


def printed(words: str, *before: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(answer(f"{words} --json", *before))
    return found


def refusal(words: str) -> str:
    with pytest.raises(FleetcoolError) as refused:
        run(words)
    assert "\n" not in str(refused.value)
    return str(refused.value)


@pytest.mark.parametrize("name", sorted(coolant.commands))
def test_every_command_has_help_with_an_example_that_works(name: str) -> None:
    command = coolant.commands[name]
    assert isinstance(command, click.Command)
    assert command.epilog is not None
    example = command.epilog.removeprefix("Example: fleetcool coolant ")
    assert example.startswith(name)
    assert "Example" in answer(f"{name} --help")
    assert answer(example)
    assert printed(example)


def test_freeze_prints_the_handbooks_figure() -> None:
    """ASHRAE Handbook Fundamentals 2001: EG 50 % −37.0 °C, PG 50 % −33.65 °C."""
    assert printed("freeze eg 50")["freeze_c"] == pytest.approx(-37.0, abs=0.1)
    assert printed("freeze pg 50%")["freeze_c"] == pytest.approx(-33.65, abs=0.1)
    assert "freezes at -37.0 °C." in answer("freeze EG 50")


def test_freeze_by_mass_says_both_shares() -> None:
    """50 mass % EG is 47.6 vol % (ASHRAE Handbook Fundamentals 2001)."""
    found = printed("freeze eg 50 --mass")
    assert found["percent"] == pytest.approx(47.6, abs=0.1)
    assert found["mass_percent"] == 50
    assert "50 percent by mass is 47.6 percent by volume" in answer("freeze eg 50 --mass")


def test_freeze_draws_a_curve_that_fits_the_screen() -> None:
    lines = answer("freeze eg 50").splitlines()
    drawn = [line for line in lines if " |" in line or "+---" in line]
    assert len(drawn) == 14
    assert max(len(line) for line in drawn) <= 80
    assert any("percent of glycol by volume" in line for line in lines)


@pytest.mark.parametrize(("percent", "figure"), [(67, "-70.6 °C"), (100, "-22 °C")])
def test_over_concentration_is_refused_with_the_published_figure(percent: int, figure: str) -> None:
    """Navistar operator's manual 67 % −70.6 °C; Chrysler service manuals concentrate −22 °C."""
    text = refusal(f"freeze eg {percent}")
    assert "over-concentrated" in text
    assert figure in text


def test_boil_takes_cap_and_altitude_with_their_units() -> None:
    """108 °C open (ASTM D4985), 130.1 °C under 15 psi, 127.2 °C at 1,500 m; computed."""
    assert printed("boil eg 50 --cap 15psi")["boil_c"] == pytest.approx(130.1, abs=0.1)
    assert printed("boil eg 50")["boil_c"] == pytest.approx(108.0, abs=0.1)
    found = printed("boil eg 50 --cap 103.42 --altitude 1500m")
    assert found["boil_c"] == pytest.approx(127.2, abs=0.1)
    assert found["cap_kpa"] == pytest.approx(103.42)
    assert "103 kPa (15.0 psi)" in answer("boil eg 50 --cap 15psi")


def test_wanted_takes_a_temperature_below_nil_in_either_unit() -> None:
    """EG for −37 °C 50.0 %, for −25 °C 40.2 % (ASHRAE 2001, computed)."""
    assert printed("wanted eg -37")["percent"] == pytest.approx(50.0, abs=0.1)
    assert printed("wanted eg -25C")["percent"] == pytest.approx(40.2, abs=0.1)
    assert printed("wanted eg -13F")["percent"] == pytest.approx(40.2, abs=0.1)
    assert "at least 40 percent all the same" in answer("wanted eg -10")
    assert "over-concentrated" in refusal("wanted eg -70")


def test_mix_gives_the_litres_of_the_balance() -> None:
    """12 L from 35 to 50 %: 2.769 L; 28 L from 62 to 50 %: 5.419 L of water; exact."""
    found = printed("mix --volume 12 --now 35 --target 50 --container 1")
    assert found["litres"] == pytest.approx(2.769, abs=0.001)
    assert (found["rounds"], found["containers"]) == (1, 3)
    lower = printed("mix --volume 28 --now 62 --target 50")
    assert lower["litres"] == pytest.approx(5.419, abs=0.001)
    assert lower["source_pct"] == 0
    assert "clean water" in answer("mix --volume 28 --now 62 --target 50")


def test_mix_of_fourteen_litres_of_which_six_drain_takes_a_second_round() -> None:
    """6/14 = 42.857 % at best in one fill, then 1.75 L more; exact arithmetic."""
    words = "mix --volume 14 --now 0 --target 50 --drains 6"
    text = answer(words)
    assert "50 percent cannot be had in one fill" in text
    assert "42.9 percent at best" in text
    assert "Round 2: drain 1.75 L" in text
    found = printed(words)
    assert found["rounds"] == 2
    assert found["in_one_fill"] is False
    assert found["one_fill_pct"] == pytest.approx(42.857, abs=0.001)
    assert found["litres"] == pytest.approx(7.75)


def test_mix_refuses_what_cannot_be() -> None:
    """28 L from 42 to 50 % with premix of 50 % only ever comes near."""
    assert "only ever comes near" in refusal("mix --volume 28 --now 42 --target 50 --source 50")
    assert "over-concentrated" in refusal("mix --volume 28 --now 42 --target 70")


def test_a_bare_gallon_is_asked_which() -> None:
    assert "US 3.785 L or imperial 4.546 L" in refusal("mix --volume 3gal --now 35 --target 50")
    assert printed("mix --volume 3.7usgal --now 35 --target 50")["litres"] == pytest.approx(
        3.7 * 3.785411784 * 0.15 / 0.65, abs=1e-5
    )


def test_us_units_stand_beside_and_json_stays_as_it_is() -> None:
    assert "-37.0 °C (-34.6 °F)" in answer("freeze eg 50", "--units", "us")
    text = answer("mix --volume 3.785411784 --now 0 --target 50", "--units", "us")
    assert "1.89 L (0.50 US gal)" in text
    assert printed("freeze eg 50", "--units", "us") == printed("freeze eg 50")


def test_the_settings_units_are_taken(tmp_path: Path) -> None:
    (tmp_path / "fleetcool.toml").write_text('units = "us"\n', encoding="utf-8")
    assert "°F" in answer("freeze eg 50")


def test_top_up_blends_or_hits_a_target() -> None:
    """17 L at 48 % and 3 L: premix 48.3 %; 1.84 L concentrate and 1.16 L water for 50 %."""
    blend = printed("top-up --volume 20 --now 48 --add 3 --source 50")
    assert blend["reaches_pct"] == pytest.approx(48.3, abs=0.01)
    hit = printed("top-up --volume 20 --now 48 --add 3 --target 50")
    assert hit["concentrate_litres"] == pytest.approx(1.84)
    assert hit["water_litres"] == pytest.approx(1.16)
    strong = answer("top-up --volume 20 --now 60 --add 3 --source 100")
    assert "over-concentrated" in strong
    assert run("top-up --volume 20 --now 48 --add 3").exit_code == 2


def test_refill_after_a_flush_or_its_refusal() -> None:
    """14 L of which 9 drain: 7.0 and 2.0 L; of which 6 drain: 42.9 % and 1.75 L more."""
    found = printed("refill --volume 14 --drains 9 --target 50")
    assert (found["concentrate_litres"], found["water_litres"]) == (7.0, 2.0)
    text = refusal("refill --volume 14 --drains 6 --target 50")
    assert "at most 42.9 percent" in text
    assert "1.75 L" in text


def test_drain_counts_rounds() -> None:
    """45 % drains for at most 5 %: 6, not 5, which leave 5.03 %; 80 %: 2. Exact."""
    assert printed("drain --share 45 --left 5")["rounds"] == 6
    assert printed("drain --share 80 --left 5")["rounds"] == 2
    assert "after 5: 5.03 percent left" in answer("drain --share 45 --left 5")


def test_dose_is_the_manuals() -> None:
    """Volvo VHD operator's manual: 13 US gal 1.5 → 2.3 units/US gal, 10.4 → 11 units."""
    words = "dose --volume 13usgal --now 1.5 --target 2.3 --per usgal --filter-units 8"
    found = printed(words)
    assert (found["units"], found["filters"], found["liquid_units"]) == (11, 1, 3)
    assert "1 charged filter and 3 units of liquid" in answer(words)
    assert printed("dose --volume 49.2 --now 0.4 --target 0.6")["units"] == 10


def test_dose_never_passes_the_upper_limit() -> None:
    """3.0 units/US gal at most (Cummins, Volvo VHD)."""
    assert "upper limit" in refusal("dose --volume 13usgal --now 1.5 --target 3.1 --per usgal")
    assert "do not dose" in refusal("dose --volume 50 --now 0.9 --target 1")
    assert "not dosed" in refusal("dose --volume 50 --now 0 --target 0.5 --kind OAT")


def test_kinds_advises_by_kind_base_and_specification() -> None:
    text = answer("kinds OAT conventional --volume 14")
    assert "OAT eg should not top up conventional eg." in text
    assert "The colour says nothing" in text
    assert "within 30 days" in text
    assert "Above 10 percent the shorter life counts" in text
    assert "1.40 L here" in text
    assert "light: 24 months and 48,000 km, as conventional" in text
    assert text.count("Caution: ") == 3
    assert "maker's book and local rules go before" in text
    found = printed("kinds OAT conventional")
    assert found["may_top_up"] is False
    assert printed("kinds OAT OAT")["may_top_up"] is True
    assert "nearest known" in refusal("kinds OAT green")
    assert "more than 0 L" in refusal("kinds OAT conventional --volume=-5")


def test_a_refusal_is_one_sentence_with_exit_code_one(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "jobs.command_line", "coolant", "freeze", "eg", "67"],
        capture_output=True,
        encoding="utf-8",
        cwd=tmp_path,
        check=False,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parent.parent)},
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "over-concentrated" in done.stderr
