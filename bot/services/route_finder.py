"""Looking for routes: few to choose from, and the next one up from what a member owns."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.ports import Clock, Worker, WorkerError
from bot.results.finding import (
    Choice,
    Finding,
    Lesson,
    NextUp,
    NothingNext,
    Wanted,
)
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.route import KnownHands
from bot.results.tally import Subject, SubjectKind
from bot.services.choices import as_choice, with_roles
from bot.services.desk import AskDesk
from bot.services.evidence import latest_subjects, practice
from bot.services.hands import TimingService
from bot.services.opening import RouteOpener, begun
from bot.services.route_options import NONE, Asked, read_wanted
from bot.services.settings import SettingsBook
from bot.services.subjects import as_subject, found_of
from bot.storage import tallies
from bot.storage.store import Store
from core.learning.owned import ownership
from core.learning.recency import recent_rate
from core.learning.tally import Tally
from core.model import Character, Game
from core.notation import Route, format_step
from core.routes import Aim, Found, NextStep, Query, check, find, next_step, reliability
from core.timing import RouteChance, Spread
from core.verdict import Verdict

NEXT_BUDGET = 6_000
"""Labels of each of the up to six searches for the next route."""
MOST_MARKS = 3_000
"""The latest tallies among which what is owned is looked for."""
FAILED = LogRefusal(LogRefusalCode.NOT_FOUND_IN_TIME)


@dataclass(frozen=True, slots=True)
class Looked:
    """What a search found, and for each route the chance of its presses; None where that is not known."""

    found: Found
    chances: tuple[RouteChance | None, ...]


def look(game: Game, character: Character, query: Query, spread: Spread, bias_frames: float) -> Looked:
    """The search, and its routes as these hands play them. Slow: it is run in a worker."""
    found = find(game, character, query)
    chances = (
        reliability(check(game, character, one.route, query.start), spread, bias_frames)
        for one in found.routes
    )
    return Looked(found, tuple(None if isinstance(one, Verdict) else one for one in chances))


def look_up(game: Game, character: Character, owned: Sequence[Route], query: Query) -> NextStep | None:
    """One step up from the owned routes: without any gauge where there is one, for that can be done every
    time; else with all of it. Slow: it is run in a worker."""
    free = replace(query, spend=tuple((gauge.name, 0) for gauge in game.gauges))
    return next_step(game, character, owned, free) or next_step(game, character, owned, query)


class RouteFinder:
    """Finds routes for a member's hands, in a worker. Each route that is given gets a number in the member's
    log, which buttons and lists carry. A search that fails or takes too long is a refusal."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        book: SettingsBook,
        clock: Clock,
        timing: TimingService,
        opener: RouteOpener,
        worker: Worker,
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._timing = timing
        self._opener = opener
        self._worker = worker

    async def find(
        self, place: Place, wanted: Wanted, event_id: int | None, own_hands: bool = True
    ) -> Finding | LogRefusal:
        """Routes for what is wanted. `event_id`: None where more of the same event is stored after it.
        `own_hands`: by the member's log; else by typical hands."""
        known = await self._timing.hands(place) if own_hands else KnownHands()
        return await self._find(place, wanted, event_id, known)

    async def find_from(self, place: Place, subject_id: int, event_id: int) -> Finding | LogRefusal:
        """Routes from the first move of the one with this number, that land most on average."""
        opened = await self._opener.numbered(place, subject_id)
        if isinstance(opened, LogRefusal):
            return opened
        first = opened.check.route.steps[0]
        starter = f"{opened.check.character.name}: {format_step(first)}"
        return await self.find(place, Wanted(starter, Aim.EXPECTED), event_id)

    async def next(self, place: Place, starter: str, event_id: int) -> NextUp | NothingNext | LogRefusal:
        """The next route to learn, from this starter or, where empty, from any of the own character's."""
        return await self._next(place, starter, event_id, await self._timing.hands(place))

    async def learn(
        self, place: Place, starter: str, event_id: int, own_hands: bool = True
    ) -> Lesson | LogRefusal:
        """What to learn from this starter: routes that land most on average, and the next one up.

        They cost no gauge where there is one that does not, for those can be done every time. `own_hands`:
        what the member's log says is used, which others should not see.
        """
        known = await self._timing.hands(place) if own_hands else KnownHands()
        wanted = Wanted(starter, Aim.EXPECTED, gauge=NONE)
        found = await self._find(place, wanted, event_id, known)
        if isinstance(found, Finding) and not found.routes:
            found = await self._find(place, replace(wanted, gauge=""), event_id, known)
        if isinstance(found, LogRefusal):
            return found
        if not own_hands or not found.routes:
            return Lesson(found)
        up = await self._next(place, starter, event_id, known)
        return Lesson(found, None if isinstance(up, LogRefusal) else up)

    async def _find(
        self, place: Place, wanted: Wanted, event_id: int | None, known: KnownHands
    ) -> Finding | LogRefusal:
        game = self._desk.game_of(place)
        asked = self._asked(place, wanted, known)
        if isinstance(asked, LogRefusal):
            return asked
        try:
            looked = await self._worker.run(
                look, game, asked.character, asked.query, known.spread, known.bias_frames
            )
        except WorkerError:
            return FAILED
        return await self._finding(place, game, asked, known, looked, event_id)

    async def _next(
        self, place: Place, starter: str, event_id: int, known: KnownHands
    ) -> NextUp | NothingNext | LogRefusal:
        game = self._desk.game_of(place)
        asked = self._asked(place, Wanted(starter), known)
        if isinstance(asked, LogRefusal):
            return asked
        who = asked.character
        owned = await self._owned(place, game, who)
        try:
            step = await self._worker.run(look_up, game, who, owned, replace(asked.query, budget=NEXT_BUDGET))
        except WorkerError:
            return FAILED
        nothing = NothingNext(game, who, asked.starter, len(owned))
        if step is None:
            return nothing
        (number,) = await self._entered(place, game, asked, [step.route.route], event_id)
        opened = await self._opener.numbered(place, number)
        return nothing if isinstance(opened, LogRefusal) else NextUp(opened, step, len(owned))

    def _asked(self, place: Place, wanted: Wanted, known: KnownHands) -> Asked | LogRefusal:
        game, own = self._desk.game_of(place), self._desk.character_of(place)
        return read_wanted(game, own, wanted, self._desk.controls_of(place), known)

    async def _finding(
        self, place: Place, game: Game, asked: Asked, known: KnownHands, looked: Looked, event_id: int | None
    ) -> Finding:
        found = looked.found
        numbers = await self._entered(place, game, asked, [one.route for one in found.routes], event_id)
        choices = [
            replace(as_choice(game, asked, one, chance), subject_id=number)
            for one, chance, number in zip(found.routes, looked.chances, numbers, strict=True)
        ]
        return finding_of(game, asked, known, found, choices)

    async def _entered(
        self, place: Place, game: Game, asked: Asked, routes: Sequence[Route], event_id: int | None
    ) -> list[int]:
        """The number of each route in the member's log; 0 for one too long to be kept."""
        numbers, start = [], asked.query.start
        async with self._store.write(event_id) as writing:
            for route in routes:
                whole = begun(route, start.state, start.active_frame)
                written = as_subject(game, asked.character, whole)
                if isinstance(written, LogRefusal):
                    numbers.append(0)
                else:
                    _, number = await tallies.enter_subject(writing, place.owner, written.subject)
                    numbers.append(number)
        return numbers

    async def _owned(self, place: Place, game: Game, who: Character) -> tuple[Route, ...]:
        """The links and routes of this character that the member lands often enough of late."""
        async with self._store.read() as reading:
            totals = await tallies.totals(reading, place.owner, game.name)
            marks = await tallies.marks(reading, place.owner, MOST_MARKS)
        now, goal = self._clock.now(), self._book.goal(place.owner)
        made: dict[int, list[Tally]] = defaultdict(list)
        for mark in marks:
            made[mark.subject_id].append(practice(mark))
        routes = []
        for number, subject in latest_subjects(totals, marks).items():
            if not _is_route_of(subject, who):
                continue
            if ownership(recent_rate(made[number], now), goal).owned:
                found = found_of(self._desk, place.server_id, subject, self._desk.controls_of(place))
                if found is not None and found.route is not None:
                    routes.append(found.route)
        return tuple(routes)


def finding_of(
    game: Game, asked: Asked, known: KnownHands, found: Found, choices: Sequence[Choice]
) -> Finding:
    """What is told of a search, with few of its routes chosen to be offered."""
    return Finding(
        game,
        asked.character,
        asked.starter,
        asked.query.aim,
        asked.query.start,
        known,
        asked.query.most_moves,
        with_roles(choices, asked.query.aim),
        asked.query.spend,
        asked.limits,
        found.left_out,
        found.complete,
    )


def _is_route_of(subject: Subject, who: Character) -> bool:
    return subject.character == who.name and subject.kind in (SubjectKind.LINK, SubjectKind.ROUTE)
