"""The picture of routes by their damage and how often they land. Imports matplotlib."""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.pictures.alt import front_routes
from bot.render.pictures.names import percent
from bot.render.pictures.paper import (
    CIRCLE,
    DIAMOND,
    EDGE,
    INK,
    MATCHES,
    SOFT_INK,
    TRAINING,
    WIDTH,
    Paper,
)
from bot.render.wording import say
from bot.results.finding import Choice, Finding
from core.notation import format_route

HEAD, PLOT, KEY, ROW, FOOT = 200, 340, 206, 92, 16
LEFT, RIGHT = 214, WIDTH - 100
MARK = 26
LETTER_WIDE, LETTER_HIGH = 30, 34
AROUND = ((1, 0), (0, -1), (-1, 0), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1))
"""Where a letter may stand to its mark, the best first."""
TICKS = 4


def draw(found: Finding) -> Paper:
    """Damage upwards, the chance of landing it to the right; each route a letter, and below what it is."""
    shown = front_routes(found)
    paper = Paper(HEAD + PLOT + KEY + ROW * max(1, len(shown)) + FOOT)
    paper.title(say("picture-front", "title"), say("picture-front", "subtitle"))
    if not shown:
        paper.text(EDGE, HEAD + PLOT / 2, say("picture-front", "nothing"))
        return paper
    ruler = _ruler([one for _, one in shown])
    _draw_rules(paper, ruler)
    _draw_routes(paper, shown, ruler)
    _write_key(paper, HEAD + PLOT + KEY - 54, any(one.role is None for _, one in shown))
    for number, (letter, one) in enumerate(shown):
        top = HEAD + PLOT + KEY + ROW * number
        row = say("picture-front", "row", letter=letter, route=format_route(one.route))
        paper.text(EDGE, top + 24, row, bold=True)
        worth = say("picture-front", "worth", damage=one.damage, chance=one.chance)
        paper.text(EDGE + 46, top + 62, worth, colour=SOFT_INK)
    return paper


def _draw_rules(paper: Paper, ruler: range) -> None:
    paper.text(EDGE, HEAD - 44, say("picture-front", "up"), colour=SOFT_INK)
    bottom = HEAD + PLOT + MARK
    left = LEFT - MARK
    paper.line((left, left, RIGHT), (HEAD, bottom, bottom), SOFT_INK, 2)
    for damage in ruler:
        y = _y(damage, ruler)
        paper.line((left - 8, left), (y, y), SOFT_INK, 2)
        paper.text(left - 16, y, f"{damage:,}", colour=SOFT_INK, across="right", most=left - 24)
    for count in range(TICKS + 1):
        share = count / TICKS
        paper.line((_x(share),) * 2, (bottom, bottom + 10), SOFT_INK, 2)
        paper.text(_x(share), bottom + 34, f"{percent(share)}", colour=SOFT_INK, across="center")
    across = say("picture-front", "across")
    paper.text((LEFT + RIGHT) / 2, bottom + 76, across, colour=SOFT_INK, across="center")


def _draw_routes(paper: Paper, shown: Sequence[tuple[str, Choice]], ruler: range) -> None:
    marks = [(_x(one.chance), _y(one.damage, ruler)) for _, one in shown]
    letters: list[tuple[float, float]] = []
    for (letter, one), (x, y) in zip(shown, marks, strict=True):
        offered = one.role is not None
        paper.mark([x], [y], DIAMOND if offered else CIRCLE, TRAINING if offered else MATCHES, MARK)
        letters.append(_room((x, y), marks, letters))
        paper.text(*letters[-1], letter, colour=INK, bold=True, across="center")


def _room(
    mark: tuple[float, float], marks: Sequence[tuple[float, float]], letters: Sequence[tuple[float, float]]
) -> tuple[float, float]:
    """The nearest place for a letter beside its mark that touches no mark and no letter."""

    def is_free(x: float, y: float) -> bool:
        inside = LEFT < x < WIDTH - EDGE and HEAD < y + LETTER_HIGH / 2 < HEAD + PLOT + MARK
        wide, high = (LETTER_WIDE + MARK) / 2, (LETTER_HIGH + MARK) / 2
        return (
            inside
            and not any(abs(x - left) < wide and abs(y - top) < high for left, top in marks)
            and not any(abs(x - left) < LETTER_WIDE and abs(y - top) < LETTER_HIGH for left, top in letters)
        )

    for far in range(1, 8):
        for right, down in AROUND:
            place = mark[0] + right * far * 32, mark[1] + down * far * 34
            if is_free(*place):
                return place
    return mark[0] + 32, mark[1]


def _write_key(paper: Paper, y: float, others: bool) -> None:
    paper.mark([EDGE + 12], [y], DIAMOND, TRAINING, MARK)
    chosen = say("picture-front", "chosen")
    paper.text(EDGE + 42, y, chosen, colour=SOFT_INK)
    if others:
        right = EDGE + 42 + paper.width_of(chosen) + 60
        paper.mark([right], [y], CIRCLE, MATCHES, MARK)
        paper.text(right + 30, y, say("picture-front", "other"), colour=SOFT_INK)


def _ruler(routes: Sequence[Choice]) -> range:
    """The damages with a rule: a few round numbers, with every route between the first and the last."""
    low, high = min(one.damage for one in routes), max(one.damage for one in routes)
    sizes = (factor * 10**zeros for zeros in range(12) for factor in (1, 2, 5))
    step = next(size for size in sizes if (high - low) <= size * (TICKS - 1))
    first, last = low // step * step, -(-high // step) * step
    return range(first, max(last, first + step) + 1, step)


def _x(share: float) -> float:
    return LEFT + (RIGHT - LEFT) * share


def _y(damage: int, ruler: range) -> float:
    return HEAD + PLOT * (1 - (damage - ruler[0]) / (ruler[-1] - ruler[0]))
