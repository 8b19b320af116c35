"""The cards of homework and of a coach's board, each with a sentence that says how it stands."""

from __future__ import annotations

import pickle
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from demo import demo

from bot.limits import ALT_CHARACTERS
from bot.render.board_lines import Waits, board_lines, board_subtitle
from bot.render.card import as_text
from bot.render.homework import homework_card, set_card, target_words
from bot.render.pictures import board_alt, board_picture
from bot.results.coaching import (
    ClipComment,
    CoachBoard,
    Coaching,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkSet,
    HomeworkView,
    KeptHomework,
    StudentRow,
)
from bot.results.place import Owner
from bot.results.tally import Subject, SubjectKind
from core.learning.homework import (
    CleanReps,
    MatchAttempts,
    Progress,
    RateOver,
    Stage,
    Status,
    Target,
    status,
)
from core.model import Game

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
COACH, WREN, PELL = Owner(1, 900), Owner(1, 100), Owner(1, 101)
NAMES = {900: "Cass", 100: "Wren", 101: "Pell"}
LINK = Subject("Saltglass", "Odrun Vale", SubjectKind.LINK, "5MP, 2MP")
NOTHING = Progress(None, False, 0.0, 20, 0, 0)
SOME = Progress(None, False, 0.35, 13, 7, 10)
DONE = Progress(NOW, False, 1.0, 0, 20, 25)
LATE = replace(DONE, late=True)


@pytest.fixture(scope="module")
def salt() -> Game:
    return demo("Saltglass")


def view(
    stage: Stage = Stage.SET,
    far: Progress = SOME,
    days: float = 3,
    target: Target = CleanReps(20),  # noqa: B008
    student: Owner = WREN,
    **more: object,
) -> HomeworkView:
    due = NOW + timedelta(days=days)
    kept = KeptHomework(1, COACH, student, LINK, target, "slowly", NOW - timedelta(days=9), due, stage)
    kept = replace(kept, **more)  # type: ignore[arg-type]
    return HomeworkView(kept, far, status(stage, NOW, due), 7)


def told(seen: HomeworkView, game: Game, *, to_coach: bool = False) -> str:
    return as_text(homework_card(seen, NAMES, UTC, game, to_coach=to_coach))


@pytest.mark.parametrize(
    ("seen", "lead"),
    [
        (view(), "is homework, due Thursday, 5 Mar 2026, 18:00"),
        (view(days=0.5), "is due within a day"),
        (view(days=-1), "it still counts"),
        (view(Stage.HANDED_IN), "is handed in"),
        (view(Stage.ACCEPTED, DONE), "is accepted"),
        (view(Stage.RETURNED), "came back with a note"),
    ],
)
def test_every_status_has_a_sentence_of_its_own(seen: HomeworkView, lead: str, salt: Game) -> None:
    assert lead in homework_card(seen, NAMES, UTC, salt, to_coach=False).lead


def test_every_status_is_among_those(salt: Game) -> None:
    for each in Status:
        card = homework_card(replace(view(), status=each), NAMES, UTC, salt, to_coach=True)
        assert card.lead.startswith("Odrun Vale's 5MP, 2MP ")


@pytest.mark.parametrize(
    ("far", "target", "said"),
    [
        (NOTHING, CleanReps(20), "Nothing is logged on it yet."),
        (SOME, CleanReps(20), "13 reps to go: 7 of 10 landed so far."),
        (SOME, RateOver(0.8, 20), "If the next 13 reps all land, it is reached"),
        (SOME, MatchAttempts(5), "13 tries in matches to go"),
        (DONE, CleanReps(20), "Reached: 20 of 25 landed."),
        (LATE, CleanReps(20), "Reached, a little late"),
    ],
)
def test_how_far_it_is_stands_in_plain_words(far: Progress, target: Target, said: str, salt: Game) -> None:
    assert said in told(view(far=far, target=target), salt)


@pytest.mark.parametrize(
    ("target", "words"),
    [
        (CleanReps(1), "1 rep landed"),
        (RateOver(0.8, 30), "80 % landed, over 30 tries or more"),
        (MatchAttempts(5), "5 tries in real matches"),
    ],
)
def test_what_is_to_be_reached(target: Target, words: str) -> None:
    assert target_words(target) == words


def test_the_next_step_is_that_of_who_reads_it(salt: Game) -> None:
    handed = view(Stage.HANDED_IN, DONE)
    assert "Accept it, or send it back" in told(handed, salt, to_coach=True)
    assert "you are told" in told(handed, salt)


def test_what_was_said_of_it_stands_with_who_said_it(salt: Game) -> None:
    seen = view(Stage.RETURNED, hand_in_note="both sides", clip="https://a.example", review_note="once more")
    comments = (ClipComment(42, "early", NOW), ClipComment(3723, "late", NOW), ClipComment(None, "fine", NOW))
    said = told(replace(seen, comments=comments), salt)
    for line in ("Cass: slowly", "Wren: both sides", "0:42 early", "1:02:03 late", "Cass: once more"):
        assert line in said


def test_who_left_has_no_name_and_the_card_stands(salt: Game) -> None:
    said = as_text(homework_card(view(coach=None), {}, UTC, salt, to_coach=False))
    assert "who left" in said
    assert "None" not in said


def test_who_does_not_get_it_is_named_with_the_reason(salt: Game) -> None:
    done = HomeworkSet((view().homework,), ((101, CoachRefusal(CoachRefusalCode.HAS_IT)),))
    said = as_text(set_card(done, NAMES, UTC, salt))
    assert "is set for one student" in said
    assert "Pell: They have this very homework already" in said


def row(student: Owner, *homework: HomeworkView, **more: object) -> StudentRow:
    known = Coaching(student.member_id, COACH, student, NOW, NOW)
    given = {"last_practice": None, "gap": None, "stuck_on": None, **more}
    return StudentRow(known, homework, **given)  # type: ignore[arg-type]


def board(*rows: StudentRow) -> CoachBoard:
    return CoachBoard(rows, (), len(rows))


def test_a_line_of_the_board_tells_of_what_waits_before_what_is_due_first() -> None:
    first, waiting = view(days=-1), view(Stage.HANDED_IN, days=4)
    (line,) = board_lines(board(row(WREN, first, waiting)), NAMES, NOW, UTC)
    assert (line.waits, line.work, line.due) == (Waits.COACH, "handed in +1", "6 Mar 2026")


@pytest.mark.parametrize(
    ("seen", "waits", "work"),
    [
        (view(), Waits.STUDENT, "open"),
        (view(days=-1), Waits.LATE, "overdue"),
        (view(easier="2MP, 2MP"), Waits.COACH, "asks for easier"),
        (view(Stage.RETURNED, days=-1), Waits.STUDENT, "returned"),
    ],
)
def test_the_mark_and_the_words_beside_it_agree(seen: HomeworkView, waits: Waits, work: str) -> None:
    (line,) = board_lines(board(row(WREN, seen)), NAMES, NOW, UTC)
    assert (line.waits, line.work) == (waits, work)


def test_too_few_tries_are_said_to_be_so_and_a_gap_is_a_share() -> None:
    few, none, some = board_lines(
        board(row(WREN), row(PELL, gap=-0.1), row(WREN, gap=0.14, last_practice=NOW - timedelta(days=1))),
        NAMES,
        NOW,
        UTC,
    )
    assert (few.gap, none.gap, some.gap) == ("too few tries", "no less", "14 %")
    assert (few.last, some.last) == ("never", "yesterday")


def test_the_picture_is_drawn_from_values_that_reach_a_worker_and_is_told_in_words() -> None:
    rows = [row(WREN, view(), stuck_on=replace(LINK, what="5MP, 2MP xx 236HP" * 9))] * 10
    whole = board(*rows)
    lines = pickle.loads(pickle.dumps(board_lines(whole, {100: "W" * 90}, NOW, UTC)))
    assert board_picture(board_subtitle(whole), lines) == board_picture(board_subtitle(whole), lines)
    alt = board_alt(lines)
    assert len(alt) <= ALT_CHARACTERS
    assert alt.count("homework open") == 10
