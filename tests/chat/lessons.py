"""A coach, a student and the homework between them, as they come about in chat."""

from __future__ import annotations

from typing import Any

from chat.practice import LINK
from chat.world import Server, World, text_of

from bot.services.access import Standing

HOUR_SECONDS = 3600
MORNING_SECONDS = 9 * HOUR_SECONDS
"""The world begins at midnight: after so long nobody's quiet hours hold."""


def coach_of(server: Server) -> Any:
    """The coach by role."""
    return server.by_standing[Standing.COACH]


def told(member: Any) -> list[Any]:
    """What the bot wrote to somebody in their direct messages, the first first."""
    return list(member.user.dm_channel.history())


def plain(answer: Any) -> str:
    """The text of an answer without what keeps it from formatting."""
    return text_of(answer).replace("\\", "")


async def morning(world: World) -> None:
    """Let the quiet hours of the first night pass."""
    await world.env.advance_time(MORNING_SECONDS)


async def ask(server: Server, student: Any, coach: Any = None) -> Any:
    """A coach asks a member."""
    return await (coach or coach_of(server)).slash(server.channel, "students ask", member=student)


async def coached(world: World, server: Server, student: Any, coach: Any = None) -> None:
    """The member is asked and says yes under /coach."""
    await ask(server, student, coach)
    shown = await student.slash(server.channel, "coach")
    accepted = await student.click(shown.response, label="Yes")
    assert "is your coach now" in text_of(accepted)
    await world.env.settle()


async def given(server: Server, student: Any, **options: Any) -> Any:
    """The coach sets homework."""
    asked = {"what": LINK, "target": "clean-reps", "amount": 20, "due": "in 5 days", "student": student}
    return await coach_of(server).slash(server.channel, "homework set", **{**asked, **options})
