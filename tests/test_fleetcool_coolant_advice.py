"""What may top up what, by kind, base and specification, never by colour."""

import pytest

from fleetcool.coolant.advice import Advice, Life, advise, find_coolant
from fleetcool.errors import NotThereError
from fleetcool.knowledge.reader import in_force

KNOWLEDGE = in_force({}, 20_700)


def asked(added: str, held: str) -> Advice:
    return advise(
        find_coolant(added, KNOWLEDGE.coolants), find_coolant(held, KNOWLEDGE.coolants), KNOWLEDGE
    )


def test_a_coolant_may_top_up_its_own_kind() -> None:
    found = asked("OAT eg", "OAT")
    assert found.may
    assert found.lives == ()


def test_the_fully_formulated_may_top_up_the_conventional_but_not_the_other_way() -> None:
    """ASTM D6210 coolant must meet D3306 too, not the other way round."""
    assert asked("conventional heavy", "conventional").may
    back = asked("conventional", "conventional heavy")
    assert not back.may


def test_the_same_kind_on_another_base_may_not() -> None:
    """A refractometer has one scale for each base (Cummins)."""
    found = asked("OAT pg", "OAT eg")
    assert not found.may
    assert "freezing point" in found.why[0]


def test_a_label_must_name_what_the_one_in_there_names() -> None:
    products = KNOWLEDGE.coolants.copy()
    mine = products["coolant"] == "OAT eg"
    products.loc[mine, ["specification", "may_top_up"]] = ["ASTM D3306", "OAT + conventional heavy"]
    found = advise(
        find_coolant("OAT eg", products), find_coolant("conventional heavy", products), KNOWLEDGE
    )
    assert found.may
    assert "must name ASTM D6210" in found.why[-1]


def test_the_shorter_life_counts_once_they_are_mixed() -> None:
    """Light vehicles: conventional 2 years or 48,000 km (maintenance guide, 30,000 mi), OAT
    5 years or 241,402 km (GM owner's manual 2003, 150,000 mi)."""
    light = next(one for one in asked("OAT", "conventional").lives if one.size == "light")
    assert (light.kind, light.km, light.months) == ("conventional", 48000, 24)
    back = next(one for one in asked("conventional", "OAT").lives if one.size == "light")
    assert (back.kind, back.km, back.months) == (light.kind, light.km, light.months)


def test_mixing_has_its_share_its_test_and_its_cautions() -> None:
    """At most 10 % foreign coolant (Caterpillar SEBU6251); 30 days: common practice, no source."""
    found = asked("OAT", "conventional")
    assert not found.may
    assert (found.most_pct, found.test_days) == (10, 30)
    assert len(found.lives) == 3
    assert all(isinstance(one, Life) for one in found.lives)
    assert any("cap" in one for one in found.cautions)
    assert any("kills" in one for one in found.cautions)


def test_names_are_found_whatever_their_case_and_a_wrong_one_names_the_nearest() -> None:
    assert find_coolant(" oat PG ", KNOWLEDGE.coolants).base == "pg"
    with pytest.raises(NotThereError, match="nearest known is"):
        find_coolant("green", KNOWLEDGE.coolants)


def test_shipped_products_name_only_standards_that_tell_kinds_apart() -> None:
    """ASTM D3306 and D6210 scopes; no open standard separates the organic kinds."""
    assert find_coolant("conventional", KNOWLEDGE.coolants).specification == ("ASTM D3306",)
    assert "ASTM D6210" in find_coolant("conventional heavy", KNOWLEDGE.coolants).specification
    assert find_coolant("OAT", KNOWLEDGE.coolants).specification == ()
