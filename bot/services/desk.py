"""Where a chat asks: the game of each channel, each member's defaults, and what "it" stands for."""

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
from bot.results.tally import MemberSettings
from bot.services.ask import AskService
from bot.services.asker import Asker, Recent
from bot.services.complete import complete_moves, complete_names
from bot.services.game_book import GameBook, Held
from bot.services.keys import choice_keys, key_of, plain_question, question_of
from bot.services.memory import Memory
from bot.services.next import next_questions
from bot.services.settings import SettingsBook
from core.model import Character, ContactKind, Game, Move

NEAR_GAMES = 3
TAKES_BACK = "none"
"""What is typed to have no character or controls of one's own again."""


class AskDesk:
    """Answers members of many servers, each about the game of the channel.

    `games` holds the games, and which of them a channel is about; where nothing was chosen it is
    `default_game`, one of the host's. `book` holds a member's own character and controls. The last moves that
    a member asked about in a channel are remembered for ten minutes.
    """

    def __init__(self, book: SettingsBook, games: GameBook, default_game: str, clock: Clock) -> None:
        default = games.named(None, default_game)
        if default is None:
            raise LookupError(f"The host has no game called {default_game}.")
        self._default = default
        self._games = games
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
        """The answer to the question of a button, from the present version of the channel's game."""
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
        """Characters of the channel's game that the text may become, at most 25, best first."""
        people = self.game_of(place).characters
        return complete_names([(who.name, (who.name, *who.aliases)) for who in people], typed)

    def complete_game(self, place: Place, typed: str) -> tuple[str, ...]:
        """Games of the server that the text may become, at most 25, best first."""
        return complete_names([(name, (name,)) for name in self._games.names(place.server_id)], typed)

    async def choose_own(
        self, place: Place, character: str | None, controls: str | None, event_id: int | None = None
    ) -> UnknownName | None:
        """Choose the member's own character and controls as they were typed: what is None is left as it is,
        `TAKES_BACK` takes a choice back. A name that is not known is refused, and then nothing is changed."""
        service = self._service(place)
        who: Character | None = None
        scheme: str | None = None
        if character is not None:
            who = None if _takes_back(character) else service.finder.character(character)
            if who is None and not _takes_back(character):
                return service.unknown_character(character, character)
        if controls is not None:
            scheme = None if _takes_back(controls) else service.finder.scheme(controls)
            if scheme is None and not _takes_back(controls):
                return service.finder.unknown_scheme(controls, controls)

        def chosen(settings: MemberSettings) -> MemberSettings:
            if character is not None:
                settings = replace(settings, character=who.name if who else None)
            if controls is not None:
                settings = replace(settings, setup=replace(settings.setup, controls=scheme))
            return settings

        before = self._book.member(place.owner)
        if chosen(before) != before:
            await self._book.change_member(place.owner, chosen, event_id)
        return None

    def character_of(self, place: Place) -> Character | None:
        """The member's own character; None where none is chosen, or the channel's game lacks it."""
        name = self._book.member(place.owner).character
        return self._service(place).finder.character(name) if name is not None else None

    def character_named(self, place: Place, typed: str) -> Character | None:
        """The character of the channel's game that is called so."""
        return self._service(place).finder.character(typed)

    def controls_of(self, place: Place) -> str | None:
        """The member's own control scheme; None where none is chosen, or the channel's game lacks it."""
        name = self._book.member(place.owner).setup.controls
        return self._service(place).finder.scheme(name) if name is not None else None

    async def choose_game(self, place: Place, name: str, event_id: int | None = None) -> Game | UnknownName:
        """Choose the game of a server (not of direct messages); refused where there is none of this name."""
        chosen = self._games.named(place.server_id, name)
        if chosen is None:
            return self._unknown_game(place, name)
        await self._book.change_server(place, {"game": chosen}, event_id)
        return self._held(place.server_id, chosen).game

    async def choose_channel(
        self, place: Place, channel_id: int, name: str | None, event_id: int | None = None
    ) -> Game | UnknownName:
        """Choose the game of one of the server's channels; None: the server's again. Refused where there is
        none of this name."""
        chosen = self._games.named(place.server_id, name) if name is not None else None
        if name is not None and chosen is None:
            return self._unknown_game(place, name)
        await self._games.choose_for(place.owner, channel_id, chosen, event_id)
        return self.game_of(replace(place, channel_id=channel_id, parent_id=None))

    @property
    def games(self) -> Mapping[str, Game]:
        """The host's games, by name."""
        return self._games.host_games

    def game_named(self, server_id: int | None, name: str) -> Game | None:
        """The game of this very name as a server uses it now."""
        return self._games.game(server_id, name)

    async def version(self, server_id: int | None, name: str, label: str) -> Game | None:
        """A game as it was in this version; None where it is not kept."""
        return await self._games.version(server_id, name, label)

    def game_of(self, place: Place) -> Game:
        """The game of the channel."""
        return self._service(place).game

    def welcome(self, place: Place) -> Welcome:
        """The channel's game and questions to try, about the member's own character where chosen."""
        service, own = self._service(place), self.character_of(place)
        return Welcome(service.game, service.examples(own, named=own is None))

    def tries(self, place: Place) -> tuple[QuestionKey, ...]:
        """The keys of the questions that a welcome gives to try."""
        service, own = self._service(place), self.character_of(place)
        name = own.name if own else None
        answers = [service.ask(text, name) for text in self.welcome(place).examples]
        return tuple(key_of(answer) for answer in answers if isinstance(answer, Asked))

    def _held(self, server_id: int | None, name: str | None) -> Held:
        """The game of this name, or the one to begin with."""
        held = self._games.held(server_id, name or self._default)
        assert held is not None  # the host has the latter
        return held

    def _service(self, place: Place) -> AskService:
        chosen = self._games.default_of(place.server_id, place.channel_id, place.parent_id)
        return self._held(place.server_id, chosen).service

    def _unknown_game(self, place: Place, name: str) -> UnknownName:
        known = self._games.names(place.server_id)
        near = process.extract(name[:QUESTION_CHARACTERS], list(known), limit=NEAR_GAMES)
        names = tuple(found for found, _, _ in near)
        return UnknownName(self.game_of(place), name, Named.GAME, name, None, names, ())

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
