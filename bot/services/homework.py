"""Homework: coaches set it; students see how far it is, log on it and hand it in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any
from urllib.parse import urlsplit

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.coaching import (
    CLIP_CHARACTERS,
    HOMEWORK_NOTE_CHARACTERS,
    PAGE,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkAsked,
    HomeworkPage,
    HomeworkSet,
    HomeworkView,
    KeptHomework,
)
from bot.results.log import Logged, LogRefusal
from bot.results.notice import NoticeKind
from bot.results.place import DIRECT_MESSAGES, Owner, Place
from bot.results.tally import SubjectKind
from bot.services.coaching import MOST_STUDENTS
from bot.services.desk import AskDesk
from bot.services.entries import Entry
from bot.services.evidence import called
from bot.services.homework_asked import read_asked
from bot.services.homework_views import (
    NO_SUCH_COACHING,
    NO_SUCH_HOMEWORK,
    WITH_STUDENT,
    of_coach,
    of_student,
    paged,
    remind,
    route_instead,
    stop_reminding,
    too_long,
    view_now,
    view_of,
    wrong_stage,
)
from bot.services.log import LogService
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.services.subjects import found_of, typed_as
from bot.storage import audit, coaching, tallies
from bot.storage import homework as stored
from bot.storage.store import Store, Writing
from core.learning.homework import MatchAttempts, Step, after
from core.learning.tally import Context
from core.routes.check import judged_as_usual
from core.routes.joints import Judge
from core.text import clipped, one_line
from core.verdict import Facts

MOST_OPEN = 20
"""Homework of one coach that a student has not finished."""


class HomeworkService:
    """Everything is checked against the stored coaching: what is not between this member and somebody does
    not exist for them. An event that is delivered again has no second effect."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        book: SettingsBook,
        clock: Clock,
        notices: NoticeService,
        log: LogService,
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._notices = notices
        self._log = log

    async def set(
        self, place: Place, student_ids: Sequence[int], asked: HomeworkAsked, event_id: int
    ) -> HomeworkSet | CoachRefusal | LogRefusal:
        """Set the same homework for students, by their member ids; a refusal where nobody gets it for one
        reason. A rate that is not named is each student's own goal. The due day is on the coach's clocks."""
        coach, now = place.owner, self._clock.now()
        if coach.server_id == DIRECT_MESSAGES:
            return CoachRefusal(CoachRefusalCode.NO_SERVER)
        said = read_asked(asked, now, self._book.zone(coach))
        if isinstance(said, CoachRefusal):
            return said
        async with self._store.read() as reading:
            found = await called(reading, self._desk, place, asked.what)
        if isinstance(found, LogRefusal):
            return found

        def new(student: Owner) -> KeptHomework:
            target = said.target_of(self._book.goal(student))
            return KeptHomework(0, coach, student, found.subject, target, said.note, now, said.due_at)

        students = [Owner(coach.server_id, member_id) for member_id in dict.fromkeys(student_ids)]
        return await self._set(coach, students, new, event_id)

    async def same_for(
        self, place: Place, homework_id: int, coaching_ids: Sequence[int], event_id: int
    ) -> HomeworkSet | CoachRefusal:
        """Set the same homework for more of the coach's students. Where its due day is over they have as much
        time from now on as its student had."""
        now = self._clock.now()
        async with self._store.read() as reading:
            row = await of_coach(reading, place, homework_id)
            if row is None or row.kept.coach is None:
                return NO_SUCH_HOMEWORK
            coach = row.kept.coach
            ours = {one.id: one.student for one in await coaching.of_coach(reading, coach)}
        if any(number not in ours for number in coaching_ids):
            return NO_SUCH_COACHING
        kept = row.kept
        due_at = kept.due_at if kept.due_at > now else now + (kept.due_at - kept.set_at)

        def new(student: Owner) -> KeptHomework:
            return KeptHomework(0, coach, student, kept.subject, kept.target, kept.note, now, due_at)

        students = [ours[number] for number in dict.fromkeys(coaching_ids)]
        return await self._set(coach, students, new, event_id)

    async def mine(self, place: Place, page: int = 0) -> HomeworkPage:
        """The member's homework, that due first first, then what is accepted, the latest first. In direct
        messages that of all servers."""
        now = self._clock.now()
        async with self._store.read() as reading:
            page, pages = paged(page, await stored.count_of_student(reading, place))
            found = await stored.of_student(reading, place, PAGE, page * PAGE)
            return HomeworkPage(tuple([await view_of(reading, row, now) for row in found]), page, pages)

    async def one(self, place: Place, homework_id: int) -> HomeworkView | CoachRefusal:
        """A homework, for its student or the coach whom the student has."""
        async with self._store.read() as reading:
            row = await of_student(reading, place, homework_id)
            row = row or await of_coach(reading, place, homework_id)
            return NO_SUCH_HOMEWORK if row is None else await view_of(reading, row, self._clock.now())

    async def log(
        self, place: Place, homework_id: int, result: str, note: str, event_id: int
    ) -> tuple[Logged, HomeworkView] | CoachRefusal | LogRefusal:
        """Log a tally of the homework's subject, made now: in training, or in a ranked match where tries in
        matches are counted."""
        async with self._store.read() as reading:
            row = await of_student(reading, place, homework_id)
        if row is None:
            return NO_SUCH_HOMEWORK
        kept = row.kept
        context = Context.RANKED if isinstance(kept.target, MatchAttempts) else Context.TRAINING
        entry = Entry(typed_as(kept.subject), result, context, note=note)
        controls = self._book.member(kept.student).setup.controls
        known = found_of(self._desk, kept.student.server_id, kept.subject, controls)
        done = await self._log.log(_home(place, kept), entry, event_id, known)
        if isinstance(done, LogRefusal):
            return done
        async with self._store.read() as reading:
            return done, await view_now(reading, homework_id, self._clock.now())

    async def hand_in(
        self, place: Place, homework_id: int, note: str, clip: str, event_id: int
    ) -> HomeworkView | CoachRefusal:
        """Hand it in, with a note and the link of a clip or without; the coach is told."""
        note, clip, now = one_line(note), clip.strip(), self._clock.now()
        if len(note) > HOMEWORK_NOTE_CHARACTERS:
            return too_long("note", HOMEWORK_NOTE_CHARACTERS)
        if len(clip) > CLIP_CHARACTERS:
            return too_long("clip", CLIP_CHARACTERS)
        if clip and not is_link(clip):
            return CoachRefusal(CoachRefusalCode.BAD_CLIP, Facts(typed=clipped(clip)))
        async with self._store.write(event_id) as writing:
            row = await of_student(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            kept = row.kept
            if not writing.repeated:
                stage = after(kept.stage, Step.HAND_IN)
                if not row.coached or kept.coach is None:
                    return CoachRefusal(CoachRefusalCode.COACH_GONE)
                if stage is None:
                    return wrong_stage(kept)
                handed: dict[str, Any] = {"stage": stage.value, "handed_in_at": now}
                if kept.asks_easier:  # they did it as it was
                    handed["easier"] = None
                await stored.change(writing, homework_id, **handed, hand_in_note=note, clip=clip)
                await stop_reminding(writing, self._notices, homework_id)
                await self._notices.tell(writing, NoticeKind.HANDED_IN, homework_id, kept.coach)
            return await view_now(writing, homework_id, now)

    async def ask_easier(
        self, place: Place, homework_id: int, notation: str, event_id: int
    ) -> HomeworkView | CoachRefusal:
        """Ask the coach for this route in its place; the coach is told."""
        async with self._store.write(event_id) as writing:
            row = await of_student(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            kept = row.kept
            if not writing.repeated:
                if not row.coached or kept.coach is None:
                    return CoachRefusal(CoachRefusalCode.COACH_GONE)
                if kept.stage not in WITH_STUDENT:
                    return wrong_stage(kept)
                easier = route_instead(self._desk, self._book, kept, notation)
                if easier is None or easier.what == kept.subject.what:
                    return CoachRefusal(CoachRefusalCode.NO_EASIER)
                await stored.change(writing, homework_id, easier=easier.what)
                await self._notices.tell(writing, NoticeKind.ASKED_EASIER, homework_id, kept.coach)
            return await view_now(writing, homework_id, self._clock.now())

    async def student_place(self, place: Place, homework_id: int) -> Place | CoachRefusal:
        """Where the log of a homework's student is, for that student: in direct messages it may be of another
        server than the member's home."""
        async with self._store.read() as reading:
            row = await of_student(reading, place, homework_id)
        return NO_SUCH_HOMEWORK if row is None else _home(place, row.kept)

    def fails_in(self, kept: KeptHomework) -> str | None:
        """The version that the student's server uses now, where the homework's moves do not work in it or are
        not there; None where they work."""
        about, server_id = kept.subject, kept.student.server_id
        game = self._desk.game_named(server_id, about.game)
        if game is None or about.kind not in (SubjectKind.LINK, SubjectKind.ROUTE):
            return None
        controls = self._book.member(kept.student).setup.controls
        found = found_of(self._desk, server_id, about, controls)
        if found is None or found.character is None or found.route is None:
            return game.version
        works = judged_as_usual(Judge(game, found.character), found.route).works
        return None if works else game.version

    async def subject_number(self, place: Place, homework_id: int) -> int | CoachRefusal:
        """The number of the homework's subject in the student's own log, for that student. In one: who is
        erased while a job tells them of it gets no row again."""
        async with self._store.write() as writing:
            row = await of_student(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            _, number = await tallies.enter_subject(writing, row.kept.student, row.kept.subject)
        return number

    async def _set(
        self,
        coach: Owner,
        students: Sequence[Owner],
        new: Callable[[Owner], KeptHomework],
        event_id: int,
    ) -> HomeworkSet | CoachRefusal:
        """Store it for each of these who may have it."""
        if not students:
            return CoachRefusal(CoachRefusalCode.NO_STUDENTS)
        if len(students) > MOST_STUDENTS:
            return CoachRefusal(CoachRefusalCode.TOO_MANY_STUDENTS, Facts(most=MOST_STUDENTS))
        done: list[KeptHomework] = []
        refused: dict[int, CoachRefusal] = {}
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                return await self._was_set(writing, coach, map(new, students))
            mine = await coaching.of_coach(writing, coach)
            ours = {one.student for one in mine if one.accepted_at is not None}
            still_open: dict[Owner, list[KeptHomework]] = {}
            for row in await stored.open_of_coach(writing, coach):
                still_open.setdefault(row.kept.student, []).append(row.kept)
            for student in students:
                wanted = new(student)
                why_not = _why_not(wanted, ours, still_open.get(student, []))
                if why_not is not None:
                    refused[student.member_id] = why_not
                else:
                    done.append(await self._add(writing, wanted))
            if done:
                what = typed_as(done[0].subject)
                await audit.note(writing, coach, self._clock.now(), Deed.HOMEWORK_SET, what)
        if not done and len(set(refused.values())) == 1:
            return next(iter(refused.values()))
        return HomeworkSet(tuple(done), tuple(refused.items()))

    async def _add(self, writing: Writing, new: KeptHomework) -> KeptHomework:
        kept = await stored.add(writing, new)
        await self._notices.tell(writing, NoticeKind.HOMEWORK_SET, kept.id, kept.student)
        await remind(writing, self._notices, kept, kept.set_at)
        return kept

    async def _was_set(
        self, writing: Writing, coach: Owner, wanted: Iterable[KeptHomework]
    ) -> HomeworkSet | CoachRefusal:
        """What the same event has set before."""
        alike: dict[Owner, KeptHomework] = {}
        for new in wanted:
            last = await stored.last_alike(writing, coach, new.student, new.subject)
            if last is not None:
                alike[new.student] = last.kept
        return HomeworkSet(tuple(alike.values())) if alike else NO_SUCH_HOMEWORK


def is_link(typed: str) -> bool:
    """Whether it can be a link to a clip.

    >>> is_link("https://clips.example/odrun"), is_link("my clip"), is_link("javascript:alert(1)")
    (True, False, False)
    """
    try:
        parts = urlsplit(typed)
        host = parts.hostname or ""
    except ValueError:  # a broken address in brackets
        return False
    plain = typed.isprintable() and not any(sign.isspace() or sign in '<>"|`' for sign in typed)
    return plain and parts.scheme in ("http", "https") and "." in host.strip(".")


def _home(place: Place, kept: KeptHomework) -> Place:
    return Place(kept.student.server_id, place.channel_id, kept.student.member_id, place.direct)


def _why_not(
    wanted: KeptHomework, ours: set[Owner], still_open: Sequence[KeptHomework]
) -> CoachRefusal | None:
    """Why this student does not get it."""
    if wanted.student not in ours:
        return CoachRefusal(CoachRefusalCode.NOT_STUDENT)
    if any(_same(wanted, one) for one in still_open):
        return CoachRefusal(CoachRefusalCode.HAS_IT)
    if len(still_open) >= MOST_OPEN:
        return CoachRefusal(CoachRefusalCode.TOO_MUCH_HOMEWORK, Facts(most=MOST_OPEN))
    return None


def _same(one: KeptHomework, other: KeptHomework) -> bool:
    return (one.subject, one.target, one.due_at) == (other.subject, other.target, other.due_at)
