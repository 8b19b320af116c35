"""What is said of logged tallies: what was logged, what is new, what next, and why it cannot be."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from demo import demo

from bot.render.card import as_text
from bot.render.limits import fit_card
from bot.render.log import (
    changed_card,
    list_card,
    log_refusal_card,
    logged_card,
    one_card,
    put_back_card,
    undone_card,
)
from bot.render.reps import what_words
from bot.results.log import Changed, Listed, Logged, LogRefusal, LogRefusalCode, PutBack, Undone
from bot.results.practice import LinkTiming
from bot.results.tally import Controller, Drops, KeptTally, Setup, Side, Subject, SubjectKind, Tally
from core.learning.tally import Context
from core.learning.tally import Tally as Learned
from core.learning.wins import Win, WinCode
from core.timing import TooFew, Window
from core.verdict import Facts

GAME = demo("saltglass")
MADE = datetime(2026, 1, 20, 23, 30, tzinfo=UTC)
WHAT = {
    SubjectKind.LINK: "5MP, 2MP",
    SubjectKind.ROUTE: "5MP, 2MP xx 236LP",
    SubjectKind.DRILL: "dash blocks",
    SubjectKind.CHOICE: "5MP, counter hit",
}


def kept(
    landed: int = 7,
    tries: int = 10,
    drops: Drops = Drops(),  # noqa: B008 (frozen)
    context: Context = Context.TRAINING,
    kind: SubjectKind = SubjectKind.LINK,
) -> KeptTally:
    who = "" if kind is SubjectKind.DRILL else GAME.characters[0].name
    subject = Subject(GAME.name, who, kind, WHAT[kind])
    return KeptTally(4, 1, Tally(subject, MADE, tries, landed, drops, context, game_version="1.2"))


def logged(
    one: KeptTally, total_landed: int = 34, total_tries: int = 52, *wins: Win, again: bool = False
) -> str:
    return as_text(logged_card(Logged(one, total_tries, total_landed, wins, again=again), GAME))


def win(code: WinCode, **facts: int) -> Win:
    return Win(code, Learned(MADE, "1", 10, 7, Context.TRAINING), Facts(**facts))


def test_the_first_sentence_says_what_was_logged_and_why_tries_dropped() -> None:
    told = logged(kept(drops=Drops(early=2, late=1)))
    assert told.startswith("Logged: 7 of 10 on 5MP, 2MP in training (2 early, 1 late).\n")
    assert "So far in training\n  34 of 52 (65 %)" in told
    assert told.endswith("Odrun Vale in Saltglass, version 1.2")


def test_drops_without_a_reason_are_told_only_beside_those_with_one() -> None:
    assert "(1 early, 2 not noted)" in logged(kept(drops=Drops(early=1)))
    assert "Logged: 7 of 10 on 5MP, 2MP in training.\n" in logged(kept())


def test_what_was_delivered_twice_is_said_to_be_there_already() -> None:
    told = logged(kept(), again=True)
    assert told.startswith("That was logged already: 7 of 10 on 5MP, 2MP in training. Nothing was added.")


@pytest.mark.parametrize("context", Context)
@pytest.mark.parametrize("kind", SubjectKind)
def test_every_context_and_kind_of_subject_has_its_words(context: Context, kind: SubjectKind) -> None:
    told = logged(kept(context=context, kind=kind))
    assert f"on {what_words(kept(kind=kind).tally.subject)} in " in told
    assert WHAT[kind] in told
    assert "What next?" in told


WINS = {
    WinCode.FIRST_LANDED: (Facts(tries_before=1), "The first time this landed, after 1 try without."),
    WinCode.FIRST_TRIED_IN_MATCH: (Facts(), "The first time you went for this in a match:"),
    WinCode.FIRST_LANDED_IN_MATCH: (Facts(), "The first time this landed in a match."),
    WinCode.PERSONAL_BEST: (
        Facts(best_landed=6, best_tries=10),
        "Your best yet in training: 7 of 10, up from 6 of 10.",
    ),
    WinCode.WEEK_KEPT: (Facts(weeks_in_a_row=3), "Practice in 3 weeks in a row."),
}


@pytest.mark.parametrize("code", WinCode)
def test_every_small_win_is_told_as_it_is(code: WinCode) -> None:
    facts, said = WINS[code]
    told = as_text(logged_card(Logged(kept(), 52, 34, (Win(code, win(code).tally, facts),)), GAME))
    assert f"What is new?\n  {said}" in told


def test_nothing_won_is_not_praised() -> None:
    assert "What is new?" not in logged(kept())


def test_a_first_landed_at_the_first_try_speaks_of_none_before() -> None:
    assert "The first time this landed.\n" in logged(kept(), 7, 10, win(WinCode.FIRST_LANDED, tries_before=0))


def test_who_landed_it_in_a_match_need_not_hear_that_it_was_tried() -> None:
    both = (win(WinCode.FIRST_TRIED_IN_MATCH), win(WinCode.FIRST_LANDED_IN_MATCH))
    told = logged(kept(context=Context.RANKED), 7, 10, *both)
    assert "landed in a match" in told
    assert "went for this" not in told


@pytest.mark.parametrize(
    ("one", "landed", "tries", "said"),
    [
        (kept(3, 4), 3, 4, "6 tries more in training, and there is a rate to speak of."),
        (kept(), 30, 52, "note which drops were early"),
        (kept(), 50, 52, "It holds up in training: mix it"),
        (
            kept(context=Context.SPARRING),
            50,
            52,
            "go for it three times in matches; landing is not the goal.",
        ),
        (kept(1, 3, context=Context.TOURNAMENT), 1, 3, "Go for it again the next time it comes up"),
    ],
)
def test_what_next_depends_on_where_it_stands(one: KeptTally, landed: int, tries: int, said: str) -> None:
    assert said in logged(one, landed, tries)


@pytest.mark.parametrize(
    "name", ["wrong_state", "too_far", "wrong_direction", "motion_failed", "no_gauge", "mashed"]
)
def test_drops_that_are_not_timing_get_advice_of_their_own(name: str) -> None:
    assert "Most drops" in logged(kept(drops=Drops(**{name: 2, "early": 1})))
    assert "Most drops" not in logged(kept(drops=Drops(**{name: 1, "early": 2})))


def test_the_timing_says_its_sentence_or_that_tries_are_too_few() -> None:
    one = kept(drops=Drops(early=1))
    timing = LinkTiming(GAME, one.tally.subject, Window(28, 32, 31), 7, 4, TooFew(7), None, 8)
    told = as_text(logged_card(Logged(one, 7, 4, (), timing), GAME))
    assert "timing?\n  There are too few tries to tell how you time 2MP after 5MP (7 so far, 10 are" in told


def test_a_tally_is_shown_whole_and_in_the_zone_of_its_reader() -> None:
    tally = Tally(
        kept().tally.subject,
        MADE,
        30,
        20,
        presses=2,
        setup=Setup(Side.LEFT, Controller.PAD, "simple"),
        gap_frames=tuple(range(20, 45)),
        note="=cold hands",
    )
    told = as_text(one_card(KeptTally(1, 1, tally), GAME, ZoneInfo("Asia/Tokyo")))
    for said in (
        "21 Jan 2026, 08:30 JST",
        "Two presses a try.",
        "Facing left, on pad, simple controls.",
        "20, 21, 22",
        "… and 5 more",
        "=cold hands",
    ):
        assert said in told


def test_changed_taken_out_and_put_back_each_say_what_they_did() -> None:
    one = kept()
    assert as_text(changed_card(Changed(one), GAME)).startswith("Changed: it now says 7 of 10 on 5MP, 2MP")
    assert as_text(undone_card(Undone(one), GAME)).startswith("Taken out: 7 of 10 on 5MP, 2MP in training.")
    assert as_text(put_back_card(PutBack(one), GAME)).startswith("Back in the log: 7 of 10")


def test_a_list_has_a_line_for_each_tally_and_says_when_there_are_older_ones() -> None:
    told = as_text(list_card(Listed((kept(drops=Drops(late=3)), kept()), True), GAME))
    assert "  20 Jan 2026: 5MP, 2MP, 7 of 10 in training (3 late)\n" in told
    assert "There are older ones." in told
    assert as_text(list_card(Listed((), False), GAME)).startswith("There are no tallies of yours here")
    assert "older ones." not in as_text(list_card(Listed((kept(),), False), GAME))


REFUSALS = Facts(
    typed="7 in 10",
    landed=8,
    drops=3,
    tries=10,
    most=1000,
    problem="There is no move 9XX.",
    near="",
    field="note",
    gap=900,
    gaps=12,
    known="simple, full",
    names="Odrun Vale, Mirrel Quay",
    characters=20,
    character="Odrun Vale",
    gauge="salt",
    amount=500,
    example="Odrun Vale",
)


@pytest.mark.parametrize("code", LogRefusalCode)
def test_every_refusal_is_one_sentence_with_what_would_be_right(code: LogRefusalCode) -> None:
    card = log_refusal_card(LogRefusal(code, REFUSALS), GAME)
    assert len(card.lead) > 30
    assert card.lead.endswith(".")
    assert "{" not in card.lead
    assert fit_card(card) == card


def test_more_than_tries_says_all_three_numbers_and_no_drops_where_none() -> None:
    code = LogRefusalCode.MORE_THAN_TRIES
    told = log_refusal_card(LogRefusal(code, REFUSALS), GAME).lead
    assert told == "8 landed and 3 dropped are more than 10 tries: together they can be 10 at most."
    told = log_refusal_card(LogRefusal(code, Facts(landed=8, drops=0, tries=1)), GAME).lead
    assert told == "8 landed are more than 1 try: 1 can land at most."


@pytest.mark.parametrize("field", ["what", "note", "name", "gaps"])
def test_a_text_too_long_is_called_by_what_it_is(field: str) -> None:
    refusal = LogRefusal(LogRefusalCode.TOO_LONG, Facts(field=field, most=200))
    assert field in log_refusal_card(refusal, GAME).lead
    assert "The what" not in log_refusal_card(refusal, GAME).lead


def test_several_characters_are_named_where_they_are_known() -> None:
    refusal = LogRefusal(LogRefusalCode.WHOSE, Facts(typed="5MP", names="Odrun Vale, Mirrel Quay"))
    assert "(Odrun Vale, Mirrel Quay)" in log_refusal_card(refusal, GAME).lead
    assert "(" not in log_refusal_card(LogRefusal(LogRefusalCode.WHOSE, Facts(typed="5MP")), GAME).lead


def test_what_was_typed_is_quoted_on_one_line() -> None:
    told = log_refusal_card(LogRefusal(LogRefusalCode.NO_COUNT, Facts(typed="a\nb" * 60)), GAME).lead
    assert "\n" not in told
    assert len(told) < 250
