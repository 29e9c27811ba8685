"""What the same row again means, by the kind of its table (the rows here are free of faults)."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from fleetcool.intake.compare import Compared, compare
from fleetcool.intake.judge_record import (
    CHANGED,
    CONTRADICTS,
    HELD,
    KNOWN,
    OUT,
    TAKEN,
    Bench,
    Fates,
    Sorted,
    holds,
)
from fleetcool.intake.judge_shows import blank, changed_sentence, shown
from fleetcool.intake.keys import normal
from fleetcool.model.days import iso
from fleetcool.model.tables import Column, Table
from fleetcool.model.taken import Change
from fleetcool.units import TO_KM

SAME, FILLS, DIFFERS = 0, 1, 2


def sort_measurements(table: Table, rows: pd.DataFrame, old: pd.DataFrame) -> Sorted:
    """Take every distinct row; known is a row that stands with all its values."""
    fates = _fates(rows)
    fates[rows["key"].duplicated().to_numpy()] = KNOWN
    day_key = normal(table.column("unit"), rows["unit"]) + "|" + rows["on"].astype(str)
    old_key = normal(table.column("unit"), old["unit"]) + "|" + old["on"].astype(str)
    near, compared = _pairs(table, rows, old, (day_key, old_key))
    same = compared.known & ~compared.leaves.any(axis=1).to_numpy()
    near = near[same].drop_duplicates("at")
    at = near["at"].to_numpy("int64")
    fates[at] = KNOWN
    return Sorted(rows, fates, _row_ids(rows, old, near), holds(()))


def sort_happenings(table: Table, rows: pd.DataFrame, old: pd.DataFrame) -> Sorted:
    """Complete what was blank, hold what contradicts, and honour `keep`."""
    fates = _fates(rows)
    refused: list[dict[str, object]] = []
    rows = _twice_in_one_intake(table, rows, fates, refused)
    best = _best(table, rows, old)
    best = best[pd.Series(fates[best["at"].to_numpy("int64")] == TAKEN, index=best.index)]
    known = best[best["rank"] == SAME]
    fates[known["at"].to_numpy("int64")] = KNOWN
    fates[best.loc[best["rank"] == FILLS, "at"].to_numpy("int64")] = CHANGED
    for at, of in best.loc[best["rank"] == DIFFERS, ["at", "of"]].to_numpy("int64"):
        keep = rows["keep"].loc[at]
        if keep == "old":
            fates[at] = OUT
        elif keep == "new":
            fates[at] = CHANGED
        elif keep == "both":
            n_there = int((old["key"] == rows["key"].loc[at]).sum())
            rows.loc[at, "key"] = f"{_text_at(rows, at, 'key')}#{n_there + 1}"
        else:
            fates[at] = HELD
            refused.append(_contradiction(table, rows.iloc[[at]], old.iloc[[of]], int(at)))
    return Sorted(rows, fates, _row_ids(rows, old, known), holds(refused))


def sort_counts(table: Table, rows: pd.DataFrame, old: pd.DataFrame) -> Sorted:
    """Let the later row win for its day."""
    fates, warnings = _fates(rows), _later_wins(table, rows, rows["key"])
    fates[rows["key"].duplicated(keep="last").to_numpy()] = KNOWN
    best = _best(table, rows, old)
    best = best[pd.Series(fates[best["at"].to_numpy("int64")] == TAKEN, index=best.index)]
    known = _settle(best, fates)
    changes = tuple(_changes(table, rows, old, best[best["rank"] != SAME]))
    return Sorted(rows, fates, _row_ids(rows, old, known), holds(()), changes, warnings)


def sort_facts(table: Table, rows: pd.DataFrame, old: pd.DataFrame, bench: Bench) -> Sorted:
    """Take what is new from its own day or the intake's; list old → new."""
    since = table.on or ""
    skip = (since, "unit") if table.name == "vehicles" else (since, *table.key)
    said = rows[since].astype(object).where(rows[since].notna(), "") if since else ""
    twice = rows["key"] + "|" + said
    fates, warnings = _fates(rows), _later_wins(table, rows, twice)
    fates[twice.duplicated(keep="last").to_numpy()] = KNOWN
    best = _best(table, rows, old, skip)
    best = best[pd.Series(fates[best["at"].to_numpy("int64")] == TAKEN, index=best.index)]
    known = _settle(best, fates)
    rest = best[best["rank"] != SAME]
    changed = np.flatnonzero(fates == CHANGED)
    if since:
        first = rows.loc[changed, since]
        today = iso(float(bench.intake_day))
        rows.loc[changed, since] = first.where(first.notna() & (first != ""), today)
    changes = tuple(_changes(table, rows, old, rest, skip))
    return Sorted(rows, fates, _row_ids(rows, old, known), holds(()), changes, warnings)


def sort_lists(table: Table, rows: pd.DataFrame, old: pd.DataFrame, *, brought: bool) -> Sorted:
    """Take all lines; list those that vanished or changed."""
    fates = _fates(rows)
    rows, warnings = _lines_twice(table, rows, fates)
    best = _best(table, rows, old)
    best = best[pd.Series(fates[best["at"].to_numpy("int64")] == TAKEN, index=best.index)]
    known = _settle(best, fates)
    changes = list(_changes(table, rows, old, best[best["rank"] != SAME]))
    if brought:
        gone = old[~old["key"].isin(rows["key"])]
        changes += [
            Change(table.name, key, "", key, "", f"{key}: no longer in the list")
            for key in sorted(gone["key"])
        ]
    return Sorted(rows, fates, _row_ids(rows, old, known), holds(()), tuple(changes), warnings)


def _fates(rows: pd.DataFrame) -> Fates:
    return np.full(len(rows), TAKEN, dtype=object)


def _settle(best: pd.DataFrame, fates: Fates) -> pd.DataFrame:
    """Mark the rows that are known and changed; return the pairs that are known."""
    known = best[best["rank"] == SAME]
    fates[known["at"].to_numpy("int64")] = KNOWN
    fates[best.loc[best["rank"] != SAME, "at"].to_numpy("int64")] = CHANGED
    return known


def _pairs(
    table: Table,
    rows: pd.DataFrame,
    old: pd.DataFrame,
    by: "tuple[pd.Series[str], pd.Series[str]]",
    skip: tuple[str, ...] = (),
) -> tuple[pd.DataFrame, Compared]:
    """Return which new row (`at`) meets which old one (`of`), and how they compare."""
    here = pd.DataFrame({"by": by[0].to_numpy(object), "at": np.arange(len(rows))})
    there = pd.DataFrame({"by": by[1].to_numpy(object), "of": np.arange(len(old))})
    pairs = here.merge(there, on="by", how="inner")[["at", "of"]]
    new_rows = rows.iloc[pairs["at"].to_numpy()].reset_index(drop=True)
    old_rows = old.iloc[pairs["of"].to_numpy()].reset_index(drop=True)
    return pairs, compare(table, new_rows, old_rows, skip)


def _best(
    table: Table, rows: pd.DataFrame, old: pd.DataFrame, skip: tuple[str, ...] | None = None
) -> pd.DataFrame:
    """Return for each new row whose key stands the old row nearest to it: at, of, rank."""
    without = table.key if skip is None else skip
    pairs, compared = _pairs(table, rows, old, (rows["key"], old["key"]), without)
    pairs["rank"] = np.where(compared.contradicts, DIFFERS, np.where(compared.known, SAME, FILLS))
    return pairs.sort_values(["at", "rank", "of"], kind="stable").drop_duplicates("at")


def _row_ids(
    rows: pd.DataFrame, old: pd.DataFrame, known: pd.DataFrame
) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    result = np.full(len(rows), np.nan)
    if "row_id" in old:
        ids = old["row_id"].to_numpy("float64")
        result[known["at"].to_numpy("int64")] = ids[known["of"].to_numpy("int64")]
    return result


def _changes(
    table: Table,
    rows: pd.DataFrame,
    old: pd.DataFrame,
    pairs: pd.DataFrame,
    skip: tuple[str, ...] | None = None,
) -> Iterator[Change]:
    """Yield what each changed cell said before and says now; none when an older day is brought."""
    at, of = pairs["at"].to_numpy("int64"), pairs["of"].to_numpy("int64")
    new_rows, old_rows = rows.iloc[at].reset_index(drop=True), old.iloc[of].reset_index(drop=True)
    compared = compare(table, new_rows, old_rows, table.key if skip is None else skip)
    news = compared.differs | compared.fills
    since = table.on
    if table.kind == "fact" and since:
        dated = new_rows[since].notna() & old_rows[since].notna()
        earlier = dated & (new_rows[since].astype(str) < old_rows[since].astype(str))
        news = news.mask(earlier, other=False)
    for place, name in np.argwhere(news.to_numpy(dtype=bool)):
        column = table.column(str(news.columns[name]))
        before, after = old_rows.iloc[place], new_rows.iloc[place]
        unit, written = (after.get(f"{column.name}{end}") for end in ("_unit", "_written"))
        texts = (
            _in_unit(column, before[column.name], unit),
            shown(column, after[column.name], written, unit),
        )
        sentence = changed_sentence(column, before[column.name], after[column.name], texts)
        yield Change(table.name, str(after["key"]), column.name, *texts, sentence)


def _contradiction(
    table: Table, new: pd.DataFrame, old: pd.DataFrame, at: int
) -> dict[str, object]:
    new, old = new.reset_index(drop=True), old.reset_index(drop=True)
    compared = compare(table, new, old, table.key)
    names = [str(name) for name in compared.differs if compared.differs[name].iloc[0]]
    here, there = new.iloc[0], old.iloc[0]
    found, stands = [], []
    for name in names:
        column = table.column(name)
        unit, label = here.get(f"{name}_unit"), name.replace("_", " ")
        found.append(f"{label} {shown(column, here[name], here.get(f'{name}_written'), unit)}")
        stands.append(f"{label} {_in_unit(column, there[name], unit)}")
    whose = f" (intake {int(there['intake'])})" if pd.notna(there.get("intake")) else ""
    return {
        "at": at,
        "column": names[0],
        "found": "; ".join(found),
        "expected": f"as it stands{whose}: {'; '.join(stands)}",
        "do": "write old, new or both under keep, or mend the row",
        "cause": CONTRADICTS,
        "waits_for": "",
    }


def _in_unit(column: Column, value: object, unit: object) -> str:
    if column.kind == "distance" and isinstance(unit, str) and not blank(value):
        return shown(column, value, float(str(value)) / TO_KM[unit], unit)
    return shown(column, value)


def _twice_in_one_intake(
    table: Table, rows: pd.DataFrame, fates: Fates, refused: list[dict[str, object]]
) -> pd.DataFrame:
    """Settle rows of one key inside the intake: the same is known, blanks join, others are held."""
    twice = rows["key"].duplicated(keep=False)
    if not twice.any():
        return rows
    rows = rows.copy()
    for _, line in rows[twice].groupby("key", sort=True):
        first = line.index[0]
        for n_more, at in enumerate(line.index[1:], start=2):
            new = rows.loc[[at]].reset_index(drop=True)
            old = rows.loc[[first]].reset_index(drop=True)
            compared = compare(table, new, old, table.key)
            if compared.known[0]:
                fates[at] = KNOWN
            elif not compared.contradicts[0]:
                names = [str(name) for name in compared.fills if compared.fills[name].iloc[0]]
                for name in names:
                    for cell in (name, f"{name}_written", f"{name}_unit"):
                        if cell in rows:
                            rows.loc[first, cell] = rows[cell].loc[at]
                fates[at] = KNOWN
            else:
                first = _two(table, rows, fates, refused, (first, at, n_more))
    return rows


def _two(
    table: Table,
    rows: pd.DataFrame,
    fates: Fates,
    refused: list[dict[str, object]],
    which: tuple[int, int, int],
) -> int:
    """Settle two rows of one intake that contradict each other; return the one that leads now."""
    first, at, n_more = which
    keep = rows["keep"].loc[at]
    if keep == "both":
        rows.loc[at, "key"] = f"{_text_at(rows, at, 'key')}#{n_more}"
    elif keep == "old":
        fates[at] = OUT
    elif keep == "new":
        fates[first] = OUT
        return at
    else:
        for one, other in ((first, at), (at, first)):
            if fates[one] != HELD:
                why = _contradiction(table, rows.loc[[one]], rows.loc[[other]], one)
                where = f"row {_text_at(rows, other, 'row')} of {_text_at(rows, other, 'sheet')}"
                said = str(why["expected"]).split(": ", 1)[1]
                refused.append(why | {"expected": f"as in {where}: {said}"})
                fates[one] = HELD
    return first


def _later_wins(table: Table, rows: pd.DataFrame, twice: "pd.Series[str]") -> tuple[str, ...]:
    """Return a warning when rows of one key inside the intake say different things."""
    again = twice.duplicated(keep="last").to_numpy()
    if not again.any():
        return ()
    last = pd.Series(np.arange(len(rows)), index=twice).groupby(level=0).last()
    winners = rows.iloc[last.reindex(twice[again]).to_numpy()].reset_index(drop=True)
    losers = rows[again].reset_index(drop=True)
    skip = table.key if table.name != "vehicles" else ("unit",)
    compared = compare(table, losers, winners, skip)
    n_other = int((~compared.known).sum())
    if not n_other:
        return ()
    names = sorted(set(losers.loc[~compared.known, "key"]))[:5]
    text = (
        f"{table.name}: {n_other} rows say something else than a later row of the same key "
        f"({', '.join(names)}); the later row was taken."
    )
    return (text,)


def _lines_twice(
    table: Table, rows: pd.DataFrame, fates: Fates
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Number the lines of a list that have one key and say different things; none is lost."""
    again = rows["key"].duplicated().to_numpy()
    if not again.any():
        return rows, ()
    firsts = rows.drop_duplicates("key").set_index("key")
    leaders = firsts.reindex(rows.loc[again, "key"]).reset_index()
    compared = compare(table, rows[again].reset_index(drop=True), leaders, table.key)
    same = compared.known & ~compared.leaves.any(axis=1).to_numpy()
    places = np.flatnonzero(again)
    fates[places[same]] = KNOWN
    others = places[~same]
    if not len(others):
        return rows, ()
    rows = rows.copy()
    nth = rows.groupby("key").cumcount().to_numpy()[others] + 1
    before = rows["key"].iloc[others]
    rows.loc[others, "key"] = before + "#" + pd.Series(nth, index=before.index).astype(str)
    text = f"{table.name}: {len(others)} lines have the key of another line; all were taken."
    return rows, (text,)


def _text_at(rows: pd.DataFrame, at: int, name: str) -> str:
    return str(rows[name].loc[at])
