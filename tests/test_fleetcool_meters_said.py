"""What a person says of a reading wins over what repair would make of it, and sticks.

The readings are invented.
"""

import made_rows
import numpy as np
import pandas as pd
import pytest
from meter_series import odd

from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import gather
from fleetcool.model.standing import Earlier, Standing

Row = dict[str, object]
READ = [100_000.0, 100_700.0, 101_400.0, 109_900.0, 102_800.0, 103_500.0]


def standing(
    read: list[float], said: list[Row], earlier: Earlier | None = None, meter: str = "odometer"
) -> Standing:
    rows = made_rows.standing(
        1_000,
        {
            "vehicles": [{"unit": "104", "distance_unit": "km"}],
            "readings": [
                {"unit": "104", "on": 900.0 + 7 * k, meter: one, "intake": 1 + k}
                for k, one in enumerate(read)
            ],
            "meter_decisions": [
                {
                    "unit": "104",
                    "meter": meter,
                    "decided_at": f"2026-10-0{1 + k}T08:00:00Z",
                    **one,
                }
                for k, one in enumerate(said)
            ],
        },
    )
    if earlier is None:
        return rows
    return Standing(
        rows.as_of,
        rows.revision,
        rows.frames,
        rows.published_visits,
        rows.published_services,
        rows.holidays,
        rows.unused,
        earlier=earlier,
    )


def spoken(*said: Row, read: list[float] | None = None, meter: str = "odometer") -> Chain:
    return repair(gather(standing(read or READ, list(said), meter=meter)))


def line(chain: Chain, raw: float) -> pd.Series:
    return chain.frame[chain.frame["raw"] == raw].iloc[0]


def test_without_a_word_the_odd_reading_is_not_used() -> None:
    assert not line(spoken(), 109_900.0)["used"]


def test_right_is_believed_against_all_readings_after_it() -> None:
    chain = spoken({"on": 921.0, "value": 109_900.0, "what": "right"})
    one = line(chain, 109_900.0)
    assert (one["used"], one["said"], one["cause"]) == (True, "right", "")
    assert one["cumulative"] == 109_900.0


def test_not_right_is_never_used() -> None:
    chain = spoken({"on": 914.0, "value": 101_400.0, "what": "not right"})
    one = line(chain, 101_400.0)
    assert (one["used"], one["said"], one["cause"]) == (False, "not right", "said not right")
    assert one["reason"] == "said to be not right"
    assert one["moves_days"] == 0.0


def test_what_is_right_instead_stands_in_its_place() -> None:
    chain = spoken({"on": 921.0, "value": 109_900.0, "what": "not right", "instead": 102_100.0})
    one = line(chain, 109_900.0)
    assert (one["used"], one["said"]) == (True, "not right")
    assert (one["raw"], one["cumulative"], one["proposed"]) == (109_900.0, 102_100.0, 102_100.0)
    assert one["reason"] == "said to be 102,100 km instead"
    assert chain.frame["used"].all()


def test_instead_is_believed_against_the_others() -> None:
    chain = spoken({"on": 921.0, "value": 109_900.0, "what": "not right", "instead": 101_000.0})
    assert line(chain, 109_900.0)["used"]
    assert not line(chain, 101_400.0)["used"]


def test_meter_replaced_makes_it_the_first_of_a_new_meter() -> None:
    read = [100_000.0, 100_700.0, 101_400.0, 40.0]
    assert not line(spoken(read=read), 40.0)["used"]
    chain = spoken({"on": 921.0, "value": 40.0, "what": "meter replaced"}, read=read)
    one = line(chain, 40.0)
    assert (one["used"], one["said"], one["cause"]) == (True, "meter replaced", "")
    np.testing.assert_allclose(np.diff(chain.cumulative), 700.0)


def test_the_latest_word_counts() -> None:
    at: Row = {"on": 921.0, "value": 109_900.0}
    chain = spoken({**at, "what": "right"}, {**at, "what": "not right"})
    assert line(chain, 109_900.0)["said"] == "not right"


@pytest.mark.parametrize(
    ("meter", "value", "heard"),
    [
        ("odometer", 109_901.0, True),
        ("odometer", 109_901.5, False),
        ("engine_hours", 109_900.1, True),
        ("engine_hours", 109_900.3, False),
    ],
)
def test_a_word_fits_within_1_km_or_a_tenth_of_an_hour(
    meter: str, value: float, *, heard: bool
) -> None:
    chain = spoken({"on": 921.0, "value": value, "what": "not right"}, meter=meter)
    assert (line(chain, 109_900.0)["said"] == "not right") is heard


def test_a_word_about_another_day_or_vehicle_changes_nothing() -> None:
    chain = spoken(
        {"on": 922.0, "value": 109_900.0, "what": "right"},
        {"on": 921.0, "value": 109_900.0, "what": "right", "vehicle": "somebody else"},
    )
    pd.testing.assert_frame_equal(chain.frame, spoken().frame)


def test_before_the_first_issue_the_latest_35_days_are_new() -> None:
    frame = repair(gather(standing([1_000.0 + 700 * k for k in range(15)], []))).frame
    assert list(frame["new"]) == [on > 965 for on in frame["on"]]


def test_after_an_issue_what_came_later_is_new() -> None:
    earlier = Earlier(last_on=925.0, newest_intake=3)
    frame = repair(gather(standing(READ, [], earlier))).frame
    assert list(frame["new"]) == [False, False, False, True, True, True]


def test_what_a_person_has_spoken_of_is_no_longer_new() -> None:
    said: Row = {"on": 921.0, "value": 109_900.0, "what": "not right"}
    earlier = Earlier(last_on=925.0, newest_intake=3)
    frame = repair(gather(standing(READ, [said], earlier))).frame
    assert not frame.loc[frame["raw"] == 109_900.0, "new"].any()


def test_a_silent_line_stays_silent_when_more_readings_come() -> None:
    said: Row = {"on": 921.0, "value": 109_900.0, "what": "not right", "instead": 102_100.0}
    more = [*READ, 104_200.0, 104_900.0]
    rows = odd(repair(gather(standing(more, [said]))))
    assert list(rows["said"]) == ["not right"]
