"""The buttons on cards, after a restart too, and pressed by others."""

from __future__ import annotations

import asyncio

import pytest
from chat.practice import log, open_form
from chat.world import World, labels_of, text_of, walk

from bot.components.every import BUTTONS

LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}


@pytest.mark.parametrize("game", ["Saltglass", "Kitewind"])
async def test_every_next_question_of_every_answer_is_answered(world: World, game: str) -> None:
    server = world.servers[game]
    first, whose = {"Saltglass": ("5MP", "Garrow"), "Kitewind": ("5M", "Dapple")}[game]
    for command, moves in (("move", {"move": first}), ("gap", {"first": first, "second": first})):
        card = await server.ann.slash(server.channel, command, **moves, character=whose)
        assert labels_of(card)
        for label in labels_of(card):
            answer = await server.ann.click(card.response, label=label)
            assert not answer.ephemeral, label
            assert f"{game}, version" in text_of(answer)


@pytest.mark.parametrize("game", ["Saltglass", "Kitewind"])
async def test_each_example_of_the_help_can_be_asked_by_its_button(world: World, game: str) -> None:
    server = world.servers[game]
    shown = await server.ann.slash(server.channel, "help")
    *examples, last = labels_of(shown)
    assert len(examples) == 3
    assert last == "Log a tally"
    for label in examples:
        answer = await server.ann.click(shown.response, label=label)
        assert f"{game}, version" in text_of(answer)
        assert labels_of(answer), "an answer offers the next question"


async def test_a_button_asks_what_its_label_says(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "move", move="236HK", character="Mirrel")
    label = next(label for label in labels_of(card) if label.startswith("What punishes 236HK"))
    pressed = await salt.ann.click(card.response, label=label)
    typed = await salt.ann.slash(salt.channel, "punish", move="236HK", their_character="Mirrel")
    assert text_of(pressed) == text_of(typed)


async def test_a_button_answers_whom_the_card_was_for_in_public_and_others_in_private(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    label = labels_of(card)[0]
    assert not (await salt.ann.click(card.response, label=label)).ephemeral
    others = await salt.bo.click(card.response, label=label)
    assert others.ephemeral
    further = await salt.bo.click(others.response, label=labels_of(others)[0])
    assert further.ephemeral


async def test_the_same_holds_for_the_answer_to_a_mention(world: World) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    card = salt.channel.last_message
    label = labels_of(card)[0]
    assert not (await salt.ann.click(card, label=label)).ephemeral
    assert (await salt.bo.click(card, label=label)).ephemeral


async def test_buttons_outlive_a_restart(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    before = [text_of(await salt.ann.click(card.response, label=label)) for label in labels_of(card)]
    await world.restart()
    await salt.mod.slash(salt.channel, "game choose", name="Saltglass")
    after = [text_of(await salt.ann.click(card.response, label=label)) for label in labels_of(card)]
    assert before == after


async def test_one_of_several_characters_is_chosen_with_a_button(world: World) -> None:
    salt = world.salt
    asked = await salt.ann.slash(salt.channel, "ask", question="does 5MP link into 2MP?")
    assert len(labels_of(asked)) == 4
    assert "Whose" in text_of(asked)
    odrun = next(label for label in labels_of(asked) if "Odrun" in label)
    chosen = await salt.ann.click(asked.response, label=odrun)
    assert text_of(chosen) == text_of(await salt.ann.slash(salt.channel, "link", **LINK))


async def test_a_button_of_another_game_is_refused_kindly_and_in_private(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    await salt.mod.slash(salt.channel, "game choose", name="Kitewind")
    refused = await salt.ann.click(card.response, label=labels_of(card)[0])
    assert refused.ephemeral
    assert "Kitewind" in text_of(refused)
    assert "went wrong" not in text_of(refused)


OLD = [
    "q1|li|saltglass|Odrun Vale|5QQ|2MP|h",
    "q1|mo|saltglass|Nobody|5MP||h",
    "q1|li|saltglass||5MP|2MP|h",
    "q1|li|saltglass|Odrun Vale|5MP|2MP|h|sno such state",
    "q1|li|saltglass|Odrun Vale|5MP|2MP|h|a999999",
    "q1|li|saltglass|Odrun Vale|5MP|2MP|h|b999999|l999999|r999999|d1e300",
    "q1|li|saltglass|Odrun Vale|5MP|2MP|h|cno such scheme",
    "q1|pu|saltglass|Odrun Vale|5MP||b|mNobody",
    "q1|li|saltglass|Odrun Vale|5MP||h",
    "q1|mo|saltglass|Odrun Vale|5MP|2MP|h",
    "q1|zz|saltglass|Odrun Vale|5MP|2MP|h",
    "q1|li|saltglass|Odrun Vale|5MP|2MP|x",
    "q1|li",
    "q1|",
    "q0|what|ever",
    "q12|of|the|future",
    "q1|li|saltglass|%00%0a<@1>|**|@everyone|h",
]


@pytest.mark.parametrize("custom_id", OLD)
async def test_an_id_that_leads_nowhere_gets_a_kind_private_sentence(world: World, custom_id: str) -> None:
    """As if an older version, a changed game file or a forger had made it: the id is put into a card that the
    platform holds."""
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    stored = world.env.backend.get_message(salt.channel.id, card.response.id)
    button = next(one for one in walk(stored.components) if one["type"] == 2)
    button["custom_id"] = custom_id
    pressed = await salt.ann.click(card.response, custom_id=custom_id)
    said = text_of(pressed)
    assert "went wrong" not in said
    assert "Saltglass, version" in said
    if not labels_of(pressed):
        assert pressed.ephemeral


async def test_nothing_of_a_card_is_kept_in_the_bot(world: World) -> None:
    salt = world.salt
    for _ in range(3):
        await salt.ann.slash(salt.channel, "link", **LINK)
        logged = await log(salt.ann, salt.channel)
        await salt.ann.click(logged.response, label="Landed it again")
        await salt.ann.slash(salt.channel, "tallies")
        await open_form(salt.ann, salt.channel)
    store = world.bot._connection._view_store
    assert not store._views
    assert not store._modals
    assert not [task for task in asyncio.all_tasks() if "timeout" in task.get_coro().__qualname__]
    assert set(store._dynamic_items.values()) == set(BUTTONS)
