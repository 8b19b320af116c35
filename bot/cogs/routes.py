"""Routes: saved, shared, and how they are played."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.form import form_sent
from bot.components.ids import SAVE_FORM_TEMPLATE
from bot.components.offers import Choices, offer_practised, offered, offered_moves
from bot.components.playing import clicks_of, inputs_of, sheet_of
from bot.components.routes import check_route, open_saved, show_find, show_next
from bot.components.saving import (
    forget_route,
    save_route,
    share_named,
    show_library,
    show_saved,
    take_save_form,
)
from bot.results.finding import FEWEST_MOVES, LONGEST_MOVES, MOST_MOVES, Wanted
from bot.results.place import Place
from bot.results.tally import Side
from bot.services.complete import complete_states
from core.routes import Aim

FORM = re.compile(SAVE_FORM_TEMPLATE)
SIDES = [app_commands.Choice(name=f"facing {one.value}", value=one.value) for one in Side]
WHAT = "The route, or what you saved it as"
STARTER = "The first move, such as 5MP; any of your character's where you name none"
STATE = "How the first move hits, where not plainly: counter hit ..."
GAUGE = "As in: salt 50, or none; else all there is"
WANTS = [
    app_commands.Choice(name=name, value=aim.value)
    for name, aim in (
        ("best damage", Aim.DAMAGE),
        ("most damage landed by you on average", Aim.EXPECTED),
        ("surest", Aim.RELIABLE),
        ("shortest", Aim.SHORTEST),
    )
]

Completes = Callable[[Place, str], Awaitable[tuple[str, ...]]]
"""What a text may become, by where it is typed."""


class Routes(commands.Cog):
    """/route: checking and finding routes, saving and sharing them, and how they are played."""

    route = app_commands.Group(name="route", description="Routes that you keep under names of your own")

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @route.command(description="Does a route work, step by step, and what does it come to?")
    @app_commands.describe(
        moves="The route: 5MP > 2MP > 236LP",
        state=STATE,
        distance="How far apart you begin; else right in front",
        airborne="Whether they are in the air already",
        gauge=GAUGE,
    )
    async def check(
        self,
        interaction: discord.Interaction[Any],
        moves: str,
        state: str = "",
        distance: app_commands.Range[float, 0, 100] | None = None,
        airborne: bool = False,
        gauge: str = "",
    ) -> None:
        """Check a route."""
        await check_route(self._chat, interaction, moves, state, gauge, airborne, distance)

    @route.command(name="open", description="A route that you saved, step by step")
    @app_commands.describe(name="What you called it")
    async def open_one(self, interaction: discord.Interaction[Any], name: str) -> None:
        """Open a saved route."""
        await open_saved(self._chat, interaction, name)

    @route.command(description="Routes to choose from, with how likely you land each")
    @app_commands.describe(
        starter=STARTER,
        want="What counts most; else best damage",
        at_least="Damage it must do at least",
        gauge="What it may cost at most: none, or as in salt 50; else all there is",
        knockdown="Whether it must knock down",
        with_moves="Moves that must be in it, with commas between",
        without="Moves to leave out, with commas between",
        state=STATE,
        airborne="Whether they are in the air already",
        distance="How far apart you begin; else right in front",
        moves="How many moves at most; else 6",
        picture="Damage against the chance to land it, as a picture too",
    )
    @app_commands.choices(want=WANTS)
    async def find(
        self,
        interaction: discord.Interaction[Any],
        starter: str = "",
        want: str = Aim.DAMAGE.value,
        at_least: app_commands.Range[int, 0, 1_000_000] = 0,
        gauge: str = "",
        knockdown: bool = False,
        with_moves: str = "",
        without: str = "",
        state: str = "",
        airborne: bool = False,
        distance: app_commands.Range[float, 0, 100] | None = None,
        moves: app_commands.Range[int, FEWEST_MOVES, LONGEST_MOVES] = MOST_MOVES,
        picture: bool = False,
    ) -> None:
        """Find routes."""
        inside = (with_moves, without, state, airborne, distance, moves)
        wanted = Wanted(starter, Aim(want), at_least, gauge, knockdown, *inside)
        await show_find(self._chat, interaction, wanted, picture)

    @route.command(name="next", description="What to learn next: one step up from what you own")
    @app_commands.describe(starter=STARTER)
    async def next_up(self, interaction: discord.Interaction[Any], starter: str = "") -> None:
        """The next route to learn."""
        await show_next(self._chat, interaction, starter)

    @route.command(description="Save a route under a name; only you see it")
    @app_commands.describe(
        moves="The route: 5MP > 2MP > 236LP",
        name="What you call it",
        tags="Words to find it by: corner, punish",
    )
    async def save(
        self, interaction: discord.Interaction[Any], moves: str, name: str, tags: str | None = None
    ) -> None:
        """Save a route."""
        await save_route(self._chat, interaction, moves, name, tags)

    @route.command(name="list", description="The routes that you saved")
    @app_commands.describe(tag="Only those with this tag")
    async def list_all(self, interaction: discord.Interaction[Any], tag: str | None = None) -> None:
        """List the member's routes."""
        await show_saved(self._chat, interaction, tag=tag)

    @route.command(description="Forget a saved route; what you logged for it stays")
    @app_commands.describe(name="What you called it")
    async def forget(self, interaction: discord.Interaction[Any], name: str) -> None:
        """Forget a route."""
        await forget_route(self._chat, interaction, name)

    @route.command(description="Show a route that you saved to everybody in the server")
    @app_commands.describe(name="What you called it")
    async def share(self, interaction: discord.Interaction[Any], name: str) -> None:
        """Share a route."""
        await share_named(self._chat, interaction, name)

    @route.command(description="The routes that members of this server share")
    @app_commands.describe(character="Only those of this character", tag="Only those with this tag")
    async def shared(
        self, interaction: discord.Interaction[Any], character: str | None = None, tag: str | None = None
    ) -> None:
        """List the server's routes, for everybody to see."""
        await show_library(self._chat, interaction, character=character, tag=tag, private=False)

    @route.command(description="What to enter for a route, with directions shared between motions")
    @app_commands.describe(what=WHAT, side="Which way you face; else as you last did")
    @app_commands.choices(side=SIDES)
    async def inputs(
        self, interaction: discord.Interaction[Any], what: str, side: app_commands.Choice[str] | None = None
    ) -> None:
        """What to enter."""
        await inputs_of(self._chat, interaction, what, Side(side.value) if side else None)

    @route.command(description="When to press each move of a route, as a picture and in words")
    @app_commands.describe(what=WHAT)
    async def rhythm(self, interaction: discord.Interaction[Any], what: str) -> None:
        """The rhythm sheet."""
        await sheet_of(self._chat, interaction, what)

    @route.command(description="A click track of a route, to train along with")
    @app_commands.describe(
        what=WHAT,
        speed="In percent of the game's speed; else 100",
        loops="How often it is played; else 4 times",
    )
    async def clicks(
        self,
        interaction: discord.Interaction[Any],
        what: str,
        speed: app_commands.Range[int, 25, 150] = 100,
        loops: app_commands.Range[int, 1, 20] | None = None,
    ) -> None:
        """The click track."""
        await clicks_of(self._chat, interaction, what, speed, loops)

    @inputs.autocomplete("what")
    @rhythm.autocomplete("what")
    @clicks.autocomplete("what")
    async def offer_route(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What the member practises, and their saved routes."""
        return await offer_practised(self._chat, interaction, typed)

    @find.autocomplete("starter")
    @next_up.autocomplete("starter")
    async def offer_starters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of the member's own character."""
        desk = self._chat.desk
        return self._chat.offer(
            interaction, lambda: offered_moves(desk.complete_move(place_of(self._chat, interaction), typed))
        )

    @check.autocomplete("state")
    @find.autocomplete("state")
    async def offer_states(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Hit states of the server's game."""
        game = self._chat.desk.game_of(place_of(self._chat, interaction))
        return self._chat.offer(interaction, lambda: offered(complete_states(game, typed)))

    @open_one.autocomplete("name")
    @forget.autocomplete("name")
    @share.autocomplete("name")
    async def offer_names(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Names of the member's routes."""
        return await self._offer(interaction, typed, self._chat.routes.complete)

    @save.autocomplete("tags")
    async def offer_more_tags(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What was typed so far, with tags of the member's routes."""
        return await self._offer(interaction, typed, self._chat.routes.complete_tags)

    @list_all.autocomplete("tag")
    async def offer_tags(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Tags of the member's routes."""
        return await self._offer(interaction, typed, self._chat.routes.complete_tag)

    @shared.autocomplete("tag")
    async def offer_shared_tags(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Tags of the server's routes."""
        return await self._offer(interaction, typed, self._chat.library.complete_tag)

    @shared.autocomplete("character")
    async def offer_characters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the server's game."""
        place = place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered(self._chat.desk.complete_character(place, typed))
        )

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that saves a route, opened by this process or by an earlier one."""
        custom_id = form_sent(interaction)
        if FORM.fullmatch(custom_id):
            await self._chat.press(
                interaction, "form save", lambda: take_save_form(self._chat, interaction, custom_id)
            )

    async def _offer(self, interaction: discord.Interaction[Any], typed: str, complete: Completes) -> Choices:
        """What of the stored the text may become."""

        async def find() -> Choices:
            return offered(await complete(place_of(self._chat, interaction), typed))

        return await self._chat.offer_stored(interaction, find)
