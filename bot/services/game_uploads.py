"""Game files that moderators send: looked at first, then used or dropped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from bot.gamefiles import MAX_BYTES, Reading, read_upload
from bot.gamefiles.reading import AS_GUESSED, rules_of
from bot.gamefiles.rules import parsed
from bot.gamefiles.sheets import decoded
from bot.ports import Clock, Worker, WorkerError
from bot.results.audit import Deed
from bot.results.files import ColumnGuess, Upload
from bot.results.games import (
    REASON_CHARACTERS,
    Contents,
    EditionChange,
    GameRefusal,
    GameRefusalCode,
    Preview,
)
from bot.results.place import Place
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.game_cells import refused
from bot.services.game_changes import GameChanges, Planned
from bot.services.game_columns import BadLine, read_columns
from bot.services.settings import SettingsBook
from bot.storage import uploads as stored
from bot.storage.store import Store
from bot.storage.uploads import KeptUpload
from core.gamefile import GameFileError, Problem
from core.model import Game
from core.text import one_line, shown

KEPT_FOR = timedelta(days=1)
REMEMBERED = 50
"""So many of the uploads that were looked at last are remembered, by what their columns were taken for."""


class GameUploads:
    """Whoever calls this has made sure that the member is a moderator. What somebody sent is theirs: others
    find nothing under its number. An event that is delivered again has no second effect."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        game_book: GameBook,
        book: SettingsBook,
        clock: Clock,
        worker: Worker,
        changes: GameChanges,
    ) -> None:
        self._store = store
        self._desk = desk
        self._games = game_book
        self._book = book
        self._clock = clock
        self._worker = worker
        self._changes = changes
        self._guesses: dict[int, tuple[ColumnGuess, ...]] = {}

    async def take(
        self, place: Place, files: Sequence[Upload], character: str, reason: str, event_id: int
    ) -> Preview | GameRefusal:
        """Look at files of a game, one to five, and keep them for a day, in place of what the member sent
        before. What they leave out is taken from the present version of the game that they name, else of the
        channel's. `character`: whose moves a sheet has that names nobody, or empty."""
        here, reason, now = self._desk.game_of(place), one_line(reason), self._clock.now()
        if place.server_id is None or place.direct:
            return refused(here, GameRefusalCode.NO_SERVER)
        if len(reason) > REASON_CHARACTERS:
            return refused(here, GameRefusalCode.TEXT_TOO_LONG, most=REASON_CHARACTERS)
        size = sum(len(file.data) for file in files)
        if size > MAX_BYTES:
            wrong, right = f"have {size:,} bytes", f"send at most {MAX_BYTES:,} at once"
            return Preview(here, 0, (_of_all(wrong, right),), reason=reason)
        sent = KeptUpload(0, tuple(files), AS_GUESSED, one_line(character) or None, here.name, reason, now)
        preview, _ = await self._look(place, sent)
        if preview.game is None and not preview.columns:
            return preview
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                kept = await stored.of_owner(writing, place.owner)
                return replace(preview, upload_id=kept.id if kept is not None else 0)
            await stored.prune(writing, now - KEPT_FOR)
            upload_id = await stored.put(writing, place.owner, sent)
        self._book.hold(place.owner, self._book.member(place.owner))
        self._remember(upload_id, preview)
        return replace(preview, upload_id=upload_id)

    async def preview(self, place: Place, upload_id: int) -> Preview | GameRefusal:
        """What the member sent, looked at again."""
        sent = await self._sent(place, upload_id)
        return self._gone(place) if sent is None else (await self._look(place, sent))[0]

    async def guesses(self, place: Place, upload_id: int) -> tuple[ColumnGuess, ...] | GameRefusal:
        """What the columns of the sheets were taken for."""
        sent = await self._sent(place, upload_id)
        return self._gone(place) if sent is None else await self._guessed(place, sent)

    async def columns(self, place: Place, upload_id: int, text: str) -> Preview | GameRefusal:
        """Read the sheets with other columns, as lines that `game_columns` reads. One that cannot be read is
        refused, and then nothing is changed."""
        sent = await self._sent(place, upload_id)
        if sent is None:
            return self._gone(place)
        said = read_columns(text, [one.header for one in await self._guessed(place, sent)])
        if isinstance(said, BadLine):
            return GameRefusal(self._desk.game_of(place), said.code, said.facts)
        async with self._store.write() as writing:
            await stored.set_columns(writing, upload_id, said)
        return (await self._look(place, replace(sent, columns=said)))[0]

    async def use(self, place: Place, upload_id: int, event_id: int) -> EditionChange | GameRefusal:
        """Have the server use what the member sent, from now on and for everybody."""
        owner = place.owner
        async with self._changes.alone(owner.server_id):
            sent = await self._sent(place, upload_id)
            if sent is None:
                return await self._changes.again(owner, event_id) or self._gone(place)
            seen, planned = await self._look(place, sent)
            if planned is None:
                count = len(seen.problems)
                return seen.refusal or refused(seen.here, GameRefusalCode.NOT_READABLE, count=count)
            async with self._store.write(event_id) as writing:
                if writing.repeated:
                    return await self._changes.done_before(writing, owner) or self._gone(place)
                if await stored.get(writing, owner, upload_id) is None:  # dropped while it was read
                    return self._gone(place)
                edition = await self._changes.store(
                    writing, owner, planned, Deed.GAME_LOADED, sent.reason, sent.reason
                )
                await stored.drop(writing, upload_id)
            return self._changes.taken_up(owner, planned, edition)

    async def drop(self, place: Place, upload_id: int, event_id: int) -> GameRefusal | None:
        """Forget what the member sent; refused where it is not there any more."""
        sent = await self._sent(place, upload_id)
        async with self._store.write(event_id) as writing:
            if sent is None:
                return None if writing.repeated else self._gone(place)
            await stored.drop(writing, upload_id)
        return None

    async def _sent(self, place: Place, upload_id: int) -> KeptUpload | None:
        async with self._store.read() as reading:
            sent = await stored.get(reading, place.owner, upload_id)
        return sent if sent is not None and sent.made_at > self._clock.now() - KEPT_FOR else None

    def _gone(self, place: Place) -> GameRefusal:
        return refused(self._desk.game_of(place), GameRefusalCode.NO_SUCH_UPLOAD)

    async def _look(self, place: Place, sent: KeptUpload) -> tuple[Preview, Planned | None]:
        """What it would do, and how it would be stored where it can be used."""
        here, server_id = self._desk.game_of(place), place.owner.server_id
        moves_only = rules_of(sent.files) is None
        empty = Preview(here, sent.id, reason=sent.reason, moves_only=moves_only)
        try:
            read = await self._read(server_id, sent)
        except WorkerError:
            wrong, right = "take too long to read", "send fewer or smaller files"
            return replace(empty, upload_id=0, problems=(_of_all(wrong, right),)), None
        seen = replace(empty, problems=read.problems, columns=read.columns, notes=read.notes)
        if sent.id:
            self._remember(sent.id, seen)
        if read.source is None or read.game is None:
            return seen, None
        game = read.game
        known = self._games.named(server_id, game.name)
        if known is not None and known != game.name:
            wrong, right = f"{shown(game.name)} is called {shown(known)} here", f"write name = {shown(known)}"
            return replace(seen, problems=(_of_rules(sent, wrong, right),)), None
        planned = await self._changes.plan(server_id, read.source, game)
        seen = replace(
            seen,
            name=game.name,
            says=game.version,
            label=game.version,
            game=game,
            contents=_contents(game),
            before=self._games.game(server_id, game.name),
        )
        if not isinstance(planned, Planned):
            return replace(seen, refusal=GameRefusal(here, planned.code, planned.facts)), None
        return replace(seen, label=planned.label, game=planned.game, patch=planned.patch), planned

    async def _read(self, server_id: int, sent: KeptUpload) -> Reading:
        """The files as they are read. Raises WorkerError."""
        rules = rules_of(sent.files)
        name: str | None = sent.game
        if rules is not None:
            named = await self._worker.run(_name_in, rules)
            name = self._games.named(server_id, named) if named is not None else None
        number = self._games.edition_of(server_id, name) if name is not None else None
        base = await self._games.source(number) if number is not None else None
        character = sent.character
        game = self._games.game(server_id, name) if name is not None else None
        if character is not None and game is not None:
            character = _called(game, character)
        return await self._worker.run(read_upload, sent.files, base, dict(sent.columns), character)

    async def _guessed(self, place: Place, sent: KeptUpload) -> tuple[ColumnGuess, ...]:
        """What its columns were taken for: at once where that was looked at lately, as a form must open
        soon."""
        seen = self._guesses.get(sent.id)
        return (await self._look(place, sent))[0].columns if seen is None else seen

    def _remember(self, upload_id: int, seen: Preview) -> None:
        self._guesses.pop(upload_id, None)
        self._guesses[upload_id] = seen.columns
        while len(self._guesses) > REMEMBERED:
            del self._guesses[next(iter(self._guesses))]


def _name_in(rules: Upload) -> str | None:
    """The name of the game that a file of rules is of, as far as it can be read."""
    try:
        name = parsed(rules.name, decoded(rules)[0]).get("name")
    except GameFileError:
        return None
    return name.strip() if isinstance(name, str) else None


def _called(game: Game, typed: str) -> str:
    """The name of the character who is called so; what was typed where nobody is."""
    wanted = typed.casefold()
    for who in game.characters:
        if wanted in (name.casefold() for name in (who.name, *who.aliases)):
            return who.name
    return typed


def _contents(game: Game) -> Contents:
    moves = sum(len(who.moves) for who in game.characters)
    rules = len(game.rules) + sum(len(who.rules) for who in game.characters)
    return Contents(len(game.characters), moves, rules)


def _of_all(wrong: str, right: str) -> Problem:
    """A problem of the files as a whole."""
    return Problem("the files", "", "", "", wrong, right)


def _of_rules(sent: KeptUpload, wrong: str, right: str) -> Problem:
    rules = rules_of(sent.files)
    return Problem(rules.name if rules is not None else "the files", "", "", "name", wrong, right)
