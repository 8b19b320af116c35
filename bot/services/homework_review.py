"""What coaches do with homework that was handed in."""

from __future__ import annotations

import re
from typing import Any

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.coaching import (
    COMMENT_CHARACTERS,
    HOMEWORK_NOTE_CHARACTERS,
    PAGE,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkPage,
    HomeworkView,
)
from bot.results.notice import NoticeKind
from bot.results.place import Place
from bot.services.desk import AskDesk
from bot.services.homework_views import (
    NO_SUCH_HOMEWORK,
    of_coach,
    paged,
    remind,
    route_instead,
    stop_reminding,
    too_long,
    view_now,
    view_of,
    wrong_stage,
)
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.services.subjects import typed_as
from bot.storage import audit
from bot.storage import homework as stored
from bot.storage.store import Store
from core.learning.homework import Stage, Step, after
from core.text import clipped, one_line
from core.verdict import Facts

MOST_COMMENTS = 100
"""On one homework."""
LONGEST_CLIP_SECONDS = 24 * 60 * 60
_CLIP_TIME = re.compile(r"(?:(?:(?P<hours>[0-9]{1,2}):)?(?P<minutes>[0-9]{1,3}):)?(?P<seconds>[0-9]{1,4})")


class ReviewService:
    """For the coach whom the student has; for everybody else the homework does not exist. An event that is
    delivered again has no second effect."""

    def __init__(
        self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock, notices: NoticeService
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._notices = notices

    async def queue(self, place: Place, page: int = 0) -> HomeworkPage:
        """What waits for this coach, that which waits longest first: handed in, or with an easier route asked
        for. In direct messages that of all servers."""
        now = self._clock.now()
        async with self._store.read() as reading:
            waiting = await stored.to_review(reading, place)
            page, pages = paged(page, len(waiting))
            shown = waiting[page * PAGE : (page + 1) * PAGE]
            return HomeworkPage(tuple([await view_of(reading, row, now) for row in shown]), page, pages)

    async def review(
        self, place: Place, homework_id: int, step: Step, note: str, event_id: int
    ) -> HomeworkView | CoachRefusal:
        """Accept it, or send it back with a note; the student is told. A coach may change their mind."""
        note, now = one_line(note), self._clock.now()
        if len(note) > HOMEWORK_NOTE_CHARACTERS:
            return too_long("note", HOMEWORK_NOTE_CHARACTERS)
        if step is Step.SEND_BACK and not note:
            return CoachRefusal(CoachRefusalCode.NO_NOTE)
        async with self._store.write(event_id) as writing:
            row = await of_coach(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            kept = row.kept
            if not writing.repeated:
                stage = None if step is Step.HAND_IN else after(kept.stage, step)
                if stage is None:
                    return wrong_stage(kept)
                reviewed: dict[str, Any] = {"stage": stage.value, "reviewed_at": now, "review_note": note}
                if kept.asks_easier:
                    reviewed["easier"] = None  # that is answered with it
                await stored.change(writing, homework_id, **reviewed)
                if stage is Stage.ACCEPTED:
                    await stop_reminding(writing, self._notices, homework_id)
                    await self._notices.tell(writing, NoticeKind.ACCEPTED, homework_id, kept.student)
                else:
                    await remind(writing, self._notices, kept, now)
                    await self._notices.tell(writing, NoticeKind.RETURNED, homework_id, kept.student)
                deed = Deed.HOMEWORK_ACCEPTED if stage is Stage.ACCEPTED else Deed.HOMEWORK_RETURNED
                assert kept.coach is not None, "it is of a coach"
                await audit.note(writing, kept.coach, now, deed, typed_as(kept.subject))
            return await view_now(writing, homework_id, now)

    async def comment(
        self, place: Place, homework_id: int, at: str, text: str, event_id: int
    ) -> HomeworkView | CoachRefusal:
        """Say something of the clip that was handed in; `at`: where in it, "0:42"; empty for the whole."""
        text, now = one_line(text), self._clock.now()
        if not text:
            return CoachRefusal(CoachRefusalCode.NO_TEXT)
        if len(text) > COMMENT_CHARACTERS:
            return too_long("comment", COMMENT_CHARACTERS)
        seconds = read_clip_time(at) if at.strip() else None
        if at.strip() and seconds is None:
            return CoachRefusal(CoachRefusalCode.NO_CLIP_TIME, Facts(typed=clipped(at)))
        async with self._store.write(event_id) as writing:
            row = await of_coach(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            if not writing.repeated:
                if not row.kept.clip:
                    return CoachRefusal(CoachRefusalCode.NO_CLIP)
                if len(await stored.comments(writing, homework_id)) >= MOST_COMMENTS:
                    facts = Facts(field="comments", most=MOST_COMMENTS)
                    return CoachRefusal(CoachRefusalCode.TOO_MANY, facts)
                await stored.add_comment(writing, homework_id, seconds, text, now)
            return await view_now(writing, homework_id, now)

    async def answer_easier(
        self, place: Place, homework_id: int, take: bool, event_id: int
    ) -> HomeworkView | CoachRefusal:
        """Put the easier route in its place, or leave it as it is; the student is told. Then what is logged
        on the new route counts, from when the homework was set."""
        now = self._clock.now()
        async with self._store.write(event_id) as writing:
            row = await of_coach(writing, place, homework_id)
            if row is None:
                return NO_SUCH_HOMEWORK
            kept = row.kept
            if not writing.repeated:
                if not kept.asks_easier:
                    return CoachRefusal(CoachRefusalCode.NOT_ASKED)
                if take:
                    assert kept.easier is not None
                    easier = route_instead(self._desk, self._book, kept, kept.easier)
                    if easier is None:
                        return CoachRefusal(CoachRefusalCode.NO_EASIER)
                    about = {"kind": easier.kind.value, "what": easier.what, "easier": easier.what}
                    await stored.change(writing, homework_id, **about)
                else:
                    await stored.change(writing, homework_id, easier=None)
                await self._notices.forget(writing, NoticeKind.ASKED_EASIER, homework_id)
                await self._notices.tell(writing, NoticeKind.EASIER_ANSWERED, homework_id, kept.student)
            return await view_now(writing, homework_id, now)


def read_clip_time(typed: str) -> int | None:
    """A place in a clip, in seconds from its beginning; None where it is none.

    >>> read_clip_time("0:42"), read_clip_time("1:02:03"), read_clip_time("42"), read_clip_time("1:75")
    (42, 3723, 42, None)
    """
    found = _CLIP_TIME.fullmatch(typed.strip().removesuffix("s").strip())
    if found is None:
        return None
    hours, minutes, seconds = (int(found[name] or 0) for name in ("hours", "minutes", "seconds"))
    if (found["minutes"] and seconds > 59) or (found["hours"] and minutes > 59):
        return None
    whole = (hours * 60 + minutes) * 60 + seconds
    return whole if whole < LONGEST_CLIP_SECONDS else None
