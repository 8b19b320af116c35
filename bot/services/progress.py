"""How practice goes: one thing that is practised, or all of it, with the weeks behind it."""

from __future__ import annotations

import asyncio
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, tzinfo

from bot.ports import Clock
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import (
    Beside,
    Overview,
    PracticeRefusal,
    PracticeRefusalCode,
    Practised,
    SubjectProgress,
    WeekPoint,
)
from bot.results.tally import Mark, Subject, SubjectKind, Total
from bot.services.desk import AskDesk
from bot.services.evidence import called, kept_of, latest_subjects, practice
from bot.services.settings import SettingsBook
from bot.storage import tallies
from bot.storage.store import Store
from bot.words.moments import read_date
from core.learning.calendar import Week, day_of, days_in_a_row, weeks_in_a_row
from core.learning.contexts import by_context, training_to_match
from core.learning.owned import ownership
from core.learning.rates import Rate, interval
from core.learning.recency import recent_rate
from core.learning.spacing import next_practice
from core.learning.tally import Context, Tally
from core.model import Game
from core.verdict import Facts

MOST_TALLIES = 2_000
MOST_MARKS = 3_000
"""The latest tallies of one subject, and of everything, that are read: more would hold up the event loop."""
LOWEST_GOAL, HIGHEST_GOAL = 0.5, 0.99
_GOAL = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,4})?|\.[0-9]{1,4})\s*(%?)")


class ProgressService:
    """Tells a member how their practice goes, and holds them to the goal they set."""

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock

    async def of(
        self, place: Place, what: str | None, date: str | None = None
    ) -> SubjectProgress | Overview | PracticeRefusal | LogRefusal:
        """How one thing goes, as it was typed, or everything. `date` as typed: what to be ready for."""
        game = self._desk.game_of(place)
        today = day_of(self._clock.now(), self._book.zone(place.owner))
        target = read_target(game, date, today)
        if isinstance(target, PracticeRefusal):
            return target
        found = await (self._overview(place, game) if what is None else self._subject(place, what))
        if target is None or isinstance(found, PracticeRefusal | LogRefusal):
            return found
        return replace(found, next=next_practice(_last_day(found), target, today))

    async def set_goal(self, place: Place, typed: str, event_id: int | None) -> float | PracticeRefusal:
        """Set the rate from which this member calls something owned: "80", "80 %" or "0.8"."""
        goal = read_goal(typed)
        if goal is None:
            return PracticeRefusal(self._desk.game_of(place), PracticeRefusalCode.NO_GOAL, Facts(typed=typed))
        await self._book.change_member(place.owner, lambda chosen: replace(chosen, goal=goal), event_id)
        return goal

    async def _subject(self, place: Place, what: str) -> SubjectProgress | PracticeRefusal | LogRefusal:
        owner = place.owner
        async with self._store.read() as reading:
            found = await called(reading, self._desk, place, what)
            if isinstance(found, LogRefusal):
                return found
            kept = await kept_of(reading, owner, found.subject, MOST_TALLIES)
        if not kept:
            facts = Facts(what=found.subject.what)
            return PracticeRefusal(found.game, PracticeRefusalCode.NOT_PRACTISED, facts)
        zone = self._book.zone(owner)
        made = tuple(map(practice, kept))
        recent = recent_rate(made, self._clock.now())
        return SubjectProgress(
            found.game,
            found.subject,
            kept[0].subject_id,
            by_context(made),
            recent,
            ownership(recent, self._book.goal(owner)),
            training_to_match(made),
            week_points(made, zone),
            len(made),
            day_of(made[0].when, zone),
        )

    async def _overview(self, place: Place, game: Game) -> Overview | PracticeRefusal:
        owner = place.owner
        async with self._store.read() as reading:
            totals = await tallies.totals(reading, owner, game.name)
            marks = await tallies.marks(reading, owner, MOST_MARKS)
        if not totals:
            return PracticeRefusal(game, PracticeRefusalCode.NO_TALLIES)
        # In a thread: of a long log it takes long enough to hold up everybody else.
        return await asyncio.to_thread(
            _overview, game, totals, marks, self._book.goal(owner), self._book.zone(owner), self._clock.now()
        )


def _overview(
    game: Game,
    totals: Sequence[Total],
    marks: Sequence[Mark],
    goal: float,
    zone: tzinfo,
    now: datetime,
) -> Overview:
    subjects = latest_subjects(totals, marks)
    made: dict[int, list[Tally]] = defaultdict(list)
    for mark in marks:
        if mark.subject_id in subjects:
            made[mark.subject_id].append(practice(mark))
    moments = [mark.made_at for mark in marks]
    practised = [
        _practised(subject_id, subject, totals, made[subject_id], goal, zone, now)
        for subject_id, subject in subjects.items()
    ]
    by_hand = {one.subject_id: one.subject for one in practised if not _is_choice(one.subject)}
    return Overview(
        game,
        tuple(one for one in practised if one.subject_id in by_hand),
        days_in_a_row(moments, zone, now),
        weeks_in_a_row(moments, zone, now),
        sum(total.tries for total in totals if not _is_choice(total.subject)),
        week_points((tally for number in by_hand for tally in made[number]), zone),
        goal,
        tuple(_beside(by_hand, made)),
        choosing=tuple(one for one in practised if one.subject_id not in by_hand),
    )


def _is_choice(subject: Subject) -> bool:
    """Whether it is choosing, which is no practice of the hands."""
    return subject.kind is SubjectKind.CHOICE


def _practised(
    subject_id: int,
    subject: Subject,
    totals: Iterable[Total],
    made: Sequence[Tally],
    goal: float,
    zone: tzinfo,
    now: datetime,
) -> Practised:
    own = [total for total in totals if total.subject_id == subject_id]
    recent = recent_rate(made, now)
    return Practised(
        subject,
        subject_id,
        sum(total.tries for total in own),
        recent,
        ownership(recent, goal).owned,
        sum(total.tries for total in own if total.context.is_match),
        day_of(made[0].when, zone),
    )


def _beside(subjects: Mapping[int, Subject], made: Mapping[int, Sequence[Tally]]) -> Iterator[Beside]:
    """Training and matches of each subject that has been tried in both, the latest first."""
    for subject_id, subject in subjects.items():
        gap = training_to_match(made[subject_id])
        if gap.training.tries and gap.match.tries:
            told = (rate if isinstance(rate, Rate) else None for rate in (gap.training, gap.match))
            yield Beside(subject.what, *told)


def week_points(made: Iterable[Tally], zone: tzinfo) -> tuple[WeekPoint, ...]:
    """The tries of each ISO week of this zone, those of training (alone, unhurried) and those of matches
    (ranked and tournament) apart, in the order of time. Reaction drills and sparring are neither."""
    counts: dict[tuple[Week, bool], tuple[int, int]] = {}
    for tally in made:
        if tally.context is Context.TRAINING or tally.context.is_match:
            key = Week.of(day_of(tally.when, zone)), tally.context.is_match
            tries, landed = counts.get(key, (0, 0))
            counts[key] = tries + tally.tries, landed + tally.landed
    return tuple(
        WeekPoint(week, in_match, tries, landed, *interval(landed, tries))
        for (week, in_match), (tries, landed) in sorted(counts.items())
    )


def read_target(game: Game, typed: str | None, today: date) -> date | PracticeRefusal | None:
    """The date to be ready for, as it was typed; None where none was."""
    if typed is None:
        return None
    target = read_date(typed, today)
    if target is None:
        return PracticeRefusal(game, PracticeRefusalCode.NO_DATE, Facts(typed=typed))
    if target < today:
        return PracticeRefusal(game, PracticeRefusalCode.DATE_OVER, Facts(typed=typed))
    return target


def read_goal(typed: str) -> float | None:
    """A rate from 50 to 99 %; None for anything else.

    >>> read_goal("80"), read_goal("80 %"), read_goal("0.8"), read_goal("100"), read_goal("most")
    (0.8, 0.8, 0.8, None, None)
    """
    found = _GOAL.fullmatch(typed.strip())
    if found is None:
        return None
    number, sign = found.groups()
    goal = float(number) if not sign and float(number) < 1 else float(number) / 100
    return goal if LOWEST_GOAL <= goal <= HIGHEST_GOAL else None


def _last_day(found: SubjectProgress | Overview) -> date | None:
    if isinstance(found, SubjectProgress):
        return found.last_day
    return max((one.last_day for one in found.practised), default=None)
