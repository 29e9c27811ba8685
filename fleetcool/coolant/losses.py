"""What top-ups tell: coolant that is diluted, a leak, and another kind that got in."""

import numpy as np
import pandas as pd

from fleetcool.coolant.handled import top_ups_of
from fleetcool.coolant.strengths import named
from fleetcool.knowledge.losses import ANY, usual_loss
from fleetcool.model.computed import FINDING_COLUMNS
from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

YEAR = 365.0  # days looked back for a loss
PROVEN = 3  # top-ups before a loss is called proven; common practice, no source
STOPPED = 3.0  # a level that held for so many usual gaps leaks no more; common practice, no source
DILUTED, LEAK, FOREIGN = "diluted", "leak suspected", "foreign kind"
TOP_UP_COLUMNS = (
    "vehicle",
    "on",
    "litres",  # [L]; the usual ones of the size where only a tick was made
    "said",  # bool: the litres are written
    "poured",  # water, unnamed, or the product or kind as written
    "worked_on",  # newest day on which the vehicle's coolant side was open, NaN when none
)


def top_ups(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return one row a topping up with `TOP_UP_COLUMNS`, sorted by vehicle, day and what went in.

    Work that opened the coolant side counts as such even when the old coolant was put back.
    """
    rows = top_ups_of(standing, knowledge)
    meant = named(rows["coolant"], knowledge)
    poured = rows["coolant"].where(meant["said"], "unnamed").where(~meant["water"], "water")
    history = standing["history"]
    wet = knowledge.services.loc[knowledge.services["wet"].eq(1.0), "service"]
    opened = history[history["service"].isin(wet)].groupby("vehicle")["on"].max()
    rows = rows.assign(
        poured=poured.astype("str"),
        worked_on=rows["vehicle"].map(opened.astype("float64")).astype("float64"),
    )
    rows = rows.sort_values(["vehicle", "on", "poured", "litres"], ignore_index=True)
    return rows[list(TOP_UP_COLUMNS)]


def loss_findings(
    top_ups_with_km: pd.DataFrame,
    coolant: pd.DataFrame,
    vehicles: pd.DataFrame,
    knowledge: Knowledge,
    as_of: int,
) -> pd.DataFrame:
    """Return what top-ups and mixing show, with `FINDING_COLUMNS`, dilution before a leak.

    - diluted: there is less glycol than the band wants, and since the last whole change the system
      was topped up with water, with something nobody named, or before a test that shows it.
    - leak suspected: at least three top-ups in a year, more between the first and the last of them
      than hoses of that material let through, the level has not held since, and the coolant side
      was not opened on or after the last one. By distance; where that is not known, by time.
    - foreign kind: more of it than the setting allows, and no glycol test since.

    Args:
        top_ups_with_km: rows with `TOP_UP_COLUMNS` and km: distance run by that day, NaN for
            not known.
        coolant: rows with `COOLANT_COLUMNS`.
        vehicles: rows with vehicle and layout.
        knowledge: the knowledge in force.
        as_of: the day taken as today [day number].
    """
    rows = top_ups_with_km[top_ups_with_km["vehicle"].isin(coolant["vehicle"])]
    rows = rows.sort_values(["vehicle", "on", "poured", "litres"], kind="stable")
    found = [
        _diluted(rows, coolant, knowledge),
        _foreign(coolant),
        _leaks(rows, vehicles, knowledge, as_of),
    ]
    both = pd.concat(found, ignore_index=True)
    remedies = knowledge.remedies.drop_duplicates("finding").set_index("finding")
    both = both[both["finding"].isin(remedies.index)]
    due = both["found_on"] + both["finding"].map(remedies["within_days"]).astype("float64")
    both = both.assign(
        place=pd.Series(np.nan, both.index, dtype="str"),
        service=both["finding"].map(remedies["service"]).astype("str"),
        due_early=due,
        due=due,
        due_late=due,
        look_for=both["finding"].map(remedies["look_for"]).astype("str"),
    )
    both = both.sort_values(["vehicle", "finding"], ignore_index=True)
    return both[list(FINDING_COLUMNS)]


def _diluted(rows: pd.DataFrame, coolant: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    about = coolant.set_index("vehicle")
    since = rows["vehicle"].map(about["whole_change_on"]).astype("float64").fillna(-np.inf)
    measured = rows["vehicle"].map(about["measured_on"]).astype("float64")
    thin = rows["poured"].isin(("water", "unnamed"))
    counts = (rows["on"] > since) & (thin | (rows["on"] <= measured))
    rows = rows.assign(thin=thin)[counts]
    last = rows.groupby("vehicle").agg(n=("on", "size"), on=("on", "max"), water=("thin", "sum"))
    bands = knowledge.bands[knowledge.bands["measure"] == "glycol_pct"].dropna(subset=["good_from"])
    band = bands.drop_duplicates("coolant_kind").set_index("coolant_kind")["good_from"]
    careful = float(band.max()) if len(band) else np.nan
    one = coolant[coolant["vehicle"].isin(last.index)].set_index("vehicle").join(last)
    one["least"] = one["kind"].map(band).astype("float64").fillna(careful)
    one = one[one["glycol_pct"].astype("float64").round(1) < one["least"]]
    one["found_on"] = np.fmax(one["on"], one["measured_on"].astype("float64"))
    one["why"] = [
        f"Topped up {_times(n)} since the last whole change, {_poured(int(water), int(n))}: "
        f"{pct:.0f} % glycol on {day_text(on)}, at least {least:.0f} % is wanted"
        for n, water, pct, on, least in zip(
            one["n"], one["water"], one["glycol_pct"], one["found_on"], one["least"], strict=True
        )
    ]
    return _findings(one, DILUTED, "top-ups")


def _poured(water: int, n: int) -> str:
    if not water:
        return "by its name with coolant, but the test says with water"
    return "with water or unnamed" if water == n else f"{_times(water)} with water or unnamed"


def _times(n: int) -> str:
    return "once" if n == 1 else f"{n} times"


def _foreign(coolant: pd.DataFrame) -> pd.DataFrame:
    since = coolant["foreign_on"].astype("float64")
    tested = coolant["measured_on"].astype("float64") > since
    one = coolant[since.notna() & ~tested].set_index("vehicle")
    one = one.assign(found_on=one["foreign_on"].astype("float64"))
    one["why"] = [
        f"{pct:.0f} % of another kind ({kind}) since {day_text(on)}; the shorter life counts"
        for pct, kind, on in zip(
            one["foreign_pct"], one["foreign_kind"], one["found_on"], strict=True
        )
    ]
    return _findings(one, FOREIGN, "mix")


def _leaks(
    rows: pd.DataFrame, vehicles: pd.DataFrame, knowledge: Knowledge, as_of: int
) -> pd.DataFrame:
    one = _rates(rows[(rows["on"] > as_of - YEAR) & (rows["on"] <= as_of)])
    layout = vehicles.drop_duplicates("vehicle").set_index("vehicle")["layout"].reindex(one.index)
    known = knowledge.layouts.set_index("layout")
    one["size"] = layout.map(known["size"]).astype("str").fillna("light").to_numpy()
    hoses = layout.map(known["hose_material"]).astype("str").fillna(ANY)
    usual = usual_loss()
    one["hose_material"] = hoses.where(hoses.isin(usual["hose_material"]), ANY).to_numpy()
    one = one.reset_index().merge(usual, on=["size", "hose_material"], how="left")
    by_time = one["by_time"] = one["km"].isna()
    one["rate"] = one["per_1000_km"].where(~by_time, one["per_30_days"]).round(2)
    one["most"] = one["litres_a_1000_km"].where(~by_time, one["litres_a_30_days"])
    gone = as_of - one["last_on"] > STOPPED * one["days"] / (one["n"] - 1)
    mended = one["worked_on"] >= one["last_on"]
    one = one[(one["n"] >= PROVEN) & (one["rate"] > one["most"]) & ~gone & ~mended]
    one = one.assign(found_on=one["last_on"])
    one["why"] = [
        f"Topped up {_times(n)} in a year, the last time on {day_text(on)}: {rate:.2f} L every "
        f"{'30 days' if time else '1,000 km'}{ticks}, more than the {most:.2f} L that its hoses "
        "let through"
        for n, on, rate, time, ticks, most in zip(
            one["n"],
            one["last_on"],
            one["rate"],
            one["by_time"],
            np.where(one["all_said"], "", ", partly from ticks"),
            one["most"],
            strict=True,
        )
    ]
    return _findings(one.set_index("vehicle"), LEAK, "top-ups")


def _rates(rows: pd.DataFrame) -> pd.DataFrame:
    """Return by vehicle what was lost between its first and last top-up.

    What went in at the first one was lost before it, so it does not count.
    """
    first = ~rows.duplicated("vehicle")
    rows = rows.assign(lost=rows["litres"].where(~first, 0.0))
    by = rows.groupby("vehicle")
    one = by.agg(
        n=("on", "size"),
        first_on=("on", "first"),
        last_on=("on", "last"),
        lost=("lost", "sum"),
        all_said=("said", "all"),
        worked_on=("worked_on", "max"),
    )
    km = rows["km"].astype("float64")
    ends = km.groupby(rows["vehicle"])
    run = ends.max() - ends.min()
    whole = km.notna().groupby(rows["vehicle"]).all()
    one["km"] = run.where(whole & (run.round() > 0.0))
    one["days"] = one["last_on"] - one["first_on"]
    one["per_1000_km"] = 1000.0 * one["lost"] / one["km"]
    one["per_30_days"] = 30.0 * one["lost"] / one["days"].where(one["days"] > 0.0)
    return one


def _findings(one: pd.DataFrame, finding: str, seen_by: str) -> pd.DataFrame:
    """Return vehicle, finding, found_on, seen_by, why of frames whose index is the vehicle."""
    return pd.DataFrame(
        {
            "vehicle": pd.Series(one.index, dtype="str"),
            "finding": finding,
            "found_on": one["found_on"].to_numpy(dtype="float64"),
            "seen_by": seen_by,
            "why": pd.Series(one["why"].to_numpy(), dtype="str"),
        }
    )
