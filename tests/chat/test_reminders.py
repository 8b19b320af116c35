"""/reminders: what the bot may write to a member unasked, and when."""

from __future__ import annotations

import pytest
from chat.lessons import ask, morning, plain, told
from chat.practice import everything, rows
from chat.world import World, labels_of

from bot.results.place import Owner


async def test_it_says_what_is_written_unasked_and_when(world: World) -> None:
    shown = await world.salt.ann.slash(world.salt.channel, "reminders")
    assert shown.ephemeral
    said = plain(shown)
    assert "your homework, coaches, drills, routes and reports, and nothing else." in said
    assert "Not from 22:00-08:00 (UTC)" in said
    assert labels_of(shown) == ["Nothing unasked"]


async def test_a_member_chooses_their_zone_and_quiet_hours_in_their_own_words(world: World) -> None:
    salt = world.salt
    chosen = await salt.ann.slash(salt.channel, "reminders", zone="europe/berlin", quiet="11 pm to 7")
    assert "Not from 23:00-07:00 (Europe/Berlin)" in plain(chosen)
    chosen = await salt.ann.slash(salt.channel, "reminders", quiet="off")
    assert "At any hour" in plain(chosen)
    await world.restart()
    assert world.bot.book.member(Owner(salt.guild.id, salt.ann.id)).zone == "Europe/Berlin"


async def test_a_zone_is_completed(world: World) -> None:
    salt = world.salt
    found = await salt.ann.autocomplete(salt.channel, "reminders", "zone", "lisb")
    assert found[0]["value"] == "Europe/Lisbon"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"zone": "Berlin time"}, "There is no time zone called “Berlin time”"),
        ({"zone": "Europe/Berlim"}, "Do you mean Europe/Berlin"),
        ({"quiet": "at night"}, "“at night” are no hours of the day"),
        ({"quiet": "22:00", "messages": "off"}, "write them like 22:00-08:00"),
    ],
)
async def test_what_is_not_understood_is_told_and_changes_nothing(
    world: World, typed: dict[str, str], said: str
) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "reminders", zone="Europe/Lisbon")
    before = everything(world)
    assert said in plain(await salt.ann.slash(salt.channel, "reminders", **typed))
    assert everything(world) == before


async def test_all_is_chosen_with_one_command(world: World) -> None:
    salt = world.salt
    chosen = await salt.ann.slash(
        salt.channel, "reminders", zone="Europe/Lisbon", quiet="23:00-07:00", messages="off"
    )
    assert "I write nothing to you unasked" in plain(chosen)
    (member,) = [row for row in rows(world, "member") if row["member_id"] == salt.ann.id]
    assert (member["zone"], member["quiet"], member["muted"]) == ("Europe/Lisbon", "23:00-07:00", 1)
    shown = await salt.ann.slash(salt.channel, "reminders", messages="on")
    assert "Not from 23:00-07:00 (Europe/Lisbon)" in plain(shown), "what is not named stays"


async def test_messages_are_switched_off_and_on_by_button_also_after_a_restart(world: World) -> None:
    salt = world.salt
    shown = await salt.ann.slash(salt.channel, "reminders")
    muted = await salt.ann.click(shown.response, label="Nothing unasked")
    assert "I write nothing to you unasked" in plain(muted)
    await ask(salt, salt.ann)
    await morning(world)
    assert told(salt.ann) == []
    await world.restart()
    shown = await salt.ann.slash(salt.channel, "reminders")
    again = await salt.ann.click(shown.response, label="Write to me again")
    assert labels_of(again) == ["Nothing unasked"]
    await ask(salt, salt.ann, salt.mod)
    await world.env.settle()
    assert len(told(salt.ann)) == 1


async def test_in_direct_messages_it_holds_for_all_servers_and_else_for_one(world: World) -> None:
    salt, kite = world.salt, world.kite
    there = kite.guild.add_member(salt.ann.user)
    await ask(salt, salt.ann)
    await ask(kite, there)
    chosen = await salt.ann.user.slash("reminders", messages="off")
    assert "it holds for all of your servers" in plain(chosen)
    await morning(world)
    assert told(salt.ann) == []
    await there.slash(kite.channel, "reminders", messages="on")
    await ask(salt, salt.ann, salt.mod)
    await ask(kite, there, kite.mod)
    await world.env.settle()
    (card,) = told(salt.ann)
    assert "of Hilltop would like to be your coach" in plain(card)


async def test_what_is_mine_is_shown_to_no_one_else(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "reminders", zone="Europe/Lisbon")
    assert "Lisbon" not in plain(await salt.bo.slash(salt.channel, "reminders"))
