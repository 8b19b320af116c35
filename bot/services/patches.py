"""Patch day: what a new version of a game changed, and what that does to what is kept in a server."""

from __future__ import annotations

from bot.ports import Clock, WorkerError
from bot.results.audit import Deed
from bot.results.games import Edition, GameRefusal, GameRefusalCode
from bot.results.patches import Concerns, Keep, PatchSheet, Version
from bot.results.place import DIRECT_MESSAGES, Place
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.game_labels import version_called
from bot.services.patch_effects import Progress
from bot.services.patch_views import PatchViews
from bot.services.settings import SettingsBook
from bot.storage import audit, editions
from bot.storage import patches as stored
from bot.storage.homework import open_of_coach
from bot.storage.store import Reading, Store
from core.model import Game
from core.text import clipped
from core.verdict import Facts


class PatchService:
    """Compares the versions of the channel's game."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        game_book: GameBook,
        book: SettingsBook,
        clock: Clock,
        views: PatchViews,
    ) -> None:
        self._store = store
        self._desk = desk
        self._games = game_book
        self._book = book
        self._clock = clock
        self._views = views

    async def sheet(
        self, place: Place, before_id: int = 0, edition_id: int = 0, progress: Progress | None = None
    ) -> PatchSheet | GameRefusal | None:
        """What changed from one kept version of the channel's game to another, and what that does to what is
        kept here. `edition_id`: 0 for the present version; `before_id`: 0 for the one before it. None where
        it cannot be worked out now."""
        game, server_id = self._desk.game_of(place), place.owner.server_id
        found = await self._versions(game, server_id, before_id, edition_id)
        if isinstance(found, GameRefusal):
            return found
        async with self._store.read() as reading:
            kept = await stored.kept_moves(reading, server_id, game.name)
            set_by_them = {one.kept.id for one in await open_of_coach(reading, place.owner)}
        try:
            effects = await self._views.between(*found)
            concerns = Concerns(await self._views.touched(*found, server_id, kept, progress))
        except WorkerError:
            return None
        mine = concerns.of(place.member_id)
        opens = await self._views.numbered(place.owner, found[1].game, mine)
        homework = concerns.kept_as(Keep.HOMEWORK)
        assigned = tuple(one for one in homework if one.kept.id in set_by_them)
        return PatchSheet(*found, effects.patch, effects.follows, concerns, mine, opens, assigned)

    async def since(self, place: Place, typed: str) -> int | GameRefusal:
        """The number of the version of the channel's game that is called so, in any case."""
        game = self._desk.game_of(place)
        async with self._store.read() as reading:
            found = await version_called(reading, place.owner.server_id, game.name, typed)
        if found is not None:
            return found
        facts = Facts(typed=clipped(typed))
        return GameRefusal(game, GameRefusalCode.NO_SUCH_VERSION, facts)

    async def note_posted(self, place: Place, sheet: PatchSheet, event_id: int) -> None:
        """Note that this member posted what changed, for everybody to see."""
        what = f"{sheet.after.game.name} {sheet.before.label}, {sheet.after.label}"
        async with self._store.write(event_id) as writing:
            if not writing.repeated:
                await audit.note(writing, place.owner, self._clock.now(), Deed.PATCH_POSTED, what)
        self._book.hold(place.owner, self._book.member(place.owner))

    async def _versions(
        self, game: Game, server_id: int, before_id: int, edition_id: int
    ) -> tuple[Version, Version] | GameRefusal:
        present = edition_id or self._games.edition_of(server_id, game.name)
        after = await self._views.version(server_id, game.name, present) if present else None
        if after is None:
            code = GameRefusalCode.NO_SUCH_VERSION if edition_id else GameRefusalCode.ONE_VERSION
            return GameRefusal(game, code, Facts(typed="", version=game.version))
        if before_id == after.edition.id:
            return GameRefusal(game, GameRefusalCode.IS_CURRENT, Facts(version=after.label))
        if not before_id:
            async with self._store.read() as reading:
                earlier = await _earlier(reading, server_id, after.edition)
            if earlier is None:
                return GameRefusal(game, GameRefusalCode.ONE_VERSION, Facts(version=after.label))
            before_id = earlier.id
        before = await self._views.version(server_id, game.name, before_id)
        if before is None:
            return GameRefusal(game, GameRefusalCode.NO_SUCH_VERSION, Facts(typed=""))
        return before, after


async def _earlier(reading: Reading, server_id: int, edition: Edition) -> Edition | None:
    """The version that was used before this one, as far as can be told: the one before it; where this is an
    older one that was gone back to, the newest; where a server has no other of its own, the host's."""
    own = await editions.listed(reading, edition.server_id, edition.game, None, 1)
    if own and own[0].id != edition.id:
        return own[0]
    places = (edition.server_id, edition.id), (server_id, None), (DIRECT_MESSAGES, None)
    for whose, before in dict.fromkeys(places):
        found = await editions.listed(reading, whose, edition.game, before, 1)
        if found and found[0].id != edition.id:
            return found[0]
    return None
