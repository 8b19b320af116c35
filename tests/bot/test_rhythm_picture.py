"""The rhythm sheet: readable, whole, on one scale, and told in words with the same numbers."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from io import BytesIO
from itertools import pairwise
from typing import cast

import pytest
from papers import lines, meetings, places, size_of, texts
from PIL import Image

from bot.render.pictures import rhythm as drawing
from bot.render.pictures import rhythm_alt, rhythm_lines, rhythm_picture
from bot.render.pictures.alt import RHYTHM_ROWS
from bot.render.pictures.paper import INK, MATCHES, SOFT_INK, TRAINING, Paper
from bot.render.wording import say
from core.model import Means
from core.rhythm import RhythmStep, Schedule, schedule
from core.timing import Window

LINK, CANCEL, CHAIN = Means.LINK, Means.CANCEL, Means.CHAIN
LONG = "counter hit meaty(3) 5HP, delay(12) 236[HP] > 623HK, 5LP, 5LP > 214MP, 2HK and so on until the corner"
PHONE_WIDTH, LEAST_TYPE = 390, 12

STEPS = (
    RhythmStep("5MP", contact_frames=5),
    RhythmStep("2MP", LINK, Window(21, 25, 23), contact_frames=5),
    RhythmStep("236HP", CANCEL, Window(3, 18, 16), contact_frames=11),
    RhythmStep("236236HP", CANCEL, Window(8, 24, 22), contact_frames=9, freeze_frames=50),
)


def many(count: int, gap: int = 22) -> tuple[RhythmStep, ...]:
    """So many steps about this gap apart, as full of words and marks as they get."""
    return (
        RhythmStep("5MP", contact_frames=5),
        *(
            RhythmStep(
                ("[4]6PP", "236236HP", "j.214KK", "63214MP+MK")[number % 4],
                (LINK, CHAIN, CANCEL)[number % 3],
                Window(gap + number % 4, gap + 3 + number % 4, gap + 2 + number % 4),
                spacing_frames=(6.0, 0.0)[number % 2],
                contact_frames=10 + number,
            )
            for number in range(count - 1)
        ),
    )


CASES: dict[str, tuple[str, tuple[RhythmStep, ...]]] = {
    "one press": ("5MP", STEPS[:1]),
    "two presses": ("5MP, 2MP", STEPS[:2]),
    "through a super freeze": ("5MP, 2MP > 236HP > 236236HP", STEPS),
    "close presses": ("2LP", (STEPS[0], *(RhythmStep("2LP", CHAIN, Window(1, 1)) for _ in range(7)))),
    "a tight double tap": ("x", (STEPS[0], RhythmStep("2MP", LINK, Window(24, 24), spacing_frames=1))),
    "not known from the second on": ("5MP, 2HK", (STEPS[0], RhythmStep("2HK", LINK))),
    "not known later": (LONG, (*STEPS, RhythmStep("2HK", LINK), RhythmStep("5LP", LINK))),
    "a long wait": ("5MP, 2MP", (STEPS[0], RhythmStep("2MP", LINK, Window(1_100, 1_250, 1_200)))),
    "twelve rows": (LONG, many(12)),
    "twelve long waits": (LONG, many(12, 122)),
    "more than twelve": (LONG, (*many(15), RhythmStep("2HK", LINK))),
    "odd characters": ("link «$x_2$» 練習 🥊 {brace} \\frac{1}{2}", (STEPS[0], RhythmStep("$x_2$ 拳 {0}"))),
    "unknown means": ("5MP, 2MP", (STEPS[0], RhythmStep("2MP", None, Window(20, 24)))),
    "fifty frames a second": ("5MP, 2MP", STEPS[:3]),
}
each_case = pytest.mark.parametrize("case", CASES)


def planned(case: str) -> tuple[str, Schedule]:
    name, steps = CASES[case]
    return name, schedule(steps, 50 if case.startswith("fifty") else 60)


@cache
def drawn(case: str) -> Paper:
    return drawing.draw(*planned(case))


def written(paper: Paper) -> list[str]:
    return [text.get_text() for text in texts(paper)]


def marks(paper: Paper, colour: str) -> list[tuple[float, float]]:
    """The places of the marks of this colour, without the key's."""
    found = [line for line in lines(paper, colour) if line.get_linestyle() == "None"]
    return [place for line in found for place in places(line)][:-1]


@each_case
def test_a_sheet_is_a_png_of_the_paper_s_size(case: str) -> None:
    with Image.open(BytesIO(rhythm_picture(*planned(case)))) as image:
        image.load()
        assert (image.format, image.size) == ("PNG", size_of(drawn(case)))
        assert image.width == 1000
        assert 300 <= image.height <= 3_200
        colours = image.convert("RGB").getcolors(1 << 20)
        assert colours is not None
        assert len(colours) > 20


@each_case
def test_no_text_leaves_the_paper_or_meets_another_text_a_line_or_a_mark(case: str) -> None:
    assert meetings(drawn(case)) == []


@each_case
def test_every_text_is_large_enough_on_a_phone(case: str) -> None:
    for text in texts(drawn(case)):
        pixels = cast(float, text.get_fontsize()) * 100 / 72
        assert pixels * PHONE_WIDTH / 1000 >= LEAST_TYPE, text.get_text()


def ruler(paper: Paper) -> tuple[float, float]:
    """Where the first ruler's frame 0 stands, and how many pixels a frame takes, read off its numbers."""
    found = {text.get_text(): text.get_position() for text in reversed(texts(paper))}
    zero, top = found["0"][0], min(y for text, (_, y) in found.items() if text == "frames")
    numbers = {
        int(text.get_text()): text.get_position()[0]
        for text in texts(paper)
        if text.get_position()[1] == top
        if text.get_text().isdecimal()
    }
    return zero, (numbers[max(numbers)] - zero) / max(numbers)


def brackets(paper: Paper) -> list[list[tuple[float, float]]]:
    """The brackets, without the key's."""
    return [places(line) for line in lines(paper, INK) if len(places(line)) == 4][:-1]


def test_brackets_aims_lead_ins_and_contacts_stand_on_the_ruler() -> None:
    """5MP; 2MP accepted on 21 to 25, held before 23; 236HP from the start on 23: 26 to 41, held before 39."""
    paper = drawing.draw("5MP, 2MP > 236HP", schedule(STEPS[:3], 60))
    zero, a_frame = ruler(paper)

    def frames(xs: Sequence[float]) -> list[float]:
        return [round((x - zero) / a_frame, 6) for x in xs]

    assert frames([x for x, _ in marks(paper, TRAINING)]) == [0, 23, 34]
    assert frames([x for x, _ in marks(paper, SOFT_INK)]) == [0, 23]
    assert [frames([found[0][0], found[-1][0]]) for found in brackets(paper)] == [[22.5, 25.5], [38.5, 41.5]]
    contacts = [places(line) for line in lines(paper, MATCHES)][:-1]
    assert frames([found[0][0] for found in contacts]) == [5, 28, 50]
    posts = [
        found[0][0]
        for found in (places(line) for line in lines(paper, INK))
        if len(found) == 2 and found[0][0] == found[1][0]
    ]
    assert frames(posts[:-1]) == [20.5, 25.5]


def test_the_lead_in_is_dashed_from_the_first_held_press_to_the_bracket() -> None:
    paper = drawing.draw("5MP, 236HP", schedule((STEPS[0], STEPS[3]), 60))
    zero, a_frame = ruler(paper)
    (bracket,) = brackets(paper)
    dashes = [
        (found[0][0], found[1][0])
        for found in (places(line) for line in lines(paper, INK))
        if len(found) == 2 and found[0][1] == found[1][1] == bracket[1][1]
    ]
    assert len(dashes) > 5
    assert dashes[0][0] == pytest.approx(zero + 7.5 * a_frame)
    assert dashes[-1][1] <= bracket[0][0] + 1e-9
    assert all(left[1] < right[0] for left, right in pairwise(dashes))


def test_a_double_tap_has_two_marks_in_its_row() -> None:
    twice = RhythmStep("2MP", LINK, Window(21, 25), spacing_frames=2)
    found = marks(drawing.draw("5MP, 2MP", schedule((STEPS[0], twice), 60)), TRAINING)
    assert len(found) == 3
    assert found[1][1] == found[2][1]
    assert found[1][0] < found[2][0]


def test_steps_are_rows_from_top_to_bottom_and_time_runs_from_left_to_right() -> None:
    found = marks(drawing.draw("5MP, 2MP > 236HP", schedule(STEPS[:3], 60)), TRAINING)
    assert found == sorted(found)
    assert [y for _, y in found] == sorted({y for _, y in found})


def test_a_long_route_goes_on_under_new_rulers_which_count_from_the_first_press() -> None:
    paper = drawing.draw(*planned("twelve rows"))
    assert written(paper).count("frames") > 1
    numbers = [text.replace(",", "") for text in written(paper)]
    assert max(int(one) for one in numbers if one.isdecimal()) > 4_000  # milliseconds


def test_the_key_explains_what_is_drawn_and_nothing_else() -> None:
    names = {key: say("picture-rhythm", key) for key in ("aim", "before", "bracket", "held", "contact")}
    assert set(names.values()) <= set(written(drawn("through a super freeze")))
    plain = drawing.draw(
        "5MP, 2MP", schedule((RhythmStep("5MP"), RhythmStep("2MP", LINK, Window(9, 12))), 60)
    )
    assert set(names.values()) & set(written(plain)) == {names["aim"], names["before"], names["bracket"]}
    assert len(lines(plain, MATCHES)) == 0
    assert set(names.values()) & set(written(drawn("one press"))) == {names["aim"], names["contact"]}


def test_at_most_twelve_rows_are_drawn_and_told_and_the_rest_is_counted() -> None:
    name, plan = planned("more than twelve")
    assert len(plan.presses) == RHYTHM_ROWS + 3
    for told in (written(drawn("more than twelve")), rhythm_lines(plan), [rhythm_alt(name, plan)]):
        assert any("presses more after these" in one for one in told)
    assert len([line for line in rhythm_lines(plan) if "press" in line.partition(":")[2]]) == RHYTHM_ROWS


def test_the_text_form_tells_each_press_from_the_one_before() -> None:
    plain = (RhythmStep("5MP"), RhythmStep("2MP", LINK, Window(21, 25)))
    assert rhythm_lines(schedule(plain, 60)) == (
        "5MP: the first press; the others count from it.",
        "2MP: press about 23 frames (383 ms) after 5MP; 21 to 25 are accepted; a link.",
    )
    assert rhythm_lines(schedule(STEPS, 60))[1:] == (
        "2MP: press about 23 frames (383 ms) after 5MP; 21 to 25 are accepted; a link; pressed before 23, it"
        " is held and starts then; it touches 5 frames after its press.",
        "236HP: press about 11 frames (183 ms) after 2MP; 3 to 18 are accepted; a cancel; pressed before 16,"
        " it is held and starts then; it touches 16 frames after its press.",
        "236236HP: press about 21 frames (350 ms) after 236HP; 13 to 29 are accepted; a cancel; pressed"
        " before 27, it is held and starts then; it touches 65 frames after its press.",
    )


def test_the_text_form_tells_both_presses_of_a_double_tap_and_a_bracket_of_one_frame() -> None:
    steps = (
        RhythmStep("5MP"),
        RhythmStep("2MP", LINK, Window(21, 25), spacing_frames=2),
        RhythmStep("5LP", CHAIN, Window(12, 12)),
        RhythmStep("2HK"),
    )
    assert rhythm_lines(schedule(steps, 60))[1:] == (
        "2MP: press twice, about 22 and 24 frames (367 ms and 400 ms) after 5MP; 21 to 25 are accepted;"
        " a link.",
        "5LP: press about 12 frames (200 ms) after the first press of 2MP; only 12 is accepted; a chain.",
        "From 2HK on it cannot be told when to press: the game file leaves out a number.",
    )


@each_case
def test_the_words_fit_where_the_platform_puts_them(case: str) -> None:
    told = rhythm_alt(*planned(case))
    assert 20 <= len(told) <= 1_024  # the platform's limit on a file's description
    assert told.endswith(".")


@pytest.mark.parametrize(
    "case", [case for case in CASES if case not in ("twelve long waits", "more than twelve")]
)
def test_the_words_tell_every_number_of_the_picture(case: str) -> None:
    name, plan = planned(case)
    told, shown = rhythm_alt(name, plan), " ".join(written(drawn(case)))
    for press in plan.presses[1:]:
        first, last = (frame - press.after_frame for frame in (press.first_frame, press.last_frame))
        bracket = f"{first} to {last}" if first < last else f"only {first}"
        for words in (told, shown):
            assert f"{press.gap_frames}" in words
            assert bracket in words
            assert f"{plan.ms(press.gap_frames):.0f}" in words


def test_words_that_would_be_too_many_leave_whole_presses_out_and_count_them() -> None:
    told = rhythm_alt(*planned("twelve long waits"))
    assert "Frames after the press before" in told
    left_out = int(
        told.removesuffix(" presses more after these.")
        .removesuffix(" press more after these.")
        .rpartition(" ")[2]
    )
    assert 1 <= left_out <= 4
    assert told.count("; ") + 1 == 12 - left_out


def test_equal_schedules_make_equal_bytes_and_others_do_not() -> None:
    first, second = planned("through a super freeze"), planned("two presses")
    assert rhythm_picture(*first) == rhythm_picture(*first)
    assert rhythm_picture(*first) != rhythm_picture(*second)


def test_the_words_do_without_the_drawing_library() -> None:
    code = (
        "import sys; from bot.render.pictures import rhythm_alt, rhythm_lines;"
        "from core.rhythm import RhythmStep, schedule; one = schedule([RhythmStep('5MP')], 60);"
        "rhythm_alt('5MP', one), rhythm_lines(one); sys.exit('matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
