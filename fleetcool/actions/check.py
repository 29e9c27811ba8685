"""Check what the store holds: rows nobody can place, rows that are held."""

from collections import Counter
from datetime import date

from fleetcool.model import days
from fleetcool.store.engine import Store
from fleetcool.store.intakes import read_held
from fleetcool.store.standing import read_standing


def check(store: Store, day: str) -> tuple[str, ...]:
    """Return one sentence for each thing in the store that somebody should look at.

    Args:
        store: an open store.
        day: the ISO day taken as today.
    """
    standing = read_standing(store, days.number(date.fromisoformat(day)))
    unused = standing.unused.sort_values(["table", "unit"], kind="stable")
    found = [
        f"{int(rows)} rows of {table} speak of unit {unit}, which is not known; "
        "bring the vehicle, or withdraw those rows."
        for table, unit, rows in zip(unused["table"], unused["unit"], unused["rows"], strict=True)
    ]
    held = read_held(store)
    causes = Counter(zip(held["table"], held["cause"], strict=True))
    found += [
        f"{n} rows of {table} are held: {cause}; correct them in the to-fix workbook."
        for (table, cause), n in sorted(causes.items())
    ]
    return tuple(found)
