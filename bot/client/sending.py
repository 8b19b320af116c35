"""The one place that sends. Nobody is pinged but, in answer to a message, its author."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import discord

log = logging.getLogger(__name__)

ALREADY_ACKNOWLEDGED, UNKNOWN_INTERACTION = 40060, 10062  # the platform's error codes
SERVER_ERROR = 500  # the least of the statuses by which the platform says that the fault is its own
WAITING = "waiting"

NO_PINGS = discord.AllowedMentions.none()
PING_ASKER = discord.AllowedMentions(everyone=False, users=False, roles=False, replied_user=True)


async def reply(
    interaction: discord.Interaction[Any],
    view: discord.ui.LayoutView,
    *,
    private: bool = False,
    files: Sequence[discord.File] = (),
) -> None:
    """Answer a command, a button or a form with a card; `private`: only who asked sees it, which `wait` has
    decided already where the answer was waited for.

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
    """Say that the answer takes a moment: the platform gives up on whoever stays silent for 3 s."""
    with _unless_expired(interaction), _received_or_not(interaction):
        await interaction.response.defer(ephemeral=private, thinking=True)


async def replace(interaction: discord.Interaction[Any], view: discord.ui.LayoutView) -> None:
    """Answer a button by changing the card that it stands on."""
    with _unless_expired(interaction), _unless_answered(interaction):
        if _is_waiting(interaction):
            await interaction.edit_original_response(view=view, allowed_mentions=NO_PINGS)
        else:
            await interaction.response.edit_message(view=view, allowed_mentions=NO_PINGS)


async def wait_in_place(interaction: discord.Interaction[Any]) -> None:
    """Take a press whose card is going to be changed in a moment."""
    with _unless_expired(interaction), _received_or_not(interaction):
        await interaction.response.defer()


async def show(interaction: discord.Interaction[Any], form: discord.ui.Modal) -> None:
    """Answer a command or a button with a form to fill in. Nothing of it is kept: what is filled in is read
    off the interaction that brings it."""
    with _unless_expired(interaction), _unless_answered(interaction):
        await interaction.response.send_modal(form)
    form.stop()


async def tell(interaction: discord.Interaction[Any], sentence: str) -> None:
    """Tell who asked one sentence of our own, in private, beside the answer where there is one already.
    It must hold no text that others wrote."""
    with _unless_expired(interaction):
        if not interaction.response.is_done():
            try:
                await interaction.response.send_message(sentence, ephemeral=True, allowed_mentions=NO_PINGS)
                return
            except discord.HTTPException as error:
                if error.code != ALREADY_ACKNOWLEDGED:
                    raise
        await interaction.followup.send(sentence, ephemeral=True, allowed_mentions=NO_PINGS)


async def suggest(
    interaction: discord.Interaction[Any], choices: list[discord.app_commands.Choice[str]]
) -> None:
    """Offer choices for what somebody is typing."""
    with _unless_expired(interaction):
        await interaction.response.autocomplete(choices)


async def answer(message: discord.Message, view: discord.ui.LayoutView) -> None:
    """Answer a message with a card; its author is pinged, whether or not it is still there."""
    await message.channel.send(view=view, reference=_to(message), allowed_mentions=PING_ASKER)


async def answer_plainly(message: discord.Message, sentence: str) -> None:
    """Answer a message with one sentence of our own. It must hold no text that others wrote."""
    await message.channel.send(sentence, reference=_to(message), allowed_mentions=PING_ASKER)


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
    """Give the answer, in place of what says that we are at it where that stands: never shown twice."""
    with _unless_expired(interaction), _unless_answered(interaction):
        if _is_waiting(interaction):
            await interaction.edit_original_response(attachments=files, allowed_mentions=NO_PINGS, **shown)
        else:
            await interaction.response.send_message(
                files=files, ephemeral=private, allowed_mentions=NO_PINGS, **shown
            )


def _to(message: discord.Message) -> discord.MessageReference:
    return message.to_reference(fail_if_not_exists=False)


def _is_waiting(interaction: discord.Interaction[Any]) -> bool:
    """Whether the platform knows that we are at it, as far as we can tell."""
    return interaction.response.is_done() or WAITING in interaction.extras


@contextmanager
def _received_or_not(interaction: discord.Interaction[Any]) -> Iterator[None]:
    """Waiting whose receipt was lost has begun all the same: the work is done, and the answer takes its
    place. Otherwise who asked would look at a bot that thinks for ever."""
    try:
        yield
    except discord.HTTPException as error:
        if error.code != ALREADY_ACKNOWLEDGED and error.status < SERVER_ERROR:
            raise
        log.info("interaction %s was waited for already", interaction.id)
        interaction.extras[WAITING] = True


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
def _unless_expired(interaction: discord.Interaction[Any]) -> Iterator[None]:
    """An interaction that has expired takes no answer any more; that is logged, and no more."""
    try:
        yield
    except discord.NotFound as error:
        if error.code != UNKNOWN_INTERACTION:
            raise
        log.warning("interaction %s had expired before it was answered", interaction.id)
