"""How a route is played: when to press, what to enter, and how that sounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from wave import open as open_wave

import pytest
from agreement import in_time
from inline import ODRUN
from played import ROUTE, opened

from bot.results.playing import ClickTrack, InputSheet, NoTrack, RhythmSheet, Unplayable
from bot.results.route import KnownHands, OpenRoute
from bot.services.playing import LOOPS, clicks_of, directions_of, inputs_of, rhythm_of, timed
from core.inputs import NEUTRAL, Facing, NoPlan, Plan
from core.model import Means
from core.permission import permission
from core.rhythm import LONGEST_SECONDS, SAMPLE_RATE, RhythmStep, schedule
from core.rhythm.track import FASTEST, SLOWEST
from core.stepper import Permits, Press, run
from core.timing import TYPICAL, Window
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES

CHAIN = "5L > 5M > 5H xx 236M xx 63214X"
LEAPING = "2M > 2X, j.M > j.H"
UPLOAD_BYTES = 10_000_000


def rhythm(route: OpenRoute, twice: Sequence[int] = ()) -> RhythmSheet:
    sheet = rhythm_of(route, twice)
    assert isinstance(sheet, RhythmSheet)
    return sheet


def planned(sheet: RhythmSheet, side: Facing = Facing.RIGHT, scheme: str | None = None) -> Plan:
    found = inputs_of(sheet, side, scheme).plan
    assert isinstance(found, Plan), found
    return found


# When to press


def test_the_presses_are_those_of_the_checked_windows() -> None:
    """5MP leads by 7, so that 2MP (startup 6) links from 31 to 32 frames after its start, 3 more with the
    buffer; 2MP starts 31 frames after and touches on its frame 6, and a cancel is held from its press until
    2 frames after its hitstop of 11: worked out by hand."""
    sheet = rhythm(opened(ROUTE))
    first, second, third = sheet.schedule.presses
    assert (first.frame, second.frame, third.frame) == (0, 30, 41)
    assert (second.first_frame, second.at_once_frame, second.last_frame) == (28, 31, 32)
    assert (third.first_frame, third.at_once_frame, third.last_frame) == (32, 48, 50)
    assert [press.means for press in sheet.schedule.presses] == [None, Means.LINK, Means.CANCEL]
    assert sheet.twice == ()


@pytest.mark.parametrize(
    ("text", "who", "game"),
    [
        (ROUTE, ODRUN, "saltglass"),
        ("5MP, 2MP xx 236236HP", ODRUN, "saltglass"),
        ("5LP > 5LP, 2LP xx 623LP", ODRUN, "saltglass"),
        ("5L > 5M > 5H xx 236M", "Marrable Twill", "kitewind"),
    ],
)
def test_the_planned_presses_land_the_route_in_the_stepper(text: str, who: str, game: str) -> None:
    route = opened(text, who, game)
    checked, presses = route.check, rhythm(route).schedule.presses

    def permits(number: int) -> Permits:
        first, second = checked.steps[number - 1], checked.steps[number]
        contact = first.contact
        assert contact is not None
        return lambda hit: (
            permission(checked.game, checked.character, first.step.move, second.step.move, contact, hit).rules
        )

    made = [
        Press(1 + press.frame, checked.steps[number].step.move, permits(number))
        for number, press in enumerate(presses)
        if number
    ]
    starter = checked.steps[0]
    assert starter.contact is not None
    trace = run(checked.game, starter.step.move, made, starter.contact, permits(1))
    assert [(one.move.input, one.means) for one in trace.followups] == [
        (press.input, press.means) for press in presses[1:]
    ]
    assert all(map(in_time, trace.followups))
    assert [one.start_frame - 1 for one in trace.followups] == [press.start_frame for press in presses[1:]]


def test_a_super_freeze_counts_in_the_gap_after_it() -> None:
    route = opened("4HP, 5MP xx 214PP xx 214214HP, 2HK", "Ninnet Sprae")
    presses = rhythm(route).schedule.presses
    frozen = route.check.steps[3].freeze_frames
    window = route.check.steps[4].window
    assert frozen > 0
    assert isinstance(window, Window)
    assert presses[4].first_frame == presses[3].start_frame + frozen + window.first_gap
    assert presses[4].last_frame == presses[3].start_frame + frozen + window.last_gap


@pytest.mark.parametrize(("delay", "frame"), [("delay(1) ", 32), ("delay ", 32), ("", 30)])
def test_a_press_that_is_meant_to_come_late_is_aimed_late(delay: str, frame: int) -> None:
    """2MP can start 31 frames after 5MP at the soonest, and is accepted until 32."""
    press = rhythm(opened(f"5MP, {delay}2MP"), twice=[1] if delay else []).schedule.presses[1]
    assert (press.frame, press.last_frame, press.second_frame) == (frame, 32, None)


def test_a_movement_between_has_its_own_press() -> None:
    route = opened("2M > 2X, 66, 5L", "Ossily Fenn", "kitewind")
    sheet = rhythm(route)
    assert [press.input for press in sheet.schedule.presses] == ["2M", "2X", "66", "5L"]
    made = inputs_of(sheet, Facing.RIGHT, None)
    assert made.as_scheduled
    assert isinstance(made.plan, Plan)
    assert [one.direction for one in made.plan.presses[2].entered if one.direction != NEUTRAL] == [6, 6]
    assert made.plan.presses[2].buttons == ()


def test_a_route_that_does_not_work_has_no_rhythm() -> None:
    assert isinstance(rhythm_of(opened("5LP, 5MP xx 236HP")), Unplayable)


def test_where_no_press_but_the_first_is_known_there_is_no_rhythm() -> None:
    """How high a jumping attack touches decides what may follow it."""
    route = opened("j.HP, 5MP, 2MP")
    assert not route.check.works
    assert isinstance(rhythm_of(route), Unplayable)
    assert timed(route).schedule.untold == ("5MP", "2MP")


def test_what_is_known_is_told_up_to_the_move_from_which_it_is_not() -> None:
    """623HP gives no hitstun for its first hit, so what its super cancel lands after cannot be told."""
    route = opened("5MP, 2MP xx 623HP xx 214214HK")
    cut = replace(
        route.check, failing=2, steps=route.check.steps[:3], verdict=opened("j.HP, 5MP").check.verdict
    )
    sheet = rhythm(replace(route, check=cut))
    assert [press.input for press in sheet.schedule.presses] == ["5MP", "2MP"]
    assert sheet.schedule.untold == ("623HP", "214214HK")


# One press or two


def test_a_link_that_the_member_presses_twice_is_planned_so() -> None:
    sheet = rhythm(opened(ROUTE), twice=[1])
    assert [(one.input, one.own) for one in sheet.twice] == [("2MP", True)]
    second = sheet.schedule.presses[1]
    assert second.second_frame == second.frame + TYPICAL_SPACING_FRAMES


@pytest.mark.parametrize("step", [1, 3])
def test_lights_cancels_and_chains_are_never_planned_twice(step: int) -> None:
    """Trade fact (common practice, no source): no double tap on linked or chained lights."""
    sheet = rhythm(opened("5LP > 5LP, 2LP xx 623LP"), twice=[1, 2, 3])
    assert sheet.twice == ()
    assert sheet.schedule.presses[step].second_frame is None


def test_hands_for_which_two_presses_land_clearly_more_often_get_two() -> None:
    wide = KnownHands(TYPICAL.times(3), 0.0, 60)
    sheet = rhythm(replace(opened(ROUTE), hands=wide))
    assert [(one.input, one.own) for one in sheet.twice] == [("2MP", False)]


def test_typical_hands_are_planned_with_one_press() -> None:
    unknown = KnownHands(TYPICAL.times(3), 0.0, 0)
    assert rhythm(replace(opened(ROUTE), hands=unknown)).twice == ()


# What to enter


def test_the_plan_presses_where_the_rhythm_sheet_does() -> None:
    for text, who, game in ((ROUTE, ODRUN, "saltglass"), (CHAIN, "Marrable Twill", "kitewind")):
        sheet = rhythm(opened(text, who, game))
        made = inputs_of(sheet, Facing.RIGHT, None)
        assert made.as_scheduled
        assert isinstance(made.plan, Plan)
        first = made.plan.presses[0].frame
        assert [press.frame - first for press in made.plan.presses] == [
            press.frame for press in sheet.schedule.presses
        ]


def test_facing_left_mirrors_every_direction_and_nothing_else() -> None:
    sheet = rhythm(opened("5MP, 2MP xx 236HP"))
    right, left = planned(sheet), planned(sheet, Facing.LEFT)
    mirror = {1: 3, 3: 1, 4: 6, 6: 4, 7: 9, 9: 7}
    assert [
        [mirror.get(one.direction, one.direction) for one in press.entered] for press in right.presses
    ] == [[one.direction for one in press.entered] for press in left.presses]
    assert [press.frame for press in right.presses] == [press.frame for press in left.presses]
    assert right.presses[2].held == 6
    assert left.presses[2].held == 4


def test_a_direction_that_is_held_already_is_shared() -> None:
    """Trade fact (common practice, no source): a held crouch saves the next motion its first direction."""
    found = planned(rhythm(opened(ROUTE)))
    assert found.saved == 1
    assert [one.entered.direction for one in found.presses[2].shared] == [2]


def test_nothing_is_shared_over_a_jump() -> None:
    """The stick goes up for it, so what was held before is let go."""
    found = planned(rhythm(opened(LEAPING, "Ossily Fenn", "kitewind")))
    for press in found.presses[2:]:
        assert all(number >= 2 for one in press.shared for number in one.presses)
    assert found.presses[2].held == NEUTRAL
    frames = [press.frame for press in found.presses]
    assert frames == sorted(set(frames))
    assert len(found.frames) == frames[-1] + 1
    for press in found.presses:
        assert found.frames[press.frame].pressed == frozenset(press.buttons)


def test_moves_whose_time_is_not_known_are_entered_all_the_same() -> None:
    sheet = inputs_of(timed(opened("j.HP, 5MP, 2MP xx 236HP")), Facing.RIGHT, None)
    assert isinstance(sheet.plan, Plan)
    assert [press.move.input for press in sheet.plan.presses] == ["j.HP", "5MP", "2MP", "236HP"]
    assert sheet.plan.saved == 1


def hasty(window: Window, aim: float) -> RhythmSheet:
    """236M, which uses up what was entered, and a half circle of five directions aimed so soon after it."""
    sheet = rhythm(opened("5H xx 236M xx 63214X", "Marrable Twill", "kitewind"))
    steps = [
        RhythmStep("5H"),
        RhythmStep("236M", Means.CANCEL, Window(15, 30, 24), aim_gap=26.0),
        RhythmStep("63214X", Means.CANCEL, window, aim_gap=aim),
    ]
    return replace(sheet, schedule=schedule(steps, 60))


def test_hands_that_cannot_press_where_the_sheet_does_press_elsewhere_in_the_windows() -> None:
    """Five directions take 10 frames with 2 for each. The window counts from the start of 236M, which is
    held where it is pressed before 24 frames after 5H: the plan keeps both windows all the same."""
    sheet = hasty(Window(5, 14), 5.0)
    made = inputs_of(sheet, Facing.RIGHT, None)
    assert not made.as_scheduled
    assert isinstance(made.plan, Plan)
    first, before, press = made.plan.presses
    assert press.frame - before.frame >= 10
    pressed = before.frame - first.frame
    assert 15 <= pressed <= 30
    start = max(pressed, 24)
    assert start + 5 <= press.frame - first.frame <= start + 14
    assert directions_of(made) == ()


def test_a_press_for_which_no_hand_is_fast_enough_has_no_plan() -> None:
    made = inputs_of(hasty(Window(1, 5), 5.0), Facing.RIGHT, None)
    assert isinstance(made.plan, NoPlan)
    assert made.plan.step == 2


def test_a_simple_scheme_has_nothing_to_share() -> None:
    sheet = rhythm(opened("5MP, 2MP xx 236MP", scheme="one-button"))
    assert planned(sheet, scheme="one-button").saved == 0
    assert planned(sheet, scheme="one-button").presses[2].buttons == ("MP",)


# How it sounds


def clicks(text: str = ROUTE, speed: float = 1.0, loops: int = LOOPS) -> ClickTrack:
    made = clicks_of(inputs_of(rhythm(opened(text)), Facing.RIGHT, None), speed, loops)
    assert isinstance(made, ClickTrack)
    return made


def begins(wav: bytes) -> list[int]:
    """The samples on which a sound begins after silence, on both channels the same."""
    with open_wave(BytesIO(wav)) as file:
        assert (file.getnchannels(), file.getframerate(), file.getsampwidth()) == (2, SAMPLE_RATE, 2)
        data = memoryview(file.readframes(file.getnframes())).cast("h")
    assert data[0::2].tolist() == data[1::2].tolist()
    loud = [number for number, value in enumerate(data[0::2].tolist()) if value]
    return [at for before, at in zip([-1000, *loud], loud, strict=False) if at - before > 60]


@pytest.mark.parametrize("speed", [1.0, 0.75, 0.5])
def test_each_click_falls_on_its_sample(speed: float) -> None:
    """A press on frame f stands round(f / fps / speed * rate) samples after the first press."""
    made = clicks(speed=speed, loops=1)
    heard = begins(made.wav)
    assert heard == [click.sample for click in made.track.clicks]
    lead = -min(-4 * made.track.pulse_frames, 0)
    for press in made.schedule.presses:
        exact = (lead + press.frame) * SAMPLE_RATE / 60 / speed
        assert min(abs(sample - exact) for sample in heard) <= 0.5


def test_directions_are_heard_on_the_frames_of_the_plan() -> None:
    sheet = inputs_of(rhythm(opened(ROUTE)), Facing.RIGHT, None)
    assert isinstance(sheet.plan, Plan)
    assert directions_of(sheet) == (28, 40)
    made = clicks_of(sheet, 1.0, 1)
    assert isinstance(made, ClickTrack)
    assert made.directions
    lead = 4 * made.track.pulse_frames
    for frame in directions_of(sheet):
        assert float((lead + frame) * SAMPLE_RATE / 60) in begins(made.wav)


@pytest.mark.parametrize("speed", [SLOWEST, 0.5, FASTEST])
def test_so_many_loops_are_played_as_fit_and_can_be_sent(speed: float) -> None:
    made = clicks(speed=speed, loops=20)
    assert 1 <= made.track.loops <= 20
    assert made.track.seconds <= LONGEST_SECONDS
    assert len(made.wav) < UPLOAD_BYTES
    assert made.wanted_loops == 20
    if made.track.loops < 20:
        assert (made.track.loops + 1) * made.track.loop_samples > LONGEST_SECONDS * SAMPLE_RATE


def test_a_round_that_is_too_long_makes_no_track() -> None:
    sheet = rhythm(opened(ROUTE))
    slow = [RhythmStep("5MP"), *(RhythmStep("2MP", Means.LINK, Window(400, 400)) for _ in range(3))]
    made = InputSheet(sheet.opened, schedule(slow, 60), Facing.RIGHT, None, None)
    assert clicks_of(made, 0.25, 4) == NoTrack(sheet.opened)


@pytest.mark.parametrize(("speed", "loops"), [(0.1, 4), (2.0, 4), (1.0, 0)])
def test_a_speed_or_loops_out_of_bounds_are_an_error(speed: float, loops: int) -> None:
    with pytest.raises(ValueError, match="click track has"):
        clicks_of(inputs_of(rhythm(opened(ROUTE)), Facing.RIGHT, None), speed, loops)
