"""The practice log: tallies are logged, changed, undone, put back and listed."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import replace
from datetime import tzinfo

from bot.ports import Clock, WorkerError
from bot.results.log import Changed, Listed, Logged, LogRefusal, LogRefusalCode, PutBack, Undone
from bot.results.place import Owner, Place
from bot.results.practice import LinkTiming
from bot.results.tally import KeptTally, Mark, Subject, SubjectKind, Tally
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.entries import Entry, entry_of, over, read_entry, scheme_named
from bot.services.evidence import called, latest_subjects, practice
from bot.services.hands import TimingService
from bot.services.settings import SettingsBook
from bot.services.subjects import Found, found_of, typed_as
from bot.storage import routes, tallies
from bot.storage import settings as stored
from bot.storage.store import Reading, Store, Writing
from core.learning.tally import Context
from core.learning.wins import Win, WinCode, wins

__all__ = ["Entry", "LogService"]

PAGE = 10
MOST_MARKS = 5_000
"""How far back small wins look: of a member who logged more, only a week kept is certain."""
LATEST_MARKS = 500
"""By how many tallies completion puts what was practised last first."""


class LogService:
    """The log of each member. An event that is delivered again changes nothing."""

    def __init__(
        self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock, timing: TimingService
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._timing = timing
        self._changed: Callable[[Owner, Subject], None] | None = None

    def listen(self, changed: Callable[[Owner, Subject], None]) -> None:
        """Have this called after each change of a tally that is stored, with whose it is and what it is or
        was about."""
        self._changed = changed

    async def log(
        self,
        place: Place,
        entry: Entry,
        event_id: int,
        known: Found | None = None,
        beside: Callable[[Writing, KeptTally], Awaitable[None]] | None = None,
    ) -> Logged | LogRefusal:
        """Log a tally. Context and number of presses, where not said, are those of the last tally of the
        same; side, controller and controls are remembered from any. `known`: what it is about, in place of
        what was typed; `beside`: what else is stored with it, in the same transaction."""
        owner, now = place.owner, self._clock.now()
        async with self._store.read() as reading:
            kept = await tallies.by_event(reading, owner, event_id)
            if kept is None:
                found = known or await self._subject(reading, place, entry)
        if kept is not None:
            return await self._told(place, kept, again=True)
        if isinstance(found, LogRefusal):
            return found
        said = read_entry(found.game, entry, now, self._book.zone(owner))
        if isinstance(said, LogRefusal):
            return said
        async with self._store.write(event_id) as writing:
            settings = self._book.member(owner)
            if writing.repeated:
                kept = await tallies.by_event(writing, owner, event_id)
            else:
                subject_id = await tallies.find_subject(writing, owner, found.subject)
                last = await tallies.listed(writing, owner, 1, subject_id=subject_id) if subject_id else ()
                setup = over(settings.setup, said.setup)
                if setup != settings.setup:
                    settings = replace(await stored.of_member(writing, owner), setup=setup)
                    await stored.set_member(writing, owner, settings)
                tally = Tally(
                    found.subject,
                    said.made_at or now,
                    said.count.tries,
                    said.count.landed,
                    said.count.drops,
                    entry.context or (last[0].tally.context if last else Context.TRAINING),
                    entry.presses or (last[0].tally.presses if last else 1),
                    replace(settings.setup, controls=said.setup.controls or self._desk.controls_of(place)),
                    said.gaps,
                    said.note,
                    found.game.version,
                )
                kept = await tallies.add(writing, owner, tally, event_id, now)
                if beside is not None:
                    await beside(writing, kept)
        if kept is None:
            return LogRefusal(LogRefusalCode.NOT_YOURS)
        self._book.hold(owner, settings)
        self._tell(owner, kept)
        return await self._told(place, kept, again=writing.repeated)

    async def again(self, place: Place, tally_id: int, landed: bool, event_id: int) -> Logged | LogRefusal:
        """Log one more try at the same, in the same context, pressed and set up alike."""
        owner, now = place.owner, self._clock.now()
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                kept = await tallies.by_event(writing, owner, event_id)
            elif (kept := await tallies.get(writing, owner, tally_id)) is not None:
                before = kept.tally
                if before.subject.kind is SubjectKind.CHOICE:
                    return LogRefusal(LogRefusalCode.CHOICE)
                found = found_of(self._desk, place.server_id, before.subject, before.setup.controls)
                tally = Tally(
                    before.subject,
                    now,
                    tries=1,
                    landed=int(landed),
                    context=before.context,
                    presses=before.presses,
                    setup=before.setup,
                    game_version=found.game.version if found else before.game_version,
                )
                kept = await tallies.add(writing, owner, tally, event_id, now)
        if kept is None:
            return LogRefusal(LogRefusalCode.NOT_YOURS)
        self._tell(owner, kept)
        return await self._told(place, kept, again=writing.repeated)

    async def change(self, place: Place, tally_id: int, entry: Entry, event_id: int) -> Changed | LogRefusal:
        """Give a tally what was typed in place of what `entry_of` says of it. What is None stays, as do
        moves, numbers and time where they are empty."""
        owner, zone = place.owner, self._book.zone(place.owner)
        async with self._store.read() as reading:
            kept = await tallies.get(reading, owner, tally_id)
            if kept is None:
                return LogRefusal(LogRefusalCode.NOT_YOURS)
            if kept.tally.subject.kind is SubjectKind.CHOICE:
                return LogRefusal(LogRefusalCode.CHOICE)
            before, shown = kept.tally, entry_of(kept.tally, zone)
            game = self._desk.game_named(place.server_id, before.subject.game) or self._desk.game_of(place)
            subject, version = before.subject, before.game_version
            if entry.what.strip() not in ("", shown.what, subject.what):
                found = await self._subject(reading, place, entry)
                if isinstance(found, LogRefusal):
                    return found
                game, subject, version = found.game, found.subject, found.game.version
        if entry.when.strip() == shown.when:  # to the minute; the tally knows better
            entry = replace(entry, when="")
        said = read_entry(game, entry, self._clock.now(), zone, before)
        if isinstance(said, LogRefusal):
            return said
        tally = Tally(
            subject,
            said.made_at or before.made_at,
            said.count.tries,
            said.count.landed,
            said.count.drops,
            entry.context or before.context,
            entry.presses or before.presses,
            over(before.setup, said.setup),
            said.gaps,
            said.note,
            version,
        )
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                changed = await tallies.get(writing, owner, tally_id)
            else:
                changed = await tallies.change(writing, owner, tally_id, tally)
        self._tell(owner, kept, changed)
        return Changed(changed) if changed else LogRefusal(LogRefusalCode.NOT_YOURS)

    async def undo(self, place: Place, tally_id: int | None, event_id: int) -> Undone | LogRefusal:
        """Take a tally out of the log, the one logged last where no number is given."""
        owner = place.owner
        async with self._store.write(event_id) as writing:
            if tally_id is None:
                last = None if writing.repeated else await tallies.latest(writing, owner)
                if last is None:
                    return LogRefusal(LogRefusalCode.NOTHING_LOGGED)
                tally_id = last.id
            gone = None if writing.repeated else await tallies.undo(writing, owner, tally_id)
            gone = gone or await tallies.get(writing, owner, tally_id, undone=True)
        self._tell(owner, gone)
        return Undone(gone) if gone else LogRefusal(LogRefusalCode.NOT_YOURS)

    async def put_back(self, place: Place, tally_id: int, event_id: int) -> PutBack | LogRefusal:
        """Put a tally that was taken out back into the log."""
        owner = place.owner
        async with self._store.write(event_id) as writing:
            kept = None if writing.repeated else await tallies.put_back(writing, owner, tally_id)
            kept = kept or await tallies.get(writing, owner, tally_id)
        self._tell(owner, kept)
        return PutBack(kept) if kept else LogRefusal(LogRefusalCode.NOT_YOURS)

    async def listed(self, place: Place, before_id: int | None = None) -> Listed:
        """The tallies logged last, or those before one of them, `PAGE` at a time."""
        async with self._store.read() as reading:
            found = await tallies.listed(reading, place.owner, PAGE + 1, before_id)
        return Listed(found[:PAGE], older=len(found) > PAGE)

    async def one(self, place: Place, tally_id: int) -> KeptTally | LogRefusal:
        """One tally of the log."""
        async with self._store.read() as reading:
            kept = await tallies.get(reading, place.owner, tally_id)
        return kept or LogRefusal(LogRefusalCode.NOT_YOURS)

    async def entry_of(self, place: Place, tally_id: int) -> Entry | LogRefusal:
        """A tally as it could have been typed, with its time on the clocks of the member's zone."""
        kept = await self.one(place, tally_id)
        if isinstance(kept, LogRefusal):
            return kept
        if kept.tally.subject.kind is SubjectKind.CHOICE:
            return LogRefusal(LogRefusalCode.CHOICE)
        return entry_of(kept.tally, self._book.zone(place.owner))

    async def typed(self, place: Place, subject_id: int) -> str | LogRefusal:
        """What the member would type for something that they practise."""
        async with self._store.read() as reading:
            subject = await tallies.subject_of(reading, place.owner, subject_id)
        if subject is not None and subject.kind is SubjectKind.CHOICE:
            return LogRefusal(LogRefusalCode.CHOICE)
        return typed_as(subject) if subject else LogRefusal(LogRefusalCode.NOT_YOURS)

    async def complete_what(self, place: Place, typed: str) -> tuple[str, ...]:
        """What the member practises in the server's game, the latest first, and the routes they saved, that
        the text may become, at most 25. Moves of anybody but their own character come with whose they are."""
        owner, game = place.owner, self._desk.game_of(place).name
        async with self._store.read() as reading:
            totals = await tallies.totals(reading, owner, game)
            marks = await tallies.marks(reading, owner, LATEST_MARKS)
            saved = await routes.listed(reading, owner, game)
        own = self._desk.character_of(place)
        names = []
        every = {total.subject_id: total.subject for total in totals}
        for subject in (latest_subjects(totals, marks) | every).values():
            if subject.kind is SubjectKind.CHOICE:  # only the quiz asks about those
                continue
            elsewhere = subject.character and (own is None or own.name != subject.character)
            names.append(typed_as(subject) if elsewhere else subject.what)
        names += [route.name for route in saved]
        return complete_names([(name, (name,)) for name in dict.fromkeys(names)], typed)

    def _tell(self, owner: Owner, *changed: KeptTally | None) -> None:
        """Tell who listens what was changed."""
        if self._changed is not None:
            for subject in dict.fromkeys(kept.tally.subject for kept in changed if kept is not None):
                self._changed(owner, subject)

    async def _subject(self, reading: Reading, place: Place, entry: Entry) -> Found | LogRefusal:
        """What the entry is about."""
        controls = scheme_named(self._desk.game_of(place), entry.controls) if entry.controls else None
        return await called(reading, self._desk, place, entry.what, controls)

    async def _told(self, place: Place, kept: KeptTally, again: bool) -> Logged:
        """A tally that is stored, with what it leads to."""
        owner, tally = place.owner, kept.tally
        async with self._store.read() as reading:
            totals = await tallies.totals(reading, owner, tally.subject.game)
            marks = await tallies.marks(reading, owner, MOST_MARKS)
        here = [
            total
            for total in totals
            if total.subject_id == kept.subject_id and total.context is tally.context
        ]
        # In a thread: of a long log it takes long enough to hold up everybody else.
        won = await asyncio.to_thread(_won, kept.id, marks, self._book.zone(owner))
        return Logged(
            kept,
            sum(total.tries for total in here),
            sum(total.landed for total in here),
            won,
            await self._timing_of(place, kept),
            again,
        )

    async def _timing_of(self, place: Place, kept: KeptTally) -> LinkTiming | None:
        """A link's timing; None for anything else, and where it could not be worked out."""
        subject = kept.tally.subject
        found = found_of(self._desk, place.server_id, subject, kept.tally.setup.controls)
        if found is None or subject.kind is not SubjectKind.LINK:
            return None
        try:
            return await self._timing.of_link(place, found)
        except WorkerError:
            return None


def _won(tally_id: int, marks: Sequence[Mark], zone: tzinfo) -> tuple[Win, ...]:
    """The small wins of one tally among all, which come latest first."""
    made = {mark.id: practice(mark) for mark in reversed(marks)}
    mine = made.get(tally_id)
    certain = set(WinCode) if len(marks) < MOST_MARKS else {WinCode.WEEK_KEPT}
    return tuple(win for win in wins(made.values(), zone) if win.tally is mine and win.code in certain)
