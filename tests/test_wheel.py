"""What is installed works: package data and all, away from the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the built wheel installed into it, the libraries left to this environment."""
    built, target = tmp_path_factory.mktemp("wheel"), tmp_path_factory.mktemp("installed")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    subprocess.run(
        [*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(built), str(ROOT)], check=True
    )
    (wheel,) = built.glob("cornerman-*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", str(target), str(wheel)], check=True)
    return target


def test_the_installed_command_answers_from_another_folder(installed: Path, tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(installed)}
    command = [str(installed / "bin" / "cornerman"), "ask", "does 5MP link into 2MP?"]
    answer = subprocess.run(
        [*command, "--game", "saltglass", "--character", "odrun"],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.startswith("Yes")
    where = subprocess.run(
        [sys.executable, "-c", "import bot, core; print(bot.__file__, core.__file__)"],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert all(Path(file).is_relative_to(installed) for file in where.stdout.split())
