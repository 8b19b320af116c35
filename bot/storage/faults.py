"""What goes wrong with a database while the bot runs, told in the log: each fault at once, and while it lasts
no more than once a minute."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable
from dataclasses import dataclass

EVERY_SECONDS = 60.0

log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Fault:
    """One that was logged. `times`: how often it came since then; `lasts`: nothing went well after it."""

    reference: str
    logged_at: float
    times: int = 1
    lasts: bool = True


class Faults:
    """`clock`: seconds from some moment on. A way is what is done with the database, such as "reading": one
    may work while another does not."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._last: dict[tuple[str, str], _Fault] = {}

    def note(self, way: str, sentence: str) -> str:
        """The reference under which this fault stands in the log: that of its last line there where the line
        is not a minute old, else that of a new one."""
        now, fault = self._clock(), self._last.get((way, sentence))
        if fault is not None and now - fault.logged_at < EVERY_SECONDS:
            fault.times += 1
            fault.lasts = True
            return fault.reference
        before = fault.times - 1 if fault is not None else 0
        often = f" (and {before} times since it was last logged)" if before else ""
        fault = self._last[way, sentence] = _Fault(secrets.token_hex(3), now)
        fields = {"action": way, "reference": fault.reference}
        log.error("reference %s: %s failed: %s%s", fault.reference, way, sentence, often, extra=fields)
        return fault.reference

    def worked(self, way: str) -> None:
        """Note that it goes well again."""
        for (of, _), fault in self._last.items():
            if of == way and fault.lasts:
                fault.lasts = False
                log.warning(
                    "reference %s is over: %s works again, after %d that failed",
                    fault.reference,
                    way,
                    fault.times,
                )
