"""What happens when something goes wrong: one sentence to who asked, and all of it in the log."""

from __future__ import annotations

import logging
import math
import secrets

import discord

from bot.ports import StorageError

log = logging.getLogger(__name__)
uncaught = logging.getLogger("bot.uncaught")
"""Takes what goes wrong where nobody waits for an answer; there should be nothing."""

RESTARTING = "I am being restarted and take no more questions; please ask again in a minute."
NOT_ALLOWED = "This is not for you to do here; a moderator of the server can."
UNKNOWN_COMMAND = "I do not know this command any more; please reload your chat program and pick it anew."
PRESS_AGAIN = "I was too slow to open the form for you; please do that once more."
TOO_FAST = "That is a lot at once; please go on in {wait}."
HELD_BACK = "The platform lets me do no more of that for now; please try again in {wait}."
NOT_KEPT = (
    "I cannot get at what I keep just now, so nothing was kept or changed. Please do that again in a few "
    "minutes; if it stays, tell whoever runs me: reference {reference}."
)
PERHAPS_KEPT = (
    "I lost touch with what I keep in the middle of that, and cannot tell whether all of it was kept. Please "
    "look in a few minutes before you do it again; if it stays, tell whoever runs me: reference {reference}."
)

LONGEST_IN_SECONDS = 90


def too_fast(seconds: float) -> str:
    """What somebody is told who asks for more than we do at a time; how long they are to wait."""
    return TOO_FAST.format(wait=_in_words(seconds))


def _in_words(seconds: float) -> str:
    whole = max(1, math.ceil(seconds - 0.001))
    if whole > LONGEST_IN_SECONDS:
        return f"{math.ceil(whole / 60)} minutes"
    return "a second" if whole == 1 else f"{whole} seconds"


def note(error: BaseException, doing: str) -> str:
    """Log an error with its traceback, and give the sentence with the number to find it by; where the
    platform only holds us back for long, that is no error of ours, and the sentence says how long. What is
    wrong with the database stands in the log already, under its own number.

    `doing` names the command or button, never what somebody wrote.
    """
    if isinstance(error, discord.RateLimited):
        log.warning("the platform holds us back for %.0f s: %s", error.retry_after, doing)
        return HELD_BACK.format(wait=_in_words(error.retry_after))
    if isinstance(error, StorageError) and error.reference:
        return (PERHAPS_KEPT if error.unsure else NOT_KEPT).format(reference=error.reference)
    reference = secrets.token_hex(3)
    fields = {"action": doing, "reference": reference}
    log.error("reference %s: %s failed", reference, doing, exc_info=error, extra=fields)
    return f"Something went wrong on my side; tell whoever runs me if it stays: reference {reference}."
