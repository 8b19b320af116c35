"""A server's games and their versions: /game and its commands, and /wrong for members."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.act import FormAct
from bot.components.chat import Chat, place_of
from bot.components.game_desk import choose_game, edit_number, send_template, send_version, show_versions
from bot.components.game_offers import offer_character, offer_column, offer_move
from bot.components.game_reports import report_number, show_reports
from bot.components.game_uploads import load_game, take_columns
from bot.components.offers import Choices, offered
from bot.components.words_form import take_words

FORMS = {FormAct.COLUMNS: take_columns}


@app_commands.default_permissions(manage_guild=True)
@app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
class Games(commands.GroupCog, group_name="game", group_description="The games of this server"):
    """/game, its commands and its form."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Choose the game that this server asks about, or see which it is")
    @app_commands.describe(
        name="The game's name", channel="For this channel alone; else for the whole server"
    )
    async def choose(
        self,
        interaction: discord.Interaction[Any],
        name: str | None = None,
        channel: discord.TextChannel | None = None,
    ) -> None:
        """Choose the server's or a channel's game, or show it."""
        await choose_game(self._chat, interaction, name, channel)

    @app_commands.command(description="Send a game's files; you see what they change before it counts")
    @app_commands.describe(
        file="game.toml, or a sheet of moves saved as CSV",
        file_2="Another of them",
        file_3="Another of them",
        file_4="Another of them",
        file_5="Another of them",
        character="Whose moves a sheet has that names nobody",
        reason="Why, such as the date of a patch; it is kept with the version",
    )
    async def load(
        self,
        interaction: discord.Interaction[Any],
        file: discord.Attachment,
        file_2: discord.Attachment | None = None,
        file_3: discord.Attachment | None = None,
        file_4: discord.Attachment | None = None,
        file_5: discord.Attachment | None = None,
        character: str = "",
        reason: str = "",
    ) -> None:
        """Look at files of a game."""
        files = [one for one in (file, file_2, file_3, file_4, file_5) if one is not None]
        await load_game(self._chat, interaction, files, character, reason)

    @app_commands.command(
        description="The versions of this game that are kept: use one again, or download it"
    )
    async def versions(self, interaction: discord.Interaction[Any]) -> None:
        """Show the versions."""
        await show_versions(self._chat, interaction)

    @app_commands.command(description="Take a version's files: the rules, and every move as a sheet")
    @app_commands.describe(version="Which version; else the one that is used now")
    async def download(self, interaction: discord.Interaction[Any], version: str | None = None) -> None:
        """Send a version's files."""
        await send_version(self._chat, interaction, version)

    @app_commands.command(description="Write one number of a move anew; it becomes a version of its own")
    @app_commands.describe(
        move="The move, such as 5MP",
        column="Which number of it, such as startup",
        number="What it is, such as 6",
        reason="Why; it is kept with the version",
        character="Whose move it is",
    )
    async def edit(
        self,
        interaction: discord.Interaction[Any],
        move: str,
        column: str,
        number: str,
        reason: str,
        character: str | None = None,
    ) -> None:
        """Change a number."""
        await edit_number(self._chat, interaction, move, column, number, reason, character)

    @app_commands.command(description="Files of a game to begin with, to fill in with a spreadsheet")
    async def template(self, interaction: discord.Interaction[Any]) -> None:
        """Send the template."""
        await send_template(self._chat, interaction)

    @app_commands.command(description="Numbers that members say are wrong")
    async def reports(self, interaction: discord.Interaction[Any]) -> None:
        """Show the reports."""
        await show_reports(self._chat, interaction)

    @choose.autocomplete("name")
    async def offer_games(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """The games there are."""
        place = place_of(self._chat, interaction)
        return self._chat.offer(interaction, lambda: offered(self._chat.desk.complete_game(place, typed)))

    @download.autocomplete("version")
    async def offer_versions(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """The versions there are."""

        async def find() -> Choices:
            place = place_of(self._chat, interaction)
            return offered(await self._chat.game_desk.complete_version(place, typed))

        return await self._chat.offer_stored(interaction, find)

    @edit.autocomplete("move")
    async def offer_moves(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of the channel's game."""
        return offer_move(self._chat, interaction, typed)

    @edit.autocomplete("column")
    async def offer_columns(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Numbers of a move."""
        return offer_column(self._chat, interaction, typed)

    @edit.autocomplete("character")
    @load.autocomplete("character")
    async def offer_characters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the channel's game."""
        return offer_character(self._chat, interaction, typed)

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that was filled in, opened by this process or by an earlier one."""
        await take_words(self._chat, interaction, FORMS)


class Wrong(commands.Cog):
    """/wrong."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Say that a number of this game is wrong; the moderators look at it")
    @app_commands.describe(
        move="The move, such as 5MP",
        column="Which number of it, such as startup",
        right="What it should be, such as 6",
        note="Where you have it from",
        character="Whose move it is",
    )
    @app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
    async def wrong(
        self,
        interaction: discord.Interaction[Any],
        move: str,
        column: str,
        right: str,
        note: str = "",
        character: str | None = None,
    ) -> None:
        """Report a number."""
        await report_number(self._chat, interaction, move, column, right, note, character)

    @wrong.autocomplete("move")
    async def offer_moves(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of the channel's game."""
        return offer_move(self._chat, interaction, typed)

    @wrong.autocomplete("column")
    async def offer_columns(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Numbers of a move."""
        return offer_column(self._chat, interaction, typed)

    @wrong.autocomplete("character")
    async def offer_characters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the channel's game."""
        return offer_character(self._chat, interaction, typed)
