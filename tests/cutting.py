"""A wire to a PostgreSQL server that is cut at the worst moments: a proxy on this machine."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from enum import Enum, auto

COMMIT = b"COMMIT;"


class Cut(Enum):
    """When the wire is cut. NEVER and DEAD stay as they are; of the others the first that comes true is the
    last: after it the wire is whole, or DEAD where `then_dead`."""

    NEVER = auto()
    BEFORE_COMMIT = auto()  # the server never hears of it
    AFTER_COMMIT = auto()  # the server has done it, and its answer is lost
    SILENT = auto()  # from the next commit on nothing goes through, and nobody says so
    DEAD = auto()  # nobody takes a connection


class Wire:
    """Passes on what goes between the bot and the server."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._sockets: set[asyncio.StreamWriter] = set()
        self._tasks: set[asyncio.Task[None]] = set()
        self.cut = Cut.NEVER
        self.then_dead = False
        self.cuts = 0
        self.port = 0

    @asynccontextmanager
    async def laid(self) -> AsyncIterator[Wire]:
        """While it is there."""
        server = await asyncio.start_server(self._connected, "127.0.0.1", 0)
        self.port = server.sockets[0].getsockname()[1]
        try:
            yield self
        finally:
            server.close()
            self.cut_all()
            for task in self._tasks:
                task.cancel()
            await asyncio.gather(*self._tasks, return_exceptions=True)

    def cut_all(self) -> None:
        """Cut each connection that there is now."""
        for socket in tuple(self._sockets):
            socket.transport.abort()
        self._sockets.clear()

    async def _connected(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if self.cut is Cut.DEAD:
            writer.transport.abort()
            return
        back, there = await asyncio.open_connection("127.0.0.1", self._to)
        self._sockets |= {writer, there}
        committing = asyncio.Event()
        for work in (self._to_server(reader, there, committing), self._to_bot(back, writer, committing)):
            task = asyncio.create_task(work, name="wire")
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    async def _to_server(
        self, reader: asyncio.StreamReader, there: asyncio.StreamWriter, committing: asyncio.Event
    ) -> None:
        try:
            while data := await reader.read(65_536):
                if COMMIT in data:
                    if self.cut is Cut.BEFORE_COMMIT:
                        self._done()
                        return
                    committing.set()
                if self.cut is Cut.SILENT and committing.is_set():
                    self.cuts += 1
                    continue
                there.write(data)
                await there.drain()
        except OSError:
            pass
        finally:
            there.close()

    async def _to_bot(
        self, back: asyncio.StreamReader, writer: asyncio.StreamWriter, committing: asyncio.Event
    ) -> None:
        try:
            while data := await back.read(65_536):
                if self.cut is Cut.AFTER_COMMIT and committing.is_set():
                    self._done()
                    return
                if self.cut is Cut.SILENT and committing.is_set():
                    continue
                writer.write(data)
                await writer.drain()
                committing.clear()
        except OSError:
            pass
        if self.cut is not Cut.SILENT:  # else nobody hears that the server has gone, either
            writer.close()

    def _done(self) -> None:
        self.cuts += 1
        self.cut = Cut.DEAD if self.then_dead else Cut.NEVER
        self.cut_all()
