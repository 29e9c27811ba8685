"""Which findings later work has mended."""

import pandas as pd

from fleetcool.coolant.mix_now import GLYCOL
from fleetcool.model.knowledge import Knowledge, names

_ONLY_LOOKS = ("test", "look")  # such work on the day of a finding is what found it
_RENEWS = ("change", "renew")
_ADDS = "dose"  # what only adds starts a clock anew, but answers no other finding


def renewals(history: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return vehicle, place, on of each new part or coolant that work has put in."""
    services = knowledge.services
    pairs = pd.DataFrame(
        [
            (service, place)
            for service, renews in zip(services["service"], services["renews"], strict=True)
            for place in names(renews)
        ],
        columns=["service", "place"],
    )
    by_service = history[["vehicle", "service", "on"]].merge(pairs, on="service")
    kind = history["service"].map(services.set_index("service")["kind"])
    said = history.loc[kind.isin(_RENEWS) & history["place"].notna(), ["vehicle", "place", "on"]]
    return pd.concat([by_service[["vehicle", "place", "on"]], said], ignore_index=True)


def not_mended(findings: pd.DataFrame, history: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return the findings that no work on their day or later has mended.

    A service mends what it is itself, what it restarts, and what renews no more than it does; new
    parts in a place mend what was found there. A test or look-over on the very day of a finding is
    taken as the one that found it, but for a driver's report, which it answers. Too little or too
    much glycol is mended by no work as such: only what is in there then, or a newer test, tells.

    Args:
        findings: rows with vehicle, finding, place, service, found_on, seen_by.
        history: work that was done.
        knowledge: the knowledge in force.
    """
    mends = _mends(knowledge.services)
    done = history[["vehicle", "service", "on"]].merge(mends, on="service")
    done = done[["vehicle", "mended", "on"]].set_axis(["vehicle", "service", "done_on"], axis=1)
    last = done.groupby(["vehicle", "service"])["done_on"].max().reset_index()
    new = renewals(history, knowledge).set_axis(["vehicle", "place", "new_on"], axis=1)
    new = new.groupby(["vehicle", "place"])["new_on"].max().reset_index()
    rows = findings.merge(last, on=["vehicle", "service"], how="left")
    rows = rows.merge(new, on=["vehicle", "place"], how="left")
    kind = rows["service"].map(knowledge.services.set_index("service")["kind"])
    looks = kind.isin(_ONLY_LOOKS) & (rows["seen_by"] != "driver report")
    done_on, found_on = rows["done_on"].astype("float64"), rows["found_on"]
    by_work = (done_on > found_on) | ((done_on == found_on) & ~looks)
    by_part = rows["new_on"].astype("float64") >= found_on
    by_word = (by_work | by_part) & ~rows["finding"].isin(GLYCOL)
    return rows[~by_word][list(findings.columns)].reset_index(drop=True)


def _mends(services: pd.DataFrame) -> pd.DataFrame:
    """Return service, mended: every service and those that need not be done after it."""
    renews = {
        str(name): set(names(text))
        for name, text in zip(services["service"], services["renews"], strict=True)
    }
    pairs = set[tuple[str, str]]()
    for name, restarts, kind in zip(
        services["service"], services["restarts"], services["kind"], strict=True
    ):
        covered = {other for other, places in renews.items() if places and places <= renews[name]}
        again = set[str]() if kind == _ADDS else set(names(restarts))
        pairs |= {(str(name), mended) for mended in {str(name)} | again | covered}
    return pd.DataFrame(sorted(pairs), columns=["service", "mended"])
