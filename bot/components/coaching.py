"""Who coaches whom: asking, answering and ending it, and who may be a coach at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import act_buttons, named_button, practice_buttons
from bot.render.coaching import (
    accepted_card,
    asked_card,
    cannot_call_card,
    coach_refusal_card,
    coaches_card,
    confirm_end_card,
    ended_card,
    member_name,
    my_coaches_card,
    not_a_coach_role_card,
    shown_coachings,
)
from bot.results.coaching import Coaching, CoachRefusal, Ended
from bot.results.log import LogRefusal
from bot.results.place import Owner

CALLING = discord.Permissions(view_channel=True, send_messages=True, read_message_history=True)
"""What we need in a channel to call somebody there."""


async def names_of(chat: Chat, owners: Iterable[Owner]) -> dict[int, str]:
    """What these are called in their servers, by member id."""
    wanted: dict[int, set[int]] = {}
    for owner in owners:
        wanted.setdefault(owner.server_id, set()).add(owner.member_id)
    names: dict[int, str] = {}
    for server_id, members in wanted.items():
        names |= await chat.names.of(server_id, members)
    return names


async def name_of(chat: Chat, owner: Owner) -> str:
    """What somebody is called in their server."""
    return member_name(await names_of(chat, (owner,)), owner)


async def refuse(
    chat: Chat,
    interaction: discord.Interaction[Any],
    why: CoachRefusal | LogRefusal,
    buttons: Sequence[discord.ui.Item[Any]] = (),
) -> None:
    """Say why nothing was done."""
    game = chat.desk.game_of(place_of(chat, interaction))
    await chat.reply(interaction, Layout(coach_refusal_card(why, game), None, buttons), private=True)


async def choose_coaches(
    chat: Chat,
    interaction: discord.Interaction[Any],
    role: discord.Role | None,
    channel: discord.TextChannel | None,
) -> None:
    """Choose which role makes coaches in this server and where those are called whose messages are closed;
    what is None stays, and what is chosen is shown."""
    place = place_of(chat, interaction)
    game, guild = chat.desk.game_of(place), interaction.guild
    assert guild is not None, "the command is a server's"
    if role is not None and role.is_default():
        await chat.reply(interaction, Layout(not_a_coach_role_card(game)), private=True)
        return
    if channel is not None and not channel.permissions_for(guild.me) >= CALLING:
        await chat.reply(interaction, Layout(cannot_call_card(channel.name, game)), private=True)
        return
    chosen = chat.book.server(guild.id)
    if role is not None or channel is not None:
        named = {"coach_role": role, "notice_channel": channel}
        ids = {name: one.id for name, one in named.items() if one is not None}
        chosen = await chat.book.change_server(place, ids, interaction.id)
    coach = guild.get_role(chosen.coach_role or 0)
    calls = guild.get_channel(chosen.notice_channel or 0)
    key = "channel" if calls else "channel-gone" if chosen.notice_channel else "channel-none"
    card = coaches_card(coach.name if coach else None, calls.name if calls else None, key, game)
    await chat.reply(interaction, Layout(card), private=True)


async def ask(
    chat: Chat, interaction: discord.Interaction[Any], member: discord.Member | discord.User
) -> None:
    """Ask a member to be the coach's student."""
    place = place_of(chat, interaction)
    asked = await chat.coaching.ask(place, member.id, interaction.id, is_bot=member.bot)
    if isinstance(asked, CoachRefusal):
        await refuse(chat, interaction, asked)
        return
    card = asked_card(member.display_name, chat.desk.game_of(place))
    await chat.reply(interaction, Layout(card, None, act_buttons(Act.STUDENTS)), private=True)


async def my_coaches(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """The member's coaches and who asks to be one, with what can be answered or ended."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    mine = await chat.coaching.mine(place)
    shown = shown_coachings(mine)
    names = await names_of(chat, (one.coach for one in shown))
    ids = {one.coach.server_id for one in mine}
    servers = {one: await chat.names.server(one) or "" for one in ids} if len(ids) > 1 else {}
    zone = chat.book.zone(place.owner)
    card = my_coaches_card(mine, names, servers, chat.desk.game_of(place), zone)
    buttons = [
        named_button(key, member_name(names, one.coach), alone=len(shown) == 1)
        for one in shown
        for key in _keys(one)
    ]
    buttons += act_buttons(Act.HOMEWORK, Act.REMINDERS)
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


async def accept_coach(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """The member says yes."""
    place = place_of(chat, interaction)
    accepted = await chat.coaching.answer(place, coaching_id, True, interaction.id)
    if isinstance(accepted, Coaching):
        await chat.wait_in_place(interaction)
        card = accepted_card(await name_of(chat, accepted.coach), chat.desk.game_of(place))
        buttons = act_buttons(Act.HOMEWORK, Act.MY_COACHES, Act.REMINDERS)
        await chat.replace(interaction, Layout(card, None, buttons))
    else:
        await _over(chat, interaction, accepted)


async def refuse_coach(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """The member says no."""
    answered = await chat.coaching.answer(place_of(chat, interaction), coaching_id, False, interaction.id)
    assert not isinstance(answered, Coaching), "only a yes begins one"
    await _over(chat, interaction, answered)


async def ask_to_end(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """Ask once more before it is ended."""
    place = place_of(chat, interaction)
    known = await chat.coaching.one(place, coaching_id)
    if isinstance(known, CoachRefusal):
        await refuse(chat, interaction, known)
        return
    by_coach = place.is_of(known.coach)
    name = await name_of(chat, known.student if by_coach else known.coach)
    back = PracticeKey(Act.STUDENT, coaching_id) if by_coach else PracticeKey(Act.MY_COACHES)
    buttons = practice_buttons(PracticeKey(Act.END_COACHING_NOW, coaching_id), back)
    card = confirm_end_card(name, by_coach, chat.desk.game_of(place))
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


async def end_now(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """End it, and say so in place of the question."""
    await _over(
        chat, interaction, await chat.coaching.end(place_of(chat, interaction), coaching_id, interaction.id)
    )


async def _over(chat: Chat, interaction: discord.Interaction[Any], ended: Ended | CoachRefusal) -> None:
    if isinstance(ended, CoachRefusal):
        await refuse(chat, interaction, ended)
        return
    await chat.wait_in_place(interaction)
    coaching, place = ended.coaching, place_of(chat, interaction)
    name = await name_of(chat, coaching.student if ended.by_coach else coaching.coach)
    buttons = act_buttons(*((Act.STUDENTS,) if ended.by_coach else (Act.MY_COACHES, Act.HOMEWORK)))
    await chat.replace(interaction, Layout(ended_card(ended, name, chat.desk.game_of(place)), None, buttons))


def _keys(one: Coaching) -> tuple[PracticeKey, ...]:
    acts = (Act.END_COACHING,) if one.accepted_at is not None else (Act.ACCEPT_COACH, Act.REFUSE_COACH)
    return tuple(PracticeKey(act, one.id) for act in acts)
