"""The rhythm sheet: when to press each move of a route. Imports matplotlib.

A score: time runs from left to right on a plain ruler in frames and milliseconds from the first press, each
step is a row, and a long route goes on under a new ruler that begins at the press before. A press on
frame f stands at f; as presses fall anywhere within a frame, a bracket goes half a frame further to either
side.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from bot.render.pictures.alt import RHYTHM_ROWS, rhythm_notes, rhythm_row
from bot.render.pictures.paper import (
    DIAMOND,
    EDGE,
    INK,
    MATCHES,
    RULE,
    SOFT_INK,
    TITLE,
    TRAINING,
    WIDTH,
    Paper,
)
from bot.render.wording import say
from core.rhythm import Schedule, TimedPress

HEAD, SCALE, ROW, NOTE, KEY_LINE = 134, 106, 116, 54, 50
LEFT, RIGHT = EDGE + 26, WIDTH - EDGE - 170
SYSTEM_FRAMES = 90
"""A ruler holds rows until it would be longer than this; at least one."""
LEAST_FRAMES = 30
MOST_TICKS = 6
STEPS = (6, 15, 30, 60, 150, 300, 600, 10**6)
"""Frames from tick to tick: tenths, quarters and halves of a second at 60 a second."""
DASH, SPACE = 9, 6
BELOW = 17
"""So far below its ruler a press is marked; what is accepted is above it."""
KEY_COLUMN = 460
NARROW = 20
TITLE_LINE = 48
TITLE_CHARACTERS = 36
"""So many fit into a line of the title, as wide as most are."""

_System = tuple[TimedPress, ...]
"""The rows under one ruler."""


def draw(name: str, schedule: Schedule) -> Paper:
    """The first RHYTHM_ROWS presses of the route of this name, on one paper."""
    shown = schedule.presses[:RHYTHM_ROWS]
    systems = _systems(shown)
    notes = rhythm_notes("picture-rhythm", schedule)
    key = _key(shown)
    title = _title(name)
    head = HEAD + TITLE_LINE * (len(title) - 1)
    height = head + SCALE * len(systems) + ROW * len(shown) + NOTE * len(notes)
    paper = Paper(height + 56 + KEY_LINE * ((len(key) + 1) // 2))
    for number, line in enumerate(title):
        paper.text(EDGE, 50 + TITLE_LINE * number, line, size=TITLE, bold=True)
    paper.text(EDGE, head - 34, say("picture-rhythm", "subtitle"), colour=SOFT_INK)
    length = max(LEAST_FRAMES, *(_end(system) - _begin(system) for system in systems))
    top = head
    for system in systems:
        ruler = _Ruler(paper, _begin(system), length, schedule)
        ruler.scale(top)
        top += SCALE
        for press in system:
            ruler.row(top, press)
            top += ROW
    for note in notes:
        paper.text(EDGE, top + 24, note)
        top += NOTE
    _write_key(paper, top + 62, key)
    return paper


class _Ruler:
    """One ruler of the score, from a frame on, and the rows under it."""

    def __init__(self, paper: Paper, begin: float, length: float, schedule: Schedule) -> None:
        self._paper, self._begin, self._schedule = paper, begin, schedule
        self._pixels = (RIGHT - LEFT) / length
        self._ticks = _ticks(begin, begin + length)

    def scale(self, top: float) -> None:
        """The numbers of the ruler."""
        for frame in self._ticks:
            x = self._x(frame)
            ms = f"{self._schedule.ms(frame):.0f}"
            self._paper.text(x, top + 32, str(frame), colour=SOFT_INK, across="center")
            self._paper.text(x, top + 70, ms, colour=SOFT_INK, across="center")
            self._paper.line((x, x), (top + 90, top + 102), SOFT_INK, 2)
        for key, y in (("frames", 32), ("ms", 70)):
            self._paper.text(
                WIDTH - EDGE, top + y, say("picture-rhythm", key), colour=SOFT_INK, across="right"
            )
        self._paper.line((LEFT, RIGHT), (top + 102,) * 2, SOFT_INK, 2)

    def row(self, top: float, press: TimedPress) -> None:
        """One step: its words, and below them what is accepted, where to press, and its contact."""
        words = rhythm_row(press, self._schedule)
        self._paper.text(WIDTH - EDGE, top + 32, words, across="right")
        most = WIDTH - 2 * EDGE - self._paper.width_of(words) - 24
        self._paper.text(EDGE, top + 32, press.input, bold=True, most=most)
        y = top + 82
        self._paper.line((LEFT, RIGHT), (y, y), RULE, 2)
        for frame in self._ticks:
            self._paper.line((self._x(frame),) * 2, (y, y + 7), RULE, 2)
        if press.after is not None:
            self._accepted(press, y - 7)
            self._paper.mark([self._x(press.after_frame)], [y + BELOW], DIAMOND, SOFT_INK, 14)
        if press.contact_frame is not None:
            _contact(self._paper, self._x(press.contact_frame), y)
        for frame in press.frames:
            self._paper.mark([self._x(frame)], [y + BELOW], DIAMOND, TRAINING, 24)

    def _accepted(self, press: TimedPress, y: float) -> None:
        left, right = self._x(press.first_frame - 0.5), self._x(press.last_frame + 0.5)
        opens = left
        if press.at_once_frame is not None:
            opens = self._x(press.at_once_frame - 0.5)
            _lead_in(self._paper, left, opens, y)
        _bracket(self._paper, opens, right, y)

    def _x(self, frame: float) -> float:
        return LEFT + (frame - self._begin) * self._pixels


def _bracket(paper: Paper, left: float, right: float, y: float) -> None:
    """A bracket; a narrow one is thin, so that it stays open."""
    paper.line((left, left, right, right), (y, y - 18, y - 18, y), INK, 5 if right - left >= NARROW else 3)


def _lead_in(paper: Paper, left: float, right: float, y: float) -> None:
    """Dashes from the first press that the buffer holds to the bracket."""
    paper.line((left, left), (y, y - 18), INK, 3)
    x = left
    while x < right:
        paper.line((x, min(x + DASH, right)), (y - 18,) * 2, INK, 4)
        x += DASH + SPACE


def _contact(paper: Paper, x: float, y: float) -> None:
    paper.line((x, x), (y - 18, y + 5), MATCHES, 5)  # above where presses are marked


def _title(name: str) -> list[str]:
    """The name in as many lines as it takes, at most two: a route that has no name of its own is long. The
    last one is cut where it is too long for the paper."""
    first, *rest = textwrap.wrap(name, TITLE_CHARACTERS) or [""]
    return [first, " ".join(rest)] if rest else [first]


def _systems(presses: Sequence[TimedPress]) -> tuple[_System, ...]:
    """The rows under each ruler."""
    systems: list[_System] = []
    for press in presses:
        longer = (*systems[-1], press) if systems else (press,)
        if systems and _end(longer) - _begin(longer) <= SYSTEM_FRAMES:
            systems[-1] = longer
        else:
            systems.append((press,))
    return tuple(systems)


def _begin(system: _System) -> int:
    return system[0].after_frame


def _end(system: _System) -> float:
    return max(
        max(*press.frames, press.last_frame, press.contact_frame or 0, press.at_once_frame or 0) + 0.5
        for press in system
    )


def _ticks(begin: float, end: float) -> list[int]:
    """Frames in round steps, so few that their numbers stand apart."""
    step = next(step for step in STEPS if (end - begin) / step < MOST_TICKS)
    first = -int(-begin // step) * step
    return list(range(first, int(end) + 1, step))


def _key(shown: Sequence[TimedPress]) -> list[str]:
    """What the key explains: only what is drawn."""
    there = {
        "aim": True,
        "before": len(shown) > 1,
        "bracket": len(shown) > 1,
        "held": any(press.at_once_frame is not None for press in shown),
        "contact": any(press.contact_frame is not None for press in shown),
    }
    return [key for key, drawn in there.items() if drawn]


def _write_key(paper: Paper, top: float, key: Sequence[str]) -> None:
    paper.line((EDGE, WIDTH - EDGE), (top - 40,) * 2, RULE, 2)
    for number, what in enumerate(key):
        x, y = EDGE + KEY_COLUMN * (number % 2), top + KEY_LINE * (number // 2)
        match what:
            case "aim":
                paper.mark([x + 36], [y], DIAMOND, TRAINING, 24)
            case "before":
                paper.mark([x + 36], [y], DIAMOND, SOFT_INK, 14)
            case "bracket":
                _bracket(paper, x + 6, x + 66, y + 9)
            case "contact":
                _contact(paper, x + 36, y)
            case _:
                _lead_in(paper, x + 6, x + 66, y + 9)
        paper.text(x + 92, y, say("picture-rhythm", what), colour=SOFT_INK)
