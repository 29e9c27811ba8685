"""Which limits and parts the fleet's own failures would change, what it saves, and how surely."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import Projection
from fleetcool.model.frames import empty
from fleetcool.model.life_frames import ADVICE_COLUMNS
from fleetcool.visits.advice_part_words import fit_whys
from fleetcool.visits.advice_parts import PartsTold, lines_by_part, lines_to_fit, parts_told
from fleetcool.visits.advice_words import ENOUGH_DATA, ENOUGH_FAILURES, advice_whys, limit_text
from fleetcool.visits.costs import Basis
from fleetcool.visits.limits_now import LAYOUT_KEY, clock_rows, laws_known, with_law
from fleetcool.visits.savings import with_costs, with_savings
from fleetcool.visits.wearing import places_renewed

Bools = NDArray[np.bool_]

_MONEY = ["cost_a_year", "saving_a_year", "saving_low", "saving_high"]


def limits_advice(projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return what the fleet's history says about its part numbers and limits, `ADVICE_COLUMNS`.

    Where of two part numbers one is known to last longer, first one row says which to fit; it
    always speaks. Then one row a part number of such a layout and place that sits in a vehicle,
    by its own law. Then one row a layout and service that has a limit and renews a part with a
    law of its layout; of several places the one whose cheapest age comes first decides. A place
    whose part numbers differ decides only where no other does, and never speaks: no one age
    holds for a mixture. Rows that speak come first, the dearest first of each kind. A limit is
    compared as it works: the middle of the vehicles' shortest limits in the unit of the law.

    Args:
        projection: clocks, usage, life, what sits where and which part numbers last longer.
        basis: what prices rest on.

    **Source:** age replacement, Barlow and Proschan 1965, ch. 4 (from memory); when a row may
    speak is common practice, no source.
    """
    each = clock_rows(projection, basis)
    told = parts_told(each, projection, basis)
    kinds = (
        _to_fit(told, projection, basis),
        _by_part(told, projection, basis),
        _by_layout(told, projection, basis),
    )
    found = [rows.assign(kind=kind) for kind, rows in enumerate(kinds) if len(rows)]
    if not found:
        return empty(ADVICE_COLUMNS)
    rows = pd.concat([one[[*ADVICE_COLUMNS, "kind"]] for one in found])
    rows = rows.assign(quiet=~rows["speaks"].astype(bool), least=-rows["saving_a_year"].fillna(0.0))
    order = ["quiet", "kind", "least", *LAYOUT_KEY, "place", "part", "instead_of"]
    return rows.sort_values(order, ignore_index=True)[list(ADVICE_COLUMNS)]


def _to_fit(told: PartsTold, projection: Projection, basis: Basis) -> pd.DataFrame:
    rows = lines_to_fit(told, projection, basis)
    rows = rows.assign(
        speaks=True,
        limit_text=limit_text(rows, basis.settings),
        why=fit_whys(rows, basis.settings),
        n_vehicles=rows["sitting"],
    )
    some = rows["sitting"].gt(0)
    return rows.assign(**{name: rows[name].where(some, 0.0) for name in _MONEY})


def _by_part(told: PartsTold, projection: Projection, basis: Basis) -> pd.DataFrame:
    rows = lines_by_part(told, projection, basis)
    return _said(rows.assign(told="", speaks=_speaks(rows, basis.settings.visit_cost)), basis)


def _by_layout(told: PartsTold, projection: Projection, basis: Basis) -> pd.DataFrame:
    limits = told.layouts.merge(places_renewed(basis.knowledge), on="service")
    rows = with_law(limits.assign(part=""), laws_known(projection.life), basis)
    rows = with_savings(with_costs(rows, basis))
    first = told.pairs.drop_duplicates(["layout", "place"])[["layout", "place", "told"]]
    rows = rows.merge(first, on=["layout", "place"], how="left")
    rows = rows.assign(told=rows["told"].fillna(""), instead_of="")
    rows = rows.assign(mixed=rows["told"].ne(""))
    rows = rows.sort_values([*LAYOUT_KEY, "mixed", "best", "place"], na_position="last")
    rows = rows.drop_duplicates(LAYOUT_KEY, ignore_index=True)
    speaks = _speaks(rows, basis.settings.visit_cost) & ~rows["mixed"].to_numpy(dtype=bool)
    return _said(rows.assign(speaks=speaks), basis)


def _said(rows: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    return rows.assign(
        limit_text=limit_text(rows, basis.settings), why=advice_whys(rows, basis.settings)
    )


def _speaks(rows: pd.DataFrame, visit_cost: int) -> Bools:
    """Tell where the data say enough: failures, share, a limit outside the range, a sure saving."""
    enough = (rows["n_failures"].astype("float64") >= ENOUGH_FAILURES) & (
        rows["data_share"].astype("float64") >= ENOUGH_DATA
    )
    outside = np.round(rows["aim"], 3) != np.round(rows["works_at"], 3)
    worth = (rows["saving_low"] > 0) & (rows["saving_a_year"] > visit_cost)
    return np.asarray((enough & outside & worth).to_numpy(dtype=bool))
