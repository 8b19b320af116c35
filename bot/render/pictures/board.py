"""The picture of a coach's board: a row for each student. Imports matplotlib.

Each row has two lines, so that on a phone three columns are enough. What a mark means differs by its shape,
and stands in words beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.board_lines import BoardLine, Waits
from bot.render.pictures.paper import (
    CIRCLE,
    DIAMOND,
    EDGE,
    MATCHES,
    RULE,
    SOFT_INK,
    SQUARE,
    TRAINING,
    WIDTH,
    Paper,
)
from bot.render.wording import say

HEAD, LINE, PAD, FOOT = 150, 40, 22, 70
ROW = 2 * LINE + PAD
STUDENT, WORK, LAST = EDGE, 400, 710
MARK = 34
"""What a mark and the blank after it take."""
BETWEEN = 16
MARKS = {Waits.COACH: (SQUARE, MATCHES), Waits.LATE: (DIAMOND, MATCHES), Waits.STUDENT: (CIRCLE, TRAINING)}


def draw(subtitle: str, lines: Sequence[BoardLine]) -> Paper:
    """The students, on one paper."""
    paper = Paper(HEAD + ROW * (1 + len(lines)) + FOOT)
    paper.title(say("picture-board", "title"), subtitle)
    _heads(paper, HEAD)
    for place, line in enumerate(lines, 1):
        _row(paper, HEAD + place * ROW, line)
    _legend(paper, HEAD + ROW * (1 + len(lines)) + FOOT / 2)
    return paper


def _heads(paper: Paper, top: float) -> None:
    columns = (
        (STUDENT, ("student", "stuck-head")),
        (WORK, ("homework", "due-head")),
        (LAST, ("last", "gap-head")),
    )
    for x, keys in columns:
        for place, key in enumerate(keys):
            paper.text(x, top + (place + 0.5) * LINE, say("picture-board", key), colour=SOFT_INK)


def _row(paper: Paper, top: float, line: BoardLine) -> None:
    paper.line((EDGE, WIDTH - EDGE), (top - PAD / 2,) * 2, RULE, 2)
    upper, lower = top + LINE / 2, top + 1.5 * LINE
    room = WORK - STUDENT - BETWEEN
    paper.text(STUDENT, upper, line.name, bold=True, most=room)
    paper.text(STUDENT, lower, line.stuck, most=room)
    x = WORK
    if line.waits is not None:
        shape, colour = MARKS[line.waits]
        paper.mark([WORK + 10], [upper], shape, colour, 22)
        x += MARK
    paper.text(x, upper, line.work, most=LAST - x - BETWEEN)
    paper.text(WORK, lower, line.due, most=LAST - WORK - BETWEEN)
    for y, text in ((upper, line.last), (lower, line.gap)):
        paper.text(LAST, y, text, most=WIDTH - EDGE - LAST)


def _legend(paper: Paper, y: float) -> None:
    x: float = EDGE
    for waits, (shape, colour) in MARKS.items():
        text = say("picture-board", waits.value)
        paper.mark([x + 10], [y], shape, colour, 22)
        paper.text(x + MARK, y, text, colour=SOFT_INK)
        x += MARK + paper.width_of(text) + 2 * BETWEEN
