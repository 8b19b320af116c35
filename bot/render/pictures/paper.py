"""The paper that pictures are drawn on, in pixels from its top left corner. Imports matplotlib.

An off-white card with dark ink: it reads on the platform's dark and light theme alike. A phone shows the
1,000 pixels of its width on about 360, so the smallest text, 31 pixels, is 11 there.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache
from io import BytesIO

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font

matplotlib.rcdefaults()  # whatever the machine's own settings are; worker processes draw nothing else

WIDTH = 1000
EDGE = 40
TITLE, TEXT = 40, 31
DPI = 100
POINTS = 72 / DPI
"""Points of a pixel."""

PAPER = "#FBF8F1"
INK = "#1F2430"
SOFT_INK = "#565B66"
RULE = "#CFC9BB"
TRAINING = "#0B5A9D"
MATCHES = "#A4430B"
"""A blue and an orange: told apart with any of the common kinds of colour blindness. Shapes differ too."""

CIRCLE, SQUARE, DIAMOND = "o", "s", "D"
FONT = "DejaVu Sans"
"""Comes with matplotlib."""


class Paper:
    """One picture. Colours are those above; `across` is the horizontal place that x is of the text."""

    def __init__(self, height: int) -> None:
        self.figure = Figure((WIDTH / DPI, height / DPI), dpi=DPI, facecolor=PAPER)
        self._canvas = FigureCanvasAgg(self.figure)
        self._axes = self.figure.add_axes((0, 0, 1, 1))
        self._axes.set_axis_off()
        self._axes.set_xlim(0, WIDTH)
        self._axes.set_ylim(height, 0)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        colour: str = INK,
        size: float = TEXT,
        bold: bool = False,
        across: str = "left",
        most: float = WIDTH - 2 * EDGE,
    ) -> None:
        """Write one line around the height y, cut with an ellipsis to `most` pixels."""
        font = _font(size, bold)
        line = self._cut(_drawable(text), font, most)
        self._axes.text(
            x, y, line, color=colour, fontproperties=font, ha=across, va="center_baseline", parse_math=False
        )

    def width_of(self, text: str) -> float:
        """How wide a line of plain text is."""
        return self._wide(_drawable(text), _font(TEXT, bold=False))

    def title(self, title: str, below: str) -> None:
        """What the picture shows, and a second line."""
        self.text(EDGE, 50, title, size=TITLE, bold=True)
        self.text(EDGE, 100, below, colour=SOFT_INK)

    def line(self, xs: Sequence[float], ys: Sequence[float], colour: str, width: float) -> None:
        """A line through these places."""
        self._axes.plot(xs, ys, color=colour, linewidth=width * POINTS, solid_capstyle="butt")

    def mark(self, xs: Sequence[float], ys: Sequence[float], shape: str, colour: str, size: float) -> None:
        """A mark of this shape at each place, with a rim of paper."""
        self._axes.plot(
            xs,
            ys,
            linestyle="none",
            marker=shape,
            color=colour,
            markersize=size * POINTS,
            markeredgecolor=PAPER,
            markeredgewidth=size * POINTS / 10,
        )

    def band(self, xs: Sequence[float], highs: Sequence[float], lows: Sequence[float], colour: str) -> None:
        """Shade what lies between two lines."""
        self._axes.fill_between(xs, highs, lows, color=colour, alpha=0.16, linewidth=0)

    def png(self) -> bytes:
        """The picture as a file, without a date or a version in it."""
        file = BytesIO()
        self._canvas.print_png(file, metadata={"Software": None})  # type: ignore[no-untyped-call]
        return file.getvalue()

    def _wide(self, text: str, font: FontProperties) -> float:
        renderer = self._canvas.get_renderer()  # type: ignore[no-untyped-call]
        return float(renderer.get_text_width_height_descent(text, font, False)[0])

    def _cut(self, text: str, font: FontProperties, most: float) -> str:
        if self._wide(text, font) <= most:
            return text
        fits, not_any_more = 0, len(text)
        while not_any_more - fits > 1:
            half = (fits + not_any_more) // 2
            if self._wide(text[:half].rstrip() + "…", font) <= most:
                fits = half
            else:
                not_any_more = half
        return text[:fits].rstrip() + "…"


def _font(size: float, bold: bool) -> FontProperties:
    return FontProperties(family=FONT, weight="bold" if bold else "normal", size=size * POINTS)


@cache
def _known() -> frozenset[int]:
    """The characters that the font has in both weights."""
    plain, bold = (get_font(findfont(_font(TEXT, bold))).get_charmap() for bold in (False, True))
    return frozenset(plain.keys() & bold.keys())


def _drawable(text: str) -> str:
    """The text in one line, with a box for what the font has not. What joins, turns or marks other
    characters, and has no width of its own, is left out."""
    text = unicodedata.normalize("NFC", text)
    plain = "".join(char for char in text if unicodedata.category(char) not in ("Cf", "Mn", "Me"))
    return "".join(char if ord(char) in _known() else "□" for char in " ".join(plain.split()))
