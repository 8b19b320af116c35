"""The memory of a process that runs for long, seen from outside by its own C library."""

from __future__ import annotations

import ctypes
import gc
import subprocess
import sys
from pathlib import Path

import pytest

from bot.heap import HEAPS, set_apart

THREADS = """
import ctypes, sys, threading
from bot.heap import share_heaps
if sys.argv[1] == "shared":
    share_heaps()
all_there = threading.Barrier(8)
def take():
    kept = [bytes(100_000 - 7 * size) for size in range(50)]
    all_there.wait()
    return kept
threads = [threading.Thread(target=take) for _ in range(8)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
libc = ctypes.CDLL(None)
libc.fdopen.restype = ctypes.c_void_p
out = ctypes.c_void_p(libc.fdopen(1, b"w"))
libc.malloc_info(0, out)
libc.fflush(out)
"""


def has_glibc() -> bool:
    try:
        return hasattr(ctypes.CDLL(None), "gnu_get_libc_version")
    except TypeError:
        return False


@pytest.mark.skipif(not has_glibc(), reason="another C library has no such heaps")
def test_many_threads_share_few_heaps() -> None:
    """By themselves they would have more, which is why `run` says so: the numbers are glibc's own."""
    shared, usual = heaps("shared"), heaps("usual")
    assert shared <= HEAPS < usual


def heaps(how: str) -> int:
    done = subprocess.run(
        [sys.executable, "-c", THREADS, how],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.count("<heap ")


def test_what_a_bot_needs_is_set_apart_and_what_may_go_is_not() -> None:
    class Cycle:
        pass

    one = Cycle()
    one.itself = one  # type: ignore[attr-defined]
    gone = id(one)
    del one
    try:
        set_apart()
        assert gc.get_freeze_count() > 0
        gc.unfreeze()
        assert not any(id(each) == gone and isinstance(each, Cycle) for each in gc.get_objects())
    finally:
        gc.collect()
        gc.freeze()  # as the tests' own session has it
