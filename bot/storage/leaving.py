"""Servers of which something is kept, and removing all of one."""

from __future__ import annotations

from sqlalchemy import String, cast, delete, literal, or_, select

from bot.results.place import DIRECT_MESSAGES
from bot.storage.schema import (
    audit,
    channel,
    clip_comment,
    coach_note,
    coaching,
    conversion,
    drill,
    drill_tally,
    edition,
    entry,
    exercise,
    game,
    homework,
    job,
    library,
    member,
    patch_notice,
    post,
    quiz,
    report,
    route,
    series,
    server,
    subject,
    tally,
    total,
    upload,
)
from bot.storage.store import Reading, Writing

POSTS_OF_DRILLS = ("drill:", "recap:")
"""How the keys of posts begin that end in the number of a drill."""

POSTS_OF_SERVERS = ("welcome:", "patch:")
"""How the keys of posts begin that go on with the id of a server and a colon."""


async def kept(reading: Reading) -> frozenset[int]:
    """The servers of which something is kept; members' direct messages are none."""
    found = await reading.connection.scalars(select(server.c.id).where(server.c.id != DIRECT_MESSAGES))
    return frozenset(found)


async def members(reading: Reading, server_id: int) -> tuple[int, ...]:
    """Of whom something is kept there, by their numbers here."""
    return tuple(await reading.connection.scalars(select(member.c.id).where(member.c.server_id == server_id)))


async def is_waiting(reading: Reading, key: str) -> bool:
    """Whether the job with this key is yet to be done."""
    query = select(job.c.id).where(job.c.key == key, job.c.done_at.is_(None))
    return (await reading.connection.execute(query)).first() is not None


async def forget(writing: Writing, server_id: int) -> None:
    """Removes everything of a server: of its members there, its drills, games and settings, what is to be
    done for it, and where it stands in chat. What points to others goes before them."""
    people = select(member.c.id).where(member.c.server_id == server_id)
    drills = select(drill.c.id).where(drill.c.server_id == server_id)
    subjects = select(subject.c.id).where(subject.c.owner_id.in_(people))
    tallies = select(tally.c.id).where(tally.c.owner_id.in_(people))
    editions = select(edition.c.id).where(edition.c.server_id == server_id)
    works = select(homework.c.id).where(homework.c.student_id.in_(people))
    keys = [
        select(literal(begin) + cast(drill.c.id, String)).where(drill.c.id.in_(drills))
        for begin in POSTS_OF_DRILLS
    ]
    for statement in (
        *(
            delete(post).where(post.c.key > f"{begin}{server_id}:", post.c.key < f"{begin}{server_id};")
            for begin in POSTS_OF_SERVERS
        ),
        *(delete(post).where(post.c.key.in_(each)) for each in keys),
        delete(clip_comment).where(clip_comment.c.homework_id.in_(works)),
        delete(homework).where(homework.c.student_id.in_(people)),
        *(
            delete(each).where(or_(each.c.coach_id.in_(people), each.c.student_id.in_(people)))
            for each in (coach_note, coaching)
        ),
        delete(drill_tally).where(
            or_(drill_tally.c.drill_id.in_(drills), drill_tally.c.tally_id.in_(tallies))
        ),
        delete(entry).where(or_(entry.c.drill_id.in_(drills), entry.c.owner_id.in_(people))),
        *(
            delete(each).where(each.c.owner_id.in_(people))
            for each in (quiz, conversion, library, route, upload, report, patch_notice)
        ),
        delete(tally).where(tally.c.owner_id.in_(people)),
        delete(total).where(total.c.subject_id.in_(subjects)),
        delete(subject).where(subject.c.owner_id.in_(people)),
        delete(patch_notice).where(
            or_(patch_notice.c.edition_id.in_(editions), patch_notice.c.before_id.in_(editions))
        ),
        *(
            delete(each).where(each.c.server_id == server_id)
            for each in (series, exercise, drill, library, report, audit, channel, game, edition, job, member)
        ),
        delete(server).where(server.c.id == server_id),
    ):
        await writing.connection.execute(statement)
    writing.erases = True
