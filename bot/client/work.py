"""The handlers that are running, so that the bot can let them finish before it goes."""

from __future__ import annotations

import asyncio

FINISH_SECONDS = 10.0


class Work:
    """The tasks that answer somebody. `draining`: whoever comes now is turned away."""

    def __init__(self) -> None:
        self.draining = False
        self._tasks: set[asyncio.Task[object]] = set()

    def begin(self) -> bool:
        """Count the task that calls this as work until it ends; False where it is to be turned away."""
        task = asyncio.current_task()
        if task is not None:
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        return not self.draining

    async def drain(self, seconds: float = FINISH_SECONDS) -> int:
        """Take no more work and wait for what runs, those who are turned away meanwhile included; how many
        are still running after `seconds`."""
        self.draining = True
        loop = asyncio.get_running_loop()
        end = loop.time() + seconds
        while (running := self._tasks - {asyncio.current_task()}) and loop.time() < end:
            await asyncio.wait(running, timeout=end - loop.time())
        return len(running)
