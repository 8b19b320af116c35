"""The lists to pick a route from: one of the member's own, or one that the server shares."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import ROUTE_PICK_TEMPLATE, PickFrom, PracticeKey, make_route_pick_id, read_route_pick
from bot.components.layout import Layout
from bot.components.practice_buttons import Pick, practice_buttons, show_gone
from bot.components.route_buttons import refused_layout
from bot.components.routes import open_route
from bot.render.routes import PICKED_FROM, route_pick_hint, route_pick_label, shared_route_card
from bot.results.log import LogRefusal
from bot.results.tally import SavedRoute, SharedRoute


class RoutePick(Pick, template=ROUTE_PICK_TEMPLATE):
    """Picks a route to look at."""

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], value: str) -> None:
        """Open the route."""
        match read_route_pick(self.custom_id, value):
            case None:
                await show_gone(chat, interaction)
            case PickFrom.SAVED, route_id:
                await open_saved(chat, interaction, route_id)
            case PickFrom.SHARED, library_id:
                await show_shared(chat, interaction, library_id)


def route_pick(routes: Sequence[SavedRoute] | Sequence[SharedRoute], kept: PickFrom) -> RoutePick | None:
    """A list of the first of these routes to pick from; None where there are none."""
    if not routes:
        return None
    options = []
    for route in routes[:PICKED_FROM]:
        label, below = route_pick_label(route)
        options.append(discord.SelectOption(label=label, description=below, value=str(route.id)))
    hint = route_pick_hint(shared=kept is PickFrom.SHARED)
    return RoutePick(discord.ui.Select(custom_id=make_route_pick_id(kept), placeholder=hint, options=options))


async def open_saved(chat: Chat, interaction: discord.Interaction[Any], route_id: int) -> None:
    """A route that the member saved, step by step."""
    place = place_of(chat, interaction)
    number = await chat.routes.opened(place, route_id)
    if isinstance(number, LogRefusal):
        await chat.reply(interaction, refused_layout(chat, place, number), private=True)
    else:
        await open_route(chat, interaction, number)


async def show_shared(chat: Chat, interaction: discord.Interaction[Any], library_id: int) -> None:
    """A route that the server shares, with what may be done with it."""
    place = place_of(chat, interaction)
    picked = await chat.library.picked(place, library_id, moderates=moderates(chat, interaction))
    if isinstance(picked, LogRefusal):
        await chat.reply(interaction, refused_layout(chat, place, picked), private=True)
        return
    acts = [PracticeKey(Act.KEEP, library_id), PracticeKey(Act.ROUTE, picked.subject_id)]
    if picked.may_tidy:
        acts.append(PracticeKey(Act.TIDY, library_id))
    card = shared_route_card(picked, chat.desk.game_of(place))
    await chat.reply(interaction, Layout(card, None, practice_buttons(*acts)), private=True)


def moderates(chat: Chat, interaction: discord.Interaction[Any]) -> bool:
    """Whether who pressed moderates the server that they press in, as the bot's gate has it; nobody does in
    direct messages."""
    if interaction.guild_id is None:
        return False
    role = chat.book.server(interaction.guild_id).moderator_role
    member = interaction.user
    named = isinstance(member, discord.Member) and any(one.id == role for one in member.roles)
    return interaction.permissions.manage_guild or named
