"""Which visits nobody has said anything of for so long that they are asked for by name."""

import pandas as pd

from fleetcool.model.days import day_text

ASKED_AFTER_DAYS = 14  # after its day; common practice, no source


def asked_by_name(visits: pd.DataFrame, as_of: float) -> tuple[str, ...]:
    """Return one sentence a visit that has had no word for 14 days, the oldest first.

    Args:
        visits: of a plan: visit, unit, state, start_on.
        as_of: [day number].
    """
    waited = as_of - visits["start_on"].astype("float64")
    rows = visits[visits["state"].eq("no word yet") & (waited >= ASKED_AFTER_DAYS)]
    rows = rows.sort_values(["start_on", "unit", "visit"])
    return tuple(
        f"Unit {unit} was to come in on {day_text(start_on)} (visit {visit}), and for "
        f"{int(as_of - start_on)} days nobody has said what became of it: say done, not come or "
        "let go."
        for visit, unit, start_on in rows[["visit", "unit", "start_on"]].itertuples(
            index=False, name=None
        )
    )
