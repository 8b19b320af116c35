"""Kept versions of games, and what a change from one to another does to what members keep."""

from __future__ import annotations

from collections.abc import Sequence

from bot.ports import Worker
from bot.results.log import LogRefusal
from bot.results.patches import Keep, KeptMoves, Touched, Version, in_order
from bot.results.place import DIRECT_MESSAGES, Owner
from bot.services.game_book import GameBook
from bot.services.patch_effects import Effects, PatchEffects, Progress, Text
from bot.services.settings import SettingsBook
from bot.services.subjects import read_moves
from bot.storage import editions, tallies
from bot.storage.rows import entered
from bot.storage.store import Store
from core.model import Game

OPENED = 25
"""So many routes can be opened from a card: what a list to pick from holds."""
_ROUTES = (Keep.SAVED, Keep.SHARED)


class PatchViews:
    """What versions differ in is worked out in another process, and so is what that does to routes: both
    raise WorkerError where they cannot be."""

    def __init__(self, store: Store, game_book: GameBook, book: SettingsBook, worker: Worker) -> None:
        self._store = store
        self._games = game_book
        self._book = book
        self._effects = PatchEffects(worker)

    async def version(self, server_id: int, name: str, edition_id: int) -> Version | None:
        """The version with this number, where it is one of this server's or of the host's."""
        async with self._store.read() as reading:
            edition = await editions.get(reading, edition_id)
        if edition is None or edition.game != name or edition.server_id not in (server_id, DIRECT_MESSAGES):
            return None
        game = await self._games.version(edition.server_id, name, edition.version)
        return Version(edition, game) if game is not None else None

    async def between(self, before: Version, after: Version) -> Effects:
        """What the change leads to for numbers, links and cancels."""
        return await self._effects.between(before, after)

    async def touched(
        self,
        before: Version,
        after: Version,
        server_id: int,
        kept: Sequence[KeptMoves],
        progress: Progress | None = None,
    ) -> tuple[Touched, ...]:
        """What the change does to what is kept in a server; what it leaves as it is is left out."""
        texts = [self._text(server_id, one) for one in kept]
        effects = await self._effects.between(before, after)
        changes = await self._effects.of_texts(effects, texts, progress)
        pairs = zip(kept, (changes[text] for text in texts), strict=True)
        return in_order([Touched(one, change) for one, change in pairs if change is not None])

    async def numbered(
        self, owner: Owner, game: Game, mine: Sequence[Touched]
    ) -> tuple[tuple[int, int], ...]:
        """The numbers in the member's log of the routes that can be opened, by their places."""
        found: dict[int, int] = {}
        controls = self._book.member(owner).setup.controls
        shown = [(at, one) for at, one in enumerate(mine) if one.kept.keep in _ROUTES][:OPENED]
        if not shown:
            return ()
        async with self._store.write() as writing:
            if await entered(writing, owner) is None:
                return ()  # they were erased meanwhile
            for at, one in shown:
                who = game.character(one.kept.character)
                read = read_moves(game, who, one.opens, controls) if who is not None else None
                if read is not None and not isinstance(read, LogRefusal):
                    _, found[at] = await tallies.enter_subject(writing, owner, read.subject)
        return tuple(found.items())

    def _text(self, server_id: int, kept: KeptMoves) -> Text:
        controls = self._book.member(Owner(server_id, kept.member_id)).setup.controls
        return kept.character, kept.notation, controls if kept.member_id else None
