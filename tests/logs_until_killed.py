"""Logs for several members as fast as can be, and says which events are stored, without an end.

Run with a database, a file's path or a URL: for each line on its standard input, an event's number to begin
with, a process is forked, which has everything imported. What is written: "started PID", the number of each
stored event, and "dead". An event that could not be stored is delivered again.
"""

from __future__ import annotations

import asyncio
import os
import sys

from databases import address_named
from stored import NOW, tally

from bot.results.place import Owner
from bot.storage import tallies
from bot.storage.store import StorageError, Store

MEMBERS = 4
AGAIN_SECONDS = 0.05


def say(line: str) -> None:
    os.write(
        sys.stdout.fileno(), f"{line}\n".encode()
    )  # at once: what waits in a buffer dies with the process


async def log_for_all(store: Store, first_event_id: int) -> None:
    await store.open()
    await asyncio.gather(
        *(log(store, Owner(5, member), first_event_id + member) for member in range(MEMBERS))
    )


async def log(store: Store, owner: Owner, event_id: int) -> None:
    while True:
        for _delivery in range(2):  # the platform may deliver an event twice
            while not await is_stored(store, owner, event_id):
                await asyncio.sleep(AGAIN_SECONDS)
            say(str(event_id))
        event_id += MEMBERS


async def is_stored(store: Store, owner: Owner, event_id: int) -> bool:
    try:
        async with store.write(event_id) as writing:
            if not writing.repeated:
                await tallies.add(writing, owner, tally(event_id % 10), event_id, NOW)
    except StorageError:
        return False
    return True


def main() -> None:
    for line in sys.stdin:
        process_id = os.fork()
        if not process_id:
            asyncio.run(log_for_all(Store(address_named(sys.argv[1])), int(line)))
        say(f"started {process_id}")
        os.waitpid(process_id, 0)
        say("dead")


if __name__ == "__main__":
    main()
