"""The versions of a server's games: listed, taken up again, handed out, and one number changed."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

from bot.gamefiles import files_of, template
from bot.results.audit import Deed
from bot.results.files import Upload
from bot.results.games import (
    REASON_CHARACTERS,
    Edition,
    EditionChange,
    EditionList,
    GameRefusal,
    GameRefusalCode,
)
from bot.results.place import DIRECT_MESSAGES, Place
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.game_cells import Cell, Edited, complete_columns, edited, find_cell, refused
from bot.services.game_changes import GameChanges, Planned, Why
from bot.services.game_labels import version_called
from bot.storage import editions as stored
from bot.storage.store import Reading, Store
from core.patches import Patch, compare
from core.text import clipped, one_line

PAGE = 10
"""Versions that are listed at once."""
COMPLETED = 200
"""So many of the latest versions are offered while somebody types."""


class GameDesk:
    """Whoever calls this has made sure that the member is a moderator. What is typed is about the game of the
    channel; a number may be that of a version of any of the server's games, or of the host's. What is of
    another server does not exist. An event that is delivered again has no second effect."""

    def __init__(self, store: Store, desk: AskDesk, game_book: GameBook, changes: GameChanges) -> None:
        self._store = store
        self._desk = desk
        self._games = game_book
        self._changes = changes

    async def editions(self, place: Place, before: int = 0) -> EditionList:
        """A page of the versions, the newest first: those before the one with this number, 0 for the newest
        of all."""
        game = self._desk.game_of(place)
        async with self._store.read() as reading:
            found = await self._listed(reading, place, before or None, PAGE + 1)
        current = self._games.edition_of(place.owner.server_id, game.name)
        return EditionList(game, tuple(found[:PAGE]), current, len(found) > PAGE)

    async def one(self, place: Place, edition_id: int) -> Edition | GameRefusal:
        """The version with this number."""
        async with self._store.read() as reading:
            found = await stored.get(reading, edition_id)
        return found if found is not None and _is_here(place, found) else self._no_such(place)

    async def named(self, place: Place, version: str) -> Edition | GameRefusal:
        """The version that is called so, in any case; the one that is used where nothing is typed."""
        typed = one_line(version)
        if not typed:
            return await self.one(place, self._current(place))
        name = self._desk.game_of(place).name
        async with self._store.read() as reading:
            number = await version_called(reading, place.owner.server_id, name, typed)
            found = await stored.get(reading, number) if number is not None else None
        return found or self._no_such(place, typed)

    async def files(self, place: Place, edition_id: int = 0) -> tuple[Upload, ...] | GameRefusal:
        """The files of a version, 0 for the one that is used: its rules, and a sheet of all moves."""
        found = await self.one(place, edition_id or self._current(place))
        if isinstance(found, GameRefusal):
            return found
        source = await self._games.source(found.id)
        return self._no_such(place) if source is None else await asyncio.to_thread(files_of, source)

    async def back(self, place: Place, edition_id: int, event_id: int) -> EditionChange | GameRefusal:
        """Have the server use a version that it keeps, or one of the host's, from now on."""
        owner = place.owner
        if place.server_id is None or place.direct:
            return self._refused(place, GameRefusalCode.NO_SERVER)
        async with self._changes.alone(owner.server_id):
            found = await self.one(place, edition_id)
            if isinstance(found, GameRefusal):
                return found
            planned = await self._changes.plan_kept(owner.server_id, found)
            if isinstance(planned, Why):
                done = await self._changes.again(owner, event_id, edition_id)
                return done or GameRefusal(self._desk.game_of(place), planned.code, planned.facts)
            async with self._store.write(event_id) as writing:
                if writing.repeated:
                    return await self._changes.done_before(writing, owner, edition_id) or self._no_such(place)
                edition = await self._changes.store(writing, owner, planned, Deed.VERSION_USED)
            return self._changes.taken_up(owner, planned, edition)

    async def edit(
        self,
        place: Place,
        move: str,
        column: str,
        number: str,
        reason: str,
        character: str | None,
        event_id: int,
    ) -> EditionChange | GameRefusal:
        """Change one number of the present version, as a version of its own with this reason."""
        owner, reason = place.owner, one_line(reason)
        if place.server_id is None or place.direct:
            return self._refused(place, GameRefusalCode.NO_SERVER)
        if len(reason) > REASON_CHARACTERS:
            return self._refused(place, GameRefusalCode.TEXT_TOO_LONG, most=REASON_CHARACTERS)
        where = find_cell(self._desk, place, move, column, character)
        if isinstance(where, GameRefusal):
            return where
        async with self._changes.alone(owner.server_id):
            planned = await self.with_number(place, where, number)
            if isinstance(planned, GameRefusal):
                return await self._changes.again(owner, event_id) or planned
            change, found = planned
            async with self._store.write(event_id) as writing:
                if writing.repeated:
                    return await self._changes.done_before(writing, owner) or self._no_such(place)
                what = said(where, found, number)
                edition = await self._changes.store(
                    writing, owner, change, Deed.NUMBER_EDITED, reason or what, what
                )
            return self._changes.taken_up(owner, change, edition)

    async def with_number(self, place: Place, where: Cell, number: str) -> tuple[Planned, str] | GameRefusal:
        """The present version with this number in it, and what stood there."""
        changed = await self.tried(place, where, number)
        if isinstance(changed, GameRefusal):
            return changed
        planned = await self._changes.plan(place.owner.server_id, changed.source, changed.game)
        if isinstance(planned, Why):
            return GameRefusal(self._desk.game_of(place), planned.code, planned.facts)
        return planned, changed.found

    async def tried(self, place: Place, where: Cell, number: str) -> Edited | GameRefusal:
        """What the present version says with this number in it, where it can be."""
        held, typed = self._games.held(place.owner.server_id, where.game), one_line(number)
        if held is None or held.edition_id is None:
            return self._no_such(place)
        source = await self._games.source(held.edition_id)
        if source is None:
            return self._no_such(place)
        changed = await asyncio.to_thread(edited, source, held.game, where, typed)
        if isinstance(changed, Edited):
            return changed
        facts = where.facts.plus(typed=clipped(typed)).plus(**changed.facts)
        return GameRefusal(self._desk.game_of(place), changed.code, facts)

    async def would_change(self, place: Place, edition_id: int) -> tuple[Edition, Patch | None] | GameRefusal:
        """The version with this number, and what would differ with it; None for that where the server has no
        such game, or the version can no longer be read. One that is used is refused."""
        edition = await self.one(place, edition_id)
        if isinstance(edition, GameRefusal):
            return edition
        present = self._games.edition_of(place.owner.server_id, edition.game)
        if present == edition.id:
            return self._refused(place, GameRefusalCode.IS_CURRENT, version=edition.version)
        change = await self.change(place, edition.id, present) if present is not None else None
        return edition, change.patch if isinstance(change, EditionChange) else None

    async def change(self, place: Place, edition_id: int, before_id: int) -> EditionChange | GameRefusal:
        """What it meant to go from one kept version to another."""
        new, old = await self.one(place, edition_id), await self.one(place, before_id)
        if isinstance(new, GameRefusal):
            return new
        if isinstance(old, GameRefusal):
            return old
        if old.game != new.game:
            return self._no_such(place)
        game, before = await self._changes.game_of(new), await self._changes.game_of(old)
        if game is None or before is None:
            return self._no_such(place)
        patch = await asyncio.to_thread(compare, before, game)
        return EditionChange(new, game, old.id, before, patch)

    def template(self) -> tuple[Upload, ...]:
        """Files of a game to begin with."""
        return template()

    def complete_column(self, place: Place, typed: str) -> tuple[str, ...]:
        """Columns that hold numbers, and that the text may become, at most 25, best first."""
        return complete_columns(self._desk.game_of(place), typed)

    async def complete_version(self, place: Place, typed: str) -> tuple[str, ...]:
        """Versions that the text may become, at most 25, best first, the newest first of equals."""
        async with self._store.read() as reading:
            found = await self._listed(reading, place, None, COMPLETED)
        return complete_names([(one.version, (one.version,)) for one in found], typed)

    async def _listed(
        self, reading: Reading, place: Place, before: int | None, most: int
    ) -> Sequence[Edition]:
        """The newest of the server's versions and of the host's."""
        name, found = self._desk.game_of(place).name, list[Edition]()
        for server_id in dict.fromkeys((place.owner.server_id, DIRECT_MESSAGES)):
            found += await stored.listed(reading, server_id, name, before, most)
        return sorted(found, key=lambda edition: edition.id, reverse=True)[:most]

    def _current(self, place: Place) -> int:
        game = self._desk.game_of(place)
        return self._games.edition_of(place.owner.server_id, game.name) or 0

    def _no_such(self, place: Place, typed: str = "") -> GameRefusal:
        return self._refused(place, GameRefusalCode.NO_SUCH_VERSION, typed=clipped(typed))

    def _refused(self, place: Place, code: GameRefusalCode, **facts: int | str) -> GameRefusal:
        return refused(self._desk.game_of(place), code, **facts)


def _is_here(place: Place, edition: Edition) -> bool:
    """Whether a version is the server's, or the host's."""
    return edition.server_id in (place.owner.server_id, DIRECT_MESSAGES)


def said(where: Cell, found: str, number: str) -> str:
    """A number that changed, as a line of names and numbers."""
    return f"{where.words} {found or '?'} → {clipped(one_line(number)) or '?'}"
