"""Mentions and direct messages."""

from __future__ import annotations

import pytest
from chat.world import World, answers_in, labels_of, text_of


@pytest.mark.parametrize(
    ("game", "question", "holds"),
    [
        ("Saltglass", "is Mirrel's 236HK safe?", "236HK"),
        ("Saltglass", "does odrun's crouching medium punch link into 5MP on counter hit?", "2MP"),
        ("Kitewind", "what can I do after Marrable's 5M?", "5M"),
    ],
)
async def test_a_mention_gets_the_answer_of_the_command(
    world: World, game: str, question: str, holds: str
) -> None:
    server = world.servers[game]
    await server.ann.send(server.channel, f"{world.mention} {question}")
    answer = server.channel.last_message
    asked = await server.ann.slash(server.channel, "ask", question=question)
    assert holds in text_of(answer)
    assert text_of(answer) == text_of(asked)
    assert labels_of(answer) == labels_of(asked)


@pytest.mark.parametrize("wording", ["is Mirrel's 236HK safe? {me}", "hey {me}, is Mirrel's 236HK safe"])
async def test_the_mention_may_stand_anywhere(world: World, wording: str) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, wording.format(me=world.mention))
    assert "236HK is unsafe" in text_of(salt.channel.last_message)


@pytest.mark.parametrize("text", ["", "  ", "\u200b", "<@123456789012345678>"])
async def test_a_mention_alone_is_told_how_to_ask(world: World, text: str) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention}{text}")
    said = text_of(salt.channel.last_message)
    assert "Ask me about Saltglass" in said
    assert "How do I ask?" in said


async def test_it_stands_for_the_move_asked_about_before_and_only_for_who_asked(world: World) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    await salt.ann.send(salt.channel, f"{world.mention} what punishes it?")
    assert "236HK" in text_of(salt.channel.last_message)
    await salt.bo.send(salt.channel, f"{world.mention} what punishes it?")
    assert "236HK" not in text_of(salt.channel.last_message)


async def test_it_is_forgotten_after_ten_minutes(world: World) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    await world.env.advance_time(11 * 60)
    await salt.ann.send(salt.channel, f"{world.mention} what punishes it?")
    assert "236HK" not in text_of(salt.channel.last_message)


async def test_a_direct_message_needs_no_mention(world: World) -> None:
    ann = world.salt.ann.user
    await ann.send_dm("is Mirrel's 236HK safe?")
    assert "236HK is unsafe" in text_of(ann.dm_channel.last_message)
    await ann.send_dm(f"{world.mention} is Odrun's 5LP safe?")
    assert "5LP" in text_of(ann.dm_channel.last_message)


async def test_a_button_works_in_direct_messages(world: World) -> None:
    ann = world.salt.ann.user
    await ann.send_dm("is Mirrel's 236HK safe?")
    card = ann.dm_channel.last_message
    answer = await ann.click(card, label=labels_of(card)[0])
    assert "236HK" in text_of(answer)


async def test_what_is_not_for_the_bot_is_left_alone(world: World) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, "is Mirrel's 236HK safe?")
    await salt.ann.send(salt.channel, "@everyone is Mirrel's 236HK safe?")
    await salt.mod.send(salt.channel, "@everyone @here who wants to play")
    await salt.ann.send(salt.channel, f"{salt.bo.mention} is Mirrel's 236HK safe?")
    assert answers_in(salt.channel, world.bot) == []


async def test_a_reply_to_the_bot_is_left_alone_unless_it_names_the_bot(world: World) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    card = salt.channel.last_message
    await salt.bo.send(salt.channel, "is that so?", reply_to=card)
    assert len(answers_in(salt.channel, world.bot)) == 1
    await salt.bo.send(salt.channel, f"{world.mention} is Odrun's 5LP safe?", reply_to=card)
    assert len(answers_in(salt.channel, world.bot)) == 2


async def test_another_bot_is_not_answered(world: World) -> None:
    salt = world.salt
    other = salt.guild.add_member(world.env.create_user("machine", bot=True))
    await other.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    assert answers_in(salt.channel, world.bot) == []


async def test_an_answer_pings_nobody_but_the_asker(world: World) -> None:
    salt = world.salt
    await salt.mod.send(
        salt.channel, f"{world.mention} @everyone @here {salt.bo.mention} {salt.ann.mention} is 9QQ safe?"
    )
    answer = salt.channel.last_message
    stored = world.env.backend.get_message(salt.channel.id, answer.id)
    assert stored.ping_user_ids == [salt.mod.id]
    assert not stored.ping_role_ids
    assert not stored.mention_everyone
