"""The sheet *Now* of the mechanic's book: spare lines for what breaks down and is in at once."""

from fleetcool.intake.forms import KEY, NOW, SPARE, Entry
from reports.sheets import Block, Cell, CellKind, Heading, Sheet
from reports.view import View
from reports.words import week_words

LINES = 8
_WIDTHS = {"unit": 10.0, "place": 34.0, "on": 14.0, "note": 44.0, "by": 10.0}


def now_sheet(view: View, depot: str) -> Sheet:
    """Return spare lines of one shop: unit and place open a visit when the book comes back."""
    headings = (Heading(KEY, hidden=True), *(_heading(one) for one in NOW.entries))
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (f"{SPARE}-{number}", *(None for _ in NOW.entries)) for number in range(1, LINES + 1)
    )
    return Sheet(
        NOW.sheet,
        (Block("now", headings, rows, ""),),
        title=f"Now, {view.depot_name(depot)}, {week_words(view.outlook.week)}",
        sentences=(
            (
                "A vehicle broke down and is in: type its unit and the place it is for (pump, "
                "lower hose, drive belt …) or a service; several with + between. Leave the day "
                "blank for today."
            ),
            (
                "Save this book and drop it into the inbox: the job sheet is then in out/now, and "
                "the report beside the book names what is worth doing with it and what must move."
            ),
        ),
        size=11,
    )


def _heading(entry: Entry) -> Heading:
    kind: CellKind = "day" if entry.kind == "day" else "text"
    return Heading(
        entry.heading, kind, _WIDTHS[entry.name], entry.name, must=entry.name in {"unit", "place"}
    )
