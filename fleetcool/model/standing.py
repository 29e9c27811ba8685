"""What stands on a day: the rows a computation reads, all of one snapshot of the store."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True, slots=True)
class Standing:
    """Every row that stands as of a day, merged by key, units settled.

    Attributes:
        as_of: the day taken as today [day number].
        revision: the store's revision these rows belong to.
        frames: one frame a table of `model.all_tables.TABLES` (always there, maybe empty), with
            the table's columns. Facts: one row a key, each column its newest value that is not
            blank and holds on the day. Happenings: one row a key, `on` not after the day.
            Measurements: every distinct row. Counts: one row a key. Lists: the newest list.
            Days are day numbers (float, NaN missing), moments day numbers with a fraction,
            distances km, money cents, percent 0–100, flags 0/1/NaN, other numbers float, text
            `str` with NaN missing. Tables that speak of a vehicle have a column `vehicle`, its
            identity; rows whose vehicle is not known on that day are left out of the frame.
            `vehicles` has one row for each vehicle ever known, with `vehicle` and the flag `here`
            (bool: in the fleet on the day).
        published_visits: one row for each visit number ever published with an as-of day before
            this one, as last published, and those opened by hand that no issue has published
            yet: the columns of `model.computed.VISIT_COLUMNS` and
            `as_of` (day number of that publication) and `in_last` (bool: in the last plan).
        published_services: the services of those visits, `VISIT_SERVICE_COLUMNS` and `as_of`.
        holidays: region, on (day number), name.
        unused: table, unit, rows: happenings whose vehicle is not known.
    """

    as_of: int
    revision: int
    frames: Mapping[str, pd.DataFrame]
    published_visits: pd.DataFrame
    published_services: pd.DataFrame
    holidays: pd.DataFrame
    unused: pd.DataFrame

    def __getitem__(self, table: str) -> pd.DataFrame:
        """Return the frame of a table."""
        return self.frames[table]
