"""What the bot may not do in a server and should."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import ModAct
from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_buttons
from bot.render.health import health_card
from bot.results.drills import DrillRefusal
from bot.results.setup import ChannelHealth, Health, Need, Step, Used


async def show_health(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Channel by channel, with how to grant what is missing."""
    guild = interaction.guild
    assert guild is not None, "only a moderator of a server gets here"
    health = await health_of(chat, interaction, guild)
    card = health_card(guild.name, health, chat.desk.game_of(place_of(chat, interaction)))
    buttons = mod_buttons((ModAct.HEALTH, 0), (ModAct.SETTINGS, 0))
    layout = Layout(card, None, buttons)
    if interaction.message is not None and interaction.message.flags.ephemeral:
        await chat.replace(interaction, layout)
    else:
        await chat.reply(interaction, layout, private=True)


async def health_of(chat: Chat, interaction: discord.Interaction[Any], guild: discord.Guild) -> Health:
    """What is amiss, in the channels that are used and where this was asked."""
    settings = chat.book.server(guild.id)
    used: dict[int, list[Used]] = {}
    for channel_id, use in (
        (settings.notice_channel, Used.NOTICES),
        (settings.patch_channel, Used.PATCHES),
        *await _of_drills(chat, interaction),
        (interaction.channel_id, Used.HERE),
    ):
        if channel_id is not None and use not in used.setdefault(channel_id, []):
            used[channel_id].append(use)
    roles = {Step.COACHES: settings.coach_role, Step.MODERATORS: settings.moderator_role}
    gone = [step for step, role in roles.items() if role is not None and guild.get_role(role) is None]
    here = interaction.app_permissions
    channels = [
        _channel(guild, channel_id, uses, here if Used.HERE in uses else None)
        for channel_id, uses in used.items()
    ]
    return Health(tuple(channels), tuple(gone))


async def _of_drills(chat: Chat, interaction: discord.Interaction[Any]) -> list[tuple[int, Used]]:
    listed = await chat.drill_desk.listed(place_of(chat, interaction))
    if isinstance(listed, DrillRefusal):
        return []
    weekly = [(listed.series.channel_id, Used.WEEKLY)] if listed.series is not None else []
    return weekly + [(drill.channel_id, Used.DRILL) for drill in (*listed.open, *listed.planned)]


def _channel(
    guild: discord.Guild, channel_id: int, uses: list[Used], here: discord.Permissions | None
) -> ChannelHealth:
    channel = guild.get_channel_or_thread(channel_id)
    if channel is None:
        return ChannelHealth(None, tuple(uses))
    allowed = here if here is not None else channel.permissions_for(guild.me)
    missing = tuple(need for need in Need if not getattr(allowed, need.value))
    return ChannelHealth(channel.name, tuple(uses), missing)
