"""The set-up of a server: its steps, what is picked or typed in them, and all settings on one card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Self, cast

import discord

from bot.components.act import FormAct, ModAct
from bot.components.chat import Chat, place_of
from bot.components.coaching import CALLING, refuse
from bot.components.form import filled_in
from bot.components.health import health_of
from bot.components.ids import SETUP_PICK_TEMPLATE, read_setup_id
from bot.components.layout import Layout
from bot.components.mod_buttons import ModButton, mod_button, mod_buttons
from bot.components.practice_buttons import Pick, show_gone
from bot.components.setup_picks import game_called, setup_pick
from bot.components.words_form import Field, WordsForm
from bot.render.chat import no_zone_card
from bot.render.setup import (
    STEPS,
    Chosen,
    button_words,
    channel_words,
    done_card,
    notation_words,
    quiet_words,
    settings_card,
    setup_refusal_card,
    step_card,
    step_words,
)
from bot.results.coaching import CoachRefusal
from bot.results.setup import Step
from bot.results.tally import Notation
from bot.services.settings import complete_zones

ROLES = {Step.COACHES: "coach_role", Step.MODERATORS: "moderator_role"}
CHANNELS = {Step.NOTICES: "notice_channel", Step.PATCHES: "patch_channel"}
"""The steps that choose such a thing, and the setting that holds its id."""
TYPED = {
    Step.ZONE: Field("setup-zone", 60, required=False),
    Step.QUIET: Field("setup-quiet", 30, required=False),
}


class SetupPick(Pick, template=SETUP_PICK_TEMPLATE):
    """Chooses what was picked in a step."""

    ACTION = "moderate"

    @classmethod
    async def from_custom_id(
        cls, _: discord.Interaction[Any], item: discord.ui.Item[Any], __: Any, /
    ) -> Self:
        """The list that was picked from, of channels, roles or words, made again from its id."""
        return cls(item)  # type: ignore[arg-type]  # all lists have what is used of them

    async def callback(self, interaction: discord.Interaction[Any]) -> None:
        """Take what was picked, which may be nothing."""
        chat: Chat = interaction.client
        data = cast("dict[str, Any]", interaction.data or {})
        values = tuple(map(str, data.get("values", ())))
        await chat.press(interaction, f"button {self.ACTION}", lambda: self._taken(chat, interaction, values))

    async def _taken(self, chat: Chat, interaction: discord.Interaction[Any], values: Sequence[str]) -> None:
        step = _step(read_setup_id(self.custom_id))
        if step is None:
            await show_gone(chat, interaction)
        else:
            await _take(chat, interaction, step, values[0] if values else None)


async def show_step(chat: Chat, interaction: discord.Interaction[Any], number: int = 0) -> None:
    """A step, in place of the one before where that stands on a card of the presser's own."""
    step = _step(number)
    guild = interaction.guild
    if step is None:
        await show_gone(chat, interaction)
    elif guild is None:
        await _refuse(chat, interaction, "no-server")
    elif step is Step.DONE:
        await _show(chat, interaction, await _done(chat, interaction, guild))
    else:
        await _show(chat, interaction, _layout(chat, interaction, guild, step))


async def show_settings(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """All that the server chose, with a button to each step."""
    guild = interaction.guild
    if guild is None:
        await _refuse(chat, interaction, "no-server")
        return
    place = place_of(chat, interaction)
    game = chat.desk.game_of(place)
    chosen = {step: _chosen(chat, guild, step) for step in STEPS}
    card = settings_card(guild.name, chosen, chat.book.server(guild.id).keep_days, game)
    steps = [mod_button(ModAct.SETUP, step, step_words(step)) for step in STEPS]
    buttons = [*steps, *mod_buttons((ModAct.HEALTH, 0), (ModAct.AUDIT, 0))]
    await _show(chat, interaction, Layout(card, None, buttons))


async def open_words(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """Open the form of a step."""
    step = _step(number)
    if step is None or step not in TYPED:
        await show_gone(chat, interaction)
    else:
        settings = chat.book.server(interaction.guild_id)
        now = settings.zone if step is Step.ZONE else settings.quiet
        field = replace(TYPED[step], value=str(now or ""))
        await chat.show(interaction, WordsForm(FormAct.SETUP, step, [field]))


async def take_words(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """Choose what was typed in a step."""
    step = _step(number)
    if step is None or step not in TYPED:
        await show_gone(chat, interaction)
        return
    await _take(chat, interaction, step, filled_in(interaction).get(TYPED[step].name, "").strip())


async def _take(chat: Chat, interaction: discord.Interaction[Any], step: Step, value: str | None) -> None:
    """Choose this, None for nothing, and show the step again; or say why not."""
    guild = interaction.guild
    if guild is None:
        await _refuse(chat, interaction, "no-server")
        return
    place, event_id = place_of(chat, interaction), interaction.id
    if step in ROLES or step in CHANNELS:
        if not await _may_be(chat, interaction, guild, step, value):
            return
        name = (ROLES | CHANNELS)[step]
        await chat.book.change_server(place, {name: int(value) if value else None}, event_id)
    elif step is Step.ZONE:
        if not value:
            await chat.book.change_server(place, {"zone": None}, event_id)
        elif await chat.book.set_zone(place, value, event_id) is None:
            card = no_zone_card(value, complete_zones(value), chat.desk.game_of(place))
            await chat.reply(interaction, Layout(card, None, _again(step)), private=True)
            return
    elif step is Step.QUIET:
        done = await chat.reminders.set_server_quiet(place, value or "", event_id)
        if isinstance(done, CoachRefusal):
            await refuse(chat, interaction, done, _again(step))
            return
    elif step is Step.GAME:
        called = game_called(chat, place, value)
        if called is None:
            await show_gone(chat, interaction)
            return
        await chat.desk.choose_game(place, called, event_id)
    elif value in set(Notation):
        await chat.book.change_server(place, {"notation": Notation(value)}, event_id)
    else:
        await show_gone(chat, interaction)
        return
    await _show(chat, interaction, _layout(chat, interaction, guild, step))


async def _may_be(
    chat: Chat, interaction: discord.Interaction[Any], guild: discord.Guild, step: Step, value: str | None
) -> bool:
    """Whether this role or channel may be chosen; where not, that is told."""
    if step is Step.MODERATORS and not interaction.permissions.manage_guild:
        await _refuse(chat, interaction, "not-you", step)
        return False
    if value is None:
        return True
    number = int(value) if value.isascii() and value.isdigit() else 0
    if step in CHANNELS:
        channel = guild.get_channel(number)
        if channel is None or not channel.permissions_for(guild.me) >= CALLING:
            await _refuse(chat, interaction, "no-channel", step, channel=channel.name if channel else value)
            return False
        return True
    role = guild.get_role(number)
    if role is None or role.is_default():
        await _refuse(chat, interaction, "everybody", step)
        return False
    if role.managed:
        await _refuse(chat, interaction, "managed", step, role=role.name)
        return False
    return True


def _chosen(chat: Chat, guild: discord.Guild, step: Step) -> Chosen:
    """What the server chose in a step, in words."""
    settings = chat.book.server(guild.id)
    if step in ROLES:
        role_id = getattr(settings, ROLES[step])
        role = guild.get_role(role_id or 0)
        return Chosen(role.name if role else None, gone=role_id is not None and role is None)
    if step in CHANNELS:
        channel_id = getattr(settings, CHANNELS[step])
        channel = guild.get_channel(channel_id or 0)
        name = channel_words(channel.name) if channel else None
        return Chosen(name, gone=channel_id is not None and channel is None)
    match step:
        case Step.ZONE:
            return Chosen(settings.zone)
        case Step.GAME:
            return Chosen(settings.game)
        case Step.NOTATION:
            return Chosen(notation_words(settings.notation) if settings.notation else None)
        case _:
            return Chosen(quiet_words(settings.quiet) if settings.quiet else None)


def _layout(chat: Chat, interaction: discord.Interaction[Any], guild: discord.Guild, step: Step) -> Layout:
    place = place_of(chat, interaction)
    chosen = _chosen(chat, guild, step)
    card = step_card(step, chosen, chat.desk.game_of(place))
    buttons: list[ModButton] = mod_buttons((ModAct.SETUP_WORDS, step)) if step in TYPED else []
    if step > 0:
        buttons.append(mod_button(ModAct.SETUP, step - 1, button_words("back")))
    onward = "skip" if chosen.value is None else "next"
    buttons.append(mod_button(ModAct.SETUP, step + 1, button_words(onward)))
    buttons += mod_buttons((ModAct.SETTINGS, 0))
    built = None if step in TYPED else setup_pick(chat, place, step)
    return Layout(card, None, buttons, pick=SetupPick(built) if built is not None else None)  # type: ignore[arg-type]


async def _done(chat: Chat, interaction: discord.Interaction[Any], guild: discord.Guild) -> Layout:
    place = place_of(chat, interaction)
    health = await health_of(chat, interaction, guild)
    moderators = _chosen(chat, guild, Step.MODERATORS).value
    card = done_card(guild.name, health, moderators, chat.desk.game_of(place))
    back = mod_button(ModAct.SETUP, Step.DONE - 1, button_words("back"))
    return Layout(card, None, [back, *mod_buttons((ModAct.SETTINGS, 0), (ModAct.HEALTH, 0))])


async def _show(chat: Chat, interaction: discord.Interaction[Any], layout: Layout) -> None:
    """In place of the card that was pressed, where only who pressed sees it."""
    if interaction.message is not None and interaction.message.flags.ephemeral:
        await chat.replace(interaction, layout)
    else:
        await chat.reply(interaction, layout, private=True)


async def _refuse(
    chat: Chat, interaction: discord.Interaction[Any], key: str, step: Step | None = None, **facts: str
) -> None:
    card = setup_refusal_card(key, chat.desk.game_of(place_of(chat, interaction)), **facts)
    buttons = _again(step) if step is not None else []
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


def _again(step: Step) -> list[ModButton]:
    """A button back to the step, where what was typed or picked there could not be chosen."""
    typed = mod_buttons((ModAct.SETUP_WORDS, step)) if step in TYPED else []
    return [*typed, mod_button(ModAct.SETUP, step, button_words("back"))]


def _step(number: int | None) -> Step | None:
    return Step(number) if number in set(Step) else None
