"""Copy the public holidays of the depots' regions into the store, for the years in sight."""

import pandas as pd

from fleetcool.model import days
from fleetcool.store.engine import Store
from fleetcool.store.holidays import keep_holidays
from fleetcool.store.standing import read_holidays, read_table


def copy_holidays(store: Store, as_of: int) -> tuple[str, ...]:
    """Copy what is missing, and return a warning for each region that is not known.

    A computation never looks holidays up: it reads the copied rows, so that a newer holiday list
    changes nothing that was planned. A region is written as country, or country-region (CA-ON).
    """
    regions = sorted(read_table(store, "depots", as_of)["holiday_region"].dropna().unique())
    kept = read_holidays(store)
    there = set(kept["region"])
    year = days.day(as_of).year
    rows, warnings = [], []
    for region in regions:
        if region in there and _covers(kept, region, year + 1):
            continue
        import holidays  # noqa: PLC0415 - heavy, only where a year is missing

        country, _, part = str(region).partition("-")
        try:
            found = holidays.country_holidays(
                country, subdiv=part or None, years=range(year - 1, year + 3)
            )
        except NotImplementedError:
            warnings.append(
                f'No holidays are known for the region "{region}"; write country or '
                "country-region as in ISO 3166 (CA-ON, US-MN), or enter closed days in away."
            )
            continue
        rows += [(region, day.isoformat(), name) for day, name in sorted(found.items())]
    if rows:
        keep_holidays(store, pd.DataFrame(rows, columns=["region", "on", "name"]))
    return tuple(warnings)


def _covers(kept: pd.DataFrame, region: str, year: int) -> bool:
    mine = kept.loc[kept["region"] == region, "on"]
    return bool((mine >= days.monday(f"{year}-W02")).any())
