"""A plan made better by small steps in whole numbers: one visit moves, or one makes room."""

from dataclasses import dataclass

import numpy as np

from fleetcool.visits.placing.ground import EDGE, STEPS, Ground, taken
from fleetcool.visits.placing.problem import Floats, Ints

PASSES = 20  # each gains at least a tie; few are ever needed
SOME = 40  # of the cheapest columns of a visit, for which another visit may have to make room


@dataclass(slots=True)
class Board:
    """A plan under change, with what is free and where columns, entries and rows begin.

    Of visit v the columns begin at `columns[v]`, of column c the entries at `entries[c]`, of limit
    r the entries, in the order of `by_row`, at `of_row[r]`.
    """

    ground: Ground
    plan: Ints
    free: Floats
    key: Ints
    columns: Ints
    entries: Ints
    by_row: Ints
    of_row: Ints

    def shift(self, visit: int, column: int) -> None:
        """Move a visit to a column."""
        for one, sign in ((self.plan[visit], 1.0), (column, -1.0)):
            part = slice(self.entries[one], self.entries[one + 1])
            self.free[self.ground.row[part]] += sign * self.ground.takes[part]
        self.plan[visit] = column

    def cheaper(self, visit: int, below: int) -> Ints:
        """Return the columns of a visit with a key below this, cheapest first."""
        first, stop = self.columns[visit], self.columns[visit + 1]
        found = first + np.flatnonzero(self.key[first:stop] < below)
        out = self.ground.n_choices + visit
        if self.key[out] < below:
            found = np.append(found, out)
        ordered: Ints = found[np.argsort(self.key[found], kind="stable")]
        return ordered

    def lacking(self, column: int) -> Ints:
        """Return the limits of which too little is free for a column."""
        part = slice(self.entries[column], self.entries[column + 1])
        row = self.ground.row[part]
        short: Ints = row[self.ground.takes[part] > self.free[row] + EDGE]
        return short

    def first_fitting(self, columns: Ints) -> int:
        """Return the first of these columns that fits, −1 when none does."""
        return next((int(one) for one in columns if not len(self.lacking(one))), -1)


def polished(ground: Ground, plan: Ints) -> Ints:
    """Return a plan that no such step makes cheaper, cents first, then ties."""
    by_row = np.argsort(ground.row, kind="stable")
    board = Board(
        ground,
        plan.copy(),
        ground.capacity - taken(ground, plan),
        ground.cents * (STEPS * ground.n_visits) + ground.tie,
        np.searchsorted(ground.visit[: ground.n_choices], np.arange(ground.n_visits + 1)),
        np.searchsorted(ground.column, np.arange(len(ground.visit) + 1)),
        by_row,
        np.searchsorted(ground.row[by_row], np.arange(len(ground.capacity) + 1)),
    )
    for _ in range(PASSES):
        order = np.argsort(-board.key[board.plan], kind="stable")
        if not sum(_improve(board, int(visit)) for visit in order):
            break
    return board.plan


def _improve(board: Board, visit: int) -> bool:
    """Move a visit to the first cheaper column that is free, or that another can free."""
    at = int(board.plan[visit])
    for turn, column in enumerate(board.cheaper(visit, int(board.key[at]))):
        board.shift(visit, board.ground.n_choices + visit)
        lacking = board.lacking(column)
        if not len(lacking):
            board.shift(visit, int(column))
            return True
        if turn < SOME and _make_room(board, visit, (at, int(column)), lacking):
            return True
        board.shift(visit, at)
    return False


def _make_room(board: Board, visit: int, move: tuple[int, int], lacking: Ints) -> bool:
    """Let another visit go elsewhere so that this one, now out, gets its column."""
    ground, (at, column) = board.ground, move
    gain = int(board.key[at] - board.key[column])
    for other in _users(board, int(lacking[0])):
        there = int(board.plan[other])
        board.shift(other, ground.n_choices + other)
        if not len(board.lacking(column)):
            board.shift(visit, column)
            aim = board.first_fitting(board.cheaper(other, int(board.key[there]) + gain))
            if aim >= 0:
                board.shift(other, aim)
                return True
            board.shift(visit, ground.n_choices + visit)
        board.shift(other, there)
    return False


def _users(board: Board, row: int) -> list[int]:
    """Return the visits whose column takes of a limit, by their index."""
    entries = board.by_row[board.of_row[row] : board.of_row[row + 1]]
    columns = board.ground.column[entries]
    visits = board.ground.visit[columns]
    return [int(one) for one in np.unique(visits[board.plan[visits] == columns])]
