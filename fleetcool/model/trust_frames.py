"""The columns of frames about how good projections were, what was learnt, and how months went.

All days are day numbers (float, NaN is none), money whole cents, shares 0 to 1.
"""

from dataclasses import dataclass, field

import pandas as pd

from fleetcool.model.frames import empty

AHEAD_WEEKS = (4, 8, 13, 26)
AUDITED_WEEKS = (4, 8, 26)
_AHEAD = tuple(f"at_{weeks}_{q}" for weeks in AHEAD_WEEKS for q in ("q10", "q50", "q90"))

# One row a (vehicle, meter): what an issue says the meter will have run by then.
AHEAD_COLUMNS = (
    "vehicle",
    "meter",
    "usage_class",
    "history_days",
    "n_used",
    "anchor_on",
    "anchor_at",  # cumulative km or hours
    "rate",
    "relative_variance",
    "average_rate",  # the plain overall average, NaN with fewer than two readings
    *_AHEAD,  # cumulative km or hours so many weeks after the as-of day, at 10, 50, 90 %
)

# One row a (weeks ahead, group): how what was said then compares with what came.
AUDIT_COLUMNS = (
    "weeks",  # said so many weeks before
    "by",  # all, usage class, history
    "name",  # of the usage class, or "under 45 days" …
    "n",  # cases
    "inside",  # share between early and late (10 to 90 %)
    "below",  # share that came earlier than early: it ran more than said
    "above",  # share that came later than late
    "pinball",  # mean pinball loss over 10, 50, 90 % [days]
    "pinball_average",  # the same for the plain average ± 20 % of the wait
    "bias_days",  # mean of said minus came: above nil, days came sooner than said
    "inside_low",  # 95 % binomial interval of `inside`
    "inside_high",
    "warns",  # bool: 30 cases or more, and that interval leaves 0.80 out
)

# One row a thing the fleet's own history has taught, or a default that still stands.
LEARNT_COLUMNS = (
    "name",  # sorted; "season light at NORTH 01"
    "value",  # text with its unit
    "why",  # sentence: from what, or "default until …"
)

# One row a due day that moved by more than a week since the last issue.
MOVED_COLUMNS = ("vehicle", "service", "was", "now", "why")  # why: "was 12 March 2027, now …"

# One row a month: how the shop's work went.
MONTH_COLUMNS = (
    "month",  # 2026-10
    "visits_done",
    "promised",  # of those, the ones that stood in the books of a week
    "on_time",  # of those, done by the end of that week
    "days_late",  # mean of the other promised ones
    "road_failures",  # parts that failed on the road
    "shop_finds",  # parts found bad in the shop or yard
    "back_within_30",  # visits of a vehicle that came back for the same place within 30 days
    "never_recorded",  # clocks unknown at the month's last issue, NaN without one
)

# One row a month to come, and "12 months": what the budget must hold.
BUDGET_COLUMNS = (
    "month",
    "hours",  # of labour
    "hours_low",
    "hours_high",
    "litres",  # of coolant
    "labour",  # money
    "parts",
    "coolant",
    "outside",  # what other shops do
    "money",  # all of it
    "money_low",
    "money_high",
    "from_plan",  # share of the hours that stand in visits of the plan
)


@dataclass(frozen=True, slots=True)
class LookingBack:
    """How good projections were and how months went."""

    audit: pd.DataFrame = field(default_factory=lambda: empty(AUDIT_COLUMNS))
    months: pd.DataFrame = field(default_factory=lambda: empty(MONTH_COLUMNS))
    budget: pd.DataFrame = field(default_factory=lambda: empty(BUDGET_COLUMNS))
