"""Group drills: /drill and its commands."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.act import FormAct
from bot.components.chat import Chat, place_of
from bot.components.drill_desk import (
    add_to_list,
    move_drill,
    open_drill,
    start_weekly,
    stop_weekly,
    take_off_list,
)
from bot.components.drill_judging import ask_to_cancel, show_planned, show_results, suggest, take_strike
from bot.components.drills import show_drill, take_log
from bot.components.offers import Choices, offer_practised, offered
from bot.components.words_form import take_words
from bot.render.drills import scoring_name
from bot.render.reps import weekday_name
from bot.results.drills import DrillAsked
from core.drills.drill import Scoring

FORMS = {FormAct.DRILL_LOG: take_log, FormAct.STRIKE: take_strike}
SCORINGS = [app_commands.Choice(name=scoring_name(one), value=one.value) for one in Scoring]
WEEKDAYS = [app_commands.Choice(name=weekday_name(day), value=day) for day in range(1, 8)]
PLAN = {
    "what": "5MP, 2MP (a link), 5MP > 2MP > 236LP (a route), or drill: anti-airs",
    "scoring": "What counts",
    "goal": "What to aim for, in your words",
    "dummy": "How to set the training dummy, in your words",
    "at_least": "The least tries of a bout, where the best bout counts",
    "daily_cap": "The most reps that count in a day, where all clean reps count",
}


class Drills(commands.GroupCog, group_name="drill", group_description="The group's drills"):
    """/drill and its form."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="The group's drill: join, log, and see where you stand")
    async def show(self, interaction: discord.Interaction[Any]) -> None:
        """Show the drill that was opened last."""
        await show_drill(self._chat, interaction)

    @app_commands.command(description="Open a drill for everybody, now (coaches)")
    @app_commands.describe(**PLAN, days="For how many days", channel="Where it is posted; else here")
    @app_commands.choices(scoring=SCORINGS)
    async def open(
        self,
        interaction: discord.Interaction[Any],
        what: str,
        scoring: str,
        days: int = 7,
        goal: str = "",
        dummy: str = "",
        channel: discord.TextChannel | None = None,
        at_least: int | None = None,
        daily_cap: int | None = None,
    ) -> None:
        """Open a drill."""
        asked = DrillAsked(what, Scoring(scoring), goal, dummy, at_least, daily_cap)
        await open_drill(self._chat, interaction, asked, days, channel)

    @app_commands.command(description="Put a drill on the server's list (coaches)")
    @app_commands.describe(**PLAN)
    @app_commands.choices(scoring=SCORINGS)
    async def plan(
        self,
        interaction: discord.Interaction[Any],
        what: str,
        scoring: str,
        goal: str = "",
        dummy: str = "",
        at_least: int | None = None,
        daily_cap: int | None = None,
    ) -> None:
        """Put a drill on the list."""
        asked = DrillAsked(what, Scoring(scoring), goal, dummy, at_least, daily_cap)
        await add_to_list(self._chat, interaction, asked)

    @app_commands.command(description="The list of drills, the weekly series, and what is open (coaches)")
    async def list(self, interaction: discord.Interaction[Any]) -> None:
        """Show the list."""
        await show_planned(self._chat, interaction)

    @app_commands.command(description="Take a drill off the server's list (coaches)")
    @app_commands.describe(name="As the list has it")
    async def unplan(self, interaction: discord.Interaction[Any], name: str) -> None:
        """Take a drill off the list."""
        await take_off_list(self._chat, interaction, name)

    @app_commands.command(description="Begin a weekly series from the list, or move it (coaches)")
    @app_commands.describe(
        day="The day on which one ends and the next begins",
        time="The time of day, such as 18:00, on the server's clocks",
        channel="Where it is posted; else here",
    )
    @app_commands.choices(day=WEEKDAYS)
    async def weekly(
        self,
        interaction: discord.Interaction[Any],
        day: int,
        time: str,
        channel: discord.TextChannel | None = None,
    ) -> None:
        """Begin a weekly series."""
        await start_weekly(self._chat, interaction, day, time, channel)

    @app_commands.command(description="End the weekly series; the open drill runs to its end (coaches)")
    async def stop(self, interaction: discord.Interaction[Any]) -> None:
        """End the series."""
        await stop_weekly(self._chat, interaction)

    @app_commands.command(description="Let the open drill close at another time (coaches)")
    @app_commands.describe(closes="Friday 18:00, in 3 days, or 2026-03-02 18:00")
    async def move(self, interaction: discord.Interaction[Any], closes: str) -> None:
        """Close the drill at another moment."""
        await move_drill(self._chat, interaction, closes)

    @app_commands.command(description="Call the open drill off; you are asked first (coaches)")
    async def cancel(self, interaction: discord.Interaction[Any]) -> None:
        """Ask whether to call the drill off."""
        await ask_to_cancel(self._chat, interaction)

    @app_commands.command(description="What was logged on the open drill, to look at or to strike (coaches)")
    async def results(self, interaction: discord.Interaction[Any]) -> None:
        """Show what was logged."""
        await show_results(self._chat, interaction)

    @app_commands.command(description="What most members drop, to drill next (coaches)")
    async def suggest(self, interaction: discord.Interaction[Any]) -> None:
        """Suggest a drill."""
        await suggest(self._chat, interaction)

    @open.autocomplete("what")
    @plan.autocomplete("what")
    async def offer_what(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What the coach practises, and saved routes."""
        return await offer_practised(self._chat, interaction, typed)

    @unplan.autocomplete("name")
    async def offer_listed(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What stands in the list."""

        async def find() -> Choices:
            return offered(
                await self._chat.drill_desk.complete_listed(place_of(self._chat, interaction), typed)
            )

        return await self._chat.offer_stored(interaction, find)

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that was filled in, opened by this process or by an earlier one."""
        await take_words(self._chat, interaction, FORMS)
