"""How long patch day takes as members meet it: through the database and the worker processes.

Two versions with 2,000 moves, and 1,000 saved routes of 50 members. The reference is the same work done at
once in this process (patches.py takes that apart). The aim (step 7) is 2 seconds for whoever looks first;
whoever looks later finds most of it done.
"""

from __future__ import annotations

import asyncio
import random
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from benchmarks.figures import Figure, at_most, beside
from benchmarks.patches import ROUTES, SEED, big_game, usual_patch
from databases import new_database
from inline import HERE, HandClock, InlineWorker
from patched import NOON
from patching import drawn_routes

from bot.ports import Worker
from bot.results.games import EditionChange
from bot.results.patches import PatchSheet
from bot.results.tally import SavedRoute
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.patch_telling import PatchTelling
from bot.services.patch_views import PatchViews
from bot.services.patch_work import routes_touched, what_follows
from bot.services.patches import PatchService
from bot.services.settings import SettingsBook
from bot.storage import editions, routes
from bot.storage.store import Store
from bot.worker import WorkerPool
from core.model import Game
from core.patches import SavedText

MEMBERS = 50


async def keep(store: Store, book: GameBook, games: list[Game], texts: list[SavedText]) -> EditionChange:
    """Both versions, the second in use, and everybody's routes."""
    server_id, kept = HERE.owner.server_id, []
    async with store.write() as writing:
        for game in games:
            added = await editions.add(
                writing, server_id, game.name, game.version, "", game.version, HERE.owner, NOON
            )
            kept.append(added)
            book._remember(server_id, game)
        for text in texts:
            owner = replace(HERE.owner, member_id=1 + text.key % MEMBERS)
            name = f"route {text.key}"
            route = SavedRoute(0, games[0].name, "1", text.character, name, text.notation, NOON)
            await routes.save(writing, owner, route)
        await editions.set_current(writing, server_id, games[1].name, kept[1].id)
    book.hold(server_id, games[1].name, kept[1].id, games[1])
    return EditionChange(kept[1], games[1], kept[0].id, games[0], None)


async def timed(store: Store, worker: Worker, games: list[Game], texts: list[SavedText]) -> dict[str, float]:
    """Seconds of announcing the change and of looking at it, by what is measured."""
    clock = HandClock(NOON)
    book = SettingsBook(store, clock)
    game_book = GameBook(store, clock, book, {"big": games[0]}, {})
    desk, jobs = AskDesk(book, game_book, "big", clock), JobService(store, clock)
    notices = NoticeService(jobs, book, clock)
    change = await keep(store, game_book, games, texts)
    took: dict[str, float] = {}
    for announced in (True, False):
        views = PatchViews(store, game_book, book, worker)
        service = PatchService(store, desk, game_book, book, clock, views)
        telling = PatchTelling(store, game_book, views, clock, jobs, notices)
        started = time.perf_counter()
        if announced:
            async with store.write() as writing:
                await telling.owe(writing, HERE.owner.server_id, change.game.name, change.before_id or 0)
            await telling.announce(HERE, change)
            took["announced"] = time.perf_counter() - started
            started = time.perf_counter()
        for member_id, look in ((1, "first_look"), (2, "later_look")):
            sheet = await service.sheet(replace(HERE, member_id=member_id))
            assert isinstance(sheet, PatchSheet), sheet
            took[f"{look}_after" if announced else look] = time.perf_counter() - started
            started = time.perf_counter()
    return took


async def measured(worker: Worker, games: list[Game], texts: list[SavedText]) -> dict[str, float]:
    """The same on a database of its own, once the worker is warm."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(new_database(Path(folder)))
        await store.open()
        worker.start()
        try:
            await worker.run(len, ())
            return await timed(store, worker, games, texts)
        finally:
            await worker.close()
            await store.close()


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of announcing, and of each look."""
    chance = random.Random(SEED)
    old = big_game(chance, 2, 20) if tiny else big_game(chance)
    texts = drawn_routes(old, chance, 10 if tiny else ROUTES)
    new = usual_patch(old, chance)
    started = time.perf_counter()
    patch, _ = what_follows(old, new)
    routes_touched(old, new, patch, texts)
    at_once = time.perf_counter() - started
    took = asyncio.run(measured(InlineWorker() if tiny else WorkerPool(), [old, new], texts))
    return tuple(
        beside(
            f"patch_day.{name}",
            f"{what}, beside the work at once",
            took[name],
            at_once,
            "s",
            at_most(2) if name == "first_look" else None,
        )
        for name, what in (
            ("first_look", "the first look at a patch"),
            ("later_look", "another member's look after it"),
            ("announced", "announcing it, nothing known"),
            ("first_look_after", "the first look after it was announced"),
            ("later_look_after", "another member's look after that"),
        )
    )
