"""A room to visit."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from room.running import RunningRoom, start_room


@pytest.fixture
def room(tmp_path: Path) -> Iterator[RunningRoom]:
    """A room on a free port; it is put away if the test did not close it."""
    running = start_room(tmp_path, "--port", "0")
    yield running
    if running.process.poll() is None:
        running.process.kill()
    running.process.communicate()
