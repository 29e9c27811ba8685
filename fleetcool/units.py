"""Units of measure: exact factors, and the words people use for them.

Inside the program everything is km, hours, litres, °C, kPa, N·m, days and whole cents. These
factors are applied once, when a table is taken in, and again only when a page is written.
**Source:** inch, pound, mile and gallon are exact by definition (international yard and pound
agreement 1959; NIST SP 811, named from memory); the products are computed.
"""

KM_PER_MILE = 1.609344
LITRES_PER_US_GALLON = 3.785411784
LITRES_PER_US_QUART = 0.946352946
LITRES_PER_IMPERIAL_GALLON = 4.54609
KPA_PER_PSI = 6.894757293168361
KPA_PER_BAR = 100.0
NM_PER_LBF_IN = 0.1129848290276167
NM_PER_LBF_FT = 1.3558179483314004
MM_PER_INCH = 25.4
METRES_PER_FOOT = 0.3048
INCH_BELOW_NM = 20.0  # below it wrenches of the trade count in lbf·in; common practice, no source

TO_KM = {"km": 1.0, "mi": KM_PER_MILE}
TO_LITRES = {
    "L": 1.0,
    "us gal": LITRES_PER_US_GALLON,
    "imp gal": LITRES_PER_IMPERIAL_GALLON,
    "us qt": LITRES_PER_US_QUART,
}
TO_KPA = {"kPa": 1.0, "psi": KPA_PER_PSI, "bar": KPA_PER_BAR}
TO_NM = {"N·m": 1.0, "lbf·in": NM_PER_LBF_IN, "lbf·ft": NM_PER_LBF_FT}


def celsius(fahrenheit: float) -> float:
    """Return a temperature [°C] from one in °F."""
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(celsius_: float) -> float:
    """Return a temperature [°F] from one in °C."""
    return celsius_ * 1.8 + 32.0


def torque_text(torque_nm: float) -> str:
    """Return a torque [N·m] in both unit systems, as a job sheet prints it.

    Below 20 N·m the pound-force inch is used beside it, above the pound-force foot, as on the
    wrenches of the trade (common practice, no source). Below 10 N·m a tenth is told.
    """
    newton = f"{torque_nm:.1f}".removesuffix(".0") if torque_nm < 10.0 else f"{torque_nm:.0f}"
    if torque_nm < INCH_BELOW_NM:
        return f"{newton} N·m ({torque_nm / NM_PER_LBF_IN:.0f} lbf·in)"
    return f"{newton} N·m ({torque_nm / NM_PER_LBF_FT:.0f} lbf·ft)"
