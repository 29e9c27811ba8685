"""What the fleet's history says of part numbers: which to fit, and when each is renewed cheaply."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.knowledge.wears_by import wears_by
from fleetcool.model.computed import Projection
from fleetcool.projection.apart import seen_text, span_text
from fleetcool.visits.costs import Basis
from fleetcool.visits.limits_now import LAYOUT_KEY, laws_known, limits_now, with_law
from fleetcool.visits.part_prices import prices_of_numbers
from fleetcool.visits.savings import swapped, with_costs, with_savings
from fleetcool.visits.wearing import places_renewed

_AT = ["layout", "place"]
_KEY = [*LAYOUT_KEY, "place", "part"]
_BEST = ["best", "best_low", "best_high", "aim"]
_LAW = ["limit", "works_at", "per_day", "data_share"]


@dataclass(frozen=True, slots=True)
class PartsTold:
    """Part numbers that can be told apart here, and where they sit.

    Attributes:
        pairs: one row a pair known to differ: pair (its number), layout, place, part (the one
            that lasts longer), instead_of, told (what the history says), span (how many times
            as long it lasts), seen (what that rests on), n_parts, n_failures, unsaid (vehicles
            whose number there nobody recorded) and service, the one that renews the place with
            the fewest others, one with a limit if there is any.
        holds: one row a (vehicle, place, part number) of those places: vehicle, unit, layout,
            place, part and the part's age [km or days].
        sits: those of them with a limit on that service, as `limits_now.clock_rows`.
        layouts: the limits in force of each layout and service.
    """

    pairs: pd.DataFrame
    holds: pd.DataFrame
    sits: pd.DataFrame
    layouts: pd.DataFrame


def parts_told(each: pd.DataFrame, projection: Projection, basis: Basis) -> PartsTold:
    """Return which part numbers differ and where they sit; `each` is as `clock_rows`."""
    apart, layouts = projection.apart, limits_now(each, LAYOUT_KEY)
    apart = apart[apart["known"].eq(other=True) & apart["layout"].isin(basis.fleet["layout"])]
    pairs = pd.DataFrame(
        {
            **{name: apart[name].astype(object) for name in (*_AT, "part")},
            "instead_of": apart["other"].astype(object),
            "told": apart["why"].astype(object),
            "span": [span_text(one) for one in apart.to_dict("records")],
            "seen": [seen_text(one) for one in apart.to_dict("records")],
            **{name: apart[name] + apart[f"{name}_other"] for name in ("n_parts", "n_failures")},
        }
    )
    pairs = _without_detours(pairs).merge(_services(layouts, basis), on=_AT, how="left")
    pairs = pairs.assign(service=pairs["service"].fillna(""), pair=np.arange(len(pairs)))
    holds = _held(projection.risks, basis).merge(pairs[_AT].drop_duplicates(), on=_AT)
    unsaid = holds[holds["part"].isna()].groupby(_AT)["vehicle"].nunique()
    keys = pd.MultiIndex.from_frame(pairs[_AT])
    pairs = pairs.assign(unsaid=unsaid.reindex(keys).fillna(0).to_numpy(dtype="int64"))
    holds = holds.dropna(subset=["part"])
    where = pairs[[*_AT, "service"]].drop_duplicates()
    numbers = holds[["vehicle", *_AT, "part"]]
    sits = each.merge(where, on=LAYOUT_KEY).merge(numbers, on=["vehicle", *_AT])
    return PartsTold(pairs, holds, sits, layouts)


def _held(risks: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Return which part number sits where in vehicles that are here, missing where not said."""
    names = ("vehicle", "place", "part")
    rows = risks[[*names, "age"]].assign(**{name: risks[name].astype(object) for name in names})
    rows = rows[rows["vehicle"].isin(basis.fleet.index)].sort_values([*names, "age"])
    rows = rows.drop_duplicates(list(names))
    facts = {name: rows["vehicle"].map(basis.fleet[name]) for name in ("unit", "layout")}
    return rows.assign(**{name: one.astype(object) for name, one in facts.items()})


def lines_by_part(told: PartsTold, projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return one row a part number that sits in vehicles of a layout where numbers differ.

    By the law of the number itself, over the vehicles that have it in, named oldest first in
    `units` as (unit, age); `everywhere` (bool): all vehicles of the layout have it. Columns as
    `savings.with_savings` adds them.
    """
    rows = with_law(limits_now(told.sits, _KEY), laws_known(projection.life), basis)
    rows = with_costs(rows, basis)
    rows = _dearer(rows, prices_of_numbers(rows, basis)["beyond"])
    everyone = told.layouts.set_index(LAYOUT_KEY)["n_vehicles"]
    of = everyone.reindex(pd.MultiIndex.from_frame(rows[LAYOUT_KEY])).to_numpy()
    return with_savings(rows).assign(
        instead_of="",
        everywhere=rows["n_vehicles"].to_numpy() == of,
        units=_units(told, rows, "part"),
    )


def lines_to_fit(told: PartsTold, projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return one row a pair of part numbers of which one lasts longer: which to fit.

    What it saves is the cost rate with the one less that with the other, both renewed at the
    limit in force of the vehicles that have the shorter-lived one in, over what those run a
    year. When none has (`sitting` 0), it is told for one vehicle of the layout. Columns as
    `lines_by_part`, `told`, and `price` and `price_other` [cents], NaN and out of the saving
    unless both are known. Without a law, a limit or any running there is no money in the row.
    """
    rows = _limits_of_pairs(told)
    laws = laws_known(projection.life)
    plain = rows.drop(columns=["n_parts", "n_failures"])
    good, bad = (
        with_costs(with_law(one, laws, basis), basis).set_index("pair")
        for one in (plain, plain.assign(part=plain["instead_of"]))
    )
    both = good.index.intersection(bad.index).sort_values()
    good, bad = good.loc[both], bad.loc[both]
    one, other = prices_of_numbers(good, basis), prices_of_numbers(bad, basis)
    known = one["beyond"].notna() & other["beyond"].notna()
    good = with_savings(_dearer(good, one["beyond"].where(known)))
    bad = _dearer(bad, other["beyond"].where(known))
    least = np.minimum(good["data_share"], bad["data_share"])
    found = good[[*_LAW, *_BEST]].assign(
        data_share=least,
        price=one["price"].where(known),
        price_other=other["price"].where(known),
        **swapped(good, bad),
    )
    by = wears_by()["by"].reindex(rows["place"]).to_numpy()
    rows = rows.assign(by=by, units=_units(told, rows, "instead_of"))
    return rows.merge(found, left_on="pair", right_index=True, how="left")


def _without_detours(pairs: pd.DataFrame) -> pd.DataFrame:
    """Return the pairs without those that name a number which another outlasts, where they can go.

    Of three numbers, each outlasting the next, nobody is told to fit the second.
    """
    numbers = {
        name: pd.MultiIndex.from_frame(pairs[[*_AT, name]]) for name in ("part", "instead_of")
    }
    outlasted = numbers["part"].isin(numbers["instead_of"])
    covered = numbers["instead_of"].isin(numbers["instead_of"][~outlasted])
    return pairs[~(outlasted & covered)]


def _services(layouts: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Return the service of each (layout, place): with a limit, and of those the one of fewest."""
    renewed = places_renewed(basis.knowledge)
    many = renewed.groupby("service")["place"].transform("size")
    all_of = pd.DataFrame({"layout": basis.fleet["layout"].dropna().astype(object).unique()})
    rows = all_of.merge(renewed.assign(many=many), how="cross")
    limited = pd.MultiIndex.from_frame(layouts[LAYOUT_KEY])
    rows = rows.assign(none=~pd.MultiIndex.from_frame(rows[LAYOUT_KEY]).isin(limited))
    rows = rows.sort_values([*_AT, "none", "many", "service"])
    return rows.drop_duplicates(_AT)[[*_AT, "service"]]


def _limits_of_pairs(told: PartsTold) -> pd.DataFrame:
    """Return the pairs with the limits of the vehicles that have the shorter-lived number in.

    Where none has, with those of the layout, and what one of its vehicles runs. `sitting` says
    in how many vehicles the number is; where those have no limit, the row has none.
    """
    at = [*_AT, "instead_of"]
    held = told.holds.rename(columns={"part": "instead_of"}).groupby(at)["vehicle"].nunique()
    count = held.reindex(pd.MultiIndex.from_frame(told.pairs[at])).fillna(0)
    pairs = told.pairs.assign(sitting=count.to_numpy(dtype="int64"))
    own = limits_now(told.sits, _KEY).rename(columns={"part": "instead_of"})
    usual = told.layouts.assign(km=told.layouts["km"] / told.layouts["n_vehicles"], n_vehicles=1)
    none = pairs["sitting"].eq(0)
    rows = [
        pairs[~none].merge(own, on=[*LAYOUT_KEY, "place", "instead_of"], how="left"),
        pairs[none].merge(usual, on=LAYOUT_KEY, how="left"),
    ]
    found = pd.concat([one for one in rows if len(one)] or rows[:1])
    return found.sort_values("pair", ignore_index=True)


def _dearer(rows: pd.DataFrame, beyond: "pd.Series[float]") -> pd.DataFrame:
    """Return the rows with what a part number costs beyond the usual one, where that is known."""
    more = beyond.fillna(0.0)
    return rows.assign(planned=rows["planned"] + more, failed=rows["failed"] + more)


def _units(told: PartsTold, rows: pd.DataFrame, column: str) -> "pd.Series[list[str]]":
    """Return (unit, age) of the vehicles that have the part number of each row in, oldest first.

    `column` names the number: part, or instead_of.
    """
    holds = told.holds.assign(young=-told.holds["age"].astype("float64"))
    holds = holds.sort_values(["young", "unit"])
    found: dict[tuple[str, ...], list[tuple[str, float]]] = {}
    columns = (holds[name] for name in ("layout", "place", "part", "unit", "age"))
    for layout, place, part, unit, age in zip(*columns, strict=True):
        found.setdefault((layout, place, part), []).append((str(unit), float(age)))
    keys = zip(rows["layout"], rows["place"], rows[column], strict=True)
    return pd.Series([found.get(key, []) for key in keys], index=rows.index, dtype=object)
