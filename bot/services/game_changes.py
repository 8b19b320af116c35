"""How the version of a game that a server uses changes: one change of a server at a time, each beginning with
the version that the one before left."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, replace
from weakref import WeakValueDictionary

from bot.gamefiles import Source, as_json, digest, game_of, with_version
from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.games import REASON_CHARACTERS, Edition, EditionChange, GameRefusalCode
from bot.results.place import DIRECT_MESSAGES, Owner
from bot.services.game_book import GameBook
from bot.services.game_labels import kept_as, label_for, without_number
from bot.services.settings import SettingsBook
from bot.storage import audit, editions
from bot.storage.store import Reading, Store, Writing
from core.model import Game
from core.patches import Patch, compare
from core.text import one_line
from core.verdict import Facts

MOST_GAMES = 10
"""Games that a server has versions of."""
MOST_VERSIONS = 200
"""Versions of one game of a server."""

Owe = Callable[[Writing, int, str, int], Awaitable[None]]
"""What has to come of a change."""


@dataclass(frozen=True, slots=True)
class Why:
    """Why there is nothing to change."""

    code: GameRefusalCode
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class Planned:
    """A version as a server would use it: `edition_id` where it is kept already, else its text to be stored.
    `before` and `patch` are None where the server has no game of this name."""

    name: str
    label: str
    game: Game
    edition_id: int | None
    text: str
    mark: str
    before_id: int | None
    before: Game | None
    patch: Patch | None


class GameChanges:
    """Plans a change, and stores it within somebody's transaction. Whoever stores one plans it, and takes it
    up, while they are `alone`."""

    def __init__(self, store: Store, game_book: GameBook, book: SettingsBook, clock: Clock) -> None:
        self._store = store
        self._games = game_book
        self._book = book
        self._clock = clock
        self._owed: list[Owe] = []
        self._locks: WeakValueDictionary[int, asyncio.Lock] = WeakValueDictionary()

    def tell_with(self, owe: Owe) -> None:
        """Have this called in the transaction of each change of a game that the server had before: with the
        server's id, the game's name, and the edition before."""
        self._owed.append(owe)

    @asynccontextmanager
    async def alone(self, server_id: int) -> AsyncIterator[None]:
        """While no other version of this server's games changes."""
        lock = self._locks.get(server_id)
        if lock is None:
            lock = self._locks[server_id] = asyncio.Lock()
        async with lock:
            yield

    async def plan(self, server_id: int, source: Source, game: Game) -> Planned | Why:
        """A version that says this. One that says the same under the same name is used again; else it gets a
        name of its own."""
        name = game.name
        mark = await asyncio.to_thread(digest, source)
        async with self._store.read() as reading:
            own = await editions.labels(reading, server_id, name)
            host = await editions.labels(reading, DIRECT_MESSAGES, name)
            games = await editions.games_of(reading, server_id)
        before_id, before = self._games.edition_of(server_id, name), self._games.game(server_id, name)
        if before is not None and _same_game(before, game):
            return Why(GameRefusalCode.NOTHING_NEW, Facts(version=before.version))
        taken = {each.version for each in own}
        free = [each for each in host if each.version not in taken]  # the host may have come to one later
        same = kept_as((*own, *free), game.version, mark)
        if same is None and len(own) >= MOST_VERSIONS:
            return Why(GameRefusalCode.TOO_MANY_VERSIONS, Facts(most=MOST_VERSIONS))
        if same is None and not own and games >= MOST_GAMES:
            return Why(GameRefusalCode.TOO_MANY_GAMES, Facts(most=MOST_GAMES))
        label = same.version if same else label_for(game.version, (*own, *host))
        edition_id = same.edition_id if same else None
        return await asyncio.to_thread(_planned, source, game, label, edition_id, mark, before_id, before)

    async def plan_kept(self, server_id: int, edition: Edition) -> Planned | Why:
        """A version that is kept, to be used again. One of the host's that is called as another of the
        server's gets a name of its own: what members log is kept by the name of the version."""
        before_id = self._games.edition_of(server_id, edition.game)
        if before_id == edition.id:
            return Why(GameRefusalCode.IS_CURRENT, Facts(version=edition.version))
        game = await self.game_of(edition)
        if game is None:
            return Why(GameRefusalCode.NO_SUCH_VERSION, Facts(typed=edition.version))
        async with self._store.read() as reading:
            twin = await editions.by_label(reading, server_id, edition.game, edition.version)
        source = await self._games.source(edition.id) if twin is not None and twin.id != edition.id else None
        if source is not None:
            return await self.plan(server_id, source, game)
        before = self._games.game(server_id, edition.game)
        patch = await asyncio.to_thread(compare, before, game) if before is not None else None
        return Planned(edition.game, edition.version, game, edition.id, "", "", before_id, before, patch)

    async def game_of(self, edition: Edition) -> Game | None:
        """The game of this very version; None where it can no longer be read."""
        source = await self._games.source(edition.id)
        if source is None:
            return None
        try:
            game = await asyncio.to_thread(game_of, source)
        except ValueError:
            return None
        return replace(game, version=edition.version)

    async def store(
        self, writing: Writing, by: Owner, planned: Planned, deed: Deed, reason: str = "", what: str = ""
    ) -> Edition:
        """Keep the version and have the server use it, and note who did so. `what`: what they did, beside the
        name of the game and of the version."""
        now = self._clock.now()
        if planned.edition_id is None:
            edition = await editions.add(
                writing,
                by.server_id,
                planned.name,
                planned.label,
                planned.text,
                planned.mark,
                by,
                now,
                one_line(reason)[:REASON_CHARACTERS],
            )
        else:
            kept = await editions.get(writing, planned.edition_id)
            assert kept is not None
            edition = kept
        await editions.set_current(writing, by.server_id, planned.name, edition.id)
        if planned.before_id is not None:
            for owe in self._owed:
                await owe(writing, by.server_id, planned.name, planned.before_id)
        about = f"{planned.name} {planned.label}"
        await audit.note(writing, by, now, deed, f"{about}: {what}" if what else about)
        return edition

    def taken_up(self, by: Owner, planned: Planned, edition: Edition) -> EditionChange:
        """The change, once it is stored: from now on questions are answered from it."""
        self._games.hold(by.server_id, planned.name, edition.id, planned.game)
        self._book.hold(by, self._book.member(by))
        return EditionChange(edition, planned.game, planned.before_id, planned.before, planned.patch)

    async def again(self, by: Owner, event_id: int, edition_id: int | None = None) -> EditionChange | None:
        """The change that this event made before, to this version or to the last that its member made; None
        where it made none."""
        async with self._store.write(event_id) as writing:
            return await self.done_before(writing, by, edition_id) if writing.repeated else None

    async def done_before(
        self, reading: Reading, by: Owner, edition_id: int | None = None
    ) -> EditionChange | None:
        """The same within a transaction whose event is repeated."""
        if edition_id is not None:
            edition = await editions.get(reading, edition_id)
        else:
            edition = await editions.last_by(reading, by)
        if edition is None:
            return None
        game = self._games.known(by.server_id, edition.game, edition.version)
        return EditionChange(edition, game, None, None, None, again=True) if game is not None else None


def _same_game(one: Game, other: Game) -> bool:
    """Whether they say the same, and call their version so too, but for the number behind."""
    named = without_number(one.version) == without_number(other.version)
    return named and replace(one, version=other.version) == other


def _planned(
    source: Source,
    game: Game,
    label: str,
    edition_id: int | None,
    mark: str,
    before_id: int | None,
    before: Game | None,
) -> Planned:
    text = as_json(with_version(source, label)) if edition_id is None else ""
    called = replace(game, version=label)
    patch = compare(before, called) if before is not None else None
    return Planned(game.name, label, called, edition_id, text, mark, before_id, before, patch)
