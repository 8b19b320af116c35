"""The games of each server: which version of each is used, held in memory, and those used before."""

from __future__ import annotations

import asyncio
import logging
from collections import OrderedDict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from functools import cached_property

from bot.gamefiles import Source, as_json, digest, from_json, game_of, with_version
from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.place import DIRECT_MESSAGES, Owner
from bot.services.ask import AskService
from bot.services.game_labels import kept_as, label_for
from bot.services.settings import SettingsBook
from bot.storage import audit, editions
from bot.storage.store import Store, Writing
from core.gamefile import GameFileError
from core.model import Game

OLD_VERSIONS = 32
"""So many versions that are not used any more are held at once."""

log = logging.getLogger(__name__)


class Held:
    """A version that is used: its game, and the number of its edition, which a game has only where its source
    is known."""

    def __init__(self, game: Game, edition_id: int | None) -> None:
        self.game = game
        self.edition_id = edition_id

    @cached_property
    def service(self) -> AskService:
        """Answers questions about it; made when the first is asked."""
        return AskService(self.game)


class GameBook:
    """`games`: the host's games by what their files are called, `sources`: their sources by the same, of
    which every version that there ever was is kept. A server that keeps no versions of a game uses the
    host's. `load` before anything is read."""

    def __init__(
        self,
        store: Store,
        clock: Clock,
        book: SettingsBook,
        games: Mapping[str, Game],
        sources: Mapping[str, Source],
    ) -> None:
        self._store = store
        self._clock = clock
        self._book = book
        self._called = {called: game.name for called, game in games.items()}
        self._host = {game.name: Held(game, None) for game in games.values()}
        files = {name: called for called, name in self._called.items()}  # of two of a name the last counts
        self._sources = {name: sources[called] for name, called in files.items() if called in sources}
        self._own: dict[int, dict[str, Held]] = {}
        self._channels: dict[int, tuple[int, str]] = {}
        self._old: OrderedDict[tuple[int, str, str], Game] = OrderedDict()
        self._changed: Callable[[int, str], None] | None = None

    async def load(self) -> None:
        """Keep the host's versions that are new, and read which version each server uses. Raises
        StorageError."""
        for name, source in self._sources.items():
            if self._host[name].edition_id is None:
                await self._keep_host(name, source)
        await self._reread(None)
        async with self._store.settled() as reading:
            found = await editions.channels(reading)
            self._channels = {each.channel_id: (each.server_id, each.game) for each in found}

    async def reread(self, server_ids: Collection[int]) -> None:
        """Read anew which versions these servers use, some hundreds at most."""
        before = {server_id: self._own.get(server_id, {}) for server_id in server_ids}
        await self._reread(server_ids)
        for server_id, games in before.items():
            now = self._own.get(server_id, {})
            for name in {**games, **now}:
                if games.get(name) is not now.get(name) and self._changed is not None:
                    self._changed(server_id, name)

    async def reread_channels(self, channel_ids: Collection[int]) -> None:
        """Read anew what these channels are about, some hundreds at most."""
        async with self._store.settled() as reading:
            found = await editions.channels(reading, channel_ids)
            for channel_id in channel_ids:
                self._channels.pop(channel_id, None)
            self._channels.update({each.channel_id: (each.server_id, each.game) for each in found})

    def listen(self, changed: Callable[[int, str], None]) -> None:
        """Have this called with the server and the name of each game of which another version is used."""
        self._changed = changed

    @property
    def host_games(self) -> Mapping[str, Game]:
        """The host's present games, by name."""
        return {name: held.game for name, held in self._host.items()}

    def names(self, server_id: int | None) -> tuple[str, ...]:
        """The names of a server's games: its own, then the host's others."""
        return tuple({**self._own.get(server_id or DIRECT_MESSAGES, {}), **self._host})

    def named(self, server_id: int | None, typed: str) -> str | None:
        """The name of the game that is called so in a server, in any case; what the host's file is called
        will do."""
        wanted = typed.strip().casefold()
        called = {**{name: name for name in self.names(server_id)}, **self._called}
        return next((name for each, name in called.items() if each.casefold() == wanted), None)

    def held(self, server_id: int | None, name: str) -> Held | None:
        """The version of the game of this very name that a server uses now."""
        return self._own.get(server_id or DIRECT_MESSAGES, {}).get(name) or self._host.get(name)

    def game(self, server_id: int | None, name: str) -> Game | None:
        """The game of this very name as a server uses it now."""
        held = self.held(server_id, name)
        return held.game if held is not None else None

    def edition_of(self, server_id: int | None, name: str) -> int | None:
        """The number of the version of a game that a server uses; of the host's where it has none of its
        own."""
        held = self.held(server_id, name)
        return held.edition_id if held is not None else None

    def default_of(self, server_id: int | None, *channel_ids: int | None) -> str | None:
        """The name of the game that a channel is about: what was chosen for it (for the first of these that
        has a game of its own), else what its server chose; None where nothing was, or that game is gone."""
        for channel_id in channel_ids:
            name = self.channel_game(server_id, channel_id)
            if name is not None and self.held(server_id, name) is not None:
                return name
        chosen = self._book.server(server_id).game
        return chosen if chosen is not None and self.held(server_id, chosen) is not None else None

    def channel_game(self, server_id: int | None, channel_id: int | None) -> str | None:
        """The game that was chosen for this channel alone."""
        chosen_for, name = self._channels.get(channel_id or 0, (DIRECT_MESSAGES, ""))
        return name if server_id and chosen_for == server_id else None

    async def source(self, edition_id: int) -> Source | None:
        """What the version with this number says."""
        async with self._store.read() as reading:
            text = await editions.content(reading, edition_id)
        return from_json(text) if text is not None else None

    async def version(self, server_id: int | None, name: str, label: str) -> Game | None:
        """A game as it was in any version that is kept: of the server's own, else of the host's. None where
        none has this label."""
        number = server_id or DIRECT_MESSAGES
        for whose in dict.fromkeys((number, DIRECT_MESSAGES)):
            known = self._present(whose, name, label) or self._recall(whose, name, label)
            if known is not None:
                return known
            async with self._store.read() as reading:
                edition = await editions.by_label(reading, whose, name, label)
                text = await editions.content(reading, edition.id) if edition is not None else None
            if text is None:
                continue
            game = await asyncio.to_thread(_read, text)
            if game is None:
                log.error("Version %s of %s, of server %s, cannot be read.", label, name, whose)
                continue
            self._remember(whose, replace(game, version=label))
            return self._recall(whose, name, label)
        return None

    def known(self, server_id: int | None, name: str, label: str) -> Game | None:
        """The same without waiting: a version that is used, or that `version` read lately."""
        number = server_id or DIRECT_MESSAGES
        for whose in dict.fromkeys((number, DIRECT_MESSAGES)):
            found = self._present(whose, name, label) or self._recall(whose, name, label)
            if found is not None:
                return found
        return None

    def hold(self, server_id: int, name: str, edition_id: int, game: Game) -> None:
        """Take up the version that a server uses from now on, once it is stored."""
        self._own.setdefault(server_id, {})[name] = Held(game, edition_id)
        if self._changed is not None:
            self._changed(server_id, name)

    async def choose_for(
        self, by: Owner, channel_id: int, name: str | None, event_id: int | None = None
    ) -> None:
        """Store which game a channel is about; None: its server's again."""
        async with self._store.write(event_id) as writing:
            if writing.repeated or name == self.channel_game(by.server_id, channel_id):
                return
            if name is None:
                await editions.drop_channel(writing, channel_id)
            else:
                await editions.set_channel(writing, by.server_id, channel_id, name)
            await audit.note(writing, by, self._clock.now(), Deed.CHANNEL_GAME, name or "")
        self._channels.pop(channel_id, None)
        if name is not None:
            self._channels[channel_id] = (by.server_id, name)
        self._book.hold(by, self._book.member(by))

    def forget_server(self, server_id: int) -> None:
        """Forget what a server has, once it is removed from storage."""
        self._own.pop(server_id, None)
        for channel_id, (chosen_for, _) in tuple(self._channels.items()):
            if chosen_for == server_id:
                del self._channels[channel_id]
        self.forget_old(server_id)

    def forget_old(self, server_id: int) -> None:
        """Forget what was read of versions of this server that it does not use any more."""
        for key in [key for key in self._old if key[0] == server_id]:
            del self._old[key]

    async def _reread(self, server_ids: Collection[int] | None) -> None:
        """Take up which versions these servers use, or all. They are read in a thread, while others write,
        and then looked up again."""
        read: dict[str, Game | None] = {}
        while True:
            async with self._store.settled() as reading:
                used = await editions.used(reading, server_ids)
                unread = {
                    each.digest: await editions.content(reading, each.edition_id)
                    for each in {each.digest: each for each in used if self._known(each) is None}.values()
                    if each.digest not in read
                }
                if not unread:
                    self._take_up(used, read, server_ids)
                    return
            read |= await asyncio.to_thread(_read_all, unread)

    def _take_up(
        self, used: Iterable[editions.Used], read: Mapping[str, Game | None], among: Collection[int] | None
    ) -> None:
        own: dict[int, dict[str, Held]] = {}
        for each in used:
            held, game = self._known(each), read.get(each.digest)
            if held is None and game is not None:
                held = Held(replace(game, version=each.version), each.edition_id)
            if held is None:
                log.error(
                    "Version %s of %s cannot be read; server %s has the host's.",
                    each.version,
                    each.game,
                    each.server_id,
                )
                continue
            own.setdefault(each.server_id, {})[each.game] = held
        for server_id in tuple(self._own) if among is None else among:
            self._own.pop(server_id, None)
        self._own.update(own)

    def _known(self, used: editions.Used) -> Held | None:
        """A version as it is held already: no version ever changes."""
        held = self._own.get(used.server_id, {}).get(used.game)
        return held if held is not None and held.edition_id == used.edition_id else None

    async def _keep_host(self, name: str, source: Source) -> None:
        """Keep the host's present version under a label of its own where it is not kept yet."""
        held, mark = self._host[name], digest(source)
        async with self._store.read() as reading:
            kept = await editions.labels(reading, DIRECT_MESSAGES, name)
        same = kept_as(kept, held.game.version, mark)
        if same is None:
            async with self._store.write() as writing:
                same = await self._add_host(writing, name, source, mark)
        game = held.game if held.game.version == same.version else replace(held.game, version=same.version)
        self._host[name] = Held(game, same.edition_id)

    async def _add_host(self, writing: Writing, name: str, source: Source, mark: str) -> editions.Label:
        """Keep the host's present version, unless another process has just done so."""
        wanted = self._host[name].game.version
        kept = await editions.labels(writing, DIRECT_MESSAGES, name)
        same = kept_as(kept, wanted, mark)
        if same is not None:
            return same
        label = label_for(wanted, kept)
        text = as_json(source if label == wanted else with_version(source, label))
        now = self._clock.now()
        added = await editions.add(writing, DIRECT_MESSAGES, name, label, text, mark, None, now)
        return editions.Label(added.id, label, mark)

    def _present(self, whose: int, name: str, label: str) -> Game | None:
        held = self._own.get(whose, {}).get(name) if whose != DIRECT_MESSAGES else self._host.get(name)
        return held.game if held is not None and held.game.version == label else None

    def _recall(self, whose: int, name: str, label: str) -> Game | None:
        game = self._old.get((whose, name, label))
        if game is not None:
            self._old.move_to_end((whose, name, label))
        return game

    def _remember(self, whose: int, game: Game) -> None:
        self._old[whose, game.name, game.version] = game
        while len(self._old) > OLD_VERSIONS:
            self._old.popitem(last=False)


def _read(text: str) -> Game | None:
    """The game of a stored version; None where it can no longer be read."""
    try:
        return game_of(from_json(text))
    except GameFileError:
        return None


def _read_all(texts: Mapping[str, str | None]) -> dict[str, Game | None]:
    return {mark: _read(text) if text is not None else None for mark, text in texts.items()}
