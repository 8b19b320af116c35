"""What the bot posts by itself: it stands once, is found again, can be changed, and pings nobody."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import discord
import pytest
import simcord
from chat.faults import failing_after
from chat.practice import form
from chat.world import World, labels_of, parts, text_of, walk

from bot.client.poster import ChannelPoster
from bot.components.act import Act
from bot.components.ids import PracticeKey
from bot.components.layout import Layout, Picture
from bot.components.practice_buttons import practice_buttons
from bot.ports import NotReachableError, NotReadableError, Outgoing
from bot.render.card import Card
from bot.services.posts import PostService, marker_of

MARKER = "0123456789abcdef0123"
OTHER = "fedcba98765432100000"
PNG = b"\x89PNG\r\n\x1a\n"
HOUR = timedelta(hours=1)


def saying(lead: str) -> Card:
    return Card(lead, (), (), "Saltglass 1.0")


def card(lead: str = "A drill for this week", *, mention: int | None = None) -> Outgoing:
    buttons = practice_buttons(PracticeKey(Act.ROUTE, 7), PracticeKey(Act.LOG_OF, 7))
    return Outgoing(Layout(saying(lead), buttons=buttons), mention=mention)


def picture_card(lead: str) -> Outgoing:
    picture = Picture("sheet.png", PNG, "When to press.")
    view = Layout(saying(lead), buttons=practice_buttons(PracticeKey(Act.LOG)), pictures=[picture])
    return Outgoing(view, ((picture.name, picture.png),))


def poster(world: World) -> ChannelPoster:
    return ChannelPoster(world.bot)


def ids_of(message: Any) -> list[str]:
    return [one["custom_id"] for one in walk(parts(message)) if one["type"] == 2]


def sent_last(world: World) -> dict[str, Any]:
    sent = next(one for one in reversed(world.env.http_requests) if one.method in ("POST", "PATCH"))
    assert sent.json is not None
    return dict(sent.json)


async def found(world: World, channel_id: int, marker: str = MARKER) -> int | None:
    return await poster(world).find(channel_id, marker, world.env.now() - HOUR)


async def test_a_post_stands_in_its_channel_with_its_buttons(world: World) -> None:
    channel = world.salt.channel
    message_id = await poster(world).post(channel.id, MARKER, card())
    message = channel.last_message
    assert message is not None
    assert message.id == message_id
    assert "A drill for this week" in text_of(message)
    assert ids_of(message) == [f"t1|route|7|{MARKER}", "t1|log-of|7"]
    sent = sent_last(world)
    assert (sent["nonce"], sent["enforce_nonce"]) == (MARKER, True)


async def test_it_is_found_again_by_another_process(world: World) -> None:
    channel = world.salt.channel
    await poster(world).post(channel.id, OTHER, card("Another"))
    message_id = await poster(world).post(channel.id, MARKER, card())
    await world.salt.ann.send(channel, f"t1|log|0|{MARKER}")
    await world.restart()
    assert await found(world, channel.id) == message_id
    assert await found(world, world.salt.other_channel.id) is None
    assert await poster(world).find(channel.id, MARKER, world.env.now() + HOUR) is None


async def test_another_s_message_that_carries_the_marker_is_not_taken_for_ours(world: World) -> None:
    button = {"type": 2, "style": 2, "label": "Log", "custom_id": f"t1|log|0|{MARKER}"}
    world.env.backend.create_message(
        world.salt.channel.id, world.salt.ann.id, "copied", components=[{"type": 1, "components": [button]}]
    )
    await world.env.settle()
    assert await found(world, world.salt.channel.id) is None


async def test_a_marked_button_does_what_it_does_without_a_mark(world: World) -> None:
    content = Outgoing(Layout(saying("Log it"), buttons=practice_buttons(PracticeKey(Act.LOG))))
    await poster(world).post(world.salt.channel.id, MARKER, content)
    await world.restart()
    message = world.salt.channel.last_message
    assert message is not None
    shown = await world.salt.ann.click(message, label="Log a tally")
    assert shown.modal is not None
    assert shown.modal["title"] == "Log a tally"
    await world.salt.ann.submit_modal(shown, form())


async def test_what_was_only_noted_before_a_crash_is_not_posted_twice(world: World) -> None:
    channel = world.salt.channel
    posts = PostService(world.bot.store, world.clock, poster(world))
    with failing_after(world.env, "POST", "/channels/*/messages"), pytest.raises(discord.HTTPException):
        await posts.post_once("week 1", channel.id, card())
    await world.restart()
    again = PostService(world.bot.store, world.clock, poster(world))
    message_id = await again.post_once("week 1", channel.id, card())
    assert [message.id for message in channel.history()] == [message_id]
    assert ids_of(channel.last_message)[0].endswith(marker_of("week 1"))


async def test_the_same_card_may_be_tried_again(world: World) -> None:
    content = picture_card("A sheet")
    world.env.inject_error("POST", "/channels/*/messages", status=503)
    with pytest.raises(discord.HTTPException):
        await poster(world).post(world.salt.channel.id, MARKER, content)
    await poster(world).post(world.salt.channel.id, MARKER, content)
    message = world.salt.channel.last_message
    assert message is not None
    assert ids_of(message) == [f"t1|log|0|{MARKER}"]
    assert [(each.filename, each.size) for each in message.attachments] == [("sheet.png", len(PNG))]


async def test_a_change_keeps_the_marker_and_brings_its_own_pictures(world: World) -> None:
    channel = world.salt.channel
    message_id = await poster(world).post(channel.id, MARKER, card())
    assert await poster(world).edit(channel.id, message_id, MARKER, picture_card("Four have logged"))
    message = channel.last_message
    assert message is not None
    assert "Four have logged" in text_of(message)
    assert [each.filename for each in message.attachments] == ["sheet.png"]
    assert await found(world, channel.id) == message_id
    assert await poster(world).edit(channel.id, message_id, MARKER, card("Five have logged"))
    message = channel.last_message
    assert message is not None
    assert "Five have logged" in text_of(message)
    assert message.attachments == []
    assert await found(world, channel.id) == message_id


async def test_a_deleted_message_is_neither_found_nor_changed(world: World) -> None:
    channel = world.salt.channel
    message_id = await poster(world).post(channel.id, MARKER, card())
    await world.bot.get_partial_messageable(channel.id).get_partial_message(message_id).delete()
    assert await found(world, channel.id) is None
    assert not await poster(world).edit(channel.id, message_id, MARKER, card())


async def test_a_deleted_channel_has_no_posts_and_takes_none(world: World) -> None:
    channel = world.salt.channel
    message_id = await poster(world).post(channel.id, MARKER, card())
    world.env.backend.delete_channel(channel.id)
    await world.env.settle()
    assert await found(world, channel.id) is None
    assert not await poster(world).edit(channel.id, message_id, MARKER, card())
    with pytest.raises(NotReachableError):
        await poster(world).post(channel.id, MARKER, card())


def channel_denying(world: World, **denied: bool) -> simcord.ChannelHandle:
    overwrites: Any = {world.salt.guild.default_role: discord.PermissionOverwrite(**denied)}
    return world.salt.guild.create_text_channel("quiet", overwrites=overwrites)


async def test_a_history_that_may_not_be_read_is_not_taken_for_an_empty_one(world: World) -> None:
    channel = channel_denying(world, read_message_history=False)
    await world.env.settle()
    await poster(world).post(channel.id, MARKER, card())
    with pytest.raises(NotReadableError):
        await found(world, channel.id)


async def test_a_hidden_channel_is_not_taken_for_an_empty_one(world: World) -> None:
    channel = channel_denying(world, view_channel=False)
    with pytest.raises(NotReadableError):
        await found(world, channel.id)


async def test_where_the_bot_may_not_write_it_says_so_and_does_not_give_up(world: World) -> None:
    channel = channel_denying(world, send_messages=False)
    with pytest.raises(discord.Forbidden):
        await poster(world).post(channel.id, MARKER, card())


async def test_a_direct_message_is_posted_found_and_changed_like_any_other(world: World) -> None:
    ann = world.salt.ann
    channel_id = await poster(world).direct(ann.id)
    assert channel_id is not None
    assert channel_id == ann.user.dm_channel.id
    message_id = await poster(world).post(channel_id, MARKER, card("For you"))
    assert await found(world, channel_id) == message_id
    assert await poster(world).edit(channel_id, message_id, MARKER, card("For you, again"))
    message = ann.user.dm_channel.last_message
    assert message is not None
    assert "For you, again" in text_of(message)


async def test_nobody_has_no_direct_messages(world: World) -> None:
    assert await poster(world).direct(1) is None
    world.env.inject_error("POST", "/users/@me/channels", status=400, code=50033)
    assert await poster(world).direct(world.salt.bo.id) is None
    world.env.inject_error("POST", "/users/@me/channels", status=503)
    with pytest.raises(discord.HTTPException):
        await poster(world).direct(world.salt.bo.id)


@pytest.mark.parametrize("code", [50007, 50278])
async def test_a_member_may_have_closed_their_direct_messages(world: World, code: int) -> None:
    channel_id = await poster(world).direct(world.salt.ann.id)
    assert channel_id is not None
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=code)
    with pytest.raises(NotReachableError):
        await poster(world).post(channel_id, MARKER, card())
    await poster(world).post(channel_id, MARKER, card())  # opened again


async def test_nobody_is_pinged(world: World) -> None:
    channel = world.salt.channel
    message_id = await poster(world).post(channel.id, MARKER, card("@everyone come"))
    assert sent_last(world)["allowed_mentions"]["parse"] == []
    assert not sent_last(world)["allowed_mentions"].get("users")
    await poster(world).edit(channel.id, message_id, MARKER, card("@everyone come"))
    assert sent_last(world)["allowed_mentions"]["parse"] == []


async def test_who_is_named_without_being_meant_is_not_pinged(world: World) -> None:
    channel, ann, bo = world.salt.channel, world.salt.ann, world.salt.bo
    content = card(mention=ann.id)
    content.view.add_item(discord.ui.TextDisplay(f"{ann.mention} {bo.mention} @everyone"))
    message_id = await poster(world).post(channel.id, MARKER, content)
    stored = world.env.backend.get_message(channel.id, message_id)
    assert set(stored.ping_user_ids) == {ann.id}
    assert not stored.mention_everyone
    assert not stored.ping_role_ids


async def test_only_who_is_meant_may_be_pinged_and_only_once(world: World) -> None:
    channel, ann = world.salt.channel, world.salt.ann
    message_id = await poster(world).post(channel.id, MARKER, card(mention=ann.id))
    assert sent_last(world)["allowed_mentions"]["parse"] == []
    assert [int(user) for user in sent_last(world)["allowed_mentions"]["users"]] == [ann.id]
    await poster(world).edit(channel.id, message_id, MARKER, card(mention=ann.id))
    assert not sent_last(world)["allowed_mentions"].get("users")


async def test_a_post_without_a_button_is_refused_before_it_is_sent(world: World) -> None:
    plain = Outgoing(Layout(saying("Nothing to press")))
    before = len(world.env.http_requests)
    with pytest.raises(ValueError, match="needs a button"):
        await poster(world).post(world.salt.channel.id, MARKER, plain)
    assert len(world.env.http_requests) == before


async def test_a_button_that_carries_too_much_for_a_marker_is_refused(world: World) -> None:
    full: discord.ui.Button[Layout] = discord.ui.Button(label="Ask", custom_id="q1|" + "x" * 77)
    content = Outgoing(Layout(saying("A question"), buttons=[full]))
    with pytest.raises(ValueError, match="too much"):
        await poster(world).post(world.salt.channel.id, MARKER, content)


async def test_a_post_keeps_all_its_buttons(world: World) -> None:
    """Also one that leads to an address, which carries nothing."""
    link: discord.ui.Button[Layout] = discord.ui.Button(label="Read", url="https://example.org")
    buttons = [link, *practice_buttons(PracticeKey(Act.LOG))]
    content = Outgoing(Layout(saying("Two"), buttons=buttons))
    message_id = await poster(world).post(world.salt.channel.id, MARKER, content)
    message = world.salt.channel.last_message
    assert message is not None
    assert len(labels_of(message)) == 2
    assert json.dumps(parts(message)).count(MARKER) == 1
    assert await found(world, world.salt.channel.id) == message_id
