"""The memory of a process that is to run for months."""

from __future__ import annotations

import ctypes
import gc
from contextlib import suppress

HEAPS = 2
_M_ARENA_MAX = -8
"""mallopt(3), and malloc.h of glibc."""


def share_heaps() -> None:
    """Let all threads, none of which has begun, share two heaps of the C library's. By itself it makes up to
    eight for each core, and what is free in one is of no use to the others: memory that nobody uses, and that
    grows for hours (`tests/soaking` shows it). Does nothing where the C library is not glibc."""
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).mallopt(_M_ARENA_MAX, HEAPS)


def set_apart() -> None:
    """Let whoever looks for what may go pass by all that is there now, libraries and games: looking through
    them each time would hold up all answers for a quarter of a second. What may go already goes first."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
