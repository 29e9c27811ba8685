"""What the operator buys and keeps: parts, offers, stock, open orders, what came in."""

from random import Random

from demo_fleet.making.operator import Rows
from demo_fleet.making.pumps import WEARS_OUT

_LAYOUTS = {  # prefix of the shipped part ids → digits in the operator's own numbers
    "P4T": "11",
    "P4D": "12",
    "P6F": "21",
    "D4V": "22",
    "P8F": "31",
    "D6M": "41",
    "D6H": "51",
}
_WHATS = {  # code, what it is, counted in, price for a light vehicle, supplier, lead days, where
    "PUMP": ("WP", "coolant pump", "each", 118.00, "Aldermoor Parts", 4, ""),
    "THERMOSTAT": ("TH", "thermostat", "each", 31.50, "Aldermoor Parts", 2, ""),
    "CAP": ("CP", "pressure cap", "each", 14.20, "Aldermoor Parts", 2, ""),
    "HOSE-UPPER": ("HU", "upper hose", "each", 28.40, "Kestrel Hose and Belt", 5, ""),
    "HOSE-LOWER": ("HL", "lower hose", "each", 33.10, "Kestrel Hose and Belt", 5, ""),
    "HOSE-HEATER": ("HH", "heater hose", "each", 20.60, "Kestrel Hose and Belt", 6, ""),
    "HOSE-BYPASS": ("HB", "bypass hose", "each", 12.90, "Kestrel Hose and Belt", 6,
                    "P4D P6F P8F D4V D6M D6H"),
    "BELT-DRIVE": ("BD", "drive belt", "each", 38.60, "Kestrel Hose and Belt", 3, ""),
    "BELT-SECOND": ("BS", "second belt", "each", 24.80, "Kestrel Hose and Belt", 3, "P6F D6M D6H"),
    "BELT-TIMING": ("BT", "timing belt", "each", 64.50, "Kestrel Hose and Belt", 7, "P4T"),
    "TENSIONER": ("TN", "belt tensioner", "each", 72.30, "Aldermoor Parts", 4, ""),
    "IDLER": ("ID", "idler", "each", 26.70, "Aldermoor Parts", 4, ""),
    "FAN-DRIVE": ("FD", "fan drive", "each", 168.00, "Aldermoor Parts", 9, "P6F P8F D4V D6M D6H"),
    "TANK": ("TK", "expansion tank", "each", 84.00, "Aldermoor Parts", 8, ""),
    "FILTER": ("CF", "coolant filter", "each", 18.90, "Twinlake Truck Supply", 4, "D6H"),
    "GASKET-PUMP": ("GP", "pump gasket", "each", 7.80, "Aldermoor Parts", 4, ""),
    "GASKET-THERMOSTAT": ("GT", "thermostat gasket", "each", 4.10, "Aldermoor Parts", 2, ""),
    "SEAL-DRAIN": ("SD", "drain plug seal", "each", 1.90, "Aldermoor Parts", 2, ""),
    "CLEANER": ("CC", "cooling pack cleaner, one dose", "each", 8.40, "Quarry Fluids", 7, ""),
    "CLIPS": ("CL", "hose clips", "set", 9.60, "Kestrel Hose and Belt", 3, ""),
}  # fmt: skip
_DEAR = {"P4T": 1.0, "P4D": 1.0, "P6F": 1.2, "D4V": 1.3, "P8F": 1.5, "D6M": 2.1, "D6H": 3.4}
COOLANTS = {"OAT": 6.40, "HOAT": 6.10, "P-HOAT": 6.90, "Si-OAT": 7.20, "NOAT": 6.60,
            "conventional heavy": 5.20}  # fmt: skip
"""Coolant kinds bought, with the price of a litre of concentrate."""

_SHOPS = ("NORTH", "HARBOUR", "PRAIRIE")
_CHEAP_PUMP = {
    "part": WEARS_OUT,
    "what": "coolant pump, P4D, plain box",
    "counted_in": "each",
    "same_as": "P4D-PUMP",
    "warranty_months": "12",
}


def _each_part() -> list[tuple[str, str]]:
    return [
        (prefix, what)
        for prefix in _LAYOUTS
        for what, (*_, where) in _WHATS.items()
        if not where or prefix in where.split()
    ]


def number(prefix: str, what: str) -> str:
    """Return the operator's own number of a shipped part."""
    return f"{_WHATS[what][0]}-{_LAYOUTS[prefix]}01"


def parts() -> Rows:
    """Return the table `parts`."""
    rows = [
        {
            "part": number(prefix, what),
            "what": f"{_WHATS[what][1]}, {prefix}",
            "counted_in": _WHATS[what][2],
            "same_as": f"{prefix}-{what}",
            "core_value": "45.00" if what == "PUMP" and prefix in {"D6M", "D6H"} else "",
            "core_days": "60" if what == "PUMP" and prefix in {"D6M", "D6H"} else "",
            "warranty_months": "24" if what in {"PUMP", "FAN-DRIVE"} else "12",
            "shelf_months": "48" if what.startswith(("HOSE", "BELT")) else "",
        }
        for prefix, what in _each_part()
    ]
    rows += [
        {
            "part": f"LQ-{n + 1}{form}",
            "what": f"coolant {kind}, " + ("concentrate" if form == "C" else "mixed 50 %"),
            "counted_in": "L",
            "same_as": f"COOL-{kind.upper().replace(' ', '-')}-{form}",
            "shelf_months": "36",
        }
        for n, kind in enumerate(COOLANTS)
        for form in "CP"
    ]
    return [*rows, _CHEAP_PUMP]


def offers() -> Rows:
    """Return the table `offers`: a price for each part, breaks, packs, some with two suppliers."""
    rows: Rows = []
    for prefix, what in _each_part():
        _, _, _, price, supplier, lead, _ = _WHATS[what]
        part, price = number(prefix, what), price * _DEAR[prefix]
        if prefix in {"D6M", "D6H"} and supplier == "Aldermoor Parts":
            supplier, lead = "Twinlake Truck Supply", lead + 3
        packed = "10" if what.startswith(("GASKET", "CLIPS", "SEAL", "CLEANER")) else "1"
        rows.append(_offer(part, supplier, price, lead, "1", packed))
        if what in {"BELT-DRIVE", "CAP", "THERMOSTAT"}:
            rows.append(_offer(part, supplier, price * 0.9, lead, "6", packed))
        if what in {"BELT-DRIVE", "PUMP"} and prefix in {"P4T", "P4D", "P6F"}:
            rows.append(_offer(part, "Twinlake Truck Supply", price * 1.06, 1, "1", packed))
    rows.append(_offer(WEARS_OUT, "Twinlake Truck Supply", 79.00, 2, "1", "1"))
    for n, price in enumerate(COOLANTS.values()):
        for form, share in (("C", 1.0), ("P", 0.62)):
            part = f"LQ-{n + 1}{form}"
            rows.append(_offer(part, "Quarry Fluids", price * share, 7, "20", "20"))
            rows.append(_offer(part, "Quarry Fluids", price * share * 0.88, 10, "205", "205"))
    return sorted(rows, key=lambda row: (row["part"], row["supplier"], float(row["from_quantity"])))


def _offer(  # noqa: PLR0913, PLR0917 - the cells of one line
    part: str, supplier: str, price: float, lead: int, from_quantity: str, pack: str
) -> dict[str, str]:
    return {
        "part": part,
        "supplier": supplier,
        "their_number": f"{supplier[0]}{part.replace('-', '')}",
        "price": f"{price:.2f}",
        "from_quantity": from_quantity,
        "pack": pack,
        "smallest": from_quantity if pack != "1" else "1",
        "lead_days": str(lead),
        "lead_spread_days": str(max(1, lead // 3)),
        "since": "2026-01-05",
    }


def stock(counted_on: str, seed: str, taken: int = 0) -> Rows:
    """Return the table `stock` as counted on a day; `taken` pieces fewer of what is plenty."""
    chance = Random(seed)
    rows: Rows = []
    for n, row in enumerate(parts()):
        for k, depot in enumerate(_SHOPS):
            have, draw = row["part"], chance.random()
            if row["counted_in"] == "L":
                count = round(draw * 4) * 20 if have.endswith("P") else round(draw * 2) * 20
            elif have.startswith(("GT", "GP", "CL", "CP", "SD", "CC", "HH")):
                count = round(draw * 9)
            else:
                count = round(draw * draw * 3)
            count = count - taken if count > 3 else count
            rows.append({
                "depot": depot,
                "part": have,
                "on_hand": str(count),
                "counted_on": counted_on,
                "keep_at_least": "1" if have.startswith(("BD", "CP")) else "",
                "bin": f"{'ABC'[k]}{n // 12 + 1}-{n % 12 + 1:02d}",
            })  # fmt: skip
    return rows


_ORDERS = """\
order,part,quantity,depot,supplier,ordered_on,promised_on,price
26-371,WP-2101,2,HARBOUR,Aldermoor Parts,2026-10-19,2026-10-26,141.60
26-379,HB-2201,1,HARBOUR,Kestrel Hose and Belt,2026-10-19,2026-11-12,16.77
26-379,HU-2101,1,HARBOUR,Kestrel Hose and Belt,2026-10-19,2026-11-12,34.08
26-382,CC-5101,10,PRAIRIE,Quarry Fluids,2026-10-26,2026-11-06,28.56
26-384,BD-1201,6,NORTH,Kestrel Hose and Belt,2026-11-02,2026-11-06,34.74
26-384,HU-1201,4,NORTH,Kestrel Hose and Belt,2026-11-02,2026-11-06,28.40
26-385,CF-5101,3,PRAIRIE,Twinlake Truck Supply,2026-11-02,2026-11-09,64.26
26-385,SD-4101,10,PRAIRIE,Twinlake Truck Supply,2026-11-02,2026-11-09,3.99
26-386,LQ-5C,205,NORTH,Quarry Fluids,2026-11-02,2026-11-12,5.81
26-387,WP-4101,1,PRAIRIE,Twinlake Truck Supply,2026-11-03,2026-11-13,247.80
26-388,TH-1101,5,NORTH,Aldermoor Parts,2026-11-04,2026-11-09,31.50
"""
"""Open order lines; 26-371 is late."""

RECEIVED = "26-384"
ORDERS = _ORDERS
ORDERS_A_WEEK_LATER = (
    "".join(line for line in _ORDERS.splitlines(keepends=True) if RECEIVED not in line)
    + "26-391,BD-1101,6,NORTH,Kestrel Hose and Belt,2026-11-09,2026-11-13,34.74\n"
)
RECEIPTS = """\
part,on,quantity,order,depot,how
TH-3101,2026-09-14,3,26-322,HARBOUR,right
HL-4101,2026-10-06,2,26-349,PRAIRIE,right
CP-5101,2026-10-21,6,26-366,NORTH,right
"""
RECEIPTS_A_WEEK_LATER = """\
part,on,quantity,order,depot,how
BD-1201,2026-11-06,6,26-384,NORTH,right
HU-1201,2026-11-06,4,26-384,NORTH,right
"""
SENT_BACK = """\
part,on,quantity,why,supplier,credit_due,credited_on
WP-4101,2025-09-02,1,core,Twinlake Truck Supply,45.00,2025-10-01
HU-2201,2026-10-13,1,wrong,Kestrel Hose and Belt,36.92,
"""
VEHICLE_PARTS = """\
unit,place,part,quantity
405,drive belt,BD-5101,1
"""
