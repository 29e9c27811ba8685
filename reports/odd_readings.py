"""The sheet Odd readings: new ones that would move a due day, to be settled, and silent meters."""

import pandas as pd

from fleetcool.intake.forms import KEY, ODD_READINGS
from fleetcool.intake.returned_odd import odd_key
from fleetcool.model.days import FAR, iso
from fleetcool.units import KM_PER_MILE
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import counted, distance_unit

_SILENT = 45  # days without a used reading after which a meter is named
_MATTERS = 7.0  # days by which an odd reading must move a due day to be shown
_UNSETTLED = 182  # days for which a guess that everything since rests on is shown again
_GUESSES = (
    "replaced meter",
    "rollover",
    "long run",
    "miles for km",
    "km for miles",
    "tenths without the point",
)


def odd_readings_sheet(view: View) -> Sheet:
    """Return the odd readings that are new and matter, with entry cells, and the silent meters."""
    odd, silent = _odd(view), _silent(view)
    return Sheet(
        ODD_READINGS.sheet,
        (
            Block(
                "odd_readings",
                _headings(),
                odd,
                "No new reading is odd enough to move a due day by more than a week.",
                title="New since the last issue",
            ),
            Block(
                "unsettled_readings",
                _headings(),
                _rests_on(view),
                "No due day rests on a guess about a meter of the last half year.",
                title="Told before, and days still rest on it",
            ),
            Block(
                "silent_meters",
                (
                    Heading(KEY, hidden=True),  # the columns stand beneath those above
                    Heading("unit", width=10),
                    Heading("yard", width=12),
                    Heading("last used reading", "day", 13),
                    Heading("meter", width=13),
                    Heading("days silent", "whole", 11),
                    Heading("what to do", width=44),
                ),
                silent,
                f"No meter has been silent for more than {_SILENT} days.",
                title="Silent meters",
            ),
        ),
        title="Odd readings",
        sentences=(
            (
                f"{counted(len(odd), 'new reading').capitalize()} would move a due day by more "
                "than a week. Nothing is thrown away: an odd one is kept, and the line says what "
                "was made of it. Settle it in the grey cells and drop this book into the inbox; "
                "what you say there holds from then on, and the line does not come again."
            ),
            (f"{counted(len(silent), 'meter').capitalize()} silent for more than {_SILENT} days."),
        ),
    )


def _headings() -> tuple[Heading, ...]:
    entries = {entry.name: entry for entry in ODD_READINGS.entries}
    what, instead, by = entries["what"], entries["instead"], entries["by"]
    return (
        Heading(KEY, hidden=True),
        Heading("unit", width=10),
        Heading("yard", width=12),
        Heading("day", "day", 13),
        Heading("meter and its unit", width=14),
        Heading("it says", "whole", 11),
        Heading("what was made of it", width=44),
        Heading("likely value", "whole", 11),
        Heading("days it would move", "whole", 12),
        Heading(what.heading, width=15, entry=what.name, choices=what.choices),
        Heading(instead.heading, "number", 12, entry=instead.name),
        Heading(by.heading, width=8, entry=by.name),
    )


def _odd(view: View) -> tuple[tuple[Cell, ...], ...]:
    chosen = _matter(view)
    chosen = chosen[chosen["new"].astype(bool)]
    return _lines(view, chosen)


def _rests_on(view: View) -> tuple[tuple[Cell, ...], ...]:
    """Return what was told before and still rests on a guess: new meters, other units of length."""
    chosen, as_of = _matter(view), view.outlook.as_of
    recent = chosen["on"].astype("float64") > as_of - _UNSETTLED
    chosen = chosen[~chosen["new"].astype(bool) & chosen["cause"].isin(_GUESSES) & recent]
    return _lines(view, chosen)


def _matter(view: View) -> pd.DataFrame:
    """Return the odd readings nobody has settled that move a due day by more than a week."""
    readings = view.outlook.projection.readings
    moves = readings["moves_days"].astype("float64")
    unsaid = readings["said"].fillna("").eq("")
    here = {one for one, facts in view.vehicles.items() if facts.get("here", True)}
    return readings[unsaid & (moves > _MATTERS) & readings["vehicle"].isin(here)]


def _lines(view: View, chosen: pd.DataFrame) -> tuple[tuple[Cell, ...], ...]:
    """Return the lines of odd readings, those that matter most first."""
    chosen = chosen.assign(moves_days=chosen["moves_days"].astype("float64"))
    chosen = chosen.sort_values(
        ["moves_days", "on", "vehicle", "meter", "raw"], ascending=[False, True, True, True, True]
    )
    chosen = chosen.drop_duplicates(["vehicle", "meter", "on", "raw"])
    return tuple(_odd_row(view, one) for one in rows_of(chosen))


def _odd_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    vehicle, meter = text(one["vehicle"]), text(one["meter"])
    unit = view.vehicle_text(vehicle, "unit") or vehicle
    raw, proposed, on = figure(one["raw"]), figure(one["proposed"]), figure(one["on"])
    shown_in = _shown_in(view, vehicle) if meter == "odometer" else "h"
    key = odd_key(unit, meter, iso(on) or "", raw, shown_in)
    if shown_in == "mi":
        raw, proposed = raw / KM_PER_MILE, proposed / KM_PER_MILE
    return (
        key,
        unit,
        view.depot_name(view.vehicle_text(vehicle, "depot")),
        on,
        f"{meter.replace('_', ' ')}, {shown_in}",
        raw,
        text(one["reason"]),
        proposed,
        f"{FAR:,} or more" if figure(one["moves_days"]) >= FAR else figure(one["moves_days"]),
        None,
        None,
        None,
    )


def _shown_in(view: View, vehicle: str) -> str:
    """Return whether a vehicle's odometer shows km or mi."""
    return view.vehicle_text(vehicle, "distance_unit") or distance_unit(view.outlook.settings)


def _silent(view: View) -> tuple[tuple[Cell, ...], ...]:
    usage, as_of = view.outlook.projection.usage, view.outlook.as_of
    last = usage["anchor_on"].astype("float64")
    # A meter that never spoke is no news here: most vehicles have only one.
    spoke = usage["n_used"].astype("float64") > 0
    chosen = usage[spoke & (last < as_of - _SILENT)].sort_values(["anchor_on", "vehicle", "meter"])
    rows: list[tuple[Cell, ...]] = []
    for one in rows_of(chosen):
        vehicle = text(one["vehicle"])
        facts = view.vehicles.get(vehicle)
        if facts is None or not facts.get("here", True):
            continue
        rows.append(
            (
                None,
                text(facts.get("unit")),
                view.depot_name(text(facts.get("depot"))),
                figure(one["anchor_on"]),
                text(one["meter"]).replace("_", " "),
                Past(as_of - figure(one["anchor_on"])),
                "Please have it read; until then its days rest on the usage before.",
            )
        )
    return tuple(rows)
