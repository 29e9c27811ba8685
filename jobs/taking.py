"""Take files in and say what follows: by hand and from the inbox alike."""

import dataclasses
from collections.abc import Sequence
from pathlib import Path

from fleetcool.actions.take import Moment, Taken, take, with_what_follows
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store


def take_and_follow(
    store: Store, paths: Sequence[Path], *, settings: Settings, moment: Moment
) -> Taken:
    """Take in the files and return what became of every row, and what follows from them.

    Once the rows are kept, a fault in what is said of them is said in a sentence.

    Raises:
        NotUsableError: as `take`.
    """
    taken = take(store, paths, settings=settings, moment=moment)
    try:
        return with_what_follows(store, taken, settings)
    except Exception as fault:  # noqa: BLE001 - the rows are kept; only what is said of them fails
        said = (
            f"What follows from this intake could not be said ({type(fault).__name__}: {fault}); "
            "all its rows are kept, and fleetcool due shows the days."
        )
        warnings = (*taken.warnings, said)
        judged = taken.judged and dataclasses.replace(taken.judged, warnings=warnings)
        return dataclasses.replace(taken, judged=judged, warnings=warnings)
