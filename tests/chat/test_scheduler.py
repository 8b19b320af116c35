"""The scheduler under the simulator's time: it settles, sleeps through weeks, and survives a restart."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import discord
import pytest
from chat.world import BEGIN, EnvClock, World, new_bot

from bot.app import Cornerman
from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.posts import PostService
from core.learning.calendar import next_weekly

DAY_SECONDS = 24 * 3600
BERLIN = ZoneInfo("Europe/Berlin")
WEEKS = 14
"""From January on: the clocks are set on within them."""


class PlainPoster:
    """Posts sentences that end with their marker."""

    def __init__(self, bot: Cornerman) -> None:
        self._bot = bot

    def _channel(self, channel_id: int) -> discord.TextChannel:
        channel = self._bot.get_channel(channel_id)
        assert isinstance(channel, discord.TextChannel)
        return channel

    async def post(self, channel_id: int, marker: str, content: str) -> int:
        return (await self._channel(channel_id).send(f"{content} ({marker})", nonce=marker)).id

    async def find(self, channel_id: int, marker: str, since: datetime) -> int | None:
        async for message in self._channel(channel_id).history(after=since):
            if marker in message.content:
                return message.id
        return None


def week_after(moment: datetime) -> Job:
    due_at = next_weekly(moment, 1, time(18), BERLIN)
    return Job(f"week of {due_at:%Y-%m-%d}", "week", due_at)


def weekly_bot(clock: EnvClock, folder: Path) -> Cornerman:
    """The bot, whose scheduler only posts each Monday at 18:00 in the first channel it sees."""
    bot = new_bot(clock, folder)
    jobs = bot.jobs
    posts = PostService(bot.store, clock, PlainPoster(bot))

    async def post(job: Job, late_by: timedelta) -> None:
        late = f", {late_by // timedelta(days=1)} days late" if late_by > timedelta(hours=1) else ""
        channel = next(each for each in bot.get_all_channels() if each.name == "frames")
        await posts.post_once(job.key, channel.id, job.key + late)
        async with bot.store.write() as writing:
            await jobs.add(writing, week_after(job.due_at))

    bot.scheduler = Scheduler(jobs, clock, {"week": post})

    async def on_ready() -> None:
        async with bot.store.write() as writing:
            await jobs.add(writing, week_after(BEGIN))

    bot.add_listener(on_ready)
    return bot


@pytest.fixture
def simcord_bot(clock: EnvClock, tmp_path: Path) -> Cornerman:
    return weekly_bot(clock, tmp_path)


async def restart(world: World, days_away: int = 0) -> None:
    """Another process takes over, at once or after so many days in which there is none."""
    old = world.bot
    await old.scheduler.stop(0)
    await old.in_step.close()
    if days_away:
        await world.env.restart_bot(new_bot(world.clock, world.folder))
        await world.bot.scheduler.stop()  # nobody is there
        await world.env.advance_time(days_away * DAY_SECONDS)
        await world.bot.in_step.close()
        await world.bot.store.close()
    await world.env.restart_bot(weekly_bot(world.clock, world.folder))
    await old.store.close()


def posted(world: World) -> list[str]:
    return [message.content.partition(" (")[0] for message in world.salt.channel.history()]


async def test_a_weekly_post_comes_each_week_also_over_restarts_and_a_clock_change(world: World) -> None:
    for week in range(WEEKS):
        await world.env.advance_time(7 * DAY_SECONDS)
        if week % 5 == 4:
            await restart(world)
    first = week_after(BEGIN).due_at.date()
    assert posted(world) == [f"week of {first + timedelta(weeks=week)}" for week in range(WEEKS)]
    moments = [message.created_at.astimezone(BERLIN) for message in world.salt.channel.history()]
    assert {(moment.hour, moment.minute) for moment in moments} == {(18, 0)}
    assert len({moment.utcoffset() for moment in moments}) == 2


async def test_what_was_missed_is_posted_once_in_order_and_says_that_it_is_late(world: World) -> None:
    await restart(world, days_away=21)
    await world.env.settle()
    assert posted(world) == [
        "week of 2026-01-05, 16 days late",
        "week of 2026-01-12, 9 days late",
        "week of 2026-01-19, 2 days late",
    ]
