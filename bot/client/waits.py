"""How long to wait between tries at something that is away."""

from __future__ import annotations

import random
from collections.abc import Callable

FIRST_SECONDS, LONGEST_SECONDS = 5.0, 300.0
LESS = 0.25
"""By up to this part a wait is shorter, by chance: what many wait for comes back, and not all at once."""


class Waits:
    """5 s, 10 s, 20 s and so on up to 5 minutes. `chance`: what each is shortened by, from 0 to 1."""

    def __init__(self, chance: Callable[[], float] = random.random) -> None:
        self._chance = chance
        self._tries = 0

    def next(self) -> float:
        """The seconds to wait now; after that it is longer."""
        full: float = min(FIRST_SECONDS * 2 ** min(self._tries, 30), LONGEST_SECONDS)
        self._tries += 1
        return full * (1 - LESS * self._chance())

    def reset(self) -> None:
        """It worked: begin with the shortest again."""
        self._tries = 0
