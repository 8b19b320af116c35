"""An easier route in a homework's place: the same first move, and it lands more often with these hands."""

from __future__ import annotations

from bot.results.coaching import CoachRefusal, CoachRefusalCode, EasierRoute, HomeworkView
from bot.results.finding import Finding, Wanted
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.route import OpenRoute
from bot.services.homework import HomeworkService
from bot.services.opening import RouteOpener
from bot.services.route_finder import RouteFinder
from bot.services.subjects import as_subject
from core.notation import format_step
from core.routes import Aim, reliability
from core.timing import RouteChance

NO_EASIER = CoachRefusal(CoachRefusalCode.NO_EASIER)
LEAST_GAIN = 0.02
"""By so much more often it has to land to be called easier; a guess."""


class EasierService:
    """For the student of a homework alone. What is proposed is looked for again when it is asked for, so that
    no button carries a route."""

    def __init__(self, homework: HomeworkService, opener: RouteOpener, finder: RouteFinder) -> None:
        self._homework = homework
        self._opener = opener
        self._finder = finder

    async def propose(self, place: Place, homework_id: int) -> EasierRoute | CoachRefusal:
        """The surest route that begins as the homework's does; NO_EASIER where that lands about as often
        already, and for what is no route."""
        number = await self._homework.subject_number(place, homework_id)
        home = await self._homework.student_place(place, homework_id)
        view = await self._homework.one(place, homework_id)
        for refusal in (number, home, view):
            if isinstance(refusal, CoachRefusal):
                return refusal
        assert isinstance(number, int)
        assert isinstance(home, Place)
        assert isinstance(view, HomeworkView)
        opened = await self._opener.numbered(home, number)
        if isinstance(opened, LogRefusal):
            return NO_EASIER
        who, first = opened.check.character.name, format_step(opened.check.route.steps[0])
        found = await self._finder.find(home, Wanted(f"{who}: {first}", Aim.RELIABLE), None)
        return NO_EASIER if isinstance(found, LogRefusal) else _easier(view, opened, found)

    async def ask(self, place: Place, homework_id: int, event_id: int) -> HomeworkView | CoachRefusal:
        """Ask the coach for what is proposed now."""
        proposed = await self.propose(place, homework_id)
        if isinstance(proposed, CoachRefusal):
            return proposed
        return await self._homework.ask_easier(place, homework_id, proposed.what, event_id)


def _easier(view: HomeworkView, opened: OpenRoute, found: Finding) -> EasierRoute | CoachRefusal:
    """The surest of what was found, where it is easier."""
    now = reliability(opened.check, opened.hands.spread, opened.hands.bias_frames)
    lands = now.whole if isinstance(now, RouteChance) else 0.0  # it fails as it is
    for choice in sorted(found.routes, key=lambda one: -one.chance):
        written = as_subject(found.game, found.character, choice.route)
        if isinstance(written, LogRefusal) or written.subject.what == view.homework.subject.what:
            continue
        if choice.chance >= lands + LEAST_GAIN:
            return EasierRoute(view, written.subject.what, choice.chance, lands, choice.damage)
    return NO_EASIER
