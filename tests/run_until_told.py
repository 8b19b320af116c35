"""`cornerman run` with worker processes of its own, against a platform on this machine, as a process that can
be told to stop. Run with the port of the platform and a folder for the database."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from soaking.running import connect_to

from bot.app import SystemClock, build
from bot.client import logs
from bot.client.run import run
from bot.client.shards import SINGLE
from bot.config import Settings

TOKEN = "aaaa.bbbb.cccc"


def main(port: str, folder: str) -> None:
    connect_to(int(port))
    settings = Settings.model_construct(database=Path(folder) / "cornerman.db")
    logs.set_up("info", "text", (TOKEN,))
    asyncio.run(run(lambda: build(settings, SystemClock(), shards=SINGLE), TOKEN))
    print("ended", flush=True)


if __name__ == "__main__":  # a worker process imports this file
    main(*sys.argv[1:])
