"""/server setup and /server settings, as moderators meet them in chat."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord
import pytest
import simcord
from chat.faults import delivered_twice
from chat.lessons import plain
from chat.practice import LINK, everything, filled, forge, id_of, picked, pings_nobody, rows
from chat.world import Server, World, labels_of, parts, text_of, walk

from bot.client.policy import NOT_ALLOWED
from bot.components.act import ModAct
from bot.components.ids import make_mod_id, make_setup_id
from bot.render.forms import practice_label
from bot.render.setup import STEPS
from bot.results.setup import Step
from bot.results.tally import Notation, ServerSettings

PICKS = (3, 6, 8)
"""The platform's types of lists: of words, roles and channels."""


async def at(server: Server, step: Step, by: Any = None) -> Any:
    """The card of a step, from the settings."""
    mod = by or server.mod
    shown = await mod.slash(server.channel, "server settings")
    return await mod.click(shown.response, label=labels_of(shown)[step])


def listed(answer: Any) -> list[dict[str, Any]]:
    """The lists of an answer."""
    return [one for one in walk(parts(answer.response)) if one["type"] in PICKS]


async def pick(server: Server, step: Step, values: Sequence[Any], by: Any = None) -> Any:
    """Pick something in a step."""
    mod = by or server.mod
    return await mod.select((await at(server, step, mod)).response, values)


async def typed(server: Server, step: Step, **given: str) -> Any:
    """Type something in a step."""
    shown = await server.mod.click((await at(server, step)).response, label="Type it")
    return await server.mod.submit_modal(shown, given)


def settings(world: World) -> ServerSettings:
    return world.bot.book.server(world.salt.guild.id)


async def test_the_steps_follow_each_other_to_the_end_and_back(world: World) -> None:
    salt = world.salt
    shown = await salt.mod.slash(salt.channel, "server setup")
    assert shown.ephemeral
    said = [plain(shown)]
    while "Skip" in labels_of(shown) or "Next" in labels_of(shown):
        onward = "Next" if "Next" in labels_of(shown) else "Skip"
        shown = await salt.mod.click(shown.response, label=onward)
        said.append(plain(shown))
    assert ["Step" in one for one in said] == [*(True for _ in STEPS), False]
    for number, one in enumerate(said[:-1], 1):
        assert f"Step {number} of 8" in one
    assert "Harbour is set up" in said[-1]
    for command in ("/drill open", "/students ask", "/help"):
        assert command in said[-1]
    for one in reversed(said[:-1]):
        shown = await salt.mod.click(shown.response, label="Back")
        assert plain(shown) == one
    assert "Back" not in labels_of(shown)


async def test_the_steps_change_the_one_card_and_post_nothing(world: World) -> None:
    salt = world.salt
    shown = await salt.mod.slash(salt.channel, "server setup")
    for _ in range(3):
        onward = "Next" if "Next" in labels_of(shown) else "Skip"
        moved = await salt.mod.click(shown.response, label=onward)
        assert moved.response.id == shown.response.id
        shown = moved
    assert list(salt.channel.history()) == []


async def test_everything_is_chosen_in_its_step_and_outlives_a_restart(world: World) -> None:
    salt = world.salt
    coaches, helpers = salt.guild.create_role("Trainers"), salt.guild.create_role("Helpers")
    assert "Asia/Tokyo" in plain(await typed(salt, Step.ZONE, **{"setup-zone": "asia/tokyo"}))
    assert "#talk" in plain(await pick(salt, Step.NOTICES, [salt.other_channel]))
    assert "#frames" in plain(await pick(salt, Step.PATCHES, [salt.channel]))
    assert "Trainers" in plain(await pick(salt, Step.COACHES, [coaches]))
    assert "Helpers" in plain(await pick(salt, Step.MODERATORS, [helpers]))
    games = [one["label"] for one in listed(await at(salt, Step.GAME))[0]["options"]]
    assert "Kitewind" in plain(await pick(salt, Step.GAME, [str(games.index("Kitewind"))]))
    assert "letters" in plain(await pick(salt, Step.NOTATION, ["letters"]))
    assert "23:00-07:00" in plain(await typed(salt, Step.QUIET, **{"setup-quiet": "11 pm to 7"}))
    await world.restart()
    found = settings(world)
    assert str(found.quiet) == "23:00-07:00"
    assert found == ServerSettings(
        game="Kitewind",
        zone="Asia/Tokyo",
        coach_role=coaches.id,
        notice_channel=salt.other_channel.id,
        moderator_role=helpers.id,
        patch_channel=salt.channel.id,
        notation=Notation.LETTERS,
        quiet=found.quiet,
    )
    said = plain(await salt.mod.slash(salt.channel, "server settings"))
    for words in (
        "Asia/Tokyo",
        "#talk",
        "#frames",
        "Trainers",
        "Helpers",
        "Kitewind",
        "letters",
        "23:00-07:00",
    ):
        assert words in said
    said = plain(await world.kite.mod.slash(world.kite.channel, "server settings"))
    assert "Asia/Tokyo" not in said, "another server chose nothing of it"


async def test_what_is_picked_twice_is_chosen_and_noted_once(world: World) -> None:
    salt = world.salt
    shown = await at(salt, Step.NOTICES)
    for _ in range(2):
        await salt.mod.select(shown.response, [salt.other_channel])
    assert [one["what"] for one in rows(world, "audit") if one["deed"] == "setting"] == [
        f"notice_channel={salt.other_channel.id}"
    ]


@pytest.mark.parametrize("step", [Step.NOTICES, Step.PATCHES, Step.COACHES, Step.MODERATORS])
async def test_picking_nothing_takes_it_back(world: World, step: Step) -> None:
    salt = world.salt
    roles = step in (Step.COACHES, Step.MODERATORS)
    thing = salt.guild.create_role("Some") if roles else salt.other_channel
    chosen = await pick(salt, step, [thing])
    assert "Next" in labels_of(await at(salt, step))
    (shown,) = listed(await at(salt, step))
    assert [one["id"] for one in shown["default_values"]] == [thing.id]
    back = await salt.mod.select((await at(salt, step)).response, [])
    assert "Nothing yet" in plain(back)
    assert plain(back) != plain(chosen)
    assert "Skip" in labels_of(await at(salt, step))


async def test_typing_nothing_takes_it_back(world: World) -> None:
    salt = world.salt
    for step, field, value in (
        (Step.ZONE, "setup-zone", "Asia/Tokyo"),
        (Step.QUIET, "setup-quiet", "off"),
    ):
        await typed(salt, step, **{field: value})
        assert "Nothing yet" in plain(await typed(salt, step, **{field: ""}))
    assert (settings(world).zone, settings(world).quiet) == (None, None)


async def test_no_quiet_hours_at_all_are_said_in_words(world: World) -> None:
    assert "at any hour" in plain(await typed(world.salt, Step.QUIET, **{"setup-quiet": "off"}))


@pytest.mark.parametrize(
    ("step", "field", "value", "said"),
    [
        (Step.ZONE, "setup-zone", "lisbon", "did you mean Europe/Lisbon"),
        (Step.ZONE, "setup-zone", "../etc/passwd", "There is no time zone"),
        (Step.QUIET, "setup-quiet", "at night", "no hours of the day"),
        (Step.QUIET, "setup-quiet", "25:00-26:00", "no hours of the day"),
    ],
)
async def test_what_cannot_be_read_changes_nothing_and_leads_back(
    world: World, step: Step, field: str, value: str, said: str
) -> None:
    salt, before = world.salt, everything(world)
    refused = await typed(salt, step, **{field: value})
    assert refused.ephemeral
    assert said in plain(refused)
    assert labels_of(refused) == ["Type it", "Back"]
    assert everything(world) == before
    assert "Step" in plain(await salt.mod.click(refused.response, label="Back"))


async def test_a_channel_in_which_the_bot_may_not_write_is_not_chosen(world: World) -> None:
    salt, before = world.salt, everything(world)
    silent = discord.PermissionOverwrite(send_messages=False)
    closed = salt.guild.create_text_channel("closed", overwrites={salt.guild.default_role: silent})
    refused = await pick(salt, Step.NOTICES, [closed])
    assert "I may not write in #closed" in plain(refused)
    assert everything(world) == before


async def test_a_role_of_everybody_or_of_an_app_is_not_chosen(world: World) -> None:
    salt, before, bot = world.salt, everything(world), world.bot.user
    assert bot is not None
    for step in (Step.COACHES, Step.MODERATORS):
        refused = await pick(salt, step, [salt.guild.default_role])
        assert "Everybody here has this role" in plain(refused)
        own = salt.guild.roles[bot.name]
        refused = await pick(salt, step, [own])
        assert "an app's own" in plain(refused)
    assert everything(world) == before


async def test_a_thing_that_is_gone_is_said_to_be(world: World) -> None:
    salt = world.salt
    await world.bot.book.set_server(salt.guild.id, ServerSettings(coach_role=1, patch_channel=2))
    said = plain(await salt.mod.slash(salt.channel, "server settings"))
    assert "Coaches: gone; choose anew." in said
    assert "Patch days: gone; choose anew." in said
    assert "What was chosen is gone" in plain(await at(salt, Step.COACHES))


async def test_members_with_the_moderators_role_moderate_once_discord_shows_them_the_commands(
    world: World,
) -> None:
    salt = world.salt
    role = salt.guild.create_role("Helpers")
    helper = salt.guild.add_member(world.env.create_user("helper"), roles=[role])
    await pick(salt, Step.MODERATORS, [role])
    told = await salt.mod.click((await at(salt, Step.QUIET)).response, label="Skip")
    assert "Let the role Helpers see /game, /server, /zone and /coaches" in plain(told)
    assert "Integrations" in plain(told)
    assert "server settings" not in helper.available_commands(salt.channel)
    command = world.bot.tree.get_command("server")
    assert command is not None
    command.default_permissions = None  # what the server's own setting comes to
    await world.bot.tree.sync()
    assert "This is what Harbour chose" in plain(await helper.slash(salt.channel, "server settings"))
    await pick(salt, Step.MODERATORS, [])
    refused = await helper.slash(salt.channel, "server settings")
    assert plain(refused).strip() == NOT_ALLOWED
    command.default_permissions = discord.Permissions(manage_guild=True)


async def test_only_who_may_manage_the_server_says_who_else_moderates(world: World) -> None:
    salt = world.salt
    role, other = salt.guild.create_role("Helpers"), salt.guild.create_role("Friends")
    helper = salt.guild.add_member(world.env.create_user("helper"), roles=[role])
    await pick(salt, Step.MODERATORS, [role])
    command = world.bot.tree.get_command("server")
    assert command is not None
    command.default_permissions = None
    await world.bot.tree.sync()
    refused = await pick(salt, Step.MODERATORS, [other], helper)
    assert "Only who may manage the server" in plain(refused)
    assert settings(world).moderator_role == role.id
    assert "Friends" in plain(await pick(salt, Step.COACHES, [other], helper)), "all else they may"
    command.default_permissions = discord.Permissions(manage_guild=True)


async def test_what_only_moderators_may_press_the_role_may_press_too(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=LINK, name="bread")
    await salt.ann.slash(salt.channel, "route share", name="bread")
    role = salt.guild.create_role("Helpers")
    helper = salt.guild.add_member(world.env.create_user("helper"), roles=[role])

    async def opened() -> Any:
        listed = await helper.slash(salt.channel, "route shared")
        return await helper.select(listed.response, [picked(listed)[0]["value"]])

    assert "Take it out" not in labels_of(await opened())
    await pick(salt, Step.MODERATORS, [role])
    await helper.click((await opened()).response, label="Take it out")
    assert rows(world, "library") == []
    said = plain(await salt.mod.slash(salt.channel, "server audit"))
    assert "helper: took the shared route bread out." in said


async def test_what_is_delivered_twice_is_chosen_and_noted_once(world: World) -> None:
    salt = world.salt
    shown = await at(salt, Step.NOTICES)
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await salt.mod.select(shown.response, [salt.other_channel])
    opened = await salt.mod.click((await at(salt, Step.ZONE)).response, label="Type it")
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await salt.mod.submit_modal(opened, {"setup-zone": "Asia/Tokyo"})
    assert [one["what"] for one in rows(world, "audit") if one["deed"] == "setting"][-2:] == [
        f"notice_channel={salt.other_channel.id}",
        "zone=Asia/Tokyo",
    ]


async def test_the_card_of_before_a_restart_goes_on(world: World) -> None:
    salt = world.salt
    shown, notation = await at(salt, Step.NOTICES), await at(salt, Step.NOTATION)
    zone = await salt.mod.click((await at(salt, Step.ZONE)).response, label="Type it")
    await world.restart()
    assert "#talk" in plain(await salt.mod.select(shown.response, [salt.other_channel]))
    assert "letters" in plain(await salt.mod.select(notation.response, ["letters"]))
    assert "Asia/Tokyo" in plain(await salt.mod.submit_modal(zone, {"setup-zone": "Asia/Tokyo"}))
    assert "Step 3 of 8" in plain(await salt.mod.click(shown.response, label="Next"))


async def test_members_are_told_the_servers_quiet_hours_as_theirs(world: World) -> None:
    salt = world.salt
    await typed(salt, Step.QUIET, **{"setup-quiet": "23:00-07:00"})
    assert "Not from 23:00-07:00 (UTC)" in plain(await salt.ann.slash(salt.channel, "reminders"))
    await salt.ann.slash(salt.channel, "reminders", quiet="1-2")
    assert "Not from 01:00-02:00 (UTC)" in plain(await salt.ann.slash(salt.channel, "reminders"))


async def test_a_member_presses_and_picks_in_vain(world: World) -> None:
    """The ids are copied onto a card of the member's own, as a forger does."""
    salt, before = world.salt, everything(world)
    for act in (
        ModAct.SETUP,
        ModAct.SETUP_WORDS,
        ModAct.SETTINGS,
        ModAct.HEALTH,
        ModAct.AUDIT,
        ModAct.KEEP_NOW,
    ):
        mine = await salt.ann.slash(salt.channel, "help")
        forge(world, salt.channel, mine, make_mod_id(act, 30))
        refused = await salt.ann.click(mine.response, label=labels_of(mine)[0])
        assert plain(refused).strip() == NOT_ALLOWED, act
    assert everything(world) == before


async def test_a_step_that_an_older_version_had_is_said_to_be_gone(world: World) -> None:
    salt = world.salt
    for custom_id in (make_mod_id(ModAct.SETUP, 99), make_mod_id(ModAct.SETUP_WORDS, Step.GAME)):
        shown = await at(salt, Step.QUIET)
        forge(world, salt.channel, shown, custom_id)
        assert "an older card" in plain(await salt.mod.click(shown.response, label="Type it"))
    shown = await at(salt, Step.NOTATION)
    forge(world, salt.channel, shown, make_setup_id(99), 3)
    assert "an older card" in plain(await salt.mod.select(shown.response, ["letters"]))


async def test_hostile_names_ping_nobody_and_do_not_format(world: World) -> None:
    salt = world.salt
    role = salt.guild.create_role("@everyone **big** <@&1>")
    chosen = await pick(salt, Step.COACHES, [role])
    assert "@everyone" not in text_of(chosen)
    assert "**big**" not in text_of(chosen)
    assert pings_nobody(world, salt.channel, chosen)


async def test_the_form_shows_what_is_chosen(world: World) -> None:
    salt = world.salt
    for step, field, value in (
        (Step.ZONE, "setup-zone", "Asia/Tokyo"),
        (Step.QUIET, "setup-quiet", "23:00-07:00"),
    ):
        opened = await salt.mod.click((await at(salt, step)).response, label="Type it")
        assert filled(opened) == {field: ""}
        await salt.mod.submit_modal(opened, {field: value})
        opened = await salt.mod.click((await at(salt, step)).response, label="Type it")
        assert filled(opened) == {field: value}


async def test_the_button_of_the_greeting_begins_it_for_a_moderator_alone(world: World) -> None:
    salt = world.salt
    world.env.backend.edit_guild(salt.guild.id, {"system_channel_id": salt.channel.id})
    await world.env.settle()
    live = world.bot.get_guild(salt.guild.id)
    assert live is not None
    for _ in range(2):
        await world.bot.on_guild_join(live)
    await world.env.settle()
    posts = [one for one in salt.channel.history() if "Ask me about Saltglass" in plain(one)]
    assert len(posts) == 1, "greeted once"
    (post,) = posts
    assert "/server setup" in plain(post)
    assert "30 days later" in plain(post)
    label = practice_label(ModAct.SETUP.value)
    begun = await salt.mod.click(post, label=label)
    assert begun.ephemeral
    assert "Step 1 of 8" in plain(begun)
    assert plain(await salt.ann.click(post, label=label)).strip() == NOT_ALLOWED
    assert id_of(begun, "Skip") == make_mod_id(ModAct.SETUP, 1)


async def test_it_is_a_moderators_command(world: World) -> None:
    salt = world.salt
    for name in ("setup", "settings", "health", "audit", "keep"):
        assert f"server {name}" not in salt.ann.available_commands(salt.channel)
        with pytest.raises(simcord.SetupError):
            await salt.ann.slash(salt.channel, f"server {name}")
