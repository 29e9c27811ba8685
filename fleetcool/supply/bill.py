"""Which parts and how much coolant a set of services takes, in the numbers the fleet buys by."""

from functools import lru_cache

import numpy as np
import pandas as pd

from fleetcool.coolant.fills import visit_litres
from fleetcool.knowledge.limits import coolant_kind_of
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.numbers import part_key
from fleetcool.model.standing import Standing

BILL_COLUMNS = ("visit", "vehicle", "service", "part", "quantity", "is_coolant")


def bill(services: pd.DataFrame, standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return what each stay needs: `BILL_COLUMNS`, one row a (visit, service, part).

    Args:
        services: one row a (visit, service): visit, vehicle, service. A part that is shared within
            a stay is counted once, with the first service that asks for it.
        standing: vehicles, their own parts and the parts table.
        knowledge: the parts of each layout and service.
    """
    asked = services[["visit", "vehicle", "service"]].drop_duplicates()
    asked = asked.assign(layout=asked["vehicle"].map(_layout_of(standing)))
    asked = _done_here(asked, knowledge)
    rows = asked.merge(
        knowledge.layout_parts[["layout", "service", "part", "quantity", "shared", "only_with"]],
        on=["layout", "service"],
        how="inner",
    )
    kinds = pd.Series(
        coolant_kind_of(knowledge, standing["vehicles"]).to_numpy(),
        index=standing["vehicles"]["vehicle"],
    )
    fits = rows["only_with"].isna() | (rows["only_with"] == rows["vehicle"].map(kinds))
    rows = _own_parts(rows[fits], standing, knowledge)
    once = rows["shared"].fillna(0).astype(bool)
    rows = rows[~(once & rows.duplicated(["visit", "part"]))]
    parts = rows.assign(quantity=rows["quantity"].fillna(1.0), is_coolant=False)
    both = pd.concat(
        [
            parts[list(BILL_COLUMNS)],
            _coolant(asked, standing, knowledge, kinds)[list(BILL_COLUMNS)],
        ],
        ignore_index=True,
    )
    return both.assign(part=bought_as(both["part"], standing["parts"]))


def _done_here(asked: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Leave out the services another shop does: it brings its own parts and coolant."""
    outside = knowledge.layout_services
    outside = outside.loc[outside["where"] == "outside", ["layout", "service"]]
    keys = ["layout", "service"]
    away = pd.MultiIndex.from_frame(asked[keys]).isin(pd.MultiIndex.from_frame(outside))
    return asked[~away]


def _own_parts(rows: pd.DataFrame, standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return the rows with the part of the vehicle itself where it differs from its layout."""
    own = standing["vehicle_parts"]
    if own.empty or rows.empty:
        return rows
    mine = own.assign(layout=own["vehicle"].map(_layout_of(standing)))
    mine = mine.merge(_usual_parts(knowledge), on=["layout", "place"], suffixes=("_mine", ""))
    mine = mine[["vehicle", "part", "part_mine", "quantity"]]
    mine = mine.drop_duplicates(["vehicle", "part"]).rename(columns={"quantity": "quantity_mine"})
    joined = rows.merge(mine, on=["vehicle", "part"], how="left")
    return joined.assign(
        part=joined["part_mine"].fillna(joined["part"]),
        quantity=joined["quantity_mine"].astype(float).fillna(joined["quantity"]),
    ).drop(columns=["part_mine", "quantity_mine"])


def _layout_of(standing: Standing) -> "pd.Series[str]":
    return standing["vehicles"].set_index("vehicle")["layout"]


def _usual_parts(knowledge: Knowledge) -> pd.DataFrame:
    """Return which part sits in a place of a layout: the first its own service asks for."""
    services = knowledge.services[["service", "renews"]]
    places = services["renews"].map(names)
    services = services.assign(place=places.map(lambda found: found[0] if found else ""))
    services = services[places.map(len) == 1]
    parts = knowledge.layout_parts
    parts = parts[~parts["shared"].fillna(0).astype(bool)]
    parts = parts.drop_duplicates(["layout", "service"])[["layout", "service", "part"]]
    return parts.merge(services, on="service")[["layout", "place", "part"]]


def _coolant(
    asked: pd.DataFrame, standing: Standing, knowledge: Knowledge, kinds: "pd.Series[str]"
) -> pd.DataFrame:
    """Return the litres drained and not put back in each stay, as the part number of the premix."""
    litres = visit_litres(asked, standing["vehicles"], knowledge)
    litres = litres[litres["litres"] > 0]
    said = standing["vehicles"].set_index("vehicle")["coolant"]
    premix = knowledge.coolants.set_index("coolant")["premix_part"].dropna()
    by_kind = (
        knowledge.coolants.dropna(subset=["premix_part"])
        .drop_duplicates("kind")
        .set_index("kind")["premix_part"]
    )
    part = litres["vehicle"].map(said).map(premix)
    part = part.where(part.notna(), litres["vehicle"].map(kinds).map(by_kind))
    return litres.assign(
        part=part.astype(object),
        service="coolant change",
        quantity=litres["litres"].astype(float),
        is_coolant=True,
    ).dropna(subset=["part"])


def bought_as(parts: "pd.Series[str]", known: pd.DataFrame) -> "pd.Series[str]":
    """Return part numbers as the fleet buys them: same-as and replaced-by followed, else as given.

    Numbers are matched on letters and digits only; at most eight replacements are followed, so
    that a circle ends.
    """
    if known.empty or parts.empty:
        return parts.astype(object)
    codes, distinct = pd.factorize(parts)
    tables = _tables(known)
    bought = np.array([_followed(one, tables) for one in distinct], dtype=object)
    result = parts.astype(object).to_numpy(copy=True)
    said = codes >= 0
    result[said] = bought[codes[said]]
    return pd.Series(result, index=parts.index, name=parts.name, dtype=object)


def _tables(known: pd.DataFrame) -> list[dict[str, str]]:
    """Return the look-ups to follow one after the other, by part key: ours, same-as, replaced."""
    numbers = zip(known["part"], known["same_as"], known["replaced_by"], strict=True)
    rows = [(str(part), same_as, newer) for part, same_as, newer in numbers]
    shown = {_key(part): part for part, _, _ in reversed(rows)}
    replaced = {_key(part): newer for part, _, newer in rows if isinstance(newer, str)}
    same = sorted((part, same_as) for part, same_as, _ in rows if isinstance(same_as, str))
    # where several of ours stand for one shipped number, one that is not replaced comes first
    same.sort(key=lambda pair: _key(pair[0]) in replaced)
    stands_for = {_key(same_as): part for part, same_as in reversed(same)}
    return [shown, stands_for, *([replaced] * 8 if replaced else [])]


def _followed(part: str, tables: list[dict[str, str]]) -> str:
    for table in tables:
        part = table.get(_key(part), part)
    return part


@lru_cache(maxsize=1 << 16)
def _key(part: str) -> str:
    return part_key(part)
