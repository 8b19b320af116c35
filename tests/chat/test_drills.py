"""A group drill from its opening to its recap, as members and coaches meet it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import discord
import pytest
from chat.practice import alts_of, everything, forge, pings_nobody, rows, tallies_of
from chat.world import Server, World, answers_in, labels_of, text_of

from bot.client.policy import NOT_ALLOWED
from bot.client.poster import ChannelPoster
from bot.components.drill_post import post_key, post_layout
from bot.results.place import Owner
from bot.results.tally import ServerSettings
from bot.services.access import Standing
from bot.storage import drills

LINK = "Odrun: 5MP, 2MP"
REFRESHED_SECONDS = 75
WEEK_SECONDS = 7 * 86_400


def coach(server: Server) -> Any:
    return server.by_standing[Standing.COACH]


async def opened(world: World, **options: Any) -> Any:
    """A drill that a coach opened in the other channel; its post."""
    salt = world.salt
    given = {"what": LINK, "scoring": "best-tally", "days": 7, "channel": salt.other_channel, **options}
    await coach(salt).slash(salt.channel, "drill open", **given)
    await world.env.settle()
    return post_of(world)


def post_of(world: World) -> Any:
    (post, *_) = answers_in(world.salt.other_channel, world.bot)
    return post


async def log(member: Any, post: Any, result: str, **fields: str) -> Any:
    """Log by the button under the post."""
    shown = await member.click(post, label="Log a tally")
    return await member.submit_modal(shown, {"result": result, **fields})


async def refreshed(world: World) -> str:
    await world.env.advance_time(REFRESHED_SECONDS)
    return text_of(post_of(world))


async def test_a_drill_is_posted_with_what_to_do_what_counts_and_the_rhythm(world: World) -> None:
    post = await opened(world, goal="8 of 10", dummy="stand still")
    said = text_of(post)
    assert "We practise Odrun Vale's 5MP, 2MP, until Thursday, 8 Jan 2026, 00:00" in said
    assert "Goal: 8 of 10." in said
    assert "Training dummy: stand still." in said
    assert "Your best bout of 10 tries or more" in said
    assert "Nobody has logged a tally yet" in said
    assert labels_of(post) == ["Join", "Log a tally", "How do I stand?", "How to press it"]
    assert pings_nobody(world, world.salt.other_channel, SimpleNamespace(response=post))


async def test_members_join_log_and_stand_in_the_post_once_they_agreed_to_be_named(world: World) -> None:
    post = await opened(world)
    joined = await world.salt.ann.click(post, label="Join")
    assert joined.ephemeral
    assert "You take part" in text_of(joined)
    logged = await log(world.salt.ann, post, "8/10")
    assert "8 of 10 logged" in text_of(logged)
    assert "Place 1" in text_of(logged)
    await log(world.salt.bo, post, "7/10")  # who logs takes part
    said = await refreshed(world)
    assert "2 more take part" in said
    assert world.salt.ann.name not in said
    await world.salt.ann.click(joined.response, label="Show my name")
    said = await refreshed(world)
    assert f"1. {world.salt.ann.name}: 8 of 10" in said.replace("\\", "")
    assert "1 more takes part" in said
    assert len(answers_in(world.salt.other_channel, world.bot)) == 1


async def test_at_its_end_comes_one_recap_and_the_post_takes_no_more(world: World) -> None:
    post = await opened(world)
    joined = await world.salt.ann.click(post, label="Join")
    await world.salt.ann.click(joined.response, label="Show my name")
    await log(world.salt.ann, post, "9/10")
    await world.env.advance_time(WEEK_SECONDS + 60)
    _, recap = answers_in(world.salt.other_channel, world.bot)
    assert f"{world.salt.ann.name} won it" in text_of(recap).replace("\\", "")
    assert labels_of(post_of(world)) == ["How do I stand?"]
    assert "is over" in text_of(post_of(world))
    mine = await world.salt.ann.click(recap, label="How do I stand?")
    assert "Place 1" in text_of(mine)
    assert len(tallies_of(world, world.salt.ann)) == 1


async def test_a_refresh_that_is_overtaken_by_the_end_does_not_open_the_post_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    bot, edit = world.bot, ChannelPoster.edit
    await opened(world)
    await refreshed(world)
    (drill_id,) = await bot.drill_boards.open_drills()
    read_before = await bot.drill_boards.board(drill_id)
    assert read_before is not None
    layout = await post_layout(bot, read_before)

    async def overtaking(poster: ChannelPoster, *message: Any) -> bool:
        monkeypatch.setattr(ChannelPoster, "edit", edit)
        done = await edit(poster, *message)
        await bot.edit_post(post_key(drill_id), layout, world.salt.guild.id)
        assert "Join" in labels_of(post_of(world))
        return done

    monkeypatch.setattr(ChannelPoster, "edit", overtaking)
    await world.env.advance_time(WEEK_SECONDS)
    assert "is over" in await refreshed(world)
    assert labels_of(post_of(world)) == ["How do I stand?"]


async def test_who_joins_while_the_post_is_on_its_way_stands_in_it_soon(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A refresh for their sake finds no post yet."""
    salt, send = world.salt, ChannelPoster.post

    async def slowly(poster: ChannelPoster, *message: Any) -> int:
        monkeypatch.setattr(ChannelPoster, "post", send)
        (drill_id,) = await world.bot.drill_boards.open_drills()
        async with world.bot.store.write() as writing:
            await drills.join(writing, Owner(salt.guild.id, salt.ann.id), drill_id, world.clock.now())
        return await send(poster, *message)

    monkeypatch.setattr(ChannelPoster, "post", slowly)
    await opened(world)
    assert "1 more takes part" in await refreshed(world)


async def test_a_series_opens_the_next_week_by_itself(world: World) -> None:
    salt = world.salt
    for what in (LINK, "drill: anti-airs"):
        await coach(salt).slash(salt.channel, "drill plan", what=what, scoring="total-clean")
    said = text_of(
        await coach(salt).slash(salt.channel, "drill weekly", day=1, time="18:00", channel=salt.other_channel)
    )
    assert "Each Monday at 18:00" in said
    await world.env.settle()
    await world.env.advance_time(5 * 86_400)  # Tuesday, 6 January
    first, recap, second = answers_in(salt.other_channel, world.bot)
    assert "is over" in text_of(first)
    assert "anti-airs" in text_of(second)
    assert "Join" in labels_of(second)
    assert "until Monday, 12 Jan 2026, 18:00" in text_of(recap)


async def test_every_button_works_after_a_restart(world: World) -> None:
    post = await opened(world, scoring="longest-run")
    await world.restart()
    post = post_of(world)
    joined = await world.salt.ann.click(post, label="Join")
    assert "You take part" in text_of(joined)
    logged = await log(world.salt.ann, post, "8/10", run="6")
    assert "6 in a row" in text_of(logged)
    for label in ("Show my name", "Hide my name"):
        joined = await world.salt.ann.click(joined.response, label=label)
    left = await world.salt.ann.click(joined.response, label="Leave it")
    assert "You do not take part" in text_of(left)
    sheet = await world.salt.ann.click(post, label="How to press it")
    assert sheet.ephemeral
    assert alts_of(sheet)


async def test_a_coach_strikes_a_tally_with_a_reason_and_it_counts_no_longer(world: World) -> None:
    post = await opened(world)
    joined = await world.salt.ann.click(post, label="Join")
    await world.salt.ann.click(joined.response, label="Show my name")
    await log(world.salt.ann, post, "10/10", note="easy")
    found = await coach(world.salt).slash(world.salt.channel, "drill results")
    assert "10 of 10" in text_of(found)
    shown = await coach(world.salt).click(found.response, label=f"{world.salt.ann.name}: 10/10")
    asked = await coach(world.salt).click(shown.response, label="Strike")
    struck = await coach(world.salt).submit_modal(asked, {"reason": "another combo"})
    assert "Struck" in text_of(struck)
    assert "10 of 10" not in await refreshed(world)
    mine = await world.salt.ann.click(post_of(world), label="How do I stand?")
    assert "another combo" in text_of(mine)
    assert len(tallies_of(world, world.salt.ann)) == 1  # the log is theirs
    again = await coach(world.salt).click(struck.response, label="Count it again")
    assert "It counts again" in text_of(again)
    assert "10 of 10" in await refreshed(world)


@pytest.mark.parametrize("act", ["see", "strike", "unstrike", "results", "result", "cancel-drill-now"])
async def test_a_member_cannot_press_what_is_for_coaches(world: World, act: str) -> None:
    post = await opened(world)
    await log(world.salt.ann, post, "10/10")
    (drill,) = rows(world, "drill")
    (tally,) = tallies_of(world, world.salt.ann)
    number = drill["id"] if act in ("results", "cancel-drill-now") else tally["id"]
    forge(world, world.salt.other_channel, SimpleNamespace(response=post), f"k1|{act}|{number}")
    before = everything(world)
    refused = await world.salt.bo.click(post_of(world), label="Join")
    assert refused.ephemeral
    assert text_of(refused).strip() == NOT_ALLOWED
    assert everything(world) == before


async def test_a_coach_who_lost_the_role_can_change_nothing_and_the_drill_goes_on(world: World) -> None:
    salt = world.salt
    post = await opened(world)
    await log(salt.ann, post, "10/10")
    found = await coach(salt).slash(salt.channel, "drill results")
    await world.bot.book.set_server(salt.guild.id, ServerSettings(coach_role=1))
    for refused in (
        await coach(salt).click(found.response, label=f"{salt.ann.name}: 10/10"),
        await coach(salt).slash(salt.channel, "drill cancel"),
    ):
        assert refused.ephemeral
        assert text_of(refused).strip() == NOT_ALLOWED
    assert "Place 1" in text_of(await salt.ann.click(post_of(world), label="How do I stand?"))


async def test_a_drill_is_called_off_after_a_question_and_leaves_no_recap(world: World) -> None:
    post = await opened(world)
    await log(world.salt.ann, post, "7/10")
    asked = await coach(world.salt).slash(world.salt.channel, "drill cancel")
    gone = await coach(world.salt).click(asked.response, label="Yes, call it off")
    assert "called off" in text_of(gone)
    assert "was called off" in await refreshed(world)
    await world.env.advance_time(WEEK_SECONDS + 60)
    assert len(answers_in(world.salt.other_channel, world.bot)) == 1
    assert len(tallies_of(world, world.salt.ann)) == 1


async def test_the_post_of_a_drill_that_is_moved_says_so(world: World) -> None:
    await opened(world)
    moved = await coach(world.salt).slash(world.salt.channel, "drill move", closes="in 3 days")
    assert "now closes Sunday, 4 Jan 2026" in text_of(moved)
    assert "until Sunday, 4 Jan 2026" in await refreshed(world)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"what": "9XX"}, "9XX"),
        ({"days": 99}, "1 to 31 days, not 99"),
        ({"at_least": 0}, "not 0"),
        ({"goal": "x" * 300}, "too long"),
    ],
)
async def test_a_drill_that_cannot_be_is_refused_in_one_sentence(
    world: World, options: dict[str, Any], said: str
) -> None:
    given = {"what": LINK, "scoring": "best-tally", **options}
    refused = await coach(world.salt).slash(world.salt.channel, "drill open", **given)
    assert refused.ephemeral
    assert said in text_of(refused)
    assert rows(world, "drill") == []


async def test_what_members_wrote_formats_nothing_and_calls_nobody(world: World) -> None:
    hostile = "@everyone **bold** <@1> [x](http://y)"
    post = await opened(world, goal=hostile, dummy=hostile)
    assert pings_nobody(world, world.salt.other_channel, SimpleNamespace(response=post))
    assert "@everyone" not in text_of(post)
    assert "**bold**" not in text_of(post)


async def test_a_drill_in_words_has_no_picture(world: World) -> None:
    post = await opened(world, what="drill: anti-airs", scoring="most-improved")
    assert labels_of(post) == ["Join", "Log a tally", "How do I stand?"]
    assert "so that a beginner can win" in text_of(post)


async def test_a_list_shows_what_comes_each_week_and_what_is_open(world: World) -> None:
    salt = world.salt
    await coach(salt).slash(salt.channel, "drill plan", what=LINK, scoring="longest-run")
    listed = await coach(salt).slash(salt.channel, "drill list")
    assert "1\\. Odrun Vale's 5MP, 2MP: longest run" in text_of(listed)
    assert "No weekly series" in text_of(listed)
    gone = await coach(salt).slash(salt.channel, "drill unplan", name=LINK)
    assert "no longer in the list" in text_of(gone)


async def test_a_post_that_was_deleted_stays_away_and_the_drill_goes_on(world: World) -> None:
    salt = world.salt
    post = await opened(world)
    joined = await salt.ann.click(post, label="Join")
    await salt.ann.click(joined.response, label="Show my name")
    await post.delete()
    await world.env.settle()
    shown = await salt.ann.slash(salt.channel, "drill show")
    await log(salt.ann, shown.response, "8/10")
    await world.restart()
    await world.env.advance_time(REFRESHED_SECONDS)
    assert answers_in(salt.other_channel, world.bot) == []
    assert "8 of 10" in text_of(await salt.ann.slash(salt.channel, "drill show"))
    await world.env.advance_time(WEEK_SECONDS + 60)
    (recap,) = answers_in(salt.other_channel, world.bot)
    assert "is over" in text_of(recap)
    assert len(tallies_of(world, salt.ann)) == 1


async def test_the_bot_opens_nothing_where_it_may_not_write(world: World) -> None:
    salt = world.salt
    silent = discord.PermissionOverwrite(send_messages=False)
    closed = salt.guild.create_text_channel("closed", overwrites={salt.guild.default_role: silent})
    given = {"what": LINK, "scoring": "best-tally", "channel": closed}
    refused = await coach(salt).slash(salt.channel, "drill open", **given)
    assert "I may not write in" in text_of(refused)
    assert rows(world, "drill") == []


async def test_who_leaves_the_server_is_not_named_until_they_are_back(world: World) -> None:
    salt = world.salt
    post = await opened(world)
    joined = await salt.ann.click(post, label="Join")
    await salt.ann.click(joined.response, label="Show my name")
    await log(salt.ann, post, "8/10")
    salt.guild.remove_member(salt.ann)
    await world.restart()
    said = await refreshed(world)
    assert salt.ann.name not in said
    assert "8 of 10" in said
    back = salt.guild.add_member(salt.ann.user)
    await world.restart()
    assert f"1. {back.name}: 8 of 10" in (await refreshed(world)).replace("\\", "")
    assert len(tallies_of(world, back)) == 1
