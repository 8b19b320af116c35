"""What the invented community does together: a weekly drill under way, and homework of a coach's students.

It goes through the use cases, as what is typed in chat does.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

from bot.app import Cornerman
from bot.results.coaching import Coaching, HomeworkAsked, TargetKind
from bot.results.drills import DrillAsked, DrillEntry
from bot.results.place import Owner, Place
from core.drills.drill import Scoring

TABLE = Path(__file__).with_name("groups.toml")


async def write_groups(
    bot: Cornerman, owners: Mapping[str, Owner], channels: Mapping[str, int], roles: Mapping[str, int]
) -> None:
    """Give the community its groups; `owners`, `channels` and `roles` by name, roles with the name of their
    server before it."""
    table = tomllib.loads(TABLE.read_text("utf-8"))
    events = count(1)  # lower than the number of any interaction
    await _drills(bot, table["drills"], owners, channels, events)
    await _coaching(bot, table["coaching"], owners, channels, roles, events)


async def _drills(
    bot: Cornerman,
    table: Mapping[str, Any],
    owners: Mapping[str, Owner],
    channels: Mapping[str, int],
    events: Iterator[int],
) -> None:
    channel = channels[table["channel"]]
    host = _place(owners[table["host"]], channel)
    for row in table["lists"]:
        asked = DrillAsked(**{**row, "scoring": Scoring(row["scoring"])})
        await bot.drill_desk.add(host, asked, next(events))
    started = await bot.drill_desk.start_weekly(host, channel, table["weekday"], table["at"], next(events))
    assert isinstance(started, tuple), started
    _, drill = started
    await bot.drill_boards.opening(drill.id)
    for row in table["logs"]:
        place = _place(owners[row["who"]], channel)
        await bot.drill_part.list_me(place, drill.id, row["listed"], next(events))
        await bot.drill_part.log(place, drill.id, DrillEntry(row["result"]), next(events))


async def _coaching(
    bot: Cornerman,
    table: Mapping[str, Any],
    owners: Mapping[str, Owner],
    channels: Mapping[str, int],
    roles: Mapping[str, int],
    events: Iterator[int],
) -> None:
    coach = _place(owners[table["coach"]], channels[table["channel"]])
    server_id = owners[table["coach"]].server_id
    chosen = replace(
        bot.book.server(server_id), coach_role=roles[table["role"]], notice_channel=channels[table["notices"]]
    )
    await bot.book.set_server(server_id, chosen)
    coached: dict[str, int] = {}
    for name in table["students"]:
        student = _place(owners[name], coach.channel_id)
        asked = await bot.coaching.ask(coach, student.member_id, next(events))
        assert isinstance(asked, Coaching), asked
        await bot.coaching.answer(student, asked.id, True, next(events))
        coached[name] = asked.id
    for row in table["homework"]:
        given = {name: value for name, value in row.items() if name != "who"}
        asked_for = HomeworkAsked(**{**given, "target": TargetKind(row["target"])})
        await bot.homework.set(coach, [owners[row["who"]].member_id], asked_for, next(events))
    for row in table["notes"]:
        await bot.boards.note(coach, coached[row["who"]], row["text"], next(events))


def _place(owner: Owner, channel_id: int) -> Place:
    return Place(owner.server_id, channel_id, owner.member_id)
