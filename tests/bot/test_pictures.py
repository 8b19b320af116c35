"""The pictures of the practice log: readable, whole, the same each time, and told in words as well."""

from __future__ import annotations

import asyncio
import hashlib
import os
import re
import subprocess
import sys
from collections.abc import AsyncIterator, Callable, Sequence
from datetime import date, timedelta
from functools import cache
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
import pytest_asyncio
from demo import demo, owner
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from PIL import Image

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
    warm_up,
)
from bot.render.pictures import front as front_drawing
from bot.render.pictures import progress as progress_drawing
from bot.render.pictures import sides as sides_drawing
from bot.render.pictures.names import percent
from bot.render.pictures.paper import MATCHES, PAPER, TRAINING, Paper
from bot.results.finding import Choice, Finding, Role
from bot.results.practice import Beside, LinkSides, WeekPoint
from bot.results.route import KnownHands
from bot.results.tally import Subject, SubjectKind
from bot.worker import WorkerPool
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


def test_training_and_matches_differ_in_shape_and_are_named_at_the_line() -> None:
    paper = progress_drawing.draw(*PROGRESS["twelve weeks"])
    shapes = {
        colour: {line.get_marker() for line in lines(paper, colour)} - {"None"}
        for colour in (TRAINING, MATCHES)
    }
    assert shapes == {TRAINING: {"o"}, MATCHES: {"s"}}
    assert {"training", "matches", "goal 80 %"} <= set(written(paper))


def long_lines(paper: Paper, colour: str) -> list[int]:
    """How many weeks each line of this colour joins."""
    return [len(places(line)) for line in lines(paper, colour) if not is_marks(line)]


def test_no_line_crosses_a_missing_month_and_shorter_gaps_are_joined() -> None:
    def training(numbers: Sequence[int]) -> list[int]:
        points = tuple(week(number, 5, 10) for number in numbers)
        return long_lines(progress_drawing.draw("5MP, 2MP", points, 0.8), TRAINING)

    assert training([0, 1, 2, 6, 7]) == [5]  # four weeks on
    assert training([0, 1, 2, 7, 8]) == [3, 2]  # five weeks on
    assert training([0, 10, 20]) == [1, 1, 1]


def test_marks_of_many_weeks_are_thinned_to_the_last_and_the_line_keeps_every_week() -> None:
    paper = progress_drawing.draw(*PROGRESS["ten years"])
    marks = next(line for line in lines(paper, TRAINING) if is_marks(line) and len(places(line)) > 1)
    line = next(line for line in lines(paper, TRAINING) if not is_marks(line))
    assert len(places(line)) == 520
    assert 30 < len(places(marks)) < 130
    assert places(line)[-1] in places(marks)


def test_points_in_any_order_make_the_same_picture() -> None:
    points = weeks(12)
    assert progress_picture("5MP, 2MP", points[::-1], 0.8) == progress_picture("5MP, 2MP", points, 0.8)


def test_a_share_is_drawn_at_its_height() -> None:
    paper = progress_drawing.draw("5MP, 2MP", (week(0, 0, 4), week(1, 1, 2), week(2, 4, 4)), 0.8)
    marks = next(line for line in lines(paper, TRAINING) if is_marks(line) and len(places(line)) == 3)
    nothing, half, everything = sorted((y for _, y in places(marks)), reverse=True)
    heights = {
        text.get_text(): text.get_position()[1]
        for text in texts(paper)
        if text.get_horizontalalignment() == "right"
    }
    assert (nothing, half, everything) == (heights["0 %"], heights["50 %"], heights["100 %"])


@pytest.mark.parametrize(
    ("frames", "mean", "spread"), [(3, -1.5, 1.0), (1, 0.0, 0.5), (8, 4.0, 2.0), (2, 1.0, 3.0)]
)
def test_the_bracket_and_the_presses_stand_on_one_scale_in_frames(
    frames: int, mean: float, spread: float
) -> None:
    paper = sides_drawing.draw((link(frames=frames, hands=(mean, spread)),))
    ticks = {text.get_text(): text.get_position()[0] for text in texts(paper)}
    zero = ticks["0"]
    label = next(text for text in ticks if text.isdecimal() and text != "0")  # the last: right of 0
    a_frame = (ticks[label] - zero) / int(label)
    bracket = next(line for line in lines(paper) if len(places(line)) == 4)
    presses, mark = lines(paper, TRAINING)[:2]

    def frames_of(line: Line2D) -> list[float]:
        return sorted({(x - zero) / a_frame for x, _ in places(line)})

    assert frames_of(bracket) == pytest.approx([-frames / 2, frames / 2])
    assert frames_of(presses) == pytest.approx([mean - spread, mean + spread])
    assert frames_of(mark) == pytest.approx([mean])


def test_presses_beyond_the_ruler_are_an_arrow_at_its_end() -> None:
    shapes = [line.get_marker() for line in lines(sides_drawing.draw(*SIDES["presses far off"]), TRAINING)]
    assert "<" in shapes
    assert ">" in shapes


def test_each_row_tells_its_counts_in_words() -> None:
    paper = sides_drawing.draw((link(counts=(12, 80, 5, 3)), link("5LP, 2MK", counts=(1, 2, 0, 0))))
    assert {"5MP, 2MP", "12 early", "80 hit, 3 side not noted", "5 late"} <= set(written(paper))
    assert {"5LP, 2MK", "1 early", "2 hit", "0 late"} <= set(written(paper))


def test_links_of_several_characters_name_whose_they_are() -> None:
    both = (link("5MP, 2MP", who="Odrun"), link("5MP, 2MP", who="Mirrel"))
    assert {"Odrun 5MP, 2MP", "Mirrel 5MP, 2MP"} <= set(written(sides_drawing.draw(both)))
    assert "Odrun 5MP, 2MP" in sides_alt(both)


def test_a_row_too_few_to_tell_says_so_and_draws_no_mark() -> None:
    paper = beside_drawing.draw((Beside("5MP, 2MP", measure(8, 10), None),))
    assert {"training 80 %", "matches: too few tries"} <= set(written(paper))
    assert lines(paper, TRAINING)
    assert not lines(paper, MATCHES)


def test_at_most_eight_rows_are_drawn_and_told() -> None:
    nine = tuple(link(f"5MP, {number}LP") for number in range(9))
    for names in (" ".join(written(sides_drawing.draw(nine))), sides_alt(nine)):
        assert "5MP, 7LP" in names
        assert "5MP, 8LP" not in names
    rows = tuple(Beside(f"drill {number}", measure(5, 10), None) for number in range(9))
    for names in (" ".join(written(beside_drawing.draw(rows))), beside_alt(rows)):
        assert "drill 7" in names
        assert "drill 8" not in names


def test_a_long_name_is_cut_with_an_ellipsis_and_a_short_one_is_not() -> None:
    assert any(
        text.startswith("counter hit") and text.endswith("…")
        for text in written(progress_drawing.draw(LONG, weeks(3), 0.8))
    )
    assert "5MP, 2MP" in written(progress_drawing.draw("5MP, 2MP", weeks(3), 0.8))


def test_what_the_font_lacks_is_a_box_and_signs_of_mathematics_are_plain_text() -> None:
    assert "link «$x_2$» □□ □ {brace} \\frac{1}{2}" in written(progress_drawing.draw(ODD, weeks(3), 0.8))


def test_the_words_tell_each_week_of_a_short_record() -> None:
    told = progress_alt("5MP, 2MP", (week(0, 7, 10), week(2, 9, 10), week(2, 1, 4, True)), 0.8)
    assert told == (
        "How often 5MP, 2MP lands, week by week."
        " In training, by week: 1 Jan 2024: 70 % (7 of 10, likely 40 to 89 %);"
        " 15 Jan 2024: 90 % (9 of 10, likely 60 to 98 %)."
        " In matches, by week: 15 Jan 2024: 25 % (1 of 4, likely 5 to 70 %)."
        " The goal is 80 %."
    )


def test_the_words_tell_the_ends_the_best_and_the_worst_of_a_long_record() -> None:
    shares = (5, 2, 6, 9, 8)
    told = progress_alt(
        "5MP, 2MP", tuple(week(number, landed, 10) for number, landed in enumerate(shares)), 0.8
    )
    assert "5 weeks from the week of 1 Jan 2024 to that of 29 Jan 2024" in told
    for key, landed in (("first", 5), ("last", 8), ("best", 9), ("worst", 2)):
        assert f"{key} {landed}0 % ({landed} of 10" in told


@pytest.mark.parametrize("one", EIGHT_LINKS[:3])
def test_the_words_tell_the_numbers_of_each_link(one: LinkSides) -> None:
    told = sides_alt((one,))
    assert one.mean_off_frames is not None
    assert f"window of {one.window.frames} frame" in told
    assert "1,234 early, 9,876 hit, 1,234 late, 321 side not noted" in told
    assert f"on average {abs(one.mean_off_frames):g} frames early, spread {one.spread_frames:g}" in told


def test_the_words_keep_every_number_when_names_are_cut_to_fit() -> None:
    told = sides_alt(EIGHT_LINKS)
    assert told.count("1,234 early, 9,876 hit, 1,234 late, 321 side not noted") == 8
    assert told.count("; on average") == 8
    told = beside_alt(EIGHT_ROWS)
    for row in EIGHT_ROWS:
        assert row.training is not None
        assert f"{percent(row.training.share)} % ({row.training.landed} of 100" in told
    assert told.count("too few tries to tell") == 1
    assert len(re.findall(r"counter hit", told)) == 8


def test_the_pictures_say_the_same_numbers_as_their_words() -> None:
    row = Beside("5MP, 2MP", measure(80, 100), measure(5, 10))
    told = beside_alt((row,))
    for shown in written(beside_drawing.draw((row,))):
        if shown.startswith(("training", "matches")):
            assert shown in told


def test_a_route_is_drawn_at_its_damage_and_its_chance() -> None:
    paper = front_drawing.draw(found((1_000, 0.0), (2_000, 0.5), (4_000, 1.0)))
    by_text = {text.get_text(): text.get_position() for text in texts(paper)}
    marks = [places(line)[0] for line in lines(paper) if is_marks(line)][:3]
    assert sorted(x for x, _ in marks) == [by_text["0"][0], by_text["50"][0], by_text["100"][0]]
    assert sorted((y for _, y in marks), reverse=True) == [
        by_text["1,000"][1], by_text["2,000"][1], by_text["4,000"][1]
    ]  # fmt: skip


def test_offered_routes_differ_in_shape_and_each_letter_is_by_its_own_mark() -> None:
    paper = front_drawing.draw(found(*((900 - 90 * n, 0.3 + n / 10) for n in range(5)), offered=2))
    marks = [(line.get_marker(), places(line)[0]) for line in lines(paper) if is_marks(line)][:5]
    assert [shape for shape, _ in marks] == ["D", "D", "o", "o", "o"]
    letters = {text.get_text(): text.get_position() for text in texts(paper) if len(text.get_text()) == 1}
    for letter, (_, (x, y)) in zip("ABCDE", marks, strict=True):
        near = {one: abs(at[0] - x) + abs(at[1] - y) for one, at in letters.items() if one.isalpha()}
        assert min(near, key=lambda one: near[one]) == letter


def test_the_words_tell_the_damage_and_the_chance_of_each_route() -> None:
    one = found((4_680, 0.54), (4_490, 0.999))
    assert front_alt(one) == (
        "Damage against how often it lands, of 5MP. A: 5MP, 2MP, 4,680 damage, lands 54 %. "
        "B: 5MP, 2MP, 4,490 damage, lands 99 %."
    )
    shown = written(front_drawing.draw(one))
    assert {"4,680 damage, lands 54 %", "4,490 damage, lands 99 %"} <= set(shown)


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
