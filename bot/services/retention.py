"""How long things are kept, and removing what is older."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from bot.ports import Clock
from bot.results.job import Job
from bot.results.place import Place
from bot.results.tally import ServerSettings
from bot.services.game_uploads import KEPT_FOR as UPLOADS_KEPT
from bot.services.jobs import KEPT_DONE, JobService
from bot.services.settings import SettingsBook
from bot.storage import audit, uploads
from bot.storage import retention as stored
from bot.storage.store import Store

JOB = "retention"
"""The kind of the job that does it."""
SHORTEST_DAYS, LONGEST_DAYS = 30, 3_650
AUDIT_KEPT = timedelta(days=365)
AT_HOUR = 4
"""In UTC: when few are about."""
AT_ONCE = 500
"""Tallies that are removed in one transaction: nobody waits long for it."""


class RetentionService:
    """Removes what a server does not want kept any longer, what moderators did more than a year ago, the
    notes of where members were told something, and game files that were sent and not confirmed: each night
    while a server keeps tallies for some time only, else once a month."""

    def __init__(self, store: Store, book: SettingsBook, jobs: JobService, clock: Clock) -> None:
        self._store = store
        self._book = book
        self._jobs = jobs
        self._clock = clock

    async def older(self, place: Place, days: int) -> int:
        """How many tallies of the server are older than so many days."""
        before = self._clock.now() - timedelta(days=days)
        async with self._store.read() as reading:
            return await stored.old_tallies(reading, place.owner.server_id, before)

    async def keep(self, place: Place, days: int | None, event_id: int) -> ServerSettings:
        """Keep tallies so many days from now on, for ever where none are named. What is older goes when the
        daily job comes round. Raises ValueError for fewer or more days than may be chosen."""
        if days is not None and not SHORTEST_DAYS <= days <= LONGEST_DAYS:
            raise ValueError(f"Tallies are kept {SHORTEST_DAYS} to {LONGEST_DAYS} days, not {days}.")
        chosen = await self._book.change_server(place, {"keep_days": days}, event_id)
        await self.plan()
        return chosen

    async def plan(self) -> None:
        """Have it done the next time that it is due; it may be planned already."""
        due_at = next_due(self._clock.now(), nightly=bool(self._book.keep_days()))
        async with self._store.write() as writing:
            await self._jobs.add(writing, Job(f"{JOB}:{due_at:%Y-%m-%d}", JOB, due_at))

    async def prune(self) -> int:
        """Remove what is old; how many tallies that were. May be broken off and done again."""
        now = self._clock.now()
        gone = 0
        for server_id, days in self._book.keep_days().items():
            gone += await self._prune_server(server_id, now - timedelta(days=days))
        async with self._store.write() as writing:
            await audit.prune(writing, now - AUDIT_KEPT)
            await stored.prune_notices(writing, now - KEPT_DONE)
            await uploads.prune(writing, now - UPLOADS_KEPT)
        return gone

    async def _prune_server(self, server_id: int, before: datetime) -> int:
        async with self._store.read() as reading:
            numbers = await stored.with_old(reading, server_id, before)
        return sum([await prune_in_pieces(self._store, number, before) for number in numbers])


def next_due(now: datetime, *, nightly: bool) -> datetime:
    """The next moment at which the job is due: of the night, else of the first night of a month.

    >>> [f"{next_due(datetime(2026, 1, 1, hour, tzinfo=UTC), nightly=True):%d %H:%M}" for hour in (3, 4)]
    ['01 04:00', '02 04:00']
    >>> [f"{next_due(datetime(2026, 1, day, 9, tzinfo=UTC), nightly=False):%d %b}" for day in (1, 31)]
    ['01 Feb', '01 Feb']
    """
    due = now.astimezone(UTC).replace(hour=AT_HOUR, minute=0, second=0, microsecond=0)
    while due <= now or not (nightly or due.day == 1):
        due += timedelta(days=1)
    return due


async def prune_in_pieces(store: Store, number: int, before: datetime) -> int:
    """Remove what the member with this number logged before this moment, a part in each transaction, as
    others write meanwhile; how many tallies that were."""
    gone, removed = 0, AT_ONCE
    while removed == AT_ONCE:
        async with store.write() as writing:
            removed = await stored.prune_tallies(writing, number, before, AT_ONCE)
        gone += removed
    return gone
