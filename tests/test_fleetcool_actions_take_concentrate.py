"""What was put in as concentrate is taken by its part number and by its product's name."""

from pathlib import Path

import pytest

from fleetcool.actions.take import Moment, take
from fleetcool.model.days import iso
from fleetcool.model.settings import Settings
from fleetcool.store.engine import close, open_store
from fleetcool.store.standing import read_standing

AS_OF = 20_762


@pytest.mark.parametrize("word", ["COOL-NOAT-C", "NOAT eg concentrate"])
def test_a_correction_is_taken_with_what_stood_on_the_can(word: str, tmp_path: Path) -> None:
    (tmp_path / "vehicles.csv").write_text(
        "unit,depot,layout,coolant_litres\n502,NORTH,diesel six heavy,45\n", encoding="utf-8"
    )
    (tmp_path / "depots.csv").write_text("depot,name\nNORTH,North\n", encoding="utf-8")
    (tmp_path / "history.csv").write_text(
        "unit,on,service,litres_out,litres_in,coolant\n"
        f"502,{iso(AS_OF - 1)},coolant correction,6,6,{word}\n",
        encoding="utf-8",
    )
    store = open_store(f"sqlite:///{tmp_path / 'fleet.db'}")
    try:
        moment = Moment(AS_OF, AS_OF, AS_OF * 86_400, "a test")
        take(store, [tmp_path / "depots.csv", tmp_path / "vehicles.csv", tmp_path / "history.csv"],
             settings=Settings(), moment=moment)  # fmt: skip
        history = read_standing(store, AS_OF)["history"]
    finally:
        close(store)
    assert history["service"].tolist() == ["coolant correction"]
    assert history["coolant"].tolist() == [word]
