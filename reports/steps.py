"""In which order a vehicle is taken apart and put back: each step below those it waits for."""

import heapq
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleetcool.model.knowledge import Knowledge, names
from reports.view import rows_of, text

Step = dict[str, object]
# How the name of a step ends on the way in, and how on the way back.
_TURNED = {
    "off": "on",
    "out": "in",
    "loose": "tight",
    "open": "closed",
    "closed": "open",
    "shut": "open",
    "unclipped": "clipped",
    "unplugged": "plugged in",
    "aside": "in place",
    "up": "down",
    "tilt": "tilted back",
    "lift": "lifted in",
    "lock": "lock off",
    "valves": "valves open",
}
# What a text says after these words, up to the end of its sentence, is for the way back.
_BACK = re.compile(r"(?:^|[;,]?\s+)[Oo]n the way back,? ([^.]+\.?)")


@dataclass(frozen=True, slots=True)
class LayoutSteps:
    """The access steps of one layout.

    Attributes:
        rows: step → its row of the table of steps, in working order.
        after: step → the steps of this layout that must come before it.
        asked: service → the steps it calls for.
    """

    rows: Mapping[str, Step]
    after: Mapping[str, tuple[str, ...]]
    asked: Mapping[str, tuple[str, ...]]

    def ordered(self, services: Iterable[str]) -> list[Step]:
        """Return the steps of some services together, each once, prerequisites above.

        Steps that another step names in `after` are added even when no service asks for them.
        Among steps that could come next, the one that stands first in the table comes first; steps
        that wait for each other in a circle come last, in that order.
        """
        wanted = self._with_prerequisites(services)
        in_place = [name for name in self.rows if name in wanted]
        place = {name: at for at, name in enumerate(in_place)}
        waits = {name: {one for one in self.after[name] if one in wanted} for name in in_place}
        followers: dict[str, list[str]] = {}
        for name in in_place:
            for before in waits[name]:
                followers.setdefault(before, []).append(name)
        ready = [place[name] for name in in_place if not waits[name]]
        done: list[str] = []
        while ready:
            name = in_place[heapq.heappop(ready)]
            done.append(name)
            for other in followers.get(name, ()):
                waits[other].discard(name)
                if not waits[other]:
                    heapq.heappush(ready, place[other])
        left = [name for name in in_place if name not in set(done)]
        return [self.rows[name] for name in (*done, *left)]

    def _with_prerequisites(self, services: Iterable[str]) -> set[str]:
        found: set[str] = set()
        left = [step for service in services for step in self.asked.get(service, ())]
        while left:
            name = left.pop()
            if name in self.rows and name not in found:
                found.add(name)
                left.extend(self.after[name])
        return found


def read_steps(knowledge: Knowledge, layouts: Iterable[str]) -> dict[str, LayoutSteps]:
    """Return the access steps of some layouts; a layout without any has an empty record."""
    wanted = sorted(set(layouts))
    rows: dict[str, dict[str, Step]] = {layout: {} for layout in wanted}
    for one in rows_of(knowledge.steps[knowledge.steps["layout"].isin(wanted)]):
        rows[text(one["layout"])][text(one["step"])] = one
    asked: dict[str, dict[str, list[str]]] = {layout: {} for layout in wanted}
    needed = knowledge.service_steps[knowledge.service_steps["layout"].isin(wanted)]
    for layout, service, step in zip(
        needed["layout"], needed["service"], needed["step"], strict=True
    ):
        asked[layout].setdefault(service, []).append(step)
    return {
        layout: LayoutSteps(
            rows[layout],
            {name: names(one["after"]) for name, one in rows[layout].items()},
            {service: tuple(steps) for service, steps in asked[layout].items()},
        )
        for layout in wanted
    }


def steps_in_order(knowledge: Knowledge, layout: str, services: tuple[str, ...]) -> list[Step]:
    """Return the access steps of some services of one layout in working order."""
    return read_steps(knowledge, (layout,))[layout].ordered(services)


def is_taken_apart(step: Mapping[str, object]) -> bool:
    """Tell whether a step has work on the way in."""
    return text(step["only_when"]) != "put back"


def only_put_back(step: Mapping[str, object]) -> bool:
    """Tell whether a step belongs to the way back alone: cleaning, filling, bleeding, testing."""
    return text(step["only_when"]) == "put back"


def is_undone(step: Mapping[str, object]) -> bool:
    """Tell whether a step is done on the way in and undone on the way back."""
    return text(step["only_when"]) == ""


def services_in_order(layout: LayoutSteps, services: Sequence[str]) -> tuple[str, ...]:
    """Return services in the order in which they are best done while all is open.

    What lies behind the last thing taken off comes first; among equals that with more steps on
    its way, then the given order. Common practice, no source.
    """
    place = {text(one["step"]): at for at, one in enumerate(layout.ordered(services))}
    apart = {name for name in place if is_taken_apart(layout.rows[name])}

    def depth(service: str) -> tuple[int, int]:
        behind = {text(one["step"]) for one in layout.ordered((service,))} & apart
        return -max((place[name] for name in behind), default=-1), -len(behind)

    return tuple(sorted(services, key=depth))


def put_back_order(steps: Sequence[Step], services: Sequence[str] = ()) -> list[Step]:
    """Return the way back of steps given in working order.

    Steps that are undone come last to first. A step of the way back alone comes right before the
    step it names in `back_before`; one that names none, or one that is not part of this stay,
    comes when all is back, in the order of the table. Steps that belong right before one of the
    `services` are not among them: `before_services` tells those.
    """
    return _way_back(steps, services)[1]


def before_services(steps: Sequence[Step], services: Sequence[str]) -> dict[str, list[Step]]:
    """Return service → the steps of the way back alone that come right before it."""
    found: dict[str, list[Step]] = {}
    waiting: list[Step] = []
    for one in _way_back(steps, services)[0]:
        if isinstance(one, str):
            if waiting:
                found[one] = waiting
            waiting = []
        else:
            waiting.append(one)
    return found


def _way_back(
    steps: Sequence[Step], services: Sequence[str]
) -> tuple[list[Step | str], list[Step]]:
    """Return services with the steps above them, and what is put back after that."""
    own = [one for one in steps if only_put_back(one)]
    undone = [one for one in reversed(steps) if is_undone(one)]
    known = {text(one["step"]) for one in (*own, *undone)}
    doing: list[Step | str] = list(services)
    aim: dict[str, str] = {}
    for one in own:
        before = text(one.get("back_before"))
        is_there = before in known or before in services
        aim[text(one["step"])] = before if is_there and before != text(one["step"]) else ""
    backing: list[Step | str] = [*undone, *(one for one in own if not aim[text(one["step"])])]
    left = [one for one in own if aim[text(one["step"])]]
    while left:
        placed = []
        for one in left:
            before = aim[text(one["step"])]
            if before not in known:
                doing.insert(doing.index(before), one)
                placed.append(one)
            elif _put_before(one, before, backing) or _put_before(one, before, doing):
                placed.append(one)
        if not placed:  # they name each other in a circle
            backing += left
            break
        left = [one for one in left if one not in placed]
    return doing, [one for one in backing if not isinstance(one, str)]


def _put_before(step: Step, before: str, row: list[Step | str]) -> bool:
    """Put a step right before another one of a row, once that one has found its place."""
    for at, one in enumerate(row):
        if not isinstance(one, str) and text(one["step"]) == before:
            row.insert(at, step)
            return True
    return False


def back_words(step: str) -> str:
    """Return how a mechanic would say that a step is undone: "belt off" is "belt on" again."""
    head, _, last = step.rpartition(" ")
    if head and last in _TURNED:
        return f"{head} {_TURNED[last]}"
    if step.startswith("drain "):
        return f"{step} closed"
    part, at, place = step.partition(" at ")
    return f"{part} on{at}{place}" if at else f"{step} back"


def way_in_words(step: Mapping[str, object]) -> str:
    """Return what the text of a step says of the way in; its name where there is no text."""
    words = text(step["text"]) or text(step["step"])
    left = _BACK.sub(lambda found: "." if found[0][0] in ";," else "", words).strip()
    return left or words


def way_back_words(step: Mapping[str, object]) -> str:
    """Return what the text of a step says of the way back, as a sentence; maybe empty."""
    return " ".join(f"{found[0].upper()}{found[1:]}" for found in _BACK.findall(text(step["text"])))
