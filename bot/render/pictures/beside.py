"""The picture of training beside matches. Imports matplotlib."""

from __future__ import annotations

from bot.render.pictures.names import ROWS, percent
from bot.render.pictures.paper import (
    CIRCLE,
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
from bot.results.practice import Beside
from core.learning.rates import Rate

HEAD, ROW, FOOT = 145, 148, 70
LEFT, RIGHT = 80, 570
LABELS = RIGHT + 34


def draw(rows: tuple[Beside, ...]) -> Paper:
    """The rates of at most ROWS subjects, in the order given, on one paper."""
    shown = rows[:ROWS]
    paper = Paper(HEAD + ROW * max(1, len(shown)) + FOOT)
    paper.title(say("picture-beside", "title"), say("picture-beside", "subtitle"))
    if not shown:
        paper.text(EDGE, HEAD + ROW / 2, say("picture-beside", "nothing"))
        return paper
    for number, row in enumerate(shown):
        top = HEAD + ROW * number
        paper.text(EDGE, top + 24, row.name, bold=True)
        paper.line((LEFT, RIGHT), (top + 92,) * 2, SOFT_INK, 2)
        for share in (0, 0.5, 1):
            paper.line((_x(share),) * 2, (top + 86, top + 98), SOFT_INK, 2)
        _draw_rate(paper, top + 73, say("picture", "training"), row.training, CIRCLE, TRAINING)
        _draw_rate(paper, top + 111, say("picture", "matches"), row.match, SQUARE, MATCHES)
    end = HEAD + ROW * len(shown)
    paper.line((EDGE, WIDTH - EDGE), (end - 2,) * 2, RULE, 2)
    for share in (0, 0.5, 1):
        label = say("picture", "percent", percent=percent(share))
        paper.text(_x(share), end + 28, label, colour=SOFT_INK, across="center")
    return paper


def _draw_rate(paper: Paper, y: float, where: str, rate: Rate | None, shape: str, colour: str) -> None:
    """A mark with its interval, and in words at the row's end."""
    if rate is None:
        words = say("picture-beside", "too-few", where=where)
    else:
        words = say("picture-beside", "rate", where=where, percent=percent(rate.share))
        paper.line((_x(rate.low), _x(rate.high)), (y, y), colour, 6)
        paper.mark([_x(rate.share)], [y], shape, colour, 24)
    paper.text(LABELS, y, words, colour=colour if rate else SOFT_INK, most=WIDTH - 8 - LABELS)


def _x(share: float) -> float:
    return LEFT + (RIGHT - LEFT) * share
