"""The visits that stay as they were published, and what they take of shop, vehicle and pool."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.visits.absent import Taken
from fleetcool.visits.decided import Published
from fleetcool.visits.fleet import SIZES
from fleetcool.visits.placing.spread import Held
from fleetcool.visits.said import Said
from fleetcool.visits.shops import Shop

ORDER = {"no word yet": 0, "waiting": 1, "here": 2}
WAITS_DAYS = 7  # a waiting visit keeps its bay this long when nobody said how long


def kept_visits(published: Published) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the kept visits (`VISIT_COLUMNS`) and their services, silent past ones first.

    A visit that somebody fixed on another day carries that day, and no bay and no minute: those
    it had were for the other day.
    """
    visits = published.kept()
    said = [published.said.get(str(visit), Said()) for visit in visits["visit"]]
    on = np.array([one.fixed_on for one in said], dtype="float64")
    start = visits["start_on"].to_numpy(dtype="float64")
    moved = np.where(np.isnan(on), 0.0, on - start)
    visits = visits.assign(
        start_on=start + moved,
        stop_on=visits["stop_on"].to_numpy(dtype="float64") + moved,
        bay=visits["bay"].where(moved == 0, ""),
        start_minute=visits["start_minute"].where(moved == 0),
        stop_minute=visits["stop_minute"].where(moved == 0),
        fixed=visits["state"].eq("fixed") | visits["fixed"].astype(bool),
        turn=visits["state"].map(ORDER).fillna(3),
    ).sort_values(["turn", "start_on", "visit"], ignore_index=True)
    services = published.services[published.services["visit"].isin(visits["visit"])]
    return (
        visits[list(VISIT_COLUMNS)],
        services[list(VISIT_SERVICE_COLUMNS)].reset_index(drop=True),
    )


def taken_days(kept: pd.DataFrame, published: Published, as_of: int, start: int) -> list[Taken]:
    """Return the days that kept visits have their vehicles, from the first planned day on.

    A visit that is here has its vehicle until its last day, or the first day planned when that is
    past; one expected to be done before the first day planned leaves it free by then.
    """
    found = []
    for row in _rows(kept):
        first, stop = _days_taken(row, published, as_of, start)
        if row["state"] != "no word yet" and stop > 0:
            rides = bool(row["rides_along"])
            found.append(Taken(str(row["vehicle"]), first, max(stop, first + 1), rides))
    return found


def held_by_shop(  # noqa: PLR0913 - what is kept, where, and the two days
    kept: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    shops: Mapping[str, Shop],
    *,
    as_of: int,
    start: int,
) -> dict[str, tuple[Held, ...]]:
    """Return what the kept visits take of the hours and bays of each shop.

    One that is here or waits holds its bay whole; the hours of one that is here are those still
    to be worked, one that waits takes none.
    """
    held: dict[str, tuple[Held, ...]] = {}
    size = fleet["size"].to_dict()
    for row in _rows(kept):
        depot, state = str(row["depot"]), str(row["state"])
        first, stop = _days_taken(row, published, as_of, start)
        shop = shops.get(depot)
        if shop is None or state == "no word yet" or stop <= 0 or first >= len(shop.minutes):
            continue
        low, high = max(0, first), min(len(shop.minutes), max(stop, first + 1))
        of_size = SIZES[str(size.get(str(row["vehicle"]), "light"))]
        if state == "fixed":
            if first < 0:
                continue
            one = _fixed(row, shop, (first, max(stop, first + 1)), of_size)
        else:
            one = _in_the_bay(row, shop, (low, high), (high - low) / (high - first), of_size)
        held[depot] = (*held.get(depot, ()), one)
    return held


def _rows(kept: pd.DataFrame) -> list[dict[str, object]]:
    records = kept.sort_values("visit").to_dict("records")
    return [{str(name): value for name, value in one.items()} for one in records]


def _days_taken(
    row: dict[str, object], published: Published, as_of: int, start: int
) -> tuple[int, int]:
    """Return the first day a kept visit takes and the first it no longer does, from `start`."""
    first, stop = int(_number(row["start_on"])) - start, int(_number(row["stop_on"])) - start
    state = str(row["state"])
    if state not in ("here", "waiting"):
        return first, stop
    came = min(first, max(0, as_of - start))  # one that came early stays as long
    first, stop = came, stop + came - first
    if state == "waiting":
        last = published.about(str(row["visit"]), str(row["vehicle"])).waits_until
        return min(first, 0), WAITS_DAYS if np.isnan(last) else max(1, int(last) + 1 - start)
    gone = as_of - start < stop <= 0
    return first, stop if gone else max(stop, 1)


def _number(value: object) -> float:
    return float(str(value))


def _bay(shop: Shop, name: object) -> int:
    return shop.bays.index(str(name)) if str(name) in shop.bays else -1


def _in_the_bay(
    row: dict[str, object], shop: Shop, span: tuple[int, int], left: float, size: int
) -> Held:
    """Return what a visit takes that is here or waits: its bay on all days, the hours left."""
    share = left if row["state"] == "here" else 0.0
    labour = _number(row["minutes"]) * share
    elapsed = labour + _number(row["wait_minutes"]) * share
    worked = _over_days(shop.one, elapsed, span[0])
    days = tuple(range(*span))
    by_day = [worked.get(day, 0.0) for day in days]
    per = labour / max(elapsed, 1.0)
    bay = max(_bay(shop, row["bay"]), 0)
    return Held(
        visit=str(row["visit"]),
        bay=bay,
        days=days,
        labour=tuple(one * per for one in by_day),
        elapsed=tuple(by_day),
        begin=np.nan,
        back=np.nan,
        size=size,
        wet=False,
        blocks_bay=True,
    )


def _fixed(row: dict[str, object], shop: Shop, span: tuple[int, int], size: int) -> Held:
    """Return what a fixed visit takes on its days, until it is back.

    It is back when it was said to be: what its days no longer have room for stands on the last of
    them, so that it is flagged there. The first week's share holds for new visits only.
    """
    labour = _number(row["minutes"])
    elapsed = labour + _number(row["wait_minutes"])
    whole = np.ceil(np.round(shop.one / np.maximum(shop.share[shop.week], 1e-9), 6))
    day_of_one = np.minimum(shop.crew.hours.max(axis=0, initial=0.0), whole)
    first, last = span[0], min(span[1], len(shop.one)) - 1
    worked = _over_days(day_of_one[: last + 1], elapsed, first)
    rest = elapsed - sum(worked.values())
    if rest > 1e-6:
        worked[last] = worked.get(last, 0.0) + rest
    per = labour / max(elapsed, 1.0)
    return Held(
        visit=str(row["visit"]),
        bay=_bay(shop, row["bay"]),
        days=tuple(worked),
        labour=tuple(one * per for one in worked.values()),
        elapsed=tuple(worked.values()),
        begin=_number(row["start_minute"]),
        back=_number(row["stop_minute"]),
        size=size,
        wet=False,
        blocks_bay=False,
    )


def _over_days(
    one: "np.ndarray[tuple[int], np.dtype[np.float64]]", elapsed: float, first: int
) -> dict[int, float]:
    """Return the minutes of each open day from `first` on; `one` is a mechanic's of each day."""
    found: dict[int, float] = {}
    rest = elapsed
    for day in range(first, len(one)):
        part = min(rest, float(one[day]))
        if part > 0:
            found[day] = part
            rest -= part
        if rest <= 1e-6:
            break
    return found
