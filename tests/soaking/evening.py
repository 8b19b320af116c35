"""A busy evening, with all that can go wrong: what came of it, and whether anything was lost.

The bot is `cornerman run` in a process of its own, with its worker processes, a real database and real
sockets. In the first part the process is killed again and again; then it stays, and its memory is watched.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import statistics
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import asyncpg
from chat.platform import INVALID, RECONNECT, Platform, served
from pydantic import SecretStr
from raw import rows_in
from soaking.asks import SERVERS, Asker
from soaking.town import Answered, Town
from surviving import disagreements

from bot.storage.address import address_of
from bot.storage.postgresql import WRITERS

LOG = "bot.log"
BOT = Path(__file__).with_name("running.py")
AT_ONCE = 8
ANSWER_SECONDS = 20.0
BREATH_SECONDS = 0.05
LONGEST_PAUSE_SECONDS = 75.0
"""Between faults: a connection that is lost sooner is not tried again at once."""
READY_SECONDS = 30.0
STOP_SECONDS = 40.0
ROUGH = 0.35
"""The part of the time in which the process is killed."""
SETTLED = 0.5
"""From this part on its memory is watched."""
KEPT = ("Logged: ", "That was logged already: ")
SIGNS = ("never retrieved", "never awaited", "Unclosed", "Unhandled", "Traceback")


@dataclass(slots=True)
class Report:
    """What came of it. `lost`: acknowledged tallies that are not in the database; `invented`: tallies that
    nobody made; `wrong_sums`: kept sums that are not those of the rows; `unanswered`: who got no answer,
    though nothing broke meanwhile; `doubled`: who was shown more than one. `memory_mb`: of the process, the
    middle of each tenth of the time in which it was watched; `signs`: lines of its log that nobody wants."""

    asked: int = 0
    logged: int = 0
    faults: dict[str, int] = field(default_factory=dict)
    lost: list[int] = field(default_factory=list)
    invented: list[int] = field(default_factory=list)
    wrong_sums: list[object] = field(default_factory=list)
    unanswered: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    memory_mb: list[float] = field(default_factory=list)
    signs: list[str] = field(default_factory=list)
    stopped_with: int | None = None

    @property
    def growth(self) -> float:
        """How much larger the process is in the last third than in the first, as a share."""
        third = max(1, len(self.memory_mb) // 3)
        return statistics.median(self.memory_mb[-third:]) / statistics.median(self.memory_mb[:third]) - 1


class Evening:
    """`database`: as the settings name it, empty."""

    def __init__(self, seconds: float, seed: int, database: Path | SecretStr, folder: Path) -> None:
        self._seconds = seconds
        self._database = database
        self._log = folder / LOG
        self._chance = Random(seed)
        self._platform = Platform()
        self._platform.servers[0] = list(SERVERS)
        self._town = Town(self._platform, Random(seed + 1), lost_receipts=0.02, busy=0.01)
        self._asker = Asker(Random(seed + 2))
        self._bot: asyncio.subprocess.Process | None = None
        self._excused: set[int] = set()
        self._waiting: set[int] = set()
        self._report = Report()

    async def pass_by(self) -> Report:
        """Let it pass."""
        loop = asyncio.get_running_loop()
        async with served(self._platform.gateway, self._town.rest) as port:
            await self._begin(port)
            began = loop.time()
            asking = [asyncio.create_task(self._ask(began + self._seconds)) for _ in range(AT_ONCE)]
            try:
                await self._trouble(port, began)
                await asyncio.gather(*asking)
            finally:
                for task in asking:
                    task.cancel()
                await self._end()
        self._look()
        return self._report

    async def _begin(self, port: int) -> None:
        database = self._database
        named = database.get_secret_value() if isinstance(database, SecretStr) else str(database)
        settings = {"CORNERMAN_TOKEN": "aaaa.bbbb.cccc", "CORNERMAN_DATABASE": named}
        self._platform.ready.clear()
        with self._log.open("ab") as log:
            self._bot = await asyncio.create_subprocess_exec(
                sys.executable,
                str(BOT),
                str(port),
                cwd=self._log.parent,
                env={**os.environ, **settings, "PYTHONPATH": os.pathsep.join(sys.path)},
                stderr=log,
                start_new_session=True,
            )
        try:
            await asyncio.wait_for(self._platform.ready.wait(), READY_SECONDS)
        except TimeoutError:
            raise RuntimeError(f"the bot did not begin: {self._log.read_text('utf-8')[-2000:]}") from None

    async def _end(self) -> None:
        """Stop it as its host would."""
        assert self._bot is not None
        if self._bot.returncode is None:
            self._bot.send_signal(signal.SIGTERM)
        try:
            self._report.stopped_with = await asyncio.wait_for(self._bot.wait(), STOP_SECONDS)
        except TimeoutError:
            os.killpg(self._bot.pid, signal.SIGKILL)

    async def _ask(self, until: float) -> None:
        """One after the other, as somebody always does something somewhere."""
        loop = asyncio.get_running_loop()
        while loop.time() < until:
            if not self._connected():
                await asyncio.sleep(BREATH_SECONDS)
                continue
            ask = self._asker.draw()
            self._waiting.add(ask.id)
            try:
                await self._town.send(ask, twice=self._chance.random() < 0.05)
                await asyncio.wait_for(self._town.answered[ask.id].done.wait(), ANSWER_SECONDS)
            except ConnectionError:  # it broke as we spoke; let the platform see that, too
                self._excused.add(ask.id)
                await asyncio.sleep(BREATH_SECONDS)
            except TimeoutError:
                if ask.id not in self._excused:
                    self._report.unanswered.append(f"{ask.name} ({ask.id})")
            self._waiting.discard(ask.id)

    async def _trouble(self, port: int, began: float) -> None:
        """One fault after the other, and a look at the memory each second in between."""
        loop = asyncio.get_running_loop()
        gentle = [self._reset, self._reconnect, self._lose_session, self._lock, self._kill_worker]
        next_at, pause = began + 2, max(4.0, min(LONGEST_PAUSE_SECONDS, self._seconds / 12))
        while (
            passed := (loop.time() - began) / self._seconds
        ) < 1 or not self._report.memory_mb:  # on a slow machine the last kill may have taken all the time
            if loop.time() >= next_at and self._connected():
                next_at = loop.time() + pause * self._chance.uniform(0.5, 1.5)
                rough = passed < ROUGH and self._chance.random() < 0.5
                if rough:
                    await self._kill(port)
                else:
                    fault = self._chance.choice(gentle)
                    self._count(fault.__name__)
                    await fault()
            if passed > SETTLED:
                self._report.memory_mb.append(self._memory_mb())
            await asyncio.sleep(min(1.0, self._seconds / 60))

    def _connected(self) -> bool:
        socket = self._platform.by_shard.get(0)
        return self._platform.ready.is_set() and socket is not None and not socket.closed

    def _count(self, fault: str) -> None:
        name = fault.strip("_").replace("_", " ")
        self._report.faults[name] = self._report.faults.get(name, 0) + 1

    async def _kill(self, port: int) -> None:
        """Power cut: the process and its workers are gone at once."""
        assert self._bot is not None
        self._count("kill")
        self._platform.ready.clear()
        os.killpg(self._bot.pid, signal.SIGKILL)
        await self._bot.wait()
        self._excused |= self._waiting
        await self._begin(port)

    async def _reset(self) -> None:
        self._excused |= self._waiting  # what was on its way may be lost
        self._platform.reset()

    async def _reconnect(self) -> None:
        self._excused |= self._waiting
        await self._platform.operate(RECONNECT)
        del self._platform.by_shard[0]  # what is sent to it from now on would be lost

    async def _lose_session(self) -> None:
        self._excused |= self._waiting
        await self._platform.operate(INVALID, False)
        del self._platform.by_shard[0]

    async def _lock(self) -> None:
        """Somebody else writes to the database, for longer than members like to wait."""
        seconds = self._chance.uniform(0.2, 2.0)
        if isinstance(self._database, Path):
            with closing(sqlite3.connect(self._database, isolation_level=None, timeout=5)) as other:
                other.execute("BEGIN IMMEDIATE")
                await asyncio.sleep(seconds)
                other.execute("ROLLBACK")
        else:
            other = await asyncpg.connect(self._database.get_secret_value())
            await other.execute(f"SELECT pg_advisory_lock({WRITERS})")
            await asyncio.sleep(seconds)
            await other.close()

    async def _kill_worker(self) -> None:
        """One of the worker processes dies."""
        assert self._bot is not None
        children = Path(f"/proc/{self._bot.pid}/task/{self._bot.pid}/children").read_text().split()
        spawned = [
            int(child) for child in children if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()
        ]
        if spawned:
            os.kill(self._chance.choice(spawned), signal.SIGKILL)

    def _memory_mb(self) -> float:
        assert self._bot is not None
        pages = int(Path(f"/proc/{self._bot.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    def _look(self) -> None:
        """Hold what members were told against what is kept."""
        report, asked = self._report, self._asker.asked
        report.asked = len(asked)
        report.doubled = [
            f"{asked[number].name} ({number})"
            for number, seen in self._town.answered.items()
            if seen.times > 1
        ]
        acknowledged = {number for number, seen in self._town.answered.items() if _was_kept(seen)}
        address = address_of(self._database)
        rows = [tuple(row) for row in rows_in(address, "SELECT event_id, tries, landed FROM tally")]
        made = {(ask.id, ask.tries, ask.landed) for ask in asked.values() if ask.tries}
        report.logged = len(rows)
        report.lost = sorted(acknowledged - {row[0] for row in rows})
        report.invented = sorted(row[0] for row in rows if row not in made)
        report.wrong_sums = disagreements(address)
        lines = self._log.read_text("utf-8", "replace").splitlines()
        report.signs = [line for line in lines if any(sign in line for sign in SIGNS)]


def _was_kept(seen: Answered) -> bool:
    return any(sign in seen.text for sign in KEPT)
