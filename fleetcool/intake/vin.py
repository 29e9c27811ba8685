"""Does a vehicle identification number carry the check digit it should, and what may be meant?"""

from dataclasses import dataclass

WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_LETTERS = dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True)
) | {str(digit): digit for digit in range(10)}
_SLIPS = str.maketrans({"O": "0", "I": "1", "Q": "0"})


@dataclass(frozen=True, slots=True)
class VinCheck:
    """What the arithmetic says of one number.

    Attributes:
        sum: the weighted sum, or None when a sign has no value or the length is not 17.
        digit: the check digit that belongs at place 9, empty when there is no sum.
        fits: whether place 9 carries it.
    """

    sum: int | None
    digit: str
    fits: bool


def check_vin(vin: str) -> VinCheck:
    """Check the digit at place 9 of a vehicle identification number.

    Spaces and lower case do not matter. World codes outside North America do not require the
    digit, so a misfit is a warning, never a refusal.

    **Source:** 49 CFR 565.15(c): values of the letters, weights, sum modulo 11, 10 is X.
    """
    text = clean_vin(vin)
    if len(text) != 17 or any(sign not in _LETTERS for sign in text):
        return VinCheck(None, "", fits=False)
    total = sum(_LETTERS[sign] * weight for sign, weight in zip(text, WEIGHTS, strict=True))
    digit = "0123456789X"[total % 11]
    return VinCheck(total, digit, fits=text[8] == digit)


def clean_vin(vin: str) -> str:
    """Return a number in upper case without spaces and hyphens."""
    return "".join(vin.split()).replace("-", "").upper()


def vin_sentence(unit: str, vin: str) -> str | None:
    """Return what is odd about a number and what may be meant, None when nothing is.

    O, I and Q never appear (49 CFR 565.15); 0, 1 and 0 are offered instead, never put in silently.
    """
    text = clean_vin(vin)
    if check_vin(text).fits:
        return None
    start = f'vehicle {unit}: the VIN "{vin}"'
    if len(text) != 17:
        return f"{start} has {len(text)} signs instead of 17; look at the plate."
    meant = text.translate(_SLIPS)
    if meant != text:
        sure = " whose check digit fits" if check_vin(meant).fits else ""
        return f'{start} has a letter O, I or Q, which no VIN has; perhaps "{meant}"{sure}.'
    found = check_vin(text)
    if found.sum is None:
        return f"{start} has signs that no VIN has; look at the plate."
    return (
        f"{start} has {text[8]} at place 9 where {found.digit} would fit; "
        "look at the plate (numbers from outside North America need not fit)."
    )
