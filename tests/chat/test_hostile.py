"""Whatever is typed: a kind answer, nothing formatted, linked or pinged by it, and nothing too long."""

from __future__ import annotations

import pytest
from chat.hostile import HOSTILE, check
from chat.world import World


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
async def test_ask_takes_anything(world: World, text: str) -> None:
    check(await world.salt.ann.slash(world.salt.channel, "ask", question=text))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
async def test_a_mention_and_a_direct_message_take_anything(world: World, text: str) -> None:
    salt, kite = world.salt, world.kite
    text = text[: 2_000 - len(world.mention) - 1]
    await salt.ann.send(salt.channel, f"{world.mention} {text}")
    check(salt.channel.last_message)
    stored = world.env.backend.get_message(salt.channel.id, salt.channel.last_message.id)
    assert stored.ping_user_ids == [salt.ann.id]
    if text.strip():
        await kite.ann.user.send_dm(text)
        check(kite.ann.user.dm_channel.last_message)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
async def test_every_option_of_every_command_takes_anything(world: World, text: str) -> None:
    kite = world.kite
    check(await kite.ann.slash(kite.channel, "move", move=text, character="Dapple"))
    check(await kite.ann.slash(kite.channel, "move", move="5M", character=text))
    both = {"first": text, "second": text}
    check(await kite.ann.slash(kite.channel, "link", **both, on=text, character=text))
    check(await kite.ann.slash(kite.channel, "cancel", **both, character="Dapple"))
    check(await kite.ann.slash(kite.channel, "gap", first="5M", second=text, character="Dapple"))
    check(await kite.ann.slash(kite.channel, "punish", move=text, my_character=text))
    check(await kite.ann.slash(kite.channel, "follow", move="5M", on=text, character="Dapple"))
    check(await kite.ann.slash(kite.channel, "character", name=text, controls=text))
    check(await kite.mod.slash(kite.channel, "game choose", name=text))
