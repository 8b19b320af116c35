"""The presses of a route on paper: every frame below was counted by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.model import Means
from core.rhythm import RhythmStep, Schedule, TimedPress, schedule
from core.timing import Spread, Window, best_aim, in_rhythm

LINK, CANCEL, CHAIN = Means.LINK, Means.CANCEL, Means.CHAIN
FIRST = RhythmStep("5MP")


def link(window: Window, **more: float | int | None) -> RhythmStep:
    return RhythmStep("2MP", LINK, window, **more)  # type: ignore[arg-type]


def second(step: RhythmStep, first: RhythmStep = FIRST) -> TimedPress:
    """The press of a step after the first."""
    return schedule([first, step], 60).presses[1]


def test_the_first_press_is_where_time_begins() -> None:
    (press,) = schedule([RhythmStep("5MP", contact_frames=5)], 60).presses
    assert (press.frames, press.first_frame, press.last_frame, press.start_frame) == ((0,), 0, 0, 0)
    assert press.contact_frame == 5
    assert press.after is None


def test_a_link_is_aimed_at_the_middle_of_what_is_accepted() -> None:
    press = second(link(Window(21, 25)))
    assert (press.first_frame, press.aim_frames, press.frame, press.last_frame) == (21, 23.0, 23, 25)
    assert (press.start_frame, press.at_once_frame, press.second_frame) == (23, None, None)
    assert (press.after, press.gap_frames) == ("5MP", 23)


def test_of_two_frames_in_the_middle_the_later_one_is_pressed() -> None:
    press = second(link(Window(24, 27)))
    assert (press.aim_frames, press.frame) == (25.5, 26)


def test_after_a_press_that_the_buffer_held_the_next_gap_counts_from_where_its_move_started() -> None:
    cancel = RhythmStep("236HP", CANCEL, Window(8, 24, start_gap=22))
    found = schedule([FIRST, cancel, link(Window(30, 34, start_gap=31))], 60)
    held, after = found.presses[1:]
    assert (held.frame, held.at_once_frame, held.start_frame) == (16, 22, 22)
    assert (after.first_frame, after.last_frame, after.at_once_frame) == (52, 56, 53)
    assert (after.frame, after.start_frame, after.gap_frames) == (54, 54, 38)
    assert found.length_frames == 54


def test_a_press_that_is_not_held_starts_its_move_at_once() -> None:
    found = schedule([FIRST, link(Window(22, 28, start_gap=24)), link(Window(10, 10))], 60)
    assert [press.start_frame for press in found.presses] == [0, 25, 35]


def test_a_window_without_a_buffer_has_nothing_held() -> None:
    assert second(link(Window(25, 27, start_gap=25))).at_once_frame is None
    assert second(link(Window(24, 27, start_gap=25))).at_once_frame == 25


def test_a_super_freeze_moves_everything_after_it_and_its_own_contact() -> None:
    frozen = RhythmStep("236236HP", CANCEL, Window(8, 24, 22), contact_frames=9, freeze_frames=50)
    found = schedule([FIRST, frozen, link(Window(40, 44))], 60)
    assert [press.start_frame for press in found.presses] == [0, 22, 22 + 50 + 42]
    assert found.presses[1].contact_frame == 22 + 50 + 9
    assert (found.presses[2].first_frame, found.presses[2].last_frame) == (112, 116)


def test_a_freeze_of_the_first_move_counts_too() -> None:
    press = second(link(Window(21, 25)), RhythmStep("236236HP", contact_frames=9, freeze_frames=50))
    assert (press.first_frame, press.frame) == (71, 73)


@pytest.mark.parametrize(
    ("window", "spacing", "frames"),
    [
        (Window(21, 25), 2, (22, 24)),  # half a spacing before the middle
        (Window(21, 25), 4, (21, 25)),
        (Window(21, 22), 2, (21, 23)),  # 20.5: of two frames as near the later
        (Window(21, 21), 1, (21, 22)),
        (Window(21, 25, early_chains=True), 2, (23, 25)),  # the second mends nothing
    ],
)
def test_a_double_tap_is_aimed_so_that_its_middle_meets_the_window(
    window: Window, spacing: int, frames: tuple[int, int]
) -> None:
    assert second(link(window, spacing_frames=spacing)).frames == frames


def test_a_double_tap_with_a_hole_puts_one_press_inside_the_window() -> None:
    press = second(link(Window(24, 24), spacing_frames=6))
    assert 24 in press.frames
    assert press.start_frame == 24


def test_where_the_second_tap_lands_the_move_starts_with_it() -> None:
    press = second(link(Window(24, 24), spacing_frames=3, aim_gap=21.0))
    assert (press.frames, press.start_frame) == ((21, 24), 24)


def test_a_second_tap_is_left_out_where_the_next_step_is_pressed_by_then() -> None:
    twice = link(Window(20, 24), spacing_frames=6, aim_gap=20.0)
    late, soon = link(Window(8, 8)), link(Window(6, 6))
    assert [press.frames for press in schedule([FIRST, twice, late], 60).presses] == [(0,), (20, 26), (28,)]
    assert [press.frames for press in schedule([FIRST, twice, soon], 60).presses] == [(0,), (20,), (26,)]


def test_a_spacing_between_frames_is_pressed_on_whole_ones_that_land() -> None:
    for spacing in (0.2, 1.4, 2.5, 3.4, 5.6):
        press = second(link(Window(24, 24), spacing_frames=spacing))
        assert press.second_frame is not None
        assert press.second_frame - press.frame == max(1, int(spacing + 0.5))
        assert 24 in press.frames


def test_an_aim_of_the_player_s_own_is_kept() -> None:
    press = second(link(Window(21, 25), aim_gap=24.4))
    assert (press.aim_frames, press.frame) == (24.4, 24)


@pytest.mark.parametrize("aim", [20.4, 25.6, 0.0, 300.0])
def test_an_aim_outside_the_bracket_is_refused(aim: float) -> None:
    with pytest.raises(ValueError, match="21 to 25 are accepted"):
        schedule([FIRST, link(Window(21, 25), aim_gap=aim)], 60)


@pytest.mark.parametrize("aim", [20.5, 25.5])
def test_an_aim_on_the_edge_of_the_bracket_is_not(aim: float) -> None:
    assert 21 <= second(link(Window(21, 25), aim_gap=aim)).frame <= 25


def test_from_a_step_that_is_not_known_on_nothing_is_told() -> None:
    found = schedule([FIRST, link(Window(21, 25)), RhythmStep("2HK", LINK), link(Window(9, 9))], 60)
    assert [press.input for press in found.presses] == ["5MP", "2MP"]
    assert found.untold == ("2HK", "2MP")
    assert schedule([FIRST, link(Window(21, 25))], 60).untold == ()


def test_milliseconds_are_real_time_at_the_game_s_speed() -> None:
    assert schedule([FIRST], 60).ms(23) == pytest.approx(383.333, abs=1e-3)
    assert schedule([FIRST], 50).ms(23) == 460.0


@pytest.mark.parametrize(
    ("steps", "fps", "wrong"),
    [
        ([], 60, "at least one move"),
        ([FIRST], 0, "frames of a second"),
        ([FIRST], float("nan"), "frames of a second"),
        ([FIRST, link(Window(21, 25), spacing_frames=-1)], 60, "spacing"),
    ],
)
def test_what_cannot_be_played_is_refused(steps: list[RhythmStep], fps: float, wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        schedule(steps, fps)


@st.composite
def windows(draw: st.DrawFn) -> Window:
    first = draw(st.integers(1, 60))
    last = first + draw(st.integers(0, 20))
    return Window(first, last, draw(st.one_of(st.none(), st.integers(first, last))), draw(st.booleans()))


@st.composite
def routes(draw: st.DrawFn) -> list[RhythmStep]:
    return [FIRST] + [
        RhythmStep(
            "2MP",
            draw(st.sampled_from(list(Means))),
            draw(windows()),
            spacing_frames=draw(st.sampled_from((0.0, 0.0, 3.0, 5.7, 9.0))),
            freeze_frames=draw(st.sampled_from((0, 0, 50))),
        )
        for _ in range(draw(st.integers(1, 6)))
    ]


def starts(steps: list[RhythmStep], found: Schedule) -> list[int]:
    """Where each move starts, walked press by press with the windows alone; fails where none lands."""
    begun = [0]
    for before, step, press in zip(steps, steps[1:], found.presses[1:], strict=False):
        window, origin = step.window, begun[-1] + before.freeze_frames
        assert window is not None
        landed = [frame for frame in press.frames if window.first_gap <= frame - origin <= window.last_gap]
        begun.append(origin + int(window.starts(landed[0] - origin)))
    return begun


@given(routes())
def test_every_scheduled_press_lands_and_one_frame_outside_its_bracket_is_refused(
    steps: list[RhythmStep],
) -> None:
    found = schedule(steps, 60)
    assert [press.start_frame for press in found.presses] == starts(steps, found)
    frames = [frame for press in found.presses for frame in press.frames]
    assert frames == sorted(set(frames))
    for before, step, (ahead, press) in zip(
        steps, steps[1:], zip(found.presses, found.presses[1:], strict=False), strict=False
    ):
        window, origin = step.window, ahead.start_frame + before.freeze_frames
        assert window is not None
        accepted = range(window.first_gap, window.last_gap + 1)
        assert press.first_frame - origin in accepted
        assert press.first_frame - 1 - origin not in accepted
        assert press.last_frame - origin in accepted
        assert press.last_frame + 1 - origin not in accepted


@given(st.lists(windows(), min_size=1, max_size=5))
def test_the_aims_are_those_of_the_rhythm_whose_chance_is_told(found: list[Window]) -> None:
    """With windows whose middle is a whole frame both place every press alike."""
    whole = [
        Window(one.first_gap, one.last_gap - (one.last_gap - one.first_gap) % 2, one.first_gap)
        for one in found
    ]
    told = schedule([FIRST, *(link(window) for window in whole)], 60)
    mean_gaps = [step.mean_gap for step in in_rhythm(whole, Spread(0, 0), 0)]
    assert [press.gap_frames for press in told.presses[1:]] == mean_gaps


@given(windows(), st.sampled_from((0.0, 2.0, 4.0)))
def test_one_step_s_exact_aim_is_the_best_one(window: Window, spacing: float) -> None:
    spread = Spread(1.0, 0.0)
    press = schedule([FIRST, link(window, spacing_frames=spacing)], 60, spread).presses[1]
    assert press.aim_frames == best_aim(1.0, window, spacing)
