"""What the bot tells members of its own accord: when, where, and what else may be read there."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from chat.lessons import HOUR_SECONDS, ask, coach_of, coached, given, morning, plain, told
from chat.practice import rows
from chat.world import Server, World, answers_in, labels_of, text_of

DAY_SECONDS = 24 * HOUR_SECONDS
CLOSED = 50007


def close_messages(world: World, member: Any) -> None:
    """The member takes no direct messages from us any more."""
    channel_id = member.user.dm_channel.id
    world.env.inject_error("POST", f"/channels/{channel_id}/messages", status=403, code=CLOSED, times=None)


async def calls_in(server: Server) -> None:
    """The moderator names the channel where members are called."""
    await server.mod.slash(server.channel, "coaches", notices=server.other_channel)


async def since(world: World, member: Any, before: int) -> list[str]:
    """What was told after so many messages."""
    await world.env.settle()
    return [plain(one) for one in told(member)[before:]]


async def hand_in(member: Any, card: Any, note: str = "went well", clip: str = "") -> Any:
    shown = await member.click(card, label="Hand it in")
    return await member.submit_modal(shown, {"hand-in-note": note, "clip": clip})


async def test_new_homework_is_told_with_what_it_is_and_its_buttons(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    before = len(told(salt.ann))
    await given(salt, salt.ann)
    await world.env.settle()
    (card,) = told(salt.ann)[before:]
    assert f"New homework from {coach_of(salt).name}: Odrun Vale's 5MP, 2MP" in plain(card)
    assert "20 reps landed" in plain(card)
    assert {"Log a tally", "Hand it in", "Reminders"} <= set(labels_of(card))


async def test_what_is_done_under_a_notice_is_of_the_server_that_it_is_about(world: World) -> None:
    """The member's home in direct messages is another server."""
    salt, kite = world.salt, world.kite
    here = salt.guild.add_member(kite.ann.user)
    await kite.ann.slash(kite.channel, "goal", share="70")
    await morning(world)
    await coached(world, salt, here)
    await given(salt, here)
    await world.env.settle()
    card = told(here)[-1]
    shown = await here.user.click(card, label="Log a tally")
    logged = await here.user.submit_modal(shown, {"result": "7/10"})
    assert "7 of 10" in plain(logged)
    (tally,) = rows(world, "tally")
    (member,) = [row for row in rows(world, "member") if row["id"] == tally["owner_id"]]
    assert member["server_id"] == salt.guild.id


async def test_each_step_is_told_to_whom_it_concerns(world: World) -> None:
    salt = world.salt
    ann, coach = salt.ann, coach_of(salt)
    await morning(world)
    await coached(world, salt, ann)
    await given(salt, ann)
    await world.env.settle()
    seen = len(told(coach))
    await hand_in(ann.user, told(ann)[-1], note="it holds now")
    (news,) = await since(world, coach, seen)
    assert f"{ann.name} handed Odrun Vale's 5MP, 2MP in" in news
    assert "it holds now" in news
    seen = len(told(ann))
    shown = await coach.user.click(told(coach)[-1], label="Send it back")
    await coach.user.submit_modal(shown, {"review-note": "wait for the hit"})
    (news,) = await since(world, ann, seen)
    assert "sent Odrun Vale's 5MP, 2MP back" in news
    assert "wait for the hit" in news
    await hand_in(ann.user, told(ann)[-1])
    await world.env.settle()
    seen = len(told(ann))
    await coach.user.click(told(coach)[-1], label="Accept it")
    (news,) = await since(world, ann, seen)
    assert f"{coach.name} accepted Odrun Vale's 5MP, 2MP" in news


async def test_reminders_come_a_day_before_and_when_it_is_due_and_only_once(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, due="2026-01-05 18:00")
    await world.env.settle()
    before = len(told(salt.ann))
    await world.env.advance_time(7 * DAY_SECONDS)
    soon, now = told(salt.ann)[before:]
    assert "A reminder" in plain(soon)
    assert soon.created_at == datetime(2026, 1, 4, 18, tzinfo=UTC)
    assert "is due now" in plain(now)
    assert now.created_at == datetime(2026, 1, 5, 18, tzinfo=UTC)


async def test_reminders_wait_for_the_end_of_the_quiet_hours_also_over_a_clock_change(world: World) -> None:
    """In Berlin the clocks are set on in the night to Sunday, 29 March 2026."""
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await salt.ann.slash(salt.channel, "reminders", zone="Europe/Berlin", quiet="22:00-07:30")
    await given(salt, salt.ann, due="2026-03-29 00:30")
    await world.env.settle()
    before = len(told(salt.ann))
    await world.restart()
    await world.env.advance_time(90 * DAY_SECONDS)
    moments = [one.created_at.astimezone(ZoneInfo("Europe/Berlin")) for one in told(salt.ann)[before:]]
    assert [f"{one:%d %H:%M}" for one in moments] == ["28 07:30", "29 07:30"]
    assert len({one.utcoffset() for one in moments}) == 2


async def test_nothing_is_reminded_of_once_it_is_handed_in(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    await world.env.settle()
    await hand_in(salt.ann.user, told(salt.ann)[-1])
    before = len(told(salt.ann))
    await world.env.advance_time(10 * DAY_SECONDS)
    assert told(salt.ann)[before:] == []


async def test_who_takes_no_messages_is_called_without_a_word_of_what_it_is_about(world: World) -> None:
    salt = world.salt
    await calls_in(salt)
    await morning(world)
    await coached(world, salt, salt.ann)
    await ask(salt, salt.ann, salt.mod)  # whatever is written to her first opens the channel
    await world.env.settle()
    close_messages(world, salt.ann)
    await given(salt, salt.ann, note="your drops are early")
    await world.env.settle()
    (call,) = answers_in(salt.other_channel, world.bot)
    said = text_of(call)
    assert f"<@{salt.ann.id}>" in said
    assert "There is a note for you" in said
    for private in ("5MP", "early", "homework", "coach"):
        assert private not in said.casefold()
    stored = world.env.backend.get_message(salt.other_channel.id, call.id)
    assert set(stored.ping_user_ids) == {salt.ann.id}
    assert not stored.mention_everyone
    assert not stored.ping_role_ids
    (label,) = labels_of(call)
    shown = await salt.ann.click(call, label=label)
    assert shown.ephemeral
    assert "your drops are early" in plain(shown)


async def test_what_one_was_called_for_is_shown_to_nobody_else(world: World) -> None:
    salt = world.salt
    await calls_in(salt)
    await morning(world)
    await coached(world, salt, salt.ann)
    await world.bot.direct_channel(salt.ann.id)
    close_messages(world, salt.ann)
    await given(salt, salt.ann, note="your drops are early")
    await world.env.settle()
    (call,) = answers_in(salt.other_channel, world.bot)
    (label,) = labels_of(call)
    for other in (salt.bo, salt.mod):
        shown = await other.click(call, label=label)
        assert shown.ephemeral
        assert "early" not in plain(shown)
        assert "not between you and anybody" in plain(shown)


async def test_a_call_about_a_coach_shows_the_question_itself(world: World) -> None:
    salt = world.salt
    await calls_in(salt)
    await morning(world)
    await world.bot.direct_channel(salt.ann.id)
    close_messages(world, salt.ann)
    await ask(salt, salt.ann)
    await world.env.settle()
    (call,) = answers_in(salt.other_channel, world.bot)
    shown = await salt.ann.click(call, label=labels_of(call)[0])
    assert shown.ephemeral
    assert "Yes" in labels_of(shown)
    others = await salt.bo.click(call, label=labels_of(call)[0])
    assert "You have no coach here" in plain(others)


async def test_without_a_channel_to_call_in_it_waits_for_the_member_and_nothing_fails(world: World) -> None:
    salt = world.salt
    await morning(world)
    await world.bot.direct_channel(salt.ann.id)
    close_messages(world, salt.ann)
    await ask(salt, salt.ann)
    await world.env.settle()
    assert answers_in(salt.other_channel, world.bot) == []
    assert "Yes" in labels_of(await salt.ann.slash(salt.channel, "coach"))


async def test_who_wants_to_be_left_in_peace_is_neither_written_to_nor_called(world: World) -> None:
    salt = world.salt
    await calls_in(salt)
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    await world.env.settle()
    shown = await salt.ann.user.click(told(salt.ann)[-1], label="Reminders")
    muted = await salt.ann.user.click(shown.response, label="Nothing unasked")
    assert "I write nothing to you unasked" in plain(muted)
    before = len(told(salt.ann))
    await given(salt, salt.ann, amount=30)
    await world.env.advance_time(10 * DAY_SECONDS)
    assert told(salt.ann)[before:] == []
    assert answers_in(salt.other_channel, world.bot) == []


async def test_who_left_the_server_is_told_nothing(world: World) -> None:
    salt = world.salt
    await calls_in(salt)
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    await world.env.settle()
    before = len(told(salt.ann))
    salt.guild.remove_member(salt.ann)
    await world.env.advance_time(10 * DAY_SECONDS)
    assert told(salt.ann)[before:] == []
    assert answers_in(salt.other_channel, world.bot) == []


async def test_after_the_coaching_has_ended_nothing_of_it_is_told(world: World) -> None:
    salt = world.salt
    await morning(world)
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    await world.env.settle()
    shown = await salt.ann.slash(salt.channel, "coach")
    question = await salt.ann.click(shown.response, label="End it")
    await salt.ann.click(question.response, label="Yes, end it")
    before = len(told(salt.ann))
    await world.env.advance_time(10 * DAY_SECONDS)
    assert told(salt.ann)[before:] == []


@pytest.mark.parametrize("status", [500, 503])
async def test_a_notice_that_fails_is_told_later_and_once(world: World, status: int) -> None:
    salt = world.salt
    await morning(world)
    channel_id = await world.bot.direct_channel(salt.ann.id)
    world.env.inject_error("POST", f"/channels/{channel_id}/messages", status=status, times=6)
    await ask(salt, salt.ann)
    await world.env.settle()
    await world.env.advance_time(2 * DAY_SECONDS)
    assert len(told(salt.ann)) == 1
