"""What a member reads about their timing: one sentence, three patterns, the price of a second press."""

from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest
from demo import HIT, demo, move

from bot.render.card import as_text
from bot.render.hands import (
    all_timing_card,
    diagnosis_sentence,
    link_timing_card,
    route_timing_card,
)
from bot.render.limits import LINE_CHARACTERS, fit_card
from bot.render.wording import say
from bot.results.practice import AllTiming, LinkSides, LinkTiming, RouteStep, RouteTiming
from bot.results.tally import Subject, SubjectKind
from core.model import Means
from core.timing import (
    TYPICAL,
    Fit,
    Tally,
    TapAdvice,
    TapCode,
    TapReason,
    Tendency,
    TooFew,
    Window,
    bottleneck,
    diagnose,
    fit,
    link_window,
    mashing,
    tap_advice,
)
from core.verdict import Answer, Code, Facts, Reason

GAME = demo("saltglass")
WHO = GAME.characters[0]


def simulated(window: Window, tries: int, bias_frames: float, seed: int = 1) -> Tally:
    """Tries of hands with this bias, pressing once."""
    rng, ends = random.Random(seed), [0, 0, 0]
    for _ in range(tries):
        gap = rng.gauss(window.middle_gap + bias_frames, 1.2 * TYPICAL.frames(window.middle_gap))
        seen = gap + rng.random()
        ends[0 if seen < window.first_gap else 2 if seen >= window.last_gap + 1 else 1] += 1
    return Tally(window, tries, ends[1], ends[0], ends[2])


def timing(
    first: str,
    second: str,
    bias_frames: float = 0,
    tries: int = 52,
    *,
    here: bool = True,
    advice: TapAdvice | None = None,
) -> LinkTiming:
    """The timing of a link of the demo game; `here`: the tries were made at this very link."""
    subject = Subject(GAME.name, WHO.name, SubjectKind.LINK, f"{first}, {second}")
    window = link_window(GAME, WHO, move(WHO, first), move(WHO, second), HIT)
    if not isinstance(window, Window):
        return LinkTiming(GAME, subject, window, 0, 0, None, None, 8)
    tally = simulated(window, tries, bias_frames)
    found = fit([tally])
    if isinstance(found, Fit):
        advice = advice or tap_advice(GAME, WHO, move(WHO, second), Means.LINK, window)
        diagnosis = diagnose(found, window, GAME.fps, advice)
    mash = mashing(window, 7.5, window.first_gap - 10)
    return LinkTiming(
        GAME,
        subject,
        window,
        tries if here else 0,
        tally.hit if here else 0,
        diagnosis if isinstance(found, Fit) else found,
        mash,
        8,
    )


def lines_under(text: str, question: str) -> list[str]:
    """The lines of one group of a card."""
    part = next(part for part in text.split("\n\n") if part.startswith(question))
    return [line.strip() for line in part.splitlines()[1:]]


def test_one_sentence_tells_how_the_press_stands_where_to_aim_and_whether_to_press_twice() -> None:
    sentence = diagnosis_sentence(timing("5MP", "2MP", -2.5))
    assert re.fullmatch(
        r"You press 2MP about [\d.]+ frames \(\d+ ms\) early after 5MP; "
        r"aim about 1 frame before 5MP is over; "
        r"pressing twice would take you from \d+ % to \d+ %, "
        r"and is safe here because 2MP does not chain or cancel into itself\.",
        sentence,
    )


def test_the_frames_and_milliseconds_of_a_bias_agree() -> None:
    found = timing("5MP", "2MP", -2.5)
    match = re.search(r"about ([\d.]+) frames \((\d+) ms\)", diagnosis_sentence(found))
    assert match is not None
    assert not isinstance(found.diagnosis, TooFew)
    assert found.diagnosis is not None
    assert float(match[1]) == pytest.approx(-found.diagnosis.bias_frames.value, abs=0.05)
    assert float(match[2]) == pytest.approx(-found.diagnosis.bias_frames.value * 1000 / 60, abs=0.5)


def test_a_light_is_advised_one_press_and_why() -> None:
    sentence = diagnosis_sentence(timing("5MP", "5LP", -2.5))
    assert "one press is right here, because 5LP is a light" in sentence
    assert "pressing twice" not in sentence


@pytest.mark.parametrize(
    ("bias_frames", "tries", "said"),
    [
        (-2.5, 52, "early after 5MP"),
        (2.5, 60, "late after 5MP"),
        (0.0, 900, "on time after 5MP"),
        (-0.2, 20, "not clear yet whether"),
    ],
)
def test_early_late_on_time_and_not_clear_are_told_apart(bias_frames: float, tries: int, said: str) -> None:
    assert said in diagnosis_sentence(timing("5MP", "2MP", bias_frames, tries))


@pytest.mark.parametrize("tendency", Tendency)
def test_every_tendency_has_its_words(tendency: Tendency) -> None:
    key = tendency.value.replace(" ", "-")
    for section in ("hands-stand", "hands-stand-all"):
        assert say(section, key, first="5MP", second="2MP", off=1.0, off_ms="17 ms")
    assert say("hands-aim", key, where="right as 5MP ends")


@pytest.mark.parametrize("code", TapCode)
def test_every_reason_for_or_against_a_second_press_is_said(code: TapCode) -> None:
    facts = Facts(move="2MP", rule="target", means="chain", contact="hit", one_chance=0.61, two_chance=0.62)
    answer = Answer.YES if code is TapCode.NOTHING_REPEATS else Answer.NO
    told = as_text(
        link_timing_card(timing("5MP", "2MP", -3, advice=TapAdvice(answer, (TapReason(code, facts),))))
    )
    assert ("is safe here because" in told) is (answer is Answer.YES)
    assert ("Better not: " in told) is (answer is not Answer.YES)
    assert ("both fine" in told) is (answer is Answer.YES)


def test_a_rule_that_repeats_on_hit_and_on_block_is_named_once() -> None:
    told = as_text(link_timing_card(timing("5LP", "5LP", -2)))
    assert told.count("light chain") == 1
    assert "on hit or block" in told


def test_where_the_file_leaves_a_number_out_a_second_press_is_not_called_safe() -> None:
    missing = (Reason(Code.NUMBER_MISSING, Facts(move="2MP", field="active")),)
    found = timing("5MP", "2MP", -3, advice=TapAdvice(Answer.UNKNOWN, (), missing))
    told = as_text(link_timing_card(found))
    assert "whether it is safe here is not known" in told
    assert "The game file does not give the active frames of 2MP." in told
    assert "both fine" not in told


def test_one_press_two_and_mashing_stand_side_by_side() -> None:
    found = timing("5MP", "2MP", -2.5)
    lines = lines_under(as_text(link_timing_card(found)), "How often does it land")
    assert [line.split(" ")[0] for line in lines] == ["One", "Two", "Between", "Mashing,"]
    assert "once you are on time" in lines[0]
    assert "hole of 1 frame" in lines[2]
    assert found.mashing is not None
    assert "no practice raises that; 2 presses a try, 1.3 of them unwanted" in lines[3]


def test_mashing_that_never_works_is_said_to_not_work() -> None:
    lines = lines_under(as_text(link_timing_card(timing("5LP", "5LP", -2))), "How often does it land")
    assert (
        lines[-1] == "Mashing, 8 presses a second: does not work here, and costs 1.7 unwanted presses a try."
    )


def test_how_sure_it_is_stands_in_words() -> None:
    lines = lines_under(as_text(link_timing_card(timing("5MP", "2MP", -2.5))), "How sure")
    assert re.fullmatch(r"You are somewhere between [\d.]+ and [\d.]+ frames early\.", lines[0])
    unclear = lines_under(as_text(link_timing_card(timing("5MP", "2MP", -0.2, 20))), "How sure")
    assert re.fullmatch(
        r"You are somewhere between [\d.]+ frames? early and [\d.]+ frames? late\.", unclear[0]
    )


def test_below_ten_tries_nothing_is_told_of_the_hands_but_where_to_aim() -> None:
    told = as_text(link_timing_card(timing("5MP", "2MP", -3, tries=7)))
    assert told.startswith("There are too few tries to tell how you time 2MP after 5MP (7 so far, 10 are")
    assert "the middle is about 1 frame before 5MP is over" in told
    assert "somewhere between" not in told
    assert "%" not in told


def test_a_link_never_tried_is_predicted_from_the_others() -> None:
    told = as_text(link_timing_card(timing("5MP", "2MP", -1.7, 50, here=False)))
    assert re.match(
        r"You have not logged 5MP into 2MP; from your other links it should land about \d\d %", told
    )
    assert "Nothing is logged for this link itself; your other links give 50 tries." in told


def test_a_link_that_does_not_work_says_why() -> None:
    told = as_text(link_timing_card(timing("5HP", "2MP")))
    assert told.startswith("5HP, 2MP has no press to time.")
    assert "5HP leaves you +3 on hit, and 2MP starts in 6 frames: 3 frames too slow." in told


@pytest.mark.parametrize(
    ("what", "window", "said"),
    [
        ("5MP, 2MP", Window(28, 32, 31), "about 1 frame before 5MP is over"),
        ("5MP, 2MP", Window(30, 32, 31), "right as 5MP ends"),
        ("5MP, 2MP", Window(31, 40, 31), "about 4.5 frames after 5MP is over"),
        ("5MP xx 236LP", Window(10, 20, 18), "about 3 frames before 236LP can come out"),
        ("5MP ~ 2MP", Window(10, 12), "about 11 frames after you press 5MP"),
        ("counter hit 5MP, delay(2) 2MP", Window(28, 32, 31), "about 1 frame before 5MP is over"),
    ],
)
def test_the_aim_is_told_by_what_the_player_sees(what: str, window: Window, said: str) -> None:
    subject = Subject(GAME.name, WHO.name, SubjectKind.LINK, what)
    told = as_text(link_timing_card(LinkTiming(GAME, subject, window, 3, 2, TooFew(3), None, 8)))
    assert f"the middle is {said}." in told


def route(whole: TooFew | str | None = "found", timed: tuple[int, ...] = (0, 1)) -> RouteTiming:
    windows = [
        link_window(GAME, WHO, move(WHO, first), move(WHO, second), HIT)
        for first, second in (("5MP", "2MP"), ("2MP", "5LP"))
    ]
    known = [window for window in windows if isinstance(window, Window)]
    hands = fit([simulated(known[0], 60, -2)])
    assert isinstance(hands, Fit)
    found = bottleneck(hands, [known[place] for place in timed]) if isinstance(whole, str) else whole
    steps = (
        RouteStep("5MP", "2MP", Means.LINK, known[0]),
        RouteStep("2MP", "5LP", Means.LINK, known[1]),
        RouteStep("5LP", "236LP", None, None),
    )
    subject = Subject(GAME.name, WHO.name, SubjectKind.ROUTE, "5MP, 2MP, 5LP > 236LP")
    return RouteTiming(GAME, subject, steps, timed, found)


def test_a_route_names_the_press_it_drops_at_and_what_mending_it_gives() -> None:
    told = as_text(route_timing_card(route()))
    match = re.match(
        r"2MP into 5LP is where it drops: it lands about (\d+) % of the time once reached; "
        r"the whole route about (\d+) %, and (\d+) % without that drop\.",
        told,
    )
    assert match is not None
    once, whole, without = map(int, match.groups())
    assert whole < once
    assert whole < without
    assert "5LP into 236LP: no press to time is known, so it is left out." in told


@pytest.mark.parametrize(
    ("timing_", "said"),
    [
        (route(timed=(1,)), "2MP into 5LP is the one press to time here"),
        (route(TooFew(4)), "too few tries to tell where this route drops (4 so far, 10 are enough)"),
        (route(None), "No press of this route has a window that is known"),
    ],
)
def test_a_route_with_less_to_tell_says_so(timing_: RouteTiming, said: str) -> None:
    assert said in as_text(route_timing_card(timing_))


def test_all_links_are_told_with_their_sides_and_one_tendency() -> None:
    links = (timing("5MP", "2MP", -3), timing("5MP", "2MK", -3, 9))
    assert isinstance(links[0].window, Window)
    noted = replace(links[0], sides=LinkSides(links[0].subject, links[0].window, 20, 26, 1, 5))
    told = as_text(all_timing_card(AllTiming(GAME, (noted, *links[1:]), 61)))
    assert re.match(
        r"Over all your links you press about [\d.]+ frames \(\d+ ms\) early; aim that much later\.", told
    )
    lines = lines_under(told, "How do my links go")
    assert lines[0].endswith("; 20 early, 1 late, 5 not noted.")
    assert lines[1].endswith("of 9, too few tries to tell.")


def test_with_no_link_logged_the_card_says_what_to_log() -> None:
    told = as_text(all_timing_card(AllTiming(GAME, (), 0)))
    assert told.startswith("No link is logged here yet")
    assert "Log ten tries or more" in told


def test_the_cards_on_timing_fit_and_lose_no_line() -> None:
    for found in (timing("5LP", "5LP", -2), timing("5MP", "2MP", -2.5), timing("5HP", "2MP")):
        card = link_timing_card(found)
        assert fit_card(card) == card
        assert len(card.lead) <= LINE_CHARACTERS
