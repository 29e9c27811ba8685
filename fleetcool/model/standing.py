"""What stands on a day: the rows a computation reads, all of one snapshot of the store."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AUDIT_COLUMNS


@dataclass(frozen=True, slots=True)
class Earlier:
    """What issues before the as-of day said, to compare with what came.

    Attributes:
        last_on: as-of day of the newest of them [day number], NaN when there is none.
        newest_intake: number of the newest intake that one had read, -1 when there is none.
        due: `DUE_COLUMNS` of the newest one, the next occurrences only.
        ahead: `AHEAD_COLUMNS` and `as_of` of the newest one, and of those whose day 4, 8 or 26
            weeks (`AUDITED_WEEKS`) later passed within the last 31 days, a few each.
        audit: `AUDIT_COLUMNS` and `as_of` of every issue, the rows about all meters only.
        constants: name, value and `as_of` of every issue, the sentences of editions left out.
        visits: visit, `as_of`, start_on, stop_on, vehicle of every issue of the last 430 days, as
            each one said it.
    """

    last_on: float = np.nan
    newest_intake: int = -1
    due: pd.DataFrame = field(default_factory=pd.DataFrame)
    ahead: pd.DataFrame = field(default_factory=lambda: empty((*AHEAD_COLUMNS, "as_of")))
    audit: pd.DataFrame = field(default_factory=lambda: empty((*AUDIT_COLUMNS, "as_of")))
    constants: pd.DataFrame = field(default_factory=lambda: empty(("name", "value", "as_of")))
    visits: pd.DataFrame = field(
        default_factory=lambda: empty(("visit", "as_of", "start_on", "stop_on", "vehicle"))
    )


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
            yet: the columns of `model.plan_frames.VISIT_COLUMNS` and
            `as_of` (day number of that publication) and `in_last` (bool: in the last plan).
        published_services: the services of those visits, `VISIT_SERVICE_COLUMNS` and `as_of`.
        holidays: region, on (day number), name.
        unused: table, unit, rows: happenings whose vehicle is not known.
        newest_intake: number of the newest intake, 0 when there is none.
        earlier: what issues before the day said.
    """

    as_of: int
    revision: int
    frames: Mapping[str, pd.DataFrame]
    published_visits: pd.DataFrame
    published_services: pd.DataFrame
    holidays: pd.DataFrame
    unused: pd.DataFrame
    newest_intake: int = 0
    earlier: Earlier = field(default_factory=Earlier)

    def __getitem__(self, table: str) -> pd.DataFrame:
        """Return the frame of a table."""
        return self.frames[table]
