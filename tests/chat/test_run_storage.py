"""A database that cannot be used when the connection is lost for good, and a bot is to begin anew."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
from chat.connecting import lines, running, until
from chat.platform import Platform

pytestmark = pytest.mark.sqlite


@pytest.mark.usefixtures("hurried")
async def test_it_is_waited_for_with_a_sentence_for_each_try_and_no_traceback(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await until(lambda: found.bot.store.writes)  # of what it does once it is ready
        file = found.bot.store.file
        await found.bot.store.close()
        aside = file.rename(tmp_path / "aside.db")
        file.mkdir()
        await platform.sockets[-1].close(code=4012)  # after which the library would end
        await until(lambda: len(found.bots) > 3)
        file.rmdir()
        aside.rename(file)
        await found.ready()
        await found.answers()
    said = f"{file} cannot be opened: it is a folder; name a file in it. The next try is in 0 s."
    assert lines(caplog.records, "bot.client.run").count(said) > 1
    assert not [one for one in caplog.records if one.name == "bot.client.run" and one.exc_info]
    assert not [one for one in caplog.records if one.levelno >= logging.ERROR and one.exc_info]
