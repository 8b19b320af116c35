"""The lists of the steps of a server's set-up: of channels, of roles, or of words."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.chat import Chat
from bot.components.ids import make_setup_id
from bot.limits import CHOICE_CHARACTERS, CHOICES
from bot.render.limits import cut
from bot.render.setup import notation_words, pick_words
from bot.results.place import Place
from bot.results.setup import Step
from bot.results.tally import Notation

TEXT = [discord.ChannelType.text, discord.ChannelType.news]


def setup_pick(chat: Chat, place: Place, step: Step) -> discord.ui.Item[Any] | None:
    """The list of a step that has one, with what is chosen now; nothing may be picked where that is a choice
    too."""
    settings, custom_id = chat.book.server(place.server_id), make_setup_id(step)
    match step:
        case Step.NOTICES | Step.PATCHES:
            chosen = settings.notice_channel if step is Step.NOTICES else settings.patch_channel
            return discord.ui.ChannelSelect(
                custom_id=custom_id,
                channel_types=TEXT,
                placeholder=pick_words(step),
                min_values=0,
                default_values=_now(chosen, discord.SelectDefaultValueType.channel),
            )
        case Step.COACHES | Step.MODERATORS:
            chosen = settings.coach_role if step is Step.COACHES else settings.moderator_role
            return discord.ui.RoleSelect(
                custom_id=custom_id,
                placeholder=pick_words(step),
                min_values=0,
                default_values=_now(chosen, discord.SelectDefaultValueType.role),
            )
        case Step.GAME:
            now = chat.desk.game_of(place).name
            options = [
                discord.SelectOption(label=cut(name, CHOICE_CHARACTERS), value=str(at), default=name == now)
                for at, name in enumerate(_games(chat, place))
            ]
        case Step.NOTATION:
            usual = settings.notation or Notation.NUMPAD
            options = [
                discord.SelectOption(label=notation_words(one), value=one.value, default=one is usual)
                for one in Notation
            ]
        case _:
            return None
    return discord.ui.Select(custom_id=custom_id, placeholder=pick_words(step), options=options)


def game_called(chat: Chat, place: Place, value: str | None) -> str | None:
    """The game that was picked from its list; None where there is no such one any more."""
    games = _games(chat, place)
    number = int(value) if value is not None and value.isascii() and value.isdigit() else len(games)
    return games[number] if number < len(games) else None


def _games(chat: Chat, place: Place) -> tuple[str, ...]:
    return chat.desk.complete_game(place, "")[:CHOICES]


def _now(chosen: int | None, kind: discord.SelectDefaultValueType) -> list[discord.SelectDefaultValue]:
    return [discord.SelectDefaultValue(id=chosen, type=kind)] if chosen is not None else []
