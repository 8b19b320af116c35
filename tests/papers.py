"""What stands on a drawn paper, and whether anything of it meets."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.lines import Line2D
from matplotlib.text import Text

from bot.render.pictures.paper import Paper


def size_of(paper: Paper) -> tuple[int, int]:
    """Width and height in pixels."""
    width, height = paper.figure.get_size_inches() * 100
    return round(width), round(height)


def texts(paper: Paper) -> list[Text]:
    """Every text that is not empty."""
    return [text for text in paper.figure.axes[0].texts if text.get_text()]


def lines(paper: Paper, colour: str | None = None) -> list[Line2D]:
    """Lines and marks, all or those of one colour."""
    return [line for line in paper.figure.axes[0].lines if colour in (None, line.get_color())]


def places(line: Line2D) -> list[tuple[float, float]]:
    """The corners of a line or the middles of marks, in pixels from the paper's top left."""
    return [(float(x), float(y)) for x, y in np.asarray(line.get_xydata())]


def meetings(paper: Paper) -> list[str]:
    """Each text that comes near the paper's edge, or meets another text, a line or a mark."""
    width, height = size_of(paper)
    canvas = paper.figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    renderer = canvas.get_renderer()  # type: ignore[no-untyped-call]
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts(paper)]
    found = []
    for text, box in boxes:
        if not (8 <= box.x0 < box.x1 <= width - 8 and 8 <= box.y0 < box.y1 <= height - 8):
            found.append(f"{text} leaves the paper")
        for line in lines(paper):
            if line.get_linestyle() == "None":
                wide = box.padded(line.get_markersize() * 100 / 72 / 2)
                if any(wide.contains(x, height - y) for x, y in places(line)):
                    found.append(f"{text} meets a mark")
            elif line.get_path().transformed(line.get_transform()).intersects_bbox(box, filled=False):
                found.append(f"{text} meets a line")
    found += [
        f"{first} meets {second}"
        for (first, one), (second, other) in combinations(boxes, 2)
        if one.overlaps(other)
    ]
    return found
