"""The slash commands: each is admitted, and its errors are told, in one way."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any, cast

import discord
from discord import app_commands

from bot.client import sending
from bot.client.policy import UNKNOWN_COMMAND
from bot.client.work import Outcome

if TYPE_CHECKING:
    from bot.client.bot import ChatBot


class Tree(app_commands.CommandTree["ChatBot"]):
    """The command tree of the bot."""

    def __init__(self, client: ChatBot) -> None:
        super().__init__(client)
        logging.getLogger("discord.app_commands.tree").addFilter(_is_news)

    async def interaction_check(self, interaction: discord.Interaction[ChatBot], /) -> bool:
        """Whether the command runs, or completes the option that somebody is typing into."""
        try:
            return await self.client.admit(interaction, action_of(interaction))
        except Exception as error:
            await self.client.apologise(interaction, error, action_of(interaction))
            return False

    async def on_error(
        self, interaction: discord.Interaction[ChatBot], error: app_commands.AppCommandError, /
    ) -> None:
        """Tell who asked."""
        if isinstance(error, app_commands.CommandNotFound | app_commands.CommandSignatureMismatch):
            self.client.work.came_out(Outcome.REFUSED)
            await sending.tell(interaction, UNKNOWN_COMMAND)
        else:
            await self.client.apologise(
                interaction, getattr(error, "original", error), action_of(interaction)
            )


def _is_news(record: logging.LogRecord) -> bool:
    """The library sends what completes an option, and logs with a traceback where that came too late: such
    comes with each key that is pressed, nobody waits for it, and nothing is lost."""
    error = record.exc_info[1] if record.exc_info else None
    return not (isinstance(error, discord.HTTPException) and error.code in sending.TOO_LATE)


def action_of(interaction: discord.Interaction[Any]) -> str:
    """What is done, as the access table calls it: `command link`, or `autocomplete link.first`."""
    command, data = interaction.command, cast("dict[str, Any]", interaction.data or {})
    name = command.qualified_name if command else str(data.get("name"))
    if interaction.type is not discord.InteractionType.autocomplete:
        return f"command {name}"
    return f"autocomplete {name}.{_focused(data.get('options', []))}"


def _focused(options: list[dict[str, Any]]) -> str:
    for option in options:
        if option.get("focused"):
            return str(option["name"])
        if "options" in option:
            return _focused(option["options"])
    return ""
