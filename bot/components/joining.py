"""The first words in a server that has taken the bot."""

from __future__ import annotations

import discord

from bot.components.act import ModAct
from bot.components.chat import Chat
from bot.components.coaching import CALLING
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_buttons
from bot.components.welcome import welcome_buttons
from bot.render.setup import joined_card
from bot.results.place import Place


async def joined(chat: Chat, guild: discord.Guild) -> None:
    """Nothing of the server is to be forgotten; and a greeting, once, where the platform greets newcomers and
    we may speak. Nowhere else: nobody asked for it."""
    await chat.leaving.back(guild.id)
    channel, since = guild.system_channel, guild.me.joined_at
    if channel is None or since is None or not channel.permissions_for(guild.me) >= CALLING:
        return
    place = Place(guild.id, channel.id, guild.me.id)
    welcome = chat.desk.welcome(place)
    buttons = [*mod_buttons((ModAct.SETUP, 0)), *welcome_buttons(chat.desk, place)]
    layout = Layout(joined_card(welcome), None, buttons)
    await chat.post_once(f"welcome:{guild.id}:{int(since.timestamp())}", channel.id, layout, home=guild.id)
