"""The real program, as a process of its own."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

SECONDS_TO_CLOSE = 20


@dataclass(slots=True)
class RunningRoom:
    """`python -m bot room`, with its standard input and output at hand."""

    process: subprocess.Popen[str]
    greeting: str

    @property
    def address(self) -> str:
        """The page's address, as it was printed."""
        found = re.search(r"http://127\.0\.0\.1:\d+/\S*", self.greeting)
        assert found is not None, self.greeting
        return found[0]

    def type(self, line: str) -> str:
        """Type a line; the first line of what the room says to it."""
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()
        return self.read()

    def read(self) -> str:
        """The next line that it prints."""
        assert self.process.stdout is not None
        return self.process.stdout.readline()

    def stop(self, by: signal.Signals) -> tuple[int, str, str]:
        """Send a signal; the exit code, the rest of the output and all of the errors."""
        self.process.send_signal(by)
        return self.end()

    def end(self) -> tuple[int, str, str]:
        """Wait for it to close: the exit code, the rest of the output and all of the errors."""
        out, errors = self.process.communicate(timeout=SECONDS_TO_CLOSE)
        return self.process.returncode, out, errors


def start_room(
    folder: Path, *options: str, stdin: int = subprocess.PIPE, browser: Path | None = None
) -> RunningRoom:
    """The room with these options, once it has printed its address; the folder holds no settings.

    `browser`: the program that it is to open its page with; None for --no-browser.
    """
    process = subprocess.Popen(
        [sys.executable, "-m", "bot", "room", *options, *([] if browser else ["--no-browser"])],
        stdin=stdin,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(Path(__file__).parents[2]),
            "BROWSER": str(browser or ""),
        },
    )
    room = RunningRoom(process, "")
    while line := room.read():
        room.greeting += line
        if "Ctrl-C" in line:
            return room
    raise AssertionError(f"the room did not open: {process.communicate()}")
