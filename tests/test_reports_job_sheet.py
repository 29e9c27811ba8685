"""The job sheet: what it says, in which order, and that it fits its paper in readable letters."""

import dataclasses
import math
import os
import re
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import made_rows
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from fleetcool.knowledge.reader import in_force
from fleetcool.model import computed, plan_frames
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import Projection, Supply
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from reports.job_fasteners import guard_text
from reports.job_sheet import job_sheet, job_sheets
from reports.page_flow import HEIGHT, LEAST_POINTS, Flowed, flowed, letter_size
from reports.pages_text import pages_text
from reports.sheets import TICK, Line, Pages
from reports.spreadsheet import save_workbook
from reports.view import View, view_of

NAN = math.nan
AS_OF = number(date(2027, 4, 29))
MONDAY = number(date(2027, 5, 3))
KNOWLEDGE = in_force({}, AS_OF)
LAYOUTS = tuple(sorted(KNOWLEDGE.layouts["layout"].astype(str)))
WET = frozenset(KNOWLEDGE.services.loc[KNOWLEDGE.services["wet"] == 1.0, "service"])
BUNDLE = (
    "new pump",
    "new thermostat",
    "new upper hose",
    "new lower hose",
    "coolant change",
    "new drive belt",
)
SERVICES = {
    layout: tuple(sorted(rows["service"].astype(str)))
    for layout, rows in KNOWLEDGE.layout_services.groupby("layout")
}


def frame(columns: Sequence[str], rows: Sequence[Mapping[str, object]]) -> pd.DataFrame:
    """Return a frame of these columns; what a row leaves out is missing."""
    if not rows:
        return empty(tuple(columns))
    return pd.DataFrame([{name: row.get(name) for name in columns} for row in rows])


def visit(unit: str, at: int, more: Mapping[str, object]) -> dict[str, object]:
    return {
        "visit": f"{unit}-27W18",
        "vehicle": unit,
        "unit": unit,
        "yard": "NORTH",
        "depot": "NORTH",
        "state": "fixed",
        "start_on": float(MONDAY + at % 5),
        "stop_on": float(MONDAY + at % 5 + 1),
        "start_minute": 450.0,
        "minutes": 234.0,
        "minutes_apart": 462.0,
        "wait_minutes": 0.0,
        "why": "Distance governs: 58,300 of 60,000 km run.",
        **more,
    }


def standing(
    work: Mapping[str, tuple[str | None, tuple[str, ...]]], vehicle: Mapping[str, object]
) -> Standing:
    frames: dict[str, pd.DataFrame] = {}  # the three tables that a job sheet reads
    columns = [*(one.name for one in TABLES["vehicles"].columns), "vehicle", "here"]
    vehicles = [
        {
            "unit": unit,
            "vehicle": unit,
            "depot": "NORTH",
            "layout": layout,
            "plate": "AB 104",
            "vin": "1XKYDP9X0LJ440104",
            "here": True,
            **vehicle,
        }
        for unit, (layout, _) in work.items()
    ]
    frames["vehicles"] = frame(columns, vehicles).astype({"layout": "str", "coolant": "str"})
    for column in ("cap_kpa", "coolant_litres"):
        frames["vehicles"][column] = frames["vehicles"][column].astype("float64")
    frames["parts"] = frame([one.name for one in TABLES["parts"].columns], [])
    frames["depots"] = pd.DataFrame(
        [("NORTH", "North yard", None, -34.0)],
        columns=["depot", "name", "served_by", "coldest_c"],
    )
    history = [*(one.name for one in TABLES["history"].columns), "vehicle"]
    notes = [
        {"vehicle": "104", "on": float(AS_OF - ago), "service": "new cap", "note": note}
        for ago, note in ((900, "an old note"), (400, "stub is scored"), (90, "seat is pitted"))
    ]
    frames["history"] = frame(history, notes)
    for name in ("look_overs", "driver_reports", "decisions"):
        frames[name] = made_rows.table(name, [])
    empty = computed.empty
    return Standing(AS_OF, 7, frames, empty(()), empty(()), empty(()), empty(()))


def plan(
    work: Mapping[str, tuple[str | None, tuple[str, ...]]], more: Mapping[str, object]
) -> Plan:
    names = plan_frames.VISIT_COLUMNS
    services = [
        {"visit": f"{unit}-27W18", "vehicle": unit, "service": one, "due": float(AS_OF + turn)}
        for unit, (_, done) in work.items()
        for turn, one in enumerate(done)
    ]
    open_ = [
        {
            "visit": "104-27W18",
            "vehicle": "104",
            "service": service,
            "extra_minutes": minutes,
            "due": float(AS_OF + 30),
            "parts_here": here,
        }
        for service, minutes, here in (("new bypass hose", 12.0, True), ("new idlers", 9.0, False))
    ]
    empty = computed.empty
    return Plan(
        MONDAY,
        frame(names, [visit(unit, at, more) for at, unit in enumerate(work)]),
        frame(plan_frames.VISIT_SERVICE_COLUMNS, services),
        empty(plan_frames.ROUND_COLUMNS),
        empty(plan_frames.NOT_PLACED_COLUMNS),
        empty(plan_frames.WEEK_COLUMNS),
        empty(plan_frames.OTHER_DAY_COLUMNS),
        frame(plan_frames.WHILE_OPEN_COLUMNS, open_),
        empty(plan_frames.LET_GO_COLUMNS),
    )


def projection() -> Projection:
    empty = computed.empty
    coolant = {"vehicle": "104", "kind": "HOAT", "coolant": "HOAT eg", "base": "eg", "litres": 11.0}
    finding = {
        "vehicle": "104",
        "finding": "pump to watch",
        "found_on": float(AS_OF - 20),
        "due": float(AS_OF + 40),
        "seen_by": "look-over",
        "why": "A dry trace below the weep hole",
        "look_for": "Play at the pulley",
    }
    return Projection(
        empty(computed.DUE_COLUMNS),
        empty(computed.CLOCK_COLUMNS),
        empty(computed.USAGE_COLUMNS),
        empty(computed.READING_COLUMNS),
        frame(computed.COOLANT_COLUMNS, [coolant]),
        findings=frame(computed.FINDING_COLUMNS, [finding]),
    )


def supply() -> Supply:
    empty = computed.empty
    pull = [
        {
            "visit": "104-27W18",
            "depot": "NORTH",
            "part": part,
            "what": what,
            "counted_in": unit,
            "quantity": quantity,
            "bin": "A-11",
            "here": here,
        }
        for part, what, unit, quantity, here in (
            ("COOL-HOAT-P", "HOAT coolant, premix", "L", 8.8, True),
            ("P6F-PUMP", "coolant pump", "each", 1.0, False),
        )
    ]
    parts = [{"part": "COOL-HOAT-P", "is_coolant": True}, {"part": "P6F-PUMP", "is_coolant": False}]
    return Supply(
        frame(computed.PART_COLUMNS, parts),
        empty(computed.NEED_COLUMNS),
        empty(computed.BEHIND_COLUMNS),
        empty(computed.ORDER_COLUMNS),
        empty(computed.COMING_COLUMNS),
        frame(computed.PULL_COLUMNS, pull),
    )


def view(
    work: Mapping[str, tuple[str | None, tuple[str, ...]]],
    *,
    knowledge: Knowledge = KNOWLEDGE,
    vehicle: Mapping[str, object] | None = None,
    more: Mapping[str, object] | None = None,
) -> View:
    """Return an invented week with these stays: unit → layout and services."""
    return view_of(
        Outlook(
            AS_OF,
            "2027-W18",
            Settings(),
            standing(work, vehicle or {}),
            knowledge,
            projection(),
            plan(work, more or {}),
            supply(),
        )
    )


def texts(pages: Pages) -> list[str]:
    return [piece.text for line in pages.lines for piece in line.pieces]


def sheet(layout: str | None, services: tuple[str, ...], **rest: object) -> str:
    """Return the job sheet of one stay, a text a line."""
    return "\n".join(texts(job_sheets(view({"104": (layout, services)}, **rest), "NORTH")))  # type: ignore[arg-type] # passed on


def cautions(said: str) -> list[str]:
    return [line for line in said.split("\n") if line.startswith("! ")]


SIX = sheet("petrol six fan", BUNDLE)


def test_a_job_sheet_goes_from_the_vehicle_to_the_tag_in_the_order_of_the_work() -> None:
    order = [
        "Unit 104",
        "VIN ends LJ440104; stands in North yard",
        "Takes 234 minutes",
        "Known: pump to watch",
        "Noted 25 March 2026: stub is scored",
        "Cautions.",
        "\nPull",
        "First, before anything is taken apart: pressure test. Engine cold",
        "Take apart, in this order",
        "Do, while it is open",
        "Put back, in this order",
        "Coolant: fill, bleed and test",
        "Worth doing while it is open",
        "Done on ____",
        "hang on the filler neck",
    ]
    places = [SIX.index(one) for one in order]
    assert places == sorted(places)


def test_doing_it_together_is_told_as_hours_saved() -> None:
    """Pump, thermostat, hoses, coolant and belt: 3.9 h together, 7.7 h apart, 3.8 h saved; common
    practice, no source."""
    assert "3.9 h together; in separate stays 7.7 h, so 3.8 h saved" in SIX


def test_one_service_alone_saves_nothing_and_says_nothing_of_it() -> None:
    said = sheet("petrol six fan", ("new pump",))
    assert "234 minutes of work (3.9 h)" in said
    assert "saved" not in said


def test_the_last_two_notes_and_what_is_known_to_be_wrong_come_with_their_days() -> None:
    assert "an old note" not in SIX
    assert "Noted 29 January 2027: seat is pitted" in SIX
    assert (
        "Known: pump to watch (seen 9 April 2027, look-over). A dry trace below the weep hole. "
        "Play at the pulley." in SIX
    )


def test_what_is_short_and_what_lies_here_is_told() -> None:
    assert f"{TICK} 8.8 L HOAT coolant, premix, COOL-HOAT-P, bin A-11" in SIX
    assert f"{TICK} 1 coolant pump, P6F-PUMP, bin A-11, SHORT" in SIX
    assert "new bypass hose: 12 minutes more, due 29 May 2027, its parts are on the shelf here" in (
        SIX
    )
    assert "new idlers: 9 minutes more, due 29 May 2027, parts not here" in SIX


@pytest.mark.parametrize("layout", LAYOUTS)
def test_wet_work_has_three_cautions_at_most_and_the_burn_first(layout: str) -> None:
    burn = KNOWLEDGE.cautions.set_index("caution")["text"]["hot cap"]
    wet = sorted(WET & set(SERVICES[layout]))
    work: dict[str, tuple[str | None, tuple[str, ...]]] = {
        f"{at}": (layout, (service,)) for at, service in enumerate(wet)
    }
    said = "\n".join(texts(job_sheets(view(work), "NORTH")))
    sheets = said.split("\nUnit ")
    assert len(sheets) == len(wet) > 5
    for one in sheets:
        found = cautions(one)
        assert found[0] == f"! {burn}"
        assert len(found) <= 3


def test_the_burn_stays_first_when_a_fleet_puts_a_caution_of_its_own_above_it() -> None:
    own = {"caution": ["yard"], "services": ["new pump"], "text": ["Mind the reversing lane."]}
    knowledge = in_force({"cautions": pd.DataFrame(own, dtype="str")}, AS_OF)
    found = cautions(sheet("petrol six fan", ("new pump",), knowledge=knowledge))
    assert "hot" in found[0]
    bare = dataclasses.replace(KNOWLEDGE, cautions=KNOWLEDGE.cautions[:0])
    assert "hot" in cautions(sheet("petrol six fan", ("new pump",), knowledge=bare))[0]


def test_a_dry_job_puts_no_pressure_on_and_has_neither_coolant_nor_tag() -> None:
    said = sheet("petrol eight fan", ("new drive belt",))
    assert "First: look for leaks" in said
    for word in ("pressure test", "Coolant: fill", "filler neck", "glycol"):
        assert word not in said
    assert cautions(said)


@pytest.mark.parametrize(
    ("cap_kpa", "told"),
    [
        (108.0, "never above the cap's 108 kPa (15.6 psi) of this vehicle"),  # 15.66 psi
        (103.42, "never above the cap's 103 kPa (14.9 psi) of this vehicle"),  # 14.9997 psi
        (110.4, "never above the cap's 110 kPa (16 psi) of this vehicle"),  # 16.01 psi
    ],
)
def test_the_pressure_is_told_in_both_units_and_never_rounded_up(cap_kpa: float, told: str) -> None:
    """1 psi = 6.894757 kPa (NIST SP 811, named from memory); a tester goes up to the cap's rating
    and no further (Deere and Chrysler manuals)."""
    assert told in sheet("petrol six fan", ("new pump",), vehicle={"cap_kpa": cap_kpa})


def test_without_a_known_cap_the_rating_is_read_from_it() -> None:
    assert "never above the rating on the cap (read it: ____)" in sheet(None, ("new pump",))


def test_a_torque_is_the_manuals_in_both_units() -> None:
    """80 lbf·in are 9.04 N·m and 18 lbf·ft 24.40 N·m by the exact inch and pound (NIST SP 811)."""
    for torque, told in ((9.04, "9 N·m (80 lbf·in)"), (24.40, "24 N·m (18 lbf·ft)")):
        fasteners = KNOWLEDGE.fasteners.assign(manual_torque_nm=torque)
        knowledge = dataclasses.replace(KNOWLEDGE, fasteners=fasteners)
        said = sheet("petrol six fan", ("new pump",), knowledge=knowledge).split("\n")
        assert f"manual: {told}" in said
        assert "manual: ____" not in said


def test_without_the_manuals_torque_there_is_a_blank_and_the_guard_beside_it() -> None:
    lines = job_sheets(view({"104": ("petrol six fan", ("new pump",))}), "NORTH").lines
    rows = [[piece.text for piece in line.pieces] for line in lines]
    mine = next(row for row in rows if any("small pump" in one for one in row))
    assert mine[-2:] == ["manual: ____", "guard 12 N·m (106 lbf·in)"]


@pytest.mark.parametrize(
    ("guard_nm", "told"),
    [
        (12.0, "12 N·m (106 lbf·in)"),  # M6 into aluminium, 106.2 lbf·in; common practice
        (5.6, "5.6 N·m (49 lbf·in)"),  # 49.56 lbf·in
        (30.0, "30 N·m (22 lbf·ft)"),  # 22.13 lbf·ft
        (55.0, "55 N·m (40 lbf·ft)"),  # 40.57 lbf·ft
    ],
)
def test_a_guard_is_never_rounded_up(guard_nm: float, told: str) -> None:
    """Exact inch, foot and pound (NIST SP 811, named from memory)."""
    assert guard_text(guard_nm) == told


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_fastener_met_is_printed_once_with_its_torque(layout: str) -> None:
    services = SERVICES[layout]
    lines = job_sheets(view({"104": (layout, services)}), "NORTH").lines
    printed = [line for line in lines if any("manual: " in one.text for one in line.pieces)]
    fasteners = KNOWLEDGE.fasteners[KNOWLEDGE.fasteners["layout"] == layout]
    needed = KNOWLEDGE.service_steps[KNOWLEDGE.service_steps["layout"] == layout]
    met = fasteners["step"].isin(needed["step"]) | fasteners["service"].isin(services)
    assert len(printed) == int(met.sum()) > 5


@pytest.mark.parametrize("layout", LAYOUTS)
def test_no_direction_of_a_thread_is_told_by_default(layout: str) -> None:
    said = sheet(layout, SERVICES[layout]).lower()
    assert not re.search(r"left.hand(ed)? thread|right.hand(ed)? thread|clockwise", said)


def test_an_unknown_layout_has_blanks_and_cautions_and_no_invented_step() -> None:
    said = sheet(None, ("new pump", "coolant change"))
    assert "The layout of this vehicle is not known" in said
    assert len(cautions(said)) == 3
    assert "hot" in cautions(said)[0]
    assert "bleed until no more air comes" in said
    assert "in this order" not in said
    assert not any(words in said for words in KNOWLEDGE.steps["text"].dropna())


def test_the_mix_is_told_with_its_freezing_point_and_what_the_coldest_day_asks() -> None:
    """50 % ethylene glycol by volume freezes at −37.0 °C; −40 °C takes 52.0 % (ASHRAE Handbook
    Fundamentals 2001); 5 °C below the lowest air temperature: laboratory guideline."""
    assert "Coldest day at North yard −34 °C (−29 °F): must freeze at −39 °C (−38 °F)" in SIX
    assert "Aim at 52 % glycol in clean water, freezes at −40 °C (−40 °F)" in SIX
    warm = sheet("petrol six fan", ("new pump",), vehicle={"coldest_c": -20.0})
    assert "Aim at 50 % glycol in clean water, freezes at −37 °C (−35 °F)" in warm


def with_glycol(now: float, services: tuple[str, ...], coldest_c: float = -36.0) -> str:
    """Return the sheet of unit 104, 11 L of which a coolant change lets 8.8 L out."""
    one = view({"104": ("petrol six fan", services)}, vehicle={"coldest_c": coldest_c})
    coolant = one.outlook.projection.coolant.assign(glycol_pct=now)
    told = dataclasses.replace(
        one.outlook, projection=dataclasses.replace(one.outlook.projection, coolant=coolant)
    )
    return "\n".join(texts(job_sheets(view_of(told), "NORTH")))


def test_a_premix_too_weak_for_the_yard_is_told_with_the_concentrate_beside_it() -> None:
    """−41 °C takes 53 % ethylene glycol (ASHRAE 2001). Of 11 L 8.8 L come out of 30 %:
    (11·0.53 − 0.3·2.2 − 8.8·0.5)/0.5 = 1.54 L of concentrate, exact arithmetic."""
    change = ("coolant change",)
    said = with_glycol(30.0, change)
    assert "Aim at 53 % glycol" in said
    assert (
        "The 50 % mix alone is too weak, as what stays in has 30 %: put in 1.5 L of concentrate "
        "(COOL-HOAT-C) with 7.3 L of the 50 % mix"
    ) in said
    assert "The 50 % mix alone does: what stays in has 66 %, so all of it comes to 53 %" in (
        with_glycol(66.0, change)
    )
    mild = with_glycol(50.0, change, coldest_c=-20.0)
    assert "mix alone" not in mild


def test_a_heel_so_weak_that_the_mix_would_freeze_is_told_too() -> None:
    """2.2 L of water beside 8.8 L of 50 % make 40 %, where −35 °C takes 49 % (ASHRAE 2001):
    (11·0.49 − 8.8·0.5)/0.5 = 1.98 L, exact arithmetic."""
    assert "put in 2.0 L of concentrate" in with_glycol(0.0, ("coolant change",), coldest_c=-30.0)
    assert "mix alone" not in with_glycol(0.0, ("coolant change",), coldest_c=-15.0)


def test_a_correction_says_how_much_comes_out_and_what_goes_in() -> None:
    """11·(0.50 − 0.36)/(1 − 0.36) = 2.4 L; 11·(0.66 − 0.50)/0.66 = 2.7 L, exact arithmetic."""
    up = with_glycol(36.0, ("coolant correction",), coldest_c=-20.0)
    assert "Let 2.4 L out, cold, and put in as much concentrate (COOL-HOAT-C)" in up
    down = with_glycol(66.0, ("coolant correction",), coldest_c=-20.0)
    assert "Let 2.7 L out, cold, and put in as much clean water" in down
    assert "Test first" in sheet("petrol six fan", ("coolant correction",))
    assert any("hot" in one for one in cautions(up))


def test_the_coolant_says_kind_product_and_how_much_comes_out() -> None:
    assert "HOAT eg (HOAT, ethylene glycol). The system holds 11.0 L; about 8.8 L come out." in SIX
    assert "Pulled for it: 8.8 L of COOL-HOAT-P" in SIX
    assert "Kind not known: ____" in "\n".join(
        texts(job_sheets(view({"9": ("petrol six fan", ("new pump",))}), "NORTH"))
    )


def test_the_base_of_a_kind_is_told_only_where_all_its_products_share_it() -> None:
    """The shipped table has HOAT on ethylene glycol alone, OAT on both."""

    def told(kind: str) -> str:
        one = view({"9": ("petrol six fan", ("new pump",))}, vehicle={"coolant": kind})
        return "\n".join(texts(job_sheets(one, "NORTH")))

    assert "HOAT, ethylene glycol. The system holds" in told("HOAT")
    assert "OAT. The system holds" in told("OAT")
    assert "OAT pg, propylene glycol. The system holds" in told("OAT pg")


def test_one_visit_alone_has_the_sheet_it_has_among_others() -> None:
    one = view({"104": ("petrol six fan", BUNDLE), "9": ("diesel four van", ("new thermostat",))})
    rows = one.week_visits("NORTH").to_dict("records")
    alone = [
        line for row in rows for line in job_sheet(one, {str(k): v for k, v in row.items()}).lines
    ]
    assert tuple(alone) == job_sheets(one, "NORTH").lines
    assert sum(line.ends_page for line in alone) == 2


def test_a_week_without_visits_says_so() -> None:
    pages = job_sheets(view({"104": ("petrol six fan", BUNDLE)}), "SOUTH")
    assert pages.lines == ()
    assert pages.none == "No visit is planned in this week."


def page_heights(flow: Flowed) -> list[float]:
    heights = [0.0]
    for line, height in zip(flow.lines, flow.heights, strict=True):
        heights[-1] += height
        if line.ends_page:
            heights.append(0.0)
    return heights[:-1]


def letters(flow: Flowed) -> list[float]:
    return [
        letter_size(piece, size)
        for line, size in zip(flow.lines, flow.letters, strict=True)
        for piece in line.pieces
    ]


@settings(deadline=None, max_examples=20)
@given(st.data(), st.sampled_from(["A4", "Letter"]))
def test_no_page_is_taller_than_its_paper_and_no_letter_too_small(
    data: st.DataObject, paper: str
) -> None:
    layout = data.draw(st.sampled_from(LAYOUTS))
    services = data.draw(
        st.lists(st.sampled_from(SERVICES[layout]), min_size=1, max_size=9, unique=True)
    )
    flow = flowed(job_sheets(view({"104": (layout, tuple(services))}), "NORTH").lines, paper)
    assert max(page_heights(flow)) <= HEIGHT[paper]
    assert min(letters(flow)) >= LEAST_POINTS


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    ("layout", "services"),
    [
        ("petrol six fan", BUNDLE),
        ("petrol four timing belt", ("new timing belt", "new pump", "new tensioner", "new idlers")),
        ("diesel six heavy", ("new pump",)),
        ("diesel four van", ("new thermostat",)),
    ],
)
def test_the_great_jobs_take_two_pages(layout: str, services: tuple[str, ...], paper: str) -> None:
    flow = flowed(job_sheets(view({"104": (layout, services)}), "NORTH").lines, paper)
    assert flow.n_pages == 2
    assert "Unit 104, 104-27W18, continued" in [
        piece.text for line in flow.lines for piece in line.pieces
    ]


def test_a_dry_belt_takes_one_page_in_large_letters() -> None:
    flow = flowed(
        job_sheets(view({"9": ("petrol eight fan", ("new drive belt",))}), "NORTH").lines, "Letter"
    )
    assert flow.n_pages == 1
    assert min(letters(flow)) >= 12


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_text_has_every_tick_and_every_word_of_the_pages(layout: str) -> None:
    pages = job_sheets(view({"104": (layout, SERVICES[layout])}), "NORTH")
    shown, said = pages_text(pages), texts(pages)
    assert shown.count(TICK) == sum(one.count(TICK) for one in said) > 10
    words = {word for one in said for word in one.split()}
    assert [word for word in sorted(words) if word not in shown] == []
    assert max(map(len, shown.splitlines())) <= 100


def _saved(path: Path, pages: Pages) -> bytes:
    save_workbook(path, [pages], {}, Settings(), AS_OF)
    return path.read_bytes()


def test_the_same_pages_give_the_same_bytes_and_open_again_as_they_were(tmp_path: Path) -> None:
    pages = job_sheets(view({"104": ("petrol six fan", BUNDLE)}), "NORTH")
    assert _saved(tmp_path / "a.xlsx", pages) == _saved(tmp_path / "b.xlsx", pages)
    worksheet = load_workbook(tmp_path / "a.xlsx")["Job sheets"]
    flow = flowed(pages.lines, "A4")
    held = [cell.value for row in worksheet.iter_rows() for cell in row if cell.value]
    assert held == [piece.text for line in flow.lines for piece in line.pieces if piece.text]
    wide = [piece for line in flow.lines for piece in line.pieces if piece.text and piece.span > 1]
    assert len(worksheet.merged_cells.ranges) == len(wide)
    assert worksheet.page_setup.scale == 100
    assert len(worksheet.row_breaks.brk) == flow.n_pages - 1


def test_an_office_program_prints_the_pages_as_they_were_laid_out(tmp_path: Path) -> None:
    if shutil.which("soffice") is None or shutil.which("pdfinfo") is None:
        if "soffice" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
            pytest.fail("soffice and pdfinfo must be there")
        pytest.skip("soffice or pdfinfo is not installed")
    work: dict[str, tuple[str | None, tuple[str, ...]]] = {
        "104": ("petrol six fan", BUNDLE),
        "9": ("petrol eight fan", ("new drive belt",)),
    }
    pages = job_sheets(view(work), "NORTH")
    book = tmp_path / "sheets.xlsx"
    save_workbook(book, [pages], {}, Settings(), AS_OF)
    profile = f"-env:UserInstallation=file://{tmp_path}/office"
    subprocess.run(
        ["soffice", "--headless", profile, "--convert-to", "pdf", "--outdir", tmp_path, book],
        check=True,
        capture_output=True,
    )
    said = subprocess.run(
        ["pdfinfo", tmp_path / "sheets.pdf"], check=True, capture_output=True, text=True
    ).stdout
    assert re.search(rf"Pages:\s+{flowed(pages.lines, 'A4').n_pages}\b", said)


def test_a_line_that_carries_its_unit_over_is_the_first_of_each_stay() -> None:
    pages = job_sheets(view({"104": ("petrol six fan", BUNDLE)}), "NORTH")
    carrying: list[Line] = [line for line in pages.lines if line.carried]
    assert carrying == [pages.lines[0]]
