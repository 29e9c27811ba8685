"""A visit without word is asked for by name once two weeks have gone by."""

import pandas as pd
from plan_rows import MONDAY, made_visit

from fleetcool.visits.silent import asked_by_name


def test_a_visit_without_word_is_asked_for_by_unit_and_day_after_fourteen_days() -> None:
    visits = pd.DataFrame(
        [
            made_visit("106-26W43", MONDAY - 13, state="no word yet"),
            made_visit("105-26W42", MONDAY - 14, state="no word yet"),
            made_visit("104-26W40", MONDAY - 30, state="no word yet"),
            made_visit("107-26W40", MONDAY - 30, state="waiting"),
        ]
    )
    said = asked_by_name(visits, MONDAY)
    assert [one.split(" (")[0] for one in said] == [
        "Unit 104 was to come in on 10 October 2026",
        "Unit 105 was to come in on 26 October 2026",
    ]
    assert said[1].endswith(
        "(visit 105-26W42), and for 14 days nobody has said what became of it: say done, not come "
        "or let go."
    )
