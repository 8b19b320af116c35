"""The page and the terminal of the room."""

from __future__ import annotations

import asyncio
import secrets
import socket
import threading
import webbrowser
from collections.abc import Coroutine
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import simcord
from simcord.preview import Preview

from bot.room.commands import GoChannel, GoMember, LetPass, Next, PatchDay, Quit, Say, understand
from bot.room.community import Community
from bot.room.passing import Passing, in_turn
from bot.room.patch import NextVersion, load_patch
from bot.room.terminal import Terminal
from bot.room.world import View, World

LOOPBACK = "127.0.0.1"
PATCHED_ALREADY = "That patch is loaded already: /game versions goes back."
NOTHING_WAITS = "Nothing is about to happen: start a group drill or give homework, and something will be."


def free_port(wanted: int) -> int:
    """The wanted port, or, where that is taken (or 0), one that is free."""
    for port in (wanted, 0):
        try:
            with socket.create_server((LOOPBACK, port)) as server:
                return int(server.getsockname()[1])
        except OSError:
            continue
    raise OSError("no port of this machine is free")


def open_page(address: str) -> None:
    """Open the address in the browser. A browser of the terminal would hold us up: hence the thread."""
    threading.Thread(target=webbrowser.open, args=(address,), name="browser", daemon=True).start()


@dataclass(slots=True)
class Room:
    """Shows one view at a time at one address, and does what is typed in the terminal. `files`: where the
    `patch` lies."""

    env: simcord.Env
    community: Community
    world: World
    passing: Passing
    port: int
    browser: bool
    patch: NextVersion
    files: Path
    _capability: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    async def serve(self, stop: asyncio.Event) -> None:
        """Until `stop`, `quit` or the page's own end of the session."""
        terminal = Terminal(asyncio.get_running_loop())
        view: View | None = self.world.first
        address = None
        while view is not None:
            preview = self.env.preview(view.channel, viewers=view.viewers, layout="channel", port=self.port)
            preview.capability = self._capability  # the address stays the same from view to view
            async with preview:
                if address is None:
                    address = preview.url
                    self._greet(address)
                else:
                    _say(f"The page now shows {view.title}: reload it.")
                view = await self._next_view(preview, terminal, stop)

    def _greet(self, address: str) -> None:
        _say(f"{self.community.servers[0].name} is open: {address}")
        _say(f"A next version of the game lies in {self.files}: send it with /game load, or type patch here.")
        _say("Type help here for other channels and direct messages; quit or Ctrl-C closes the room.")
        if self.browser:
            open_page(address)

    async def _next_view(self, preview: Preview, terminal: Terminal, stop: asyncio.Event) -> View | None:
        """What to show next; None to stop."""
        ends = {asyncio.create_task(stop.wait()), asyncio.create_task(preview.wait_closed())}
        try:
            while (line := await _unless(ends, terminal.lines.get())) is not None:
                match understand(line, self.community):
                    case Quit():
                        return None
                    case GoChannel(name):
                        return self.world.channels[name]
                    case GoMember(name):
                        return self.world.messages[name]
                    case LetPass(days):
                        await self.passing.by(timedelta(days=days))
                        await self._show_time(preview)
                    case Next():
                        if await self.passing.to_next():
                            await self._show_time(preview)
                        else:
                            _say(NOTHING_WAITS)
                    case PatchDay():
                        await self._load_patch(preview)
                    case Say(text):
                        _say(text)
            return None
        finally:
            for task in ends:
                task.cancel()

    async def _load_patch(self, preview: Preview) -> None:
        world, loaded = self.world, []

        async def load() -> None:
            loaded.append(await load_patch(world.moderator, world.patches.channel, self.patch))

        await in_turn(load)
        await in_turn(preview.refresh)
        patched = f"Version {self.patch.version} is loaded, and {world.patches.title} tells of it."
        _say(patched if loaded[0] else PATCHED_ALREADY)

    async def _show_time(self, preview: Preview) -> None:
        await in_turn(preview.refresh)
        _say(f"It is now {self.passing.clock.now():%A, %d %B %Y, %H:%M} UTC.")


async def _unless(ends: set[asyncio.Task[Any]], line: Coroutine[Any, Any, str]) -> str | None:
    """The next line; None as soon as one of the `ends` has come."""
    reading = asyncio.create_task(line)
    done, _ = await asyncio.wait(ends | {reading}, return_when=asyncio.FIRST_COMPLETED)
    if done & ends:
        reading.cancel()
        return None
    return reading.result()


def _say(text: str) -> None:
    print(text, flush=True)
