"""What the pictures of the practice log show, and that their words say the same."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest
from matplotlib.lines import Line2D
from pictured import (
    EIGHT_LINKS,
    EIGHT_ROWS,
    LONG,
    ODD,
    PROGRESS,
    SIDES,
    found,
    is_marks,
    lines,
    link,
    places,
    texts,
    week,
    weeks,
    written,
)

from bot.render.pictures import beside as beside_drawing
from bot.render.pictures import beside_alt, front_alt, progress_alt, progress_picture, sides_alt
from bot.render.pictures import front as front_drawing
from bot.render.pictures import progress as progress_drawing
from bot.render.pictures import sides as sides_drawing
from bot.render.pictures.names import percent
from bot.render.pictures.paper import MATCHES, TRAINING, Paper
from bot.results.practice import Beside, LinkSides
from core.learning.rates import measure


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
