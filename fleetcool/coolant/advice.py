"""Whether one coolant may top up another, and what to do once two are mixed.

Kind, base and specification decide, never colour. **Source:** the shipped table `coolants` for what
may top up what, `limits` for the lives, `figures.csv` for the share and the test after mixing.
"""

import difflib
import math
from dataclasses import dataclass

import pandas as pd

from fleetcool.errors import NotThereError
from fleetcool.knowledge.properties import BASES, figure
from fleetcool.model.knowledge import Knowledge, names

CHANGE = "coolant change"
CAUTIONS = ("hot cap", "poison", "waste")


@dataclass(frozen=True, slots=True)
class Coolant:
    """One coolant product: what its label and its record say of it."""

    product: str
    kind: str
    base: str
    specification: tuple[str, ...]
    may_top_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Life:
    """The limit of a coolant change for vehicles of a size; NaN where there is none.

    Attributes:
        size: light, medium or heavy.
        kind: the coolant kind whose limit is the shorter one.
        km: [km].
        hours: engine hours.
        months: calendar months.
    """

    size: str
    kind: str
    km: float
    hours: float
    months: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What holds when one coolant is put on top of another.

    Attributes:
        added: the coolant that is put in.
        held: the coolant in the system.
        may: whether it may top it up.
        why: sentences, the reason first.
        lives: the shorter life by size once they are mixed past `most_pct`; empty for one kind.
        most_pct: most foreign kind before the shorter life counts [percent].
        test_days: test within so many days of mixing.
        cautions: where the work can hurt.
    """

    added: Coolant
    held: Coolant
    may: bool
    why: tuple[str, ...]
    lives: tuple[Life, ...]
    most_pct: float
    test_days: int
    cautions: tuple[str, ...]


def find_coolant(name: str, known: pd.DataFrame) -> Coolant:
    """Return the product of a name, or the first product of the kind so named.

    Raises:
        NotThereError: there is neither; the nearest known name is given.
    """
    known = known.sort_values("coolant")
    asked = name.strip().casefold()
    for column in ("coolant", "kind"):
        rows = known[known[column].astype(str).str.casefold() == asked]
        if not rows.empty:
            row = rows.iloc[0]
            return Coolant(
                str(row["coolant"]),
                str(row["kind"]),
                str(row["base"]),
                names(row["specification"]),
                names(row["may_top_up"]),
            )
    every = sorted({str(one) for one in (*known["coolant"], *known["kind"])})
    near = difflib.get_close_matches(name, every, 1, 0.0)
    raise NotThereError(
        "coolant or coolant kind", name, near[0] if near else None, f"known are {', '.join(every)}"
    )


def advise(added: Coolant, held: Coolant, knowledge: Knowledge) -> Advice:
    """Return whether `added` may top up `held`, and what to do once they are mixed."""
    same_base = added.base == held.base
    may = same_base and held.kind in added.may_top_up
    lives = () if added.kind == held.kind else _shorter_lives(added, held, knowledge.limits)
    cautions = knowledge.cautions.set_index("caution")["text"]
    return Advice(
        added,
        held,
        may,
        _why(added, held, same_base=same_base, may=may),
        lives,
        figure("foreign kind at most").value,
        round(figure("test after mixing").value),
        tuple(str(cautions[name]) for name in CAUTIONS if name in cautions.index),
    )


def _why(added: Coolant, held: Coolant, *, same_base: bool, may: bool) -> tuple[str, ...]:
    reasons = []
    if not same_base:
        reasons.append(
            f"Their bases differ, {BASES[added.base]} and {BASES[held.base]}: the freezing point "
            "of such a mix cannot be read with a refractometer or a hydrometer."
        )
    if may and added.kind == held.kind:
        reasons.append(f"Both are of the kind {held.kind} on {BASES[held.base]}.")
    elif may:
        reasons.append(f"{added.kind} may top up {held.kind} on the same base.")
    elif held.kind not in added.may_top_up:
        reasons.append(f"{added.kind} is not made to top up {held.kind}.")
    if may:
        reasons.append(_specifications(added, held))
    return tuple(reasons)


def _specifications(added: Coolant, held: Coolant) -> str:
    missing = sorted(set(held.specification) - set(added.specification))
    if held.specification and missing:
        return (
            f"Its label must name {' and '.join(missing)}, as the one in there does; "
            "read it before pouring."
        )
    if held.specification:
        return f"Both name {' and '.join(held.specification)}; the maker's book may ask for more."
    return (
        "No open standard tells these kinds apart: compare the specification on both labels with "
        "the maker's book."
    )


def _shorter_lives(added: Coolant, held: Coolant, limits: pd.DataFrame) -> tuple[Life, ...]:
    """Return the shorter of the two lives for each size, by months, then distance."""
    lives = []
    for size in ("light", "medium", "heavy"):
        both = [
            life
            for kind in (held.kind, added.kind)
            if (life := _life(size, kind, limits)) is not None
        ]
        if both:
            lives.append(min(both, key=_shortness))
    return tuple(lives)


def _life(size: str, kind: str, limits: pd.DataFrame) -> Life | None:
    """Return the recurring limit of a kind for a size, the newest where there are several."""
    rows = limits[
        limits["service"].eq(CHANGE)
        & limits["size"].eq(size)
        & limits["coolant_kind"].eq(kind)
        & limits["first"].ne(1.0)
        & limits["unit"].isna()
        & limits["layout"].isna()
        & limits["duty"].isna()
    ].sort_values("valid_from", kind="stable")
    if rows.empty:
        return None
    row = rows.iloc[-1]
    return Life(size, kind, float(row["km"]), float(row["hours"]), float(row["months"]))


def _shortness(life: Life) -> tuple[float, float]:
    return tuple(math.inf if math.isnan(one) else one for one in (life.months, life.km))  # type: ignore[return-value]  # two entries
