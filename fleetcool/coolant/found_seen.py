"""What people saw: places marked in look-overs, pressure that drops, and what drivers report."""

import numpy as np
import pandas as pd

from fleetcool.coolant.measure_words import value_text, wanted_text
from fleetcool.coolant.tested import DIGITS, with_bands
from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.tables import PLACES

_MARKS = {"replace": "to replace", "watch": "to watch"}


def marks(look_overs: pd.DataFrame) -> pd.DataFrame:
    """Return one row a vehicle, day and place that was looked at: vehicle, on, place, mark."""
    columns = {place.replace(" ", "_"): place for place in PLACES}
    known = [name for name in columns if name in look_overs]
    rows = look_overs.melt(["vehicle", "on"], known, "place", "mark").dropna(subset=["mark"])
    rows["place"] = rows["place"].map(columns).astype("str")
    return rows.sort_values(["vehicle", "place", "on"], kind="stable").reset_index(drop=True)


def findings_of_places(look_overs: pd.DataFrame) -> pd.DataFrame:
    """Return vehicle, finding, place, found_on, why of each place whose newest mark is not sound.

    Args:
        look_overs: the table look_overs.
    """
    newest = marks(look_overs).drop_duplicates(["vehicle", "place"], keep="last")
    rows = newest[newest["mark"].isin(_MARKS)].reset_index(drop=True)
    rows["finding"] = rows["place"] + " " + rows["mark"].map(_MARKS).astype("str")
    rows["why"] = [
        f'{place} marked "{mark}" on {day_text(on)}'
        for place, mark, on in zip(rows["place"], rows["mark"], rows["on"], strict=True)
    ]
    return rows.rename(columns={"on": "found_on"})[
        ["vehicle", "finding", "place", "found_on", "why"]
    ]


def findings_of_pressure(
    look_overs: pd.DataFrame, coolant: pd.DataFrame, knowledge: Knowledge, *, us: bool
) -> pd.DataFrame:
    """Return vehicle, finding, found_on, why where the newest pressure hold drops past its band.

    Args:
        look_overs: the table look_overs.
        coolant: `COOLANT_COLUMNS`.
        knowledge: the knowledge in force.
        us: say values in the units of the United States.
    """
    held = look_overs.dropna(subset=["pressure_drop_kpa"]).sort_values("on", kind="stable")
    newest = held.drop_duplicates("vehicle", keep="last")
    kind = coolant.drop_duplicates("vehicle").set_index("vehicle")["kind"]
    rows = pd.DataFrame(
        {
            "vehicle": newest["vehicle"].astype("str"),
            "found_on": newest["on"].astype("float64"),
            "value": newest["pressure_drop_kpa"].astype("float64"),
            "kind": newest["vehicle"].map(kind).astype("str"),
            "measure": "pressure_drop_kpa",
            "finding": "pressure drops",
        }
    )
    rows = with_bands(rows, knowledge.bands)
    rows = rows[rows["value"].round(DIGITS) > rows["act_above"].round(DIGITS)].copy()
    rows["why"] = [
        f"{value_text('pressure_drop_kpa', value, us=us)} on {day_text(on)}, wanted "
        + wanted_text("pressure_drop_kpa", f"at most {most:.0f}", np.nan, most, us=us)
        for value, on, most in zip(rows["value"], rows["found_on"], rows["act_above"], strict=True)
    ]
    return rows[["vehicle", "finding", "found_on", "why"]].reset_index(drop=True)


def findings_of_reports(
    reports: pd.DataFrame,
    seen: pd.DataFrame,
    renewed: pd.DataFrame,
    vehicles: pd.DataFrame,
    knowledge: Knowledge,
) -> pd.DataFrame:
    """Return vehicle, finding, found_on, why of each vehicle's newest report of a symptom.

    A report is void once a place it points to was looked at or got a new part on that day or later.

    Args:
        reports: the table driver_reports.
        seen: rows of `marks`.
        renewed: rows with vehicle, place, on of new parts.
        vehicles: rows with vehicle and layout.
        knowledge: the knowledge in force.
    """
    newest = reports.sort_values(["vehicle", "symptom", "on"], kind="stable")
    newest = newest.drop_duplicates(["vehicle", "symptom"], keep="last").reset_index(drop=True)
    answered = pd.concat([seen[["vehicle", "place", "on"]], renewed[["vehicle", "place", "on"]]])
    last = answered.groupby(["vehicle", "place"], as_index=False)["on"].max()
    pointed = newest[["vehicle", "symptom", "on"]].merge(
        knowledge.symptoms[["symptom", "place"]], on="symptom"
    )
    pointed = pointed.merge(last, on=["vehicle", "place"], how="left", suffixes=("", "_answered"))
    void = pointed.loc[pointed["on_answered"] >= pointed["on"], ["vehicle", "symptom"]]
    rows = newest.merge(void.drop_duplicates(), how="left", indicator="void")
    rows = rows[rows["void"] == "left_only"]
    places = _places_there(pointed, vehicles, knowledge)
    rows = rows.merge(places, on=["vehicle", "symptom"], how="left")
    rows["why"] = [
        _why(*values)
        for values in zip(rows["symptom"], rows["on"], rows["note"], rows["places"], strict=True)
    ]
    rows = rows.rename(columns={"symptom": "finding", "on": "found_on"})
    return rows[["vehicle", "finding", "found_on", "why"]].reset_index(drop=True)


def _places_there(
    pointed: pd.DataFrame, vehicles: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Return vehicle, symptom, places: those the symptom points to and the layout has, joined."""
    rows = pointed.merge(vehicles[["vehicle", "layout"]], on="vehicle", how="left")
    there = knowledge.layout_places[["layout", "place"]].drop_duplicates()
    rows = rows.merge(there, on=["layout", "place"], how="left", indicator="there")
    unknown = ~rows["layout"].isin(set(there["layout"]))
    rows = rows[unknown | (rows["there"] == "both") | (rows["place"] == "coolant")]
    joined = rows.groupby(["vehicle", "symptom"], sort=True)["place"].agg(", ".join)
    return joined.rename("places").reset_index()


def _why(symptom: str, on: float, note: object, places: object) -> str:
    said = f'the driver reported "{symptom}" on {day_text(on)}'
    said += f" ({note.strip()})" if isinstance(note, str) and note.strip() else ""
    return said + (f": look at {places}" if isinstance(places, str) else "")
