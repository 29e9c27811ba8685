"""A system that tests of coolant share: one van of 10 L, and the work that is done on it."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import made_rows
import pandas as pd

from fleetcool.coolant.contents import Contents, what_is_in
from fleetcool.coolant.fills import fills_of
from fleetcool.knowledge.reader import in_force
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

Row = dict[str, object]
AS_OF = 20_000
USED = AS_OF - 3_000
KNOWLEDGE = replace(
    in_force({}, AS_OF),
    layouts=made_rows.table(
        "layouts",
        [
            {"layout": "van", "size": "light", "coolant_litres": 10, "drains_radiator_pct": 40,
             "drains_all_pct": 80, "coolant_kind": "OAT", "hose_material": "EPDM"},
            {"layout": "truck", "size": "heavy", "coolant_litres": 30, "drains_radiator_pct": 45,
             "drains_all_pct": 80, "coolant_kind": "NOAT", "hose_material": "silicone"},
        ],
    ),
    layout_services=made_rows.table(
        "layout_services",
        [
            {"layout": "van", "service": "new pump", "drain_share": 70},
            {"layout": "van", "service": "new thermostat", "drain_share": 30},
        ],
    ),
)  # fmt: skip
SETTINGS = Settings()


def van(unit: str = "104", **more: object) -> Row:
    return {"unit": unit, "layout": "van", "first_used_on": USED, "joined_on": USED} | more


def work(on: float, service: str, **more: object) -> Row:
    return {"unit": "104", "on": on, "service": service} | more


def change(on: float, **more: object) -> Row:
    return work(on, "coolant change") | more


def top_up(on: float, **more: object) -> Row:
    return work(on, "coolant top-up", how="topped up") | more


def standing(
    history: Sequence[Row],
    vehicles: Sequence[Row] | None = None,
    coolant_tests: Sequence[Row] = (),
) -> Standing:
    rows: dict[str, Sequence[Row]] = {
        "vehicles": [van()] if vehicles is None else vehicles,
        "history": history,
        "coolant_tests": coolant_tests,
    }
    made = {name: made_rows.table(name, some) for name, some in rows.items()}
    nothing = _nothing()
    return replace(nothing, frames={**nothing.frames, **made})


@cache
def _nothing() -> Standing:
    return made_rows.standing(AS_OF, {})


def fills(history: Sequence[Row], vehicles: Sequence[Row] | None = None) -> pd.DataFrame:
    return fills_of(standing(history, vehicles), KNOWLEDGE, SETTINGS.whole_change_share)


def judged(*days: tuple[float, bool]) -> pd.DataFrame:
    """Return the judged tests of van 104."""
    return pd.DataFrame(
        {
            "vehicle": pd.Series(["104"] * len(days), dtype="str"),
            "on": pd.Series([day for day, _ in days], dtype="float64"),
            "passed": pd.Series([passed for _, passed in days], dtype="bool"),
        }
    )


def contents(
    history: Sequence[Row],
    passed: pd.DataFrame | None = None,
    vehicles: Sequence[Row] | None = None,
    coolant_tests: Sequence[Row] = (),
) -> Contents:
    rows = standing(history, vehicles, coolant_tests)
    tests = judged() if passed is None else passed
    made = fills_of(rows, KNOWLEDGE, SETTINGS.whole_change_share)
    return what_is_in(made, rows, KNOWLEDGE, SETTINGS, tests)
