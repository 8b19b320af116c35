"""Questions about moves that are picked one by one: what a move is, and how it goes with another."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.buttons import respond
from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.offers import Choices, offered, offered_moves
from bot.render.chat import no_touch_card
from bot.results.ask import Kind
from bot.services.touch import read_touch, touches

A_MOVE = "A move: its input (5MP), its name, or in words"
WHOSE = "Whose moves; your own character where you chose one"
ON = "What the first move did: hit, block, counter hit ..."


class Moves(commands.Cog):
    """/move, /link, /cancel, /gap, /punish and /follow."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="All about one move: is it safe, what follows it")
    @app_commands.describe(move=A_MOVE, character=WHOSE)
    async def move(
        self, interaction: discord.Interaction[Any], move: str, character: str | None = None
    ) -> None:
        """Show one move's card."""
        await self._about(interaction, Kind.MOVE, move, None, None, character)

    @app_commands.command(description="Does the second move link from the first, and how tight is it?")
    @app_commands.describe(first=A_MOVE, second="The move after it", on=ON, character=WHOSE)
    async def link(
        self,
        interaction: discord.Interaction[Any],
        first: str,
        second: str,
        on: str | None = None,
        character: str | None = None,
    ) -> None:
        """Judge a link."""
        await self._about(interaction, Kind.LINK, first, second, on, character)

    @app_commands.command(description="May the first move be cancelled into the second, and does it combo?")
    @app_commands.describe(first=A_MOVE, second="The move after it", on=ON, character=WHOSE)
    async def cancel(
        self,
        interaction: discord.Interaction[Any],
        first: str,
        second: str,
        on: str | None = None,
        character: str | None = None,
    ) -> None:
        """Judge a cancel."""
        await self._about(interaction, Kind.CANCEL, first, second, on, character)

    @app_commands.command(description="When both are blocked: how large is the gap between them?")
    @app_commands.describe(
        first=A_MOVE,
        second="The move after it",
        late="By how many frames the second is late",
        character=WHOSE,
    )
    async def gap(
        self,
        interaction: discord.Interaction[Any],
        first: str,
        second: str,
        late: app_commands.Range[int, 0, 60] | None = None,
        character: str | None = None,
    ) -> None:
        """Judge a gap."""
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        result = desk.about(place, Kind.GAP, first, second, character=character, delay_frames=late)
        await respond(self._chat, interaction, result)

    @app_commands.command(description="You blocked this move: what punishes it?")
    @app_commands.describe(
        move="The move you blocked", their_character="Who did it", my_character="Who is to punish it"
    )
    async def punish(
        self,
        interaction: discord.Interaction[Any],
        move: str,
        their_character: str | None = None,
        my_character: str | None = None,
    ) -> None:
        """List what punishes a blocked move."""
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        result = desk.about(place, Kind.PUNISH, move, character=their_character, mine=my_character)
        await respond(self._chat, interaction, result)

    @app_commands.command(description="What can follow this move?")
    @app_commands.describe(move=A_MOVE, on=ON, character=WHOSE)
    async def follow(
        self,
        interaction: discord.Interaction[Any],
        move: str,
        on: str | None = None,
        character: str | None = None,
    ) -> None:
        """List what follows a move."""
        await self._about(interaction, Kind.FOLLOW_UPS, move, None, on, character)

    async def _about(
        self,
        interaction: discord.Interaction[Any],
        kind: Kind,
        first: str,
        second: str | None,
        on: str | None,
        character: str | None,
    ) -> None:
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        game = desk.game_of(place)
        touch = read_touch(game, on)
        if touch is None:
            card = no_touch_card(game, on or "", touches(game))
            await self._chat.reply(interaction, Layout(card), private=True)
            return
        result = desk.about(
            place, kind, first, second, character=character, contact=touch.contact, state=touch.state
        )
        await respond(self._chat, interaction, result)

    @move.autocomplete("move")
    @follow.autocomplete("move")
    @link.autocomplete("first")
    @link.autocomplete("second")
    @cancel.autocomplete("first")
    @cancel.autocomplete("second")
    @gap.autocomplete("first")
    @gap.autocomplete("second")
    async def offer_moves(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of the character that is named, or of the member's own."""
        character = interaction.namespace.character
        return self._chat.offer(
            interaction,
            lambda: offered_moves(
                self._chat.desk.complete_move(place_of(self._chat, interaction), typed, character)
            ),
        )

    @punish.autocomplete("move")
    async def offer_their_moves(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of who did it."""
        theirs = interaction.namespace.their_character
        return self._chat.offer(
            interaction,
            lambda: offered_moves(
                self._chat.desk.complete_move(place_of(self._chat, interaction), typed, theirs)
            ),
        )

    @move.autocomplete("character")
    @link.autocomplete("character")
    @cancel.autocomplete("character")
    @gap.autocomplete("character")
    @follow.autocomplete("character")
    @punish.autocomplete("their_character")
    @punish.autocomplete("my_character")
    async def offer_characters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the server's game."""
        desk = self._chat.desk
        return self._chat.offer(
            interaction, lambda: offered(desk.complete_character(place_of(self._chat, interaction), typed))
        )

    @link.autocomplete("on")
    @cancel.autocomplete("on")
    @follow.autocomplete("on")
    async def offer_touches(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Hit, block, whiff and the game's hit states."""
        desk = self._chat.desk
        return self._chat.offer(
            interaction, lambda: offered(touches(desk.game_of(place_of(self._chat, interaction)), typed))
        )
