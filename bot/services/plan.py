"""A session for the minutes that a member has, made from their own log."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import time
from itertools import pairwise

from bot.ports import Clock
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import PlannedSession, PracticeRefusal, PracticeRefusalCode
from bot.results.tally import Subject, SubjectKind
from bot.services.desk import AskDesk
from bot.services.evidence import called, kept_of, latest_subjects, skill
from bot.services.progress import read_target
from bot.services.settings import SettingsBook
from bot.services.subjects import Found, found_of, windows_of
from bot.storage import tallies
from bot.storage.store import Reading, Store
from core.learning.calendar import day_of, moment_of
from core.learning.plan import Skill, plan, weakest_first
from core.learning.spacing import next_practice
from core.model import Means
from core.notation import Route, format_route

MOST_OTHERS = 2
"""How many more routes are mixed in."""
MOST_MARKS = 500
"""The latest tallies among which routes to practise are looked for."""
MOST_TALLIES = 100
"""The latest tallies of one link that are read."""


class PlanService:
    """Plans around what is named; else around the route practised last, else the link practised last."""

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock

    async def of(
        self, place: Place, minutes: int, what: str | None = None, date: str | None = None
    ) -> PlannedSession | PracticeRefusal | LogRefusal:
        """The session for `minutes` (at least 1) at `what` as it was typed. `date` as typed: what to be ready
        for."""
        game, owner = self._desk.game_of(place), place.owner
        now, zone = self._clock.now(), self._book.zone(owner)
        today = day_of(now, zone)
        target = read_target(game, date, today)
        if isinstance(target, PracticeRefusal):
            return target
        async with self._store.read() as reading:
            practised = await self._practised(reading, place)
            found = (
                _to_practise(practised) if what is None else await called(reading, self._desk, place, what)
            )
            if found is None:
                return PracticeRefusal(game, PracticeRefusalCode.NO_ROUTE)
            if isinstance(found, LogRefusal):
                return found
            skills = await self._skills(reading, place, found)
            last = await kept_of(reading, owner, found.subject, 1)
            reps_today = await tallies.tries_since(reading, owner, moment_of(today, time(), zone))
        session = plan(minutes, found.subject.what, skills, _others(found, practised), reps_today=reps_today)
        last_day = day_of(last[0].tally.made_at, zone) if last else None
        return PlannedSession(
            found.game,
            found.subject,
            minutes,
            session,
            next((link.what for link in weakest_first(skills) if link.tries), None),
            None if target is None else next_practice(last_day, target, today),
        )

    async def _practised(self, reading: Reading, place: Place) -> tuple[Found, ...]:
        """What the member practises that the present game file has, the latest first."""
        game = self._desk.game_of(place).name
        totals = await tallies.totals(reading, place.owner, game)
        marks = await tallies.marks(reading, place.owner, MOST_MARKS, by_hand=True)
        subjects = latest_subjects(totals, marks).values()
        found = (found_of(self._desk, place.server_id, subject) for subject in subjects)
        return tuple(one for one in found if one is not None)

    async def _skills(self, reading: Reading, place: Place, found: Found) -> tuple[Skill, ...]:
        """The presses of what is to be practised that need slow work, each with the member's record at it
        alone."""
        skills: dict[str, Skill] = {}
        for subject in _alone(found):
            if subject.what not in skills:
                kept = await kept_of(reading, place.owner, subject, MOST_TALLIES)
                skills[subject.what] = skill(subject.what, kept, self._clock.now())
        return tuple(skills.values())


def _alone(found: Found) -> Iterator[Subject]:
    """Each link of a route as a subject of its own, in the route's order; its cancels where it has no link,
    for a cancel may be buffered at once, and a link has to be timed. None of a drill."""
    if found.route is None:
        return
    steps = windows_of(found)
    timed = Means.LINK if any(step.means is Means.LINK for step, _ in steps) else Means.CANCEL
    for (before, after), (step, _) in zip(pairwise(found.route.steps), steps, strict=True):
        if step.means is timed:
            kind = SubjectKind.LINK if step.means is Means.LINK else SubjectKind.ROUTE
            what = format_route(Route((replace(before, joined=None), replace(after, joined=step.means))))
            yield replace(found.subject, kind=kind, what=what)


def _to_practise(practised: Sequence[Found]) -> Found | None:
    """The latest route, else the latest link. A drill in words has no order to plan."""
    kinds = SubjectKind.ROUTE, SubjectKind.LINK
    return next((one for kind in kinds for one in practised if one.subject.kind is kind), None)


def _others(found: Found, practised: Sequence[Found]) -> tuple[str, ...]:
    """The latest other routes of the same character: nobody changes characters within a session."""
    others = [
        one.subject.what
        for one in practised
        if one.subject.kind is SubjectKind.ROUTE
        and one.subject.character == found.subject.character
        and one.subject != found.subject
    ]
    return tuple(others[:MOST_OTHERS])
