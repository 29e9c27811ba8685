"""What is taken in stays, whatever becomes of the sentences about it."""

from pathlib import Path
from typing import TYPE_CHECKING, cast

import pandas as pd
import pytest

from fleetcool.actions.take import Moment, Taken
from fleetcool.model.settings import Settings
from fleetcool.model.taken import Judged
from jobs import taking

if TYPE_CHECKING:
    from fleetcool.store.engine import Store


def test_a_fault_in_what_follows_is_a_sentence_and_the_rows_are_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nothing = pd.DataFrame()
    judged = Judged({}, {}, {}, {}, nothing, (), nothing, warnings=("1 row still waits.",))
    kept = Taken(7, None, judged, judged.warnings, nothing)

    def fail(*_args: object, **_named: object) -> Taken:
        raise ArithmeticError("no such curve")

    monkeypatch.setattr(taking, "take", lambda *_args, **_named: kept)
    monkeypatch.setattr(taking, "with_what_follows", fail)
    taken = taking.take_and_follow(
        cast("Store", None), [Path("x.csv")], settings=Settings(), moment=Moment(1, 1, 1, "clerk")
    )
    assert taken.intake == 7
    assert taken.judged is not None
    assert taken.judged.warnings == taken.warnings
    assert taken.warnings[0] == "1 row still waits."
    assert "ArithmeticError: no such curve" in taken.warnings[1]
    assert "all its rows are kept" in taken.warnings[1]
