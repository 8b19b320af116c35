"""What coaches say of the tallies of a group drill."""

from __future__ import annotations

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.drills import (
    REASON_CHARACTERS,
    DrillRefusal,
    DrillRefusalCode,
    DrillResult,
    DrillResults,
    DrillVerdict,
    KeptDrill,
)
from bot.results.notice import NoticeKind
from bot.results.place import Owner, Place
from bot.services.drill_part import drill_here
from bot.services.drill_plans import refused
from bot.services.drill_watch import DrillWatch
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.services.subjects import typed_as
from bot.storage import audit
from bot.storage import drills as stored
from bot.storage.drills import DrillTally
from bot.storage.store import Reading, Store, Writing
from core.text import one_line

PAGE = 10

NO_SUCH_TALLY = DrillRefusal(DrillRefusalCode.NO_SUCH_TALLY)


class DrillJudging:
    """Whoever calls this has made sure that the member is a coach. The member whose tally it is is told. An
    event that is delivered again has no second effect."""

    def __init__(
        self, store: Store, book: SettingsBook, clock: Clock, notices: NoticeService, watch: DrillWatch
    ) -> None:
        self._store = store
        self._book = book
        self._clock = clock
        self._notices = notices
        self._watch = watch

    async def results(self, place: Place, drill_id: int) -> DrillResults | DrillRefusal:
        """The tallies of a drill that was opened (0 for the open one that was opened last), struck ones too,
        the one logged last first."""
        async with self._store.read() as reading:
            drill = await drill_here(reading, place, drill_id)
            return drill if isinstance(drill, DrillRefusal) else await self._page(reading, drill)

    async def older(self, place: Place, tally_id: int) -> DrillResults | DrillRefusal:
        """Those before this tally, of its drill."""
        async with self._store.read() as reading:
            found = await stored.of_drill(reading, tally_id, place.owner.server_id)
            return NO_SUCH_TALLY if found is None else await self._page(reading, found[0], tally_id)

    async def one(self, place: Place, tally_id: int) -> DrillResult | DrillRefusal:
        """One tally of a drill."""
        async with self._store.read() as reading:
            found = await stored.of_drill(reading, tally_id, place.owner.server_id)
        return NO_SUCH_TALLY if found is None else _result(found[1])

    async def see(self, place: Place, tally_id: int, event_id: int) -> DrillResult | DrillRefusal:
        """Mark a tally as seen."""
        async with self._store.write(event_id) as writing:
            found = await self._judged(writing, place, tally_id)
            if isinstance(found, DrillRefusal):
                return found
            drill, one = found
            if one.seen_at is None and not writing.repeated:
                now = self._clock.now()
                await stored.note_seen(writing, tally_id, drill.id, place.owner, now)
                await self._notices.tell(writing, NoticeKind.SEEN, tally_id, _whose(drill, one))
                await self._note(writing, place, Deed.TALLY_SEEN, drill)
            return await self._now(writing, place, tally_id)

    async def strike(
        self, place: Place, tally_id: int, reason: str, event_id: int
    ) -> DrillResult | DrillRefusal:
        """Have a tally not count in drills. It stays in the member's log."""
        why = one_line(reason)
        if not why:
            return DrillRefusal(DrillRefusalCode.NO_REASON)
        if len(why) > REASON_CHARACTERS:
            return refused(DrillRefusalCode.TOO_LONG, field="reason", most=REASON_CHARACTERS)
        async with self._store.write(event_id) as writing:
            found = await self._judged(writing, place, tally_id)
            if isinstance(found, DrillRefusal):
                return found
            drill, one = found
            said = one.struck_at is not None and one.reason == why
            if not said and not writing.repeated:
                now = self._clock.now()
                await stored.note_struck(writing, tally_id, drill.id, place.owner, now, why)
                await self._notices.tell(writing, NoticeKind.STRUCK, tally_id, _whose(drill, one))
                await self._note(writing, place, Deed.TALLY_STRUCK, drill)
            result = await self._now(writing, place, tally_id)
        await self._touch(place, tally_id)
        return result

    async def unstrike(self, place: Place, tally_id: int, event_id: int) -> DrillResult | DrillRefusal:
        """Have it count again."""
        async with self._store.write(event_id) as writing:
            found = await self._judged(writing, place, tally_id)
            if isinstance(found, DrillRefusal):
                return found
            if found[1].struck_at is not None and not writing.repeated:
                await stored.note_unstruck(writing, tally_id, found[0].id)
                await self._notices.forget(writing, NoticeKind.STRUCK, tally_id)
                await self._note(writing, place, Deed.TALLY_COUNTED, found[0])
            result = await self._now(writing, place, tally_id)
        await self._touch(place, tally_id)
        return result

    async def verdict(self, tally_id: int) -> DrillVerdict | None:
        """What the member is told of a tally that was seen or struck; None where there is nothing to tell,
        or nothing any more."""
        async with self._store.read() as reading:
            found = await stored.of_drill(reading, tally_id)
        if found is None or (found[1].seen_at is None and found[1].struck_at is None):
            return None
        drill, one = found
        return DrillVerdict(_whose(drill, one), drill, _result(one))

    async def _judged(
        self, writing: Writing, place: Place, tally_id: int
    ) -> tuple[KeptDrill, DrillTally] | DrillRefusal:
        """A tally of this server that this member may judge, with its drill."""
        found = await stored.of_drill(writing, tally_id, place.owner.server_id)
        if found is None:
            return NO_SUCH_TALLY
        if found[1].member_id == place.member_id:
            return DrillRefusal(DrillRefusalCode.OWN_TALLY)
        return found

    async def _note(self, writing: Writing, place: Place, deed: Deed, drill: KeptDrill) -> None:
        """Whose tally it was is left out: the note outlives what is kept of them."""
        await audit.note(writing, place.owner, self._clock.now(), deed, typed_as(drill.plan.subject))

    async def _now(self, reading: Reading, place: Place, tally_id: int) -> DrillResult | DrillRefusal:
        found = await stored.of_drill(reading, tally_id, place.owner.server_id)
        return NO_SUCH_TALLY if found is None else _result(found[1])

    async def _page(self, reading: Reading, drill: KeptDrill, before_id: int | None = None) -> DrillResults:
        found = await stored.latest(reading, drill.id, PAGE + 1, before_id)
        zone = self._book.server_zone(drill.server_id)
        return DrillResults(drill, tuple(map(_result, found[:PAGE])), len(found) > PAGE, zone)

    async def _touch(self, place: Place, tally_id: int) -> None:
        """Refresh the posts of all drills that the tally is in."""
        async with self._store.read() as reading:
            found = await stored.all_of_tally(reading, tally_id)
        self._watch.touch(place.owner.server_id, found)


def _whose(drill: KeptDrill, one: DrillTally) -> Owner:
    return Owner(drill.server_id, one.member_id)


def _result(one: DrillTally) -> DrillResult:
    struck = one.struck_at is not None
    return DrillResult(
        one.member_id, one.kept, one.run, one.seen_at is not None, one.reason if struck else None
    )
