"""Patch day in chat: what changed, for one member and for everybody, and who is told of it."""

from __future__ import annotations

from typing import Any

import discord
import pytest
from chat.faults import deliver_again, events_seen
from chat.gaming import loaded, moves, plain, rules
from chat.lessons import HOUR_SECONDS, coach_of, coached, given, morning, told
from chat.practice import everything, files_of, forge, picked, rows
from chat.world import World, answers_in, labels_of, text_of
from inline import InlineWorker

from bot.ports import WorkerError
from bot.results.tally import ServerSettings

LOST = moves({("5MP", "on_hit"): "+6"})
"""Odrun Vale's 5MP with one frame less on hit: 2MK no longer links after it, and 2MP barely does."""
BREAKS, HARDER, OTHER = "Odrun: 5MP, 2MK xx 236LP", "Odrun: 5MP, 2MP", "Odrun: 5LP, 2LK"
POST, MINE = "Post what changed", "What changed for me?"


async def save(member: Any, channel: Any, notation: str, name: str) -> None:
    saved = await member.slash(channel, "route save", moves=notation, name=name)
    assert "Saved as" in text_of(saved)


async def patched(world: World) -> Any:
    """Ann has a route that breaks and one that gets harder, Bo one that stays; then the patch comes."""
    salt = world.salt
    await morning(world)
    await save(salt.ann, salt.channel, BREAKS, "low confirm")
    await save(salt.ann, salt.channel, HARDER, "steady")
    await save(salt.bo, salt.channel, OTHER, "taps")
    return await loaded(world, rules("1.3"), LOST)


async def test_a_moderator_is_told_how_many_members_a_new_version_concerns(world: World) -> None:
    used = await patched(world)
    assert "One member, whose saved route or homework it touches, is told." in plain(used)
    assert POST in labels_of(used)
    (notice,) = rows(world, "patch_notice")
    (ann,) = [row for row in rows(world, "member") if row["id"] == notice["owner_id"]]
    assert ann["member_id"] == world.salt.ann.id


async def test_a_member_reads_what_breaks_of_theirs_first_and_opens_what_works(world: World) -> None:
    await patched(world)
    salt = world.salt
    shown = await salt.ann.slash(salt.channel, "patch")
    assert shown.ephemeral
    said = plain(shown)
    assert "Version 1.3 of Saltglass breaks 1 route of yours." in said
    assert "“low confirm” breaks at 2MK: 5MP leaves you +6 on hit" in said
    assert "“steady” is harder" in said
    assert "Odrun Vale's 5MP: advantage on hit is +6, was +7." in said
    assert "Lost for Odrun Vale: 5MP, 2MK" in said
    assert [one["label"] for one in picked(shown)] == ["“low confirm”: breaks", "“steady”: harder"]
    assert files_of(shown) == ["patch.txt"]
    opened = await salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert "This works: " in plain(opened)
    assert "Save it" in labels_of(opened)


async def test_who_saved_nothing_that_is_touched_reads_what_changed_all_the_same(world: World) -> None:
    await patched(world)
    salt = world.salt
    shown = await salt.bo.slash(salt.channel, "patch")
    assert "touches nothing that you saved" in plain(shown)
    assert "2 routes that members saved change, and 1 of them breaks:" in plain(shown)
    assert "low confirm" not in plain(shown)
    assert picked(shown) == []


async def test_the_member_is_told_in_private_once_and_after_a_while(world: World) -> None:
    await patched(world)
    salt = world.salt
    assert told(salt.ann) == []
    await world.env.advance_time(HOUR_SECONDS)
    (notice,) = told(salt.ann)
    assert "Version 1.3 of Saltglass in Harbour breaks 1 route of yours." in plain(notice)
    assert "Nearest that works: 5MP, 2MP xx 236LP" in plain(notice)
    assert labels_of(notice) == [MINE, "Reminders"]
    opened = await salt.ann.user.select(notice, [picked(notice)[0]["value"]])
    assert "This works: " in plain(opened)
    whole = await salt.ann.user.click(notice, label=MINE)
    assert "breaks 1 route of yours" in plain(whole)
    await world.restart()
    await world.env.advance_time(24 * HOUR_SECONDS)
    assert len(told(salt.ann)) == 1
    assert told(salt.bo) == []
    assert "breaks 1 route of yours" in plain(await salt.ann.user.click(notice, label=MINE))


async def test_who_is_muted_is_told_nothing(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "reminders", messages="off")
    used = await patched(world)
    assert "is told" not in plain(used)
    await world.env.advance_time(HOUR_SECONDS)
    assert told(salt.ann) == []


async def test_nothing_is_told_of_a_version_that_was_left_in_time(world: World) -> None:
    used = await patched(world)
    salt = world.salt
    asked = await salt.mod.click(used.response, label="Back to 1.2")
    back = await salt.mod.click(asked.response, label="Yes, use it")
    assert "is told" not in plain(back)
    await world.env.advance_time(HOUR_SECONDS)
    assert told(salt.ann) == []


async def test_homework_is_opened_from_the_notice(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what="Odrun: 5MP, 2MK")
    await world.env.settle()
    before = len(told(salt.ann))
    await loaded(world, rules("1.3"), LOST)
    await world.env.advance_time(HOUR_SECONDS)
    (notice,) = told(salt.ann)[before:]
    assert "breaks 1 piece of homework of yours" in plain(notice)
    assert "Your homework, Odrun Vale's 5MP, 2MK, breaks at 2MK" in plain(notice)
    shown = await salt.ann.user.click(notice, label="Show it: 5MP, 2MK")
    assert "Goal: 20 reps landed" in plain(shown)
    assert "does not work in version 1.3: ask your coach" in plain(shown)


async def test_a_coach_reads_what_becomes_of_the_homework_they_set_and_opens_it(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what="Odrun: 5MP, 2MK")
    await loaded(world, rules("1.3"), LOST)
    shown = await coach_of(salt).slash(salt.channel, "patch")
    said = plain(shown)
    assert "The homework Odrun Vale's 5MP, 2MK, which you set, breaks at 2MK" in said
    assert "set something else with /homework set" in said
    opened = await coach_of(salt).click(shown.response, label="Show it: 5MP, 2MK")
    assert "does not work in version 1.3: set something else" in plain(opened)
    assert "which you set" not in plain(await salt.bo.slash(salt.channel, "patch"))
    assert "which you set" not in plain(await salt.ann.slash(salt.channel, "patch"))


async def test_a_notice_of_another_server_than_the_messages_are_about_says_where_to_go(world: World) -> None:
    salt, kite = world.salt, world.kite
    there = kite.guild.add_member(salt.ann.user)
    await there.slash(kite.channel, "goal", share="70")  # direct messages are about this server from now on
    await patched(world)
    await world.env.advance_time(HOUR_SECONDS)
    (notice,) = told(salt.ann)
    assert "Type /patch in Harbour" in plain(notice)
    assert labels_of(notice) == ["Reminders"]
    assert picked(notice) == []


async def test_who_takes_no_messages_is_called_and_finds_it_there(world: World) -> None:
    salt = world.salt
    await salt.mod.slash(salt.channel, "coaches", notices=salt.other_channel)
    channel_id = await world.bot.direct_channel(salt.ann.id)
    world.env.inject_error("POST", f"/channels/{channel_id}/messages", status=403, code=50007, times=None)
    await patched(world)
    await world.env.advance_time(HOUR_SECONDS)
    (call,) = answers_in(salt.other_channel, world.bot)
    assert "5MP" not in text_of(call)
    shown = await salt.ann.click(call, label=MINE)
    assert shown.ephemeral
    assert "breaks 1 route of yours" in plain(shown)
    other = await salt.bo.click(call, label=MINE)
    assert "low confirm" not in plain(other)


async def test_what_changed_is_posted_once_in_the_channel_for_it_and_names_nobody(world: World) -> None:
    salt = world.salt
    chosen = ServerSettings(patch_channel=salt.other_channel.id)
    await world.bot.book.set_server(salt.guild.id, chosen)
    used = await patched(world)
    posted = await salt.mod.click(used.response, label=POST)
    assert "It is posted in #talk." in plain(posted)
    again = await salt.mod.click(used.response, label=POST)
    assert "It stands in #talk already" in plain(again)
    (card,) = answers_in(salt.other_channel, world.bot)
    said = plain(card)
    assert "Saltglass is at version 1.3, which breaks 1 route that a member saved." in said
    assert "2 routes that members saved change, and 1 of them breaks:" in said
    for private in ("low confirm", "steady", salt.ann.name):
        assert private not in said
    stored = world.env.backend.get_message(salt.other_channel.id, card.id)
    assert not stored.ping_user_ids
    assert not stored.ping_role_ids
    assert not stored.mention_everyone
    await world.restart()
    shown = await salt.ann.click(card, label=MINE)
    assert shown.ephemeral
    assert "breaks 1 route of yours" in plain(shown)
    assert [row["deed"] for row in rows(world, "audit")].count("patch-posted") == 1


async def test_without_a_channel_for_it_what_changed_is_posted_where_it_was_asked_for(world: World) -> None:
    used = await patched(world)
    await world.salt.mod.click(used.response, label=POST)
    await world.env.settle()
    (card,) = answers_in(world.salt.channel, world.bot)
    assert labels_of(card) == [MINE]


@pytest.mark.parametrize("denied", ["view_channel", "send_messages"])
async def test_where_the_bot_may_not_write_it_says_so(world: World, denied: str) -> None:
    salt = world.salt
    overwrites = {salt.guild.default_role: discord.PermissionOverwrite(**{denied: False})}
    closed = salt.guild.create_text_channel("closed", overwrites=overwrites)
    await world.bot.book.set_server(salt.guild.id, ServerSettings(patch_channel=closed.id))
    used = await patched(world)
    refused = await salt.mod.click(used.response, label=POST)
    assert "I may not write in #closed" in plain(refused)
    assert labels_of(refused) == [POST]
    assert answers_in(closed, world.bot) == []


async def test_a_channel_for_it_that_is_gone_is_said_to_be_chosen_anew(world: World) -> None:
    salt = world.salt
    await world.bot.book.set_server(salt.guild.id, ServerSettings(patch_channel=12345))
    used = await patched(world)
    refused = await salt.mod.click(used.response, label=POST)
    assert "choose another one with /server setup" in plain(refused)


async def test_versions_are_offered_and_named_and_a_name_that_is_none_is_refused(world: World) -> None:
    salt = world.salt
    await patched(world)
    await loaded(world, rules("1.4"), moves({("5MP", "on_hit"): "+6", ("5LP", "damage"): "310"}))
    offered = await salt.ann.autocomplete(salt.channel, "patch", "since", "")
    assert {one["value"] for one in offered} >= {"1.2", "1.3"}
    said = plain(await salt.ann.slash(salt.channel, "patch"))
    assert "What changed from 1.3 to 1.4?" in said
    assert "touches nothing that you saved" in said
    said = plain(await salt.ann.slash(salt.channel, "patch", since="1.2"))
    assert "What changed from 1.2 to 1.4?" in said
    assert "breaks 1 route of yours" in said
    refused = await salt.ann.slash(salt.channel, "patch", since="9.9")
    assert refused.ephemeral
    assert "There is no version “9.9” of this game here" in plain(refused)
    refused = await salt.ann.slash(salt.channel, "patch", since="1.4")
    assert "Version 1.4 is the one that is used already." in plain(refused)


async def test_where_one_version_is_kept_there_is_nothing_to_compare(world: World) -> None:
    salt = world.salt
    shown = await salt.ann.slash(salt.channel, "patch")
    assert "Version 1.2 is the only one that is kept" in plain(shown)
    direct = await salt.ann.user.slash("patch")
    assert "is the only one that is kept" in plain(direct)


async def test_a_server_that_uses_another_version_is_told_nothing_of_it(world: World) -> None:
    salt, kite = world.salt, world.kite
    await kite.mod.slash(kite.channel, "game choose", name="Saltglass")
    there = kite.guild.add_member(salt.bo.user)
    await save(there, kite.channel, BREAKS, "low confirm")
    await patched(world)
    await world.env.advance_time(HOUR_SECONDS)
    assert told(there) == []
    assert "is the only one that is kept" in plain(await there.slash(kite.channel, "patch"))
    here = await there.slash(kite.channel, "route list")
    after_id = max(row["id"] for row in rows(world, "edition"))
    forge(world, kite.channel, here, f"t1|patch|{after_id}")
    refused = await there.click(here.response, label=labels_of(here)[0])
    assert "That version is not one of this server's" in plain(refused)
    assert "breaks" not in plain(refused)


async def test_a_press_that_is_delivered_twice_posts_once(world: World) -> None:
    used = await patched(world)
    with events_seen(world.env) as seen:
        await world.salt.mod.click(used.response, label=POST)
    before = everything(world)
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert everything(world) == before
    assert len(answers_in(world.salt.channel, world.bot)) == 1


async def test_what_cannot_be_worked_out_is_said_and_asked_for_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    await patched(world)
    await world.restart()  # what was worked out is forgotten

    async def run(*_: Any) -> Any:
        raise WorkerError("no")

    salt = world.salt
    with monkeypatch.context() as patch:
        patch.setattr(InlineWorker, "run", run)
        shown = await salt.ann.slash(salt.channel, "patch")
    assert "I could not work that out just now" in plain(shown)
    again = await salt.ann.click(shown.response, label=MINE)
    assert "breaks 1 route of yours" in plain(again)


async def test_who_waits_long_sees_how_far_it_is(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    await patched(world)
    await world.restart()
    monkeypatch.setattr("bot.services.patch_effects.CHUNK", 1)
    monkeypatch.setattr("bot.components.patches.SHOW_EVERY_SECONDS", -1.0)
    salt = world.salt
    before = len(world.env.http_requests)
    shown = await salt.ann.slash(salt.channel, "patch")
    sent = [str(one.json) for one in world.env.http_requests[before:]]
    assert any("I am looking at 1 of 3 saved routes" in text for text in sent)
    assert "breaks 1 route of yours" in plain(shown)
