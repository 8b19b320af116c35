"""What the bot may tell a member unasked, and what it tells of coaching and homework."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import time
from typing import Any

from bot.ports import Clock
from bot.results.coaching import (
    Coaching,
    CoachNotice,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkView,
)
from bot.results.notice import NoticeKind
from bot.results.place import Owner, Place
from bot.results.tally import MemberSettings, ServerSettings
from bot.services.homework_views import WITH_STUDENT, remind, view_of
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook, complete_zones, zone_named
from bot.storage import coaching, homework
from bot.storage.settings import of_member, set_member
from bot.storage.store import Store
from bot.words.moments import read_time
from core.learning.homework import Stage
from core.learning.quiet import Quiet
from core.text import clipped
from core.verdict import Facts

NEAR_ZONES = 3
NEVER = Quiet(time(0), time(0))
"""No quiet hours."""
_NEVER_WORDS = ("off", "none", "never", "no")
_BETWEEN = re.compile(r"\s*(?:-|–|—|\bto\b|\buntil\b)\s*")
_HOUR = re.compile(r"[0-9]{1,2}")
_OF_COACHING = (NoticeKind.COACH_ASKS, NoticeKind.COACH_ACCEPTED)
_TO_COACH = (NoticeKind.HANDED_IN, NoticeKind.ASKED_EASIER)


class ReminderService:
    """A member's wishes, and the facts of each notice at the moment when it is told."""

    def __init__(self, store: Store, book: SettingsBook, clock: Clock, notices: NoticeService) -> None:
        self._store = store
        self._book = book
        self._clock = clock
        self._notices = notices

    async def set_reminders(
        self, place: Place, zone: str | None, quiet: str | None, event_id: int, muted: bool | None = None
    ) -> MemberSettings | CoachRefusal:
        """Choose the member's own time zone and quiet hours, as typed ("22:00-08:00", "10 pm to 8 am" or
        "off"), and whether they are told nothing unasked; None stays. In direct messages it holds for all
        servers. Reminders that wait are moved. What is not understood changes nothing."""
        chosen: dict[str, Any] = {} if muted is None else {"muted": muted}
        if zone is not None:
            name = zone_named(zone)
            if name is None:
                near = ", ".join(complete_zones(zone)[:NEAR_ZONES])
                return CoachRefusal(CoachRefusalCode.BAD_ZONE, Facts(typed=clipped(zone), near=near))
            chosen["zone"] = name
        if quiet is not None:
            hours = read_quiet(quiet)
            if hours is None:
                return CoachRefusal(CoachRefusalCode.BAD_QUIET, Facts(typed=clipped(quiet)))
            chosen["quiet"] = hours
        for owner in await self._choose(place, chosen, event_id):
            await self._move(owner)
        return self._book.member(place.owner)

    async def set_server_quiet(
        self, place: Place, typed: str, event_id: int
    ) -> ServerSettings | CoachRefusal:
        """Choose when members of a server who chose no hours of their own are left in peace, as in
        `set_reminders`; nothing typed: as is usual. What waits already comes when it was going to."""
        hours = read_quiet(typed) if typed.strip() else None
        if typed.strip() and hours is None:
            return CoachRefusal(CoachRefusalCode.BAD_QUIET, Facts(typed=clipped(typed)))
        return await self._book.change_server(place, {"quiet": hours}, event_id)

    async def mute(self, place: Place, muted: bool, event_id: int) -> MemberSettings:
        """Be told nothing unasked, or be told again; in direct messages, of all servers."""
        await self._choose(place, {"muted": muted}, event_id)
        return self._book.member(place.owner)

    async def notice(self, kind: NoticeKind, number: int) -> CoachNotice | None:
        """What there is to tell now, and to whom; None where it is no longer to be told: it is gone, over,
        done or answered, or they want to be left in peace."""
        async with self._store.read() as reading:
            if kind in _OF_COACHING:
                known = await coaching.get(reading, number)
                told = _of_coaching(kind, known) if known is not None else None
            else:
                row = await homework.get(reading, number)
                told = None
                if row is not None and row.coached and row.kept.coach is not None:
                    view = await view_of(reading, row, self._clock.now())
                    told = _of_homework(kind, view, row.kept.coach)
        return told if told is not None and self._notices.wanted(told.to) else None

    async def _choose(self, place: Place, chosen: dict[str, Any], event_id: int) -> tuple[Owner, ...]:
        """Store it, once for each event; whom it is for."""
        homes = self._book.homes(place)
        settings: dict[Owner, MemberSettings] = {}
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                return homes
            for owner in homes:
                settings[owner] = one = replace(await of_member(writing, owner), **chosen)
                await set_member(writing, owner, one)
        for owner, one in settings.items():
            self._book.hold(owner, one)
        return homes

    async def _move(self, student: Owner) -> None:
        """Have their reminders come by the quiet hours that they chose."""
        now = self._clock.now()
        async with self._store.write() as writing:
            for row in await homework.open_of_student(writing, student):
                if row.coached and row.kept.stage in WITH_STUDENT:
                    await remind(writing, self._notices, row.kept, now)


def _of_coaching(kind: NoticeKind, known: Coaching) -> CoachNotice | None:
    if kind is NoticeKind.COACH_ASKS:
        return CoachNotice(kind, known.student, known) if known.accepted_at is None else None
    return CoachNotice(kind, known.coach, known) if known.accepted_at is not None else None


def _of_homework(kind: NoticeKind, view: HomeworkView, coach: Owner) -> CoachNotice | None:
    kept = view.homework
    match kind:
        case NoticeKind.HOMEWORK_SET:
            holds = kept.stage is Stage.SET
        case NoticeKind.DUE_SOON | NoticeKind.DUE_NOW:
            holds = kept.stage in WITH_STUDENT and not view.progress.done
        case NoticeKind.HANDED_IN:
            holds = kept.stage is Stage.HANDED_IN
        case NoticeKind.ACCEPTED:
            holds = kept.stage is Stage.ACCEPTED
        case NoticeKind.RETURNED:
            holds = kept.stage is Stage.RETURNED
        case NoticeKind.ASKED_EASIER:
            holds = kept.asks_easier
        case NoticeKind.EASIER_ANSWERED:
            holds = kept.stage in WITH_STUDENT and not kept.asks_easier
        case _:  # of drills
            holds = False
    to = coach if kind in _TO_COACH else kept.student
    return CoachNotice(kind, to, view=view) if holds else None


def read_quiet(typed: str) -> Quiet | None:
    """Hours of the day, from one time to another; None where they are none.

    >>> read_quiet("22:00-08:00") == read_quiet("10 pm to 8 am") == read_quiet("22-8")
    True
    >>> read_quiet("off") == NEVER, read_quiet("at night")
    (True, None)
    """
    text = typed.strip().casefold()
    if text in _NEVER_WORDS:
        return NEVER
    parts = _BETWEEN.split(text)
    if len(parts) != 2:
        return None
    start, end = (read_time(f"{part}:00" if _HOUR.fullmatch(part) else part) for part in parts)
    return None if start is None or end is None else Quiet(start, end)
