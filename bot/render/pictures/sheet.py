"""The sheet of conversions: starters down, situations across, a route's name where one is kept. Imports
matplotlib.

At most COLUMNS situations stand side by side, so that names are read on a phone; more of them go on in
another grid below. In each the starters with nothing in any of its situations share a line. A circle is a
route that works, a diamond one that no longer does, an open line is nothing yet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.render.conversions import situation_words
from bot.render.pictures.names import ROWS
from bot.render.pictures.paper import (
    CIRCLE,
    DIAMOND,
    EDGE,
    INK,
    MATCHES,
    RULE,
    SOFT_INK,
    TRAINING,
    WIDTH,
    Paper,
)
from bot.render.wording import say
from bot.results.conversion import Cell, CellState, StarterRow
from core.situations import Situation

COLUMNS = 3
STARTER = 200
"""The width of the column of starters."""
HEAD, LINE, PAD, BETWEEN, FOOT = 140, 38, 18, 34, 24
MARK = 34
"""What a mark and the blank after it take of a cell."""
COLUMN = (WIDTH - 2 * EDGE - STARTER) / COLUMNS
ROOM = COLUMN - MARK - 22
BOLDER = 1.14
"""So many times as wide bold text is at most."""
MOST_LINES = 5
"""Of a route's name."""


@dataclass(frozen=True, slots=True)
class _Text:
    """What stands in a cell. `soft` lines are less important than the name."""

    lines: tuple[str, ...]
    soft: tuple[str, ...]

    @property
    def height(self) -> int:
        return LINE * (len(self.lines) + len(self.soft))


def draw(name: str, rows: Sequence[StarterRow], columns: Sequence[Situation]) -> Paper:
    """The first ROWS starters in the situations of `columns`, on one paper."""
    measure = Paper(100)
    shown = rows[:ROWS]
    parts = [columns[start : start + COLUMNS] for start in range(0, len(columns), COLUMNS)]
    grids = [_Grid(measure, shown, part) for part in parts]
    notes = [line for note in _notes(rows, columns) for line in wrapped(measure, note, WIDTH - 2 * EDGE)]
    height = HEAD + sum(grid.height + BETWEEN for grid in grids) + LINE * len(notes) + FOOT
    paper = Paper(height)
    filled = sum(cell.state is CellState.FILLED for row in rows for cell in row.cells)
    below = say("picture-sheet", "subtitle", name=name, count=len(rows), filled=filled)
    paper.title(say("picture-sheet", "title"), below)
    top = HEAD
    for grid in grids:
        grid.draw(paper, top)
        top += grid.height + BETWEEN
    for number, note in enumerate(notes):
        paper.text(EDGE, top + LINE * number + 10, note, colour=SOFT_INK)
    return paper


class _Grid:
    """A few situations side by side."""

    def __init__(self, measure: Paper, rows: Sequence[StarterRow], columns: Sequence[Situation]) -> None:
        self._heads = [
            wrapped(measure, situation_words(one, "conversion-short"), COLUMN - 22) for one in columns
        ]
        told = [
            (row.starter, [(cell, _told(measure, cell)) for cell in row.cells if cell.situation in columns])
            for row in rows
        ]
        self._rows = [
            (wrapped(measure, starter, (STARTER - 12) / BOLDER), cells)
            for starter, cells in told
            if any(cell.state is not CellState.GAP for cell, _ in cells)
        ]
        empty = [starter for starter, cells in told if all(cell.state is CellState.GAP for cell, _ in cells)]
        nothing = say("picture-sheet", "nothing", starters=", ".join(empty)) if empty else ""
        self._nothing = wrapped(measure, nothing, WIDTH - 2 * EDGE - MARK) if empty else []
        self._head_height = LINE * max(map(len, self._heads)) + PAD
        self._heights = [
            max(LINE * len(starter), *(told.height for _, told in cells)) + 2 * PAD
            for starter, cells in self._rows
        ]
        below = LINE * len(self._nothing) + 2 * PAD if empty else 0
        self.height = self._head_height + sum(self._heights) + below

    def draw(self, paper: Paper, top: float) -> None:
        """Draw it from this height on."""
        end = top + self._head_height + sum(self._heights)
        for number, head in enumerate(self._heads):
            for place, line in enumerate(head):
                paper.text(_x(number), top + LINE * (place + 0.5), line, colour=SOFT_INK, most=COLUMN - 16)
        top += self._head_height
        for number in range(len(self._heads)):
            x = _x(number) - 12
            paper.line((x, x), (top, end), RULE, 2)
        for (starter, cells), height in zip(self._rows, self._heights, strict=True):
            paper.line((EDGE, WIDTH - EDGE), (top, top), SOFT_INK, 2)
            for place, line in enumerate(starter):
                paper.text(EDGE, top + PAD + LINE * (place + 0.5), line, bold=True, most=STARTER - 12)
            for number, (cell, told) in enumerate(cells):
                _draw_cell(paper, _x(number), top + PAD, cell, told)
            top += height
        paper.line((EDGE, WIDTH - EDGE), (top, top), SOFT_INK, 2)
        if self._nothing:
            middle = top + PAD + LINE / 2
            paper.line((EDGE, EDGE + 20), (middle, middle), SOFT_INK, 3)
        for place, line in enumerate(self._nothing):
            paper.text(EDGE + MARK, top + PAD + LINE * (place + 0.5), line, colour=SOFT_INK)


def _draw_cell(paper: Paper, x: float, top: float, cell: Cell, told: _Text) -> None:
    middle = top + LINE / 2
    if cell.state is CellState.GAP:
        paper.line((x, x + 20), (middle, middle), SOFT_INK, 3)
    else:
        shape, colour = (CIRCLE, TRAINING) if cell.state is CellState.FILLED else (DIAMOND, MATCHES)
        paper.mark([x + 10], [middle], shape, colour, 22)
    for number, line in enumerate((*told.lines, *told.soft)):
        colour = INK if number < len(told.lines) else SOFT_INK
        paper.text(x + MARK, middle + LINE * number, line, colour=colour, most=ROOM + 6)


def _told(measure: Paper, cell: Cell) -> _Text:
    if cell.route is None:
        return _Text((), tuple(wrapped(measure, say("picture-sheet", "gap"), ROOM)))
    lines = wrapped(measure, cell.route.name, ROOM)
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], f"{lines[MOST_LINES - 1][:-1]}…"]
    soft: list[str] = []
    if cell.state is CellState.BROKEN:
        soft = wrapped(measure, say("picture-sheet", "broken"), ROOM)
    elif cell.damage is not None:
        soft = [say("picture-sheet", "damage", damage=cell.damage)]
    return _Text(tuple(lines), tuple(soft))


def _notes(rows: Sequence[StarterRow], columns: Sequence[Situation]) -> list[str]:
    """What the grids leave out."""
    rest = [cell.situation for row in rows[:1] for cell in row.cells if cell.situation not in columns]
    words = ", ".join(situation_words(one, "conversion-short") for one in rest)
    notes = [say("picture-sheet", "rest", situations=words)] if rest else []
    return [*notes, *([say("picture-sheet", "more", count=len(rows) - ROWS)] if len(rows) > ROWS else [])]


def wrapped(paper: Paper, text: str, most: float) -> list[str]:
    """The text in lines of at most `most` pixels; a word that is longer is broken."""
    lines: list[str] = []
    for word in text.split():
        if lines and paper.width_of(f"{lines[-1]} {word}") <= most:
            lines[-1] += f" {word}"
            continue
        while len(word) > 1 and paper.width_of(word) > most:
            fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or paper.width_of(word[:n]) <= most)
            lines.append(word[:fits])
            word = word[fits:]
        lines.append(word)
    return lines or [""]


def _x(column: int) -> float:
    return EDGE + STARTER + COLUMN * column + 6
