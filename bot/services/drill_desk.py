"""What coaches decide on group drills: which are held, when, and from which list."""

from __future__ import annotations

import asyncio
from collections.abc import Collection, Sequence
from dataclasses import replace

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.drills import (
    DrillAsked,
    DrillList,
    DrillPlan,
    DrillRefusal,
    DrillRefusalCode,
    DrillStage,
    Exercise,
    KeptDrill,
    Series,
    Suggested,
)
from bot.results.log import LogRefusal
from bot.results.place import DIRECT_MESSAGES, Owner, Place
from bot.results.tally import Subject, SubjectKind
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.drill_plans import NO_SERVER, NO_SUCH_DRILL, not_open, read_plan, refused
from bot.services.drill_watch import DrillWatch
from bot.services.drill_weeks import (
    call_off,
    days_later,
    next_week,
    plan_weekly,
    set_jobs,
    week_end,
    weekly_among,
)
from bot.services.evidence import called
from bot.services.jobs import JobService
from bot.services.settings import SettingsBook
from bot.services.subjects import typed_as
from bot.storage import audit
from bot.storage import drills as stored
from bot.storage import series as lists
from bot.storage.rows import Found, subject_of_row
from bot.storage.store import Store, Writing
from bot.words.moments import read_ahead, read_time
from core.drills.suggest import Practised, Suggestion, suggest
from core.text import clipped, one_line

MOST_DAYS = 31
MOST_OPEN = 5
"""Drills of one server that are open, or to be opened, at a time."""
MOST_LISTED = 50
LEFT_OUT = 4
"""What the last so many drills were about is not suggested again."""
MOST_SUGGESTED = 5


class DrillDesk:
    """Whoever calls this has made sure that the member is a coach. An event that is delivered again has no
    second effect. A `LogRefusal` says what is wrong with the moves that were typed."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        book: SettingsBook,
        clock: Clock,
        jobs: JobService,
        watch: DrillWatch,
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._jobs = jobs
        self._watch = watch

    async def open(
        self, place: Place, asked: DrillAsked, channel_id: int, days: int, event_id: int
    ) -> KeptDrill | DrillRefusal | LogRefusal:
        """Open a drill now, in this channel. It closes so many days later, when the clocks of the server show
        the same time. The job that opens it posts it."""
        owner, now = place.owner, self._clock.now()
        if owner.server_id == DIRECT_MESSAGES:
            return NO_SERVER
        if not 1 <= days <= MOST_DAYS:
            return refused(DrillRefusalCode.BAD_DAYS, days=days, most=MOST_DAYS)
        plan = await self._plan(place, asked)
        if not isinstance(plan, DrillPlan):
            return plan
        closes_at = days_later(now, days, self._book.server_zone(owner.server_id))
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                return await stored.last_opened_by(writing, owner) or NO_SUCH_DRILL
            if len(await stored.live(writing, owner.server_id)) >= MOST_OPEN:
                return refused(DrillRefusalCode.TOO_MANY_OPEN, most=MOST_OPEN)
            drill = await stored.add(
                writing,
                owner.server_id,
                plan,
                channel_id,
                now,
                closes_at,
                weekly=False,
                opened_by=owner.member_id,
            )
            await set_jobs(writing, self._jobs, drill)
            await self._note(writing, place, Deed.DRILL_OPENED, plan.subject)
        self._hold(place)
        return drill

    async def add(
        self, place: Place, asked: DrillAsked, event_id: int
    ) -> Exercise | DrillRefusal | LogRefusal:
        """Put a drill at the end of the server's list. A weekly series that waits for one goes on with it."""
        server_id = place.owner.server_id
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        plan = await self._plan(place, asked)
        if not isinstance(plan, DrillPlan):
            return plan
        async with self._store.write(event_id) as writing:
            listed = await lists.exercises(writing, server_id)
            had = next((one for one in listed if one.plan.subject == plan.subject), None)
            if had is not None and writing.repeated:
                return had
            if had is not None:
                return refused(DrillRefusalCode.LISTED_ALREADY, what=typed_as(plan.subject))
            if writing.repeated:
                return refused(DrillRefusalCode.NO_SUCH_EXERCISE, typed=clipped(asked.what))
            if len(listed) >= MOST_LISTED:
                return refused(DrillRefusalCode.LIST_FULL, most=MOST_LISTED)
            added = await lists.add(writing, server_id, plan)
            await self._go_on(writing, server_id, place.member_id)
            await self._note(writing, place, Deed.DRILL_PLANNED, plan.subject)
        self._hold(place)
        return added

    async def remove(self, place: Place, typed: str, event_id: int) -> Exercise | DrillRefusal:
        """Take a drill out of the list. What is open of it goes on."""
        server_id = place.owner.server_id
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        async with self._store.read() as reading:
            read = await called(reading, self._desk, place, typed)
        async with self._store.write(event_id) as writing:
            listed = await lists.exercises(writing, server_id)
            found = _called(listed, typed, None if isinstance(read, LogRefusal) else read.subject)
            if found is None or writing.repeated:
                return refused(DrillRefusalCode.NO_SUCH_EXERCISE, typed=clipped(one_line(typed)))
            await lists.remove(writing, found.id)
            await self._note(writing, place, Deed.DRILL_UNPLANNED, found.plan.subject)
        self._hold(place)
        return found

    async def complete_listed(self, place: Place, typed: str) -> tuple[str, ...]:
        """What the list holds that the text may become, at most 25, best first: as `remove` reads it."""
        async with self._store.read() as reading:
            listed = await lists.exercises(reading, place.owner.server_id)
        subjects = [one.plan.subject for one in listed]
        return complete_names([(typed_as(each), (typed_as(each), each.what)) for each in subjects], typed)

    async def listed(self, place: Place) -> DrillList | DrillRefusal:
        """The server's list, its series, and its drills that are open or are going to be."""
        server_id = place.owner.server_id
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        async with self._store.read() as reading:
            live = await stored.live(reading, server_id)
            return DrillList(
                await lists.exercises(reading, server_id),
                await lists.get(reading, server_id),
                tuple(drill for drill in live if drill.stage is DrillStage.OPEN),
                self._book.server_zone(server_id),
                tuple(drill for drill in live if drill.stage is DrillStage.PLANNED),
            )

    async def start_weekly(
        self, place: Place, channel_id: int, weekday: int, at: str, event_id: int
    ) -> tuple[Series, KeptDrill] | DrillRefusal:
        """Begin a weekly series, or change when and where it goes on.

        `weekday`: of ISO 8601, Monday is 1; `at`: a time of day as it was typed, on the clocks of the server.
        The first drill opens now and closes at the first such moment that is two days away or more. Where a
        drill of the series is open already, its end is moved so, and no second is opened.
        """
        server_id, now = place.owner.server_id, self._clock.now()
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        begins = read_time(at)
        if begins is None:
            return refused(DrillRefusalCode.NO_TIME, typed=clipped(one_line(at)))
        if not 1 <= weekday <= 7:
            return refused(DrillRefusalCode.NO_WEEKDAY, weekday=weekday)
        zone = self._book.server_zone(server_id)
        series = Series(server_id, channel_id, weekday, begins)
        async with self._store.write(event_id) as writing:
            live = await stored.live(writing, server_id)
            drill = weekly_among(live)
            if drill is None:
                if not writing.repeated and len(live) >= MOST_OPEN:
                    return refused(DrillRefusalCode.TOO_MANY_OPEN, most=MOST_OPEN)
                if not writing.repeated:
                    drill = await plan_weekly(writing, self._jobs, series, now, zone, now, place.member_id)
                if drill is None:
                    return DrillRefusal(DrillRefusalCode.LIST_EMPTY)
                await lists.put(writing, series)
            elif not writing.repeated:
                await lists.put(writing, series)
                drill = await self._follow(writing, series, drill)
            if not writing.repeated:
                await self._note(writing, place, Deed.DRILL_WEEKLY, drill.plan.subject)
        self._hold(place)
        self._watch.touch(drill.server_id, [drill.id])
        return series, drill

    async def stop_weekly(self, place: Place, event_id: int) -> Series | DrillRefusal:
        """End the series. Its open drill runs to its end, and none follows."""
        server_id = place.owner.server_id
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        now = self._clock.now()
        async with self._store.write(event_id) as writing:
            series = await lists.get(writing, server_id)
            if series is None or writing.repeated:
                return DrillRefusal(DrillRefusalCode.NO_SERIES)
            await lists.end(writing, server_id)
            for drill in await stored.live(writing, server_id):
                if drill.weekly and drill.stage is DrillStage.PLANNED and drill.opens_at > now:
                    await call_off(writing, self._jobs, drill)
            await self._note(writing, place, Deed.DRILL_STOPPED)
        self._hold(place)
        return series

    async def cancel(self, place: Place, drill_id: int, event_id: int) -> KeptDrill | DrillRefusal:
        """Call a drill off: there is no recap, and what was logged stays in the members' logs. One of a
        series is followed by the next of the list, at the next weekly moment."""
        async with self._store.write(event_id) as writing:
            drill = await stored.get(writing, drill_id)
            if drill is None or drill.server_id != place.owner.server_id:
                return NO_SUCH_DRILL
            if writing.repeated:
                return drill
            if drill.stage not in (DrillStage.PLANNED, DrillStage.OPEN):
                return not_open(drill)
            await call_off(writing, self._jobs, drill)
            if drill.weekly:
                await self._go_on(writing, drill.server_id, drill.opened_by)
            await self._note(writing, place, Deed.DRILL_CANCELLED, drill.plan.subject)
        self._hold(place)
        self._watch.closed(drill)
        self._watch.touch(drill.server_id, [drill.id])
        return replace(drill, stage=DrillStage.CANCELLED)

    async def move(self, place: Place, drill_id: int, closes: str, event_id: int) -> KeptDrill | DrillRefusal:
        """Close a drill at another moment, as it was typed."""
        now, zone = self._clock.now(), self._book.server_zone(place.owner.server_id)
        closes_at = read_ahead(closes, now, zone)
        async with self._store.write(event_id) as writing:
            drill = await stored.get(writing, drill_id)
            if drill is None or drill.server_id != place.owner.server_id:
                return NO_SUCH_DRILL
            if writing.repeated:
                return drill
            if drill.stage not in (DrillStage.PLANNED, DrillStage.OPEN) or drill.closes_at <= now:
                return not_open(drill)
            typed = clipped(one_line(closes))
            if closes_at is None:
                return refused(DrillRefusalCode.NO_TIME, typed=typed)
            begins = max(now, drill.opens_at)
            if closes_at <= begins:
                return refused(DrillRefusalCode.IN_PAST, typed=typed)
            if closes_at > days_later(begins, MOST_DAYS, zone):
                return refused(DrillRefusalCode.BAD_DAYS, days=(closes_at - begins).days, most=MOST_DAYS)
            moved = replace(drill, closes_at=closes_at)
            await self._retime(writing, moved)
            await self._note(writing, place, Deed.DRILL_MOVED, drill.plan.subject)
        self._hold(place)
        self._watch.touch(drill.server_id, [drill.id])
        return moved

    async def suggest(self, place: Place) -> Suggested | DrillRefusal:
        """What most members drop, of the server's game, without what the last drills were about."""
        server_id, game = place.owner.server_id, self._desk.game_of(place).name
        if server_id == DIRECT_MESSAGES:
            return NO_SERVER
        async with self._store.read() as reading:
            rows = await stored.practised(reading, server_id, game)
            last = await stored.last_subjects(reading, server_id, LEFT_OUT)
        goals = {row.member_id: self._book.goal(Owner(server_id, row.member_id)) for row in rows}
        # In a thread: a large server practises much.
        return Suggested(game, await asyncio.to_thread(_suggested, rows, goals, last))

    async def _note(self, writing: Writing, place: Place, deed: Deed, about: Subject | None = None) -> None:
        what = typed_as(about) if about is not None else ""
        await audit.note(writing, place.owner, self._clock.now(), deed, what)

    def _hold(self, place: Place) -> None:
        """This server is a home of the coach's now: something is kept of them."""
        self._book.hold(place.owner, self._book.member(place.owner))

    async def _plan(self, place: Place, asked: DrillAsked) -> DrillPlan | DrillRefusal | LogRefusal:
        async with self._store.read() as reading:
            return await read_plan(reading, self._desk, place, asked)

    async def _go_on(self, writing: Writing, server_id: int, opened_by: int | None) -> None:
        """Plan the next drill of a series that has none, for the next weekly moment."""
        series = await lists.get(writing, server_id)
        if series is None or weekly_among(await stored.live(writing, server_id)) is not None:
            return
        now, zone = self._clock.now(), self._book.server_zone(server_id)
        await plan_weekly(writing, self._jobs, series, next_week(series, now, zone), zone, now, opened_by)

    async def _follow(self, writing: Writing, series: Series, drill: KeptDrill) -> KeptDrill:
        """The drill of a series with the times that the series has now; one that is yet to be opened moves
        whole, and into its channel."""
        now, zone = self._clock.now(), self._book.server_zone(series.server_id)
        if drill.stage is DrillStage.PLANNED:
            begun = drill.opens_at <= now
            opens_at = drill.opens_at if begun else next_week(series, now, zone)
            closes_at = week_end(series, opens_at, zone)
            await stored.set_channel(writing, drill.id, series.channel_id)
            drill = replace(drill, channel_id=series.channel_id, opens_at=opens_at, closes_at=closes_at)
        elif drill.closes_at > now:
            drill = replace(drill, closes_at=week_end(series, now, zone))
        await self._retime(writing, drill)
        return drill

    async def _retime(self, writing: Writing, drill: KeptDrill) -> None:
        await stored.set_times(writing, drill.id, drill.opens_at, drill.closes_at)
        await set_jobs(writing, self._jobs, drill)


def _suggested(
    rows: Sequence[Found], goals: dict[int, float], leave_out: Collection[Subject]
) -> tuple[tuple[Subject, Suggestion], ...]:
    subjects = {typed_as(subject): subject for subject in map(subject_of_row, rows)}
    practised = [
        Practised(row.member_id, typed_as(subject_of_row(row)), row.tries, row.landed, goals[row.member_id])
        for row in rows
        if row.kind != SubjectKind.CHOICE.value
    ]
    found = suggest(practised, {typed_as(subject) for subject in leave_out})
    return tuple((subjects[each.what], each) for each in found[:MOST_SUGGESTED])


def _called(listed: Sequence[Exercise], typed: str, read: Subject | None) -> Exercise | None:
    """What is meant in the list: by its moves or words as they stand there, with whose they are where several
    have them, or by `read`, which is what the text means elsewhere."""
    wanted = one_line(typed).casefold()
    for names in (typed_as, _what):
        found = [one for one in listed if names(one.plan.subject).casefold() == wanted]
        if len(found) == 1:
            return found[0]
    return next((one for one in listed if one.plan.subject == read), None)


def _what(subject: Subject) -> str:
    return subject.what
