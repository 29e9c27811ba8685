"""How one vehicle and its coolant are said to people, as pairs of what and how."""

import math

import numpy as np

from fleetcool.coolant.freeze import over_concentrated
from fleetcool.model.days import DAYS_PER_MONTH
from reports.vehicle_facts import Record
from reports.vehicle_words import Row, made, months, temperature
from reports.view import figure, text
from reports.words import distance, on_day, short_day, volume

Said = tuple[tuple[str, str], ...]


def title_of(record: Record, what: str) -> str:
    """Return the title of one sheet of a vehicle record."""
    return f"Vehicle {text(record.facts['unit'])}: {what}"


def identity_lines(record: Record) -> Said:
    """Return what identifies the vehicle and who has it, without what nobody has said."""
    facts, view = record.facts, record.view
    settings = record.outlook.settings
    layout = text(facts["layout"])
    joined, joined_at = figure(facts["joined_on"]), figure(facts["joined_at"])
    at = distance(joined_at, settings)
    said = (
        ("number on the door", text(facts["unit"])),
        ("numbers before", ", ".join(record.former_units)),
        ("plate", text(facts["plate"])),
        ("VIN", text(facts["vin"])),
        ("year, make and model", made(record.facts)),
        ("engine", text(facts["engine"])),
        ("tire size", text(facts["tire_size"])),
        ("cooling layout", f"{layout}{_what(record, layout)}" if layout else "not known yet"),
        ("yard", view.depot_name(text(facts["depot"]))),
        ("works", text(facts["works"])),
        ("stands in with", text(facts["pool"])),
        ("duty", text(facts["duty"])),
        ("owner", text(facts["owner"])),
        ("looked after by", _who(record)),
        ("first used", _told(figure(facts["first_used_on"]))),
        ("joined", f"{_told(joined)}{f' at {at}' if at else ''}"),
        ("leaves" if record.here else "left", _told(figure(facts["leaves_on"]))),
        ("warranty until", _warranty(record)),
        ("odometer", _odometer(record)),
    )
    return tuple((name, words) for name, words in said if words)


def standing_sentence(record: Record) -> str:
    """Return whether the vehicle is in the fleet, and what that means for the lists."""
    facts = record.facts
    unit, leaves = text(facts["unit"]), figure(facts["leaves_on"])
    joined = figure(facts["joined_on"])
    if not record.here and joined > record.outlook.as_of:
        return f"{unit} joins on {on_day(joined)}; nothing is planned for it yet."
    if not record.here:
        when = "" if math.isnan(leaves) else f" on {on_day(leaves)}"
        return f"{unit} left the fleet{when}; its record is kept, nothing is planned for it."
    who = text(facts["looked_after_by"])
    if who not in {"", "us"}:
        return f"{unit} is looked after by {who}; nothing is planned for it here."
    return f"{unit} as of {on_day(record.outlook.as_of)}."


def coolant_lines(record: Record) -> Said:
    """Return what is in the cooling system now, without what nobody knows."""
    coolant, outlook = record.coolant, record.outlook
    if not coolant:
        return ()
    settings = outlook.settings
    changed, pct = figure(coolant["whole_change_on"]), figure(coolant["glycol_pct"])
    said = (
        ("kind", text(coolant["kind"]) or "not known"),
        ("product", text(coolant["coolant"])),
        (
            "base",
            {"eg": "ethylene glycol", "pg": "propylene glycol"}.get(text(coolant["base"]), ""),
        ),
        ("holds", volume(figure(coolant["litres"]), settings)),
        ("last whole change", _aged(changed, outlook.as_of) or "none on record"),
        ("glycol", "" if math.isnan(pct) else f"{pct:.0f} % by volume"),
        ("freezes at", _freezes(record)),
        ("coldest day here", temperature(coldest(record), settings.units)),
        ("other coolant in it", _foreign(record)),
        ("change put off", _put_off(record)),
        ("age weighted by share", months(figure(coolant["weighted_age"]) / DAYS_PER_MONTH)),
        ("note", text(coolant["note"])),
    )
    return tuple((name, words) for name, words in said if words)


def limit_words(record: Record, clock: Row) -> str:
    """Return the limit in force of a service and where it comes from.

    The sentence that says where it comes from names the limit in km; miles stand before it.
    """
    settings, told = record.outlook.settings, text(clock["limit_from"])
    hours = figure(clock["limit_hours"])
    before = text(clock["limit_before"])
    said = (
        distance(figure(clock["limit_km"]), settings),
        "" if math.isnan(hours) else f"{hours:,.0f} h",
        months(figure(clock["limit_months"])),
        f"before {before} each year" if before else "",
    )
    limit = " or ".join(one for one in said if one)
    if told and (settings.units == "metric" or math.isnan(figure(clock["limit_km"]))):
        return told
    return f"{limit}. {told}" if limit and told else limit or told


def last_done(clock: Row) -> str:
    """Return when a service was last done, or that it was never recorded."""
    on = figure(clock["last_done_on"])
    if not math.isnan(on):
        return short_day(on)
    return "never recorded" if clock["never_recorded"] else ""


def why_words(clock: Row) -> str:
    """Return why a service is due when it is, and why that day moved since the last issue."""
    return "; ".join(said for name in ("why", "moved") if (said := text(clock[name])))


def moved_sentences(record: Record) -> tuple[str, ...]:
    """Return one sentence for each due day that moved since the last issue, soonest first."""
    moved = ((text(one["service"]), text(one["moved"])) for one in record.due)
    return tuple(f"Moved since the last issue: {what}, {why}." for what, why in moved if why)


def coldest(record: Record) -> float:
    """Return the coldest day the vehicle is to be protected against [°C], NaN when not said."""
    own = figure(record.facts["coldest_c"])
    depot = record.view.depots.get(text(record.facts["depot"]), {})
    return figure(depot.get("coldest_c")) if math.isnan(own) else own


def _who(record: Record) -> str:
    who = text(record.facts["looked_after_by"])
    return "own shop" if who in {"", "us"} else who


def _told(day: float) -> str:
    return "" if math.isnan(day) else on_day(day)


def _what(record: Record, layout: str) -> str:
    layouts = record.outlook.knowledge.layouts
    what = layouts.loc[layouts["layout"] == layout, "what"].dropna()
    return f" ({what.iloc[0]})" if len(what) else ""


def _warranty(record: Record) -> str:
    until = _told(figure(record.facts["warranty_until"]))
    to = distance(figure(record.facts["warranty_to"]), record.outlook.settings)
    return " or ".join(one for one in (until, to) if one)


def _odometer(record: Record) -> str:
    """Return what the meter last showed, and how far the vehicle runs in a week."""
    settings, usage = record.outlook.settings, record.outlook.projection.usage
    own = usage[
        (usage["vehicle"].astype(object) == record.vehicle) & (usage["meter"] == "odometer")
    ]
    if not len(own) or math.isnan(figure(own.iloc[0]["meter_at"])):
        return "no reading that can be used"
    one = {str(name): value for name, value in own.iloc[0].items()}
    shows, on = figure(one["meter_at"]), figure(one["anchor_on"])
    week = distance(7 * figure(one["rate"]), settings)
    return f"{distance(shows, settings)} on {on_day(on)}, {week} a week"


def _aged(on: float, as_of: int) -> str:
    if math.isnan(on):
        return ""
    return f"{on_day(on)}, {months((as_of - on) / DAYS_PER_MONTH)} ago"


def _freezes(record: Record) -> str:
    """Return the freezing point and how it is known, or why none is told."""
    coolant, units = record.coolant, record.outlook.settings.units
    pct, freezes = figure(coolant["glycol_pct"]), figure(coolant["freezes_c"])
    if not math.isnan(freezes):
        return f"{temperature(freezes, units)}, {_how_known(record)}"
    if math.isnan(pct):
        return ""
    if over_concentrated(np.array([text(coolant["base"])], dtype=object), np.array([pct]))[0]:
        return (
            f"over-concentrated: {pct:.0f} % of glycol protects less, not more, "
            f"{_how_known(record)}; lower it, see the Winter list"
        )
    return "not told: another base is in it, and one scale does not read both"


def _how_known(record: Record) -> str:
    """Return what the mix rests on: a test, a test and the fills since, or fills alone."""
    tested = figure(record.coolant["measured_on"])
    if math.isnan(tested):
        return "worked out from fills"
    since = any(figure(one["filled_on"]) > tested for one in record.parcels)
    if since:
        return f"worked out from the test of {on_day(tested)} and what was filled since"
    return f"tested on {on_day(tested)}"


def _foreign(record: Record) -> str:
    coolant = record.coolant
    share, on = figure(coolant["foreign_pct"]), figure(coolant["foreign_on"])
    if math.isnan(share) or round(share, 1) <= 0:
        return ""
    kind = text(coolant["foreign_kind"])
    most = f", most of it {kind}" if kind else ""
    limit = record.outlook.settings.foreign_share
    past = "" if math.isnan(on) else f", above {limit:g} % since {on_day(on)}"
    return f"{share:.1f} %{most}{past}"


def _put_off(record: Record) -> str:
    coolant = record.coolant
    drained, passed = figure(coolant["put_off_on"]), figure(coolant["passed_on"])
    share = figure(coolant["put_off_share"])
    if math.isnan(drained) or not share > 0:
        return ""
    return (
        f"by {100 * share:.0f} % of its age at the partial drain of {on_day(drained)}, "
        f"allowed by the test passed on {_told(passed) or 'a day not said'}"
    )
