"""Lines from standard input, beside everything else that goes on."""

from __future__ import annotations

import asyncio
import os
import threading

STANDARD_INPUT = 0


class Terminal:
    """Lines as they are typed, in `lines`; none ever come where there is no terminal.

    A thread reads the bare descriptor: an executor's thread would hold up the exit until Enter, and
    one inside sys.stdin can bring the interpreter down when it ends.
    """

    def __init__(self, loop: asyncio.AbstractEventLoop, descriptor: int = STANDARD_INPUT) -> None:
        self._loop = loop
        self._descriptor = descriptor
        self.lines: asyncio.Queue[str] = asyncio.Queue()
        threading.Thread(target=self._read, name="terminal", daemon=True).start()

    def _read(self) -> None:
        rest = b""
        while True:
            try:
                block = os.read(self._descriptor, 4096)
            except OSError:
                return
            if not block:
                return
            *lines, rest = (rest + block).split(b"\n")
            for line in lines:
                try:
                    self._loop.call_soon_threadsafe(self.lines.put_nowait, line.decode(errors="replace"))
                except RuntimeError:  # the loop is closed
                    return
