"""What happens when something goes wrong: one sentence to who asked, and all of it in the log."""

from __future__ import annotations

import logging
import secrets

log = logging.getLogger(__name__)

RESTARTING = "I am being restarted and take no more questions; please ask again in a minute."
NOT_ALLOWED = "This is not for you to do here; a moderator of the server can."
UNKNOWN_COMMAND = "I do not know this command any more; please reload your chat program and pick it anew."


def note(error: BaseException, doing: str) -> str:
    """Log an error with its traceback, and give the sentence with the number to find it by.

    `doing` names the command or button, never what somebody wrote.
    """
    reference = secrets.token_hex(3)
    fields = {"action": doing, "reference": reference}
    log.error("reference %s: %s failed", reference, doing, exc_info=error, extra=fields)
    return f"Something went wrong on my side; tell whoever runs me if it stays: reference {reference}."
