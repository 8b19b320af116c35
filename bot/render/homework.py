"""Homework in words: one piece of it for its student or coach, lists of it, and what is told unasked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import tzinfo

from bot.limits import CHOICE_CHARACTERS, CHOICES
from bot.render.card import Card, Group, source_of
from bot.render.coaching import coach_refusal_card, member_name
from bot.render.limits import cut
from bot.render.members import Names, called
from bot.render.reps import moment_words, whose_words
from bot.render.wording import Fact, say
from bot.results.coaching import (
    CoachNotice,
    HomeworkPage,
    HomeworkSet,
    HomeworkView,
    KeptHomework,
    TargetKind,
)
from bot.results.log import Logged
from bot.results.notice import NoticeKind
from core.learning.homework import CleanReps, MatchAttempts, RateOver, Stage, Target
from core.model import Game


def target_name(kind: TargetKind) -> str:
    """What counts, in few words."""
    return say("homework-targets", f"name-{kind.value}")


def target_words(target: Target) -> str:
    """What is to be reached.

    >>> target_words(CleanReps(20))
    '20 reps landed'
    """
    match target:
        case CleanReps(reps):
            return say("homework-targets", TargetKind.CLEAN_REPS.value, reps=reps)
        case RateOver(rate, tries):
            return say("homework-targets", TargetKind.RATE.value, rate=rate, tries=tries)
        case MatchAttempts(tries):
            return say("homework-targets", TargetKind.MATCHES.value, tries=tries)


def homework_card(
    view: HomeworkView,
    names: Names,
    zone: tzinfo,
    game: Game,
    *,
    to_coach: bool,
    logged: Logged | None = None,
    fails: str | None = None,
) -> Card:
    """One homework, for its student or coach. `logged`: what the student just logged on it; `fails`: the
    present version of its game, where its moves do not work in it."""
    kept = view.homework
    lead = say("homework", view.status.value, 60, **_facts(kept, names, zone))
    if logged is not None:
        tally = logged.kept.tally
        lead = say(
            "homework", "logged-again" if logged.again else "logged", landed=tally.landed, tries=tally.tries
        )
    about = tuple(_what(kept, names, zone))
    if fails is not None:
        key = "fails-coach" if to_coach else "fails"
        about = (*about, say("homework", key, what=whose_words(kept.subject), version=fails))
    groups = [
        Group(say("homework-questions", "what"), about),
        Group(say("homework-questions", "far"), (_far(view),)),
    ]
    said = tuple(_said(view, names))
    if said:
        groups.append(Group(say("homework-questions", "said"), said))
    then = say("homework-next", _next(view, to_coach))
    groups.append(Group(say("homework-questions", "next"), (then,)))
    return Card(lead, tuple(groups), (), source_of(game))


def set_card(done: HomeworkSet, names: Names, zone: tzinfo, game: Game) -> Card:
    """For how many homework was set, and who does not get it."""
    if not done.homework:
        groups = (Group(say("homework-questions", "not-set"), tuple(_not_set(done, names, game))),)
        return Card(coach_refusal_card(done.refused[0][1], game).lead, groups, (), source_of(game))
    count = len(done.homework)
    whom = say("homework", "one-student") if count == 1 else say("homework", "students", count=count)
    lead = say("homework", "set", 60, **{**_facts(done.homework[0], names, zone), "count": whom})
    found = [Group(say("homework-questions", "next"), (say("homework-next", "set"),))]
    if done.refused:
        found.insert(0, Group(say("homework-questions", "not-set"), tuple(_not_set(done, names, game))))
    return Card(lead, tuple(found), (), source_of(game))


def homework_list_card(page: HomeworkPage, names: Names, zone: tzinfo, game: Game, *, queue: bool) -> Card:
    """A student's homework, or what waits for a coach."""
    key = ("queue" if queue else "list") + ("" if page.views else "-none")
    groups = []
    if page.views:
        lines = tuple(_line(view, names, zone, queue) for view in page.views)
        groups.append(Group(say("homework-questions", "waits" if queue else "mine"), lines))
    groups.append(Group(say("homework-questions", "next"), (say("homework-next", key),)))
    return Card(say("homework", key), tuple(groups), (), source_of(game))


def homework_option(view: HomeworkView, names: Names, zone: tzinfo, *, queue: bool) -> str:
    """A homework in a list to pick from."""
    return cut(_line(view, names, zone, queue), CHOICE_CHARACTERS)


def same_card(view: HomeworkView, students: int, game: Game) -> Card:
    """Who else gets the same homework?"""
    what = whose_words(view.homework.subject)
    if not students:
        return Card(say("homework", "same-none", what=what), (), (), source_of(game))
    key = "same" if students <= CHOICES else "same-many"
    then = Group(say("homework-questions", "next"), (say("homework-next", key, shown=CHOICES),))
    return Card(say("homework", "same", what=what), (then,), (), source_of(game))


def notice_card(told: CoachNotice, names: Names, zone: tzinfo, game: Game) -> Card:
    """What is told unasked about a homework; its lead says what happened."""
    assert told.view is not None
    view, key = told.view, told.kind.value
    if told.kind is NoticeKind.EASIER_ANSWERED and view.homework.took_easier:
        key = f"{key}-took"
    to_coach = told.to != view.homework.student
    rest = homework_card(view, names, zone, game, to_coach=to_coach)
    return Card(say("notices", key, 60, **_facts(view.homework, names, zone)), rest.groups, (), rest.source)


def called_card(game: Game) -> Card:
    """What stands where others read it too: nothing private."""
    return Card(say("notices", "called"), (), (), source_of(game))


def _facts(kept: KeptHomework, names: Names, zone: tzinfo) -> dict[str, Fact]:
    return {
        "what": whose_words(kept.subject),
        "due": moment_words(kept.due_at, zone),
        "coach": member_name(names, kept.coach),
        "student": member_name(names, kept.student),
    }


def _what(kept: KeptHomework, names: Names, zone: tzinfo) -> Iterator[str]:
    facts = _facts(kept, names, zone)
    yield say("homework", "by", 60, **facts)
    yield say("homework", "target", target=target_words(kept.target))
    if kept.took_easier:
        yield say("homework", "took-easier")


def _far(view: HomeworkView) -> str:
    far = view.progress
    facts: dict[str, Fact] = {"landed": far.landed, "tries": far.tries, "missing": far.missing}
    if far.done:
        return say("homework-missing", "done-late" if far.late else "done", 60, **facts)
    if not far.tries:
        return say("homework-missing", "none")
    match view.homework.target:
        case CleanReps():
            kind = TargetKind.CLEAN_REPS
        case RateOver():
            kind = TargetKind.RATE
        case MatchAttempts():
            kind = TargetKind.MATCHES
    return say("homework-missing", kind.value, 60, **facts)


def _said(view: HomeworkView, names: Names) -> Iterator[str]:
    kept = view.homework
    coach, student = member_name(names, kept.coach), member_name(names, kept.student)
    if kept.note:
        yield say("homework", "note", coach=coach, note=kept.note)
    if kept.hand_in_note:
        yield say("homework", "handed-note", student=student, note=kept.hand_in_note)
    if kept.clip:
        yield say("homework", "clip", clip=kept.clip)
    for one in view.comments:
        at = say("homework", "whole") if one.at_seconds is None else _clip_time(one.at_seconds)
        yield say("homework", "comment", at=at, text=one.text)
    if kept.review_note:
        yield say("homework", "note", coach=coach, note=kept.review_note)
    if kept.asks_easier:
        yield say("homework", "asks-easier", student=student, easier=kept.easier)


def _clip_time(seconds: int) -> str:
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def _next(view: HomeworkView, to_coach: bool) -> str:
    kept = view.homework
    if kept.stage is Stage.ACCEPTED:
        return "coach-accepted" if to_coach else "student-accepted"
    if to_coach:
        if kept.asks_easier:
            return "coach-easier"
        return "coach-handed-in" if kept.stage is Stage.HANDED_IN else "coach-open"
    if not view.coached:
        return "student-alone"
    if kept.stage is Stage.HANDED_IN:
        return "student-handed-in"
    return "student-done" if view.progress.done else "student-open"


def _line(view: HomeworkView, names: Names, zone: tzinfo, queue: bool) -> str:
    status = say("homework-statuses", view.status.value)
    return say(
        "homework", "line-of" if queue else "line", 60, status=status, **_facts(view.homework, names, zone)
    )


def _not_set(done: HomeworkSet, names: Names, game: Game) -> Iterator[str]:
    for member_id, why in done.refused:
        student = called(names, member_id)
        yield say("homework", "not-set", student=student, why=coach_refusal_card(why, game).lead)
