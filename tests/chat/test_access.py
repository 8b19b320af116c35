"""The whole table of who may do what, walked through the bot."""

from __future__ import annotations

import tomllib
from typing import Any

import discord
import pytest
import simcord
from chat.world import World, labels_of, text_of
from discord import app_commands

from bot.client.policy import NOT_ALLOWED
from bot.components.buttons import Press
from bot.services.access import TABLE, Access, Standing

ROWS = Access().rows
ARGUMENTS: dict[str, dict[str, Any]] = {
    "ask": {"question": "is Mirrel's 236HK safe?"},
    "move": {"move": "236HK"},
    "link": {"first": "5MP", "second": "2MP"},
    "cancel": {"first": "5MP", "second": "2MP"},
    "gap": {"first": "5MP", "second": "2MP"},
    "punish": {"move": "236HK"},
    "follow": {"move": "5MP"},
}


def actions_of(bot: discord.ext.commands.Bot) -> set[str]:
    """Everything that can be done to the bot, read off the bot itself."""
    found = {"message mention", "message direct"}
    for command in bot.tree.walk_commands():
        assert isinstance(command, app_commands.Command)
        found.add(f"command {command.qualified_name}")
        found |= {
            f"autocomplete {command.qualified_name}.{option.name}"
            for option in command.parameters
            if option.autocomplete
        }
    for button in bot._connection._view_store._dynamic_items.values():
        assert issubclass(button, Press)
        found.add(f"button {button.ACTION}")
    return found


async def test_everything_that_can_be_done_has_a_row_and_every_row_is_of_something(world: World) -> None:
    assert actions_of(world.bot) == set(ROWS)


async def test_a_text_option_completes_unless_it_is_a_question(world: World) -> None:
    for command in world.bot.tree.walk_commands():
        assert isinstance(command, app_commands.Command)
        for option in command.parameters:
            if option.type is discord.AppCommandOptionType.string and option.name != "question":
                assert option.autocomplete, (command.name, option.name)


async def do(world: World, action: str, standing: Standing) -> bool:
    """Try it as somebody of this standing; whether it was allowed."""
    salt = world.salt
    guest = standing is Standing.GUEST
    member: Any = salt.ann.user if guest else salt.by_standing[standing]
    where: list[Any] = [] if guest else [salt.channel]
    way, name = action.split(" ")
    if way == "command":
        if name not in member.available_commands(*where):
            with pytest.raises(simcord.SetupError):
                await member.slash(*where, name, **ARGUMENTS.get(name, {}))
            return False
        return NOT_ALLOWED not in text_of(await member.slash(*where, name, **ARGUMENTS.get(name, {})))
    if way == "autocomplete":
        command, option = name.split(".")
        if command not in member.available_commands(*where):
            return False
        return bool(await member.autocomplete(*where, command, option, ""))
    if way == "button":
        card = await member.slash(*where, "ask", question="is Mirrel's 236HK safe?")
        return NOT_ALLOWED not in text_of(await member.click(card.response, label=labels_of(card)[0]))
    if guest:
        await member.send_dm("is Mirrel's 236HK safe?")
        return NOT_ALLOWED not in text_of(member.dm_channel.last_message)
    await member.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    return NOT_ALLOWED not in text_of(salt.channel.last_message)


@pytest.mark.parametrize("standing", [one for one in Standing if one is not Standing.OTHER_SERVER])
async def test_each_standing_may_do_what_its_rows_say_and_nothing_else(
    world: World, standing: Standing
) -> None:
    for action, who in ROWS.items():
        assert await do(world, action, standing) is (standing in who), action


@pytest.mark.parametrize("closed", [row for row in ROWS if not row.startswith("command game")])
async def test_a_row_that_is_closed_is_refused_in_private_by_the_bot_itself(
    world: World, closed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The platform hides only some of it, and only mostly: the bot asks its own table each time."""
    standing = Standing.GUEST if closed == "message direct" else Standing.MEMBER
    assert await do(world, closed, standing) is (standing in ROWS[closed])
    monkeypatch.setitem(world.bot.access._may, closed, frozenset())
    assert not await do(world, closed, standing)


async def test_the_bot_refuses_a_member_even_where_the_platform_lets_them(world: World) -> None:
    """A server may open /game to others in its settings; the bot still asks for Manage Server."""
    salt = world.salt
    command = world.bot.tree.get_command("game")
    assert isinstance(command, app_commands.Command)
    command.default_permissions = None
    await world.bot.tree.sync()
    refused = await salt.ann.slash(salt.channel, "game", name="Kitewind")
    assert refused.ephemeral
    assert text_of(refused).strip() == NOT_ALLOWED
    assert await salt.ann.autocomplete(salt.channel, "game", "name", "k") == []
    assert "Saltglass" in text_of(await salt.mod.slash(salt.channel, "game"))


async def test_a_moderator_of_one_server_is_a_member_in_another(world: World) -> None:
    here = world.kite.guild.add_member(world.salt.mod.user)
    assert "game" in world.salt.mod.available_commands(world.salt.channel)
    assert "game" not in here.available_commands(world.kite.channel)


@pytest.mark.parametrize(
    ("who", "standing"),
    [
        ({"server_id": None, "manages_server": True, "joined": True}, Standing.GUEST),
        ({"server_id": 1, "manages_server": False, "joined": True}, Standing.MEMBER),
        ({"server_id": 1, "manages_server": True, "joined": True}, Standing.MODERATOR),
        ({"server_id": 1, "manages_server": True, "joined": False}, Standing.OTHER_SERVER),
        ({"server_id": 2, "manages_server": False, "joined": True}, Standing.COACH),
        ({"server_id": 2, "manages_server": True, "joined": True}, Standing.MODERATOR),
        ({"server_id": 3, "manages_server": False, "joined": True}, Standing.STUDENT),
    ],
)
def test_a_standing_is_of_one_server(who: dict[str, Any], standing: Standing) -> None:
    access = Access()
    access.give(2, 9, Standing.COACH)
    access.give(3, 9, Standing.STUDENT)
    assert access.standing(member_id=9, **who) is standing


def test_what_has_no_row_is_refused_to_everybody() -> None:
    for manages in (False, True):
        assert not Access().allows("command x", server_id=1, member_id=1, manages_server=manages, joined=True)


def test_from_a_server_that_has_not_joined_nothing_is_allowed() -> None:
    assert not any(
        Access().allows(action, server_id=1, member_id=1, manages_server=True, joined=False)
        for action in ROWS
    )


def test_the_table_names_each_action_once_and_only_known_groups() -> None:
    table = tomllib.loads(TABLE.read_text("utf-8"))
    groups = table.pop("who")
    assert {who for rows in table.values() for who in rows.values()} <= set(groups)
