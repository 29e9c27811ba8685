"""What a coolant test says: each measured value against the band of its coolant kind."""

import re

import numpy as np
import pandas as pd

from fleetcool.knowledge.strip_steps import strip_steps
from fleetcool.model.knowledge import Knowledge

JUDGED_COLUMNS = (
    "vehicle",
    "on",
    "with",
    "measure",  # a column of coolant_tests, nitrite_molybdate_ppm, "freeze_c by glycol", or "look "
    # and its word
    "value",
    "low",
    "high",  # the value lies between these two; equal but for strips
    "verdict",  # good, watch, act, unsure
    "band",  # text: 7.0–9.5
    "row",  # place of the test in the table it came from
    "side",  # low or high: where it leaves the band; empty while good
    "act_below",
    "act_above",
)
MEASURES = (
    "freeze_c",
    "glycol_pct",
    "ph",
    "nitrite_ppm",
    "molybdate_ppm",
    "sca_units",
    "reserve_alkalinity_ml",
    "chloride_ppm",
    "sulfate_ppm",
)
PAIR = "nitrite_molybdate_ppm"
FREEZES_BY_GLYCOL = "freeze_c by glycol"  # where the glycol that was read freezes [°C]
LOOK = "look "
ANY_KIND = "any"
EXACT = ("refractometer", "lab")  # everything else is read like a strip
DIGITS = 4  # values and limits are compared to this many decimals
# What tells of the inhibitors; freezing point, glycol, chloride and sulfate do not.
TELLS_OF_AGE = ("ph", "nitrite_ppm", PAIR, "sca_units", "reserve_alkalinity_ml")
_BAND = ["good_from", "good_to", "act_below", "act_above"]
_DENIED = r"\b(?:no|not|without|free of)\b[^,.;]*"  # "no oil or rust" names neither


def judge_tests(tests: pd.DataFrame, kinds: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a measured value that has a band, with `JUDGED_COLUMNS`.

    A strip is read to the nearest patch: its value is an interval of half a step to each side,
    which acts only when all of it is past the limit and is unsure when it straddles it. A test
    without an instrument is read like a strip. Nitrite that is low alone passes together with
    molybdate. Rows of the band table for the kind "any" hold where the kind has none.

    Args:
        tests: the table coolant_tests, with vehicle.
        kinds: rows with vehicle and kind; a vehicle that is not there, or without a kind, is
            judged by the rows for any kind.
        knowledge: the knowledge in force.
    """
    kind = kinds.drop_duplicates("vehicle").set_index("vehicle")["kind"]
    told = pd.concat([_measured(tests), _looks(tests, knowledge.bands)], ignore_index=True)
    told["kind"] = told["vehicle"].map(kind).astype("str")
    rows = with_bands(told, knowledge.bands)
    rows = verdicts(rows[rows[_BAND].notna().any(axis=1)])
    rows = pd.concat([rows, _pairs(rows, told, knowledge.bands)], ignore_index=True)
    beaten = rows["row"].isin(rows.loc[rows["measure"] == PAIR, "row"])
    rows = rows[~(beaten & (rows["measure"] == "nitrite_ppm") & (rows["side"] == "low"))]
    return _in_order(rows)


def passed_tests(judged: pd.DataFrame) -> pd.DataFrame:
    """Return vehicle, on, passed (bool) of each day with a test that tells of the inhibitors.

    It passes when nothing of that test, its look included, is to act upon or unsure. A test of
    freezing point or glycol alone is no word on age and is left out. Two tests of one day pass
    only together.
    """
    tells = judged["row"].isin(judged.loc[judged["measure"].isin(TELLS_OF_AGE), "row"])
    rows = judged[tells]
    good = ~rows["verdict"].isin(("act", "unsure"))
    passed = good.groupby([rows["vehicle"], rows["on"]], sort=True).all()
    return passed.rename("passed").reset_index()


def with_bands(rows: pd.DataFrame, bands: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with the band of their kind and measure, else of any kind, NaN if none.

    Args:
        rows: rows with kind (missing allowed) and measure.
        bands: the table bands.
    """
    if rows.empty:
        return rows.assign(**{column: np.empty(0) for column in _BAND}).reset_index(drop=True)
    own = bands[["coolant_kind", "measure", *_BAND]].rename(columns={"coolant_kind": "kind"})
    found = rows.merge(own, on=["kind", "measure"], how="left", indicator="own_band")
    lacking = (found.pop("own_band") != "both").to_numpy()
    general = own.loc[own["kind"] == ANY_KIND, ["measure", *_BAND]]
    other = rows[["measure"]].merge(general, on="measure", how="left") if lacking.any() else found
    for column in _BAND:
        values = np.where(lacking, other[column].to_numpy(), found[column].to_numpy())
        found[column] = values.astype("float64")
    return found


def band_text(low: float, high: float) -> str:
    """Return a band as people read it: "7.0–9.5", "at least 800", "at most 200", "" for none."""
    tenths = any(number % 1 != 0 for number in (low, high) if not np.isnan(number))
    small = tenths and max(abs(number) for number in (low, high) if not np.isnan(number)) < 1
    ends = [f"{number:.{2 if small else 1 if tenths else 0}f}" for number in (low, high)]
    ends = [end.replace("-", "−") for end in ends]
    if np.isnan(low):
        return "" if np.isnan(high) else f"at most {ends[1]}"
    return f"at least {ends[0]}" if np.isnan(high) else f"{ends[0]}–{ends[1]}"


def _measured(tests: pd.DataFrame) -> pd.DataFrame:
    """Return vehicle, on, with, row, measure, value, low, high of each number in the tests."""
    wide = tests[["vehicle", "on", "with", *MEASURES]].assign(row=np.arange(len(tests)))
    rows = wide.melt(["vehicle", "on", "with", "row"], MEASURES, "measure", "value")
    rows = rows.dropna(subset=["value"]).reset_index(drop=True)
    rows["value"] = rows["value"].astype("float64")
    half = rows["measure"].map(dict(strip_steps())).astype("float64").fillna(0.0) / 2.0
    half = half.where(~rows["with"].isin(EXACT), 0.0)
    return rows.assign(low=rows["value"] - half, high=rows["value"] + half)


def _looks(tests: pd.DataFrame, bands: pd.DataFrame) -> pd.DataFrame:
    """Return a row of value 1 for each word of the bands that the look of a test names."""
    wide = tests[["vehicle", "on", "with"]].assign(row=np.arange(len(tests)))
    codes, distinct = pd.factorize(tests["look"].astype("str"))
    look = pd.Series(distinct, dtype="str").str.lower().str.replace(_DENIED, "", regex=True)
    found = [wide.iloc[:0]]
    for name in sorted({name for name in bands["measure"] if name.startswith(LOOK)}):
        named = look.str.contains(r"\b" + re.escape(name[len(LOOK) :]), na=False).to_numpy()
        rows = wide[np.isin(codes, np.flatnonzero(named))]
        found.append(rows.assign(measure=name, value=1.0, low=1.0, high=1.0))
    return pd.concat(found)


def _pairs(judged: pd.DataFrame, told: pd.DataFrame, bands: pd.DataFrame) -> pd.DataFrame:
    """Return judged rows of nitrite with molybdate where both are there in their least amounts.

    **Source:** the rule of ASTM D6210 as said in the band table: both together, each at least.
    """
    both = told[told["measure"] == "nitrite_ppm"].merge(
        told.loc[told["measure"] == "molybdate_ppm", ["row", "value", "low", "high"]],
        on="row",
        suffixes=("", "_molybdate"),
    )
    least = {
        name: with_bands(both[["kind"]].assign(measure=name), bands)["good_from"].to_numpy()
        for name in ("nitrite_beside_molybdate_ppm", "molybdate_beside_nitrite_ppm")
    }
    enough = (both["value"] >= least["nitrite_beside_molybdate_ppm"]) & (
        both["value_molybdate"] >= least["molybdate_beside_nitrite_ppm"]
    )
    for column in ("value", "low", "high"):
        both[column] = both[column] + both.pop(column + "_molybdate")
    rows = with_bands(both[enough].assign(measure=PAIR), bands)
    return verdicts(rows[rows[_BAND].notna().any(axis=1)]).reindex(columns=judged.columns)


def verdicts(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with verdict, side and band, from low, high, value and the four limits."""
    one = {name: rows[name].astype("float64").round(DIGITS).to_numpy() for name in _BAND}
    low, high, value = (
        rows[name].astype("float64").round(DIGITS).to_numpy() for name in ("low", "high", "value")
    )
    under, over = low < one["act_below"], high > one["act_above"]
    act = (under & (high <= one["act_below"])) | (over & (low >= one["act_above"]))
    watch = (value < one["good_from"]) | (value > one["good_to"])
    verdict = np.select([act, under | over, watch], ["act", "unsure", "watch"], "good")
    lower = under | (~over & (value < one["good_from"]))
    side = np.where(verdict == "good", "", np.where(lower, "low", "high"))
    ends = pd.DataFrame(
        {
            "low": np.where(np.isnan(one["act_below"]), one["good_from"], one["act_below"]),
            "high": np.where(np.isnan(one["act_above"]), one["good_to"], one["act_above"]),
        }
    )
    codes = ends.groupby(["low", "high"], dropna=False, sort=True).ngroup().to_numpy()
    distinct = ends.assign(code=codes).drop_duplicates("code").set_index("code").sort_index()
    texts = [band_text(a, b) for a, b in zip(distinct["low"], distinct["high"], strict=True)]
    band = np.array(texts, dtype=object)[codes] if texts else np.array([], dtype=object)
    return rows.assign(verdict=verdict, side=side, band=band)


def _in_order(rows: pd.DataFrame) -> pd.DataFrame:
    ordered = rows.sort_values(["vehicle", "on", "row", "measure"], kind="stable")
    result = ordered[list(JUDGED_COLUMNS)].reset_index(drop=True)
    texts = ("vehicle", "with", "measure", "verdict", "band", "side")
    return result.astype(dict.fromkeys(texts, "str"))
