"""Whoever asks for too much at once is told kindly how long to wait, and nothing else happens."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import slash_together
from chat.practice import form, log, open_form, tallies_of
from chat.world import World, answers_in, labels_of, text_of

from bot.client.pace import LIMITS
from bot.client.work import Done, Outcome

REAL = dict(LIMITS)
LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}


@pytest.fixture(autouse=True)
def _the_real_pace(_nobody_is_too_fast_and_nothing_too_slow: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.client.pace.LIMITS", REAL)


@pytest.fixture
def done(world: World) -> list[Done]:
    ended: list[Done] = []
    world.bot.work.listen(ended.append)
    return ended


async def hurry(world: World, member: Any, times: int = 20) -> list[str]:
    """What a member is told who asks so often at one moment."""
    channel = world.salt.channel
    results = await slash_together(world.env, [(member, channel, "link", LINK)] * times)
    return [text_of(result) for result in results]


def is_refused(said: str) -> bool:
    return said.strip() == "That is a lot at once; please go on in a second."


async def test_the_21st_command_of_a_moment_is_refused_in_private_and_a_second_later_it_is_not(
    world: World, done: list[Done]
) -> None:
    salt = world.salt
    told = await hurry(world, salt.ann, 22)
    assert [is_refused(one) for one in told] == [False] * 20 + [True] * 2
    assert [one.outcome for one in done] == [Outcome.DONE] * 20 + [Outcome.TURNED_AWAY] * 2
    again = await salt.ann.slash(salt.channel, "link", **LINK)
    assert is_refused(text_of(again))
    assert again.ephemeral
    await world.env.advance_time(1)
    assert "5MP" in text_of(await salt.ann.slash(salt.channel, "link", **LINK))


async def test_a_refused_command_does_nothing(world: World) -> None:
    salt = world.salt
    await hurry(world, salt.ann)
    assert is_refused(text_of(await log(salt.ann, salt.channel)))
    assert tallies_of(world, salt.ann) == []


async def test_buttons_and_forms_count_and_are_refused_likewise(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    shown = await open_form(salt.ann, salt.channel)  # a command and a press
    await hurry(world, salt.ann, 17)
    pressed = await salt.ann.click(card.response, label=labels_of(card)[0])
    assert pressed.ephemeral
    assert is_refused(text_of(pressed))
    sent = await salt.ann.submit_modal(shown, form())
    assert sent.ephemeral
    assert is_refused(text_of(sent))
    assert tallies_of(world, salt.ann) == []


async def test_a_moderator_is_no_faster_than_a_member_and_others_are_not_held_up(world: World) -> None:
    salt = world.salt
    assert any(is_refused(one) for one in await hurry(world, salt.mod, 21))
    assert "5MP" in text_of(await salt.ann.slash(salt.channel, "link", **LINK))


async def test_completing_has_a_pace_of_its_own_and_offers_nothing_past_it(world: World) -> None:
    salt = world.salt
    await hurry(world, salt.ann, 21)
    for _ in range(60):
        assert await salt.ann.autocomplete(salt.channel, "move", "character", "od")
    assert await salt.ann.autocomplete(salt.channel, "move", "character", "od") == []
    await world.env.advance_time(1)
    assert await salt.ann.autocomplete(salt.channel, "move", "character", "od")


@pytest.mark.parametrize("direct", [False, True])
async def test_who_writes_too_much_is_told_once_until_they_pause(world: World, direct: bool) -> None:
    ann, channel = world.salt.ann, world.salt.channel
    if direct:
        channel = ann.user.dm_channel

    async def write(times: int) -> list[bool]:
        before = len(answers_in(channel, world.bot))
        for _ in range(times):
            if direct:
                await ann.user.send_dm("is Mirrel's 236HK safe?")
            else:
                await ann.send(channel, f"{world.mention} is Mirrel's 236HK safe?")
        return [is_refused(text_of(one)) for one in answers_in(channel, world.bot)[before:]]

    assert await write(25) == [False] * 20 + [True]
    await world.env.advance_time(1)
    assert await write(3) == [False]
    await world.env.advance_time(60)
    assert await write(22) == [False] * 20 + [True]


async def test_a_servers_rush_does_not_hold_up_another_server(world: World) -> None:
    salt, kite = world.salt, world.kite
    people = [salt.guild.add_member(world.env.create_user(f"guest-{number}")) for number in range(11)]
    calls = [(one, salt.channel, "link", LINK) for one in people for _ in range(20)]
    told = [text_of(one) for one in await slash_together(world.env, calls)]
    assert sum(not is_refused(one) for one in told) == 200
    assert is_refused(text_of(await salt.ann.slash(salt.channel, "help")))
    assert not is_refused(text_of(await kite.ann.slash(kite.channel, "help")))
