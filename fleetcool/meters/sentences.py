"""What is said of an odd reading, with the numbers in it and what was done."""

from collections.abc import Callable

import numpy as np

from fleetcool.meters.causes import CAUSES, CODE, Found, Repaired
from fleetcool.meters.digits import SLIPS
from fleetcool.meters.gather import METERS, Gathered, Texts
from fleetcool.meters.lasting import TENTHS
from fleetcool.model.days import day_text
from fleetcool.units import KM_PER_MILE

_SLIPS = dict(
    zip(
        SLIPS,
        (
            "",
            "one digit is other than in {}, which would fit",
            "two digits are swapped: {} would fit",
            "a digit is missing: {} would fit",
            "a digit too many: {} would fit",
            "a digit is there twice: {} would fit",
        ),
        strict=True,
    )
)
_ASK = "please say whether the unit changed"
_ASK_POINT = "please say whether the point was left out"


def sentences(gathered: Gathered, repaired: Repaired, found: Found) -> Texts:
    """Return a phrase for each odd reading, "" for the others, shape (n,)."""
    result = np.full(len(gathered.on), "", dtype=object)
    writer = _Writer(gathered, repaired, found)
    by_cause = writer.by_cause()
    doubled = found.cause == CODE["same day"]
    result[doubled] = "a larger or equal reading of the same day is used"
    odd = (found.cause > 0) & ~doubled
    going_on = (found.cause == 0) & found.lasting
    for at in np.flatnonzero(odd):
        result[at] = by_cause[CAUSES[found.cause[at]]](int(at))
    for at in np.flatnonzero(going_on):
        result[at] = writer.going_on(int(at))
    return result


class _Writer:
    """Writes the phrases of one fleet's readings."""

    def __init__(self, gathered: Gathered, repaired: Repaired, found: Found) -> None:
        self._gathered, self._repaired, self._found = gathered, repaired, found
        self._days: dict[float, str] = {}

    def by_cause(self) -> dict[str, Callable[[int], str]]:
        """Return what writes the phrase of each cause."""
        return {
            "rollover": self._rollover,
            "replaced meter": self._replaced,
            "long run": self._long_run,
            "miles for km": lambda at: self._unit(at, "miles"),
            "km for miles": lambda at: self._unit(at, "km"),
            "tenths without the point": self._tenths,
            "another unit's reading": self._other_unit,
            "hours for distance": lambda at: self._other_meter(at, "hour meter", "h"),
            "distance for hours": lambda at: self._other_meter(at, "odometer", "km"),
            "typo": self._typo,
            "too much": lambda at: f"more than can have been run since {self._before(at)}",
            "too high": lambda at: (
                f"higher than the reading of {self._after(at)}, which comes later"
            ),
            "too low": self._too_low,
            "below nothing": lambda _: "a meter cannot show less than nothing",
            "alone": lambda _: "it agrees with no other reading",
            "said not right": self._said,
        }

    def value(self, at: int) -> str:
        """Write what a reading is taken for."""
        return self._number(float(self._repaired.taken.value[at]), at)

    def _number(self, value: float, at: int) -> str:
        """Write km or hours in the unit the meter of a reading shows."""
        if self._gathered.series[at] % len(METERS):
            return f"{value:,.1f} h".replace(".0 h", " h")
        if self._in_miles(at):
            return f"{value / KM_PER_MILE:,.0f} mi"
        return f"{value:,.0f} km"

    def _in_miles(self, at: int) -> bool:
        return bool(self._gathered.in_miles[self._gathered.series[at] // len(METERS)])

    def _day(self, at: int) -> str:
        on = float(self._gathered.on[at])
        if on not in self._days:
            self._days[on] = day_text(on)
        return self._days[on]

    def _before(self, at: int) -> str:
        return self._day(int(self._found.before[at]))

    def _after(self, at: int) -> str:
        return self._day(int(self._found.after[at]))

    def _rollover(self, at: int) -> str:
        added = float(self._repaired.taken.rolls_at[self._found.before[at]])
        return (
            f"the meter passed its last figure after {self._before(at)} and began again at nil: "
            f"{self._number(added, at)} are added"
        )

    def _replaced(self, at: int) -> str:
        before = int(self._found.before[at])
        return (
            f"from {self.value(before)} on {self._day(before)} to {self.value(at)}, and later "
            "readings go on from there: taken as a new meter, what was run before is kept; "
            "please say whether it was replaced"
        )

    def _long_run(self, at: int) -> str:
        before = int(self._found.before[at])
        run = self._repaired.taken.value[at] - self._repaired.taken.value[before]
        return (
            f"{self._number(float(run), at)} since {self._day(before)} is far more than usual, but "
            "later readings go on from there: used as it is"
        )

    def going_on(self, at: int) -> str:
        """Write what a reading is used as that goes on being typed as the one before it."""
        tenths = self._repaired.factor[at] == TENTHS
        how = "tenths without the point" if tenths else "typed in another unit"
        return f"{how}, used as {self.value(at)}"

    def _unit(self, at: int, unit: str) -> str:
        return self._converted(at, unit, f"typed in {unit}", _ASK)

    def _tenths(self, at: int) -> str:
        name = CAUSES[CODE["tenths without the point"]]
        return self._converted(at, name, name, _ASK_POINT)

    def _converted(self, at: int, name: str, typed: str, ask: str) -> str:
        fits = self._number(float(self._found.proposed[at]), at)
        if not self._repaired.used[at]:
            return f"it would fit as {name}, {fits}"
        if not self._found.lasting[at]:
            return f"it fits as {name}: used as {fits}"
        until = int(self._found.until[at])
        when = "from this day on" if until < 0 else f"until {self._day(until)}"
        return f"{typed} {when}: used as {fits}; {ask}"

    def _other_unit(self, at: int) -> str:
        unit = self._gathered.units[self._found.other[at]]
        shown = self._number(float(self._found.shown[at]), at)
        return f"looks like unit {unit}'s, whose meter showed about {shown} that day"

    def _other_meter(self, at: int, meter: str, unit: str) -> str:
        shown = float(self._found.shown[at])
        if unit == "km" and self._in_miles(at):
            shown, unit = shown / KM_PER_MILE, "mi"
        return f"looks like its own {meter}, which showed about {shown:,.0f} {unit} that day"

    def _typo(self, at: int) -> str:
        meant = self._number(float(self._found.proposed[at]), at)
        return _SLIPS[SLIPS[self._found.slip[at]]].format(meant)

    def _too_low(self, at: int) -> str:
        before, after = int(self._found.before[at]), int(self._found.after[at])
        value = self._repaired.taken.value
        if before >= 0 and value[at] < value[before]:
            return f"lower than the reading of {self._before(at)}, which comes earlier"
        return f"too low beside the reading of {self._day(after)}"

    def _said(self, at: int) -> str:
        instead = float(self._gathered.instead[at])
        if np.isnan(instead):
            return "said to be not right"
        return f"said to be {self._number(instead, at)} instead"
