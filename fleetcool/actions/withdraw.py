"""Take an intake back: say what that takes back, mark it, judge what waited for it again."""

from fleetcool.actions.take import Moment
from fleetcool.errors import NotThereError
from fleetcool.store.engine import Store
from fleetcool.store.intakes import list_intakes, what_stands_on, withdraw


def take_back(store: Store, intake: int, *, moment: Moment) -> tuple[str, ...]:
    """Withdraw an intake and return sentences: what it took back, what was built on it.

    Raises:
        NotThereError: there is no such intake, or it was withdrawn already.
    """
    known = list_intakes(store)
    standing = known[known["withdrawn_at"].isna()]
    if intake not in set(standing["number"]):
        near = str(int(standing["number"].max())) if len(standing) else None
        raise NotThereError(
            "standing intake", str(intake), near, "fleetcool check lists what stands"
        )
    built = what_stands_on(store, intake)
    withdraw(store, intake, by=moment.by, now=moment.now)
    rows = built["rows"]
    sentences = [f"Intake {intake} is taken back."]
    sentences += [f"{n} rows of {table} no longer count." for table, n in sorted(rows.items())]
    return tuple(sentences)
