"""What tests of supply share: two small layouts, the visits and due days of van 104."""

from collections.abc import Mapping, Sequence
from datetime import date

import made_rows
import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.computed import QUANTILE_COLUMNS, Projection
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing

AS_OF = days.number(date(2026, 11, 5))
MONDAY = AS_OF + 4
Row = Mapping[str, object]


def standing(**rows: Sequence[Row]) -> Standing:
    return made_rows.standing(AS_OF, rows)


def knowledge() -> Knowledge:
    """Two layouts: a van of 10 L and one alike whose pump another shop fits."""
    rows: dict[str, list[Row]] = {
        "services": [
            {"service": "coolant change", "kind": "change", "renews": "coolant", "wet": 1},
            {"service": "new pump", "kind": "renew", "renews": "pump", "wet": 1},
            {"service": "new thermostat", "kind": "renew", "renews": "thermostat", "wet": 1},
            {"service": "new drive belt", "kind": "renew", "renews": "drive belt", "wet": 0},
        ],
        "layouts": [
            {"layout": name, "coolant_litres": 10, "drains_radiator_pct": 40,
             "drains_all_pct": 80, "coolant_kind": "OAT"}
            for name in ("van", "other van")
        ],
        "layout_services": [
            {"layout": "van", "service": "new pump", "drain_share": 70, "where": "own"},
            {"layout": "van", "service": "new thermostat", "drain_share": 50, "where": "own"},
            {"layout": "other van", "service": "new pump", "drain_share": 70, "where": "outside"},
        ],
        "layout_parts": [
            {"layout": "van", "service": "new pump", "part": "V-PUMP", "quantity": 1, "shared": 0},
            {"layout": "van", "service": "new pump", "part": "V-SEAL", "quantity": 1, "shared": 1},
            {"layout": "van", "service": "new thermostat", "part": "V-THERMOSTAT", "quantity": 1},
            {"layout": "van", "service": "new thermostat", "part": "V-SEAL", "shared": 1},
            {"layout": "van", "service": "new drive belt", "part": "V-BELT", "quantity": 1},
            {"layout": "van", "service": "coolant change", "part": "DOSE", "only_with": "NOAT"},
            {"layout": "other van", "service": "new pump", "part": "O-PUMP", "quantity": 1},
        ],
        "coolants": [
            {"coolant": "OAT eg", "kind": "OAT", "premix_part": "COOL-OAT-P"},
            {"coolant": "NOAT eg", "kind": "NOAT", "premix_part": "COOL-NOAT-P"},
        ],
    }  # fmt: skip
    names = list(Knowledge.__dataclass_fields__)
    return Knowledge(**{name: made_rows.table(name, rows.get(name, [])) for name in names})


def planned(*visits: tuple[str, float, bool, Sequence[str]]) -> Plan:
    """Return a plan of visits of van 104: number, first day, fixed, services."""
    none = pd.DataFrame()
    return Plan(
        start=MONDAY,
        visits=pd.DataFrame(
            [(number, "104", "NORTH", on, fixed) for number, on, fixed, _ in visits],
            columns=["visit", "vehicle", "depot", "start_on", "fixed"],
        ),
        visit_services=pd.DataFrame(
            [(number, "104", name, 1) for number, _, _, names in visits for name in names],
            columns=["visit", "vehicle", "service", "occurrence"],
        ),
        rounds=none,
        not_placed=none,
        weeks=none,
        other_days=none,
        while_open=none,
        let_go=none,
    )


def projected(*services: tuple[str, float, float, bool]) -> Projection:
    """Return what falls due of van 104: service, day, spread [d], whether the baseline decides."""
    due = pd.DataFrame(
        [
            ("104", name, 1, *(day + spread * np.arange(-4, 5)), open_clock)
            for name, day, spread, open_clock in services
        ],
        columns=["vehicle", "service", "occurrence", *QUANTILE_COLUMNS, "open_clock"],
    )
    none = pd.DataFrame()
    return Projection(due, none, none, none, none)
