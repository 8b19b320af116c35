"""A database that is away for a while, under a running bot: whoever asks is told kindly that nothing was
kept, what needs no database is answered, and once it is back everything goes on by itself."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

import pytest
from chat import forging
from chat.commands import ARGUMENTS, ROWS, WHOM, commands_of
from chat.forged import ALL, filled, forged_forms, forged_picks, forged_presses
from chat.lessons import coach_of
from chat.practice import everything, form, log, open_form, tallies_of
from chat.test_drills import coach, opened, post_of
from chat.test_drills import log as log_at
from chat.world import World, answers_in, labels_of, text_of
from net import error_records

from bot.client.policy import NOT_KEPT, PERHAPS_KEPT
from bot.components import ids
from bot.components.act import CoachAct, ModAct
from bot.services.access import Standing
from bot.storage.store import Store

QUESTION = "is Mirrel's 236HK safe?"
MINUTE_SECONDS = 75
NUMBERS = ["1"]

pytestmark = pytest.mark.sqlite


@contextmanager
def database_away(world: World) -> Iterator[None]:
    """The file is not where it was: neither reading nor writing works."""
    file = world.bot.store.file
    aside = file.rename(file.with_name("aside.db"))
    try:
        yield
    finally:
        aside.rename(file)
        _ = world.env.errors  # simcord notes those of commands although they were handled


def says(sentence: str, said: str) -> bool:
    """Whether somebody was told this, whatever the reference."""
    wanted = re.escape(sentence).replace(re.escape("{reference}"), "[0-9a-f]{6}")
    return re.search(wanted, said) is not None


def told_kindly(answer: Any, sent: object) -> bool:
    """Whether it was told in private that nothing was kept; otherwise it was answered, in any case without an
    error. What is told beside a card is a message of its own."""
    if answer.modal:
        return False
    message = answer.followups[-1] if answer.followups else answer.response
    said = text_of(message).strip()
    assert said, sent
    assert "went wrong" not in said, sent
    if not says(NOT_KEPT, said):
        return False
    assert said.count("\n") == 0, sent
    assert message.ephemeral, sent
    return True


async def test_commands_buttons_forms_and_messages_are_told_and_keep_nothing(world: World) -> None:
    salt, ann = world.salt, world.salt.ann
    card, shown = await log(ann, salt.channel), await open_form(ann, salt.channel)
    before = everything(world)
    with database_away(world):
        answers = [
            await log(ann, salt.channel),
            await ann.click(card.response, label="Landed it again"),
            await ann.submit_modal(shown, form()),
            await ann.slash(salt.channel, "progress"),
        ]
        assert all(told_kindly(answer, answer) for answer in answers)
        assert await ann.autocomplete(salt.channel, "route open", "name", "") == []
    assert everything(world) == before
    assert "Logged: 7 of 10" in text_of(await log(ann, salt.channel))


async def test_a_question_is_answered_without_the_database(world: World) -> None:
    salt, ann = world.salt, world.salt.ann
    with database_away(world):
        assert "236HK" in text_of(await ann.slash(salt.channel, "ask", question=QUESTION))
        await ann.send(salt.channel, f"{world.mention} {QUESTION}")
        await ann.user.send_dm(QUESTION)
    for channel in (salt.channel, ann.user.dm_channel):
        assert "236HK" in text_of(channel.last_message)


async def test_a_message_that_needs_the_database_is_told_too(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Today none does: so one that does is put in."""
    salt = world.salt

    async def looks(*_: object) -> None:
        async with world.bot.store.read():
            pass

    monkeypatch.setattr(world.bot, "answer", looks)
    with database_away(world):
        await salt.ann.send(salt.channel, f"{world.mention} {QUESTION}")
    assert says(NOT_KEPT, text_of(salt.channel.last_message))


async def test_every_command_and_completion_is_told_or_answered(world: World) -> None:
    salt = world.salt
    await filled(world)
    before, told = everything(world), 0
    with database_away(world), error_records("bot", "discord") as records:
        for command in commands_of(world.bot):
            name = command.qualified_name
            member = salt.by_standing[standing_for(f"command {name}")]
            given = ARGUMENTS.get(name, {}) | ({WHOM[name]: salt.bo} if name in WHOM else {})
            told += told_kindly(await member.slash(salt.channel, name, **given), name)
            for option in command.parameters:
                if option.autocomplete:
                    await member.autocomplete(salt.channel, name, option.name, "")
    assert told > 30
    assert everything(world) == before
    check_log(records)


def standing_for(row: str) -> Standing:
    """Somebody who may do it: a moderator where one may."""
    who = ROWS[row]
    wanted = (Standing.MODERATOR, Standing.COACH, Standing.STUDENT, Standing.MEMBER)
    return next(one for one in wanted if one in who)


def check_log(records: list[logging.LogRecord]) -> None:
    """Few lines, each with what to do and no traceback."""
    assert 0 < len(records) < 10, [record.getMessage() for record in records]
    for record in records:
        assert record.exc_info is None
        assert re.match("reference [0-9a-f]{6}: (reading|writing|taking jobs) failed: ", record.getMessage())
        assert "stop the bot" in record.getMessage()


@pytest.mark.parametrize(
    ("send", "sent", "least"),
    [
        (forging.press, partial(forged_presses, acts=ALL), 30),
        (forging.pick, forged_picks, 5),
        (forging.submit, forged_forms, 5),
    ],
    ids=["buttons", "lists", "forms"],
)
async def test_every_button_list_and_form_is_told_or_answered(
    world: World, send: Callable[..., Any], sent: Callable[..., Iterable[Any]], least: int
) -> None:
    salt = world.salt
    await filled(world)
    card = await salt.ann.slash(salt.channel, "help")
    before, told = everything(world), 0
    with database_away(world), error_records("bot", "discord") as records:
        for one in sent(NUMBERS):
            coachs, mods = one[0].startswith(ids.COACH), one[0].startswith((ids.MOD, ids.WORDS))
            member = coach_of(salt) if coachs else salt.mod if mods or "edition" in one[0] else salt.ann
            answer = await send(world, member, card, *one)
            told += told_kindly(answer, one)
    assert told > least
    assert everything(world) == before
    check_log(records)


async def test_who_is_told_twice_in_a_minute_is_given_a_number_that_stands_in_the_log(world: World) -> None:
    with database_away(world), error_records("bot") as records:
        said = [text_of(await log(world.salt.ann, world.salt.channel)) for _ in range(5)]
    (record,) = records
    assert len(set(said)) == 1
    found = re.search("reference ([0-9a-f]{6})", said[0])
    assert found
    assert found[1] in record.getMessage()


async def test_what_was_stored_before_the_database_went_is_not_said_to_be_lost(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who is told that nothing was kept would log it twice."""
    salt, store = world.salt, world.bot.store

    def gone(_: Store) -> Any:
        return away.__enter__()

    away = database_away(world)
    kept = world.bot.log.log

    async def log_and_lose(*args: Any, **options: Any) -> Any:
        result = await kept(*args, **options)
        gone(store)
        async with store.read():
            return result

    monkeypatch.setattr(world.bot.log, "log", log_and_lose)
    answer = await log(salt.ann, salt.channel)
    away.__exit__(None, None, None)
    assert says(PERHAPS_KEPT, text_of(answer))
    assert len(tallies_of(world, salt.ann)) == 1


async def test_jobs_rest_and_are_done_once_the_database_is_back(world: World) -> None:
    salt = world.salt
    post = await opened(world, days=1)
    await log_at(salt.ann, post, "8/10")
    await world.env.advance_time(86_400 - 600)
    with database_away(world), error_records("bot", "discord") as records:
        await world.env.advance_time(1_200)
    assert len(answers_in(salt.other_channel, world.bot)) == 1
    assert 5 < len(records) < 15, "once a minute at most for each way"
    assert all(record.exc_info is None for record in records)
    await world.env.advance_time(2 * MINUTE_SECONDS)
    assert len(answers_in(salt.other_channel, world.bot)) == 2
    assert "is over" in text_of(post_of(world))


async def test_a_post_whose_refresh_fell_into_the_trouble_is_refreshed_after_it(world: World) -> None:
    salt = world.salt
    post = await opened(world)
    await log_at(salt.ann, post, "8/10")
    await log_at(salt.bo, post, "7/10")
    before = text_of(post_of(world))
    with database_away(world):
        await world.env.advance_time(10 * MINUTE_SECONDS)
        assert text_of(post_of(world)) == before
    await world.env.advance_time(2 * MINUTE_SECONDS)
    assert "2 more take part" in text_of(post_of(world))


async def test_a_server_that_leaves_meanwhile_is_noted_after_it(world: World) -> None:
    """What the platform tells comes once."""
    salt = world.salt
    await log(salt.ann, salt.channel)
    with database_away(world), error_records("bot", "discord") as records:
        world.env.backend.emit("GUILD_DELETE", {"id": str(salt.guild.id)})
        await world.env.settle()
    check_log(records)
    assert not forgetting(world)
    await world.env.advance_time(2 * MINUTE_SECONDS)
    assert forgetting(world) == {f"forget-server:{salt.guild.id}"}


def forgetting(world: World) -> set[str]:
    jobs = everything(world)["job"]
    return {job["key"] for job in jobs if job["key"].startswith("forget-server") and not job["done_at"]}


async def test_what_happened_while_it_was_disconnected_is_compared_once_the_database_is_back(
    world: World,
) -> None:
    bot = world.bot
    with database_away(world), error_records("bot", "discord") as records:
        await bot.on_shard_ready(0)
    check_log(records)
    assert 0 in bot._shards_to_compare._rounds, "it is tried again, as what was touched is"


async def test_what_could_not_be_stored_is_not_held_in_memory_either(world: World) -> None:
    """Or the bot would answer by what is gone with the next restart."""
    salt, bot = world.salt, world.bot
    held = (dict(bot.book._members), dict(bot.book._servers), dict(bot.coaching._coaches))
    drills, channels = dict(bot.drill_watch._open), dict(bot.game_book._channels)
    await coach(salt).slash(salt.channel, "students ask", member=salt.bo)
    asked = dict(bot.book._members)
    with database_away(world):
        answers = [
            await salt.mod.slash(salt.channel, "zone", name="Asia/Tokyo"),
            await salt.mod.slash(salt.channel, "game choose", name="Kitewind"),
            await salt.mod.slash(salt.channel, "game choose", name="Kitewind", channel=salt.other_channel),
            await salt.ann.slash(salt.channel, "goal", share="70"),
            await coach(salt).slash(salt.channel, "drill open", what="drill: throws", scoring="best-tally"),
        ]
        assert all(told_kindly(answer, labels_of(answer)) for answer in answers)
    assert bot.book._members == asked
    assert (bot.book._servers, bot.coaching._coaches) == held[1:]
    assert (bot.drill_watch._open, bot.game_book._channels) == (drills, channels)
    assert "236HK" in text_of(await salt.ann.slash(salt.channel, "ask", question=QUESTION))


def test_acts_of_every_kind_are_among_those_that_are_pressed() -> None:
    assert {*CoachAct, *ModAct} < ALL
