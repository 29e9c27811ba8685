"""The few vehicles with a told story: what was done to them, and what their tests showed."""

from dataclasses import dataclass
from datetime import date

from demo_fleet.making.operator import Rows

UNKNOWN = "blue, label lost"
"""A coolant that an outside shop poured in and nobody can name; the table `coolants` has it."""


@dataclass(frozen=True, slots=True)
class Past:
    """The wet work of one vehicle: a whole change, and perhaps one work that drained a part.

    Other wet work that chance would put after `changed_on` is done on `rest_on` instead, so the
    coolant is let out on no other day.
    """

    changed_on: date
    rest_on: date
    partly_on: date | None = None
    service: str = ""
    share: int = 0
    coolant: str = ""
    where: str = "own"
    note: str = ""


PAST = {
    "126": Past(date(2024, 1, 15), date(2024, 1, 15)),
    "130": Past(
        date(2022, 1, 17),
        date(2024, 7, 15),
        date(2024, 7, 15),
        "new pump",
        45,
        note="radiator drain only, refilled with the same",
    ),
    "201": Past(date(2024, 10, 14), date(2024, 10, 14)),
    "219": Past(
        date(2025, 9, 8),
        date(2025, 9, 8),
        coolant=UNKNOWN,
        where="outside",
        note="hose burst on tour; the shop there could not say what it filled",
    ),
    "408": Past(
        date(2025, 1, 20),
        date(2025, 1, 20),
        date(2026, 1, 26),
        "coolant change",
        65,
        note="block plug would not turn, radiator drained only",
    ),
    "516": Past(date(2025, 2, 10), date(2025, 2, 10)),
}

TOPPED_UP = {  # unit: what was poured, the days with litres, what was noted
    "110": ("OAT eg", ((date(2026, 10, 19), 0.8),), "wrong can taken, orange label"),
    "115": (
        "P-HOAT eg",
        (
            (date(2026, 6, 29), 0.5),
            (date(2026, 8, 3), 0.9),
            (date(2026, 9, 4), 1.1),
            (date(2026, 10, 2), 1.2),
            (date(2026, 10, 26), 1.3),
        ),
        "level low at the yard check",
    ),
    "304": (
        "water",
        (
            (date(2026, 8, 31), 1.5),
            (date(2026, 9, 21), 1.5),
            (date(2026, 10, 9), 2.0),
            (date(2026, 10, 18), 1.0),
        ),
        "level low, only water at hand",
    ),
    "412": (
        "conventional heavy eg",
        (
            (date(2026, 7, 6), 1.0),
            (date(2026, 8, 12), 1.6),
            (date(2026, 9, 10), 1.8),
            (date(2026, 10, 24), 2.0),
        ),
        "level low at the yard check",
    ),
}

_COACH = (  # day, nitrite [ppm]: ten laboratory tests that fall
    (date(2025, 3, 10), 880),
    (date(2025, 5, 12), 840),
    (date(2025, 7, 14), 770),
    (date(2025, 9, 8), 735),
    (date(2025, 11, 10), 675),
    (date(2026, 1, 12), 640),
    (date(2026, 3, 16), 570),
    (date(2026, 5, 11), 535),
    (date(2026, 7, 13), 470),
    (date(2026, 9, 14), 430),
)
TESTS: dict[str, Rows] = {  # all tests of these vehicles since their story began
    "516": [
        {
            "on": day.isoformat(),
            "with": "lab",
            "glycol_pct": "51",
            "ph": "8.3",
            "nitrite_ppm": str(nitrite),
            "chloride_ppm": "24",
            "sulfate_ppm": "90",
            "lab_number": f"LK-{30210 + 377 * n}",
        }
        for n, (day, nitrite) in enumerate(_COACH)
    ],
    "126": [
        {"on": "2024-11-18", "with": "strip", "glycol_pct": "51", "ph": "8.5"},
        {"on": "2025-10-20", "with": "strip", "glycol_pct": "51", "ph": "8.5"},
        {"on": "2026-10-05", "with": "strip", "glycol_pct": "50", "ph": "8.0"},
    ],
    "130": [
        {"on": "2024-10-14", "with": "strip", "glycol_pct": "51", "ph": "8.5"},
        {"on": "2025-10-06", "with": "strip", "glycol_pct": "51", "ph": "8.5"},
        {
            "on": "2026-10-12",
            "with": "lab",
            "glycol_pct": "51",
            "ph": "8.2",
            "chloride_ppm": "18",
            "sulfate_ppm": "64",
            "lab_number": "LK-41507",
        },
    ],
}
NEWEST: dict[str, dict[str, str]] = {  # the newest test of these vehicles, beside the usual ones
    "108": {"on": "2026-10-09", "with": "refractometer", "glycol_pct": "46"},
    "137": {"on": "2026-10-29", "with": "strip", "glycol_pct": "50", "ph": "6.5"},
    "203": {"on": "2026-10-12", "with": "refractometer", "glycol_pct": "46"},
    "210": {"on": "2026-10-30", "with": "refractometer", "glycol_pct": "50"},
    "221": {"on": "2026-11-03", "with": "refractometer", "glycol_pct": "66"},
    "304": {"on": "2026-10-20", "with": "refractometer", "glycol_pct": "36"},
    "412": {"on": "2026-10-27", "with": "refractometer", "glycol_pct": "53"},
    "502": {"on": "2026-10-22", "with": "refractometer", "glycol_pct": "50"},
}
NOTED = {  # what was noted at the newest look-over
    "115": "damp below the pump, dry two hours later",
    "129": "two ribs chunked; the lower guard bolt is seized, oil it the day before",
    "201": "wet at the lower end; the undershield has two bolts of another size",
    "412": "hose swollen at the pump end, its clip is turned inwards",
    "216": "gauge stays low on the road; the housing has one bolt with a damaged head",
}

SEEN_LATELY: Rows = [  # what a look round the PRAIRIE yard found just before the as-of day
    {
        "unit": "417",
        "on": "2026-11-03",
        "thermostat": "R",
        "heater_hoses": "R",
        "note": "slow to warm, hoses hard; to be mended before it is handed over",
    },
    {
        "unit": "407",
        "on": "2026-11-03",
        "upper_hose": "R",
        "lower_hose": "R",
        "heater_hoses": "R",
        "note": "all hoses swollen at their ends",
    },
]


def coolants() -> Rows:
    """Return the table `coolants`: the one that nobody can name."""
    return [
        {
            "coolant": UNKNOWN,
            "kind": "",
            "base": "eg",
            "specification": "",
            "premix_pct": "50",
        }
    ]
