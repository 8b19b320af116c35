"""A move that is killed again and again comes to its end, and everything is there once."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from databases import in_thread, name_of
from moved import contents, empty, filled, silent, store_at

from bot.storage.address import Address
from bot.storage.moving import move
from bot.storage.store import StorageError, Store

ROOT = Path(__file__).parents[2]
KILLS = 12
PIECES = 25
SEED = 20260102


def kill_once(mover: subprocess.Popen[str], chance: random.Random) -> list[str]:
    """Has a process move, kills it somewhere, and gives back what it said."""
    assert mover.stdin is not None
    assert mover.stdout is not None
    mover.stdin.write("go\n")
    mover.stdin.flush()
    lines = [mover.stdout.readline().strip() for _ in range(1 + chance.randint(0, PIECES))]
    started = next(line for line in lines if line.startswith("started "))
    if "dead" not in lines:
        os.kill(int(started.split()[1]), signal.SIGKILL)
        lines += iter(lambda: mover.stdout.readline().strip(), "dead")  # type: ignore[union-attr]
    return lines


def check_that_no_bot_opens(address: Address) -> None:
    """A bot refuses a database that is not whole yet."""

    async def work() -> None:
        with pytest.raises(StorageError, match="still being moved into"):
            await Store(address).open()

    in_thread(work())


@pytest.mark.postgresql
@pytest.mark.parametrize("way", ["file to server", "server to file", "server to server"])
async def test_a_dozen_kills_leave_no_row_out_and_open_nothing_too_early(way: str, tmp_path: Path) -> None:
    from_kind, _, to_kind = way.partition(" to ")
    source, target = await filled(from_kind, tmp_path), empty(to_kind, tmp_path)
    before = contents(source)
    chance = random.Random(SEED)
    done, begun = 0, False
    with subprocess.Popen(
        [sys.executable, str(ROOT / "tests" / "moves_until_killed.py"), name_of(source), name_of(target)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as mover:
        for _ in range(KILLS):
            lines = kill_once(mover, chance)
            assert "moved" not in lines
            done += len(lines)
            begun |= any(line.startswith("copied") for line in lines)
            if begun:
                check_that_no_bot_opens(target)
        assert mover.stdin is not None
        mover.stdin.close()
    assert begun
    assert done > KILLS
    await move(source, target, silent)
    assert contents(target) == contents(source) == before
    async with store_at(target):
        pass
