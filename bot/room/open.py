"""Opening the room: the same bot as everywhere, the simulator instead of the platform."""

from __future__ import annotations

import asyncio
import logging
import signal
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import simcord

from bot.app import build
from bot.client.shards import SINGLE
from bot.config import Settings
from bot.room.community import read_community
from bot.room.passing import Passing
from bot.room.patch import next_version
from bot.room.serve import Room, free_port
from bot.room.world import RoomClock, found, spell_out_mentions

SETTLE_SECONDS = 60.0
"""What happens while time goes by may have to be drawn or worked out."""


def open_room(settings: Settings, port: int, browser: bool) -> None:
    """Serve the room until it is closed, from its terminal, from its page or by a signal.

    A `port` that is taken, or 0, is replaced by a free one. `browser`: open the page as well. Its database
    is a temporary one, of the invented community.
    """
    logging.basicConfig(level=logging.ERROR, format="%(name)s: %(message)s")
    found_port = free_port(port)
    if port not in (0, found_port):
        print(f"Port {port} is taken; the room uses {found_port}.", flush=True)
    with suppress(KeyboardInterrupt):  # it comes where the loop takes no signal handlers
        asyncio.run(_open(settings, found_port, browser))
    print("The room is closed.", flush=True)


async def _open(settings: Settings, port: int, browser: bool) -> None:
    stop = asyncio.Event()
    for name in (signal.SIGINT, signal.SIGTERM):
        try:
            asyncio.get_running_loop().add_signal_handler(name, stop.set)
        except NotImplementedError:  # Windows
            break
    clock = RoomClock()
    with TemporaryDirectory(prefix="cornerman-room-", ignore_cleanup_errors=True) as folder:
        ours = {"database": Path(folder) / "room.db", "metrics_port": 0}  # the port is for `cornerman run`
        bot = build(settings.model_copy(update=ours), clock, shards=SINGLE)
        async with simcord.run(bot, check_errors=False, settle_timeout=SETTLE_SECONDS) as env:
            clock.env = env
            try:
                community = read_community()
                world = await found(env, bot, community)
                spell_out_mentions(env)
                passing, patch = Passing(env, clock, bot.jobs), next_version()
                files = patch.write(Path(folder))
                room = Room(env, community, world, passing, port, browser, patch, files)
                await room.serve(stop)
            finally:
                await bot.close()
