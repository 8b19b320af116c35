"""How long patch day takes as members meet it: through the database and the worker processes.

Run by hand: `python tests/benchmarks/patch_day.py`. Two versions with 2,000 moves, and 1,000 saved routes of
50 members. The reference is the same work done at once in this process (tests/benchmarks/patches.py takes
that apart). The aim is 2 seconds for whoever looks first; whoever looks later finds most of it done.
"""

from __future__ import annotations

import asyncio
import os
import random
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from inline import HERE, HandClock  # noqa: E402
from patched import NOON  # noqa: E402
from patches import ROUTES, big_game, usual_patch  # noqa: E402
from patching import drawn_routes  # noqa: E402
from stored import new_database  # noqa: E402

from bot.results.games import EditionChange  # noqa: E402
from bot.results.patches import PatchSheet  # noqa: E402
from bot.results.tally import SavedRoute  # noqa: E402
from bot.services.desk import AskDesk  # noqa: E402
from bot.services.game_book import GameBook  # noqa: E402
from bot.services.jobs import JobService  # noqa: E402
from bot.services.notices import NoticeService  # noqa: E402
from bot.services.patch_telling import PatchTelling  # noqa: E402
from bot.services.patch_views import PatchViews  # noqa: E402
from bot.services.patch_work import routes_touched, what_follows  # noqa: E402
from bot.services.patches import PatchService  # noqa: E402
from bot.services.settings import SettingsBook  # noqa: E402
from bot.storage import editions, routes  # noqa: E402
from bot.storage.store import Store  # noqa: E402
from bot.worker import WorkerPool  # noqa: E402
from core.model import Game  # noqa: E402
from core.patches import SavedText  # noqa: E402

MEMBERS = 50
SEED = 7


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


async def timed(store: Store, worker: WorkerPool, games: list[Game], texts: list[SavedText]) -> None:
    """Announces the change and looks at it, first and again."""
    clock = HandClock(NOON)
    book = SettingsBook(store, clock)
    game_book = GameBook(store, clock, book, {"big": games[0]}, {})
    desk, jobs = AskDesk(book, game_book, "big", clock), JobService(store, clock)
    notices = NoticeService(jobs, book, clock)
    change = await keep(store, game_book, games, texts)
    for what in ("announced first, then looked at", "looked at first"):
        views = PatchViews(store, game_book, book, worker)
        service = PatchService(store, desk, game_book, book, clock, views)
        telling = PatchTelling(store, game_book, views, clock, jobs, notices)
        started = time.perf_counter()
        if what.startswith("announced"):
            async with store.write() as writing:
                await telling.owe(writing, HERE.owner.server_id, change.game.name, change.before_id or 0)
            told = await telling.announce(HERE, change)
            print(f"announce, nothing known: {time.perf_counter() - started:.2f} s, {told} members told")
            started = time.perf_counter()
        for look in ("first look", "look of another member"):
            place = replace(HERE, member_id=1 if look == "first look" else 2)
            sheet = await service.sheet(place)
            assert isinstance(sheet, PatchSheet), sheet
            print(
                f"{what}, {look}: {time.perf_counter() - started:.2f} s, "
                f"{len(sheet.concerns.touched)} routes touched, {len(sheet.mine)} of theirs"
            )
            started = time.perf_counter()


async def main() -> None:
    chance = random.Random(SEED)
    old = big_game(chance)
    texts = drawn_routes(old, chance, ROUTES)
    new = usual_patch(old, chance)
    print(f"load {os.getloadavg()[0]:.2f}; {sum(len(who.moves) for who in old.characters):,} moves")
    started = time.perf_counter()
    patch, _ = what_follows(old, new)
    routes_touched(old, new, patch, texts)
    print(f"at once in this process: {time.perf_counter() - started:.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        store, worker = Store(new_database(Path(folder))), WorkerPool()
        await store.open()
        worker.start()
        await worker.run(len, ())
        try:
            await timed(store, worker, [old, new], texts)
        finally:
            await worker.close()
            await store.close()


if __name__ == "__main__":
    asyncio.run(main())
