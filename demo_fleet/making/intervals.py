"""How often the operator does each service, and how long it takes him."""

from demo_fleet.making.vehicles import Vehicle

MINUTES = {  # working minutes written on the repair order: light, medium, heavy
    "coolant change": (85, 130, 160),
    "new hoses": (135, 190, 225),
    "new pump": (170, 270, 305),
    "new thermostat": (95, 145, 180),
    "new cap": (11, 11, 11),
    "new drive belt": (20, 24, 75),
    "new second belt": (28, 25, 31),
    "new timing belt": (170, 170, 170),
    "new tensioner": (30, 40, 95),
    "new idlers": (18, 24, 75),
    "new fan drive": (48, 70, 95),
    "new expansion tank": (80, 105, 125),
    "new coolant filter": (30, 30, 30),
    "additive dose": (11, 11, 11),
    "pressure test": (17, 22, 26),
    "pack cleaning": (20, 27, 34),
}

_FOREVER = 10_000_000
EVERY = {  # km, hours, months for light, medium, heavy; common practice, no source
    "coolant change": ((150_000, _FOREVER, 56), (_FOREVER, 6000, 68), (_FOREVER, 6000, 68)),
    "new hoses": ((96_000, _FOREVER, 60), (_FOREVER, _FOREVER, 60), (_FOREVER, _FOREVER, 60)),
    "new pump": ((150_000, _FOREVER, 120), (320_000, 8000, 120), (640_000, 12_000, 120)),
    "new thermostat": ((160_000, _FOREVER, 96), (320_000, _FOREVER, 72), (500_000, _FOREVER, 72)),
    "new cap": ((_FOREVER, _FOREVER, 48),) * 3,
    "new drive belt": ((150_000, _FOREVER, 96), (160_000, _FOREVER, 48), (240_000, _FOREVER, 24)),
    "new second belt": ((90_000, _FOREVER, 36), (90_000, _FOREVER, 36), (160_000, _FOREVER, 36)),
    "new timing belt": ((120_000, _FOREVER, 84),) * 3,
    "new tensioner": ((150_000, _FOREVER, 96), (240_000, _FOREVER, 72), (480_000, _FOREVER, 72)),
    "new idlers": ((150_000, _FOREVER, 96), (240_000, _FOREVER, 72), (480_000, _FOREVER, 72)),
    "new fan drive": ((160_000, _FOREVER, 96), (240_000, _FOREVER, 60), (480_000, _FOREVER, 60)),
    "new expansion tank": ((_FOREVER, _FOREVER, 120),) + ((_FOREVER, _FOREVER, 96),) * 2,
    "new coolant filter": ((80_000, 1000, 24),) * 3,
    "additive dose": ((480_000, 3000, 36),) * 3,
    "pack cleaning": ((_FOREVER, _FOREVER, 36), (_FOREVER, _FOREVER, 18), (_FOREVER, _FOREVER, 12)),
    "coolant test": ((_FOREVER, _FOREVER, 12), (_FOREVER, 1000, 6), (_FOREVER, 1000, 6)),
    "look-over": ((40_000, _FOREVER, 12), (60_000, _FOREVER, 6), (60_000, _FOREVER, 6)),
}
COOLANT_EVERY = {  # where the kind of coolant decides
    ("P-HOAT", 0): (80_000, _FOREVER, 60),
    ("OAT", 0): (240_000, _FOREVER, 60),
    ("HOAT", 0): (160_000, _FOREVER, 60),
    ("Si-OAT", 0): (150_000, _FOREVER, 48),
    ("conventional heavy", 1): (240_000, 3000, 24),
    ("conventional heavy", 2): (240_000, 3000, 24),
    ("HOAT", 1): (400_000, 8000, 48),
    ("OAT", 2): (960_000, 12_000, 72),
}
SEVERE = {"coolant change": 1.0, "new hoses": 0.8, "new thermostat": 0.8, "new cap": 1.0,
          "new expansion tank": 1.0, "additive dose": 1.0, "pack cleaning": 0.5,
          "look-over": 0.5}  # fmt: skip
"""Severe duty: the share of the usual time; three quarters for what is not named."""

WET = {"coolant change", "new hoses", "new pump", "new thermostat", "new expansion tank"}
"""Services for which coolant is let out and filled in again."""

SECOND_BELT = {"petrol six fan", "diesel six medium", "diesel six heavy"}


def size(one: Vehicle) -> int:
    """Return 0 for a light, 1 for a medium and 2 for a heavy vehicle."""
    layout = one.kind.layout
    return {"petrol eight fan": 1, "diesel six medium": 1, "diesel six heavy": 2}.get(layout, 0)


def months_between(one: Vehicle, service: str) -> float:
    """Return how often the operator does a service [months]; distances as months of its use."""
    n = size(one)
    km, hours_, months = EVERY[service][n]
    if service == "coolant change":
        kind = one.coolant.removesuffix(" eg")
        km, hours_, months = COOLANT_EVERY.get((kind, n), EVERY[service][n])
    if "timing" in one.kind.layout and service in {"new tensioner", "new idlers"}:
        km, months = 120_000, 84
    a_month = one.km_a_year / 12
    by_hours = hours_ / (a_month / one.kind.km_per_hour) if hours_ < _FOREVER else 1e6
    factor = SEVERE.get(service, 0.75) if one.duty == "severe" else 1.0
    if service == "coolant test" and one.duty == "severe" and n == 0:
        factor = 0.5
    elif service == "coolant test":
        factor = 1.0
    return factor * min(km / a_month, by_hours, float(months))
