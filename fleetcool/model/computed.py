"""The records that flow between the rooms of the core, with the columns of their frames.

All days are day numbers (float, NaN is none or not in sight), money whole cents, time minutes.
A frame has exactly the columns listed here, in this order, and a fresh 0..n-1 index.
"""

from dataclasses import dataclass, field

import pandas as pd

from fleetcool.model.frames import empty
from fleetcool.model.life_frames import APART_COLUMNS, LIFE_COLUMNS, RISK_COLUMNS
from fleetcool.model.trust_frames import (
    AHEAD_COLUMNS,
    AUDIT_COLUMNS,
    LEARNT_COLUMNS,
    MOVED_COLUMNS,
)

QUANTILES = (0.01, 0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95, 0.99)
QUANTILE_COLUMNS = ("q01", "q05", "q10", "q25", "q50", "q75", "q90", "q95", "q99")
GOVERNS = ("distance", "hours", "months", "day", "condition")
BASELINE = "cooling baseline"

# One row a (vehicle, service, occurrence); all that visits and supply may know of "when".
DUE_COLUMNS = (
    "vehicle",
    "service",
    "occurrence",  # 1 is the next one, 2 … follow it inside the horizon
    *QUANTILE_COLUMNS,  # due days; q10 is due early, q50 due, q90 due late
    "p_already",  # probability of being due already on the as-of day
    "p_distance",
    "p_hours",
    "p_months",
    "p_day",
    "p_condition",  # probability of each limit to govern; they add up to 1
    # How far the due day hangs on the vehicle's usage, shared by its services [0..1]:
    # √(d² + h² + 2 ρ d h), d p_distance, h p_hours, ρ their correlation; 1 where one meter surely
    # governs, 0 where months, a day or the condition does.
    "factor",
    "open_clock",  # bool: never recorded, and the baseline decides; not to be planned itself
)

# One row a (vehicle, service): what a person reads beside a due day.
CLOCK_COLUMNS = (
    "vehicle",
    "unit",
    "depot",  # home yard
    "service",
    "last_done_on",
    "never_recorded",  # bool
    "since_km",  # run since the clock started
    "since_hours",
    "limit_km",
    "limit_hours",
    "limit_months",
    "limit_before",  # text month-day
    "limit_from",  # sentence: which row is in force and what it displaced
    "governs",  # the limit most likely to bite
    "why",  # sentence: "distance governs: 52,300 of 60,000 km run, 1,400 km a week"
)

# One row a (vehicle, meter).
USAGE_COLUMNS = (
    "vehicle",
    "meter",  # odometer or engine_hours
    "rate",  # km or hours a day, the mean over a year
    "relative_variance",  # of the rate
    "anchor_on",  # day of the last used reading
    "anchor_at",  # cumulative km or hours there, all meters of the vehicle joined
    "meter_at",  # what the meter shows there
    "n_used",
    "n_not_used",
    "usage_class",  # "medium at NORTH, much used": the vehicles it is compared with
    "history_days",  # from the first to the last used reading
    "average_rate",  # of the whole history, km or hours a day; NaN with fewer than two readings
    "state",  # "", "parked", "laid up", "changed work", "silent"
)

# One row a reading.
READING_COLUMNS = (
    "vehicle",
    "meter",
    "on",
    "raw",  # km or hours as it came
    "cumulative",  # km or hours, meters joined; NaN when not used
    "used",  # bool
    "reason",  # text: why it is not used; empty when used as it came
    "source",  # table it came from
    "cause",  # one of `meters.reasons.CAUSES`; empty when nothing is odd about it
    "proposed",  # km or h it would be right as, NaN when nothing is proposed
    "moves_days",  # days by which the next due day would move were it right as it came, else NaN
    "said",  # what a person said of it: "", "right", "not right", "meter replaced"
    "new",  # bool: it came after the last issue
)

# One row a vehicle in the fleet: what is in its cooling system now.
COOLANT_COLUMNS = (
    "vehicle",
    "kind",  # of most of what is in there; missing when nobody knows
    "coolant",  # product of the last whole change, missing when not said
    "base",  # eg or pg
    "litres",
    "whole_change_on",
    "assumed",  # bool: first fill or share not recorded
    "glycol_pct",  # vol % now: the newest test, and what was filled since
    "freezes_c",  # NaN when over-concentrated, or with more of another base than foreign_share
    "measured_on",  # day of the newest test with glycol of which something is left, else NaN
    "foreign_kind",  # other kind with the largest share (the product, if only its base is other)
    "foreign_pct",  # share of all other kinds and bases [percent]
    "foreign_on",  # day on which it first passed the setting foreign_share, NaN when it has not
    "put_off_share",  # share of its age at the drains that a passed test has put the change off by
    "put_off_on",  # day of the partial drain that counts for it, NaN when none does
    "passed_on",  # day of the test that allows it, NaN when none does
    "weighted_age",  # days: age of what is in there weighted by share, shown beside only
    "note",  # sentence
)

# One row a (vehicle, fill) of which something is still in there; shares of a vehicle add up to 1.
PARCEL_COLUMNS = (
    "vehicle",
    "filled_on",
    "kind",
    "coolant",
    "glycol_pct",
    "share",  # 0 to 1
    "by_work",  # the service or "topped up" or "first fill"
    "assumed",  # bool: the share or the kind was not recorded
)

# One row a (vehicle, finding) that still stands: what is wrong, what mends it and how soon.
FINDING_COLUMNS = (
    "vehicle",
    "finding",  # as in the table remedies
    "place",  # missing when it is about the coolant
    "service",  # that mends it
    "found_on",
    "due_early",
    "due",  # found_on + within_days, or the day a trend meets its limit
    "due_late",
    "seen_by",  # coolant test, look-over, driver report, top-ups, mix, trend
    "why",  # sentence with the value, the band and the day
    "look_for",
)

# One row a (vehicle, measure) with at least one test since the last fill or dose.
TREND_COLUMNS = (
    "vehicle",
    "measure",
    "n",  # tests since the last restart
    "since",  # day of that restart
    "newest_on",
    "newest",  # value of the newest test
    "per",  # km or h or day: what the slope counts by
    "slope",  # a unit of `per`
    "limit",  # the side of the band it runs towards, NaN when it runs towards none
    "meets_early",
    "meets",  # day at which it meets the limit, NaN when none or "no trend yet"
    "meets_late",
    "slope_from",  # own, class or none
    "note",  # "no trend yet: …" or the sentence
)

# One row a fitted part: what sat where from when to when.
FITTED_COLUMNS = (
    "vehicle",
    "place",
    "part",  # number, missing when not said
    "quantity",
    "fitted_on",
    "fitted_at",  # km run then, meters joined; NaN when not known
    "out_on",  # NaN while it is in there
    "out_at",
    "why_out",  # reason of the work that took it out, missing while it is in there
    "assumed",  # bool: there since first use, nobody recorded it
)


@dataclass(frozen=True, slots=True)
class Projection:
    """When each service falls due, and what stands behind it."""

    due: pd.DataFrame
    clocks: pd.DataFrame
    usage: pd.DataFrame
    readings: pd.DataFrame
    coolant: pd.DataFrame
    parcels: pd.DataFrame = field(default_factory=lambda: empty(PARCEL_COLUMNS))
    findings: pd.DataFrame = field(default_factory=lambda: empty(FINDING_COLUMNS))
    trends: pd.DataFrame = field(default_factory=lambda: empty(TREND_COLUMNS))
    fitted: pd.DataFrame = field(default_factory=lambda: empty(FITTED_COLUMNS))
    ahead: pd.DataFrame = field(default_factory=lambda: empty(AHEAD_COLUMNS))
    tried: pd.DataFrame = field(default_factory=lambda: empty(AUDIT_COLUMNS))
    learnt: pd.DataFrame = field(default_factory=lambda: empty(LEARNT_COLUMNS))
    moved: pd.DataFrame = field(default_factory=lambda: empty(MOVED_COLUMNS))
    life: pd.DataFrame = field(default_factory=lambda: empty(LIFE_COLUMNS))
    risks: pd.DataFrame = field(default_factory=lambda: empty(RISK_COLUMNS))
    apart: pd.DataFrame = field(default_factory=lambda: empty(APART_COLUMNS))


# One row a (part, depot, week, vehicle, service): what stands behind a need.
BEHIND_COLUMNS = (
    "part",
    "depot",
    "week",
    "vehicle",
    "unit",
    "service",
    "visit",  # empty when no visit stands yet
    "quantity",
    "probability",
    "due_early",
    "due",
    "due_late",
)

# One row a (part, depot, week).
NEED_COLUMNS = ("part", "depot", "week", "expected", "p90")

# One row a (part, depot).
PART_COLUMNS = (
    "part",
    "what",
    "counted_in",
    "depot",
    "on_hand",
    "counted_on",
    "on_order",
    "keep_at_least",
    "bin",
    "expected",  # over the horizon
    "p90",  # over lead time and review
    "first_week",  # first week in which more than half of one is expected, cumulated
    "runs_out_on",
    "slow",  # bool: moves less than monthly
    "is_coolant",  # bool
    "note",  # sentence
)

# One row an order line that is proposed.
ORDER_COLUMNS = (
    "part",
    "what",
    "counted_in",
    "depot",
    "supplier",
    "their_number",
    "quantity",
    "packs",
    "pack",
    "order_by",
    "needed_on",
    "late_days",  # how many days too late it already is, 0 if none
    "price",
    "cost",
    "for_visits",  # visit numbers joined by ", "
    "why",
)

# One row an open order line, as it stands.
COMING_COLUMNS = ("order", "part", "what", "depot", "supplier", "quantity", "promised_on", "late")

# One row a (visit, part).
PULL_COLUMNS = ("visit", "depot", "part", "what", "counted_in", "quantity", "bin", "here", "note")


@dataclass(frozen=True, slots=True)
class Supply:
    """What is needed, what is there, what must be ordered by which day."""

    parts: pd.DataFrame
    needs: pd.DataFrame
    behind: pd.DataFrame
    orders: pd.DataFrame
    coming: pd.DataFrame
    pull: pd.DataFrame
