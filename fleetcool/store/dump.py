"""Everything that stands on a day as sorted lines, to compare two stores or two moments."""

import json
import math

from fleetcool.model.all_tables import TABLES
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing


def dump_standing(store: Store, as_of: int) -> list[str]:
    """Return lines `table|key|values` of the merged standing rows as of a day [day number].

    Values are JSON without what is blank; no numbers of rows or intakes and no times are in them.
    """
    standing = read_standing(store, as_of)
    lines = []
    for name in TABLES:
        frame = standing[name]
        values = frame.drop(columns=["key", "row_id", "intake"]).to_dict(orient="records")
        for key, row in zip(frame["key"], values, strict=True):
            said = {column: value for column, value in row.items() if not _blank(value)}
            lines.append(f"{name}|{key}|{json.dumps(said, ensure_ascii=False, sort_keys=True)}")
    return sorted(lines)


def _blank(value: object) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))
