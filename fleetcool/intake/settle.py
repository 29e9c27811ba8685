"""What all sheets of an intake say: columns, units, days and words settled, faults named."""

import json
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from fleetcool.intake import forms
from fleetcool.intake.headings import HEADING, Told
from fleetcool.intake.raw import RawSheet, Settled
from fleetcool.intake.settle_depot import with_depots
from fleetcool.intake.settle_questions import Asking, all_words, answers_in
from fleetcool.intake.settle_rules import sheet_rules
from fleetcool.intake.settle_sheets import Placed, is_read_here, looks_like_table, place
from fleetcool.intake.settle_table import Context, Piece, settle_sheet
from fleetcool.intake.words_read import SEVERAL, Answers, answers_from, loose
from fleetcool.model.all_tables import TABLES
from fleetcool.model.settings import Settings
from fleetcool.model.tables import Table
from fleetcool.model.taken import Fault

_DEFINED = (("services", "service"), ("layouts", "layout"), ("coolants", "coolant"))


def settle(
    sheets: Sequence[RawSheet],
    *,
    words: pd.DataFrame,
    known: Mapping[str, frozenset[str]],
    settings: Settings,
    today: int,
) -> tuple[Settled, ...]:
    """Return the rows of every table the sheets bring, in the order of the tables.

    Args:
        sheets: the sheets as read, of tables and of to-fix workbooks; others are passed over.
        words: the answers in force (columns table, column, theirs, ours).
        known: kind of column ("service", "place", "layout", "coolant", "depot") → the words we
            know.
        settings: the fleet's settings.
        today: the day number after which nothing can have happened yet [d].
    """
    told_before = all_words(words, ())
    answered = [frame for raw in sheets if len(frame := answers_in(raw))]
    first = _told(settings, answers_from(all_words(told_before, answered)))
    placed, warnings, faults = _placed(sheets, first)
    brought = [_brought_words(one) for one in placed if one.table.name == "words"]
    answers = answers_from(all_words(told_before, [*brought, *answered]))
    if brought:
        placed, warnings, faults = _placed(sheets, _told(settings, answers))
    warnings += _empty_files(sheets)
    placed, said = with_depots(placed, known.get("depot", frozenset()))
    warnings += said
    context = Context(answers, _known(known, placed), settings, today)
    asking = Asking()
    newest = answers_from(all_words(pd.DataFrame(), answered))
    pieces: dict[str, list[Piece]] = {}
    for one, rules in zip(placed, sheet_rules(placed, context, newest), strict=True):
        pieces.setdefault(one.table.name, []).append(settle_sheet(one, rules, context, asking))
    for raw in sheets:
        if len(rows := answers_in(raw)):
            pieces.setdefault("words", []).append(Piece(_word_rows(raw, rows), (), ()))
    return _by_table(pieces, (faults, warnings), asking)


def _placed(sheets: Sequence[RawSheet], told: Told) -> tuple[list[Placed], list[str], list[Fault]]:
    placed: list[Placed] = []
    warnings: list[str] = []
    faults: list[Fault] = []
    examples: list[str] = []
    for raw in sheets:
        where = f"{raw.file}, sheet {raw.sheet}"
        if not is_read_here(raw):
            if raw.hidden and looks_like_table(raw) and not raw.about:
                warnings.append(f"{where}: it is hidden and was not read; show it if it counts.")
            continue
        if _is_questions(raw) or not any(any(row) for row in raw.cells):
            continue
        one = place(raw, told)
        if one is None:
            if raw.about.get("kind") == forms.TO_FIX_KIND:
                continue  # a to-fix workbook with nothing in it says so on a sheet of its own
            warnings.append(
                f"{where}: no table of ours by name or headings; not read. Name the sheet after "
                "its table, like vehicles or readings."
            )
            continue
        warnings += [*_unknown(one, where), *_twice(one, where)]
        if one.head.missing and not one.fixing:
            faults += _missing(one)
        elif one.only_example:
            examples.append(one.file)
        else:
            placed.append(one)
    return placed, [*warnings, *_only_examples(examples, placed)], faults


def _only_examples(examples: Sequence[str], placed: Sequence[Placed]) -> list[str]:
    """Return a sentence when starters came back with nothing but their example rows."""
    if not examples or any(len(one) for one in placed if not one.fixing):
        return []
    names = ", ".join(sorted(set(examples)))
    sentence = "only the example rows are in it; write your own rows over them, the first cell too."
    return [f"{names}: {sentence}"]


def _unknown(one: Placed, where: str) -> list[str]:
    names = ", ".join(f'"{head.text}"' for head in one.head.headings if not head.column)
    if not names or one.fixing:
        return []
    return [f"{where}: not read, since nothing here has that heading: {names}."]


def _empty_files(sheets: Sequence[RawSheet]) -> list[str]:
    """Return a sentence for each file in which no cell is filled."""
    filled = {raw.file for raw in sheets if any(any(row) for row in raw.cells)}
    empty = sorted({raw.file for raw in sheets} - filled)
    return [f"{file}: the file is empty; nothing was read from it." for file in empty]


def _is_questions(raw: RawSheet) -> bool:
    return raw.about.get("kind") == forms.TO_FIX_KIND and loose(raw.sheet) == loose(
        forms.QUESTIONS_SHEET
    )


def _twice(one: Placed, where: str) -> list[str]:
    columns: dict[str, list[str]] = {}
    for heading in one.head.known:
        columns.setdefault(heading.column, []).append(f'"{heading.text}"')
    return [
        f"{where}: {' and '.join(texts)} are both read as {column}; "
        "the first filled cell of a row counts."
        for column, texts in columns.items()
        if len(texts) > 1 and not one.fixing
    ]


def _missing(one: Placed) -> list[Fault]:
    there = ", ".join(heading.text for heading in one.head.headings)
    return [
        Fault(
            one.file,
            one.sheet,
            one.head.row + 1,
            name,
            f"the headings {there}"[:200],
            f'a heading for "{name.replace("_", " ")}" of the table {one.table.name}',
            "add or rename the column and bring the sheet again",
            "a heading that is missing",
        )
        for name in one.head.missing
    ]


def _told(settings: Settings, answers: Answers) -> Told:
    """Return what settings and answers say about headings; settings win."""
    told: dict[str, dict[str, str]] = {}
    for (table, column, theirs), ours in answers.by_table.items():
        if column == HEADING:
            told.setdefault(table, {})[theirs] = ours
    for table, columns in settings.columns.items():
        for theirs, ours in columns.items():
            told.setdefault(table, {})[loose(theirs)] = ours
    return told


def _brought_words(one: Placed) -> pd.DataFrame:
    """Return the rows of a sheet of words as they are written, to be used at once."""
    return pd.DataFrame({name: texts for name, _, texts in one.columns}, dtype=object)


def _known(
    known: Mapping[str, frozenset[str]], placed: Sequence[Placed]
) -> Mapping[str, frozenset[str]]:
    """Return the known words with those the same intake defines."""
    result = dict(known)
    for one in placed:
        for name, _, texts in one.columns:
            if (one.table.name, name) in _DEFINED:
                defined = frozenset(" ".join(text.split()) for text in texts if text)
                result[name] = result.get(name, frozenset()) | defined
    return result


def _word_rows(raw: RawSheet, rows: pd.DataFrame) -> pd.DataFrame:
    """Return answers as rows of the table `words`."""
    frame = rows[["table", "column", "theirs", "ours"]].astype(object)
    return frame.assign(
        since=None,
        remove=np.nan,
        file=raw.file,
        sheet=raw.sheet,
        row=rows["row"].astype("int64"),
        cells=[_json_of(row) for row in frame.to_dict("records")],
        held_id=np.nan,
        keep=None,
        leave_out=False,
    )


def _json_of(row: Mapping[object, object]) -> str:
    return json.dumps({str(key): str(value) for key, value in row.items()}, ensure_ascii=False)


def _by_table(
    pieces: Mapping[str, Sequence[Piece]],
    whole: tuple[Sequence[Fault], Sequence[str]],
    asking: Asking,
) -> tuple[Settled, ...]:
    """Return one record a table; what concerns no table stands with the first."""
    names = [name for name in TABLES if name in pieces] or ["words"]
    questions = asking.sorted()
    result = []
    for position, name in enumerate(names):
        mine = pieces.get(name, ())
        frame = (
            pd.concat([piece.frame for piece in mine], ignore_index=True)
            if mine
            else _empty(TABLES[name])
        )
        faults, warnings = whole if position == 0 else ((), ())
        result.append(
            Settled(
                name,
                _typed(TABLES[name], _one_row_a_word(TABLES[name], frame)),
                (*faults, *(fault for piece in mine for fault in piece.faults)),
                tuple(
                    one
                    for one in questions
                    if one.table == name or (position == 0 and one.table not in names)
                ),
                (*warnings, *(warning for piece in mine for warning in piece.warnings)),
            )
        )
    return tuple(result)


def _empty(table: Table) -> pd.DataFrame:
    columns = [column.name for column in table.columns]
    columns += [f"{column.name}_written" for column in table.columns if column.kind == "distance"]
    columns += [f"{column.name}_unit" for column in table.columns if column.kind == "distance"]
    more = ["file", "sheet", "row", "cells", "held_id", "keep", "leave_out"]
    return pd.DataFrame({name: pd.Series([], dtype=object) for name in (*columns, *more)})


def _one_row_a_word(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a row once for each of several services or places it names."""
    for column in table.columns:
        if column.kind in SEVERAL and len(frame):
            texts = frame[column.name]
            several = texts.astype(object).fillna("").astype(str).str.contains("+", regex=False)
            if several.any():
                split = frame.assign(**{column.name: texts.astype(object).map(_pieces)})
                frame = split.explode(column.name, ignore_index=True)
    return frame


def _typed(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a frame whose text columns are text, also when nothing is in them."""
    texts = [column.name for column in table.columns if column.is_text]
    texts += [f"{column.name}_unit" for column in table.columns if column.kind == "distance"]
    texts = [name for name in (*texts, "file", "sheet", "cells", "keep") if name in frame]
    numbers = [column.name for column in table.columns if not column.is_text]
    numbers += [f"{column.name}_written" for column in table.columns if column.kind == "distance"]
    numbers = [name for name in (*numbers, "held_id") if name in frame]
    types = dict.fromkeys(texts, "str") | dict.fromkeys(numbers, "float64")
    return frame.astype(types | {"row": "int64", "leave_out": "bool"})


def _pieces(text: object) -> object:
    return text.split("+") if isinstance(text, str) else text
