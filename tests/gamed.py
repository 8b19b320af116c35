"""A server's own games as services over a real store, with the host's demo games and their versions."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

from databases import database_at
from demo import GAMES
from inline import HERE, HandClock, InlineWorker
from sqlalchemy import select

from bot.gamefiles import Source, files_of, find_game, read_both
from bot.ports import Worker
from bot.results.audit import Entry
from bot.results.files import Upload
from bot.results.games import Edition, EditionChange, GameRefusal, GameRefusalCode, Preview, Report
from bot.results.place import Place
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.game_changes import GameChanges
from bot.services.game_desk import GameDesk
from bot.services.game_reports import GameReports
from bot.services.game_uploads import GameUploads
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.privacy import PrivacyService
from bot.services.settings import SettingsBook
from bot.storage import audit
from bot.storage.address import address_of
from bot.storage.schema import edition, job, report, upload
from bot.storage.store import Store
from core.model import Game, Move

MONDAY = datetime(2026, 3, 2, 18, tzinfo=UTC)
MARLOW, OTHER_MOD, WREN = (replace(HERE, member_id=number) for number in (900, 901, 100))
"""Two moderators of a server, and a member."""
ELSEWHERE = replace(MARLOW, server_id=2)
"""The first of them, in another server."""
DIRECT = Place(None, 10, 900)
ODRUN = "Odrun Vale"


@cache
def packaged(name: str) -> tuple[Source, Game]:
    """A demo game as its source and what it says."""
    return read_both(find_game(name))


@dataclass
class Office:
    """Everything that has to do with the games of servers."""

    store: Store
    desk: AskDesk
    game_book: GameBook
    book: SettingsBook
    clock: HandClock
    uploads: GameUploads
    games: GameDesk
    reports: GameReports
    privacy: PrivacyService
    _events: Any = field(default_factory=lambda: count(1_000))

    def event(self) -> int:
        """The id of an interaction that was not seen before."""
        return int(next(self._events))

    def game(self, place: Place = MARLOW) -> Game:
        """The game that a question here is answered from."""
        return self.desk.game_of(place)

    def move(self, written: str = "5MP", place: Place = MARLOW, who: str = ODRUN) -> Move:
        """A move of it."""
        owner = self.game(place).character(who)
        assert owner is not None
        return next(move for move in owner.moves if move.input == written)

    async def edit(
        self, number: str = "5", place: Place = MARLOW, column: str = "startup", **others: Any
    ) -> EditionChange | GameRefusal:
        """Another number for a move of Odrun's, 5MP where none is named."""
        asked = {"move": "5MP", "reason": "", "character": "Odrun", "event_id": self.event(), **others}
        return await self.games.edit(place, column=column, number=number, **asked)

    async def take(
        self, *files: Upload, place: Place = MARLOW, character: str = "", reason: str = ""
    ) -> Preview | GameRefusal:
        """Files that a moderator sends."""
        return await self.uploads.take(place, files, character, reason, self.event())

    async def tell(
        self,
        right: str = "5",
        place: Place = WREN,
        column: str = "startup",
        note: str = "",
        move: str = "5MP",
    ) -> Report | GameRefusal:
        """A report of a number of Odrun's."""
        return await self.reports.report(place, move, column, right, note, "Odrun", self.event())

    async def rows(self, table: str = "edition") -> list[Any]:
        """All rows of one of these tables; of editions those of servers alone."""
        query = {
            "edition": select(edition).where(edition.c.server_id != 0),
            "report": select(report),
            "upload": select(upload),
        }[table]
        async with self.store.read() as reading:
            return list(await reading.connection.execute(query))

    async def deeds(self, place: Place = MARLOW) -> list[Entry]:
        """What the audit of a server says, the oldest first."""
        async with self.store.read() as reading:
            return list(reversed(await audit.listed(reading, place.owner.server_id, None, 100)))

    async def notices(self) -> list[tuple[str, int]]:
        """The notices that wait, each with its number."""
        async with self.store.read() as reading:
            found = await reading.connection.execute(select(job).where(job.c.done_at.is_(None)))
            payloads = [json.loads(row.payload) for row in found if row.kind == "notice"]
        return [(payload["kind"], payload["number"]) for payload in payloads]


@asynccontextmanager
async def office_at(folder: Path, worker: Worker | None = None) -> AsyncIterator[Office]:
    """An office whose store is the file of this folder, a new one where there is none."""
    store, clock = Store(address_of(database_at(folder))), HandClock(MONDAY)
    await store.open()
    try:
        book = SettingsBook(store, clock)
        await book.load()
        sources, games = ({name: packaged(name)[part] for name in GAMES} for part in (0, 1))
        game_book = GameBook(store, clock, book, games, sources)  # type: ignore[arg-type]
        await game_book.load()
        desk = AskDesk(book, game_book, "saltglass", clock)
        changes = GameChanges(store, game_book, book, clock)
        games_desk = GameDesk(store, desk, game_book, changes)
        notices = NoticeService(JobService(store, clock), book, clock)
        yield Office(
            store,
            desk,
            game_book,
            book,
            clock,
            GameUploads(store, desk, game_book, book, clock, worker or InlineWorker(), changes),
            games_desk,
            GameReports(store, desk, games_desk, changes, book, clock, notices),
            PrivacyService(store, book),
        )
    finally:
        await store.close()


def sheet(*rows: str, name: str = "odrun.csv") -> Upload:
    """A sheet of these lines."""
    return Upload(name, "\r\n".join(rows).encode())


def toml(name: str = "Tidewrack", version: str = "1.0", move: str = "5A") -> Upload:
    """The rules of an invented game, with one character and one move."""
    text = f"""
name = "{name}"
version = "{version}"
fps = 60
buttons = {{ A = {{}}, B = {{}} }}
[[character]]
name = "Brine Olwen"
[[character.move]]
input = "{move}"
name = "shell tap"
startup = 5
active = "3"
recovery = 9
on_hit = 4
"""
    return Upload("game.toml", text.encode())


def both(name: str = "saltglass") -> tuple[Upload, Upload]:
    """A demo game as it is handed out."""
    return files_of(packaged(name)[0])


def changed(result: object) -> EditionChange:
    assert isinstance(result, EditionChange), _short(result)
    return result


def seen(result: object) -> Preview:
    assert isinstance(result, Preview), _short(result)
    return result


def reported(result: object) -> Report:
    assert isinstance(result, Report), _short(result)
    return result


def kept(result: object) -> Edition:
    assert isinstance(result, Edition), _short(result)
    return result


def refusal(result: object) -> GameRefusalCode:
    assert isinstance(result, GameRefusal), type(result)
    return result.code


def _short(result: object) -> object:
    """A refusal without its game, which is long."""
    return (result.code, result.facts) if isinstance(result, GameRefusal) else result
