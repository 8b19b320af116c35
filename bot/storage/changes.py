"""Hearing what other processes change in a database that they share with this one, so that what is held in
memory stays right."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Collection, Mapping
from functools import partial

from bot.storage.errors import StorageError, told
from bot.storage.listening import Listening
from bot.storage.store import Store

BEAT_SECONDS = 30.0
"""So often the connection is tried."""
FIRST_REST_SECONDS, LONGEST_REST_SECONDS = 1.0, 60.0
"""What a try rests after one that failed, each time twice as long; the first comes at once, unless the
connection was lost before it was tried."""

Key = tuple[int, ...]
Changed = Mapping[str, Collection[Key]]
"""The keys of what changed, by what it is: the name of a table, or what `Changes.tell` was given."""

log = logging.getLogger(__name__)


class Changes:
    """Has `load` called where anything may have changed, at first and whenever we could not hear, and
    `take_up` with what was heard since it was called last: one of them at a time, and for many changes at
    once. Neither may go back behind what this process has written: see `Store.settled`.

    No task waits here: what is heard begins one. A SQLite database has one process, which hears nothing.
    """

    def __init__(
        self,
        store: Store,
        load: Callable[[], Awaitable[None]],
        take_up: Callable[[Changed], Awaitable[None]],
    ) -> None:
        self._store = store
        self._load = load
        self._take_up = take_up
        self._listening: Listening | None = None
        self._is_new = False
        self._missed = True
        self._heard: dict[str, dict[Key, None]] = {}
        self._to_tell: dict[str, None] = {}
        self._is_to_beat = False
        self._task: asyncio.Task[None] | None = None
        self._timer: asyncio.TimerHandle | None = None
        self._failures = 0
        self._open = False

    async def open(self) -> None:
        """Load, and hear from now on. Raises StorageError."""
        if self._store.address.file is not None:
            await self._load()
            return
        try:
            await self._catch_up()
        except BaseException:
            self._drop()
            raise
        self._open = True
        self._rest(BEAT_SECONDS)
        self._go_on()

    async def close(self) -> None:
        """Hear nothing any more. Call it before the store is closed."""
        self._open = False
        if self._timer is not None:
            self._timer.cancel()
        task = self._task
        if task is not None:
            task.cancel()
            await asyncio.wait((task,))
        self._drop()

    def tell(self, what: str, *key: int) -> None:
        """Tell the other processes, and this one, of something that is in no table. Where that fails for
        good, it is lost: whoever must not miss it looks for it when it begins. Called in the event loop."""
        if self._open:
            self._to_tell[" ".join(map(str, (what, *key)))] = None
            self._go_on()

    def _hear(self, said: str) -> None:
        what, *key = said.split(" ")
        try:
            self._heard.setdefault(what, {})[tuple(map(int, key))] = None
        except ValueError:
            log.warning("not understood, what the database told: %.100r", said)
        self._go_on()

    def _lost(self, listening: Listening) -> None:
        if listening is self._listening:
            self._listening = None
            self._go_on()

    def _drop(self) -> None:
        listening, self._listening = self._listening, None
        if listening is not None:
            listening.drop()

    def _rest(self, seconds: float) -> None:
        self._timer = asyncio.get_running_loop().call_later(seconds, self._rested)

    def _rested(self) -> None:
        self._timer = None
        self._is_to_beat = True
        self._go_on()

    def _go_on(self) -> None:
        """Begin to work, if there is something to do and nothing that is waited for."""
        resting = self._failures > 0 and self._timer is not None
        if self._open and self._task is None and not resting and self._has_work():
            self._task = asyncio.get_running_loop().create_task(self._work(), name="changes")

    def _has_work(self) -> bool:
        lost = self._listening is None
        return bool(lost or self._missed or self._heard or self._to_tell or self._is_to_beat)

    async def _work(self) -> None:
        try:
            while self._has_work():
                await self._catch_up()
        except Exception as error:
            self._failed(error)
        else:
            self._succeeded()
        finally:
            self._task = None

    def _failed(self, error: Exception) -> None:
        """Rest, and begin anew with another connection."""
        if not self._failures:
            log.warning(
                "what other processes change is not heard for now: %s",
                error,
                exc_info=None if isinstance(error, StorageError) else error,
            )
        self._missed = True
        self._failures += 1
        if self._timer is not None:
            self._timer.cancel()
        twice = self._failures - 1
        self._rest(min(FIRST_REST_SECONDS * 2.0 ** min(twice, 30), LONGEST_REST_SECONDS))
        self._drop()

    def _succeeded(self) -> None:
        if self._failures:
            log.info("what other processes change is heard again, and all of it is taken up")
        self._failures = 0
        if self._timer is None:
            self._rest(BEAT_SECONDS)

    async def _catch_up(self) -> None:
        """Do what there is to do. Raises StorageError, and what the two that we call raise."""
        with told(self._store.address):
            listening = self._listening
            if listening is None:
                self._missed = True
                if self._is_new:  # and lost already
                    self._is_new = False
                    raise StorageError(f"{self._store.address} ends our connections; see why in its log.")
                listening = self._listening = await self._store.listen()
                self._is_new = True
                # Before anything is read: what is committed after that is heard.
                await listening.begin(self._hear, partial(self._lost, listening))
            if self._is_to_beat:
                self._is_to_beat = False
                await listening.beat()
                self._is_new = False
            if self._missed:
                self._heard = {}
                await self._load()
                self._missed = False
            while self._to_tell:
                said = next(iter(self._to_tell))
                await listening.tell(said)
                self._to_tell.pop(said, None)
            heard, self._heard = self._heard, {}
            if heard:
                await self._take_up(heard)
