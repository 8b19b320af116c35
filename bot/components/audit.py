"""What moderators and coaches did, page by page."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import ModAct
from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_button, mod_buttons
from bot.render.audit import audit_card, older_words


async def show_audit(chat: Chat, interaction: discord.Interaction[Any], before: int = 0) -> None:
    """The latest entries, or those before one."""
    guild = interaction.guild
    assert guild is not None, "only a moderator of a server gets here"
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    page = await chat.audit.page(place, before)
    names = await chat.names.of(guild.id, {one.made_by for one in page.entries if one.made_by is not None})
    things = {str(role.id): role.name for role in guild.roles}
    things |= {str(channel.id): f"#{channel.name}" for channel in guild.channels}
    zone = chat.book.server_zone(guild.id)
    card = audit_card(page, names, things, zone, chat.desk.game_of(place), first=not before)
    buttons = mod_buttons((ModAct.SETTINGS, 0))
    if page.older:
        buttons.insert(0, mod_button(ModAct.AUDIT, page.entries[-1].id, older_words()))
    await chat.reply(interaction, Layout(card, None, buttons), private=True)
