"""In which order a vehicle is taken apart: every step after those that must come first."""

import heapq

import pandas as pd

from fleetcool.model.knowledge import Knowledge, names
from reports.view import figure, rows_of, text


def steps_in_order(
    knowledge: Knowledge, layout: str, services: tuple[str, ...]
) -> list[dict[str, object]]:
    """Return the access steps of some services together, each once, prerequisites above.

    Steps that another step names in `after` are added even when no service asks for them. Among
    steps that could come next, the one that stands first in the table of steps comes first; steps
    that wait for each other in a circle come last, in that order.
    """
    rows = rows_of(knowledge.steps[knowledge.steps["layout"] == layout])
    by_name = {text(one["step"]): one for one in rows}
    place = {name: at for at, name in enumerate(by_name)}
    wanted = _with_prerequisites(_asked(knowledge.service_steps, layout, services), by_name)
    waits = {
        name: {one for one in names(by_name[name]["after"]) if one in wanted} for name in wanted
    }
    ready = [place[name] for name in wanted if not waits[name]]
    heapq.heapify(ready)
    in_place = list(by_name)
    ordered: list[str] = []
    while ready:
        name = in_place[heapq.heappop(ready)]
        ordered.append(name)
        for other in sorted(wanted, key=place.__getitem__):
            if name in waits[other]:
                waits[other].discard(name)
                if not waits[other]:
                    heapq.heappush(ready, place[other])
    left = sorted((one for one in wanted if one not in ordered), key=place.__getitem__)
    return [by_name[name] for name in (*ordered, *left)]


def _asked(service_steps: pd.DataFrame, layout: str, services: tuple[str, ...]) -> set[str]:
    mine = service_steps["layout"] == layout
    chosen = service_steps[mine & service_steps["service"].isin(services)]
    return set(chosen["step"].astype(str))


def _with_prerequisites(asked: set[str], by_name: dict[str, dict[str, object]]) -> set[str]:
    found: set[str] = set()
    left = sorted(asked)
    while left:
        name = left.pop()
        if name in by_name and name not in found:
            found.add(name)
            left.extend(names(by_name[name]["after"]))
    return found


def is_taken_apart(step: dict[str, object]) -> bool:
    """Tell whether a step has work on the way in."""
    return text(step["only_when"]) != "put back"


def only_put_back(step: dict[str, object]) -> bool:
    """Tell whether a step belongs to the way out alone: filling, bleeding, testing."""
    return text(step["only_when"]) == "put back"


def put_back_order(steps: list[dict[str, object]]) -> list[dict[str, object]]:
    """Return the way out of steps given in order: undone last to first, then filled and tested."""
    undone = [
        one
        for one in reversed(steps)
        if text(one["only_when"]) == "" and figure(one["put_back_minutes"]) > 0
    ]
    return undone + [one for one in steps if only_put_back(one)]
