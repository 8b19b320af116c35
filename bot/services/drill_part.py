"""A member's part in a group drill: taking part, logging, and how they stand."""

from __future__ import annotations

from dataclasses import replace

from bot.ports import Clock
from bot.results.drills import (
    DrillEntry,
    DrillPart,
    DrillRefusal,
    DrillRefusalCode,
    DrillStage,
    KeptDrill,
)
from bot.results.log import Logged, LogRefusal
from bot.results.place import DIRECT_MESSAGES, Place
from bot.results.tally import KeptTally
from bot.services.desk import AskDesk
from bot.services.drill_plans import NO_SERVER, NO_SUCH_DRILL, not_open, refused
from bot.services.drill_scores import (
    board_of,
    clean_reps_on,
    read_rows,
    struck_of,
    version_of,
)
from bot.services.drill_watch import DrillWatch
from bot.services.entries import Entry
from bot.services.evidence import number_for
from bot.services.log import LogService
from bot.services.settings import SettingsBook
from bot.services.subjects import Found, found_of, typed_as
from bot.storage import drills as stored
from bot.storage import settings as settings_rows
from bot.storage import tallies
from bot.storage.store import Reading, Store, Writing
from bot.words.counts import read_count
from core.drills.drill import sure_run
from core.drills.standings import own_row
from core.learning.tally import Context
from core.text import clipped, one_line


class DrillPartService:
    """Drills of the member's own server. Number 0 is, everywhere, the open one that was opened last. An event
    that is delivered again has no second effect."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        book: SettingsBook,
        clock: Clock,
        log: LogService,
        watch: DrillWatch,
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._log = log
        self._watch = watch

    async def join(self, place: Place, drill_id: int, event_id: int) -> DrillPart | DrillRefusal:
        """Take part, or take part again: then all that was logged in the time of the drill counts."""
        async with self._store.write(event_id) as writing:
            drill = await drill_here(writing, place, drill_id)
            if isinstance(drill, DrillRefusal):
                return drill
            if not writing.repeated:
                if not self._is_open(drill):
                    return not_open(drill)
                await stored.join(writing, place.owner, drill.id, self._clock.now())
        self._book.hold(place.owner, self._book.member(place.owner))
        return await self._changed(place, drill)

    async def leave(self, place: Place, drill_id: int, event_id: int) -> DrillPart | DrillRefusal:
        """Take part no longer. The log keeps everything; the drill counts nothing of it."""
        async with self._store.write(event_id) as writing:
            drill = await drill_here(writing, place, drill_id)
            if isinstance(drill, DrillRefusal):
                return drill
            if not writing.repeated and not await stored.leave(writing, place.owner, drill.id):
                return DrillRefusal(DrillRefusalCode.NOT_JOINED)
        return await self._changed(place, drill)

    async def list_me(
        self, place: Place, drill_id: int, listed: bool, event_id: int
    ) -> DrillPart | DrillRefusal:
        """Agree to be named in the standings of this server's drills, or agree no longer. Recaps of drills
        that are over follow."""
        owner = place.owner
        async with self._store.write(event_id) as writing:
            drill = await drill_here(writing, place, drill_id)
            if isinstance(drill, DrillRefusal):
                return drill
            settings = await settings_rows.of_member(writing, owner)
            if not writing.repeated:
                settings = replace(settings, listed=listed)
                await settings_rows.set_member(writing, owner, settings)
            shown_in = await stored.of_member(writing, owner)
        self._book.hold(owner, settings)
        self._watch.touch(owner.server_id, shown_in)
        return await self._part(place, drill)

    async def drill(self, place: Place, drill_id: int) -> KeptDrill | DrillRefusal:
        """A drill of the member's server."""
        async with self._store.read() as reading:
            return await drill_here(reading, place, drill_id)

    async def mine(self, place: Place, drill_id: int) -> DrillPart | DrillRefusal:
        """How the member stands, for their own eyes. Also of a drill that is over, or in which they do not
        take part."""
        drill = await self.drill(place, drill_id)
        return drill if isinstance(drill, DrillRefusal) else await self._part(place, drill)

    async def log(
        self, place: Place, drill_id: int, entry: DrillEntry, event_id: int
    ) -> tuple[Logged, DrillPart] | DrillRefusal | LogRefusal:
        """Log a tally of the drill's subject, made now in training; who logs takes part. The tally, the run
        and the part are stored together."""
        owner = place.owner
        async with self._store.read() as reading:
            drill = await drill_here(reading, place, drill_id)
            again = await tallies.by_event(reading, owner, event_id) is not None
        if isinstance(drill, DrillRefusal):
            return drill
        if not again and not self._is_open(drill):
            return not_open(drill)
        run = read_run(entry)
        if isinstance(run, DrillRefusal):
            return run
        found = self._found(place, drill)
        if found is None:
            return NO_SUCH_DRILL

        async def beside(writing: Writing, kept: KeptTally) -> None:
            await stored.join(writing, owner, drill.id, kept.tally.made_at)
            await stored.note_run(writing, kept.id, drill.id, run)

        typed = Entry(typed_as(drill.plan.subject), entry.result, Context.TRAINING, note=entry.note)
        logged = await self._log.log(place, typed, event_id, found, beside)
        if isinstance(logged, LogRefusal):
            return logged
        return logged, await self._changed(place, drill)

    async def typed(self, place: Place, drill_id: int) -> str | DrillRefusal:
        """What the member would type to log the drill's subject elsewhere."""
        drill = await self.drill(place, drill_id)
        return drill if isinstance(drill, DrillRefusal) else typed_as(drill.plan.subject)

    async def subject_number(self, place: Place, drill_id: int) -> int | DrillRefusal:
        """The number of the drill's subject in the member's own log."""
        drill = await self.drill(place, drill_id)
        if isinstance(drill, DrillRefusal):
            return drill
        return await number_for(self._store, place.owner, drill.plan.subject)

    def _is_open(self, drill: KeptDrill) -> bool:
        return drill.stage is DrillStage.OPEN and self._clock.now() < drill.closes_at

    def _found(self, place: Place, drill: KeptDrill) -> Found | None:
        """The drill's subject; without its moves where the present game file lacks them; None where there is
        no such game any more."""
        subject = drill.plan.subject
        game = self._desk.game_named(drill.server_id, subject.game)
        if game is None:
            return None
        known = found_of(self._desk, drill.server_id, subject, self._desk.controls_of(place))
        return known or Found(subject, game, None, None)

    async def _changed(self, place: Place, drill: KeptDrill) -> DrillPart:
        self._watch.touch(drill.server_id, [drill.id])
        return await self._part(place, drill)

    async def _part(self, place: Place, drill: KeptDrill) -> DrillPart:
        zone = self._book.server_zone(drill.server_id)
        async with self._store.read() as reading:
            joined = await stored.is_in(reading, place.owner, drill.id)
            own = await stored.own(reading, place.owner, drill.id)
            rows = await read_rows(reading, drill)
        board = await board_of(rows, self._desk, zone)
        return DrillPart(
            drill,
            joined,
            self._book.member(place.owner).listed,
            own_row(board.standings, place.member_id),
            len(own),
            clean_reps_on(self._clock.now(), own, zone),
            zone,
            version_of(self._desk, drill),
            struck_of(own),
        )


async def drill_here(reading: Reading, place: Place, drill_id: int) -> KeptDrill | DrillRefusal:
    """The drill of the member's server with this number, 0 for the open one that was opened last."""
    server_id = place.owner.server_id
    if server_id == DIRECT_MESSAGES:
        return NO_SERVER
    if drill_id == 0:
        live = await stored.live(reading, server_id)
        drill = next((drill for drill in live if drill.stage is DrillStage.OPEN), None)
        return drill or DrillRefusal(DrillRefusalCode.NONE_OPEN)
    found = await stored.get(reading, drill_id)
    return found if found is not None and found.server_id == server_id else NO_SUCH_DRILL


def read_run(entry: DrillEntry) -> int | DrillRefusal | None:
    """The most in a row, as it was typed; None where nothing was, or where the result is refused anyway."""
    typed = one_line(entry.run)
    count = read_count(entry.result)
    if not typed or count is None or not 0 <= count.landed <= count.tries:
        return None
    if not (typed.isascii() and typed.isdigit()) or len(typed) > 6:
        return refused(DrillRefusalCode.NO_RUN, typed=clipped(typed))
    run, least = int(typed), sure_run(count.landed, count.tries)
    if not least <= run <= count.landed:
        return refused(DrillRefusalCode.RUN_RANGE, run=run, least=least, most=count.landed)
    return run
