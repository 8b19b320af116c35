"""The picture of progress over time. Imports matplotlib."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby, pairwise
from math import ceil

from bot.render.pictures.names import MONTHS, percent
from bot.render.pictures.paper import (
    CIRCLE,
    EDGE,
    INK,
    MATCHES,
    RULE,
    SOFT_INK,
    SQUARE,
    TRAINING,
    WIDTH,
    Paper,
)
from bot.render.wording import say
from bot.results.practice import WeekPoint

HEIGHT = 700
LEFT, RIGHT, TOP, BOTTOM = 150, 745, 155, 515
LABELS = RIGHT + 40
LABEL_LINE = 38
BETWEEN_LABELS = 6
MOST_DATES = 4
MONTH_APART = 100
"""So many pixels a month's name needs."""

WEEKS_BY_DAY = 17
"""Up to so many weeks the dates below are days, for more they are months."""

MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 600)
GAP = timedelta(weeks=4)
"""A line ends where the next week with tries is further away."""


def draw(name: str, points: tuple[WeekPoint, ...], goal: float) -> Paper:
    """The share landed by week, training and matches, on one paper."""
    paper = Paper(HEIGHT)
    paper.title(say("picture-progress", "title"), name)
    if not points:
        paper.text(EDGE, (TOP + BOTTOM) / 2, say("picture-progress", "nothing"))
        return paper
    for share in (0, 0.5, 1):
        paper.line((LEFT, RIGHT), (_y(share),) * 2, RULE, 2)
        label = say("picture", "percent", percent=percent(share))
        paper.text(LEFT - 18, _y(share), label, colour=SOFT_INK, across="right")
    paper.line((LEFT, RIGHT), (_y(goal),) * 2, INK, 3)
    scale = _Scale(points)
    scale.write(paper)
    size = max(10, min(24, 1000 / len(points)))
    aim = say("picture-progress", "goal", percent=percent(goal))
    labels = [_Label(_y(goal), RIGHT, (aim,), INK)]
    drawn = []
    for in_match, where, shape, colour in (
        (False, "training", CIRCLE, TRAINING),
        (True, "matches", SQUARE, MATCHES),
    ):
        series = sorted(
            (point for point in points if point.in_match is in_match), key=lambda point: point.week
        )
        if series:
            last, end = _share(series[-1]), scale.x(series[-1].week.monday)
            told = (say("picture", where), say("picture", "percent", percent=percent(last)))
            labels.append(_Label(_y(last), end, told, colour, shape))
            drawn.append((series, shape, colour))
    _write_labels(paper, labels)
    for series, shape, colour in drawn:
        _draw_series(paper, scale, series, shape, colour, size)
    paper.text(EDGE, HEIGHT - 44, say("picture-progress", "shaded"), colour=SOFT_INK)
    return paper


class _Scale:
    """Where a day stands from left to right."""

    def __init__(self, points: tuple[WeekPoint, ...]) -> None:
        self.first = min(point.week for point in points).monday
        self.last = max(point.week for point in points).monday

    def x(self, one: date) -> float:
        days = (self.last - self.first).days
        inner = 24  # marks keep this distance from the ends
        return LEFT + inner + (RIGHT - LEFT - 2 * inner) * ((one - self.first).days / days if days else 0.5)

    def write(self, paper: Paper) -> None:
        """Dates below, and below those the year where a new one begins."""
        year = None
        for at, text in self._dates():
            paper.line((self.x(at),) * 2, (BOTTOM, BOTTOM + 12), SOFT_INK, 2)
            paper.text(self.x(at), BOTTOM + 38, text, colour=SOFT_INK, across="center")
            if at.year != year:
                paper.text(self.x(at), BOTTOM + 76, str(at.year), colour=SOFT_INK, across="center")
            year = at.year

    def _dates(self) -> list[tuple[date, str]]:
        weeks = (self.last - self.first).days // 7 + 1
        if weeks <= WEEKS_BY_DAY:
            step = -(-weeks // MOST_DATES)
            mondays = [self.first + timedelta(weeks=at) for at in range(0, weeks, step)]
            return [(one, f"{one.day} {MONTHS[one.month - 1]}") for one in mondays]
        numbers = range(self.first.year * 12 + self.first.month, self.last.year * 12 + self.last.month)
        a_month = (self.x(self.last) - self.x(self.first)) / (self.last - self.first).days * 365.25 / 12
        step = next(step for step in MONTH_STEPS if step * a_month >= MONTH_APART)
        firsts = [date(number // 12, number % 12 + 1, 1) for number in numbers if number % step == 0]
        return [(one, MONTHS[one.month - 1]) for one in firsts]


def _draw_series(
    paper: Paper, scale: _Scale, series: Sequence[WeekPoint], shape: str, colour: str, size: float
) -> None:
    for run in _runs(series):
        xs = [scale.x(point.week.monday) for point in run]
        lows, highs = [_y(point.low) for point in run], [_y(point.high) for point in run]
        if len(run) == 1:  # as wide as its mark
            xs, lows, highs = [xs[0] - size / 2, xs[0] + size / 2], lows * 2, highs * 2
        paper.band(xs, highs, lows, colour)
    for run in _runs(series):
        xs, ys = [scale.x(point.week.monday) for point in run], [_y(_share(point)) for point in run]
        paper.line(xs, ys, colour, max(3, size / 5))
        apart = (xs[-1] - xs[0]) / max(1, len(xs) - 1)
        step = ceil(0.8 * size / apart) if apart else 1  # marks on top of each other would hide the line
        paper.mark(xs[::-step], ys[::-step], shape, colour, size)


def _runs(series: Sequence[WeekPoint]) -> list[list[WeekPoint]]:
    """The series, cut where weeks are missing for longer than GAP."""
    cuts = [0]
    for before, after in pairwise(series):
        cuts.append(cuts[-1] + (after.week.monday - before.week.monday > GAP))
    return [
        [point for point, _ in run]
        for _, run in groupby(zip(series, cuts, strict=True), key=lambda pair: pair[1])
    ]


@dataclass(frozen=True, slots=True)
class _Label:
    """Lines of text for what ends at (`x`, `y`)."""

    y: float
    x: float
    lines: tuple[str, ...]
    colour: str
    shape: str | None = None

    @property
    def height(self) -> float:
        return len(self.lines) * LABEL_LINE


def _write_labels(paper: Paper, labels: list[_Label]) -> None:
    """Each label right of the lines, at the height where its own ends, or as near as there is room."""
    labels.sort(key=lambda label: label.y)
    tops: list[float] = []
    least = TOP - LABEL_LINE / 2
    for label in labels:
        tops.append(max(least, label.y - label.height / 2))
        least = tops[-1] + label.height + BETWEEN_LABELS
    most = BOTTOM + LABEL_LINE / 2
    for place in reversed(range(len(labels))):
        tops[place] = min(tops[place], most - labels[place].height)
        most = tops[place] - BETWEEN_LABELS
    for top, label in zip(tops, labels, strict=True):
        paper.line((label.x, RIGHT, LABELS - 10), (label.y, label.y, top + label.height / 2), RULE, 2)
        if label.shape:
            paper.mark([LABELS + 8], [top + LABEL_LINE / 2], label.shape, label.colour, 22)
        x = LABELS + (28 if label.shape else 0)
        for number, line in enumerate(label.lines):
            at = top + (number + 0.5) * LABEL_LINE
            paper.text(x, at, line, colour=label.colour, most=WIDTH - 8 - x)


def _share(point: WeekPoint) -> float:
    return point.landed / point.tries


def _y(share: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * share
