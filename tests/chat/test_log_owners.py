"""Whose log it is: nobody finds or changes anything of another, whatever they press or forge."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from chat.practice import RESULT, everything, forge, id_of, log, picked, tallies_of
from chat.world import World, labels_of, text_of, walk

from bot.components.act import Act

NUMBERS = ["1", "-1", "9223372036854775807", "9223372036854775808", ""]


async def stranger(world: World, who: str) -> tuple[Any, Any]:
    """Somebody whose the log of Ann's in Saltglass is not, and where they speak."""
    if who == "another member":
        return world.salt.bo, world.salt.channel
    return world.kite.guild.add_member(world.salt.ann.user), world.kite.channel


def as_told(answer: Any) -> str:
    """All that an answer shows, a form's fields among it."""
    return f"{answer.modal}" if answer.modal else text_of(answer)


OWN = {Act.ERASE_NOW, Act.MUTE, Act.UNMUTE}
"""What changes something of whoever presses it, whatever number it carries."""


@pytest.mark.parametrize("who", ["another member", "the same member elsewhere"])
async def test_a_forged_button_finds_nothing_of_others_and_changes_nothing(world: World, who: str) -> None:
    """Tally 1 and subject 1 are Ann's in Saltglass; the stranger has none."""
    salt = world.salt
    await log(salt.ann, salt.channel, "drill: the secret of Ann", RESULT, note="a secret too")
    before = everything(world)
    member, channel = await stranger(world, who)
    for act, number in product(set(Act) - OWN, NUMBERS):
        card = await member.slash(channel, "tallies")
        custom_id = f"t1|{act.value}|{number}"
        forge(world, channel, card, custom_id)
        pressed = await member.click(card.response, custom_id=custom_id)
        shown = as_told(pressed) + as_told(card)
        assert "went wrong" not in shown, custom_id
        assert "secret" not in shown, custom_id
        assert pressed.modal or pressed.response.ephemeral, custom_id
        assert everything(world) == before, custom_id


@pytest.mark.parametrize("who", ["another member", "the same member elsewhere"])
async def test_erasing_takes_only_what_is_of_who_pressed_where_they_pressed(world: World, who: str) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    before = everything(world)
    member, channel = await stranger(world, who)
    card = await member.slash(channel, "tallies")
    forge(world, channel, card, "t1|erase-now|1")
    await member.click(card.response, custom_id="t1|erase-now|1")
    assert "there were no tallies" in text_of(card)
    assert everything(world) == before


OTHER_VERSIONS = [
    "t0|undo|1",
    "t2|undo|1",
    "t99|undo|1",
    "t1|undo",
    "t1|undo|1|1",
    "t1|UNDO|1",
    "t1|",
    "t1||1",
]


async def test_a_button_of_another_version_is_told_kindly_and_changes_nothing(world: World) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel)
    before = everything(world)
    for custom_id in OTHER_VERSIONS:
        forge(world, salt.channel, card, custom_id)
        pressed = await salt.ann.click(card.response, custom_id=custom_id)
        assert pressed.ephemeral, custom_id
        assert "Saltglass, version" in text_of(pressed), custom_id
        assert everything(world) == before, custom_id


PICKS = [("s1", number) for number in NUMBERS if number] + [("s0", "2"), ("s2", "2"), ("s1|x", "2")]


async def test_a_forged_pick_finds_nothing_of_others(world: World) -> None:
    """Tally 1 is Ann's, tally 2 is who picks; a list of another version finds not even that."""
    salt = world.salt
    await log(salt.ann, salt.channel, "drill: the secret of Ann", RESULT)
    await log(salt.bo, salt.channel, "drill: bo", "3/4")
    for custom_id, value in [*PICKS, ("s1", "2")]:
        shown = await salt.bo.slash(salt.channel, "tallies")
        forge(world, salt.channel, shown, custom_id, kind=3)
        stored = world.env.backend.get_message(salt.channel.id, shown.response.id)
        pick = next(one for one in walk(stored.components) if one["type"] == 3)
        pick["options"][0]["value"] = value
        said = await salt.bo.select(shown.response, [value], custom_id=custom_id)
        assert said.ephemeral, (custom_id, value)
        assert "secret" not in text_of(said), (custom_id, value)
        assert "went wrong" not in text_of(said), (custom_id, value)
        assert ("3 of 4" in text_of(said)) is ((custom_id, value) == ("s1", "2"))


async def test_the_same_member_keeps_a_log_of_their_own_in_each_server(world: World) -> None:
    salt, kite = world.salt, world.kite
    there = kite.guild.add_member(salt.ann.user)
    await log(salt.ann, salt.channel)
    await log(there, kite.channel, "Marrable: 5M, 2M", "3/4")
    assert [one["tries"] for one in tallies_of(world, salt.ann)] == [10]
    assert [one["tries"] for one in tallies_of(world, there)] == [4]
    assert "3 of 4" not in text_of(await salt.ann.slash(salt.channel, "tallies"))
    assert "7 of 10" not in text_of(await there.slash(kite.channel, "tallies"))


async def test_direct_messages_go_on_with_the_log_of_the_members_server(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    listed = await salt.ann.user.slash("tallies")
    assert "7 of 10" in text_of(listed)
    one = await salt.ann.user.select(listed.response, [picked(listed)[0]["value"]])
    shown = await salt.ann.user.click(one.response, label="Change it")
    await salt.ann.user.submit_modal(shown, {"what": "Odrun: 5MP, 2MP", "result": "8/10"})
    card = await log(salt.ann.user, None, result="1/2")
    await salt.ann.user.click(card.response, label="Landed it again")
    assert [(one["landed"], one["tries"]) for one in tallies_of(world, salt.ann)] == [(8, 10), (1, 2), (1, 1)]
    assert tallies_of(world, salt.ann.user) == []


async def test_where_a_members_log_is_outlives_a_restart(world: World) -> None:
    salt, kite = world.salt, world.kite
    await log(salt.ann, salt.channel)
    await log(kite.ann.user, None, "drill: walking", "1/2")
    await log(kite.ann, kite.channel, "drill: running", "3/4")
    await world.restart()
    assert "7 of 10" in text_of(await salt.ann.user.slash("tallies"))
    theirs = text_of(await kite.ann.user.slash("tallies"))
    assert "1 of 2" in theirs
    assert "3 of 4" not in theirs


async def test_who_has_no_log_anywhere_begins_one_of_their_own_in_direct_messages(world: World) -> None:
    salt = world.salt
    await log(salt.ann.user, None, result="1/2")
    assert len(tallies_of(world, salt.ann.user)) == 1
    await log(salt.ann, salt.channel)
    assert "7 of 10" not in text_of(await salt.ann.user.slash("tallies"))
    assert "1 of 2" not in text_of(await salt.ann.slash(salt.channel, "tallies"))


QUIET: list[tuple[str, dict[str, Any]]] = [
    ("log", {"what": "Odrun: 5MP, 2MP", "result": "7/10"}),
    ("log", {"what": "Odrun: 5MP, 2MP", "result": "12/10"}),
    ("tallies", {}),
    ("timing", {}),
    ("timing", {"what": "drill: nothing"}),
    ("progress", {}),
    ("progress", {"what": "Odrun: 5MP, 2MP", "date": "in 3 weeks"}),
    ("plan", {"minutes": 20}),
    ("goal", {"share": "70"}),
    ("goal", {"share": "all"}),
    ("route save", {"moves": "Odrun: 5MP, 2MP", "name": "bread"}),
    ("route list", {}),
    ("route forget", {"name": "bread"}),
    ("mydata show", {}),
    ("mydata download", {}),
    ("mydata erase", {}),
    ("undo", {}),
]


async def test_nobody_else_sees_anything_of_a_log(world: World) -> None:
    salt, tried = world.salt, set[str]()
    for command, options in QUIET:
        answer = await salt.ann.slash(salt.channel, command, **options)
        assert answer.ephemeral, command
        for label in set(labels_of(answer)) - tried:
            tried.add(label)
            fresh = await salt.ann.slash(salt.channel, command, **options)
            if label in labels_of(fresh):
                pressed = await salt.ann.click(fresh.response, label=label)
                assert pressed.modal or pressed.response.ephemeral, (command, label)
    assert salt.channel.history(viewer=salt.bo) == []


@pytest.mark.parametrize("command", ["timing", "progress"])
async def test_only_what_the_member_shares_is_public(world: World, command: str) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="20: 12 hit, 6 early, 2 late")
    for options in ({}, {"what": "Odrun: 5MP, 2MP"}):
        assert (await salt.ann.slash(salt.channel, command, **options)).ephemeral
        assert (await salt.ann.slash(salt.channel, command, **options, share=False)).ephemeral
        assert not (await salt.ann.slash(salt.channel, command, **options, share=True)).ephemeral
    assert len(salt.channel.history(viewer=salt.bo)) == 2


@pytest.mark.parametrize("command", ["timing", "progress"])
async def test_a_button_on_what_is_shared_serves_who_presses_it_in_private(
    world: World, command: str
) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="20: 12 hit, 6 early, 2 late")
    card = await salt.ann.slash(salt.channel, command, share=True, what="Odrun: 5MP, 2MP")
    before, tallies = text_of(card), everything(world)
    for label in labels_of(card):
        pressed = await salt.bo.click(card.response, label=label)
        assert pressed.modal or pressed.ephemeral, label
        assert "12 of 20" not in as_told(pressed)
        assert "went wrong" not in as_told(pressed)
    assert text_of(card) == before
    assert everything(world) == tallies
    assert id_of(card, "Log a tally") == "t1|log|0"
