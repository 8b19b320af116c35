"""Each picture of the practice log: readable, whole, the same each time, and told in words as well."""

from __future__ import annotations

import asyncio
import hashlib
import os
import subprocess
import sys
from collections.abc import AsyncIterator
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import Any, cast

import pytest
import pytest_asyncio
from matplotlib.colors import to_rgb
from pictured import (
    BESIDE,
    EIGHT_LINKS,
    EIGHT_ROWS,
    KINDS,
    LEAST_TYPE,
    PHONE_WIDTH,
    PROGRESS,
    Alt,
    Draw,
    Picture,
    drawn,
    each_picture,
    extents,
    is_marks,
    lines,
    places,
    size_of,
    texts,
)
from PIL import Image

from bot.render.pictures import beside_picture, progress_picture, sides_picture, warm_up
from bot.render.pictures.paper import PAPER
from bot.worker import WorkerPool


@each_picture
def test_a_picture_is_a_png_of_the_paper_s_size_and_not_blank(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del alt
    with Image.open(BytesIO(picture(*values))) as image:
        image.load()
        assert image.format == "PNG"
        assert image.size == size_of(drawn(draw, values))
        assert image.width == 1000
        assert 300 <= image.height <= 1500
        colours = image.convert("RGB").getcolors(1 << 20)
        assert colours is not None
        assert len(colours) > 20
        assert "Software" not in image.info


@each_picture
def test_every_text_lies_inside_and_none_overlaps_another(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del picture, alt
    paper = drawn(draw, values)
    boxes = extents(paper)
    width, height = size_of(paper)
    for text, box in boxes:
        assert box.x0 >= 8, text
        assert box.x1 <= width - 8, text
        assert box.y0 >= 8, text
        assert box.y1 <= height - 8, text
    for (first, one), (second, other) in combinations(boxes, 2):
        assert not one.overlaps(other), (first, second)


@each_picture
def test_no_line_or_mark_runs_through_a_text(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del picture, alt
    paper = drawn(draw, values)
    for text, box in extents(paper):
        for line in lines(paper):
            if not is_marks(line):
                path = line.get_path().transformed(line.get_transform())
                assert not path.intersects_bbox(box, filled=False), text
                continue
            wide = box.padded(line.get_markersize() * 100 / 72 / 2)
            height = size_of(paper)[1]
            assert not any(wide.contains(x, height - y) for x, y in places(line)), text


@each_picture
def test_every_text_is_large_enough_on_a_phone(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del picture, alt
    for text in texts(drawn(draw, values)):
        pixels = cast(float, text.get_fontsize()) * 100 / 72
        assert pixels * PHONE_WIDTH / 1000 >= LEAST_TYPE, text.get_text()


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(colour)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2's contrast ratio (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_21_for_black_on_white_and_1_for_the_same() -> None:
    assert contrast("black", "white") == pytest.approx(21)  # the range that WCAG 2.2 states
    assert contrast(PAPER, PAPER) == 1


@each_picture
def test_every_text_and_every_mark_stands_out_from_the_paper(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del picture, alt
    paper = drawn(draw, values)
    assert paper.figure.get_facecolor()[:3] == to_rgb(PAPER)
    for text in texts(paper):
        assert contrast(str(text.get_color()), PAPER) >= 4.5, text.get_text()
    for line in lines(paper):
        if is_marks(line):
            assert contrast(str(line.get_color()), PAPER) >= 4.5


@each_picture
def test_the_words_for_a_picture_fit_where_the_platform_puts_them(
    draw: Draw, picture: Picture, alt: Alt, values: tuple[Any, ...]
) -> None:
    del draw, picture
    told = alt(*values)
    assert 20 <= len(told) <= 1_024  # the platform's limit on a file's description
    assert told.endswith(".")


@pytest.mark.parametrize(("kind", "draw", "picture", "alt", "cases"), KINDS, ids=lambda one: str(one)[:8])
def test_equal_values_make_equal_bytes_and_others_do_not(
    kind: str, draw: Draw, picture: Picture, alt: Alt, cases: dict[str, tuple[Any, ...]]
) -> None:
    del kind, draw, alt
    first, second = list(cases.values())[1:3]
    assert picture(*first) == picture(*first)
    assert picture(*first) != picture(*second)


@pytest_asyncio.fixture
async def pool() -> AsyncIterator[WorkerPool]:
    pool = WorkerPool(warm_up)
    yield pool
    await pool.close()


async def test_a_warm_pool_draws_the_same_bytes_while_the_event_loop_turns(pool: WorkerPool) -> None:
    turns = 0

    async def count() -> None:
        nonlocal turns
        while True:
            await asyncio.sleep(0.005)
            turns += 1

    assert await pool.run(eval, "'matplotlib.figure' in __import__('sys').modules") is True
    counting = asyncio.ensure_future(count())
    drawn = await pool.run(sides_picture, EIGHT_LINKS)
    counting.cancel()
    assert turns >= 5
    assert drawn == sides_picture(EIGHT_LINKS)
    progress = PROGRESS["two years"]
    assert await pool.run(progress_picture, *progress) == progress_picture(*progress)
    assert await pool.run(beside_picture, EIGHT_ROWS) == beside_picture(EIGHT_ROWS)


WORDS_ALONE = """
import sys
from bot.render.pictures import beside_alt, progress_alt, sides_alt
print(beside_alt(()), progress_alt("5MP, 2MP", (), 0.8), sides_alt(()))
sys.exit(int("matplotlib" in sys.modules or "numpy" in sys.modules))
"""
HASHED = """
import hashlib
from bot.render.pictures import beside_picture
from bot.results.practice import Beside
from core.learning.rates import measure
print(hashlib.sha256(beside_picture((Beside("5MP, 2MP", measure(80, 100), measure(5, 10)),))).hexdigest())
"""


def test_the_words_and_the_values_do_without_the_drawing_library() -> None:
    done = subprocess.run([sys.executable, "-c", WORDS_ALONE], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_machine_s_own_settings_for_drawing_do_not_show(tmp_path: Path) -> None:
    settings = tmp_path / "matplotlibrc"
    settings.write_text("lines.linestyle: --\nlines.marker: x\nfont.size: 30\nsavefig.dpi: 40\n", "utf-8")
    done = subprocess.run(
        [sys.executable, "-c", HASHED],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "MATPLOTLIBRC": str(settings)},
    )
    assert done.stdout.strip() == hashlib.sha256(beside_picture(*BESIDE["one row"])).hexdigest()
