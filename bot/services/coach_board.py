"""The coach's board: all students, one student, and what several are stuck on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime

from bot.ports import Clock
from bot.results.coaching import (
    PAGE,
    STUDENT_NOTE_CHARACTERS,
    CoachBoard,
    Coaching,
    CoachRefusal,
    CoachRefusalCode,
    StuckLink,
    StudentPage,
    StudentRow,
)
from bot.results.place import Owner, Place
from bot.services.desk import AskDesk
from bot.services.homework_views import NO_SUCH_COACHING, paged, too_long, view_of
from bot.services.settings import SettingsBook
from bot.services.stuck import BEFORE, LATELY, gap_to_match, stuck_on, stuck_together
from bot.storage import coaching as stored
from bot.storage import homework, tallies
from bot.storage.homework import HomeworkRow
from bot.storage.store import Reading, Store
from bot.storage.students import Lately, last_practice, lately
from core.text import one_line
from core.verdict import Facts

MOST_NOTES = 200
"""Of one student."""
_NEVER = datetime.max.replace(tzinfo=UTC)


class BoardService:
    """For coaches, of those students only who accepted them. An event that is delivered again has no second
    effect."""

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock

    async def board(self, place: Place, page: int = 0) -> CoachBoard:
        """One page of a coach's students: those who wait for the coach first, then by the earliest due
        homework, then those without any."""
        async with self._store.read() as reading:
            known = await stored.of_coach(reading, place.owner)
            given = _by_student(await homework.open_of_coach(reading, place.owner))
            students = sorted(
                (one for one in known if one.accepted_at is not None),
                key=lambda one: _urgency(given.get(one.student, ())),
            )
            page, pages = paged(page, len(students))
            shown = students[page * PAGE : (page + 1) * PAGE]
            rows = await self._rows(reading, place, shown, given)
        asked = tuple(one for one in known if one.accepted_at is None)
        return CoachBoard(rows, asked, len(students), page, pages)

    async def student(self, place: Place, coaching_id: int) -> StudentPage | CoachRefusal:
        """One student's page."""
        async with self._store.read() as reading:
            known = await _of_coach(reading, place, coaching_id)
            return NO_SUCH_COACHING if known is None else await self._page(reading, place, known)

    async def note(
        self, place: Place, coaching_id: int, text: str, event_id: int
    ) -> StudentPage | CoachRefusal:
        """Note something of a student that only this coach sees."""
        text = one_line(text)
        if not text:
            return CoachRefusal(CoachRefusalCode.NO_TEXT)
        if len(text) > STUDENT_NOTE_CHARACTERS:
            return too_long("note", STUDENT_NOTE_CHARACTERS)
        async with self._store.write(event_id) as writing:
            known = await _of_coach(writing, place, coaching_id)
            if known is None:
                return NO_SUCH_COACHING
            if not writing.repeated:
                if await stored.count_notes(writing, known) >= MOST_NOTES:
                    return CoachRefusal(CoachRefusalCode.TOO_MANY, Facts(field="notes", most=MOST_NOTES))
                await stored.add_note(writing, known, text, self._clock.now())
        async with self._store.read() as reading:
            return await self._page(reading, place, known)

    async def stuck(self, place: Place) -> tuple[StuckLink, ...]:
        """What two students or more are stuck on, that of the most students first."""
        async with self._store.read() as reading:
            practised = await self._lately(reading, place)
        return stuck_together(practised, self._book.goal)

    async def _page(self, reading: Reading, place: Place, known: Coaching) -> StudentPage:
        """Of a student who accepted the coach. In direct messages it may be of another server than the home
        of who speaks."""
        now = self._clock.now()
        place = Place(known.coach.server_id, place.channel_id, known.coach.member_id)
        given = await homework.between(reading, known.coach, known.student, PAGE)
        still_open = _by_student(await homework.open_between(reading, known.coach, known.student))
        (row,) = await self._rows(reading, place, (known,), still_open)
        return StudentPage(
            row,
            tuple([await view_of(reading, one, now) for one in given]),
            await tallies.listed(reading, known.student, PAGE),
            await stored.notes(reading, known, PAGE),
        )

    async def _rows(
        self,
        reading: Reading,
        place: Place,
        students: Sequence[Coaching],
        given: Mapping[Owner, Sequence[HomeworkRow]],
    ) -> tuple[StudentRow, ...]:
        """The rows of these few students; `given`: their homework that is not accepted yet."""
        now, game = self._clock.now(), self._desk.game_of(place).name
        numbers = [one.id for one in students]
        last = await last_practice(reading, numbers)
        practised: dict[int, list[Lately]] = {}
        for each in await self._lately(reading, place, numbers):
            practised.setdefault(each.coaching_id, []).append(each)
        rows = []
        for one in students:
            views = [await view_of(reading, row, now) for row in given.get(one.student, ())]
            rows.append(
                StudentRow(
                    one,
                    tuple(sorted(views, key=lambda view: (view.homework.due_at, view.homework.id))),
                    last.get(one.id),
                    gap_to_match(await tallies.totals(reading, one.student, game)),
                    stuck_on(practised.get(one.id, ()), self._book.goal(one.student)),
                )
            )
        return tuple(rows)

    async def _lately(
        self, reading: Reading, place: Place, numbers: Sequence[int] | None = None
    ) -> tuple[Lately, ...]:
        now, game = self._clock.now(), self._desk.game_of(place).name
        return await lately(reading, place.owner, game, now - BEFORE, now - LATELY, numbers)


async def _of_coach(reading: Reading, place: Place, coaching_id: int) -> Coaching | None:
    """The coaching, where who speaks is the coach and the student accepted."""
    known = await stored.get(reading, coaching_id)
    if known is None or known.accepted_at is None or not place.is_of(known.coach):
        return None
    return known


def _by_student(rows: Iterable[HomeworkRow]) -> dict[Owner, list[HomeworkRow]]:
    found: dict[Owner, list[HomeworkRow]] = {}
    for row in rows:
        found.setdefault(row.kept.student, []).append(row)
    return found


def _urgency(given: Sequence[HomeworkRow]) -> tuple[bool, datetime]:
    """By what students stand on the board: those who wait for the coach first, then whose homework is due
    first."""
    waits = any(row.kept.waits_for_coach for row in given)
    return not waits, min((row.kept.due_at for row in given), default=_NEVER)
