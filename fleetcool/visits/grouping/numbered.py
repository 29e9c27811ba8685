"""The grouped services as visits with numbers, minutes and reasons."""

import numpy as np
import pandas as pd

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.plan_frames import VISIT_SERVICE_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.visits.decided import Published
from fleetcool.visits.identity import inherit, new_numbers
from fleetcool.visits.labour import Labour, members, stay_minutes
from fleetcool.visits.sentences import visit_whys

SERVICE_COLUMNS = (
    *VISIT_SERVICE_COLUMNS[:-2],
    "found",  # what was found, where the condition governs
    "early_rate",
    "late_rate",
    "wet",
    "outside",  # bool: another shop does it
    "coolant_cost",  # of what it drains, were it alone [cents]
    "off",  # bool: it needs the shop
    "layout_at",
    "service_at",
    *QUANTILE_COLUMNS,
)
VISIT_GROUP_COLUMNS = (
    "visit",
    "vehicle",
    "unit",
    "yard",
    "depot",
    "size",
    "layout",
    "target",  # the wished first day
    "not_before",  # first day allowed by a decision, NaN when none
    "was_on",  # first day in the last plan, NaN for a new visit
    "wet",
    "minutes",
    "minutes_apart",
    "wait_minutes",
    "due_early",
    "due",
    "due_late",
    "why",
)


def numbered_visits(  # noqa: PLR0913, PLR0917 - the groups, and what visits tell of them
    groups: pd.DataFrame,
    services: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    labour: Labour,
    standing: Standing,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the visits with numbers, minutes and reasons, and their services."""
    moving = published.moving()
    old = published.services.merge(moving[["visit", "start_on"]], on="visit")
    old = old[["visit", "vehicle", "service", "start_on"]]
    numbers = inherit(groups, services, old)
    groups = groups.sort_values(["vehicle", "target", "group"], ignore_index=True)
    fresh = ~groups["group"].isin(list(numbers))
    units = groups["vehicle"].map(fleet["unit"])
    taken = set(standing.published_visits["visit"].astype(str)) | set(published.said)
    new = new_numbers(list(units[fresh]), list(groups["target"][fresh]), taken)
    number = groups["group"].map(numbers).astype(object)
    number[fresh] = list(new)
    groups = groups.assign(visit=number)
    services = services.assign(
        visit=services["group"].map(dict(zip(groups["group"], number, strict=True))).astype(object)
    ).sort_values(["visit", "q50", "service"], ignore_index=True)
    facts = fleet.reindex(groups["vehicle"]).reset_index(drop=True)
    at = {one: index for index, one in enumerate(groups["visit"])}
    stay = services["visit"].map(at).to_numpy(dtype="int64")
    layout = labour.layout_index(facts["layout"])
    member = members(labour, stay, services["service_at"].to_numpy(dtype="int64"), len(groups))
    minutes = stay_minutes(labour, layout, member)
    first = services.drop_duplicates("visit").set_index("visit").reindex(groups["visit"])
    was_on = groups["visit"].map(moving.set_index("visit")["start_on"]).astype("float64")
    pairs = zip(groups["visit"], groups["vehicle"], strict=True)
    named = services.groupby("visit")["service"].apply(list)
    said = [published.about(str(one), str(vehicle), named[one]) for one, vehicle in pairs]
    visits = pd.DataFrame(
        {
            "visit": groups["visit"],
            "vehicle": groups["vehicle"],
            **{name: facts[name] for name in ("unit", "yard", "depot", "size", "layout")},
            "target": groups["target"],
            "not_before": np.array([one.not_before for one in said], dtype="float64"),
            "was_on": was_on,
            "wet": groups["visit"].map(services.groupby("visit")["wet"].any()).astype(bool),
            "minutes": np.round(minutes.together),
            "minutes_apart": np.round(minutes.apart),
            "wait_minutes": np.round(minutes.wait),
            **{
                name: first[name].to_numpy(dtype="float64")
                for name in ("due_early", "due", "due_late")
            },
            "why": visit_whys(groups["visit"], services, labour),
        },
        columns=list(VISIT_GROUP_COLUMNS),
    )
    visits = visits.sort_values("visit", ignore_index=True)
    return visits, services[list(SERVICE_COLUMNS)]
