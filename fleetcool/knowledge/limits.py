"""Which limit is in force for each vehicle and service, and where it comes from."""

import numpy as np
import pandas as pd

from fleetcool.knowledge.limit_words import displaced_words, limit_words
from fleetcool.model.knowledge import Knowledge

SCOPES = ("unit", "layout", "size", "coolant_kind", "duty")
NUMBERS = ("km", "hours", "months")
LIMIT_COLUMNS = (
    "vehicle",
    "service",
    "first",
    *NUMBERS,
    "before",
    "km_per_idle_hour",
    "early_share",
    "late_share",
    "counts_from",
    "limit_from",
)
ON_TIME_SHARE = 10.0  # percent of a limit, where a row does not say; transit practice, from memory
_ALIKE = "alike"  # number of the vehicles that no row of limits can tell apart


def limits_for(knowledge: Knowledge, vehicles: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return the limit in force for each vehicle, service and stage.

    Among the rows valid on the day whose filled scope columns all fit the vehicle, any row of the
    user goes before any shipped one; then a row with the unit filled before one without, and so on
    through layout, size, coolant kind and duty; then one made for the first work before one for
    any; then the later valid_from. The row is taken whole. A severe vehicle whose row is not a
    severe one takes the row's km, hours and months times the severe factor: the row's own, else
    that of the next best row that has one. Rows that do not say their shares or what they count
    from get 10 % and "done".

    Args:
        knowledge: what is in force.
        vehicles: columns vehicle, unit, layout, duty (missing counts as normal) and coolant (a
            product, a kind, or missing), shape (n, 5).
        as_of: the day taken as today [day number].

    Returns:
        `LIMIT_COLUMNS`, sorted by vehicle, service and first: km, hours [h], months, `before` as
        MM-DD, NaN for no limit of that kind; shares in percent. `first` 1 holds until the first
        known work, 0 from then on. A service for which no row fits has no line; services come
        from the vehicle's layout, and those that renew no place are there for every vehicle.

    **Source:** the rule is this project's own; interval times a factor under severe duty is
    common practice, no source.
    """
    if vehicles.empty:
        return _no_lines()
    rows = _rows_by_rank(knowledge.limits, as_of)
    alike, of_vehicle = _alike(knowledge, vehicles, rows)
    fits = _fitting(_asked(knowledge, alike), alike, rows)
    chosen = _chosen(fits)
    _apply_severe(chosen)
    for share in ("early_share", "late_share"):
        chosen[share] = chosen[share].fillna(ON_TIME_SHARE)
    chosen["counts_from"] = chosen["counts_from"].fillna("done")
    chosen["limit_from"] = _sentences(chosen)
    chosen["first"] = chosen["first_work"].astype("int64")
    chosen = chosen.sort_values(["service", "first"])[[_ALIKE, *LIMIT_COLUMNS[1:]]]
    lines = of_vehicle.sort_values("vehicle").merge(chosen, on=_ALIKE, how="inner")
    return lines[list(LIMIT_COLUMNS)]


def _no_lines() -> pd.DataFrame:
    """Return a frame without lines that has `LIMIT_COLUMNS` of their kinds."""
    text = ("vehicle", "service", "before", "counts_from", "limit_from")
    kinds = {name: "str" if name in text else "float64" for name in LIMIT_COLUMNS}
    kinds["first"] = "int64"
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})


def coolant_kind_of(knowledge: Knowledge, vehicles: pd.DataFrame) -> "pd.Series[str]":
    """Return each vehicle's coolant kind, index like `vehicles` (columns layout, coolant).

    A product gives its kind, a kind itself, a blank the kind of the layout; NaN when that is not
    known either, or when what is written is neither. Capitals and outer blanks do not matter.
    """
    products = knowledge.coolants.dropna(subset=["kind"])
    kinds = sorted(set(products["kind"]) | set(knowledge.limits["coolant_kind"].dropna()))
    kind_of = {kind.strip().casefold(): kind for kind in kinds}
    for product, kind in zip(products["coolant"], products["kind"], strict=True):
        kind_of[product.strip().casefold()] = kind
    said = vehicles["coolant"].astype("str").str.strip()
    found = said.str.casefold().map(kind_of)
    of_layout = knowledge.layouts.set_index("layout")["coolant_kind"]
    blank = said.isna() | (said == "")
    kind = found.where(~blank, vehicles["layout"].astype("str").map(of_layout))
    return kind.astype("str").rename("coolant_kind")


def _rows_by_rank(limits: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return the limit rows that hold on the day, best first, with `rank` and their words."""
    rows = limits[~(limits["valid_from"] > as_of)].copy()
    rows["yours"] = rows["origin"] == "yours"
    rows["for_first"] = rows["first"] == 1.0
    rows["from_day"] = rows["valid_from"].fillna(-np.inf)
    filled = [f"has_{scope}" for scope in SCOPES]
    for name, scope in zip(filled, SCOPES, strict=True):
        rows[name] = rows[scope].notna()
    order = ["yours", *filled, "for_first", "from_day"]
    rows = rows.sort_values(order, ascending=False, kind="stable", ignore_index=True)
    rows["rank"] = rows.index
    rows["words"] = [limit_words(row) for _, row in rows.iterrows()]
    rows["displaced_words"] = [displaced_words(row) for _, row in rows.iterrows()]
    rows["coolant_kind"] = rows["coolant_kind"].str.casefold()
    return rows.drop(columns=[*filled, "from_day", "for_first", "remove", "source", "origin"])


def _alike(
    knowledge: Knowledge, vehicles: pd.DataFrame, rows: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the sorts of vehicles the rows can tell apart, and each vehicle's sort."""
    scoped = pd.DataFrame({"vehicle": vehicles["vehicle"].astype("str")})
    unit = vehicles["unit"].astype("str")
    scoped["unit"] = unit.where(unit.isin(rows["unit"].dropna()))
    scoped["layout"] = vehicles["layout"].astype("str")
    size_of = knowledge.layouts.set_index("layout")["size"]
    scoped["size"] = scoped["layout"].map(size_of).astype("str")
    scoped["coolant_kind"] = coolant_kind_of(knowledge, vehicles).str.casefold()
    scoped["duty"] = vehicles["duty"].astype("str").fillna("normal")
    scoped[_ALIKE] = scoped.groupby(list(SCOPES), dropna=False, sort=True).ngroup()
    alike = scoped.drop_duplicates(_ALIKE).drop(columns="vehicle")
    return alike, scoped[["vehicle", _ALIKE]]


def _asked(knowledge: Knowledge, alike: pd.DataFrame) -> pd.DataFrame:
    """Return alike, service: those of the layout, and those that renew no place."""
    of_layout = alike[[_ALIKE, "layout"]].merge(
        knowledge.layout_services[["layout", "service"]], on="layout"
    )
    services = knowledge.services
    anywhere = services.loc[services["renews"].isna(), ["service"]]
    everywhere = alike[[_ALIKE]].merge(anywhere, how="cross")
    both = pd.concat([of_layout[[_ALIKE, "service"]], everywhere], ignore_index=True)
    return both.drop_duplicates(ignore_index=True)


def _fitting(asked: pd.DataFrame, alike: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Return every row that fits each (alike, service, stage), best first."""
    pairs = asked.merge(rows, on="service").merge(alike, on=_ALIKE, suffixes=("", "_here"))
    fits = np.ones(len(pairs), dtype=bool)
    for scope in SCOPES:
        fits &= (pairs[scope].isna() | (pairs[scope] == pairs[f"{scope}_here"])).to_numpy(bool)
    pairs = pairs[fits]
    stages = [
        pairs[pairs["first"] != said_otherwise].assign(first_work=stage)
        for stage, said_otherwise in ((0, 1.0), (1, 0.0))
    ]
    return pd.concat(stages, ignore_index=True).sort_values("rank", kind="stable")


def _chosen(fits: pd.DataFrame) -> pd.DataFrame:
    """Return the best row of each (alike, service, stage) with the factor and what it displaced."""
    key = [_ALIKE, "service", "first_work"]
    best = fits.drop_duplicates(key)
    factor = fits.dropna(subset=["severe_factor"]).drop_duplicates(key)
    best = best.drop(columns="severe_factor").merge(
        factor[[*key, "severe_factor"]], on=key, how="left"
    )
    shipped = fits[~fits["yours"]].drop_duplicates(key)
    shipped = shipped[[*key, "displaced_words"]].rename(columns={"displaced_words": "instead_of"})
    return best.merge(shipped, on=key, how="left")


def _apply_severe(chosen: pd.DataFrame) -> None:
    """Multiply the limits of severe vehicles in place, and keep the factor used."""
    severe = (chosen["duty_here"] == "severe") & (chosen["duty"] != "severe").fillna(value=True)
    factor = chosen["severe_factor"].where(severe, 1.0).fillna(1.0)
    for number in NUMBERS:
        exact = chosen[number] * factor
        chosen[number] = exact.round(1 if number == "months" else 0)
    chosen["factor_used"] = factor


def _sentences(chosen: pd.DataFrame) -> "pd.Series[str]":
    """Return where each limit comes from, what it displaced, and the severe factor."""
    displaced = " in place of the shipped " + chosen["instead_of"].astype("str")
    displaced = displaced.where(chosen["yours"], "").fillna("")
    factor = (
        "; times " + chosen["factor_used"].map("{:g}".format).astype("str") + " for severe duty"
    )
    factor = factor.where(chosen["factor_used"] != 1.0, "")
    return (chosen["words"] + displaced + factor + ".").astype("str")
