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
    standing = known.loc[known["withdrawn_at"].isna(), "number"]
    if intake not in set(standing):
        near = str(int(standing.max())) if len(standing) else None
        raise NotThereError(
            "standing intake", str(intake), near, "each take says the number of its intake"
        )
    built = what_stands_on(store, intake)
    withdraw(store, intake, by=moment.by, now=moment.now)
    sentences = [f"Intake {intake} is taken back; nothing is deleted."]
    sentences += [
        f"{table}: {_rows(n)} no longer {'counts' if n == 1 else 'count'}."
        for table, n in sorted(built["rows"].items())
    ]
    if built["settled"]:
        sentences.append(f"{_rows(built['settled'])} of other intakes wait to be corrected again.")
    if built["decisions"]:
        sentences.append(f"{built['decisions']} decisions were taken since; they stand.")
    if built["published"]:
        said = ", ".join(built["published"])
        sentences.append(f"Books were made since, as of {said}; the next ones go without it.")
    return tuple(sentences)


def _rows(number: int) -> str:
    return "1 row" if number == 1 else f"{number:,} rows"
