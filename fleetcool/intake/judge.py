"""What of an intake is taken, known, changed, held or asked, judged against what stands."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from fleetcool.intake.identity import holders_of, identify
from fleetcool.intake.judge_checks import (
    impossible,
    missing_references,
    one_per_row,
    unknown_parts,
    unknown_suppliers,
)
from fleetcool.intake.judge_decisions import hold_later
from fleetcool.intake.judge_held import (
    HELD_COLUMNS,
    as_faults,
    as_written,
    held_frame,
    settle_holds,
    unchanged,
)
from fleetcool.intake.judge_kinds import (
    sort_counts,
    sort_facts,
    sort_happenings,
    sort_lists,
    sort_measurements,
)
from fleetcool.intake.judge_knowledge import in_a_circle, odd_steps
from fleetcool.intake.judge_layouts import (
    fill_layouts,
    layout_questions,
    same_question,
    standing_layouts,
)
from fleetcool.intake.judge_meters import looks_like
from fleetcool.intake.judge_record import (
    CHANGED,
    KNOWN,
    TAKEN,
    Bench,
    Sorted,
    join,
)
from fleetcool.intake.judge_rows import in_km, ready, same_door_number, with_keys
from fleetcool.intake.judge_same_work import hold_same_work
from fleetcool.intake.keys import as_kept, key_texts
from fleetcool.intake.raw import Settled
from fleetcool.intake.vin import vin_sentence
from fleetcool.model.all_tables import TABLES
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.tables import Table
from fleetcool.model.taken import Change, Fault, Judged

_FIRST = ("depots", "suppliers", "pools", "parts", "layouts", "services", "words", "vehicles")
_KINDS = ("fact", "count", "list", "happening", "measurement")
_PLACE = ["file", "sheet", "row"]
COUNT_COLUMNS = ("table", "taken", "known", "changed", "held")


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of one table."""

    table: str
    brought: int | None
    rows: pd.DataFrame
    known: pd.DataFrame
    held: pd.DataFrame
    settled: tuple[int, ...]
    counts: tuple[int, int, int, int]
    faults: tuple[Fault, ...]
    changes: tuple[Change, ...]
    warnings: tuple[str, ...]


def judge(  # noqa: PLR0913 - an intake is judged against all that stands and the two days
    settled: Sequence[Settled],
    *,
    standing: Standing,
    held: pd.DataFrame,
    settings: Settings,
    intake_day: int,
    today: int,
) -> Judged:
    """Judge one intake; facts before happenings, nothing is written.

    Args:
        settled: one or more for each table that was brought; rows that were held before carry
            `held_id` and `via`.
        standing: what stands, with `row_id` in its frames where the store gave it.
        held: the open held rows: held_id, intake, table, file, sheet, row, cells.
        settings: of the fleet.
        intake_day: the day of the intake [day number]; facts without a day hold from it.
        today: days after it have not come yet [day number].

    Returns:
        the judgement; `files` is left empty for the caller, who has the bytes.
    """
    bench = Bench(standing, settings, intake_day, today, {}, _holders(standing, None))
    verdicts, n_zeros = [], 0
    for one in _in_order(_by_table(settled)):
        table = TABLES[one.table]
        n_zeros += same_door_number(table, one.frame)
        verdict = _judge_table(table, one, held, bench)
        verdicts.append(verdict)
        bench.taken[one.table] = verdict.rows
        if one.table == "vehicles":
            bench = replace(bench, holders=_holders(standing, verdict.rows))
    verdicts = _apply_answers(verdicts, bench)
    return _judged(settled, verdicts, bench, n_zeros)


def _judge_table(table: Table, one: Settled, held: pd.DataFrame, bench: Bench) -> Verdict:
    raw = _with_via(ready(table, one.frame, bench), held)
    out, rows = raw[raw["leave_out"]], raw[~raw["leave_out"]].reset_index(drop=True)
    refused = settle_holds(rows, one.faults)
    rows = with_keys(table, in_km(table, rows, bench))
    if table.name == "vehicles":
        found = identify(rows, bench.standing["vehicles"], bench.intake_day)
        rows["key"] = found.vehicle
        refused = join([refused, found.holds])
        rows = fill_layouts(rows, bench)
    checks = [
        refused,
        missing_references(table, rows, bench),
        impossible(table, rows, bench),
        in_a_circle(table, rows, bench),
    ]
    refused = one_per_row(join(checks))
    good = ~rows.index.isin(refused["at"].astype("int64"))
    fit = _sort(table, rows[good].reset_index(drop=True), bench, brought=_brought(one) is not None)
    bad = rows.loc[refused["at"].astype("int64")].reset_index(drop=True)
    refused["at"] = np.arange(len(refused))
    warnings = (*one.warnings, *fit.warnings, *_warn(table, fit, bench))
    kept, silent = _hold(table, ((bad, refused), (fit.rows, fit.holds)), held)
    taken = np.isin(fit.fates, [TAKEN, CHANGED] + ([KNOWN] * (table.kind == "list")))
    if table.kind == "list":
        taken &= ~(fit.rows["key"].duplicated().to_numpy() & (fit.fates == KNOWN))
    told = {tuple(place) for place in silent[_PLACE].itertuples(index=False, name=None)}
    faults = [fault for fault in one.faults if (fault.file, fault.sheet, fault.row) not in told]
    ids = pd.concat([out["held_id"], rows["held_id"]]).dropna()
    n_held = len(kept)
    fates = fit.fates
    return Verdict(
        table.name,
        _brought(one),
        _stored(table, fit.rows[taken]),
        _known(fit),
        kept,
        tuple(sorted(set(ids.astype("int64").tolist()) - set(silent["held_id"].astype("int64")))),
        (
            int((fates == TAKEN).sum()),
            int((fates == KNOWN).sum()),
            int((fates == CHANGED).sum()),
            n_held,
        ),
        tuple(dict.fromkeys([*faults, *as_faults(kept)])),
        fit.changes,
        warnings,
    )


def _sort(table: Table, rows: pd.DataFrame, bench: Bench, *, brought: bool) -> Sorted:
    """Give each row without a fault its fate, by the kind of its table."""
    old = as_kept(table, bench.standing[table.name])
    old["key"] = old["vehicle"] if table.name == "vehicles" else key_texts(table, old)
    if table.kind == "measurement":
        return sort_measurements(table, rows, old)
    if table.kind == "count":
        return sort_counts(table, rows, old)
    if table.kind == "list":
        return sort_lists(table, rows, old, brought=brought)
    if table.kind == "fact":
        return sort_facts(table, rows, old, bench)
    fit = sort_happenings(table, rows, old)
    if table.name == "decisions":
        return hold_later(table, fit, old)
    return hold_same_work(table, fit, old) if table.name == "history" else fit


def _warn(table: Table, fit: Sorted, bench: Bench) -> tuple[str, ...]:
    new = fit.rows[np.isin(fit.fates, [TAKEN, CHANGED])]
    found = [*unknown_parts(table, new, bench), *unknown_suppliers(table, new, bench)]
    if table.name == "readings":
        found += looks_like(new, as_kept(table, bench.standing["readings"]))
    if table.name == "vehicles":
        found += _odd_vins(new[new["vin"].notna() & (new["vin"] != "")])
    return tuple(found)


def _odd_vins(rows: pd.DataFrame) -> list[str]:
    """Return a sentence for each number that cannot be right, with the place it stands at."""
    found = []
    for row in rows.to_dict("records"):
        text = vin_sentence(str(row["unit"]), str(row["vin"]))
        if text:
            column = as_written("vin", row.get("headings"))
            found.append(f"{row['file']}, row {row['row']}, {column}: {text}")
    return found


def _hold(
    table: Table, parts: tuple[tuple[pd.DataFrame, pd.DataFrame], ...], held: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rows held now, and those that stay held as they were (told once already)."""
    kept, silent = [], []
    for rows, refused in parts:
        again = unchanged(rows, held)
        here = refused["at"].astype("int64").to_numpy()
        stays = again[here]
        kept.append(held_frame(table.name, rows, refused[~stays]))
        silent.append(rows.iloc[here[stays]][["held_id", *_PLACE]])
    return join(kept, HELD_COLUMNS), join(silent, ["held_id", *_PLACE])


def _known(fit: Sorted) -> pd.DataFrame:
    known = (fit.fates == KNOWN) & ~np.isnan(fit.known_as)
    result = pd.DataFrame({"row_id": fit.known_as[known].astype("int64")})
    for name in _PLACE:
        result[name] = fit.rows[name].to_numpy()[known]
    return result


def _stored(table: Table, rows: pd.DataFrame) -> pd.DataFrame:
    names = [
        name
        for column in table.columns
        for name in (column.name, f"{column.name}_written", f"{column.name}_unit")
        if name == column.name or column.kind == "distance"
    ]
    return rows[[*names, "key", *_PLACE, "via"]].reset_index(drop=True)


def _with_via(rows: pd.DataFrame, held: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with the intake that first held them, where they do not say it."""
    if not len(held) or rows["held_id"].isna().all():
        return rows
    first = dict(zip(held["held_id"].astype("int64"), held["intake"], strict=True))
    via = pd.to_numeric(rows["held_id"].map(first)).astype("float64")
    result = rows.copy()
    result["via"] = rows["via"].astype("float64").where(rows["via"].notna(), via)
    return result


def _brought(one: Settled) -> int | None:
    """Return how many rows the files have of a table, None when all were held before."""
    if not len(one.frame) or "held_id" not in one.frame:
        return len(one.frame)
    new = int(one.frame["held_id"].isna().sum())
    return new or None


def _by_table(settled: Sequence[Settled]) -> list[Settled]:
    """Return one Settled a table."""
    result = []
    for name in sorted({one.table for one in settled}):
        parts = [one for one in settled if one.table == name]
        frames = [one.frame.astype(object) for one in parts if len(one.frame)]
        frame = pd.concat(frames, ignore_index=True) if frames else parts[0].frame
        result.append(
            Settled(
                name,
                frame if len(parts) > 1 else parts[0].frame,
                tuple(fault for one in parts for fault in one.faults),
                tuple(question for one in parts for question in one.questions),
                tuple(dict.fromkeys(text for one in parts for text in one.warnings)),
            )
        )
    return result


def _in_order(settled: list[Settled]) -> list[Settled]:
    """Return facts before happenings, and facts that others name first."""

    def rank(one: Settled) -> tuple[int, int, str]:
        first = _FIRST.index(one.table) if one.table in _FIRST else len(_FIRST)
        return _KINDS.index(TABLES[one.table].kind), first, one.table

    return sorted(settled, key=rank)


def _apply_answers(verdicts: list[Verdict], bench: Bench) -> list[Verdict]:
    """Write the layouts that answers give to standing vehicles as rows of vehicles."""
    words = bench.taken.get("words")
    if words is None or not len(words):
        return verdicts
    found = standing_layouts(bench, words)
    if not len(found):
        return verdicts
    table = TABLES["vehicles"]
    rows = _stored(table, ready(table, found, bench).assign(key=found["key"]))
    texts = zip(found["key"], found["unit"], found["layout"], strict=True)
    changes = tuple(
        Change("vehicles", str(key), "layout", "blank", str(layout), f"layout filled in: {layout}")
        for key, _, layout in texts
    )
    for place, one in enumerate(verdicts):
        if one.table == "vehicles":
            taken, known, changed, n_held = one.counts
            more = replace(
                one,
                rows=join([one.rows, rows], rows.columns),
                counts=(taken, known, changed + len(rows), n_held),
                changes=(*one.changes, *changes),
            )
            bench.taken["vehicles"] = more.rows
            return [*verdicts[:place], more, *verdicts[place + 1 :]]
    bench.taken["vehicles"] = rows
    empty = pd.DataFrame(columns=["row_id", *_PLACE])
    held = pd.DataFrame(columns=list(HELD_COLUMNS))
    new = Verdict("vehicles", None, rows, empty, held, (), (0, 0, len(rows), 0), (), changes, ())
    return [*verdicts, new]


def _judged(
    settled: Sequence[Settled], verdicts: list[Verdict], bench: Bench, n_zeros: int
) -> Judged:
    questions = [question for one in settled for question in one.questions]
    if {"vehicles", "words"} & {one.table for one in settled}:
        layouts = layout_questions(bench)
        questions = [
            one for one in questions if not any(same_question(one, other) for other in layouts)
        ]
        questions += layouts
    counts = [(one.table, *one.counts) for one in verdicts]
    faults = [fault for one in verdicts for fault in one.faults]
    warnings = [*(text for one in verdicts for text in one.warnings), *odd_steps(bench)]
    if n_zeros:
        warnings.append(
            f'{n_zeros} door numbers are written with zeros before them; "0104" and "104" are '
            "the same door number."
        )
    return Judged(
        files={},
        brought={one.table: one.brought for one in verdicts if one.brought is not None},
        rows={one.table: one.rows for one in verdicts if len(one.rows)},
        known={one.table: one.known for one in verdicts if len(one.known)},
        held=join([one.held for one in verdicts], HELD_COLUMNS),
        settled=tuple(sorted(found for one in verdicts for found in one.settled)),
        counts=pd.DataFrame(counts, columns=list(COUNT_COLUMNS)),
        faults=tuple(sorted(faults, key=lambda one: (one.file, one.sheet, one.row, one.column))),
        changes=tuple(change for one in verdicts for change in one.changes),
        questions=tuple(
            sorted(set(questions), key=lambda one: (-one.rows, one.table, one.column, one.theirs))
        ),
        warnings=tuple(warnings),
    )


def _holders(standing: Standing, taken: pd.DataFrame | None) -> pd.DataFrame:
    return holders_of(standing["vehicles"], taken)
