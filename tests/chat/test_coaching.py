"""Who coaches whom, as coaches, members and moderators meet it in chat."""

from __future__ import annotations

import discord
import pytest
from chat.lessons import ask, coach_of, coached, morning, plain, told
from chat.practice import everything, forge, id_of, pings_nobody, rows
from chat.world import World, labels_of, text_of

from bot.gamefiles import packaged_games, read_game
from bot.render.coaching import coach_refusal_card
from bot.results.coaching import CoachRefusal, CoachRefusalCode
from core.learning.homework import Stage
from core.verdict import Facts


async def test_a_member_who_is_asked_is_told_what_a_coach_sees_and_says_yes(world: World) -> None:
    salt = world.salt
    asked = await ask(salt, salt.ann)
    assert asked.ephemeral
    assert f"{salt.ann.name} is asked to be your student" in plain(asked)
    await morning(world)
    (card,) = told(salt.ann)
    assert f"{coach_of(salt).name} of Harbour would like to be your coach" in plain(card)
    assert "Your tallies, timing and progress in their server" in plain(card)
    assert labels_of(card) == ["Yes", "No", "Reminders"]
    accepted = await salt.ann.user.click(card, label="Yes")
    assert f"{coach_of(salt).name} is your coach now" in plain(accepted)
    (card,) = told(salt.ann)
    assert "is your coach now" in plain(card), "the question is gone"
    assert world.bot.coaching.is_student(salt.guild.id, salt.ann.id)
    await world.env.settle()
    (news,) = told(coach_of(salt))
    assert f"{salt.ann.name} said yes" in plain(news)
    page = await coach_of(salt).user.click(news, label="Their page")
    assert salt.ann.name in plain(page), "it opens in direct messages too"


async def test_who_says_no_is_not_coached_and_the_coach_is_not_told(world: World) -> None:
    salt = world.salt
    await ask(salt, salt.ann)
    await morning(world)
    (card,) = told(salt.ann)
    said = await salt.ann.user.click(card, label="No")
    assert "is not told that you said no" in plain(said)
    await morning(world)
    assert told(coach_of(salt)) == []
    assert rows(world, "coaching") == []
    assert not world.bot.coaching.is_student(salt.guild.id, salt.ann.id)


async def test_the_questions_buttons_work_after_a_restart(world: World) -> None:
    salt = world.salt
    await ask(salt, salt.ann)
    await morning(world)
    await world.restart()
    (card,) = told(salt.ann)
    assert "is your coach now" in plain(await salt.ann.user.click(card, label="Yes"))
    await world.restart()
    assert world.bot.coaching.is_student(salt.guild.id, salt.ann.id)


async def test_coach_shows_who_asks_and_who_coaches_each_with_buttons_that_name_them(world: World) -> None:
    salt = world.salt
    coach, mod = coach_of(salt), salt.mod
    await coached(world, salt, salt.ann)
    await ask(salt, salt.ann, mod)
    shown = await salt.ann.slash(salt.channel, "coach")
    assert shown.ephemeral
    assert f"{mod.name} asks to be your coach" in plain(shown)
    assert labels_of(shown) == [
        f"Yes: {mod.name}",
        f"No: {mod.name}",
        f"End it: {coach.name}",
        "Homework",
        "Reminders",
    ]
    await salt.ann.click(shown.response, label=f"Yes: {mod.name}")
    assert "You have 2 coaches" in plain(await salt.ann.slash(salt.channel, "coach"))


async def test_who_has_no_coach_is_told_how_one_comes(world: World) -> None:
    shown = await world.salt.ann.slash(world.salt.channel, "coach")
    assert "You have no coach here" in plain(shown)
    assert "A coach of the server asks you" in plain(shown)


async def test_in_direct_messages_coaches_of_all_servers_are_named_with_their_server(world: World) -> None:
    salt, kite = world.salt, world.kite
    there = kite.guild.add_member(salt.ann.user)
    await coached(world, salt, salt.ann)
    await ask(kite, there)
    shown = await salt.ann.user.slash("coach")
    assert f"{coach_of(salt).name} of Harbour, since" in plain(shown)
    assert f"{coach_of(kite).name} of Hilltop, on" in plain(shown)
    here = await salt.ann.slash(salt.channel, "coach")
    assert coach_of(kite).name not in plain(here), "what is of another server is not told in this one"


async def test_the_student_ends_it_after_being_asked_once_more(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    shown = await salt.ann.slash(salt.channel, "coach")
    question = await salt.ann.click(shown.response, label="End it")
    assert "be your coach no longer?" in plain(question)
    assert world.bot.coaching.is_student(salt.guild.id, salt.ann.id), "asking ends nothing"
    ended = await salt.ann.click(question.response, label="Yes, end it")
    assert "is your coach no longer" in plain(ended)
    assert not world.bot.coaching.is_student(salt.guild.id, salt.ann.id)
    assert rows(world, "coaching") == []


async def test_what_is_over_is_not_ended_twice(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    shown = await salt.ann.slash(salt.channel, "coach")
    first = await salt.ann.click(shown.response, label="End it")
    second = await salt.ann.click(shown.response, label="End it")
    await salt.ann.click(first.response, label="Yes, end it")
    again = await salt.ann.click(second.response, label="Yes, end it")
    assert again.ephemeral
    assert "is over" in plain(again)


async def test_nobody_is_asked_who_cannot_be_a_student(world: World) -> None:
    salt = world.salt
    coach = coach_of(salt)
    before = everything(world)
    assert "Nobody coaches themselves" in plain(await ask(salt, coach))
    robot = salt.guild.add_member(world.env.create_user("robot", bot=True))
    assert "Bots do not practise" in plain(await ask(salt, robot))
    assert everything(world) == before
    await ask(salt, salt.ann)
    assert "You asked them already" in plain(await ask(salt, salt.ann))
    shown = await salt.ann.slash(salt.channel, "coach")
    await salt.ann.click(shown.response, label="Yes")
    assert "coach and student already" in plain(await ask(salt, salt.ann))


@pytest.mark.parametrize("label", ["Yes", "No"])
async def test_another_members_question_cannot_be_answered(world: World, label: str) -> None:
    """The id of the button is copied onto a card of the intruder's own, as a forger does."""
    salt = world.salt
    await ask(salt, salt.ann)
    theirs = id_of(await salt.ann.slash(salt.channel, "coach"), label)
    mine = await salt.bo.slash(salt.channel, "coach")
    forge(world, salt.channel, mine, theirs)
    before = everything(world)
    refused = await salt.bo.click(mine.response, label="Homework")
    assert "not between you and anybody" in plain(refused)
    assert everything(world) == before


async def test_another_coaching_cannot_be_ended(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    theirs = id_of(await salt.ann.slash(salt.channel, "coach"), "End it")
    for custom_id in (theirs, theirs.replace("end-coaching", "end-coaching-now")):
        for intruder in (salt.bo, salt.mod):
            mine = await intruder.slash(salt.channel, "coach")
            forge(world, salt.channel, mine, custom_id)
            refused = await intruder.click(mine.response, label="Homework")
            assert "not between you and anybody" in plain(refused)
    assert world.bot.coaching.is_student(salt.guild.id, salt.ann.id)


async def test_moderators_choose_the_coaches_role_and_where_members_are_called(world: World) -> None:
    salt = world.salt
    role = salt.guild.create_role("Trainers")
    chosen = await salt.mod.slash(salt.channel, "coaches", role=role, notices=salt.other_channel)
    assert chosen.ephemeral
    assert "Who has the role Trainers is a coach here" in plain(chosen)
    assert "#talk" in plain(chosen)
    shown = plain(await salt.mod.slash(salt.channel, "coaches"))
    assert "Trainers" in shown
    assert "#talk" in shown
    settings = world.bot.book.server(salt.guild.id)
    assert (settings.coach_role, settings.notice_channel) == (role.id, salt.other_channel.id)
    refused = await ask(salt, salt.ann)
    assert "not for you to do here" in plain(refused), "the former role makes no coach any more"


async def test_the_role_alone_may_be_changed_and_the_channel_stays(world: World) -> None:
    salt = world.salt
    await salt.mod.slash(salt.channel, "coaches", notices=salt.other_channel)
    settings = world.bot.book.server(salt.guild.id)
    assert settings.notice_channel == salt.other_channel.id
    assert settings.coach_role is not None, "what is not named stays"


async def test_what_cannot_be_chosen_changes_nothing(world: World) -> None:
    salt = world.salt
    before = everything(world)
    silent = discord.PermissionOverwrite(send_messages=False)
    closed = salt.guild.create_text_channel("closed", overwrites={salt.guild.default_role: silent})
    refused = await salt.mod.slash(salt.channel, "coaches", notices=closed)
    assert "I may not write in #closed" in plain(refused)
    refused = await salt.mod.slash(salt.channel, "coaches", role=salt.guild.default_role)
    assert "Not everybody can be a coach" in plain(refused)
    assert everything(world) == before


async def test_a_coach_who_lost_the_role_keeps_students_and_asks_nobody(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    other = salt.guild.create_role("Others")
    await salt.mod.slash(salt.channel, "coaches", role=other)
    assert world.bot.coaching.is_student(salt.guild.id, salt.ann.id)
    assert "is your coach" in plain(await salt.ann.slash(salt.channel, "coach"))


async def test_hostile_names_do_not_ping_or_format(world: World) -> None:
    salt = world.salt
    coach = salt.guild.add_member(world.env.create_user("hostile"), roles=[], nick="@everyone **big** <@1>")
    role = salt.guild.create_role("Hostile <@&1> @everyone")
    chosen = await salt.mod.slash(salt.channel, "coaches", role=role)
    assert "@everyone" not in text_of(chosen)
    assert "<@&1>" not in text_of(chosen)
    asked = await salt.mod.slash(salt.channel, "students ask", member=coach)
    assert "@everyone" not in text_of(asked)
    assert "**big**" not in text_of(asked)
    assert pings_nobody(world, salt.channel, chosen)
    assert pings_nobody(world, salt.channel, asked)


def test_every_refusal_has_a_sentence_that_says_what_to_do() -> None:
    game = read_game(next(iter(packaged_games().values())))
    facts = {
        "typed": "x",
        "near": "",
        "most": 3,
        "least": 1,
        "amount": 9,
        "rate": 9,
        "field": "note",
        "stage": "",
    }
    for code in CoachRefusalCode:
        stages = [stage.value for stage in Stage] if code is CoachRefusalCode.WRONG_STAGE else [""]
        for stage in stages:
            card = coach_refusal_card(CoachRefusal(code, Facts(**{**facts, "stage": stage})), game)
            assert card.lead.endswith((".", "?")), code
            assert "{" not in card.lead
