"""The picture of early, hit and late presses by link. Imports matplotlib.

A plain ruler for each link, in frames around the middle of what the game accepts; that is a bracket above
it, and the player's presses are a mark with a line below it.
"""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.pictures.names import ROWS, link_names
from bot.render.pictures.paper import DIAMOND, EDGE, INK, RULE, SOFT_INK, TRAINING, WIDTH, Paper
from bot.render.wording import say
from bot.results.practice import LinkSides

HEAD, ROW, FOOT = 145, 138, 200
KEY_LINE = 50
LEFT, RIGHT = 280, WIDTH - 280
MIDDLE = (LEFT + RIGHT) / 2
LEAST_FAR_FRAMES = 8.0
"""Presses further off than this, and than twice the widest window, are an arrow at the ruler's end."""


def draw(sides: tuple[LinkSides, ...]) -> Paper:
    """Early, hit and late presses of at most ROWS links, in the order given, on one paper."""
    shown = sides[:ROWS]
    fitted = any(one.mean_off_frames is not None for one in shown)
    paper = Paper(HEAD + ROW * max(1, len(shown)) + FOOT - (0 if fitted else KEY_LINE))
    paper.title(say("picture-sides", "title"), say("picture-sides", "subtitle"))
    if not shown:
        paper.text(EDGE, HEAD + ROW / 2, say("picture-sides", "nothing"))
        return paper
    reach = _reach(shown)
    for number, (name, one) in enumerate(zip(link_names(shown), shown, strict=True)):
        _draw_row(paper, HEAD + ROW * number, name, one, reach)
    end = HEAD + ROW * len(shown)
    _write_scale(paper, end + 14, reach)
    _write_key(paper, end + 88, fitted)
    return paper


def _draw_row(paper: Paper, top: float, name: str, one: LinkSides, reach: float) -> None:
    hits = say(
        "picture-sides",
        "hit-unknown" if one.unknown else "hit",
        count=one.hit,
        unknown=one.unknown or None,
    )
    paper.text(WIDTH - EDGE, top + 24, hits, across="right")
    paper.text(EDGE, top + 24, name, bold=True, most=WIDTH - 2 * EDGE - paper.width_of(hits) - 24)
    y = top + 82
    early = say("picture-sides", "early", count=one.early)
    paper.text(LEFT - 24, y, early, across="right", most=LEFT - 32)
    paper.text(RIGHT + 24, y, say("picture-sides", "late", count=one.late), most=LEFT - 32)
    _rule(paper, y, reach)
    half = one.window.frames / 2
    _bracket(paper, _x(-half, reach), _x(half, reach), y - 8)
    if one.mean_off_frames is not None:
        _presses(paper, one.mean_off_frames, one.spread_frames or 0.0, y + 20, reach)


def _rule(paper: Paper, y: float, reach: float) -> None:
    paper.line((LEFT, RIGHT), (y, y), SOFT_INK, 2)
    for frames in _ticks(reach):
        paper.line((_x(frames, reach),) * 2, (y, y + 8), SOFT_INK, 2)


def _bracket(paper: Paper, left: float, right: float, y: float) -> None:
    paper.line((left, left, right, right), (y, y - 18, y - 18, y), INK, 5)


def _presses(paper: Paper, mean: float, spread: float, y: float, reach: float) -> None:
    """The mean as a mark, one spread to either side as a line; arrows where the ruler ends before."""
    low, high = max(-reach, mean - spread), min(reach, mean + spread)
    if low < high:
        paper.line((_x(low, reach), _x(high, reach)), (y, y), TRAINING, 6)
    if abs(mean) <= reach:
        paper.mark([_x(mean, reach)], [y], DIAMOND, TRAINING, 20)
    else:
        end = LEFT if mean < 0 else RIGHT
        paper.mark([end], [y], "<" if mean < 0 else ">", TRAINING, 24)


def _write_scale(paper: Paper, y: float, reach: float) -> None:
    for frames in _ticks(reach):
        paper.text(_x(frames, reach), y, f"{abs(frames)}", colour=SOFT_INK, across="center")
    paper.text(EDGE, y, say("picture-sides", "before"), colour=SOFT_INK)
    paper.text(WIDTH - EDGE, y, say("picture-sides", "after"), colour=SOFT_INK, across="right")


def _write_key(paper: Paper, y: float, fitted: bool) -> None:
    paper.line((EDGE, WIDTH - EDGE), (y - 38,) * 2, RULE, 2)
    _bracket(paper, EDGE + 6, EDGE + 66, y + 8)
    paper.text(EDGE + 92, y, say("picture-sides", "bracket"), colour=SOFT_INK)
    if fitted:
        y += KEY_LINE
        paper.line((EDGE + 6, EDGE + 66), (y, y), TRAINING, 6)
        paper.mark([EDGE + 36], [y], DIAMOND, TRAINING, 20)
        paper.text(EDGE + 92, y, say("picture-sides", "yours"), colour=SOFT_INK)


def _reach(sides: Sequence[LinkSides]) -> float:
    """How many frames to each side the rulers show: every window whole, and presses that are near."""
    windows = max(one.window.frames / 2 + 1 for one in sides)
    presses = max(abs(one.mean_off_frames or 0) + (one.spread_frames or 0) + 0.5 for one in sides)
    return max(windows, min(presses, max(LEAST_FAR_FRAMES, 2 * windows)))


def _ticks(reach: float) -> list[int]:
    """Whole frames, at most three to each side of 0."""
    whole = int(reach)
    step = next(step for step in (1, 2, 5, 10, 20, 50, 100, 1000) if whole // step <= 3)
    return [count * step for count in range(-(whole // step), whole // step + 1)]


def _x(frames: float, reach: float) -> float:
    return MIDDLE + frames / reach * (RIGHT - LEFT) / 2
