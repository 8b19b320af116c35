"""The whole table of who may do what, walked through the bot."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import discord
import pytest
import simcord
from chat.commands import ARGUMENTS, ROWS, WHOM, commands_of
from chat.practice import forge_form, form, log, open_form, picked
from chat.world import World, labels_of, text_of
from discord import app_commands

from bot.client.policy import NOT_ALLOWED
from bot.cogs.drills import FORMS as DRILL_FORMS
from bot.cogs.game import FORMS as GAME_FORMS
from bot.cogs.homework import FORMS as HOMEWORK_FORMS
from bot.cogs.setup import FORMS as SETUP_FORMS
from bot.components.act import CoachAct, FormAct, ModAct
from bot.components.coach_buttons import coach_buttons
from bot.components.ids import make_words_id
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_buttons
from bot.components.practice_buttons import Pick
from bot.components.press import Press
from bot.render.card import Card
from bot.render.forms import practice_label
from bot.services.access import Standing

FREE = {
    "ask.question",
    "log.result",
    "log.gaps",
    "log.note",
    "log.when",
    "progress.date",
    "plan.date",
    "goal.share",
    "route check.moves",
    "route check.gauge",
    "route find.gauge",
    "route find.with_moves",
    "route find.without",
    "route save.moves",
    "route save.name",
    "drill open.goal",
    "drill open.dummy",
    "drill plan.goal",
    "drill plan.dummy",
    "drill weekly.time",
    "drill move.closes",
    "homework set.due",
    "homework set.note",
    "game load.reason",
    "game edit.number",
    "game edit.reason",
    "wrong.right",
    "wrong.note",
    "reminders.quiet",
}
"""Options in words of the member's own, which nothing could complete."""


def actions_of(bot: discord.ext.commands.Bot) -> set[str]:
    """Everything that can be done to the bot, read off the bot itself."""
    found = {"message mention", "message direct", "form log", "form save"}
    found |= {f"form {act.value}" for act in (*DRILL_FORMS, *HOMEWORK_FORMS, *GAME_FORMS, *SETUP_FORMS)}
    for command in commands_of(bot):
        found.add(f"command {command.qualified_name}")
        found |= {
            f"autocomplete {command.qualified_name}.{option.name}"
            for option in command.parameters
            if option.autocomplete
        }
    for button in bot._connection._view_store._dynamic_items.values():
        assert issubclass(button, Press | Pick)
        found.add(f"button {button.ACTION}")
    return found


async def test_everything_that_can_be_done_has_a_row_and_every_row_is_of_something(world: World) -> None:
    assert actions_of(world.bot) == set(ROWS)


async def test_a_text_option_completes_unless_it_is_in_words_of_ones_own(world: World) -> None:
    bare = {
        f"{command.qualified_name}.{option.name}"
        for command in commands_of(world.bot)
        for option in command.parameters
        if option.type is discord.AppCommandOptionType.string and not (option.autocomplete or option.choices)
    }
    assert bare == FREE


async def practise(member: Any, *where: Any) -> None:
    """A tally and a route, so that each row has something to act on."""
    await member.slash(*where, "log", **ARGUMENTS["log"])
    await member.slash(*where, "route save", **ARGUMENTS["route save"], tags="corner")
    await member.slash(*where, "route share", **ARGUMENTS["route share"])


async def do(world: World, action: str, standing: Standing) -> bool:
    """Try it as somebody of this standing; whether it was allowed."""
    salt = world.salt
    guest = standing is Standing.GUEST
    member: Any = salt.ann.user if guest else salt.by_standing[standing]
    where: list[Any] = [] if guest else [salt.channel]
    way, name = action.split(" ", 1)
    if way == "command":
        given = ARGUMENTS.get(name, {}) | ({WHOM[name]: salt.bo} if name in WHOM else {})
        if name not in member.available_commands(*where):
            with pytest.raises(simcord.SetupError):
                await member.slash(*where, name, **given)
            return False
        return allowed(await member.slash(*where, name, **given))
    if way == "autocomplete":
        command, option = name.rsplit(".", 1)
        if command not in member.available_commands(*where):
            return False
        if command.startswith(("route", "conversion")):  # which the walk has forgotten
            await member.slash(*where, "route save", **ARGUMENTS["route save"], tags="corner")
        if command == "drill unplan":  # likewise
            await member.slash(*where, "drill plan", **ARGUMENTS["drill plan"])
        return bool(await member.autocomplete(*where, command, option, ""))
    if (way, name) in PRESSED:
        return allowed(await PRESSED[way, name](member, *where))
    if (way, name) in POSTED:
        return allowed(await POSTED[way, name](world, member, *where))
    if guest:
        await member.send_dm("is Mirrel's 236HK safe?")
        return allowed(member.dm_channel.last_message)
    await member.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    return allowed(salt.channel.last_message)


def allowed(answer: Any) -> bool:
    """Whether something else was said than that one may not."""
    said = text_of(answer).strip()
    assert said, "nothing was said at all"
    if NOT_ALLOWED in said and not isinstance(answer, discord.Message):
        assert answer.ephemeral
    return NOT_ALLOWED not in said


async def press_question(member: Any, *where: Any) -> Any:
    card = await member.slash(*where, "ask", question="is Mirrel's 236HK safe?")
    return await member.click(card.response, label=labels_of(card)[0])


async def press_practice(member: Any, *where: Any) -> Any:
    card = await log(member, *(where or [None]))
    return await member.click(card.response, label="Landed it again")


async def pick(member: Any, *where: Any) -> Any:
    await log(member, *(where or [None]))
    shown = await member.slash(*where, "tallies")
    return await member.select(shown.response, [picked(shown)[0]["value"]])


async def fill_in(member: Any, *where: Any) -> Any:
    return await member.submit_modal(await open_form(member, *(where or [None])), form())


async def fill_in_route(member: Any, *where: Any) -> Any:
    await member.slash(*where, "route save", **ARGUMENTS["route save"])
    gone = await member.slash(*where, "route forget", **ARGUMENTS["route forget"])
    shown = await member.click(gone.response, label="Save it")
    return await member.submit_modal(shown, {"name": "bread", "tags": ""})


async def answer_the_quiz(member: Any, *where: Any) -> Any:
    await member.slash(*where, "route save", **ARGUMENTS["route save"])
    await member.slash(*where, "route save", moves="Odrun: 2HP, 5HP", name="lift")
    await member.slash(*where, "conversion set", **ARGUMENTS["conversion set"])
    asked = await member.slash(*where, "conversion quiz")
    return await member.click(asked.response, label="bread")


async def take_a_proposal(member: Any, *where: Any) -> Any:
    await member.slash(*where, "route save", **ARGUMENTS["route save"])
    shown = await member.slash(*where, "conversion show", character="Odrun Vale")
    return await member.click(shown.response, label=next(one for one in labels_of(shown) if "bread" in one))


async def press_coach(world: World, member: Any, act: CoachAct, *where: Any) -> Any:
    return await press_posted(world, member, act, coach_buttons((act, 1)), *where)


async def press_posted(
    world: World, member: Any, act: CoachAct | ModAct, buttons: Sequence[Any], *where: Any
) -> Any:
    """A button where everybody sees it: in answers only who asked could press it."""
    user = getattr(member, "user", member)
    channel_id = where[0].id if where else await world.bot.direct_channel(user.id)
    channel = where[0] if where else user.dm_channel
    view = Layout(Card("A list.", (), (), "-"), None, buttons)
    assert await world.bot.post_once(f"test:{act}:{channel_id}", channel_id, view)
    await world.env.settle()
    return await member.click(channel.last_message, label=practice_label(act.value))


async def press_versions(world: World, member: Any, *where: Any) -> Any:
    act = ModAct.VERSIONS
    return await press_posted(world, member, act, mod_buttons((act, 0)), *where)


async def fill_in_moderators(act: FormAct, _: World, member: Any, *where: Any) -> Any:
    """A form that everybody may open, with the id of one for moderators."""
    shown = await open_form(member, *(where or [None]))
    forge_form(shown, make_words_id(act, 1))
    return await member.submit_modal(shown, form())


async def press_planned(world: World, member: Any, *where: Any) -> Any:
    return await press_coach(world, member, CoachAct.PLANNED, *where)


async def fill_in_drill(world: World, member: Any, *where: Any) -> Any:
    salt = world.salt
    coach = salt.by_standing[Standing.COACH]
    await coach.slash(salt.channel, "drill open", **ARGUMENTS["drill open"], channel=salt.other_channel)
    await world.env.settle()
    shown = await member.slash(*where, "drill show")
    return await member.submit_modal(
        await member.click(shown.response, label="Log a tally"), {"result": "7/10"}
    )


async def fill_in_reason(world: World, member: Any, *where: Any) -> Any:
    """Whoever is no coach is stopped at the button already."""
    asked = await press_coach(world, member, CoachAct.STRIKE, *where)
    return await member.submit_modal(asked, {"reason": "another combo"}) if asked.modal else asked


async def fill_in_homework(act: FormAct, world: World, member: Any, *where: Any) -> Any:
    """A form of homework, opened by its student; those of coaches are given their ids."""
    salt = world.salt
    coach = salt.by_standing[Standing.COACH]
    student = salt.ann if member is salt.ann.user else member
    coach = salt.mod if student is coach else coach
    await coach.slash(salt.channel, "students ask", member=student)
    asked = await student.slash(salt.channel, "coach")
    if "Yes" in labels_of(asked):
        await student.click(asked.response, label="Yes")
    await coach.slash(salt.channel, "homework set", **ARGUMENTS["homework set"], student=student)
    mine = await member.slash(*where, "homework list")
    card = await member.select(mine.response, [picked(mine)[0]["value"]])
    shown = await member.click(card.response, label="Log a tally")
    forge_form(shown, make_words_id(act, 1))
    return await member.submit_modal(shown, {"result": "7/10"})


POSTED = {
    **{("form", act.value): partial(fill_in_homework, act) for act in HOMEWORK_FORMS},
    ("button", "coach"): press_planned,
    ("button", "moderate"): press_versions,
    ("form", "columns"): partial(fill_in_moderators, FormAct.COLUMNS),
    ("form", "setup"): partial(fill_in_moderators, FormAct.SETUP),
    ("form", "drill-log"): fill_in_drill,
    ("form", "strike"): fill_in_reason,
}
PRESSED = {
    ("button", "question"): press_question,
    ("button", "practice"): press_practice,
    ("button", "pick"): pick,
    ("button", "quiz"): answer_the_quiz,
    ("button", "conversion"): take_a_proposal,
    ("form", "log"): fill_in,
    ("form", "save"): fill_in_route,
}


@pytest.mark.parametrize("standing", [one for one in Standing if one is not Standing.OTHER_SERVER])
async def test_each_standing_may_do_what_its_rows_say_and_nothing_else(
    world: World, standing: Standing
) -> None:
    # A guest is a member whose log is in a server: direct messages go on with it, and with its library.
    member = world.salt.ann if standing is Standing.GUEST else world.salt.by_standing[standing]
    await practise(member, world.salt.channel)
    for action, who in ROWS.items():
        assert await do(world, action, standing) is (standing in who), action


@pytest.mark.parametrize(
    "closed", [row for row in ROWS if not row.startswith(("command game", "command zone"))]
)
async def test_a_row_that_is_closed_is_refused_in_private_by_the_bot_itself(
    world: World, closed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The platform hides only some of it, and only mostly: the bot asks its own table each time."""
    standing = Standing.GUEST if closed == "message direct" else Standing.MEMBER
    if closed.startswith("autocomplete") or "forget" in closed:
        await practise(world.salt.ann, world.salt.channel)
    assert await do(world, closed, standing) is (standing in ROWS[closed])
    monkeypatch.setitem(world.bot.access._may, closed, frozenset())
    assert not await do(world, closed, standing)


async def test_the_bot_refuses_a_member_even_where_the_platform_lets_them(world: World) -> None:
    """A server may open /game to others in its settings; the bot still asks for Manage Server."""
    salt = world.salt
    command = world.bot.tree.get_command("game")
    assert isinstance(command, app_commands.Group)
    command.default_permissions = None
    await world.bot.tree.sync()
    refused = await salt.ann.slash(salt.channel, "game choose", name="Kitewind")
    assert refused.ephemeral
    assert text_of(refused).strip() == NOT_ALLOWED
    assert await salt.ann.autocomplete(salt.channel, "game choose", "name", "k") == []
    assert "Saltglass" in text_of(await salt.mod.slash(salt.channel, "game choose"))


async def test_a_moderator_of_one_server_is_a_member_in_another(world: World) -> None:
    here = world.kite.guild.add_member(world.salt.mod.user)
    assert "game choose" in world.salt.mod.available_commands(world.salt.channel)
    assert "game choose" not in here.available_commands(world.kite.channel)
