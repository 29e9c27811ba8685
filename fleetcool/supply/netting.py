"""What is still needed after stock and orders, and when it must come in: the planning record."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def net_requirements(gross: Floats, on_hand: float | Floats, receipts: Floats) -> Floats:
    """Return what each period still lacks after stock and receipts.

    Args:
        gross: need of each period, shape (periods,) or (parts, periods), in the part's unit.
        on_hand: what is there before the first period, one number or shape (parts,).
        receipts: what comes in at the start of each period, same shape as `gross`.

    Returns:
        same shape: 0 where stock and receipts suffice.

    **Source:** material requirements planning as in Nahmias, Production and Operations Analysis.
    """
    there = np.asarray(on_hand, dtype=np.float64)[..., np.newaxis]
    left = there + np.cumsum(receipts, axis=-1) - np.cumsum(gross, axis=-1)
    lacking = np.maximum.accumulate(np.maximum(-left, 0.0), axis=-1)
    return np.asarray(np.diff(lacking, axis=-1, prepend=0.0))


@dataclass(frozen=True, slots=True)
class Rules:
    """How one part is ordered.

    Attributes:
        lot: lots are a multiple of this, in the part's unit.
        keep: stock never falls below this.
        lead_periods: periods between release and receipt.
    """

    lot: float
    keep: float
    lead_periods: int


@dataclass(frozen=True, slots=True)
class Record:
    """A planning record: stock at the end, receipts and releases of each period."""

    on_hand: Floats
    receipts: Floats
    releases: Floats


def planning_record(gross: Floats, receipts: Floats, on_hand: float, rules: Rules) -> Record:
    """Return the record of one part: whenever stock would fall too low, whole lots come in.

    Args:
        gross: need of each period, shape (periods,), in the part's unit.
        receipts: open orders by the period in which they come, same shape.
        on_hand: stock before the first period.
        rules: lot, least stock and lead time.

    Returns:
        the stock at the end of each period, all planned receipts, and their releases; a release
        that would lie before the first period falls into the first.

    **Source:** Krajewski & Ritzman, Operations Management, inventory record of a part.
    """
    periods = gross.size
    stock = on_hand
    levels, planned, released = (np.zeros(periods) for _ in range(3))
    for at in range(periods):
        stock += receipts[at] - gross[at]
        if stock < rules.keep - 1e-9:
            planned[at] = np.ceil(np.round((rules.keep - stock) / rules.lot, 9)) * rules.lot
            stock += planned[at]
            released[max(at - rules.lead_periods, 0)] += planned[at]
        levels[at] = stock
    return Record(levels, planned, released)
