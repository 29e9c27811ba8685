"""What an intake changed in what is in there: coolant, findings, and which readings are used."""

import numpy as np
import pandas as pd

from fleetcool.model.days import day_text
from fleetcool.units import KM_PER_MILE, fahrenheit

Frames = tuple[pd.DataFrame | None, pd.DataFrame | None]  # of one vehicle: before, after

_SAME = 0.5  # days or °C by which two figures may differ and be the same
_SAME_SHARE = 0.005
_FINDING = ["finding", "place", "service"]


def coolant_said(coolant: Frames, parcels: Frames, units: str) -> list[str]:
    """Say what one vehicle's coolant became: changed whole, share new, put off, freezing point.

    Args:
        coolant: its row of the coolant, before and after.
        parcels: its parcels, before and after.
        units: "us" or "metric".
    """
    was, now = (_first(one) for one in coolant)
    if not now:
        return []
    changed = _number(now, "whole_change_on")
    said = []
    if _moved(_number(was, "whole_change_on"), changed):
        said.append(f"The coolant was changed whole: its age is nil from {day_text(changed)}.")
    else:
        said += _new_share(parcels, changed)
    put_off = np.nan_to_num(_number(now, "put_off_share"))
    if put_off > np.nan_to_num(_number(was, "put_off_share")) + _SAME_SHARE:
        drained, passed = _number(now, "put_off_on"), _number(now, "passed_on")
        said.append(
            f"The partial drain of {day_text(drained)} puts the coolant change off, as the test of "
            f"{day_text(passed)} passed."
        )
    freezes = _number(now, "freezes_c")
    if _moved(_number(was, "freezes_c"), freezes):
        said.append(f"It freezes at {_degrees(freezes, units)} now.")
    return said


def _new_share(parcels: Frames, changed: float) -> list[str]:
    """Say what share of the coolant is new, while its age counts on."""
    before, after = parcels
    if after is None:
        return []
    old = set() if before is None else set(before["filled_on"].astype("float64"))
    filled = after["filled_on"].astype("float64")
    new = after[filled.notna() & ~filled.isin(old)]
    since = "first use" if np.isnan(changed) else day_text(changed)
    said = []
    for on, rows in new.groupby(new["filled_on"].astype("float64"), sort=True):
        share = 100 * float(rows["share"].astype("float64").sum())
        guessed = ", a share that was not told" if rows["assumed"].eq(1).any() else ""
        said.append(
            f"{share:.0f} % of the coolant is new on {day_text(float(str(on)))}{guessed}; "
            f"its age counts on from {since}."
        )
    return said


def findings_said(findings: Frames) -> list[str]:
    """Say what is found on one vehicle now and was not before, and what is settled."""
    was, now = (by_key(one) for one in findings)
    return [
        *(_finding(one) for key, one in now.items() if key not in was),
        *(f"Settled: {_named(one)}." for key, one in was.items() if key not in now),
    ]


def by_key(frame: pd.DataFrame | None) -> dict[tuple[str, ...], dict[str, object]]:
    """Return the findings of one vehicle by finding, place and service, sorted."""
    if frame is None or not len(frame):
        return {}
    keyed = {
        tuple(_text(one[name]) for name in _FINDING): {str(k): v for k, v in one.items()}
        for one in frame.to_dict("records")
    }
    return dict(sorted(keyed.items()))


def _named(one: dict[str, object]) -> str:
    place, finding = _text(one["place"]), _text(one["finding"])
    return finding if not place or place in finding else f"{place}: {finding}"


def _finding(one: dict[str, object]) -> str:
    service, why = _text(one["service"]), _text(one["why"]).rstrip(".")
    to_do = f", so {service} due {day_text(_number(one, 'due'))}" if service else ""
    return f"Raised: {_named(one)}{to_do}{f' ({why})' if why else ''}."


def meters_said(readings: pd.DataFrame | None, asked: pd.DataFrame | None, units: str) -> list[str]:
    """Say of each reading of one vehicle that came whether it is used, and why not.

    Args:
        readings: its readings as repaired, meter, on, raw, used, reason.
        asked: meter and on of those that came.
        units: "us" or "metric".
    """
    if readings is None or asked is None:
        return []
    keys = ["meter", "on"]
    wanted = asked[keys].drop_duplicates().astype({"on": "float64"})
    rows = readings.astype({"on": "float64"}).merge(wanted, on=keys)
    rows = rows.assign(raw=rows["raw"].astype("float64").round(1))
    order = ["on", "meter", "raw", "used"]
    rows = rows.sort_values(order, ascending=[True, True, True, False])
    rows = rows.drop_duplicates(["on", "meter", "raw"])
    return [_reading({str(k): v for k, v in one.items()}, units) for one in rows.to_dict("records")]


def _reading(one: dict[str, object], units: str) -> str:
    raw = _number(one, "raw")
    if one["meter"] != "odometer":
        value = f"Hour meter {raw:,.0f} h"
    elif units == "us":
        value = f"Odometer {raw / KM_PER_MILE:,.0f} mi"
    else:
        value = f"Odometer {raw:,.0f} km"
    on = day_text(_number(one, "on"))
    in_all = _number(one, "cumulative")
    if one["used"] and _text(one["reason"]):
        return f"{value} of {on}: {one['reason']}."
    if one["used"] and abs(in_all - raw) > 1.0:
        unit, per = ("mi", KM_PER_MILE) if units == "us" else ("km", 1.0)
        unit, per = (unit, per) if one["meter"] == "odometer" else ("h", 1.0)
        return f"{value} of {on} is used; with earlier meters {in_all / per:,.0f} {unit} in all."
    if one["used"]:
        return f"{value} of {on} is used."
    return f"{value} of {on} is kept, but not used: {one['reason']}."


def _first(frame: pd.DataFrame | None) -> dict[str, object]:
    if frame is None or not len(frame):
        return {}
    return {str(name): value for name, value in frame.iloc[0].items()}


def _number(row: dict[str, object], name: str) -> float:
    value = row.get(name)
    return np.nan if value is None or pd.isna(str(value)) else float(str(value))


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _moved(was: float, now: float) -> bool:
    """Tell whether a figure is there now and is another than it was."""
    return not np.isnan(now) and not abs(now - was) < _SAME


def _degrees(celsius: float, units: str) -> str:
    return f"{fahrenheit(celsius):.0f} °F" if units == "us" else f"{celsius:.0f} °C"
