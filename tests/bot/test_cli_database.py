"""`cornerman backup` and `cornerman restore`, as a host types them."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from stored import NOW, WREN, opened, tally

from bot.__main__ import main
from bot.storage import tallies

pytestmark = pytest.mark.sqlite  # test_cli_moving.py has those of a server's database


@pytest.fixture
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A host's settings, with a database that holds one tally beside them."""
    monkeypatch.chdir(tmp_path)
    log(tmp_path)
    file = tmp_path / "config.toml"
    file.write_text("", "utf-8")
    return file


def log(folder: Path) -> None:
    async def add() -> None:
        async with opened(folder) as store, store.write() as writing:
            await tallies.add(writing, WREN, tally(), None, NOW)

    asyncio.run(add())


def count(folder: Path) -> int:
    async def logged() -> int:
        async with opened(folder) as store, store.read() as reading:
            return len(await tallies.listed(reading, WREN, 10))

    return asyncio.run(logged())


def test_a_backup_brings_back_what_was_there(config: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = config.parent
    assert main(["backup", "copy.db", "--config", str(config)]) == 0
    log(folder)
    assert count(folder) == 2
    assert main(["restore", "copy.db", "--config", str(config)]) == 0
    assert count(folder) == 1
    said = capsys.readouterr().out
    assert "the copy is whole" in said
    kept = folder / said.rstrip(".\n").rpartition(" ")[2]
    assert kept.is_file()


@pytest.mark.parametrize(
    ("command", "file", "said"),
    [
        ("backup", "config.toml", "exists"),
        ("backup", "nowhere/copy.db", "nowhere"),
        ("restore", "missing.db", "missing.db"),
        ("restore", "config.toml", "config.toml"),
    ],
)
def test_what_cannot_be_copied_is_one_sentence_and_changes_nothing(
    command: str, file: str, said: str, config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, file, "--config", str(config)]) == 3
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
    assert count(config.parent) == 1
    assert config.read_text("utf-8") == ""


def test_without_a_database_there_is_nothing_to_back_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["backup", "copy.db"]) == 3
    assert "cornerman.db does not exist; run this where the settings are" in capsys.readouterr().err
    assert not any(tmp_path.iterdir())
