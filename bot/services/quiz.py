"""The quiz: a starter lands, and the member chooses what they do. It trains choosing, not hands."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

from bot.ports import Clock
from bot.results.conversion import (
    ConversionRefusal,
    ConversionRefusalCode,
    Outcome,
    Question,
    QuizAnswer,
)
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.tally import KeptConversion, SavedRoute, Subject, SubjectKind, Tally
from bot.services.conversions import gone_situation, judge, route_of, situation_of
from bot.services.desk import AskDesk
from bot.services.subjects import read_moves
from bot.storage import conversions, routes, tallies
from bot.storage.store import Store, Writing
from core.learning.choosing import Asked, answered, choices, in_order
from core.learning.tally import Context
from core.model import Game

LIMIT_SECONDS = 3
SHORTEST_SECONDS, LONGEST_SECONDS = 2, 15
"""How long an answer may take: from when it was asked, so that a slow connection needs more."""
MOST_JUDGED = 8
"""So many routes that no longer work are passed over to find one to ask about."""


class QuizService:
    """Asks a member about their own conversions. One question is open at a time, kept where a restart does
    not lose it."""

    def __init__(self, store: Store, desk: AskDesk, clock: Clock) -> None:
        self._store = store
        self._desk = desk
        self._clock = clock

    async def ask(
        self, place: Place, event_id: int, limit_seconds: int = LIMIT_SECONDS
    ) -> Question | ConversionRefusal:
        """Ask about the conversion whose turn it is. The order of the answers is drawn by the event."""
        game, owner = self._desk.game_of(place), place.owner
        limit_seconds = min(LONGEST_SECONDS, max(SHORTEST_SECONDS, limit_seconds))
        async with self._store.write(event_id) as writing:
            kept = await conversions.listed(writing, owner, game.name)
            saved = await routes.listed(writing, owner, game.name)
            asked = await conversions.open_question(writing, owner) if writing.repeated else None
            if writing.repeated and asked is None:
                return ConversionRefusal(game, ConversionRefusalCode.OVER)
            if asked is None:
                turn = self._turn(place, game, kept, saved)
                if isinstance(turn, ConversionRefusal):
                    return turn
                offered = _offered(turn, saved, random.Random(event_id))
                asked = await conversions.ask(writing, owner, turn, offered, self._clock.now())
        about, by_id = asked.conversion, {route.id: route for route in saved}
        return Question(
            game,
            asked.id,
            about,
            situation_of(game, about) or gone_situation(about.situation),
            tuple(by_id[number] for number in asked.route_ids if number in by_id),
            limit_seconds,
            about.due_at is not None and about.due_at > asked.asked_at,
        )

    async def answer(
        self, place: Place, question_id: int, route_id: int, limit_seconds: int, event_id: int
    ) -> QuizAnswer | ConversionRefusal:
        """Take the answer to the open question, and log it as practice of choosing. A question that is over,
        of somebody else, or answered already takes none."""
        owner, now = place.owner, self._clock.now()
        limit_seconds = min(LONGEST_SECONDS, max(SHORTEST_SECONDS, limit_seconds))
        async with self._store.write(event_id) as writing:
            asked = None if writing.repeated else await conversions.open_question(writing, owner)
            if asked is None or asked.id != question_id or route_id not in asked.route_ids:
                return ConversionRefusal(self._desk.game_of(place), ConversionRefusalCode.OVER)
            about = asked.conversion
            game = self._desk.game_named(place.server_id, about.game) or self._desk.game_of(place)
            seconds = (now - asked.asked_at).total_seconds()
            right, in_time = route_id == about.route.id, seconds <= limit_seconds
            step, due_at = answered(about.step, right, seconds, limit_seconds, now, about.due_at)
            await conversions.answered(writing, asked, step, due_at)
            tally = Tally(
                Subject(about.game, about.character, SubjectKind.CHOICE, choice_of(about)),
                now,
                tries=1,
                landed=int(right and in_time),
                context=Context.REACTION,
                game_version=game.version,
            )
            await tallies.add(writing, owner, tally, event_id, now)
            chosen = await routes.get(writing, owner, route_id)
            subject_id = await self._enter(writing, place, game, about.route)
        outcome = Outcome.WRONG if not right else Outcome.RIGHT if in_time else Outcome.SLOW
        return QuizAnswer(
            game,
            about,
            situation_of(game, about) or gone_situation(about.situation),
            outcome,
            seconds,
            limit_seconds,
            due_at,
            now,
            chosen,
            subject_id,
        )

    def _turn(
        self, place: Place, game: Game, kept: Sequence[KeptConversion], saved: Sequence[SavedRoute]
    ) -> KeptConversion | ConversionRefusal:
        """Whose turn it is of those that have something to be mistaken for and that still work."""
        if not kept:
            return ConversionRefusal(game, ConversionRefusalCode.NO_CONVERSIONS)
        asked = {one.id: one for one in kept if _others(one, saved)}
        if not asked:
            return ConversionRefusal(game, ConversionRefusalCode.ONE_ROUTE)
        cards = [Asked(one.id, one.step, one.due_at) for one in asked.values()]
        for card in in_order(cards, self._clock.now())[:MOST_JUDGED]:
            if self._works(place, game, asked[card.number]):
                return asked[card.number]
        return ConversionRefusal(game, ConversionRefusalCode.NONE_WORKS)

    def _works(self, place: Place, game: Game, kept: KeptConversion) -> bool:
        who, situation = game.character(kept.character), situation_of(game, kept)
        route = route_of(game, kept.route, self._desk.controls_of(place))
        if who is None or situation is None or route is None:
            return False
        return route.steps[0].move.input == kept.starter and judge(game, who, route, situation).works

    async def _enter(self, writing: Writing, place: Place, game: Game, route: SavedRoute) -> int:
        """The route's number in the member's log; 0 where the game's file lacks its moves."""
        who = game.character(route.character)
        found = read_moves(game, who, route.notation, self._desk.controls_of(place)) if who else None
        if found is None or isinstance(found, LogRefusal):
            return 0
        _, number = await tallies.enter_subject(writing, place.owner, found.subject)
        return number


def choice_of(kept: KeptConversion) -> str:
    """What is practised where this conversion is chosen: a starter and a situation."""
    return f"{kept.starter}, {kept.situation}"


def _others(kept: KeptConversion, saved: Sequence[SavedRoute]) -> list[SavedRoute]:
    """Other routes of the same character, each sequence of moves once."""
    found: Mapping[str, SavedRoute] = {
        route.notation: route for route in saved if route.character == kept.character
    }
    return [route for notation, route in found.items() if notation != kept.route.notation]


def _offered(kept: KeptConversion, saved: Sequence[SavedRoute], chance: random.Random) -> tuple[int, ...]:
    """The numbers of the routes to choose between: those that begin with the same move first, for they are
    the likeliest to be mistaken for it."""
    others = _others(kept, saved)
    alike = [route.id for route in others if _begins(route) == _begins(kept.route)]
    rest = [route.id for route in others if route.id not in alike]
    return choices(kept.route.id, alike, rest, lambda ids: chance.sample(ids, len(ids)))


def _begins(route: SavedRoute) -> str:
    return route.notation.split(",")[0].split(" ")[-1]
