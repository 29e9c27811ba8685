"""What one week's issue leaves in the store, whole and never changed later."""

from dataclasses import dataclass, field

import pandas as pd

from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AUDIT_COLUMNS


@dataclass(frozen=True, slots=True)
class Published:
    """The rows of one issue, keyed by its as-of day.

    Attributes:
        as_of: [day number]; a later edition of the same as-of day replaces the earlier one.
        week: ISO week the books are for.
        edition: 1, 2 …
        revision: the store revision the computation read.
        visits: `VISIT_COLUMNS` of model.computed.
        visit_services: `VISIT_SERVICE_COLUMNS`.
        due: `DUE_COLUMNS`.
        needs: `NEED_COLUMNS`.
        constants: name, value (text): learnt constants.
        files: name, sha256: what was written.
        ahead: `AHEAD_COLUMNS` of model.trust_frames.
        audit: `AUDIT_COLUMNS`.
    """

    as_of: int
    week: str
    edition: int
    revision: int
    visits: pd.DataFrame
    visit_services: pd.DataFrame
    due: pd.DataFrame
    needs: pd.DataFrame
    constants: pd.DataFrame
    files: pd.DataFrame
    ahead: pd.DataFrame = field(default_factory=lambda: empty(AHEAD_COLUMNS))
    audit: pd.DataFrame = field(default_factory=lambda: empty(AUDIT_COLUMNS))
