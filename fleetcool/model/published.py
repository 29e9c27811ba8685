"""What one week's issue leaves in the store, whole and never changed later."""

from dataclasses import dataclass

import pandas as pd


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
