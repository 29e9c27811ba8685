"""Who decided what about a vehicle's visits, and when, stays readable."""

from made_rows import table
from plan_rows import MONDAY

from fleetcool.visits.decided_rows import decided_rows


def test_decisions_about_a_vehicle_and_its_visits_stand_newest_first() -> None:
    rows = table(
        "decisions",
        [
            {
                "decided_at": "2026-11-02T10:00:00Z",
                "unit": "104",
                "visit": "104-26W46",
                "what": "fix",
                "on": MONDAY + 3.0,
                "by": "RT",
                "reason": "driver asked",
            },
            {
                "decided_at": "2026-11-09T08:00:00Z",
                "unit": "104",
                "what": "not in",
                "on": MONDAY + 7.0,
                "until": MONDAY + 11.0,
            },
            {"decided_at": "2026-11-09T09:00:00Z", "unit": "105", "what": "let go"},
        ],
    )
    found = decided_rows(rows, "104")
    assert found[["on", "visit", "said", "by", "reason"]].to_numpy().tolist() == [
        [MONDAY, "", "not from 16 November 2026 until 20 November 2026", "", ""],
        [MONDAY - 7, "104-26W46", "fixed on 12 November 2026", "RT", "driver asked"],
    ]
    assert found["until"].fillna(-1).tolist() == [MONDAY + 11, -1]
    assert decided_rows(rows, "106").empty
