"""The state in which each published visit stands, by what people and results say of it."""

from collections.abc import Sequence

import pandas as pd
import pytest
from made_rows import Row, standing
from plan_rows import MONDAY, made_visit

from fleetcool.model.days import iso
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.visits.decided import Published, closed_to, read_published

AS_OF = MONDAY
START = MONDAY + 7
VISIT = "104-26W46"


def published(
    start_on: float, decisions: Sequence[Row] = (), history: Sequence[Row] = (), **more: object
) -> Published:
    """Return how a visit of a new pump stands that was published four weeks ago."""
    issued = {"as_of": AS_OF - 28.0, "in_last": True}
    visits = pd.DataFrame(
        [made_visit(VISIT, start_on, **(issued | more))],
        columns=[*VISIT_COLUMNS, "as_of", "in_last"],
    )
    row = {"visit": VISIT, "vehicle": "104", "service": "new pump", "occurrence": 1}
    services = pd.DataFrame(
        [row | {"as_of": AS_OF - 28.0}], columns=[*VISIT_SERVICE_COLUMNS, "as_of"]
    )
    rows = {"vehicles": [{"unit": "104", "depot": "NORTH"}], "depots": [{"depot": "NORTH"}]}
    stands = standing(
        AS_OF, {**rows, "decisions": decisions, "history": history}, (visits, services)
    )
    return read_published(stands, Settings(), START)


def said(what: str, *, day: float = AS_OF, **more: object) -> Row:
    at = {"decided_at": f"{iso(day)}T10:00:00Z", "unit": "104", "visit": VISIT, "what": what}
    return at | more


def state(one: Published) -> list[str]:
    return [str(name) for name in one.visits["state"]]


def done(day: float, **more: object) -> Row:
    return {"unit": "104", "on": day, "service": "new pump", **more}


@pytest.mark.parametrize(
    ("start_on", "decisions", "holds"),
    [
        (MONDAY - 3, (), "no word yet"),
        (MONDAY + 60, (), "proposed"),
        (MONDAY + 5, (), "fixed"),  # within the frozen days
        (MONDAY - 3, (said("here"),), "here"),
        (MONDAY - 3, (said("waiting"),), "waiting"),
        (MONDAY - 3, (said("put off", on=MONDAY + 30.0),), "proposed"),
        (MONDAY - 3, (said("fix", on=MONDAY + 3.0),), "fixed"),
        # a day fixed a week ago is over before any issue published it
        (MONDAY + 60, (said("fix", day=AS_OF - 7, on=AS_OF - 2.0),), "no word yet"),
        # a day that was over when it was asked for changes nothing
        (MONDAY + 60, (said("fix", on=MONDAY - 2.0),), "proposed"),
        # its published day was ruled out, but somebody gave it another
        (
            MONDAY + 30,
            (said("not in", on=MONDAY + 29.0, until=MONDAY + 31.0), said("fix", on=MONDAY + 40.0)),
            "fixed",
        ),
        (MONDAY - 3, (said("not come"),), None),
        (MONDAY - 3, (said("let go"),), None),
        (MONDAY - 3, (said("done", on=MONDAY - 3.0),), None),
    ],
)
def test_a_visit_stands_as_the_last_word_says(
    start_on: float, decisions: tuple[Row, ...], holds: str | None
) -> None:
    assert state(published(start_on, decisions)) == ([] if holds is None else [holds])


@pytest.mark.parametrize("named", [{"visit": VISIT}, {}])
def test_a_visit_that_is_done_is_never_proposed_again(named: Row) -> None:
    assert state(published(MONDAY + 60, history=[done(MONDAY - 1.0, **named)])) == []


def test_what_did_not_come_is_named_until_it_is_done() -> None:
    missed = published(MONDAY - 3, [said("not come")])
    assert missed.came_not == {("104", "new pump")}
    since = published(MONDAY - 3, [said("not come")], [done(MONDAY - 1.0)])
    assert since.came_not == frozenset()
    assert published(MONDAY - 3).came_not == frozenset()


def test_a_visit_that_hands_its_number_to_none_has_its_end() -> None:
    assert state(published(MONDAY - 3, in_last=False)) == []


def test_what_was_let_go_is_planned_again_when_a_day_is_asked_for_the_vehicle_later() -> None:
    gone = said("let go", day=AS_OF - 3)
    assert ("104", "new pump") in published(MONDAY + 30, [gone]).let_go
    asked = said("fix", on=MONDAY + 30.0, visit=None)
    assert published(MONDAY + 30, [gone, asked]).let_go == {}
    over = said("fix", on=MONDAY - 1.0, visit=None)
    assert ("104", "new pump") in published(MONDAY + 30, [gone, over]).let_go


def test_a_day_fixed_for_a_vehicle_leaves_its_first_visit_no_other_day() -> None:
    one = published(MONDAY + 60, [said("fix", on=MONDAY + 30.0, visit=None)])
    visits = pd.DataFrame({"visit": ["104-1", "104-2"], "vehicle": "104", "target": [1.0, 2.0]})
    none = pd.DataFrame({"visit": [], "service": []})
    closed = closed_to(visits, none, one, START)
    assert list(closed) == ["104-1"]
    free = [day for day in (29, 30, 31) if not _in(MONDAY + day, closed["104-1"])]
    assert free == [30]


def _in(day: float, stretches: Sequence[tuple[float, float]]) -> bool:
    return any(first <= day < stop for first, stop in stretches)


def test_what_was_ruled_out_for_a_visit_holds_for_the_one_that_takes_its_service_over() -> None:
    put_off = said("put off", on=MONDAY + 40.0)
    one = published(MONDAY + 3, [put_off], in_last=False)
    assert one.visits.empty
    assert one.about("104-26W51", "104", ["new pump"]).not_before == MONDAY + 40
    assert pd.isna(one.about("104-26W51", "104", ["new hoses"]).not_before)
    assert pd.isna(one.about("104-26W51", "105", ["new pump"]).not_before)
    done_since = published(MONDAY + 3, [put_off], [done(AS_OF - 1)], in_last=False)
    assert pd.isna(done_since.about("104-26W51", "104", ["new pump"]).not_before)
