"""Patch day: what a new version of a game changed, what that does to what is kept in a server, and who is
told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta

from bot.ports import Clock, Worker, WorkerError
from bot.results.audit import Deed
from bot.results.games import Edition, EditionChange, GameRefusal, GameRefusalCode
from bot.results.job import Job
from bot.results.log import LogRefusal
from bot.results.notice import NoticeKind
from bot.results.patches import (
    Concerns,
    Keep,
    KeptMoves,
    PatchNotice,
    PatchSheet,
    Touched,
    Version,
    in_order,
)
from bot.results.place import DIRECT_MESSAGES, Owner, Place
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.patch_effects import Effects, PatchEffects, Progress, Text
from bot.services.settings import SettingsBook
from bot.services.subjects import read_moves
from bot.storage import audit, editions, tallies
from bot.storage import patches as stored
from bot.storage.patches import NoticeRow
from bot.storage.store import Reading, Store, Writing
from core.model import Game
from core.patches import RouteEffect
from core.text import clipped
from core.verdict import Facts

JOB = "patch"
"""The kind of the jobs that tell members of a change whose telling was cut short."""
OWED_AFTER = timedelta(minutes=5)
REST = timedelta(minutes=10)
"""So long nobody is told: whoever mends one number mends another, or goes back."""
_OF_MEMBERS = (Keep.SAVED, Keep.SHARED, Keep.HOMEWORK)
_ROUTES = (Keep.SAVED, Keep.SHARED)
OPENED = 25
"""So many routes can be opened from a card: what a list to pick from holds."""


class PatchService:
    """What versions differ in is worked out in another process, and so is what that does to routes."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        game_book: GameBook,
        book: SettingsBook,
        clock: Clock,
        worker: Worker,
        jobs: JobService,
        notices: NoticeService,
    ) -> None:
        self._store = store
        self._desk = desk
        self._games = game_book
        self._book = book
        self._clock = clock
        self._jobs = jobs
        self._notices = notices
        self._effects = PatchEffects(worker)

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
        try:
            effects = await self._effects.between(*found)
            concerns = Concerns(await self._touched(effects, server_id, kept, progress))
        except WorkerError:
            return None
        mine = concerns.of(place.member_id)
        opens = await self._numbered(place.owner, found[1].game, mine)
        return PatchSheet(*found, effects.patch, effects.follows, concerns, mine, opens)

    async def since(self, place: Place, typed: str) -> int | GameRefusal:
        """The number of the version of the channel's game that is called so."""
        game, label = self._desk.game_of(place), typed.strip()
        async with self._store.read() as reading:
            for server_id in dict.fromkeys((place.owner.server_id, DIRECT_MESSAGES)):
                found = await editions.by_label(reading, server_id, game.name, label)
                if found is not None:
                    return found.id
        facts = Facts(typed=clipped(typed))
        return GameRefusal(game, GameRefusalCode.NO_SUCH_VERSION, facts)

    async def owe(self, writing: Writing, server_id: int, name: str, before_id: int, edition_id: int) -> None:
        """Within the transaction in which a server takes up another version: should the process die before
        `announce` is done, the members are told all the same."""
        due_at = self._clock.now() + OWED_AFTER
        payload = {"game": name, "before": before_id, "edition": edition_id}
        key = _key(server_id, name, before_id, edition_id)
        await self._jobs.add(writing, Job(key, JOB, due_at, payload, server_id))

    async def announce(self, place: Place, change: EditionChange) -> int:
        """Have all members told whose routes or homework a change in this server touches, each once, in a
        while and after their quiet hours; how many that are. A change that comes before they are told is told
        in one with it. Where that cannot be worked out now it is tried again by itself, and none are counted.
        Call it after the change is stored; again has no second effect."""
        if change.before_id is None or change.again:
            return 0
        server_id, name = place.owner.server_id, change.game.name
        try:
            return await self.tell(server_id, name, change.before_id, change.edition.id)
        except WorkerError:
            return 0

    async def tell(self, server_id: int, name: str, before_id: int, edition_id: int) -> int:
        """What `announce` does, also of a change whose telling was cut short; where the server uses another
        version by now, they are told what has changed up to that. Raises WorkerError."""
        after = await self._present(server_id, name)
        if after is None:
            return 0
        after_id = after.edition.id
        async with self._store.read() as reading:
            kept = await stored.kept_moves(reading, server_id, name)
            waiting = await self._untold(reading, server_id, (after_id, edition_id, before_id))
        since = {one.member_id: before_id for one in kept if one.keep in _OF_MEMBERS}
        since |= {row.to.member_id: _known(row, before_id, edition_id) for row in waiting}
        owners = [Owner(server_id, one) for one in await self._whose(server_id, since, kept, after)]
        told = {to: since[to.member_id] for to in owners if self._notices.wanted(to)}
        async with self._store.write() as writing:
            for row in waiting:
                if row.edition_id != after_id or row.before_id != told.get(row.to):
                    await self._notices.forget(writing, NoticeKind.PATCH, row.id)
                    await stored.remove(writing, row.id)
            for to, since_id in told.items():
                await self._tell_one(writing, to, since_id, after_id)
            await self._jobs.cancel(writing, _key(server_id, name, before_id, edition_id))
        return len(told)

    async def notice(self, number: int) -> PatchNotice | None:
        """What there is to tell now, and to whom: up to the version that the server uses by now. None where
        nothing of theirs is touched any more, or they want to be left in peace. Raises WorkerError."""
        async with self._store.read() as reading:
            row = await stored.get(reading, number)
            edition = await editions.get(reading, row.edition_id) if row is not None else None
        if row is None or edition is None or not self._notices.wanted(row.to):
            return None
        server_id, name = row.to.server_id, edition.game
        before = await self._kept_version(server_id, name, row.before_id)
        after = await self._present(server_id, name)
        if before is None or after is None or before.edition.id == after.edition.id:
            return None
        async with self._store.read() as reading:
            kept = await stored.kept_moves(reading, server_id, name, row.to.member_id)
        effects = await self._effects.between(before, after)
        mine = Concerns(await self._touched(effects, server_id, kept)).of(row.to.member_id)
        opens = await self._numbered(row.to, after.game, mine)
        return PatchNotice(row.to, before, after, mine, opens) if mine else None

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
        after = await self._kept_version(server_id, game.name, present) if present else None
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
        before = await self._kept_version(server_id, game.name, before_id)
        if before is None:
            return GameRefusal(game, GameRefusalCode.NO_SUCH_VERSION, Facts(typed=""))
        return before, after

    async def _present(self, server_id: int, name: str) -> Version | None:
        """The version that a server uses."""
        edition_id = self._games.edition_of(server_id, name)
        return await self._kept_version(server_id, name, edition_id) if edition_id is not None else None

    async def _kept_version(self, server_id: int, name: str, edition_id: int) -> Version | None:
        """The version with this number, where it is one of this server's or of the host's."""
        async with self._store.read() as reading:
            edition = await editions.get(reading, edition_id)
        if edition is None or edition.game != name or edition.server_id not in (server_id, DIRECT_MESSAGES):
            return None
        game = await self._games.version(edition.server_id, name, edition.version)
        return Version(edition, game) if game is not None else None

    async def _touched(
        self,
        effects: Effects,
        server_id: int,
        kept: Sequence[KeptMoves],
        progress: Progress | None = None,
    ) -> tuple[Touched, ...]:
        texts = [self._text(server_id, one) for one in kept]
        changes = await self._effects.of_texts(effects, texts, progress)
        pairs = zip(kept, (changes[text] for text in texts), strict=True)
        return in_order([Touched(one, change) for one, change in pairs if change is not None])

    async def _whose(
        self, server_id: int, since: Mapping[int, int], kept: Sequence[KeptMoves], after: Version
    ) -> list[int]:
        """The members of whose routes and homework something is touched by what changed since these
        versions."""
        found: list[int] = []
        for before_id in dict.fromkeys(since.values()):
            before = await self._kept_version(server_id, after.game.name, before_id)
            if before is None or before_id == after.edition.id:
                continue
            own = [one for one in kept if one.keep in _OF_MEMBERS and since.get(one.member_id) == before_id]
            effects = await self._effects.between(before, after)
            touched = await self._touched(effects, server_id, own)
            found += dict.fromkeys(one.kept.member_id for one in touched)
        return found

    async def _untold(
        self, reading: Reading, server_id: int, edition_ids: Iterable[int]
    ) -> tuple[NoticeRow, ...]:
        """The notices of changes that led to these versions which were not told yet."""
        numbers = await self._notices.untold(reading, NoticeKind.PATCH)
        each = dict.fromkeys(edition_ids)
        found = [await stored.of_edition(reading, server_id, edition_id) for edition_id in each]
        return tuple(row for rows in found for row in rows if row.id in numbers)

    async def _tell_one(self, writing: Writing, to: Owner, before_id: int, edition_id: int) -> None:
        number = await stored.add(writing, to, edition_id, before_id)
        if number is not None:
            moment = self._clock.now() + REST
            await self._notices.tell(writing, NoticeKind.PATCH, number, to, moment)

    async def _numbered(
        self, owner: Owner, game: Game, mine: Sequence[Touched]
    ) -> tuple[tuple[int, int], ...]:
        """The numbers in the member's log of the routes that can be opened, by their places."""
        found: dict[int, int] = {}
        controls = self._book.member(owner).setup.controls
        shown = [(at, one) for at, one in enumerate(mine) if one.kept.keep in _ROUTES][:OPENED]
        if not shown:
            return ()
        async with self._store.write() as writing:
            for at, one in shown:
                who = game.character(one.kept.character)
                read = read_moves(game, who, _to_open(one), controls) if who is not None else None
                if read is not None and not isinstance(read, LogRefusal):
                    _, found[at] = await tallies.enter_subject(writing, owner, read.subject)
        return tuple(found.items())

    def _text(self, server_id: int, kept: KeptMoves) -> Text:
        controls = self._book.member(Owner(server_id, kept.member_id)).setup.controls
        return kept.character, kept.notation, controls if kept.member_id else None


async def _earlier(reading: Reading, server_id: int, edition: Edition) -> Edition | None:
    """The version that was used before this one, as far as can be told: the one before it; where this is an
    older one that was gone back to, the newest; where a server has no other of its own, the host's."""
    own = await editions.listed(reading, edition.server_id, edition.game, None, 1)
    if own and own[0].id != edition.id:
        return own[0]
    for whose, before in dict.fromkeys(((edition.server_id, edition.id), (server_id, None), (0, None))):
        found = await editions.listed(reading, whose, edition.game, before, 1)
        if found and found[0].id != edition.id:
            return found[0]
    return None


def _known(row: NoticeRow, before_id: int, edition_id: int) -> int:
    """The last version that a member knew, who was not told yet of the change in this row, where now the one
    from `before_id` to `edition_id` is to be told."""
    if row.edition_id == before_id:  # the one led to the other
        return row.before_id
    return before_id if row.before_id == edition_id else row.before_id


def _to_open(one: Touched) -> str:
    """What is opened: the moves as they are mended, where they break."""
    change = one.change
    return change.repaired if change.effect is RouteEffect.BREAKS and change.repaired else one.kept.notation


def _key(server_id: int, name: str, before_id: int, edition_id: int) -> str:
    return f"{JOB}:{server_id}:{name}:{before_id}:{edition_id}"
