"""The one place that sends. Nobody is pinged but, in answer to a message, its author.

Nothing is shown twice. The first word about an interaction may be sent again, for the platform takes one; so
may what changes a message; a message of our own accord, or in answer to one, carries a nonce, by which the
platform knows it again. For what stands beside an answer it takes no key: that is sent once (`once.py`).
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import aiohttp
import discord

from bot.client.once import SERVER_ERROR, Once
from bot.client.policy import PRESS_AGAIN
from bot.client.prompt import Known, Receipt, receipt_of, settled

log = logging.getLogger(__name__)

ALREADY_ACKNOWLEDGED, UNKNOWN_INTERACTION = 40060, 10062  # the platform's error codes
TOO_LATE = {ALREADY_ACKNOWLEDGED, UNKNOWN_INTERACTION}
GONE = {UNKNOWN_INTERACTION, 10015, 50027, 10008}
"""The interaction is over, or what was to be changed is gone: the platform's words for it depend on how."""
LOST = (aiohttp.ClientError, OSError)
"""What is raised where the connection was lost."""
PAUSES_SECONDS = (1.0, 2.0, 4.0)
"""Between the tries to answer a message."""

NO_PINGS = discord.AllowedMentions.none()
PING_ASKER = discord.AllowedMentions(everyone=False, users=False, roles=False, replied_user=True)


async def reply(
    interaction: discord.Interaction[Any],
    view: discord.ui.LayoutView,
    *,
    private: bool = False,
    files: Sequence[discord.File] = (),
) -> None:
    """Answer a command, a button or a form with a card; `private`: only who asked sees it. That is decided
    already where the answer was waited for: by `wait`, or by the watch, whose waiting is private.

    Where the platform has the answer already it is ours: we answer once and never ahead of time, and the
    library sends again what it has no receipt for. So nothing more is sent then.
    """
    await _respond(interaction, private, files, view=view)


async def reply_plainly(
    interaction: discord.Interaction[Any],
    content: str,
    view: discord.ui.View,
    *,
    private: bool = False,
    files: Sequence[discord.File] = (),
) -> None:
    """Answer with a plain message, its files and the buttons below it: a sound in a card can be downloaded
    but not played. What others wrote must be escaped in `content`; `private` as in `reply`."""
    await _respond(interaction, private, files, content=content, view=view)


async def wait(interaction: discord.Interaction[Any], *, private: bool = False) -> None:
    """Say that the answer takes a moment: the platform gives up on whoever stays silent for 3 s. It stays
    private where anybody said that it is."""
    receipt = await settled(interaction)
    receipt.private = receipt.private or private
    if receipt.known is Known.NOTHING:
        await _defer(interaction, receipt, Known.THINKING)


async def wait_in_place(interaction: discord.Interaction[Any]) -> None:
    """Take a press whose card is going to be changed in a moment."""
    receipt = await settled(interaction)
    if receipt.known is Known.NOTHING:
        await _defer(interaction, receipt, Known.TAKEN)


async def acknowledge(interaction: discord.Interaction[Any]) -> None:
    """Say in time that we are at it, for a handler that has not said so: what `watch` does. A command is
    waited for in private, since nobody knows yet whether its answer is for all; a press or a form on a card
    is taken. A completion is not waited for, but offers nothing."""
    receipt = receipt_of(interaction)
    try:
        if interaction.type is discord.InteractionType.autocomplete:
            await suggest(interaction, [])
        elif interaction.message is None:
            receipt.private = True
            await _defer(interaction, receipt, Known.THINKING)
        else:
            await _defer(interaction, receipt, Known.TAKEN)
    except (discord.DiscordException, *LOST) as error:
        log.warning("interaction %s was not acknowledged: %r", interaction.id, error)


async def replace(interaction: discord.Interaction[Any], view: discord.ui.LayoutView) -> None:
    """Answer a button by changing the card that it stands on."""
    receipt = await settled(interaction)
    with _unless_gone(interaction), _answering(receipt), _unless_answered(interaction):
        if receipt.known is Known.NOTHING:
            await interaction.response.edit_message(view=view, allowed_mentions=NO_PINGS)
        else:
            await interaction.edit_original_response(view=view, allowed_mentions=NO_PINGS)


async def show(interaction: discord.Interaction[Any], form: discord.ui.Modal) -> None:
    """Answer a command or a button with a form to fill in. Nothing of it is kept: what is filled in is read
    off the interaction that brings it. Too late for a form, who asked is told to press again."""
    receipt = await settled(interaction)
    if receipt.known is not Known.NOTHING:
        await tell(interaction, PRESS_AGAIN)
        return
    with _unless_gone(interaction), _answering(receipt), _unless_answered(interaction):
        await interaction.response.send_modal(form)
    form.stop()


async def tell(interaction: discord.Interaction[Any], sentence: str) -> None:
    """Tell who asked one sentence of our own, in private, beside the answer where there may be one already,
    and where the answer is waited for in its place. It must hold no text that others wrote."""
    receipt = await settled(interaction)
    shown: dict[str, Any] = {"content": sentence, "allowed_mentions": NO_PINGS}
    with _unless_gone(interaction), _answering(receipt):
        if receipt.known is Known.NOTHING:
            try:
                await interaction.response.send_message(ephemeral=True, **shown)
                return
            except discord.HTTPException as error:
                if error.code != ALREADY_ACKNOWLEDGED:
                    raise
            if not receipt.unsure:
                log.info("interaction %s had been told already", interaction.id)
                return
        elif receipt.known is Known.THINKING and not receipt.unsure:
            await interaction.edit_original_response(**shown)
            return
        await _follow_up(interaction, ephemeral=True, **shown)


async def suggest(
    interaction: discord.Interaction[Any], choices: list[discord.app_commands.Choice[str]]
) -> None:
    """Offer choices for what somebody is typing, unless that was done already."""
    if interaction.response.is_done():
        return
    with _unless_gone(interaction), _unless_answered(interaction):
        await interaction.response.autocomplete(choices)


async def answer(message: discord.Message, view: discord.ui.LayoutView) -> None:
    """Answer a message with a card; its author is pinged, whether or not it is still there."""
    await _answer(message, str(message.id), view=view)


async def answer_plainly(message: discord.Message, sentence: str) -> None:
    """Answer a message with one sentence of our own. It must hold no text that others wrote."""
    await _answer(message, f"{message.id}-told", content=sentence)


async def post(
    channel: discord.abc.Messageable,
    view: discord.ui.LayoutView,
    *,
    files: Sequence[discord.File] = (),
    mention: int | None = None,
    nonce: str | None = None,
) -> int:
    """Post a card of our own accord; the id of the message. `mention`: the one user who is pinged where the
    card names them. `nonce`: the platform takes a second post with it, soon after, for the first."""
    users: Sequence[discord.Object] | bool = [discord.Object(mention)] if mention is not None else False
    pings = discord.AllowedMentions(everyone=False, users=users, roles=False, replied_user=False)
    drawn: Any = nonce  # where it is None, by the library
    return (await channel.send(view=view, files=files, nonce=drawn, allowed_mentions=pings)).id


async def amend(
    message: discord.PartialMessage, view: discord.ui.LayoutView, *, files: Sequence[discord.File] = ()
) -> None:
    """Change a card that was posted, and its files with it; nobody is pinged again."""
    await message.edit(view=view, attachments=files, allowed_mentions=NO_PINGS)


async def _respond(
    interaction: discord.Interaction[Any], private: bool, files: Sequence[discord.File], **shown: Any
) -> None:
    """Give the answer, in place of what says that we are at it where that stands."""
    receipt = await settled(interaction)
    private = private or receipt.private
    shown |= {"allowed_mentions": NO_PINGS}
    with _unless_gone(interaction), _answering(receipt), _unless_answered(interaction):
        if receipt.known is Known.NOTHING:
            await interaction.response.send_message(files=files, ephemeral=private, **shown)
        elif receipt.known is Known.TAKEN:
            await _follow_up(interaction, files=files, ephemeral=private, **shown)
        else:
            await interaction.edit_original_response(attachments=files, **shown)


async def _follow_up(interaction: discord.Interaction[Any], **shown: Any) -> None:
    """Send a message beside the answer. Where the platform fails at it, it is not tried again."""
    followup: Any = interaction.followup
    followup.session = Once(followup.session)
    await followup.send(**shown)


async def _answer(message: discord.Message, nonce: str, **shown: Any) -> None:
    """Answer a message. Where the platform fails at it we try again, with the same nonce: what has arrived
    all the same is known by it, for some minutes."""
    tries = (*PAUSES_SECONDS, None)
    to = message.to_reference(fail_if_not_exists=False)
    for pause in tries:
        try:
            await message.channel.send(reference=to, nonce=nonce, allowed_mentions=PING_ASKER, **shown)
            return
        except (discord.HTTPException, *LOST) as error:
            if pause is None or (isinstance(error, discord.HTTPException) and error.status < SERVER_ERROR):
                raise
            log.info("message %s is answered once more in %.0f s: %r", message.id, pause, error)
        await asyncio.sleep(pause)


async def _defer(interaction: discord.Interaction[Any], receipt: Receipt, known: Known) -> None:
    """Acknowledge it. Where the receipt for that was lost it counts all the same: the work is done, and the
    answer takes its place. Otherwise who asked would look at a bot that thinks for ever."""
    thinking = known is Known.THINKING
    with _unless_gone(interaction):
        try:
            await interaction.response.defer(ephemeral=thinking and receipt.private, thinking=thinking)
        except (discord.HTTPException, *LOST) as error:
            if isinstance(error, discord.HTTPException) and not (
                error.code == ALREADY_ACKNOWLEDGED or error.status >= SERVER_ERROR
            ):
                raise
            log.info("interaction %s was acknowledged already", interaction.id)
        receipt.known = known


@contextmanager
def _answering(receipt: Receipt) -> Iterator[None]:
    """Within, the answer is sent: it stands then, or it may stand."""
    try:
        yield
    except (discord.HTTPException, *LOST) as error:
        lost = not isinstance(error, discord.HTTPException) or error.status >= SERVER_ERROR
        receipt.unsure = receipt.unsure or lost
        raise
    receipt.known = Known.ANSWERED


@contextmanager
def _unless_answered(interaction: discord.Interaction[Any]) -> Iterator[None]:
    """Where the platform has an answer already, no other is sent."""
    try:
        yield
    except discord.HTTPException as error:
        if error.code != ALREADY_ACKNOWLEDGED:
            raise
        log.info("interaction %s had its answer already", interaction.id)


@contextmanager
def _unless_gone(interaction: discord.Interaction[Any]) -> Iterator[None]:
    """An interaction that has expired takes no answer any more, and a card that is gone no change; that is
    logged, and no more."""
    try:
        yield
    except discord.HTTPException as error:
        if error.code not in GONE:
            raise
        log.warning("interaction %s had expired before it was answered (%d)", interaction.id, error.code)
