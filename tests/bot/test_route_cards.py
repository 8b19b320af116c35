"""What is said of a checked route, and of what is refused, as plain text."""

from __future__ import annotations

from dataclasses import replace

import pytest
from routed import SALT, opened

from bot.limits import LAYOUT_CHARACTERS
from bot.render.card import as_text
from bot.render.limits import fit_card
from bot.render.log import log_refusal_card
from bot.render.route_check import check_answer, given_words, route_card
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.route import KnownHands
from core.routes import Start, full_gauges
from core.timing import TYPICAL
from core.verdict import Answer, Facts


def told(written: str, who: str = "odrun", game: str = "saltglass", start: Start | None = None) -> str:
    return as_text(route_card(opened(written, who, game, start)))


def test_a_route_that_works_is_told_under_the_questions_of_who_plays_it() -> None:
    assert told("5MP, 2MP xx 236HP") == (
        "This works: 5MP, 2MP xx 236HP does 1,710 damage.\n"
        "\n"
        "What is each step?\n"
        "  5MP starts it.\n"
        "  2MP links: press it 28 to 32 frames after 5MP; it must start in a window of 2 frames, and "
        "presses are "
        "taken over 5.\n"
        "  236HP cancels: press it any time up to 19 frames after 2MP.\n"
        "\n"
        "What does it come to?\n"
        "  Damage: 1,710.\n"
        "  Gauge: costs none.\n"
        "  Time: 1.6 seconds from the first press until you are free.\n"
        "  To enter: 3 presses and 4 directions.\n"
        "  It leaves them standing, and you are free 1 frame before they are.\n"
        "  Afterwards you are 1.9 steps apart.\n"
        "\n"
        "How likely do I land all of it?\n"
        "  Typical hands land it about 87 % of the time.\n"
        "  That hangs on one press, 2MP after 5MP.\n"
        "\n"
        "What is taken for granted?\n"
        "  They are standing, right in front of you, and your gauges are full.\n"
        "\n"
        "Why?\n"
        "  5MP leaves you +7 on hit, and 2MP starts in 6 frames: 7 - 6 + 1 = 2.\n"
        "  The rule “special cancel” lets 2MP go into 236HP on hit.\n"
        "  2MP leaves 20 frames of stun; 236HP, begun on the 1st frame after the freeze of the hit, "
        "touches in 12 "
        "frames.\n"
        "\n"
        "Odrun Vale in Saltglass, version 1.2"
    )


def test_a_route_that_fails_begins_with_how_late_it_is_and_what_fits() -> None:
    text = told("5MP, 5HP xx 236HP")
    assert text.startswith("5HP starts 3 frames too late after 5MP, but 5MP fits there.\n")
    assert "  5MP fits in place of 5HP: 5MP, 5MP xx 236HP.\n" in text
    assert "  It works on off balance: off balance 5MP, 5HP xx 236HP.\n" in text
    assert "  It works if 5MP hits late, on its 4th active frame: meaty(4) 5MP, 5HP xx 236HP.\n" in text
    assert "  5HP does not follow 5MP.\n  Not judged: 236HP.\n" in text
    assert "What do the steps before that come to?\n  Damage: 600.\n" in text
    assert "How likely" not in text
    assert "3 frames too slow." in text


@pytest.mark.parametrize(
    ("written", "start", "lead", "mend"),
    [
        (
            "5HP xx 214KK xx 214214HK",
            Start(),
            "5HP xx 214KK xx 214214HK does not work: 214214HK costs 200 glow, and there is 22 by then.",
            "It works with 178 more glow at the start.",
        ),
        (
            "5MP xx 2MP, 236HP",
            None,
            "5MP xx 2MP, 236HP does not work: no rule of this game lets you cancel or chain into 2MP",
            "2MP works as a link: 5MP, 2MP, 236HP. What comes later still has to change.",
        ),
        (
            "5MP, delay(9) 2MP",
            None,
            "5MP, delay(9) 2MP does not work: 2MP may come at most 1 frame late here, not 9 frames.",
            "It works without the delay: 5MP, 2MP.",
        ),
    ],
)
def test_why_it_fails_goes_on_in_the_lead_and_what_mends_it_below(
    written: str, start: Start | None, lead: str, mend: str
) -> None:
    text = told(written, start=start)
    assert text.startswith(lead)
    assert f"\n  {mend}\n" in text


def test_where_no_small_change_mends_it_that_is_said() -> None:
    start = Start(distance=0.5, gauges=full_gauges(SALT))
    text = told("4HP, 5MP xx 214PP xx 214214HP, 2HK", "ninnet", start=start)
    assert "I found no small change that mends it: look for routes from 4HP instead." in text


def test_each_way_in_which_a_step_comes_out_says_when_to_press() -> None:
    text = told("2LP ~ 2LP, 5LP")
    assert "2LP chains: press it any time up to 20 frames after 2LP." in text
    assert "5LP links: press it 21 to 23 frames after 2LP; it must start in a window of 1 frame" in text
    text = told("6H ~ 2X, j.X, 5X, 63214X", "ossily", "kitewind")
    assert "2X chains: press it 10 to 34 frames after 6H." in text
    # Kitewind's links are not held before their time: the window is all there is.
    assert "5X links: press it 37 to 40 frames after j.X; it must start in a window of 4 frames.\n" in text
    assert "Without that drop it would be about 65 %." in text
    assert "It knocks down: you have 44 frames before they get up." in text
    assert "Gauge: costs 100 wind." in text


def test_a_press_after_a_super_counts_its_freeze_for_that_is_when_one_presses() -> None:
    one = opened("4HP xx 214PP xx 214214HP, 2HK", "ninnet")
    step, before = one.check.steps[-1], one.check.steps[-2]
    assert before.freeze_frames > 0
    last = step.window.last_gap + before.freeze_frames  # type: ignore[union-attr]
    assert f"to {last} frames after 214214HP" in as_text(route_card(one))


def test_the_state_and_the_lateness_of_the_first_hit_are_named() -> None:
    assert "  5MP starts it, on counter hit.\n" in told("CH 5MP, 2MP")
    late = "  5MP starts it, hitting late, on its 3rd active frame, on counter hit.\n"
    assert late in told("CH meaty(3) 5MP, 2MP")
    start = Start(state="counter hit", active_frame=2, gauges=full_gauges(SALT))
    assert "on its 2nd active frame, on counter hit.\n" in told("5MP, 2MP", start=start)


@pytest.mark.parametrize(
    ("start", "words"),
    [
        (Start(), "They are standing, right in front of you, and your gauges are as a round starts."),
        (
            Start(gauges=full_gauges(SALT), airborne=True, distance=1.5),
            "They are in the air already, 1.5 steps away, and your gauges are full.",
        ),
        (
            Start(gauges=(("glow", 0), ("salt", 0))),
            "They are standing, right in front of you, and you have no gauge.",
        ),
        (
            Start(gauges=(("salt", 50), ("glow", 10))),
            "They are standing, right in front of you, and you have 10 glow and 50 salt.",
        ),
    ],
)
def test_what_is_taken_for_granted_is_said(start: Start, words: str) -> None:
    assert given_words(SALT, start) == words


def test_known_hands_are_spoken_of_as_the_member_s_own() -> None:
    route = replace(opened("5MP, 2MP xx 236HP"), subject_id=3)
    typical = as_text(route_card(route))
    assert "Typical hands land it about 87 %" in typical
    assert "Log tries at links, and I can tell it for yours." in typical
    own = as_text(route_card(replace(route, hands=KnownHands(TYPICAL, 0.0, 60))))
    assert "By your logged presses you land it about 87 %" in own
    assert "Log tries" not in own


def test_a_name_that_it_is_saved_under_is_said() -> None:
    named = replace(opened("5MP, 2MP"), name="bread")
    assert as_text(route_card(named)).startswith("“bread” works: 5MP, 2MP does 1,200 damage.")


def test_the_answer_of_a_route_is_yes_no_or_unknown() -> None:
    assert check_answer(opened("5MP, 2MP").check) is Answer.YES
    assert check_answer(opened("5MP, 5HP").check) is Answer.NO


def test_a_long_route_still_fits_a_card() -> None:
    long = opened("5MP, 5MP, 5MP, 5MP, 5MP, 5MP, 5MP, 5MP, 5MP, 5MP, 5MP xx 214KK xx 214214HK")
    fitted = as_text(fit_card(route_card(long)))
    assert len(fitted) <= LAYOUT_CHARACTERS


# Refusals


@pytest.mark.parametrize(
    ("code", "facts", "sentence"),
    [
        (
            LogRefusalCode.NO_GAUGE,
            Facts(typed="lots", known="glow, salt", example="glow 100"),
            "“lots” is no amount of a gauge I can read: write it as “glow 100”, or “none”; this game "
            "has glow, salt.",
        ),
        (
            LogRefusalCode.NO_GAUGE,
            Facts(typed="lots", known="", example="none"),
            "This game has no gauges: leave “lots” out.",
        ),
        (
            LogRefusalCode.GAUGE_RANGE,
            Facts(gauge="salt", amount=500, most=120),
            "500 salt cannot be: that gauge holds 120 at most.",
        ),
        (
            LogRefusalCode.NO_STATE,
            Facts(typed="on fire", known="counter hit"),
            "“on fire” is no hit state of this game: it has counter hit.",
        ),
        (
            LogRefusalCode.NO_STATE,
            Facts(typed="on fire", known=""),
            "This game has no hit states such as “on fire”: leave that out.",
        ),
        (
            LogRefusalCode.NO_MOVE,
            Facts(typed="5QQ", problem="“QQ” is not understood."),
            "I cannot read “5QQ” as a move: “QQ” is not understood.",
        ),
        (
            LogRefusalCode.NO_CHARACTER,
            Facts(example="Odrun Vale: 5MP"),
            "I do not know whose routes to look for: choose your character with /character, or name "
            "one as in "
            "“Odrun Vale: 5MP”.",
        ),
        (
            LogRefusalCode.NOT_FOUND_IN_TIME,
            Facts(),
            "The search could not be finished just now: try again, or narrow it with a starter or "
            "fewer moves.",
        ),
    ],
)
def test_each_refusal_is_one_sentence_with_what_would_be_right(
    code: LogRefusalCode, facts: Facts, sentence: str
) -> None:
    assert log_refusal_card(LogRefusal(code, facts), SALT).lead == sentence
