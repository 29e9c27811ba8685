"""The columns of frames about how long parts last and what waiting costs.

All days are day numbers (float, NaN is none or not in sight), money whole cents. A life runs in km
or in days, as `by` says. A law is Weibull (`shape` b, `scale` eta) or lognormal (`shape` sigma,
`scale` the median exp(mu)); ranges hold four times of five.
"""

from dataclasses import dataclass, field

import pandas as pd

from fleetcool.model.frames import empty

RISK_WEEKS = (4, 13, 26, 52)
WAITING_WEEKS = (1, 2, 4, 8)

# One row a fitted law: by place and size, by layout, by part.
LIFE_COLUMNS = (
    "place",
    "size",  # light, medium, heavy
    "layout",  # empty: all layouts of that size
    "part",  # number; empty: all parts
    "by",  # km or days
    "n_parts",  # that taught something
    "n_failures",  # worn out: found bad, failed in the yard, failed on the road
    "n_road",  # of those, on the road
    "n_left_out",  # of unknown age, of unknown end, or without any distance
    "law",  # weibull or lognormal
    "shape",
    "scale",
    "shape_low",
    "shape_high",
    "scale_low",
    "scale_high",
    "b10",  # age by which one in ten has failed
    "b10_low",
    "b10_high",
    "var_ln_shape",  # of the fit, for those who draw from it
    "var_ln_scale",
    "cov_ln",
    "data_share",  # 0 only the prior speaks, 1 only the data
    "why",  # sentence: from how many parts and failures, how much is prior
)

# One row a part that sits in a vehicle now and has a law.
RISK_COLUMNS = (
    "vehicle",
    "place",
    "part",  # missing when not said
    "fitted_on",
    "assumed",  # bool: there since first use, nobody recorded it
    "by",  # km or days
    "age",  # in that unit, on the as-of day
    "per_day",  # km or days a day, the median
    "per_day_low",  # exceeded nine times of ten
    "per_day_high",
    "law",
    "shape",
    "scale",
    "layout",  # with part: the row of `LIFE_COLUMNS` it takes its law from
    "of_part",
    "chance_4",  # of failing within so many weeks
    "chance_13",
    "chance_26",
    "chance_52",
    "why",  # sentence
)

# One row a pair of part numbers in one place of one layout.
APART_COLUMNS = (
    "layout",
    "place",
    "part",  # the one that lasts longer, where that is known
    "other",
    "n_parts",
    "n_failures",
    "n_parts_other",
    "n_failures_other",
    "ratio",  # typical life of `part` by that of `other`
    "ratio_low",
    "ratio_high",
    "known",  # bool: the range leaves 1 out
    "why",  # sentence: which lasts longer here, or too few to say
)

# One row a pair of part numbers of which one lasts longer, one a part number of such a place that
# sits in a vehicle, and one a layout and a service that renews places and has a limit.
ADVICE_COLUMNS = (
    "layout",
    "service",
    "place",  # the place that decides
    "part",  # number it is about, to be fitted where `instead_of` says so; empty: all numbers
    "instead_of",  # number that `part` outlasts; empty: the row is about a limit
    "by",  # km or days
    "n_vehicles",  # with `instead_of` or `part` in, where they say a number
    "n_parts",
    "n_failures",
    "data_share",
    "limit",  # in force, in the unit of `by`; NaN when there is none of that kind
    "limit_text",  # as people say it: 160,000 km, 60 months
    "best",  # cheapest age, NaN when none is
    "best_low",  # from here …
    "best_high",  # … to here the cost stays within 5 percent of the least
    "cost_a_year",  # of the fleet with the limit in force [cents]
    "saving_a_year",  # of the fleet by going to the nearest end of that range [cents]
    "saving_low",
    "saving_high",
    "speaks",  # bool: the data say enough to advise
    "why",  # sentence
)

# One row a service that some vehicle needs and whose waiting has a price.
WAITING_COLUMNS = (
    "visit",  # empty when none stands
    "vehicle",
    "service",
    "place",  # that carries the price
    "cost_low_1",  # waiting one week costs [cents]; below nil it pays
    "cost_mid_1",
    "cost_high_1",
    "cost_low_2",
    "cost_mid_2",
    "cost_high_2",
    "cost_low_4",
    "cost_mid_4",
    "cost_high_4",
    "cost_low_8",
    "cost_mid_8",
    "cost_high_8",
    "chance_1",  # of failing while it waits
    "chance_2",
    "chance_4",
    "chance_8",
    "pays_until",  # last day on which waiting costs less than the visit it saves, NaN beyond sight
    "late_rate",  # what a day of waiting costs past the due day [cents a day]
    "why",  # sentence: the assumption that dominates
)


@dataclass(frozen=True, slots=True)
class Prices:
    """What waiting costs, and which limits the fleet's own history would change."""

    waiting: pd.DataFrame = field(default_factory=lambda: empty(WAITING_COLUMNS))
    advice: pd.DataFrame = field(default_factory=lambda: empty(ADVICE_COLUMNS))
