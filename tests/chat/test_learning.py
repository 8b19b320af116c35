"""From "what should I learn from 5MP?" to a saved route, its inputs, its picture and its sound."""

from __future__ import annotations

from typing import Any

import pytest
import simcord
from chat.practice import alts_of, everything, files_of, picked, rows
from chat.test_playing import sound_of
from chat.world import World, labels_of, text_of

QUESTION = "what should I learn from 5MP?"


@pytest.fixture
async def ann(world: World) -> simcord.MemberActor:
    """A member whose own character is Odrun."""
    await world.salt.ann.slash(world.salt.channel, "character", name="Odrun Vale")
    return world.salt.ann


async def test_a_question_leads_to_a_saved_route_its_inputs_its_picture_and_its_sound(
    world: World, ann: simcord.MemberActor
) -> None:
    asked = await ann.slash(world.salt.channel, "ask", question=QUESTION)
    assert asked.ephemeral
    route = picked(asked)[0]
    assert route["label"].startswith("5MP")
    opened = await ann.select(asked.response, [route["value"]])
    assert f"This works: {route['label']}" in text_of(opened)
    form = await ann.click(opened.response, label="Save it")
    saved = await ann.submit_modal(form, {"name": "first route", "tags": "punish"})
    assert f"Saved as “first route”: {route['label']}." in text_of(saved)
    assert [one["notation"] for one in rows(world, "route")] == [route["label"]]
    inputs = await ann.click(saved.response, label="Inputs")
    assert "Arrows, facing right:" in text_of(inputs)
    sheet = await ann.click(inputs.response, label="Rhythm sheet")
    assert len(files_of(sheet)) == 1
    assert "first route" in alts_of(sheet)[0]
    sound = await ann.click(sheet.response, label="Click track")
    _, clicks = await sound_of(sound)
    assert clicks


async def test_a_mention_is_answered_in_public_for_typical_hands_and_only_the_asker_goes_on(
    world: World, ann: simcord.MemberActor
) -> None:
    salt = world.salt
    await ann.slash(salt.channel, "log", what="5MP, 2MP", result="20: 4 hit, 16 early")
    await ann.send(salt.channel, f"{world.mention} {QUESTION}")
    answer = salt.channel.last_message
    assert "typical hands" in text_of(answer)
    route = picked(answer)[0]
    opened = await ann.select(answer, [route["value"]])
    assert opened.ephemeral
    assert f"This works: {route['label']}" in text_of(opened)
    refused = await salt.bo.select(answer, [route["value"]])
    assert refused.ephemeral
    assert "no such route of yours" in text_of(refused)


async def test_whose_moves_they_are_is_asked_back_with_buttons(world: World) -> None:
    salt = world.salt
    asked = await salt.bo.slash(salt.channel, "ask", question=QUESTION)
    label = next(one for one in labels_of(asked) if "Mirrel" in one)
    answer = await salt.bo.click(asked.response, label=label)
    assert answer.ephemeral
    assert all(one["label"].startswith("5MP") for one in picked(answer))
    assert {row["character"] for row in rows(world, "subject")} == {"Mirrel Quay"}


async def test_how_it_hits_is_part_of_the_question(world: World, ann: simcord.MemberActor) -> None:
    question = "which combo should I practise after 5MP on counter hit?"
    asked = await ann.slash(world.salt.channel, "ask", question=question)
    assert "Begin with counter hit 5MP" in text_of(asked)
    assert "what you own" not in str(picked(asked))
    assert any(one["label"].startswith("counter hit 5MP") for one in picked(asked))


async def test_where_nothing_follows_there_is_no_route_to_learn(
    world: World, ann: simcord.MemberActor
) -> None:
    before: dict[str, Any] = everything(world)
    asked = await ann.slash(world.salt.channel, "ask", question="what should I learn from 236HP?")
    assert "there is no route to learn from it" in text_of(asked)
    assert everything(world) == before


async def test_what_to_learn_next_of_no_move_is_one_step_up_of_all_of_them(
    world: World, ann: simcord.MemberActor
) -> None:
    asked = await ann.slash(world.salt.channel, "ask", question="what should I learn next?")
    up = await ann.slash(world.salt.channel, "route next")
    assert asked.ephemeral
    assert text_of(asked) == text_of(up)
    assert "Begin with" in text_of(asked)
    await ann.send(world.salt.channel, f"{world.mention} what should I learn?")
    assert "What brings most on average for Odrun Vale" in text_of(world.salt.channel.last_message)


async def test_it_is_the_move_asked_about_before(world: World, ann: simcord.MemberActor) -> None:
    await ann.slash(world.salt.channel, "ask", question="is 2MP safe?")
    asked = await ann.slash(world.salt.channel, "ask", question="what should I learn next?")
    assert all(one["label"].startswith("2MP") for one in picked(asked))


async def test_who_has_no_character_is_told_to_choose_one(world: World) -> None:
    asked = await world.salt.bo.slash(world.salt.channel, "ask", question="what should I practise?")
    assert "choose your character with /character" in text_of(asked)
