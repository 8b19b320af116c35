"""Being prompt: what the platform knows of an interaction, and the watch that tells it in time of our work.

The platform gives up on an interaction that hears nothing for 3 s. A handler that knows that it will be slow
waits of its own accord; the watch is for all others, on a day when the machine or the database is slow.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import discord

AFTER_SECONDS = 1.0
"""How long a handler may stay silent: what it then takes to be heard must fit into the rest of the 3 s."""
TYPING_SECONDS = 2.0
"""How long a completion may take: it cannot be waited for, so that nothing is offered then."""

_KEY = "receipt"


class Known(StrEnum):
    """What the platform has heard of an interaction, as far as we can tell."""

    NOTHING = "nothing"
    THINKING = "thinking"  # a message of ours says so, and the answer takes its place
    TAKEN = "taken"  # a press or a form on a card, and nobody sees that yet
    ANSWERED = "answered"


@dataclass(slots=True)
class Receipt:
    """How far the answer to one interaction has come. `private`: whatever is answered later is private;
    `unsure`: something was sent that may have arrived, though the platform did not say so."""

    known: Known = Known.NOTHING
    private: bool = False
    unsure: bool = False
    timer: asyncio.TimerHandle | None = None
    task: asyncio.Task[None] | None = None


def receipt_of(interaction: discord.Interaction[Any]) -> Receipt:
    """How far its answer has come; kept with the interaction, and gone with it."""
    receipt: Receipt = interaction.extras.setdefault(_KEY, Receipt())
    return receipt


def watch(
    interaction: discord.Interaction[Any],
    acknowledge: Callable[[discord.Interaction[Any]], Coroutine[Any, Any, None]],
) -> None:
    """Have it acknowledged if the task that calls this stays silent for too long; `acknowledge` raises
    nothing. When that task is over, so is the watch."""
    receipt, task = receipt_of(interaction), asyncio.current_task()
    typing = interaction.type is discord.InteractionType.autocomplete
    loop = asyncio.get_running_loop()

    def begin() -> None:
        receipt.task = loop.create_task(acknowledge(interaction), name="acknowledge")

    timer = receipt.timer = loop.call_later(TYPING_SECONDS if typing else AFTER_SECONDS, begin)
    if task is not None:
        task.add_done_callback(lambda _: timer.cancel())


async def settled(interaction: discord.Interaction[Any]) -> Receipt:
    """How far its answer has come, for whoever is about to send: from now on nothing is acknowledged ahead of
    them, and what is on its way has come out."""
    receipt = receipt_of(interaction)
    if receipt.timer is not None:
        receipt.timer.cancel()
    if receipt.task is not None:
        await asyncio.wait((receipt.task,))
    return receipt
