"""Which vehicles have no layout yet: ask once for each make, model, year and engine, or apply."""

import pandas as pd

from fleetcool.intake.judge_record import Bench
from fleetcool.intake.keys import as_kept
from fleetcool.knowledge.reader import read_shipped
from fleetcool.model.all_tables import TABLES
from fleetcool.model.taken import Question

_NAMES = ("make", "model", "year", "engine")


def fill_layouts(rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return vehicles rows with the layout put in where their combination is known to have one."""
    answers = _answers(bench) | _from_others(
        [as_kept(TABLES["vehicles"], bench.standing["vehicles"]), rows]
    )
    answers |= _answers(bench)
    blank = _blank(rows["layout"]) & rows["key"].notna()
    standing = _layout_of(bench.standing["vehicles"])
    stands = rows["key"].map(standing)
    meant = combinations(rows).map(_plain).map(answers)
    result = rows.copy()
    result["layout"] = rows["layout"].astype(object).mask(blank & stands.isna(), meant)
    return result


def standing_layouts(bench: Bench, words: pd.DataFrame) -> pd.DataFrame:
    """Return rows with key, unit and layout for standing vehicles that an answer speaks of.

    Args:
        bench: with what stands and what this intake takes.
        words: the rows of `words` this intake takes; file, sheet and row come from them.
    """
    asked = _layout_words(words)
    stands = as_kept(TABLES["vehicles"], bench.standing["vehicles"])
    vehicles = bench.taken.get("vehicles")
    given = set() if vehicles is None else set(vehicles.loc[~_blank(vehicles["layout"]), "key"])
    waiting = stands[_blank(stands["layout"]) & ~stands["vehicle"].isin(given)]
    if not len(asked) or not len(waiting):
        return pd.DataFrame()
    answers = asked.assign(combination=asked["theirs"].map(_plain))
    answers = answers.drop_duplicates("combination", keep="last").set_index("combination")
    found = combinations(waiting).map(_plain)
    hit = found.isin(answers.index)
    names = ["file", "sheet", "row", "ours"]
    result = answers.loc[found[hit], names].reset_index(drop=True)
    result = result.rename(columns={"ours": "layout"})
    result["key"] = waiting.loc[hit, "vehicle"].to_numpy(object)
    result["unit"] = waiting.loc[hit, "unit"].to_numpy(object)
    return result


def layout_questions(bench: Bench) -> tuple[Question, ...]:
    """Return one question for each combination without a layout, most vehicles first."""
    taken, held_now = (
        bench.taken.get("vehicles"),
        as_kept(TABLES["vehicles"], bench.standing["vehicles"]),
    )
    frames = [held_now.assign(key=held_now["vehicle"])]
    if taken is not None:
        frames.append(taken)
    names = ["key", "layout", *_NAMES]
    everyone = pd.concat([frame.reindex(columns=names).astype(object) for frame in frames])
    everyone = everyone.mask(everyone == "").groupby("key", sort=True).last()
    if "here" in held_now:
        gone = set(held_now.loc[~held_now["here"].astype(bool), "vehicle"])
        everyone = everyone[~everyone.index.isin(gone)]
    waiting = everyone[everyone["layout"].isna()]
    texts = combinations(waiting)
    counts = texts.groupby(texts.map(_plain)).agg(["first", "size"])
    choices = _choices(bench)
    questions = [
        Question(
            "vehicles", "layout", str(text), int(rows), choices, _sentence(str(text), int(rows))
        )
        for text, rows in zip(counts["first"], counts["size"], strict=True)
    ]
    return tuple(sorted(questions, key=lambda one: (-one.rows, one.theirs)))


def same_question(one: Question, other: Question) -> bool:
    """Tell whether two questions ask for the layout of one combination."""
    of_layouts = (one.table, one.column) == (other.table, other.column) == ("vehicles", "layout")
    return of_layouts and _plain(one.theirs) == _plain(other.theirs)


def combinations(frame: pd.DataFrame) -> "pd.Series[str]":
    """Return make, model, year and engine of each row, joined by "|"; blanks stay empty."""
    texts = {name: frame[name].astype(object).where(frame[name].notna(), "") for name in _NAMES}
    texts["year"] = texts["year"].map(lambda year: "" if year == "" else f"{float(year):.0f}")
    parts = [texts[name].astype(str).str.strip() for name in _NAMES]
    return parts[0] + "|" + parts[1] + "|" + parts[2] + "|" + parts[3]


def _answers(bench: Bench) -> dict[str, str]:
    frames = [bench.standing["words"], bench.taken.get("words")]
    found = [_layout_words(one) for one in frames if one is not None and len(one)]
    return {
        _plain(theirs): str(ours)
        for frame in found
        for theirs, ours in zip(frame["theirs"], frame["ours"], strict=True)
    }


def _layout_words(words: pd.DataFrame) -> pd.DataFrame:
    if not len(words):
        return words
    return words[(words["table"] == "vehicles") & (words["column"] == "layout")]


def _from_others(frames: list[pd.DataFrame]) -> dict[str, str]:
    """Return the layout of each combination that other vehicles give, where they all agree."""
    some = [frame[[*_NAMES, "layout"]].astype(object) for frame in frames if len(frame)]
    if not some:
        return {}
    everyone = pd.concat(some, ignore_index=True)
    everyone = everyone[~_blank(everyone["layout"])]
    texts = combinations(everyone).map(_plain)
    said = everyone["layout"].groupby(texts).agg(["first", "nunique"])
    sure = said[(said["nunique"] == 1) & (said.index != "")]
    return {str(text): str(layout) for text, layout in sure["first"].items()}


def _layout_of(stands: pd.DataFrame) -> dict[str, str]:
    some = stands[~_blank(stands["layout"])] if len(stands) else stands
    return dict(zip(some["vehicle"], some["layout"], strict=True)) if len(some) else {}


def _choices(bench: Bench) -> tuple[str, ...]:
    frames = [read_shipped()["layouts"], bench.standing["layouts"], bench.taken.get("layouts")]
    return tuple(
        sorted({str(one) for frame in frames if frame is not None for one in frame["layout"]})
    )


def _sentence(text: str, rows: int) -> str:
    said = " ".join(part for part in text.split("|") if part)
    named = said or "the vehicles that say neither make, model, year nor engine"
    return f"Which layout has {named} ({rows} {'vehicle' if rows == 1 else 'vehicles'})?"


def _blank(values: "pd.Series[str]") -> "pd.Series[bool]":
    return values.isna() | (values.astype(object) == "")


def _plain(text: str) -> str:
    return " ".join(str(text).replace("|", " ").split()).lower()
