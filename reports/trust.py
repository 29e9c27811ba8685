"""The sheet Trust: how good the projections were, what was learnt, which defaults still stand."""

from dataclasses import replace

import pandas as pd

from fleetcool.meters.scores import ALL, LEAST_CASES, WANTED, in_order
from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AUDIT_COLUMNS, AUDITED_WEEKS
from fleetcool.projection.audit import LATE_DAYS
from reports.defaults import settings_block, tables_block
from reports.learnt import learnt_block
from reports.sheets import Block, Cell, Heading, Lines, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import listed, on_day

CHARTED = (4, 8)  # weeks
_MOST_WEEKS = 20  # of the chart; with it they fill one printed page
_FEW = 5  # classes named in one sentence
_WIDTHS = (26, 21, 43)  # of the first three columns, which all tables of the sheet share


def trust_sheet(view: View) -> Sheet:
    """Return how good the projections were, what was learnt and which defaults still stand."""
    outlook = view.outlook
    audit, tried = outlook.back.audit, outlook.projection.tried
    blocks = (
        Block(
            "what_was_said",
            _AUDIT,
            _rows(audit),
            "No issue is old enough, or no meter was read since.",
            title="What was said and what came",
        ),
        _over_issues(view),
        Block(
            "tried_on_the_past",
            _AUDIT,
            _rows(_few_classes(tried)),
            "The readings do not reach back far enough to try it on them.",
            title="Tried on the past: as if it had been said from earlier readings",
        ),
        settings_block(outlook.settings),
        tables_block(outlook.knowledge),
        learnt_block(view),
    )
    return Sheet(
        "Trust",
        tuple(_with_widths(block) for block in blocks),
        title="Trust: how good the projections were, and what they rest on",
        sentences=(*doubts(audit), *_judged(audit), *_instead(view), _HOW),
    )


_HOW = (
    "Early and late should hold four times of five. Due days and what meters run are one question, "
    "so every meter read since is judged, those read at visits too; distances and hours together, "
    "as days at the rate said then. With few cases chance alone moves the share: at least and at "
    f"most say how far. Doubtful is a share of {LEAST_CASES} or more cases that chance does not "
    "explain."
)
_AUDIT = (
    Heading("of which meters"),
    Heading("said before"),
    Heading("in words"),
    Heading("meters", "whole", 8),
    Heading("between early and late", "percent", 10),
    Heading("at least", "percent", 8, note="Lower end of what chance leaves open, 19 times of 20."),
    Heading("at most", "percent", 8, note="Upper end of what chance leaves open, 19 times of 20."),
    Heading("sooner than early", "percent", 9),
    Heading("later than late", "percent", 8),
    Heading(
        "days lost",
        "number",
        9,
        note="Mean loss over early, due and late: small when days are near and well spread.",
    ),
    Heading(
        "days lost by the plain average",
        "number",
        10,
        note="The same for all that was run over all days, a fifth of the wait off each way.",
    ),
    Heading("days sooner than said", "number", 9, note="On average; below nil they came later."),
)


def doubts(audit: pd.DataFrame) -> tuple[str, ...]:
    """Return what is doubtful about the days that were said, a sentence each; first about all."""
    warned = in_order(_typed(audit))
    warned = warned[warned["warns"].astype(bool)]
    of_all = warned["by"] == ALL
    said = [
        f"Doubtful: of what was said {_weeks(one)} before, {_percent(one['inside'])} "
        f"came between early and late, where about {_percent(WANTED)} should; {_what(one)}."
        for one in rows_of(warned[of_all])
    ]
    of_some = warned[~of_all]
    if len(of_some):
        names = list(dict.fromkeys(_name(one) for one in rows_of(of_some)))
        more = [f"{len(names) - _FEW} more"] if len(names) > _FEW else []
        said.append(f"Doubtful for some: {listed([*names[:_FEW], *more])}; the table says more.")
    return tuple(said)


def _what(one: "dict[str, object]") -> str:
    """Return what is wrong where too few or too many came between early and late."""
    if figure(one["inside"]) > WANTED:
        return "early and late are further apart than they need be"
    if figure(one["below"]) > 2 * figure(one["above"]):
        return "most of the others came sooner than early, so look at what is due a little earlier"
    if figure(one["above"]) > 2 * figure(one["below"]):
        return "most of the others came later than late, so work may be done too early"
    return "early and late are too close together, so allow more on both sides"


def _judged(audit: pd.DataFrame) -> tuple[str, ...]:
    """Return a sentence for each number of weeks of which something could be judged."""
    typed = in_order(_typed(audit))
    return tuple(
        f"Of {figure(one['n']):,.0f} meters of which was said {_weeks(one)} before what they "
        f"would run, {_times(one, 'inside')} came between early and late "
        f"({_percent(one['inside'])}, wanted about {_percent(WANTED)}; chance leaves "
        f"{_percent(one['inside_low'])} to {_percent(one['inside_high'])} open), "
        f"{_times(one, 'below')} sooner than early and {_times(one, 'above')} later than late."
        for one in rows_of(typed[typed["by"] == ALL])
    )


def _instead(view: View) -> tuple[str, ...]:
    """Return what is said while no issue can be judged yet: what the past says instead."""
    outlook = view.outlook
    if len(outlook.back.audit):
        return ()
    first = outlook.standing.earlier.constants["as_of"].astype("float64").min()
    since = (
        "nothing was issued before"
        if first != first  # noqa: PLR0124 - NaN is not itself
        else f"the first issue was made on {on_day(first)}"
    )
    nothing = (
        f"Nothing that was said could be judged yet: that takes an issue {_either(AUDITED_WEEKS)} "
        f"weeks old, or up to {LATE_DAYS} days older, and a meter read since ({since})."
    )
    tried = in_order(_typed(outlook.projection.tried))
    said = [
        f"Tried on the past instead, {_weeks(one)} ahead: of {figure(one['n']):,.0f} cases "
        f"{_percent(one['inside'])} came between early and late, wanted about {_percent(WANTED)}."
        for one in rows_of(tried[tried["by"] == ALL])
    ]
    return (nothing, *said)


def _either(weeks: tuple[int, ...]) -> str:
    """Return numbers with "or" before the last: 4, 8 or 26."""
    return f"{', '.join(map(str, weeks[:-1]))} or {weeks[-1]}"


def _typed(audit: pd.DataFrame) -> pd.DataFrame:
    return audit if len(audit) else empty(AUDIT_COLUMNS)


def _times(one: "dict[str, object]", share: str) -> str:
    return f"{round(figure(one[share]) * figure(one['n'])):,}"


def _weeks(one: "dict[str, object]") -> str:
    return f"{figure(one['weeks']):.0f} weeks"


def _percent(share: object) -> str:
    return f"{100 * figure(share):.0f} %"


def _name(one: "dict[str, object]") -> str:
    """Return of which meters a row speaks."""
    by, name = text(one["by"]), text(one["name"])
    if by == ALL:
        return "all meters"
    return f"read for {name}" if by == "history" else name


def _few_classes(tried: pd.DataFrame) -> pd.DataFrame:
    """Return what was tried, usage classes only where they are doubtful."""
    typed = _typed(tried)
    return typed[(typed["by"] != "usage class") | typed["warns"].astype(bool)]


def _rows(audit: pd.DataFrame) -> tuple[tuple[Cell, ...], ...]:
    """Return the lines of an audit, the doubtful ones first."""
    ordered = in_order(_typed(audit))
    ordered = ordered.assign(_last=~ordered["warns"].astype(bool))
    ordered = ordered.sort_values("_last", kind="stable")
    return tuple(_row(one) for one in rows_of(ordered))


def _row(one: "dict[str, object]") -> tuple[Cell, ...]:
    inside, n = 100 * figure(one["inside"]), figure(one["n"])
    words: Cell = f"{_times(one, 'inside')} of {n:,.0f} between early and late"
    if one["warns"]:
        words = Past(f"doubtful: {_what(one)}")
    elif n < LEAST_CASES:
        words = f"{words}; too few to judge by"
    return (
        _name(one),
        _weeks(one),
        words,
        n,
        Past(inside) if one["warns"] else inside,
        *(100 * figure(one[name]) for name in ("inside_low", "inside_high", "below", "above")),
        *(figure(one[name]) for name in ("pinball", "pinball_average", "bias_days")),
    )


def _over_issues(view: View) -> Block:
    """Return the share between early and late issue by issue, this one last, with its chart."""
    outlook = view.outlook
    now = _typed(outlook.back.audit).assign(as_of=float(outlook.as_of))
    before = outlook.standing.earlier.audit
    both = pd.concat([one for one in (before, now) if len(one)] or [now], ignore_index=True)
    chosen = both[(both["by"] == ALL) & both["weeks"].isin(CHARTED)]
    n, inside = (
        chosen.pivot_table(name, "as_of", "weeks", "last").reindex(columns=list(CHARTED))
        for name in ("n", "inside")
    )
    week = (inside.index.to_numpy(dtype="float64") + 3) // 7  # ISO weeks; the last issue of each
    kept = inside.index[~pd.Series(week).duplicated(keep="last").to_numpy()]
    rows: list[tuple[Cell, ...]] = []
    for day in kept[-_MOST_WEEKS:]:
        judged = [f"{figure(n.loc[day, weeks]):,.0f}".replace("nan", "none") for weeks in CHARTED]
        shares = (100 * figure(inside.loc[day, weeks]) for weeks in CHARTED)
        made = "now" if day == outlook.as_of else "before"
        rows.append((float(day), made, f"{listed(judged)} meters", *shares, 100 * WANTED))
    headings = (
        Heading("issue of", "day"),
        Heading("made"),
        Heading(f"judged, of {listed(f'{weeks} weeks' for weeks in CHARTED)} before"),
        *(Heading(f"said {weeks} weeks before, %", "number", 11) for weeks in CHARTED),
        Heading("wanted, %", "number", 9),
    )
    lines = Lines(
        "Share between early and late",
        0,
        (3, 4, 5),
        0,
        len(rows) - 1,
        "% of meters",
        by_day=True,
    )
    return Block(
        "share_by_issue",
        headings,
        tuple(rows) if len(rows) > 1 else (),
        "How the share went from week to week is shown once two weeks' issues could judge.",
        title="Week by week: what the last issue of each week could judge",
        charts=(lines,),
        starts_page=len(rows) > 1,
    )


def _with_widths(block: Block) -> Block:
    """Return a block with the widths that the tables of this sheet share."""
    headings = tuple(
        replace(one, width=_WIDTHS[at]) if at < len(_WIDTHS) else one
        for at, one in enumerate(block.headings)
    )
    return replace(block, headings=headings)
