"""What services of the practice log are tested with: a real store, a clock that is set by hand, and a worker
that works at once."""

from __future__ import annotations

import pickle
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import ParamSpec, TypeVar

from databases import database_at
from demo import GAMES, demo

from bot.ports import Clock
from bot.results.place import Owner, Place
from bot.results.tally import KeptTally, Subject, SubjectKind, Tally
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.settings import SettingsBook
from bot.storage import tallies
from bot.storage.address import address_of
from bot.storage.store import Store
from core.model import Game

P = ParamSpec("P")
Result = TypeVar("Result")
HERE = Place(1, 10, 100)
ODRUN, MIRREL = "Odrun Vale", "Mirrel Quay"


class InlineWorker:
    """Works at once, in this process, on what would arrive in another one."""

    def start(self) -> None:
        pass

    async def close(self) -> None:
        pass

    async def run(self, work: Callable[P, Result], *args: P.args, **kwargs: P.kwargs) -> Result:
        arrived, given, named = pickle.loads(pickle.dumps((work, args, kwargs)))
        result: Result = pickle.loads(pickle.dumps(arrived(*given, **named)))
        return result


class HandClock:
    """A clock that is set by hand."""

    def __init__(self, time: datetime) -> None:
        self.time = time

    def now(self) -> datetime:
        return self.time


@dataclass(frozen=True)
class Bench:
    """The parts that the services are made of, with the demo games; `HERE` plays Saltglass."""

    store: Store
    desk: AskDesk
    book: SettingsBook
    clock: HandClock
    game_book: GameBook

    async def log(self, tally: Tally, owner: Owner = HERE.owner) -> KeptTally:
        """A tally, stored as it is."""
        async with self.store.write() as writing:
            return await tallies.add(writing, owner, tally, None, self.clock.now())

    async def undo(self, kept: KeptTally) -> None:
        """Take a tally out of the log."""
        async with self.store.write() as writing:
            await tallies.undo(writing, HERE.owner, kept.id)


def desk_with(store: Store, clock: Clock, book: SettingsBook, games: Mapping[str, Game]) -> AskDesk:
    """A desk of these games, the first of them where none is chosen."""
    return AskDesk(book, GameBook(store, clock, book, games, {}), next(iter(games)), clock)


@asynccontextmanager
async def bench_at(folder: Path, now: datetime) -> AsyncIterator[Bench]:
    """A bench whose store is the database of this folder."""
    store, clock = Store(address_of(database_at(folder))), HandClock(now.astimezone(UTC))
    await store.open()
    try:
        book = SettingsBook(store, clock)
        await book.load()
        game_book = GameBook(store, clock, book, {name: demo(name) for name in GAMES}, {})
        await game_book.load()
        yield Bench(store, AskDesk(book, game_book, "saltglass", clock), book, clock, game_book)
    finally:
        await store.close()


def link(what: str, character: str = ODRUN) -> Subject:
    """A link of Saltglass."""
    return Subject("Saltglass", character, SubjectKind.LINK, what)


def route(what: str, character: str = ODRUN) -> Subject:
    """A route of Saltglass."""
    return Subject("Saltglass", character, SubjectKind.ROUTE, what)


def drill(what: str) -> Subject:
    """A drill in words."""
    return Subject("Saltglass", "", SubjectKind.DRILL, what)
