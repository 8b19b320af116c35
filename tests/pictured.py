"""The values of many pictures, and what stands on a picture that was drawn of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np
import pytest
from demo import demo, owner
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from bot.render.pictures import beside as beside_drawing
from bot.render.pictures import (
    beside_alt,
    beside_picture,
    front_alt,
    front_picture,
    progress_alt,
    progress_picture,
    sides_alt,
    sides_picture,
)
from bot.render.pictures import front as front_drawing
from bot.render.pictures import progress as progress_drawing
from bot.render.pictures import sides as sides_drawing
from bot.render.pictures.paper import Paper
from bot.results.finding import Choice, Finding, Role
from bot.results.practice import Beside, LinkSides, WeekPoint
from bot.results.route import KnownHands
from bot.results.tally import Subject, SubjectKind
from core.learning.calendar import Week
from core.learning.rates import measure
from core.notation import book_of
from core.routes import Aim, Start
from core.timing import Window

LONG = "counter hit meaty(3) 5HP, delay(12) 236[HP] > 623HK, 5LP, 5LP > 214MP, 2HK and so on until the corner"
ODD = "link «$x_2$» 練習 🥊 \u200d\n\t{brace} \\frac{1}{2}"
PHONE_WIDTH, LEAST_TYPE = 360, 11
MONDAY = date(2024, 1, 1)


def week(number: int, landed: int, tries: int, in_match: bool = False) -> WeekPoint:
    """The tries of a week, counted from the first one of 2024."""
    rate = measure(landed, tries)
    return WeekPoint(Week.of(MONDAY + timedelta(weeks=number)), in_match, tries, landed, rate.low, rate.high)


def weeks(count: int, without: Sequence[int] = ()) -> tuple[WeekPoint, ...]:
    """Training in each week and a match in every third, ever better."""
    kept = [number for number in range(count) if number not in without]
    training = [week(number, 20 + 20 * number // count, 44) for number in kept]
    matches = [week(number, 2 + 3 * number // count, 6, in_match=True) for number in kept if number % 3 == 0]
    return (*training, *matches)


def link(
    what: str = "5MP, 2MP",
    frames: int = 3,
    counts: tuple[int, int, int, int] = (12, 80, 5, 3),
    hands: tuple[float | None, float | None] = (-1.3, 2.1),
    who: str = "Odrun",
) -> LinkSides:
    """A link of the demo game with an invented record."""
    subject = Subject("Saltglass", who, SubjectKind.LINK, what)
    return LinkSides(subject, Window(20, 19 + frames), *counts, *hands)


def found(*routes: tuple[int, float], written: str = "5MP, 2MP", offered: int = 3) -> Finding:
    """A search that found routes of so much damage that land so often; the first ones are offered."""
    game = demo("saltglass")
    who = owner(game, "odrun")
    route = book_of(game, who).route(written)
    roles = [Role.MOST] * offered + [None] * len(routes)
    choices = tuple(
        Choice(route, damage, chance, damage * chance, 1.0, (), None, role=role)
        for (damage, chance), role in zip(routes, roles, strict=False)
    )
    return Finding(game, who, "5MP", Aim.DAMAGE, Start(), KnownHands(), 6, choices)


LONG_ROUTE = "off balance 5MP, 5MP, 5MP, 5MP, 5MP, 5MP xx 214KK xx 214214HK"
FRONT: dict[str, tuple[Finding]] = {
    "nothing": (found(),),
    "one route": (found((1_710, 0.87)),),
    "two routes": (found((4_680, 0.54), (4_490, 0.999)),),
    "eight routes": (
        found(*((3_000 - 130 * number, 0.3 + 0.09 * number) for number in range(8)), written=LONG_ROUTE),
    ),
    "all as sure": (found(*((3_000 - 50 * number, 0.999) for number in range(8))),),
    "all as strong": (found(*((3_000, number / 7) for number in range(8))),),
    "near each other": (found(*((3_000 - 4 * number, 0.95 + number / 150) for number in range(8))),),
    "the same": (found(*[(300, 0.5)] * 8),),
    "corners": (found((100, 0.0), (100, 0.999), (9_999, 0.0), (9_999, 0.999)),),
    "large numbers": (found((1_234_567, 0.1), (987_654, 0.9)),),
    "none at all": (found((0, 0.5)),),
}
EIGHT_LINKS = tuple(
    link(LONG, 1 + number, (1_234, 9_876, 1_234, 321), (number * 0.9 - 3, 1 + number * 0.4), who)
    for number, who in enumerate(("Odrun", "Mirrel") * 4)
)
EIGHT_ROWS = tuple(
    Beside(LONG, measure(40 + number * 7, 100), None if number == 3 else measure(2 * number, 15))
    for number in range(8)
)

PROGRESS: dict[str, tuple[str, tuple[WeekPoint, ...], float]] = {
    "nothing": ("5MP, 2MP", (), 0.8),
    "one week": ("5MP, 2MP", (week(0, 7, 10),), 0.8),
    "two weeks": ("5MP, 2MP", weeks(2), 0.8),
    "matches alone": ("5MP, 2MP", (week(0, 1, 2, True), week(30, 2, 2, True)), 0.99),
    "twelve weeks": ("5MP, 2MP", weeks(12), 0.8),
    "over new year": ("5MP, 2MP", tuple(week(number, 5, 9) for number in range(45, 60)), 0.5),
    "eighteen weeks": ("5MP, 2MP", weeks(18), 0.8),
    "a pause": ("5MP, 2MP", weeks(30, without=range(8, 14)), 0.6),
    "two years": (LONG, weeks(104), 0.8),
    "ten years": ("5MP, 2MP", weeks(520), 0.8),
    "all at the top": ("5MP, 2MP", (week(0, 9, 9), week(5, 9, 9), week(5, 3, 3, True)), 0.99),
    "all at the bottom": ("5MP, 2MP", (week(0, 0, 9), week(5, 0, 9), week(5, 0, 3, True)), 0.01),
    "all at the goal": ("5MP, 2MP", (week(0, 4, 5), week(5, 4, 5), week(5, 4, 5, True)), 0.8),
    "odd characters": (ODD, weeks(5), 0.8),
}
SIDES: dict[str, tuple[tuple[LinkSides, ...]]] = {
    "nothing": ((),),
    "one link": ((link(),),),
    "no hands known": ((link(hands=(None, None)), link("5LP, 2MK", 1, (0, 4, 0, 0), (None, None))),),
    "no spread known": ((link(hands=(0.0, None)),),),
    "presses far off": ((link(hands=(-40.0, 3.0)), link(hands=(55.0, 90.0))),),
    "a wide window": ((link(frames=61), link(frames=1)),),
    "large counts": ((link(LONG, 2, (9_999, 123_456, 9_999, 12_345)),),),
    "eight links": (EIGHT_LINKS,),
    "odd characters": ((link(ODD),),),
}
BESIDE: dict[str, tuple[tuple[Beside, ...]]] = {
    "nothing": ((),),
    "one row": ((Beside("5MP, 2MP", measure(80, 100), measure(5, 10)),),),
    "ends": ((Beside("5MP, 2MP", measure(30, 30), measure(0, 12)), Beside("a drill", None, None)),),
    "eight rows": (EIGHT_ROWS,),
    "odd characters": ((Beside(ODD, measure(1, 10), None),),),
}
Draw = Callable[..., Paper]
Picture = Callable[..., bytes]
Alt = Callable[..., str]
KINDS: list[tuple[str, Draw, Picture, Alt, dict[str, Any]]] = [
    ("progress", progress_drawing.draw, progress_picture, progress_alt, PROGRESS),
    ("sides", sides_drawing.draw, sides_picture, sides_alt, SIDES),
    ("beside", beside_drawing.draw, beside_picture, beside_alt, BESIDE),
    ("front", front_drawing.draw, front_picture, front_alt, FRONT),
]
ALL = [
    pytest.param(draw, picture, alt, values, id=f"{kind}-{name}")
    for kind, draw, picture, alt, cases in KINDS
    for name, values in cases.items()
]
each_picture = pytest.mark.parametrize(("draw", "picture", "alt", "values"), ALL)


@cache
def drawn(draw: Draw, values: tuple[Any, ...]) -> Paper:
    """The picture as it is drawn, which the tests only look at."""
    return draw(*values)


def size_of(paper: Paper) -> tuple[int, int]:
    width, height = paper.figure.get_size_inches() * 100
    return round(width), round(height)


def places(line: Line2D) -> list[tuple[float, float]]:
    """The corners of a line or the middles of marks, in pixels from the paper's top left."""
    return [(float(x), float(y)) for x, y in np.asarray(line.get_xydata())]


def is_marks(line: Line2D) -> bool:
    return line.get_linestyle() == "None"


def texts(paper: Paper) -> list[Text]:
    return [text for text in paper.figure.axes[0].texts if text.get_text()]


def written(paper: Paper) -> list[str]:
    return [text.get_text() for text in texts(paper)]


def extents(paper: Paper) -> list[tuple[str, Bbox]]:
    canvas = paper.figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    renderer = canvas.get_renderer()  # type: ignore[no-untyped-call]
    return [(text.get_text(), text.get_window_extent(renderer)) for text in texts(paper)]


def lines(paper: Paper, colour: str | None = None) -> list[Line2D]:
    return [line for line in paper.figure.axes[0].lines if colour in (None, line.get_color())]
