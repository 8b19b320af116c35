"""Coaches and students: who asks whom, who accepts, and how it ends."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.coaching import Coaching, CoachRefusal, CoachRefusalCode, Ended
from bot.results.notice import NoticeKind
from bot.results.place import DIRECT_MESSAGES, Owner, Place
from bot.services.homework_views import NO_SUCH_COACHING, remind, stop_reminding
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.storage import audit, homework
from bot.storage import coaching as stored
from bot.storage.store import Reading, Store, Writing
from core.verdict import Facts

MOST_STUDENTS = 300
"""Students of one coach, with those who have not answered yet."""


class CoachingService:
    """Whoever calls `ask` has made sure that the member is a coach of this server. An event that is delivered
    again has no second effect."""

    def __init__(self, store: Store, book: SettingsBook, clock: Clock, notices: NoticeService) -> None:
        self._store = store
        self._book = book
        self._clock = clock
        self._notices = notices
        self._coaches: dict[Owner, set[Owner]] = {}

    async def load(self) -> None:
        """Read who has a coach: at the start, before `is_student` is asked."""
        async with self._store.settled() as reading:
            found = await stored.accepted(reading)
            self._coaches = {}
            for one in found:
                self._hold(one)

    async def reread(self, students: Collection[Owner]) -> None:
        """Read anew who coaches these, some hundreds at most."""
        async with self._store.settled() as reading:
            found = await stored.accepted(reading, students)
            for student in students:
                self._coaches.pop(student, None)
            for one in found:
                self._hold(one)

    def is_student(self, server_id: int, member_id: int) -> bool:
        """Whether this member accepted a coach in this server."""
        return Owner(server_id, member_id) in self._coaches

    def drop(self, owner: Owner) -> None:
        """Forget a member whose data were erased."""
        self._coaches.pop(owner, None)
        for student in list(self._coaches):
            self._let_go(student, owner)

    def drop_server(self, server_id: int) -> None:
        """Forget the coaches and students of a server of which nothing is kept any more."""
        for student in [one for one in self._coaches if one.server_id == server_id]:
            del self._coaches[student]

    async def ask(
        self, place: Place, member_id: int, event_id: int, *, is_bot: bool = False
    ) -> Coaching | CoachRefusal:
        """Ask a member of the coach's server to be their student. They are told."""
        coach = place.owner
        if coach.server_id == DIRECT_MESSAGES:
            return CoachRefusal(CoachRefusalCode.NO_SERVER)
        if is_bot:
            return CoachRefusal(CoachRefusalCode.A_BOT)
        if member_id == coach.member_id:
            return CoachRefusal(CoachRefusalCode.YOURSELF)
        student = Owner(coach.server_id, member_id)
        async with self._store.write(event_id) as writing:
            known = await stored.between(writing, coach, student)
            if writing.repeated:
                return known or NO_SUCH_COACHING
            if known is not None:
                again = known.accepted_at is None
                code = CoachRefusalCode.ASKED_ALREADY if again else CoachRefusalCode.STUDENT_ALREADY
                return CoachRefusal(code)
            if len(await stored.of_coach(writing, coach)) >= MOST_STUDENTS:
                return CoachRefusal(CoachRefusalCode.TOO_MANY_STUDENTS, Facts(most=MOST_STUDENTS))
            asked = await stored.add(writing, coach, student, self._clock.now())
            await self._notices.tell(writing, NoticeKind.COACH_ASKS, asked.id, student)
            await audit.note(writing, coach, asked.asked_at, Deed.STUDENT_ASKED)
        for owner in (coach, student):  # this server is a home of theirs now
            self._book.hold(owner, self._book.member(owner))
        return asked

    async def answer(
        self, place: Place, coaching_id: int, accept: bool, event_id: int
    ) -> Coaching | Ended | CoachRefusal:
        """The member accepts the coach, who is told; or they do not, and the coach hears nothing."""
        now = self._clock.now()
        async with self._store.write(event_id) as writing:
            asked = await stored.get(writing, coaching_id)
            if asked is None or not place.is_of(asked.student):
                return NO_SUCH_COACHING
            if asked.accepted_at is not None:  # pressed again: a later "no" is said by ending it
                return asked if accept else CoachRefusal(CoachRefusalCode.STUDENT_ALREADY)
            if writing.repeated:
                return NO_SUCH_COACHING
            if not accept:
                await self._end(writing, asked)
                return Ended(asked, by_coach=False)
            await stored.accept(writing, coaching_id, now)
            await self._notices.tell(writing, NoticeKind.COACH_ACCEPTED, coaching_id, asked.coach)
            for row in await homework.open_between(writing, asked.coach, asked.student):
                await remind(writing, self._notices, row.kept, now)  # of a coach whom they had before
        accepted = replace(asked, accepted_at=now)
        self._hold(accepted)
        return accepted

    async def end(self, place: Place, coaching_id: int, event_id: int) -> Ended | CoachRefusal:
        """Either of the two ends it, also before it was accepted. The homework stays with the student."""
        async with self._store.write(event_id) as writing:
            known = await self._of_either(writing, place, coaching_id)
            if known is None or writing.repeated:
                return NO_SUCH_COACHING
            await self._end(writing, known)
            by_coach = place.is_of(known.coach)
            if by_coach:  # what a student does is nobody's to list
                await audit.note(writing, known.coach, self._clock.now(), Deed.COACHING_ENDED)
        self._let_go(known.student, known.coach)
        return Ended(known, by_coach)

    async def one(self, place: Place, coaching_id: int) -> Coaching | CoachRefusal:
        """A coaching of which this member is the coach or the student: to ask whether to end it, say."""
        async with self._store.read() as reading:
            return await self._of_either(reading, place, coaching_id) or NO_SUCH_COACHING

    async def mine(self, place: Place) -> tuple[Coaching, ...]:
        """The coaches of this member, and those who ask to be, the latest first; in direct messages those of
        all servers."""
        async with self._store.read() as reading:
            return await stored.of_student(reading, place)

    async def students(self, place: Place) -> tuple[Coaching, ...]:
        """Who accepted this coach, the first first."""
        async with self._store.read() as reading:
            found = await stored.of_coach(reading, place.owner)
        return tuple(one for one in found if one.accepted_at is not None)

    async def student_place(self, place: Place, coaching_id: int) -> Place | CoachRefusal:
        """Where the student's log is, for the coach whom they accepted: what other services tell of this
        place is the student's."""
        async with self._store.read() as reading:
            known = await stored.get(reading, coaching_id)
        if known is None or known.accepted_at is None or not place.is_of(known.coach):
            return NO_SUCH_COACHING
        return Place(known.student.server_id, place.channel_id, known.student.member_id)

    async def _of_either(self, reading: Reading, place: Place, coaching_id: int) -> Coaching | None:
        known = await stored.get(reading, coaching_id)
        if known is None or not (place.is_of(known.coach) or place.is_of(known.student)):
            return None
        return known

    async def _end(self, writing: Writing, known: Coaching) -> None:
        for kind in (NoticeKind.COACH_ASKS, NoticeKind.COACH_ACCEPTED):
            await self._notices.forget(writing, kind, known.id)
        for row in await homework.open_between(writing, known.coach, known.student):
            await stop_reminding(writing, self._notices, row.kept.id)
        await stored.remove(writing, known.id)

    def _hold(self, one: Coaching) -> None:
        self._coaches.setdefault(one.student, set()).add(one.coach)

    def _let_go(self, student: Owner, coach: Owner) -> None:
        left = self._coaches.get(student)
        if left is not None:
            left.discard(coach)
            if not left:
                del self._coaches[student]
