"""Telling a member something of the bot's own accord: when, and only what they want to be told."""

from __future__ import annotations

from datetime import datetime

from bot.ports import Clock
from bot.results.job import Job
from bot.results.notice import NoticeKind
from bot.results.place import Owner
from bot.services.jobs import JobService
from bot.services.settings import SettingsBook
from bot.storage import jobs as stored
from bot.storage.store import Reading, Writing
from core.learning.quiet import when_allowed

JOB = "notice"
"""The kind of the jobs that tell."""


class NoticeService:
    """A notice is a job: it waits for the end of the member's quiet hours, and is told once."""

    def __init__(self, jobs: JobService, book: SettingsBook, clock: Clock) -> None:
        self._jobs = jobs
        self._book = book
        self._clock = clock

    async def tell(
        self, writing: Writing, kind: NoticeKind, number: int, to: Owner, at: datetime | None = None
    ) -> None:
        """Tell it at this moment, now where none is given, or when the quiet hours are over. One that was
        told before is told again at another moment."""
        quiet = self._book.quiet(to)
        due_at = when_allowed(at or self._clock.now(), self._book.zone(to), quiet)
        payload = {"kind": kind.value, "number": number}
        await self._jobs.add(writing, Job(_key(kind, number), JOB, due_at, payload, to.server_id))

    async def forget(self, writing: Writing, kind: NoticeKind, number: int) -> None:
        """Do not tell it, where it was not told yet."""
        await self._jobs.cancel(writing, _key(kind, number))

    async def untold(self, reading: Reading, kind: NoticeKind) -> frozenset[int]:
        """The numbers of all notices of this kind that were not told yet."""
        waiting = await stored.unfinished(reading, _key(kind, ""))
        return frozenset(int(job.payload["number"]) for job in waiting)

    def wanted(self, to: Owner) -> bool:
        """Whether this member may be written to unasked."""
        return not self._book.member(to).muted


def _key(kind: NoticeKind, number: int | str) -> str:
    return f"notice:{kind.value}:{number}"
