"""In which depot are the vehicles of a sheet that has no column for it?"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from fleetcool.intake.headings import Heading
from fleetcool.intake.settle_sheets import Placed

ONLY_DEPOT = "HOME"  # the name of the one yard of a fleet that names none


def with_depots(
    placed: Sequence[Placed], known: Iterable[str]
) -> tuple[list[Placed], tuple[str, ...]]:
    """Return the sheets with the one depot there can be put in, and sentences that say so.

    A fleet that names no yard has one, called HOME; a fleet with one known yard has its vehicles
    there. With several the depot stays blank, and the rows are held and asked for it.
    """
    here = {text for one in placed for text in _named(one)} | {text for text in known if text}
    if len({text.casefold() for text in here}) > 1:
        return list(placed), ()
    depot = min(here, default=ONLY_DEPOT)
    lacking = [_lacks(one) for one in placed]
    said = tuple(
        f"{one.file}, sheet {one.sheet}: no column says where the vehicles are at home; "
        f'all {len(one)} are put in the depot "{depot}". Add a column "depot" if there are more.'
        for one, lacks in zip(placed, lacking, strict=True)
        if lacks
    )
    return [
        _with(one, depot) if lacks else one for one, lacks in zip(placed, lacking, strict=True)
    ], said


def _named(one: Placed) -> list[str]:
    """Return the depots that a sheet of vehicles or depots names."""
    if one.table.name not in ("vehicles", "depots"):
        return []
    return [text for name, _, texts in one.columns if name == "depot" for text in texts if text]


def _lacks(one: Placed) -> bool:
    return (
        one.table.name == "vehicles"
        and not one.fixing
        and len(one) > 0
        and all(name != "depot" for name, _, _ in one.columns)
    )


def _with(one: Placed, depot: str) -> Placed:
    texts = np.full(len(one), depot, dtype=object)
    return replace(one, columns=(*one.columns, ("depot", Heading(-1, "depot", "depot"), texts)))
