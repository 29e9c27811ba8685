"""summary.json: what an issue of a week's books holds, with the hash of every file."""

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fleetcool.model.days import day
from reports.view import View


def write_summary(path: Path, view: View, edition: int, files: Sequence[Path]) -> None:
    """Write the summary of the books already written, in one move, keys sorted."""
    outlook = view.outlook
    plan, supply = outlook.plan, outlook.supply
    week = plan.weeks[plan.weeks["week"] == outlook.week]
    content = {
        "week": outlook.week,
        "as_of": day(outlook.as_of).isoformat(),
        "edition": edition,
        "revision": outlook.standing.revision,
        "counts": {
            "vehicles": int(outlook.standing["vehicles"]["here"].astype(bool).sum()),
            "visits": len(plan.visits),
            "visits_this_week": len(view.week_visits()),
            "no_word_yet": len(view.silent_visits()),
            "rounds": len(plan.rounds),
            "not_placed": len(plan.not_placed),
            "let_go": len(plan.let_go),
            "parts": len(supply.parts),
            "order_lines": len(supply.orders),
        },
        "hours_available": _total(week["hours_available"].to_numpy(dtype="float64")),
        "hours_planned": _total(week["hours_planned"].to_numpy(dtype="float64")),
        "files": {one.name: _sha256(one) for one in sorted(files)},
    }
    part = path.with_name(f".{path.name}.part")
    part.write_text(json.dumps(content, indent=2, sort_keys=True) + "\n", encoding="utf-8")
    part.replace(path)


def _total(values: np.ndarray) -> float:
    return round(float(np.nansum(values)), 2)


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
