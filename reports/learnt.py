"""What the fleet's own history has taught: usage, minutes in the shop, life of parts."""

import re
from collections.abc import Iterable

from fleetcool.model.days import MONTHS
from fleetcool.model.trust_frames import LEARNT_COLUMNS
from fleetcool.visits.labour import read_labour
from fleetcool.visits.learnt import learnt_minutes
from reports.sheets import Block, Heading
from reports.view import View, figure, rows_of, text
from reports.words import counted

PRINTED = 30  # lines that go to paper; all stand in the sheet
Line = tuple[str, str, str]
_SEASON = re.compile(r"^(season .+) (\d\d)$")
_FACTOR = re.compile(r"^\d+\.\d+")


def learnt_block(view: View) -> Block:
    """Return what the fleet's own history has taught, a line each."""
    lines = [*_usage_lines(view), *_shop_lines(view), *_life_lines(view)]
    return Block(
        "learnt_from_this_fleet",
        (Heading("what"), Heading("value"), Heading("why")),
        tuple((name, value, why) for name, value, why in lines),
        "Nothing yet; the defaults stand.",
        title="Learnt from this fleet",
        printed=PRINTED,
    )


def _usage_lines(view: View) -> Iterable[Line]:
    """Return what readings have taught; the twelve months of a season in one line."""
    months: dict[str, list[tuple[float, str]]] = {}
    lines: dict[str, Line] = {}
    for one in rows_of(view.outlook.projection.learnt):
        name, value, why = (text(one[column]) for column in LEARNT_COLUMNS)
        season, factor = _SEASON.match(name), _FACTOR.match(value)
        if season and factor:
            name, value = season[1], ""
            months.setdefault(name, []).append((float(factor[0]), MONTHS[int(season[2]) - 1]))
        lines[name] = (name, value, why)
    for name, found in months.items():
        least, most = min(found), max(found)
        value = f"{least[1]} {least[0]:.2f}, {most[1]} {most[0]:.2f}"
        lines[name] = (name, value, f"least and most of a usual day; {lines[name][2]}")
    return lines.values()


def _shop_lines(view: View) -> Iterable[Line]:
    """Return how much quicker or slower the shop works than the tables say, by layout."""
    standing, knowledge = view.outlook.standing, view.outlook.knowledge
    known = frozenset(knowledge.services["service"].astype(str))
    found = learnt_minutes(standing["history"], standing["vehicles"], read_labour(knowledge), known)
    met = found[found["visits"] > 0]
    for one in rows_of(met):
        out = figure(one["left_out"])
        left = f"; {out:.0f} more were too far off to count" if out else ""
        yield (
            f"minutes in the shop, {one['layout']}",
            f"{figure(one['factor']):.2f} of the tables'",
            (
                f"{figure(one['visits']):.0f} done visits took "
                f"{figure(one['recorded_minutes']):,.0f} minutes, by the tables "
                f"{figure(one['planned_minutes']):,.0f}{left}"
            ),
        )
    if not len(met):
        yield (
            "minutes in the shop",
            "as in the tables",
            "default until done visits say how many minutes they took",
        )


def _life_lines(view: View) -> Iterable[Line]:
    """Return how much of what is known of each place's life comes from this fleet."""
    life = view.outlook.projection.life
    whole = life[(life["layout"].fillna("") == "") & (life["part"].fillna("") == "")]
    for place, rows in whole.groupby("place", sort=True):
        shares = 100 * rows["data_share"].astype("float64")
        low, high = round(shares.min()), round(shares.max())
        spread = f"{low} %" if low == high else f"{low} to {high} %"
        told = [_parts(one) for one in rows_of(rows)]
        yield f"life of the {place}", f"{spread} own data", "; ".join(told)


def _parts(one: "dict[str, object]") -> str:
    worn = figure(one["n_failures"])
    said = f"{worn:.0f} worn out" if worn else "none worn out"
    return f"{one['size']}: {counted(round(figure(one['n_parts'])), 'part')}, {said}"
