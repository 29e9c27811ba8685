"""The vehicles of the invented operator: what they are, where they live, how much they go."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

KM_PER_MILE = 1.609344


@dataclass(frozen=True, slots=True)
class Kind:
    """One sort of vehicle: numbers on the doors, layout, invented maker, use in a year [km]."""

    first_unit: int
    count: int
    layout: str
    make: str
    model: str
    engine: str
    coolants: tuple[str, ...]
    km_low: int
    km_high: int
    km_per_hour: float
    works: str
    season: str
    code: str
    litres: float


@dataclass(frozen=True, slots=True)
class Vehicle:
    """One vehicle as the maker of the tables knows it, truths included."""

    kind: Kind
    unit: str
    depot: str
    year: int
    first_used: date
    joined: date
    miles: bool
    km_a_year: float
    season: str
    coolant: str
    duty: str
    pool: str
    vin: str
    plate: str
    leaves: date | None = None
    hardly_any: bool = False


KINDS = (
    Kind(101, 16, "petrol four timing belt", "Corvane", "Parcel 2", "1.8 petrol four",
         ("P-HOAT eg",), 19000, 31000, 30.0, "Mon-Fri 06-18", "flat", "CPTA2", 6.0),
    Kind(121, 24, "petrol four drive belt", "Wendmar", "Carry", "2.0 petrol four",
         ("OAT eg",), 18000, 31000, 30.0, "Mon-Sat 06-18", "december", "WCDB4", 7.0),
    Kind(201, 12, "petrol six fan", "Halmont", "Shuttler 14", "3.6 petrol six",
         ("HOAT eg",), 27000, 41000, 34.0, "Mon-Sun 05-21", "summer", "HSPS6", 11.0),
    Kind(213, 10, "diesel four van", "Brisken", "Highroof", "2.2 diesel four",
         ("Si-OAT eg",), 26000, 38000, 33.0, "Mon-Fri 05-19", "summer", "BHDF7", 10.0),
    Kind(301, 10, "petrol eight fan", "Halmont", "Cutaway 24", "6.2 petrol eight",
         ("OAT eg",), 15000, 25000, 27.0, "Mon-Fri 06-17", "school", "HCPE8", 17.0),
    Kind(311, 10, "diesel four van", "Brisken", "Cutaway 20", "2.2 diesel four",
         ("Si-OAT eg",), 19000, 30000, 28.0, "Mon-Fri 06-17", "school", "BCDF7", 10.0),
    Kind(401, 22, "diesel six medium", "Tarrowby", "M6", "6.7 diesel six",
         ("conventional heavy eg",), 18000, 32000, 32.0, "Mon-Fri 05-17", "plough",
         "TMDS6", 25.0),
    Kind(501, 16, "diesel six heavy", "Osgarth", "Hauler H", "12.8 diesel six",
         ("NOAT eg",), 45000, 80000, 48.0,
         "Mon-Sat 04-20", "flat", "GHDS9", 45.0),
)  # fmt: skip

_DEPOTS = {
    100: ("NORTH", "NORTH", "PRAIRIE", "MILL", "NORTH"),
    200: ("HARBOUR", "HARBOUR", "NORTH", "HARBOUR", "PRAIRIE"),
    300: ("HARBOUR", "PRAIRIE", "MILL", "HARBOUR"),
    400: ("NORTH", "PRAIRIE", "NORTH", "MILL", "HARBOUR"),
    500: ("NORTH", "PRAIRIE", "NORTH", "NORTH"),
}
_YEAR_LETTERS = dict(zip(range(2010, 2028), "ABCDEFGHJKLMNPRSTV", strict=True))
_LETTER_VALUES = dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (*range(1, 9), *range(1, 6), 7, 9, *range(2, 10)), strict=True)
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def check_digit(vin: str) -> str:
    """Return the check character of a 17-character number; its ninth character is not used.

    **Source:** 49 CFR 565.15(c), tables III to V (letter values, weights, remainder; from memory).
    """
    total = sum(
        weight * (int(sign) if sign.isdigit() else _LETTER_VALUES[sign])
        for sign, weight in zip(vin, _WEIGHTS, strict=True)
        if weight
    )
    return "X" if total % 11 == 10 else str(total % 11)


def mended(vin: str) -> str:
    """Return a number with the check character that belongs to it."""
    return vin[:8] + check_digit(vin) + vin[9:]


def vehicles() -> list[Vehicle]:
    """Return every vehicle the operator has or had, by kind and door number."""
    chance = Random("demo fleet, vehicles")
    fleet = [_vehicle(kind, n, chance) for kind in KINDS for n in range(kind.count)]
    fleet = [_special(one) for one in fleet]
    return [_before_123(fleet), *fleet]


def _vehicle(kind: Kind, n: int, chance: Random) -> Vehicle:
    number = kind.first_unit + n
    depots = _DEPOTS[number // 100 * 100]
    depot = depots[n % len(depots)]
    used = date(2017, 1, 9) + timedelta(days=chance.randint(0, 2650))
    year = used.year + (used.month > 8)
    miles = depot == "PRAIRIE" or number in {127, 405, 502}
    severe = number % 7 == 0 or (kind.season == "plough" and n % 4 == 0)
    return Vehicle(
        kind,
        str(number),
        depot,
        year,
        used,
        used + timedelta(days=chance.randint(3, 20)),
        miles,
        chance.uniform(kind.km_low, kind.km_high),
        kind.season if kind.season != "plough" or n % 3 == 0 else "flat",
        kind.coolants[n % len(kind.coolants)],
        "severe" if severe else "normal",
        _pool(number, depot, kind),
        _vin(kind, year, number),
        f"{'CB' if depot == 'PRAIRIE' else 'BN'} {chance.randint(10000, 99999)}",
    )


def _pool(number: int, depot: str, kind: Kind) -> str:
    if number < 200:
        return {"NORTH": "north vans", "PRAIRIE": "prairie vans"}.get(depot, "")
    if number < 300 and depot == "HARBOUR":
        return "harbour shuttles"
    return "school cutaways" if kind.season == "school" and depot == "HARBOUR" else ""


def _vin(kind: Kind, year: int, number: int, run: int = 0) -> str:
    bare = f"2Z9{kind.code}0{_YEAR_LETTERS[year]}L{run:03d}{number:03d}"
    return mended(bare)


def _special(one: Vehicle) -> Vehicle:
    """Return the vehicle with the few exceptions that the page about the demo names."""
    match one.unit:
        case "114":  # bought used five weeks ago
            used = date(2020, 6, 15)
            vin = _vin(one.kind, 2020, 114)
            return replace(one, first_used=used, joined=date(2026, 10, 1), year=2020, vin=vin)
        case "123":  # took over the door number of a van that left
            new = date(2025, 3, 17)
            return replace(
                one, first_used=new, joined=new, year=2025, vin=_vin(one.kind, 2025, 123)
            )
        case "417":  # sold next month
            return replace(one, leaves=date(2026, 12, 4))
        case "131" | "222" | "308" | "420":
            return replace(one, hardly_any=True)
        case "128":  # copied wrongly from the papers: one digit of the number is off
            wrong = one.vin[:-1] + str((int(one.vin[-1]) + 3) % 10)
            return replace(one, vin=wrong)
        case _:
            return one


def _before_123(fleet: list[Vehicle]) -> Vehicle:
    """Return the van that carried 123 until it left."""
    now = next(one for one in fleet if one.unit == "123")
    used = date(2016, 4, 18)
    return replace(
        now,
        first_used=used,
        joined=date(2016, 4, 25),
        year=2016,
        vin=_vin(now.kind, 2016, 123, 7),
        plate="BN 20417",
        leaves=date(2025, 3, 10),
    )


def shown(one: Vehicle, km: float) -> str:
    """Return a distance as the clerk writes it: whole kilometres or miles, as the vehicle shows."""
    return str(round(km / KM_PER_MILE) if one.miles else round(km))
