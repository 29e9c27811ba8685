"""What opening a visit by hand means: which services, which number, until when, where."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.numbers import door_number
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.identity import new_numbers
from fleetcool.visits.learnt import shop_labour
from fleetcool.visits.opened import minutes_of, opened_shop, spread
from fleetcool.visits.said import Said, said_of
from fleetcool.visits.words import listed

_SATURDAY = 5  # Monday is 0
_RENEWING = ("renew", "change")


@dataclass(frozen=True, slots=True)
class Opening:
    """A visit to be opened.

    Attributes:
        visit: its number, not used before.
        unit, vehicle: whose it is.
        services: in the order of their names.
        on, until: its first and last day [day numbers].
        notes: sentences about the yard, the shop and the day.
    """

    visit: str
    unit: str
    vehicle: str
    services: tuple[str, ...]
    on: int
    until: int
    notes: tuple[str, ...]


def opening_of(  # noqa: PLR0913 - what stands, who, what, when
    standing: Standing,
    knowledge: Knowledge,
    unit: str,
    wanted: Sequence[str],
    *,
    on: int,
    minute: float = 0.0,
    taken: Iterable[str] = (),
) -> Opening:
    """Return the visit that a unit needs for places or services, from a day on.

    Args:
        standing: what stands, with every number published or opened.
        knowledge: in force that day.
        unit: the number on the door.
        wanted: places or services; a place means the service that renews it and the least else.
        on: its first day [day number].
        minute: local minute of that day from which it can be worked on.
        taken: numbers given in the same breath.

    Raises:
        NotThereError: no such unit, place or service.
        NotUsableError: the vehicle is here already with a visit opened by hand, or has no such
            place.
    """
    row = vehicle_of(standing, unit)
    vehicle, shown = str(row["vehicle"]), str(row["unit"])
    fleet = fleet_frame(standing, knowledge, Settings())
    services = services_for(wanted, _text(row["layout"]), shown, standing, knowledge)
    _refuse_second(standing, vehicle, shown)
    used = {*standing.published_visits["visit"].astype(str), *taken}
    used |= {str(one) for one in standing["decisions"]["visit"].dropna()}
    visit = new_numbers([shown], [float(on)], used)[0]
    facts = {name: fleet[name].to_dict()[vehicle] for name in ("depot", "yard", "layout")}
    until, notes = _until(standing, knowledge, facts, services, on, minute)
    return Opening(visit, shown, vehicle, services, on, until, notes)


def standing_opening(standing: Standing, knowledge: Knowledge, visit: str) -> Opening:
    """Return a visit that was opened and stands, as it would be opened."""
    row = standing.published_visits.set_index("visit").loc[visit].to_dict()
    rows = standing.published_services
    services = tuple(sorted(set(rows["service"][rows["visit"] == visit].astype(str))))
    fleet = fleet_frame(standing, knowledge, Settings())
    vehicle, on = str(row["vehicle"]), int(row["start_on"])
    facts = {name: fleet[name].to_dict()[vehicle] for name in ("depot", "yard", "layout")}
    minute = float(np.nan_to_num(float(row["start_minute"])))
    _, notes = _until(standing, knowledge, facts, services, on, minute)
    return Opening(visit, str(row["unit"]), vehicle, services, on, int(row["stop_on"]) - 1, notes)


def nearest_unit(standing: Standing, unit: str) -> str:
    """Return the unit in the fleet whose number is nearest, empty when there is none."""
    near = difflib.get_close_matches(unit, _units_here(standing), 1, 0.0)
    return near[0] if near else ""


def _units_here(standing: Standing) -> list[str]:
    vehicles = standing["vehicles"]
    return [str(one) for one in vehicles["unit"][vehicles["here"].fillna(value=False).astype(bool)]]


def services_for(
    wanted: Sequence[str], layout: str, unit: str, standing: Standing, knowledge: Knowledge
) -> tuple[str, ...]:
    """Return the services that places or services asked for mean, sorted."""
    found = set()
    for asked in wanted:
        for piece in str(asked).replace(",", "+").split("+"):
            if piece.strip():
                found.add(_service(piece.strip(), layout, unit, standing, knowledge))
    if not found:
        raise NotUsableError(
            f"the visit of unit {unit}", "no place", "a place or a service", "say what it is for"
        )
    return tuple(sorted(found))


def _service(asked: str, layout: str, unit: str, standing: Standing, knowledge: Knowledge) -> str:
    """Return the service of this name, or the one that renews a place and the least else."""
    table = knowledge.services.drop_duplicates("service").sort_values("service")
    known = {str(one).lower(): str(one) for one in table["service"]}
    word = " ".join(asked.lower().split())
    word = _answers(standing).get(word, word)
    if word in known:
        return known[word]
    if word not in PLACES:
        near = difflib.get_close_matches(word, [*PLACES, *known], 1, 0.0)
        raise NotThereError("place or service", asked, near[0], "name one of the places")
    rows = knowledge.layout_places[knowledge.layout_places["layout"] == layout]
    if len(rows) and word not in set(rows["place"]):
        raise NotUsableError(
            f"unit {unit}", word, f"a place of its layout {layout}", "look at vehicle UNIT"
        )
    renews = [
        (len(names(about)), len(names(more)), str(service))
        for service, kind, about, more in table[
            ["service", "kind", "renews", "restarts"]
        ].itertuples(index=False)
        if kind in _RENEWING and word in names(about)
    ]
    if not renews:
        raise NotThereError(f"service that renews the place {word}", word, None, "name a service")
    return min(renews)[2]


def _answers(standing: Standing) -> dict[str, str]:
    """Return what the shop's own words for places and services mean."""
    words = standing["words"]
    chosen = words[words["column"].isin(["service", "place", "renews"]) & words["ours"].notna()]
    pairs = zip(chosen["theirs"], chosen["ours"], strict=True)
    return {" ".join(str(one).lower().split()): str(ours).lower() for one, ours in pairs}


def vehicle_of(standing: Standing, unit: str) -> dict[str, object]:
    """Return the row of the vehicle here that has this number on its door."""
    vehicles = standing["vehicles"]
    here = vehicles[vehicles["here"].fillna(value=False).astype(bool)]
    wanted = door_number(unit)
    rows = here[[door_number(str(one)) == wanted for one in here["unit"]]]
    if rows.empty:
        near = nearest_unit(standing, unit) or None
        raise NotThereError("unit in the fleet", unit, near, "give the number on its door")
    return {str(name): value for name, value in rows.iloc[0].items()}


def _refuse_second(standing: Standing, vehicle: str, unit: str) -> None:
    said = said_of(standing["decisions"], "visit")
    told = set(standing["history"]["visit"].dropna().astype(str))
    visits = standing.published_visits
    for visit in visits["visit"][visits["vehicle"] == vehicle]:
        about = said.get(str(visit), Said())
        if about.opened and not about.closed and str(visit) not in told:
            raise NotUsableError(
                f"unit {unit}",
                f"visit {visit}, opened by hand and without an end",
                "a vehicle that has none",
                f"say fleetcool visit done {visit} first, or let it go",
            )


def _until(  # noqa: PLR0913, PLR0917 - the pieces of one stay
    standing: Standing,
    knowledge: Knowledge,
    facts: dict[str, object],
    services: tuple[str, ...],
    on: int,
    minute: float,
) -> tuple[int, tuple[str, ...]]:
    """Return the last day of a stay, and what must be said of yard, shop and day."""
    depot, yard = str(facts["depot"]), str(facts["yard"])
    notes = _yard_notes(standing, depot, yard)
    shop = opened_shop(standing, depot, on)
    if shop is None:
        return on, notes
    labour = shop_labour(standing, knowledge, services)
    pairs = pd.Series([0] * len(services), dtype="int64")
    minutes = minutes_of(
        labour, pd.Series([facts["layout"]], dtype=object), pairs, pd.Series(services, dtype="str")
    )
    when = spread(shop, on, float(np.round(minutes.together[0] + minutes.wait[0])), minute)
    if when is None:
        return on, (*notes, f"The shop of {depot} has no open day soon; nobody is there to do it.")
    day = on - shop.start
    if when.first and float(shop.one[day]) <= 0:
        why = "weekend" if (on + 3) % 7 >= _SATURDAY else shop.why_less[0] or "no hours"
        starts = f"work starts on {day_text(on + when.first)} unless somebody is called in."
        notes += (f"The shop of {depot} is not open on {day_text(on)} ({why}): {starts}",)
    elif when.first:
        notes += (f"Its hours of the day are over: work starts on {day_text(on + when.first)}.",)
    return on + when.last, notes


def _yard_notes(standing: Standing, depot: str, yard: str) -> tuple[str, ...]:
    if not depot:
        return (f"No shop is known for the yard {yard or '(none told)'}: no bay, no day's end.",)
    if depot == yard:
        return ()
    rows = standing["depots"]
    told = rows["minutes_to_shop"][(rows["depot"] == yard) & rows["minutes_to_shop"].notna()]
    way = f", {float(told.iloc[0]):.0f} minutes away" if len(told) else ""
    return (f"The yard {yard} has no shop of its own; {depot} does it{way}.",)


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def opened_for(services: Sequence[str]) -> str:
    """Return the reason of a visit for which nobody gave one."""
    return f"breakdown: {listed(services)}"
