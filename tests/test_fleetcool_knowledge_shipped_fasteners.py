"""The shipped fasteners carry the torque of their thread where one is published, and no more."""

import pandas as pd
import pytest

from fleetcool.knowledge.reader import in_force

KNOWLEDGE = in_force({}, 20_000)
STEPS = KNOWLEDGE.steps
LAYOUTS = sorted(KNOWLEDGE.layouts["layout"].astype(str))
THREADS = {  # N·m into aluminium, read in engine makers' manuals and thread tables; guard
    "M6x1.0": (8.0, 11.0, 12.0),  # guard: M6 into aluminium never above about 12 N·m
    "M8x1.25": (18.0, 26.0, 30.0),  # highest read 24 + 4 N·m, Mitsubishi; guard common practice
    "M10x1.5": (36.0, 49.0, 55.0),  # highest read 44 + 10 N·m, Mitsubishi; guard common practice
}


def test_a_torque_stands_only_where_thread_or_clip_has_a_published_range() -> None:
    """Clips: a clamp maker's page, worm drive 30–45 lbf·in, constant torque 90 lbf·in; 1 lbf·in is
    0.1129848 N·m by definition."""
    clips = {(30 * 0.1129848, 45 * 0.1129848), (90 * 0.1129848, 90 * 0.1129848)}
    clips = {(round(low, 1), round(high, 1)) for low, high in clips}
    for one in KNOWLEDGE.fasteners.to_dict("records"):
        said = (one["torque_low_nm"], one["torque_high_nm"], one["guard_nm"])
        if not pd.isna(one["thread"]):
            assert said == THREADS[str(one["thread"])], one["what"]
        elif not pd.isna(said[0]):
            assert "clip" in str(one["what"])
            assert said[:2] in clips
            assert said[1] < said[2] <= 1.11 * said[1]
        else:
            assert all(pd.isna(figure) for figure in said)
    assert KNOWLEDGE.fasteners["manual_torque_nm"].isna().all()


def test_no_thread_is_said_to_turn_one_way() -> None:
    texts = [*KNOWLEDGE.fasteners["trap"].dropna(), *STEPS["text"]]
    for word in ("left-hand", "right-hand", "clockwise", "reverse thread"):
        assert [text for text in texts if word in text] == []
    nuts = KNOWLEDGE.fasteners[KNOWLEDGE.fasteners["what"] == "fan drive nut"]
    assert len(nuts) == 3
    assert nuts["trap"].str.contains("Direction as the manual says").all()


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_step_that_undoes_bolts_or_clips_has_its_fasteners(layout: str) -> None:
    without = {"belt off", "fan plug", "cab tilt", "timing lock", "pump pulley off", "screens"}
    fasteners = KNOWLEDGE.fasteners[KNOWLEDGE.fasteners["layout"] == layout]
    undone = STEPS[(STEPS["layout"] == layout) & STEPS["only_when"].isna()]["step"]
    met = set(fasteners["step"].dropna())
    assert set(undone) - met == set(undone) & without
    assert not met & without
    assert {"new pump", "new cooling pack", "new expansion tank"} <= set(
        fasteners["service"].dropna()
    )
