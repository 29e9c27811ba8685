"""The shipped tables are whole: every name exists, every figure has a source, labour adds up."""

import itertools

import pandas as pd
import pytest

from fleetcool.coolant.found_tests import FINDINGS, RETEST
from fleetcool.coolant.tested import MEASURES
from fleetcool.knowledge.reader import read_shipped
from fleetcool.knowledge.strip_steps import strip_steps
from fleetcool.model.happenings import HAPPENINGS
from fleetcool.model.knowledge import names
from fleetcool.model.knowledge_tables import KNOWLEDGE
from fleetcool.model.tables import PLACES, Table

SHIPPED = read_shipped()
LAYOUTS = (
    "diesel four van",
    "diesel six heavy",
    "diesel six medium",
    "petrol eight fan",
    "petrol four drive belt",
    "petrol four timing belt",
    "petrol six fan",
)
SERVICES = set(SHIPPED["services"]["service"])
KINDS = ("HOAT", "NOAT", "OAT", "P-HOAT", "Si-OAT", "conventional", "conventional heavy")
MAIN = ("coolant change", "new upper hose", "new lower hose", "new pump", "new thermostat")


def steps_of(layout: str, services: tuple[str, ...]) -> set[str]:
    """Return the steps the services call for, with all that must come before."""
    wanted = SHIPPED["service_steps"]
    wanted = wanted[(wanted["layout"] == layout) & wanted["service"].isin(services)]
    steps = SHIPPED["steps"]
    after = steps[steps["layout"] == layout].set_index("step")["after"]
    found, ahead = set[str](), set(wanted["step"])
    while ahead:
        found |= ahead
        ahead = {name for step in ahead for name in names(after[step])} - found
    return found


def hours(layout: str, services: tuple[str, ...]) -> float:
    own = SHIPPED["layout_services"]
    own = own[(own["layout"] == layout) & own["service"].isin(services)]
    steps = SHIPPED["steps"]
    steps = steps[(steps["layout"] == layout) & steps["step"].isin(steps_of(layout, services))]
    access = steps["take_apart_minutes"].sum() + steps["put_back_minutes"].sum()
    return float(own["own_minutes"].sum() + access) / 60.0


@pytest.mark.parametrize("table", KNOWLEDGE, ids=lambda table: table.name)
def test_a_table_has_its_headings_keys_and_sources(table: Table) -> None:
    frame = SHIPPED[table.name]
    assert list(frame.columns) == [column.name for column in table.columns]
    assert not frame.empty
    assert frame["source"].notna().all()
    assert frame["valid_from"].notna().all()
    assert not frame.duplicated([*table.key, "valid_from"]).any()
    for column in table.columns:
        if column.required:
            assert frame[column.name].notna().all(), column.name
        if column.choices:
            assert frame[column.name].dropna().isin(column.choices).all(), column.name
        if column.kind == "flag":
            assert frame[column.name].dropna().isin([0.0, 1.0]).all(), column.name
        if column.kind == "percent":
            assert frame[column.name].dropna().between(0, 100).all(), column.name


def test_the_seven_layouts_are_there() -> None:
    assert sorted(SHIPPED["layouts"]["layout"]) == list(LAYOUTS)
    assert (SHIPPED["layouts"]["coolant_litres"] > 0).all()


@pytest.mark.parametrize("table", [table for table in KNOWLEDGE if table.name != "layouts"])
def test_every_name_of_layout_place_and_service_exists(table: Table) -> None:
    frame = SHIPPED[table.name]
    known = {"layout": set(LAYOUTS), "place": set(PLACES), "service": SERVICES}
    for column in table.columns:
        if column.kind in known:
            assert set(frame[column.name].dropna()) <= known[column.kind], column.name


def test_every_name_joined_by_plus_exists() -> None:
    steps = set(SHIPPED["steps"]["step"])
    kinds = set(KINDS)
    for table, column, known in (
        ("services", "renews", set(PLACES)),
        ("services", "restarts", SERVICES),
        ("cautions", "steps", steps),
        ("cautions", "services", SERVICES),
        ("coolants", "may_top_up", kinds),
    ):
        said = {name for text in SHIPPED[table][column] for name in names(text)}
        assert said <= known, (table, column)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_step_named_in_a_layout_is_a_step_of_that_layout(layout: str) -> None:
    steps = SHIPPED["steps"]
    steps = steps[steps["layout"] == layout]
    known = list(steps["step"])
    for step, after in zip(steps["step"], steps["after"], strict=True):
        assert all(known.index(name) < known.index(step) for name in names(after)), step
    for table in ("service_steps", "fasteners"):
        rows = SHIPPED[table]
        assert set(rows.loc[rows["layout"] == layout, "step"].dropna()) <= set(known), table


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_step_is_used_and_every_place_can_be_renewed_with_parts(layout: str) -> None:
    of = {
        name: SHIPPED[name][SHIPPED[name]["layout"] == layout]
        for name in (
            "layout_places",
            "layout_services",
            "layout_parts",
            "service_steps",
            "steps",
            "fasteners",
        )
    }
    services = set(of["layout_services"]["service"])
    for table in ("layout_parts", "service_steps"):
        assert set(of[table]["service"]) <= services, table
    assert set(of["fasteners"]["service"].dropna()) <= services
    used = steps_of(layout, tuple(services))
    assert used == set(of["steps"]["step"])
    renewed = {"new " + place for place in of["layout_places"]["place"] if place != "coolant"}
    with_parts = set(of["layout_parts"]["service"])
    assert renewed <= services
    assert renewed <= with_parts
    assert {"coolant change", "coolant test", "hose look-over", "cooling baseline"} <= services
    for service in sorted(name for name in services if name.startswith("new ")):
        if service != "new hoses":
            assert service in renewed
        assert service in set(of["service_steps"]["service"]), service


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_wet_service_is_cold_drained_filled_tested_and_says_what_comes_out(
    layout: str,
) -> None:
    services = SHIPPED["services"]
    own = SHIPPED["layout_services"]
    own = own[own["layout"] == layout].set_index("service")
    wet = services.loc[services["wet"] == 1.0, "service"]
    ends = {"cool down", "drain", "refill and bleed", "pressure test", "road test"}
    for service in set(wet) & set(own.index):
        assert ends <= steps_of(layout, (service,)), service
        assert own.loc[service, "drain_share"] > 0, service
    assert own["own_minutes"].gt(0).all()


def test_the_bundle_takes_7_7_hours_apart_and_8_minutes_less_than_3_9_together() -> None:
    """Pump, thermostat, both radiator hoses, coolant and belt on a light layout with the pump on
    the drive belt: stand-alone 2.7 + 1.6 + 1.6 + 1.5 + 0.3 h, together 3.9 h. Common practice, no
    source; hose ends that two services share save a little more."""
    layout = "petrol four drive belt"
    stays = (
        ("new pump",),
        ("new thermostat",),
        ("new upper hose", "new lower hose"),
        ("coolant change",),
        ("new drive belt",),
    )
    alone = [hours(layout, stay) for stay in stays]
    together = hours(layout, tuple(itertools.chain(*stays)))
    assert alone == pytest.approx([2.7, 1.6, 1.6, 1.5, 0.3], abs=1e-9)
    assert sum(alone) == pytest.approx(7.7, abs=1e-9)
    # The source counts no hose ends; those that two services share save 8 minutes more here.
    assert together == pytest.approx(3.9 - 8 / 60, abs=1e-9)


@pytest.mark.parametrize(
    ("service", "alone"),
    [
        ("new heater hoses", 1.6),
        ("new bypass hose", 1.5),
        ("new cooling pack", 2.3),
        ("new tensioner", 0.5),
        ("new idlers", 0.3),
        ("new cap", 0.2),
    ],
)
def test_single_jobs_on_the_light_layout_take_their_usual_hours(service: str, alone: float) -> None:
    """Common practice, no source."""
    assert hours("petrol four drive belt", (service,)) == pytest.approx(alone, abs=1e-9)


@pytest.mark.parametrize(
    ("service", "least", "most"),
    [
        ("coolant change", 1.3, 2.0),
        ("new upper hose", 1.3, 2.0),
        ("new heater hoses", 1.3, 2.0),
        ("new pump", 1.3, 2.0),
        ("new thermostat", 1.3, 2.0),
        ("new cooling pack", 2.0, 4.0),  # the pack is slung and lifted by two
    ],
)
def test_heavy_work_takes_its_share_more_than_light_work(
    service: str, least: float, most: float
) -> None:
    """Heavy duty takes 1.3–2.0 times as long (access, capacity, weight): common practice, no
    source."""
    heavy = hours("diesel six heavy", (service,))
    assert least <= heavy / hours("petrol four drive belt", (service,)) <= most


def test_a_pump_behind_the_timing_belt_takes_4_to_10_hours() -> None:
    """Trade web, second-hand: outside light pump 1.5–3 h, behind the timing belt 4–10 h."""
    assert 4.0 <= hours("petrol four timing belt", ("new pump",)) <= 10.0
    assert 1.5 <= hours("petrol four drive belt", ("new pump",)) <= 3.0


def test_the_layouts_really_differ() -> None:
    pump = {layout: steps_of(layout, ("new pump",)) for layout in LAYOUTS}
    assert "timing belt off" in pump["petrol four timing belt"]
    assert "fan off" in pump["petrol six fan"]
    assert "shroud" in pump["petrol eight fan"]
    assert "engine cover" in pump["diesel four van"]
    assert "belt off" not in pump["diesel six heavy"]
    places = SHIPPED["layout_places"]
    filters = places.loc[places["place"] == "coolant filter", "layout"]
    assert list(filters) == ["diesel six heavy"]
    driven = places[places["place"] == "pump"].set_index("layout")["driven_by"]
    assert driven["diesel six heavy"] == "gear"
    assert driven["petrol four timing belt"] == "timing belt"


@pytest.mark.parametrize("size", ["light", "medium", "heavy"])
def test_every_size_and_kind_has_a_limit_for_each_main_service(size: str) -> None:
    limits = SHIPPED["limits"]
    for kind, service in itertools.product(KINDS, MAIN):
        fits = limits[
            (limits["service"] == service)
            & (limits["size"] == size)
            & (limits["coolant_kind"].isna() | (limits["coolant_kind"] == kind))
        ]
        assert fits[["km", "hours", "months"]].notna().any(axis=1).any(), (size, kind, service)
        assert fits["severe_factor"].notna().all(), (size, kind, service)


def test_no_hose_limit_of_heavy_vehicles_has_a_distance() -> None:
    limits = SHIPPED["limits"]
    hoses = limits[limits["service"].str.contains("hose") & (limits["size"] == "heavy")]
    assert len(hoses) >= 4
    assert hoses["km"].isna().all()
    without_size = limits[limits["service"].str.contains("hose") & limits["size"].isna()]
    assert without_size["km"].isna().all()


def coolant_limit(size: str, kind: str, *, first: bool = False) -> pd.Series:
    limits = SHIPPED["limits"]
    rows = limits[
        (limits["service"] == "coolant change")
        & (limits["size"] == size)
        & (limits["coolant_kind"] == kind)
        & ((limits["first"] == 1.0) == first)
    ]
    assert len(rows) == 1
    return rows.iloc[0]


def test_published_coolant_lives_are_shipped() -> None:
    """GM owner's manual 2003: OAT 5 years or 150,000 mi. Toyota/Lexus 2012: first at 10 years or
    100,000 mi, then 5 years or 50,000 mi. Caterpillar: D6210 coolant 3000 h or 2 years;
    extended-life coolant 12,000 h or 6 years. All second-hand excerpts."""
    mile = 1.609344
    oat = coolant_limit("light", "OAT")
    assert (oat["km"], oat["months"]) == (pytest.approx(150_000 * mile, abs=1), 60)
    first = coolant_limit("light", "P-HOAT", first=True)
    assert (first["km"], first["months"]) == (pytest.approx(100_000 * mile, abs=1), 120)
    then = coolant_limit("light", "P-HOAT")
    assert (then["km"], then["months"]) == (pytest.approx(50_000 * mile, abs=1), 60)
    formulated = coolant_limit("heavy", "conventional heavy")
    assert (formulated["hours"], formulated["months"]) == (3000, 24)
    extended = coolant_limit("heavy", "OAT")
    assert (extended["hours"], extended["months"]) == (12000, 72)
    assert (SHIPPED["limits"].query("service == 'coolant change'")["severe_factor"] == 1).all()


def test_an_hour_of_idling_counts_33_miles() -> None:
    """GM owner's manual 2020, second-hand: one hour of idling counts as 33 miles, so that
    18,000 mi and 400 h of it are 31,200 mi."""
    idle = SHIPPED["limits"]["km_per_idle_hour"].dropna().unique()
    assert list(idle) == [pytest.approx(33 * 1.609344, abs=1e-3)]
    assert 18_000 + 400 * idle[0] / 1.609344 == pytest.approx(31_200, abs=1)


def test_nitrite_is_judged_only_where_the_coolant_has_it() -> None:
    """Caterpillar: 1200–2400 ppm in conventional heavy-duty coolant; nitrite-free kinds have no
    nitrite limit."""
    bands = SHIPPED["bands"]
    nitrite = bands[bands["measure"] == "nitrite_ppm"].set_index("coolant_kind")
    assert sorted(nitrite.index) == ["NOAT", "conventional heavy"]
    assert nitrite.loc["conventional heavy", "good_from"] == 1200
    assert nitrite.loc["conventional heavy", "good_to"] == 2400


def test_every_band_is_of_something_measured_or_seen_and_of_a_known_kind() -> None:
    bands = SHIPPED["bands"]
    measured = {
        column.name
        for table in HAPPENINGS
        if table.name in {"coolant_tests", "look_overs"}
        for column in table.columns
    }
    others = {name for name in set(bands["measure"]) - measured if not name.startswith("look ")}
    assert others == {
        "nitrite_molybdate_ppm",
        "nitrite_beside_molybdate_ppm",
        "molybdate_beside_nitrite_ppm",
    }
    assert set(bands["coolant_kind"]) == {*KINDS, "any"}
    assert not ((bands["good_from"] < bands["act_below"]).any())
    assert not ((bands["good_to"] > bands["act_above"]).any())
    assert bands[["good_from", "good_to", "act_below", "act_above"]].notna().any(axis=1).all()


def test_additive_units_are_by_litre_and_nitrite_counts_with_molybdate() -> None:
    """Cummins: 1.5 units by US gallon wanted, least 1.2, most 3.0. ASTM D6210, from memory: nitrite
    with molybdate at least 780 ppm, each at least 300."""
    bands = SHIPPED["bands"].query("coolant_kind == 'conventional heavy'").set_index("measure")
    limits = ("good_from", "act_below", "act_above")
    by_gallon = [float(bands[name]["sca_units"]) * 3.785411784 for name in limits]
    assert by_gallon == pytest.approx([1.5, 1.2, 3.0], abs=1e-5)
    assert bands["act_below"]["nitrite_molybdate_ppm"] == 780
    for one in ("nitrite_beside_molybdate_ppm", "molybdate_beside_nitrite_ppm"):
        assert bands["good_from"][one] == 300


def test_every_finding_of_a_test_has_a_remedy_and_pressure_and_look_have_bands() -> None:
    """Chrysler, second-hand: a drop of more than 14 kPa in 2 minutes is a leak."""
    remedies = set(SHIPPED["remedies"]["finding"])
    assert {*FINDINGS.values(), RETEST, "pressure drops"} <= remedies
    bands = SHIPPED["bands"].set_index("measure")
    assert bands.loc["pressure_drop_kpa", "act_above"] == 14
    acts = {
        str(name).removeprefix("look ")
        for name, most in bands["act_above"].dropna().items()
        if str(name).startswith("look ")
    }
    assert acts == {"oil", "rust", "gel", "solids"}
    assert acts <= remedies


def test_every_strip_step_is_of_a_measure_of_a_test() -> None:
    tests = next(table for table in HAPPENINGS if table.name == "coolant_tests")
    assert set(strip_steps()) == set(MEASURES)
    assert set(MEASURES) <= {column.name for column in tests.columns}
    assert min(strip_steps().values()) > 0


def test_every_symptom_a_driver_can_report_points_to_places_and_has_a_remedy() -> None:
    reports = next(table for table in HAPPENINGS if table.name == "driver_reports")
    symptoms = set(reports.column("symptom").choices)
    assert set(SHIPPED["symptoms"]["symptom"]) == symptoms
    assert symptoms <= set(SHIPPED["remedies"]["finding"])
    for place in PLACES:
        for finding in (f"{place} to replace", f"{place} to watch"):
            assert finding in set(SHIPPED["remedies"]["finding"])


def test_every_place_and_size_has_a_usual_life_and_every_kind_a_product() -> None:
    priors = SHIPPED["life_priors"]
    assert len(priors) == len(PLACES) * 3
    assert (priors[["shape", "life_km", "life_months", "spread"]] > 0).all(axis=None)
    assert set(SHIPPED["coolants"]["kind"]) == set(KINDS)
    assert set(SHIPPED["layouts"]["coolant_kind"]) <= set(KINDS)


def test_part_ids_carry_the_prefix_of_their_layout() -> None:
    prefix = {
        "petrol four timing belt": "P4T",
        "petrol four drive belt": "P4D",
        "petrol six fan": "P6F",
        "petrol eight fan": "P8F",
        "diesel four van": "D4V",
        "diesel six medium": "D6M",
        "diesel six heavy": "D6H",
    }
    parts = SHIPPED["layout_parts"]
    assert (parts["part"].str.split("-").str[0] == parts["layout"].map(prefix)).all()


def test_too_little_and_too_much_glycol_are_corrected_in_every_layout() -> None:
    """Days, minutes and steps: common practice, no source."""
    remedies = SHIPPED["remedies"].set_index("finding")
    assert remedies["service"][["weak glycol", "over-concentrated"]].tolist() == (
        ["coolant correction"] * 2
    )
    assert remedies["within_days"][["weak glycol", "over-concentrated"]].tolist() == [14, 30]
    service = SHIPPED["services"].set_index("service").loc["coolant correction"]
    assert (service["kind"], service["restarts"]) == ("dose", "coolant test")
    assert (service["wet"], service["needs_bay"], service["takes_off_road"]) == (0, 1, 1)
    layouts = SHIPPED["layouts"]["layout"]
    done = SHIPPED["layout_services"].query("service == 'coolant correction'")
    minutes = dict(zip(done["layout"], done["own_minutes"], strict=True))
    assert [minutes[one] for one in layouts] == [15, 15, 18, 20, 18, 25, 30]
    steps = SHIPPED["service_steps"].query("service == 'coolant correction'")
    assert set(zip(steps["layout"], steps["step"], strict=True)) == {
        (one, "cool down") for one in layouts
    }


def test_more_than_60_percent_of_glycol_is_to_act_upon_in_every_kind() -> None:
    """John Deere OMSU31337: never above 60 %."""
    glycol = SHIPPED["bands"].query("measure == 'glycol_pct'")
    assert set(glycol["act_above"]) == {60.0}
