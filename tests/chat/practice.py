"""Practising as members do it, and what of it lies in the database."""

from __future__ import annotations

from typing import Any

import discord
import simcord
from chat.world import World, parts, walk
from raw import rows_in

from bot.storage.schema import metadata

LINK = "Odrun: 5MP, 2MP"
ROUTE = "Odrun: 5MP, 2MP xx 236HP"
DRILL = "drill: anti-airs"
RESULT = "10: 7 hit, 2 early, 1 late"
TABLES = ("member", "subject", "total", "tally", "route", "library", "conversion", "quiz")
"""Where something of a member may lie."""
EVERYTHING = tuple(sorted(metadata.tables))


async def log(member: Any, channel: Any, what: str = LINK, result: str = "7/10", **options: Any) -> Any:
    """Log a tally by command; `channel` is None in direct messages."""
    where = [] if channel is None else [channel]
    return await member.slash(*where, "log", what=what, result=result, **options)


def rows(world: World, table: str) -> list[dict[str, Any]]:
    """All rows of a table, as they lie in the database."""
    assert table in EVERYTHING
    return _read(world, f"SELECT * FROM {table}")


def tallies_of(world: World, member: Any, *, undone: bool = False) -> list[dict[str, Any]]:
    """A member's tallies where the handle is of: a server, or direct messages; the first logged first."""
    guild = getattr(member, "guild", None)
    return _read(
        world,
        "SELECT tally.*, subject.what FROM tally JOIN subject ON subject.id = tally.subject_id "
        "JOIN member ON member.id = tally.owner_id "
        f"WHERE member.server_id = {guild.id if guild else 0} AND member.member_id = {member.id} "
        f"AND tally.undone = {undone} ORDER BY tally.id",
    )


def everything(world: World) -> dict[str, list[dict[str, Any]]]:
    """What lies in the database but the ids of events: to see that nothing changed."""
    return {table: rows(world, table) for table in EVERYTHING if table != "event"}


def _read(world: World, query: str) -> list[dict[str, Any]]:
    return [dict(row) for row in rows_in(world.bot.store.address, query)]


def forge(world: World, channel: Any, answer: Any, custom_id: str, kind: int = 2) -> None:
    """Give the first button of an answer another id, or with kind 3 the list: as if an older version or a
    forger had made it."""
    stored = world.env.backend.get_message(channel.id, answer.response.id)
    part = next(one for one in walk(stored.components) if one["type"] == kind)
    part["custom_id"] = custom_id


def forge_form(shown: Any, custom_id: str) -> None:
    """Give an opened form another id."""
    shown._interaction.modal["custom_id"] = custom_id


def id_of(answer: Any, label: str) -> str:
    """What the button with this label carries."""
    found = next(one for one in walk(answer.response.components) if one.get("label") == label)
    return str(found["custom_id"])


def filled(shown: Any) -> dict[str, Any]:
    """What a form shows as filled in, by field."""
    fields = [one["component"] for one in shown.modal["components"]]
    return {
        field["custom_id"]: field.get("value")
        or next((option["value"] for option in field.get("options", ()) if option.get("default")), "")
        for field in fields
    }


def form(what: str = LINK, result: str = "7/10", **others: Any) -> dict[str, Any]:
    """The fields of a form as they are sent; lists in lists."""
    return {"what": what, "result": result, **others}


def picked(answer: Any) -> list[dict[str, Any]]:
    """What the list of an answer offers."""
    lists = [one for one in walk(parts(getattr(answer, "response", answer))) if one["type"] == 3]
    return list(lists[0]["options"]) if lists else []


async def open_form(member: Any, channel: Any) -> simcord.InteractionResult:
    """The empty form, opened from the help."""
    where = [] if channel is None else [channel]
    shown = await member.slash(*where, "help")
    opened: simcord.InteractionResult = await member.click(shown.response, label="Log a tally")
    return opened


def pings_nobody(world: World, channel: Any, answer: Any) -> bool:
    """Whether nobody is called by an answer."""
    stored = world.env.backend.get_message(channel.id, answer.response.id)
    return not (stored.ping_user_ids or stored.ping_role_ids or stored.mention_everyone)


def alts_of(answer: Any) -> list[str]:
    """What the pictures of an answer say in words."""
    galleries = [one for one in walk(answer.response.components) if one["type"] == 12]
    return [item["description"] for gallery in galleries for item in gallery["items"]]


def files_of(answer: Any) -> list[str]:
    """The names of what is attached."""
    attachments: list[discord.Attachment] = answer.response.attachments
    return [one.filename for one in attachments]
