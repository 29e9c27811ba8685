"""The settings of one fleet, as written in fleetcool.toml; every default is one record's field."""

import dataclasses
import difflib
import tomllib
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

from fleetcool.errors import NotUsableError

BySize = dict[str, int]


def _by_size(light: int, medium: int, heavy: int) -> BySize:
    return {"light": light, "medium": medium, "heavy": heavy}


@dataclass(frozen=True, slots=True)
class Settings:
    """What one fleet has settled; money in whole cents of the one currency.

    All defaults are common practice, no source; *Trust* lists those that still stand.
    """

    currency: str = "USD"
    units: Literal["metric", "us"] = "metric"
    paper: Literal["A4", "Letter"] = "A4"
    home_zone: str = "UTC"
    as_of: date | None = None
    store: str | None = None
    dates: Literal["dmy", "mdy"] | None = None
    issue: str = "Thu 17:00"
    hour_cost: int = 9500
    outside_hour_cost: int = 14500
    visit_cost: int = 2500
    off_road_cost_per_day: BySize = field(default_factory=lambda: _by_size(14000, 24000, 42000))
    failure_cost_low: BySize = field(default_factory=lambda: _by_size(40000, 70000, 120000))
    failure_cost_mid: BySize = field(default_factory=lambda: _by_size(90000, 160000, 300000))
    failure_cost_high: BySize = field(default_factory=lambda: _by_size(350000, 700000, 1500000))
    horizon_weeks: int = 26
    frozen_days: int = 7
    first_week_share: float = 0.80
    baseline_months: int = 6
    baseline_used_days: int = 14
    whole_change_share: float = 75.0
    foreign_share: float = 10.0
    passed_test_share: float = 25.0
    upload_mb: int = 20
    unpacked_mb: int = 200
    most_rows: int = 500_000
    columns: dict[str, dict[str, str]] = field(default_factory=dict)

    def left_at_default(self) -> tuple[str, ...]:
        """Return the names of the settings that nobody has set."""
        plain = Settings()
        return tuple(
            one.name
            for one in dataclasses.fields(self)
            if getattr(self, one.name) == getattr(plain, one.name)
        )


_MONEY = {"hour_cost", "outside_hour_cost", "visit_cost"}
_MONEY_BY_SIZE = {
    "off_road_cost_per_day",
    "failure_cost_low",
    "failure_cost_mid",
    "failure_cost_high",
}


def read_settings(text: str, file: str = "fleetcool.toml") -> Settings:
    """Return the settings written in a TOML text.

    Raises:
        NotUsableError: the text is no TOML, a key is unknown (the nearest known one is named) or
            a value has the wrong type.
    """
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise NotUsableError(
            file, f"text that is not TOML ({fault})", "lines like units = 'us'", "mend that line"
        ) from None
    plain = Settings()
    return dataclasses.replace(
        plain, **{key: _value(file, key, value, plain) for key, value in written.items()}
    )


def _value(file: str, key: str, value: Any, plain: Settings) -> Any:  # noqa: ANN401 - TOML
    known = [one.name for one in dataclasses.fields(plain)]
    if key not in known:
        near = difflib.get_close_matches(key, known, 1, 0.0)[0]
        raise NotUsableError(
            file, f'the unknown setting "{key}"', f'one like "{near}"', "correct or remove it"
        )
    if key in _MONEY and isinstance(value, int | float) and not isinstance(value, bool):
        return round(value * 100)
    if key in _MONEY_BY_SIZE and isinstance(value, dict):
        return _sizes(file, key, value, getattr(plain, key))
    expected = _EXPECTED.get(key)
    if expected is not None and value not in expected:
        raise NotUsableError(file, f"{key} = {value!r}", " or ".join(expected), "choose one")
    standard = getattr(plain, key)
    if key == "as_of" and isinstance(value, str):
        return _as_of(file, value)
    fits = (
        isinstance(value, date | str)
        if standard is None
        else isinstance(value, int | float)
        if isinstance(standard, float)
        else type(value) is type(standard)
    )
    if not fits:
        what = "text" if standard is None else f"a value like {standard!r}"
        raise NotUsableError(file, f"{key} = {value!r}", what, "correct it")
    return value


_EXPECTED = {"units": ("metric", "us"), "paper": ("A4", "Letter"), "dates": ("dmy", "mdy")}


def _as_of(file: str, value: str) -> date:
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise NotUsableError(
            file, f'as_of = "{value}"', "a day like 2026-11-05", "correct it"
        ) from None


def _sizes(file: str, key: str, value: dict[str, Any], plain: BySize) -> BySize:
    for size, amount in value.items():
        if size not in plain or not isinstance(amount, int | float):
            raise NotUsableError(
                file,
                f"{key}.{size} = {amount!r}",
                "an amount for light, medium or heavy",
                "correct it",
            )
    return plain | {size: round(amount * 100) for size, amount in value.items()}
