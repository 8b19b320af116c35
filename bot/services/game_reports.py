"""Numbers that members say are wrong: reported, and accepted or left as they are by a moderator."""

from __future__ import annotations

from dataclasses import replace

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.games import (
    REPORT_NOTE_CHARACTERS,
    EditionChange,
    GameRefusal,
    GameRefusalCode,
    Report,
    ReportList,
    ReportStage,
)
from bot.results.notice import NoticeKind
from bot.results.place import Owner, Place
from bot.services.desk import AskDesk
from bot.services.game_cells import Cell, find_cell, refused
from bot.services.game_changes import GameChanges
from bot.services.game_desk import GameDesk, said
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.storage import audit
from bot.storage import reports as stored
from bot.storage.store import Store, Writing
from core.text import one_line

MOST_OPEN = 5
"""Reports of one member that wait."""
MOST_LISTED = 25


class GameReports:
    """Anybody may report; whoever calls the rest has made sure that the member is a moderator. An event that
    is delivered again has no second effect."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        game_desk: GameDesk,
        changes: GameChanges,
        book: SettingsBook,
        clock: Clock,
        notices: NoticeService,
    ) -> None:
        self._store = store
        self._desk = desk
        self._game_desk = game_desk
        self._changes = changes
        self._book = book
        self._clock = clock
        self._notices = notices

    async def report(
        self,
        place: Place,
        move: str,
        column: str,
        right: str,
        note: str,
        character: str | None,
        event_id: int,
    ) -> Report | GameRefusal:
        """Say that a number of the channel's game is wrong, and what is right: read as an edit is."""
        owner, note, here = place.owner, one_line(note), self._desk.game_of(place)
        if place.server_id is None or place.direct:
            return refused(here, GameRefusalCode.NO_SERVER)
        if len(note) > REPORT_NOTE_CHARACTERS:
            return refused(here, GameRefusalCode.TEXT_TOO_LONG, most=REPORT_NOTE_CHARACTERS)
        where = find_cell(self._desk, place, move, column, character)
        if isinstance(where, GameRefusal):
            return where
        tried = await self._game_desk.tried(place, where, right)
        if isinstance(tried, GameRefusal):
            return tried
        new = Report(
            0,
            owner,
            where.game,
            here.version,
            where.character,
            where.input,
            where.column,
            tried.found,
            one_line(right),
            note,
            self._clock.now(),
            ReportStage.OPEN,
        )
        async with self._store.write(event_id) as writing:
            waiting = await stored.open_of(writing, owner)
            had = next((one for one in waiting if _says(one) == _says(new)), None)
            if had is not None or writing.repeated:
                return had or refused(here, GameRefusalCode.NO_SUCH_REPORT)
            if len(waiting) >= MOST_OPEN:
                return refused(here, GameRefusalCode.TOO_MANY_REPORTS, most=MOST_OPEN)
            number = await stored.add(writing, new)
        self._book.hold(owner, self._book.member(owner))
        return replace(new, id=number)

    async def open_ones(self, place: Place) -> ReportList:
        """The reports of the server that wait, of all its games, the oldest first."""
        server_id = place.owner.server_id
        async with self._store.read() as reading:
            found = await stored.open_ones(reading, server_id, MOST_LISTED)
            more = await stored.open_count(reading, server_id) - len(found)
        return ReportList(self._desk.game_of(place), found, more)

    async def accept(self, place: Place, report_id: int, event_id: int) -> EditionChange | GameRefusal:
        """Change the number, as a version of its own; who reported it is told."""
        owner, here = place.owner, self._desk.game_of(place)
        gone = refused(here, GameRefusalCode.NO_SUCH_REPORT)
        async with self._changes.alone(owner.server_id):
            async with self._store.read() as reading:
                report = await stored.get(reading, report_id)
            if report is None or report.member.server_id != owner.server_id:
                return gone
            if report.stage is not ReportStage.OPEN:
                return await self._changes.again(owner, event_id) or gone
            where = Cell(report.game, report.character, report.input, report.column)
            planned = await self._game_desk.with_number(place, where, report.right)
            if isinstance(planned, GameRefusal):
                return _meanwhile(planned, report)
            change, found = planned
            if found != report.found:
                facts = where.facts.plus(found=report.found, now=found)
                return GameRefusal(here, GameRefusalCode.CHANGED_MEANWHILE, facts)
            async with self._store.write(event_id) as writing:
                now = await stored.get(writing, report_id)
                if writing.repeated or now is None or now.stage is not ReportStage.OPEN:
                    return gone
                what = said(where, found, report.right)
                edition = await self._changes.store(writing, owner, change, Deed.REPORT_ACCEPTED, what, what)
                await self._decide(writing, report, ReportStage.ACCEPTED, owner)
            return self._changes.taken_up(owner, change, edition)

    async def dismiss(self, place: Place, report_id: int, event_id: int) -> Report | GameRefusal:
        """Leave the number as it is; who reported it is told."""
        owner = place.owner
        async with self._store.write(event_id) as writing:
            report = await stored.get(writing, report_id)
            if report is None or report.member.server_id != owner.server_id:
                return refused(self._desk.game_of(place), GameRefusalCode.NO_SUCH_REPORT)
            if report.stage is ReportStage.DISMISSED and writing.repeated:
                return report
            if report.stage is not ReportStage.OPEN or writing.repeated:
                return refused(self._desk.game_of(place), GameRefusalCode.NO_SUCH_REPORT)
            what = f"{report.game} {report.version}: {report.character} {report.input} {report.column}"
            await audit.note(writing, owner, self._clock.now(), Deed.REPORT_DISMISSED, what)
            await self._decide(writing, report, ReportStage.DISMISSED, owner)
        self._book.hold(owner, self._book.member(owner))
        return replace(report, stage=ReportStage.DISMISSED)

    async def decided(self, report_id: int) -> Report | None:
        """A report that was decided, to tell who made it; None where it waits, or is gone."""
        async with self._store.read() as reading:
            report = await stored.get(reading, report_id)
        return report if report is not None and report.stage is not ReportStage.OPEN else None

    async def _decide(self, writing: Writing, report: Report, stage: ReportStage, by: Owner) -> None:
        await stored.decide(writing, report.id, stage, by, self._clock.now())
        if report.member != by:
            await self._notices.tell(writing, NoticeKind.REPORT_DECIDED, report.id, report.member)


def _says(report: Report) -> tuple[str, ...]:
    return report.game, report.character, report.input, report.column, report.right


def _meanwhile(refusal: GameRefusal, report: Report) -> GameRefusal:
    """Why a report that could be accepted when it was made no longer can."""
    if refusal.code is not GameRefusalCode.SAME_NUMBER:
        return refusal
    facts = refusal.facts.plus(found=report.found, now=report.right)
    return GameRefusal(refusal.game, GameRefusalCode.CHANGED_MEANWHILE, facts)
