"""On which page each printed line stands, and how large its letters are.

Every page is printed at 100 per cent, so that heights and letter sizes here are those on paper.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reports.cells import breadth
from reports.sheets import COLUMNS, Line, Piece

POINTS = {
    "title": 16,
    "section": 11,
    "big": 13,
    "boxed": 11,
    "wall": 13,
    "wall section": 16,
}
PLAIN_POINTS = 10
HEAVY = frozenset({"title", "section", "bold", "big", "caution", "wall section"})
BOXED = frozenset({"boxed", "caution"})
LEAST_POINTS = 9.0  # on paper; below that a page is not readable at arm's length
HEIGHT = {"A4": 842 - 74, "Letter": 792 - 74}  # printable height [points]
MARGIN, TOP, BOTTOM, FOOT = 0.4, 0.4, 0.6, 0.3  # of a page [inches]
# How spreadsheets set Arial 10 on a screen of 96 dots an inch, measured, no source.
_PIXELS = 530 / COLUMNS / 0.75  # of a column, on the narrower of the two papers
_DIGIT, _DIGIT_TRUE = 7.0, 7.41  # pixels: as widths of columns are counted, as letters are set
_EDGE, _INDENT = 5.0, 9.0  # pixels of a cell beside its letters; more in a box
_HEAVIER = 1.08  # how much wider heavy letters are
_LINE = 1.2  # height of a line of text in letter sizes
_ROOM = 0.96  # of a cell that letters may fill before another program might break the line
_SPACE = 0.5  # a blank in digits
_TOGETHER = 3  # lines that stay together where one keeps the next
COLUMN = (_PIXELS - _EDGE) / _DIGIT  # width as a spreadsheet counts it [characters]
_LARGEST, _STEP = 1.3, 0.1  # of the letters, against their usual size


@dataclass(frozen=True, slots=True)
class Flowed:
    """Lines with every page ended where its paper ends.

    Attributes:
        lines: the lines, with those put in that begin a page anew.
        heights: of each line [points].
        letters: how large the letters of each line are, against their usual size.
    """

    lines: tuple[Line, ...]
    heights: tuple[float, ...]
    letters: tuple[float, ...]

    @property
    def n_pages(self) -> int:
        """Return how many pages the lines fill."""
        return sum(one.ends_page for one in self.lines[:-1]) + 1


def flowed(lines: Sequence[Line], paper: str) -> Flowed:
    """Return lines on pages of a paper, in the largest letters that need no page more.

    What stands between two ends of a page that were asked for, a stay, has letters of one size.
    The smallest are 9 points; in those a stay takes as many pages as it takes.
    """
    measure = _Measure()
    out: list[Flowed] = []
    start = 0
    for at, line in enumerate(lines):
        if line.ends_page or at + 1 == len(lines):
            out.append(_largest(lines[start : at + 1], paper, measure))
            start = at + 1
    return Flowed(
        tuple(line for one in out for line in one.lines),
        tuple(height for one in out for height in one.heights),
        tuple(letter for one in out for letter in one.letters),
    )


def letter_size(piece: Piece, letters: float) -> float:
    """Return the letter size of a text [points], in halves."""
    return round(POINTS.get(piece.style, PLAIN_POINTS) * letters * 2) / 2


def _largest(lines: Sequence[Line], paper: str, measure: "_Measure") -> Flowed:
    smallest = min(letter_size(piece, 1.0) for line in lines for piece in line.pieces)
    found = _at(lines, paper, LEAST_POINTS / smallest, measure)
    letters = _LARGEST
    while letters > found.letters[0]:
        larger = _at(lines, paper, letters, measure)
        if larger.n_pages == found.n_pages:
            return larger
        letters = round(letters - _STEP, 1)
    return found


def _at(lines: Sequence[Line], paper: str, letters: float, measure: "_Measure") -> Flowed:
    room = HEIGHT[paper]
    heights = [measure.height(line, letters) for line in lines]
    out: list[Line] = []
    tall: list[float] = []
    used, carried = 0.0, ""
    for at, line in enumerate(lines):
        carried = line.carried or carried
        if used and used + _kept(lines, heights, at) > room:
            out[-1] = replace(out[-1], ends_page=True)
            used = 0.0
            if carried:
                out.append(Line((Piece(carried, style="bold"),)))
                tall.append(measure.height(out[-1], letters))
                used = tall[-1]
        out.append(line)
        tall.append(heights[at])
        used += heights[at]
    return Flowed(tuple(out), tuple(tall), (letters,) * len(out))


def _kept(lines: Sequence[Line], heights: Sequence[float], at: int) -> float:
    """Return the height of a line with those it keeps on its page."""
    total = heights[at]
    for more in range(1, _TOGETHER + 1):
        if not lines[at + more - 1].keeps_next or at + more >= len(lines):
            break
        total += heights[at + more]
    return total


class _Measure:
    """How tall lines are; remembers how wide each word is."""

    def __init__(self) -> None:
        self._words: dict[str, float] = {}

    def height(self, line: Line, letters: float) -> float:
        """Return the height of a line [points] in letters of this size."""
        tallest = 0.0
        for piece in line.pieces:
            size = letter_size(piece, letters)
            digit = _DIGIT_TRUE * size / 10 * (_HEAVIER if piece.style in HEAVY else 1.0)
            edge = _EDGE + (_INDENT if piece.style in BOXED else 0.0)
            room = (piece.span * _PIXELS - edge) / digit * _ROOM
            tall = self._lines(piece.text, room) * size * _LINE + 1
            tallest = max(tallest, tall + (2 if piece.style in BOXED else 0))
        return tallest

    def _lines(self, text: str, room: float) -> int:
        total = 0
        for paragraph in text.split("\n"):
            used, lines = 0.0, 1
            for word in paragraph.split(" "):
                wide = self._wide(word)
                if used and used + _SPACE + wide > room:
                    lines, used = lines + 1, 0.0
                used += wide + (_SPACE if used else 0.0)
                while used > room:
                    lines, used = lines + 1, used - room
            total += lines
        return total

    def _wide(self, word: str) -> float:
        found = self._words.get(word)
        if found is None:
            found = self._words[word] = breadth(word)
        return found
