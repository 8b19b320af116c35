"""The command line as a shell sees it."""

from __future__ import annotations

import pytest

from bot.__main__ import main


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    """The exit code of a command, what it printed, and what it printed as errors."""
    code = main(argv)
    out, err = capsys.readouterr()
    return code, out, err
