"""Which vehicle is off the road on which day, with what, and what did not fit."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import (
    LET_GO_COLUMNS,
    NOT_PLACED_COLUMNS,
    VISIT_COLUMNS,
    VISIT_SERVICE_COLUMNS,
    WEEK_COLUMNS,
    Plan,
)
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.besides import other_days, while_open
from fleetcool.visits.decided import closed_to
from fleetcool.visits.group import Grouped
from fleetcool.visits.identity import new_numbers
from fleetcool.visits.kept import kept_visits, take_room
from fleetcool.visits.off_road import needed_of, read_needed
from fleetcool.visits.place import Books, Wish, open_books, place_all, read_wishes, why_not
from fleetcool.visits.rounds import round_frame
from fleetcool.visits.sentences import service_why
from fleetcool.visits.shops import Shop, read_shops
from fleetcool.visits.unplaced import never_recorded, rows_of

BEYOND_DAYS = 21  # a visit that starts inside the horizon may end this long after it


def place_visits(  # noqa: PLR0913 - what is grouped, what stands, the days, when parts are there
    grouped: Grouped,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    start: int,
    until: int,
    ready_on: Mapping[str, float],
) -> Plan:
    """Return the plan of the days from `start` on, before `until`.

    `ready_on` gives for the numbers of `grouped.visits` the day [day number] on which all its
    parts can be there; a visit that is not named waits for nothing.
    """
    n, fleet = until - start + BEYOND_DAYS, grouped.fleet
    kept, kept_services = kept_visits(grouped.published)
    depots = {str(name) for name in fleet["depot"] if name} | set(kept["depot"].astype(str))
    shops = read_shops(standing, settings, sorted(depots), start, n)
    books = open_books(shops, standing, fleet, start, n)
    take_room(books, kept, grouped.published, fleet, as_of=standing.as_of, start=start)
    not_in = closed_to(grouped.visits, grouped.published, start)
    wishes = read_wishes(
        grouped.visits,
        grouped.services,
        fleet,
        books,
        settings,
        ready_on,
        not_in,
        start=start,
        until=until,
    )
    place_all(books, wishes, grouped.visits["due"].to_numpy(dtype="float64"), start)
    days_that_do = other_days(books, wishes, start)
    number = _final_numbers(grouped, books, standing, start)
    placed = _visit_frame(grouped, books, wishes, number, start)
    services = _service_frame(grouped, placed, number)
    visits = pd.concat([kept, placed], ignore_index=True) if len(kept) else placed
    rounds, no_round = round_frame(grouped.rounds, standing, start, until)
    not_placed = _not_placed(grouped, books, wishes, no_round, placed, number, start, until)
    all_services = (
        pd.concat([kept_services, services], ignore_index=True) if len(kept_services) else services
    )
    return Plan(
        start,
        visits,
        all_services,
        rounds,
        not_placed,
        _weeks(shops, books, start, until),
        days_that_do.assign(visit=days_that_do["visit"].map(number).astype(object)),
        while_open(visits, all_services, grouped, standing, knowledge),
        _let_go(grouped, books, not_placed, start),
    )


def _final_numbers(
    grouped: Grouped, books: Books, standing: Standing, start: int
) -> dict[str, str]:
    """Return the number of each placed visit; a new one is named after the week it starts in."""
    visits = grouped.visits[grouped.visits["visit"].isin(list(books.stays))]
    fresh = visits[~visits["visit"].isin(grouped.published.visits["visit"])]
    starts = pd.Series(
        [start + books.stays[one].days[0] for one in fresh["visit"]], dtype="float64"
    )
    fresh = fresh.assign(start_on=starts.to_numpy()).sort_values(["start_on", "visit"])
    taken = set(standing.published_visits["visit"].astype(str)) | set(grouped.published.said)
    new = new_numbers(list(fresh["unit"]), list(fresh["start_on"]), taken)
    return {str(one): str(one) for one in visits["visit"]} | dict(
        zip(fresh["visit"].astype(str), new, strict=True)
    )


def _visit_frame(
    grouped: Grouped, books: Books, wishes: tuple[Wish, ...], number: dict[str, str], start: int
) -> pd.DataFrame:
    """Return the placed visits, `VISIT_COLUMNS`, sorted by first day and number."""
    frame = grouped.visits
    rows = frame.set_index("visit")
    times = _times(books, wishes)
    needed = read_needed(grouped.fleet["works"])
    records = []
    for wish in wishes:
        stay = books.stays.get(wish.visit)
        if stay is None:
            continue
        shop, day = books.floors[wish.depot].shop, stay.days[0]
        ride = books.ride_on(wish, stay)
        begin, back = times[wish.visit]
        moments = (
            np.array([(start + day) * 1440.0 + begin]),
            np.array([(start + stay.days[-1]) * 1440.0 + back]),
        )
        off = needed_of(needed, grouped.fleet["works"].get(wish.vehicle)).between(*moments)
        later = float(np.round(wish.cost[min(day + 7, books.n - 1)]) - np.round(wish.cost[day]))
        records.append(
            (
                wish.visit,
                number[wish.visit],
                "proposed",
                float(start + day),
                float(start + stay.days[-1] + 1),
                begin,
                back,
                shop.bays[stay.bay],
                0.0 if ride else float(off[0]),
                ride.text if ride else "",
                later,
                False,
                wish.ready_on,
            )
        )
    columns = ["key", "visit", "state", "start_on", "stop_on", "start_minute", "stop_minute"]
    columns += ["bay", "off_road_minutes", "rides_along", "later_cost", "fixed", "ready_on"]
    placed = pd.DataFrame(records, columns=columns)
    facts = rows.reindex(placed["key"]).reset_index(drop=True)
    placed = pd.concat([placed, facts[[one for one in facts if one not in placed]]], axis=1)
    placed = placed[list(VISIT_COLUMNS)].sort_values(["start_on", "visit"], ignore_index=True)
    return placed.astype({"fixed": bool})


def _times(books: Books, wishes: tuple[Wish, ...]) -> dict[str, tuple[float, float]]:
    """Return the minute each visit starts on its first day and is back on its last.

    In a bay, a visit carried over from the day before comes first, then wet ones (they must start
    cold), then the others by number.
    """
    lines: dict[tuple[str, int, int], list[tuple[bool, bool, str, float]]] = {}
    for wish in wishes:
        stay = books.stays.get(wish.visit)
        for turn, day in enumerate(stay.days if stay else ()):
            assert stay is not None
            line = lines.setdefault((wish.depot, day, stay.bay), [])
            line.append((turn == 0, not wish.work.wet, wish.visit, stay.elapsed[turn]))
    begin: dict[str, float] = {}
    back: dict[str, float] = {}
    for (depot, day, bay), line in sorted(lines.items()):
        floor = books.floors[depot]
        planned = sum(one[3] for one in line if not one[0])
        fixed = max(0.0, floor.carried[day, bay] - planned)
        minute = float(floor.shop.opens[day] + fixed)
        for first, _, visit, elapsed in sorted(line):
            if first:
                begin[visit] = float(round(minute))
            minute += elapsed
            back[visit] = float(round(minute))
    return {visit: (begin[visit], back[visit]) for visit in begin}


def _service_frame(grouped: Grouped, placed: pd.DataFrame, number: dict[str, str]) -> pd.DataFrame:
    """Return the services of the placed visits, `VISIT_SERVICE_COLUMNS`."""
    rows = grouped.services[grouped.services["visit"].isin(list(number))]
    rows = rows.assign(visit=rows["visit"].map(number).astype(object))
    start_on = rows["visit"].map(placed.set_index("visit")["start_on"]).astype("float64")
    early = np.maximum(0.0, np.floor(rows["due"].astype("float64")) - start_on)
    told = ("service", "due", "due_early", "due_late", "governs", "found")
    columns = (rows[name] for name in told)
    why = [service_why(*one) for one in zip(*columns, strict=True)]
    rows = rows.assign(early_days=early, why=pd.Series(why, index=rows.index, dtype=object))
    rows = rows.sort_values(["visit", "due", "service"], ignore_index=True)
    return rows[list(VISIT_SERVICE_COLUMNS)]


def _not_placed(  # noqa: PLR0913, PLR0917 - every kind of row the frame joins
    grouped: Grouped,
    books: Books,
    wishes: tuple[Wish, ...],
    no_round: pd.DataFrame,
    placed: pd.DataFrame,
    number: dict[str, str],
    start: int,
    until: int,
) -> pd.DataFrame:
    """Return what did not fit and why, `NOT_PLACED_COLUMNS`, sorted by unit and reason."""
    size = grouped.visits.set_index("visit")["size"]
    reasons = {
        wish.visit: why_not(books, wish, str(size[wish.visit]), start, until)
        for wish in wishes
        if wish.visit not in books.stays
    }
    rows = grouped.services[grouped.services["visit"].isin(list(reasons))]
    full = rows_of(rows, rows["visit"].map(reasons).astype(object), grouped.fleet)
    text = "the yard rounds are full or the yard is closed until " + day_text(until - 1)
    late = pd.Series(text, index=no_round.index, dtype=object)
    checks = rows_of(no_round, late, grouped.fleet)
    baseline = grouped.services[grouped.services["service"] == "cooling baseline"]
    start_on = placed.set_index("visit")["start_on"]
    on = baseline["visit"].map(number).map(start_on).fillna(baseline["due"]).astype("float64")
    moved = dict(zip(baseline["vehicle"][::-1], on[::-1], strict=True))
    day = grouped.worth["vehicle"].map(moved).astype("float64")
    planned = grouped.worth.assign(q50=day.fillna(grouped.worth["q50"].astype("float64")))
    unknown = never_recorded(
        grouped.worth[grouped.worth["open_clock"]], planned, grouped.fleet, until
    )
    out = grouped.not_placed[~grouped.not_placed["reason"].str.startswith("never recorded")]
    pieces = [one for one in (full, out, checks, unknown) if len(one)] or [out]
    frame = pd.concat(pieces, ignore_index=True)[list(NOT_PLACED_COLUMNS)]
    return frame.sort_values(["unit", "vehicle", "reason"], ignore_index=True)


def _weeks(shops: Mapping[str, Shop], books: Books, start: int, until: int) -> pd.DataFrame:
    """Return hours there and planned, `WEEK_COLUMNS`, one row a week and shop."""
    rows = []
    for depot, shop in sorted(shops.items()):
        floor = books.floors[depot]
        inside = np.arange(len(shop.week)) < until - start
        by_day = np.bincount(shop.week[inside], shop.minutes[inside], len(shop.week_names))
        there = np.minimum(by_day, shop.week_minutes)
        planned = shop.week_minutes - floor.week_left
        began = [0] * len(shop.week_names)
        for visit, stay in books.stays.items():
            began[int(shop.week[stay.days[0]])] += books.depot_of[visit] == depot
        rows += [
            (
                shop.week_names[at],
                depot,
                round(float(there[at]) / 60, 2),
                round(float(planned[at]) / 60, 2) + 0.0,
                int(began[at]),
                shop.why_less[at],
                0.0,
                0.0,
                "",
            )
            for at in np.unique(shop.week[inside])
        ]
    return pd.DataFrame(rows, columns=list(WEEK_COLUMNS))


def _let_go(grouped: Grouped, books: Books, not_placed: pd.DataFrame, start: int) -> pd.DataFrame:
    """Return the published visits that hand their number to none, `LET_GO_COLUMNS`."""
    del start
    moving = grouped.published.moving()
    gone = moving[~moving["visit"].isin(list(books.stays))].sort_values("visit")
    reason = not_placed.drop_duplicates("vehicle").set_index("vehicle")["reason"]
    grouped_now = set(grouped.visits["visit"])
    whys = [
        f"it no longer fits: {reason.get(vehicle, 'no day is free')}"
        if visit in grouped_now
        else "its services are done, no longer due, or go with another visit"
        for visit, vehicle in zip(gone["visit"], gone["vehicle"], strict=True)
    ]
    gone = gone.assign(why=pd.Series(whys, index=gone.index, dtype=object))
    return gone[list(LET_GO_COLUMNS)].reset_index(drop=True)
