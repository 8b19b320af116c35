"""Where a chat asks: the game of each server, each member's defaults, and what "it" stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rapidfuzz import process

from bot.ports import Clock
from bot.results.ask import (
    QUESTION_CHARACTERS,
    Asked,
    Kind,
    Named,
    OtherGame,
    Phrase,
    Question,
    Refusal,
    Said,
    UnknownName,
    Welcome,
)
from bot.results.key import QuestionKey, tag_of
from bot.results.place import Place
from bot.services.ask import AskService
from bot.services.asker import Asker, Recent
from bot.services.complete import complete_moves, complete_names
from bot.services.keys import choice_keys, key_of, plain_question, question_of
from bot.services.memory import Memory
from bot.services.next import next_questions
from bot.services.settings import SettingsBook
from core.model import Character, ContactKind, Game, Move

NEAR_GAMES = 3
TAKES_BACK = "none"
"""What is typed to have no character or controls of one's own again."""


class AskDesk:
    """Answers members of many servers, each about the server's own game.

    `games` by name; a server that chose none has `default_game`. `book` holds which game a server chose,
    and a member's own character and controls. The last moves that a member asked about in a channel are
    remembered for ten minutes.
    """

    def __init__(
        self, games: Mapping[str, Game], default_game: str, clock: Clock, book: SettingsBook
    ) -> None:
        self._services = {game.name: AskService(game) for game in games.values()}
        self._called = {name: game.name for name, game in games.items()}
        self._default = games[default_game].name
        self._book = book
        self._memory = Memory(clock)

    def ask(self, place: Place, text: str) -> Asked | Refusal:
        """The answer to a question in plain words."""
        character = self.character_of(place)
        return self._kept(
            place,
            self._service(place).ask(
                text,
                character.name if character else None,
                self.controls_of(place),
                self._memory.recall(place),
            ),
        )

    def about(
        self,
        place: Place,
        kind: Kind,
        first: str,
        second: str | None = None,
        *,
        character: str | None = None,
        contact: ContactKind | None = None,
        state: str | None = None,
        delay_frames: int | None = None,
        mine: str | None = None,
    ) -> Asked | Refusal:
        """The answer to a question of this kind about moves as they were typed. `character` is whose
        moves they are, `mine` who is to punish; the asker's own stands in where none is given. A move may
        name its owner too: "Mirrel's 2HK"."""
        service = self._service(place)
        if max(len(first), len(second or ""), len(state or "")) > QUESTION_CHARACTERS:
            return service.too_long(first, self.character_of(place))
        (one, bare), (other, second_bare) = map(service.finder.owned, (first, second or ""))
        if character is None and (owner := one or other) is not None:
            character = owner.name
        whose = service.finder.character(character) if character is not None else None
        first = bare if one is whose else first
        second = second_bare if second is not None and other is whose else second
        known_state = service.finder.state(state) if state is not None else None
        said = Said(
            contact=ContactKind.HIT if known_state is not None else contact,
            state=known_state,
            delay_frames=delay_frames,
        )
        return self._settle(place, plain_question(kind, first, second, said), character, mine)

    def again(self, place: Place, key: QuestionKey) -> Asked | Refusal:
        """The answer to the question of a button, from the server's present game."""
        service = self._service(place)
        question = question_of(key)
        if key.game != tag_of(service.game.name):
            return OtherGame(service.game, question.text)
        return self._settle(place, question, key.character or None, key.mine)

    def next_questions(self, asked: Asked) -> tuple[QuestionKey, ...]:
        """The natural next questions, at most four."""
        return next_questions(asked)

    def choices(self, refusal: Refusal, place: Place | None = None) -> tuple[QuestionKey, ...]:
        """One key for each thing that a name may mean, or that a refusal offers, in order; empty
        where no choice settles it. `place`: where the asker's own character is to be counted in."""
        return choice_keys(refusal, self._asker(place) if place else Asker())

    def complete_move(self, place: Place, typed: str, character: str | None = None) -> tuple[Move, ...]:
        """Moves that the text may become, at most 25, best first: of this character, else of the
        member's own, else of everybody."""
        service = self._service(place)
        named = service.finder.character(character) if character else None
        own = named or self.character_of(place)
        return complete_moves(service.game, (own,) if own else service.game.characters, typed)

    def complete_character(self, place: Place, typed: str) -> tuple[str, ...]:
        """Characters of the server's game that the text may become, at most 25, best first."""
        people = self.game_of(place).characters
        return complete_names([(who.name, (who.name, *who.aliases)) for who in people], typed)

    def complete_game(self, typed: str) -> tuple[str, ...]:
        """Games that the text may become, at most 25, best first."""
        return complete_names([(name, (name,)) for name in self._services], typed)

    async def choose_own(
        self, place: Place, character: str | None, controls: str | None, event_id: int | None = None
    ) -> UnknownName | None:
        """Choose the member's own character and controls as they were typed: what is None is left as it is,
        `TAKES_BACK` takes a choice back. A name that is not known is refused, and then nothing is changed."""
        service, settings = self._service(place), self._book.member(place.owner)
        if character is not None:
            who = None if _takes_back(character) else service.finder.character(character)
            if who is None and not _takes_back(character):
                return service.unknown_character(character, character)
            settings = replace(settings, character=who.name if who else None)
        if controls is not None:
            scheme = None if _takes_back(controls) else service.finder.scheme(controls)
            if scheme is None and not _takes_back(controls):
                return service.finder.unknown_scheme(controls, controls)
            settings = replace(settings, setup=replace(settings.setup, controls=scheme))
        if settings != self._book.member(place.owner):
            await self._book.set_member(place.owner, settings, event_id)
        return None

    def character_of(self, place: Place) -> Character | None:
        """The member's own character; None where none is chosen, or the server's game lacks it."""
        name = self._book.member(place.owner).character
        return self._service(place).finder.character(name) if name is not None else None

    def character_named(self, place: Place, typed: str) -> Character | None:
        """The character of the server's game that is called so."""
        return self._service(place).finder.character(typed)

    def controls_of(self, place: Place) -> str | None:
        """The member's own control scheme; None where none is chosen, or the server's game lacks it."""
        name = self._book.member(place.owner).setup.controls
        return self._service(place).finder.scheme(name) if name is not None else None

    async def choose_game(self, place: Place, name: str, event_id: int | None = None) -> Game | UnknownName:
        """Choose the game of a server (not of direct messages); refused where there is none of this name."""
        assert place.server_id is not None
        wanted = name.strip().casefold()
        for called in (*self._services, *self._called):
            if called.casefold() == wanted:
                chosen = self._called.get(called, called)
                settings = replace(self._book.server(place.server_id), game=chosen)
                await self._book.set_server(place.server_id, settings, event_id)
                return self._services[chosen].game
        near = process.extract(name[:QUESTION_CHARACTERS], list(self._services), limit=NEAR_GAMES)
        names = tuple(found for found, _, _ in near)
        return UnknownName(self.game_of(place), name, Named.GAME, name, None, names, ())

    @property
    def games(self) -> Mapping[str, Game]:
        """Every game, by its name."""
        return {name: service.game for name, service in self._services.items()}

    def game_named(self, name: str) -> Game | None:
        """The game of this very name."""
        service = self._services.get(name)
        return service.game if service else None

    def game_of(self, place: Place) -> Game:
        """The server's game."""
        return self._service(place).game

    def welcome(self, place: Place) -> Welcome:
        """The server's game and questions to try, about the member's own character where chosen."""
        service, own = self._service(place), self.character_of(place)
        return Welcome(service.game, service.examples(own, named=own is None))

    def tries(self, place: Place) -> tuple[QuestionKey, ...]:
        """The keys of the questions that a welcome gives to try."""
        service, own = self._service(place), self.character_of(place)
        name = own.name if own else None
        answers = [service.ask(text, name) for text in self.welcome(place).examples]
        return tuple(key_of(answer) for answer in answers if isinstance(answer, Asked))

    def _service(self, place: Place) -> AskService:
        chosen = self._book.server(place.server_id).game
        return self._services.get(chosen or self._default, self._services[self._default])

    def _asker(self, place: Place) -> Asker:
        return Asker(self.character_of(place), self.controls_of(place), None, self._memory.recall(place))

    def _settle(
        self, place: Place, question: Question, character: str | None, mine: str | None
    ) -> Asked | Refusal:
        """The answer to a question about this character's moves; `mine` as in QuestionKey."""
        service, asker = self._service(place), self._asker(place)
        people: list[Character | None] = []
        for name in (character, mine):
            who = service.finder.character(name) if name is not None else None
            if name is not None and who is None:
                return service.unknown_character(question.text, name)
            people.append(who)
        owner, other = people
        if question.kind is Kind.PUNISH:
            asker = replace(asker, owner=owner, mine=other or asker.mine)
        else:
            asker = replace(asker, owner=owner)
            if other is not None:
                theirs = Phrase(other.name, 0, 0)
                question = replace(question, said=replace(question.said, theirs=theirs))
        return self._kept(place, service.settle(question, asker))

    def _kept(self, place: Place, result: Asked | Refusal) -> Asked | Refusal:
        """The result, its moves remembered."""
        if isinstance(result, Asked):
            inputs = tuple(move.input for move in result.moves)
            self._memory.remember(place, Recent(result.game.name, result.character.name, inputs))
        return result


def _takes_back(typed: str) -> bool:
    return typed.strip().casefold() == TAKES_BACK
