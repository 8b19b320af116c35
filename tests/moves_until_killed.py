"""Moves the data of one database into another, in very small pieces, until it is killed or done.

Run with two databases, as `cornerman move-data` takes them: for each line on its standard input a process is
forked, which has everything imported. What is written: "started PID", a line for each piece, then "moved"
where it came to its end, and "dead".
"""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path

from pydantic import SecretStr

from bot.storage import copying, sqlite
from bot.storage.address import Address, address_of
from bot.storage.copying import Step
from bot.storage.moving import move


def say(line: str) -> None:
    os.write(
        sys.stdout.fileno(), f"{line}\n".encode()
    )  # at once: what waits in a buffer dies with the process


def read(said: str) -> Address:
    return address_of(SecretStr(said) if "://" in said else Path(said))


def tell(step: Step) -> None:
    say(f"{step.part} {step.table}")


async def work() -> None:
    copying.PAGE, copying.PAGES_AT_ONCE = 2, 1
    sqlite.PRAGMAS = ("synchronous=OFF", "foreign_keys=ON")  # a killed process is no power cut
    await move(read(sys.argv[1]), read(sys.argv[2]), tell)
    say("moved")


def main() -> None:
    for _ in sys.stdin:
        process_id = os.fork()
        if not process_id:
            asyncio.run(work())
            os._exit(0)
        say(f"started {process_id}")
        os.waitpid(process_id, 0)
        say("dead")


if __name__ == "__main__":
    main()
