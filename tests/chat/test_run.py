"""`cornerman run`: what it says where it cannot run, and how it stops."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from chat.platform import Platform, command, serving
from chat.world import EnvClock, new_bot

from bot.client import run as running
from bot.client import waits
from bot.client.policy import RESTARTING
from bot.client.run import BAD_TOKEN, NO_INTENTS, NO_TOKEN, NOT_PLATFORM, RunError, run
from bot.config import Settings
from bot.storage.starting import only_bot_on

TOKEN = "aaaa.bbbb.cccc"


async def sentence(folder: Path, token: str = TOKEN) -> str:
    with pytest.raises(RunError) as caught:
        await asyncio.wait_for(run(lambda: new_bot(EnvClock(), folder), token), 20)
    said = str(caught.value)
    assert "\n" not in said
    assert token.strip() == "" or token.strip() not in said
    return said


@pytest.mark.parametrize("token", ["", "  ", "\n"])
async def test_without_a_token_it_says_where_to_set_one(token: str, tmp_path: Path) -> None:
    assert await sentence(tmp_path, token) == NO_TOKEN


@pytest.mark.parametrize("token", ["aaa bbb", "aaaa\nbbbb", "clé", "a\x00b"])
async def test_a_token_that_can_be_none_is_not_even_sent(token: str, tmp_path: Path) -> None:
    assert await sentence(tmp_path, token) == BAD_TOKEN


@pytest.mark.parametrize(
    ("platform", "said"),
    [
        (Platform(status=401), BAD_TOKEN),
        (Platform(status=403), "The platform refused the bot (403 Forbidden)"),
        (Platform(body="<h1>Please log in to this network</h1>"), NOT_PLATFORM),
        (Platform(close_code=4004), BAD_TOKEN),
        (Platform(close_code=4013), NO_INTENTS),
        (Platform(close_code=4014), NO_INTENTS),
    ],
    ids=["token-401", "forbidden", "portal", "token-4004", "intents-4013", "intents-4014"],
)
async def test_what_the_platform_refuses_is_one_sentence(
    platform: Platform, said: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    async with serving(platform, monkeypatch):
        assert (await sentence(tmp_path)).startswith(said)


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGINT])
async def test_a_signal_lets_the_running_answer_go_out_and_takes_no_more(
    by: signal.Signals, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform(callback_seconds=0.3)
    async with serving(platform, monkeypatch):
        staying = asyncio.create_task(run(lambda: new_bot(EnvClock(), tmp_path), TOKEN))
        await asyncio.wait_for(platform.ready.wait(), 10)
        question = "does Odrun's 5MP link into 2MP?"
        await platform.emit("INTERACTION_CREATE", command(21, "ask", question=question))
        await asyncio.wait_for(platform.asking.wait(), 10)
        os.kill(os.getpid(), by)
        await asyncio.sleep(0.05)
        await platform.emit("INTERACTION_CREATE", command(22, "ask", question=question))
        await asyncio.wait_for(staying, 10)
    assert len(platform.answered) == 2
    first, second = (answer["data"] for answer in platform.answered)
    assert "5MP" in str(first["components"])
    assert second["content"] == RESTARTING


async def test_a_signal_while_nothing_runs_ends_it_at_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform()
    async with serving(platform, monkeypatch):
        bot = new_bot(EnvClock(), tmp_path)
        staying = asyncio.create_task(run(lambda: bot, TOKEN))
        await asyncio.wait_for(platform.ready.wait(), 10)
        os.kill(os.getpid(), signal.SIGTERM)
        await asyncio.wait_for(staying, 10)
    assert bot.is_closed()
    assert "PUT /applications/2/commands" in platform.asked


async def test_a_connection_lost_later_is_taken_up_again_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, tmp_path: Path
) -> None:
    platform = Platform()
    monkeypatch.setattr(waits, "FIRST_SECONDS", 0.01)
    async with serving(platform, monkeypatch):
        staying = asyncio.create_task(run(lambda: new_bot(EnvClock(), tmp_path), TOKEN))
        await asyncio.wait_for(platform.ready.wait(), 10)
        await asyncio.sleep(0.1)
        with caplog.at_level(logging.INFO):
            await platform.sockets[-1].close(code=1000)
            for _ in range(100):
                await asyncio.sleep(0.02)
                if len(platform.sockets) > 1:
                    break
        assert len(platform.sockets) > 1
        os.kill(os.getpid(), signal.SIGTERM)
        await asyncio.wait_for(staying, 10)
    assert "Traceback" not in caplog.text
    assert TOKEN not in caplog.text


def cornerman(tmp_path: Path, *argv: str, **environment: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("CORNERMAN_")}
    return subprocess.run(
        [sys.executable, "-m", "bot", *argv],
        cwd=tmp_path,
        env={**kept, "PYTHONPATH": str(Path(__file__).parents[2]), **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_the_command_exits_with_3_and_one_sentence(tmp_path: Path) -> None:
    done = cornerman(tmp_path, "run")
    assert (done.returncode, done.stdout, done.stderr) == (3, "", f"{NO_TOKEN}\n")


@pytest.mark.parametrize("from_file", [True, False])
def test_the_token_is_taken_from_the_file_or_the_environment_and_never_shown(
    tmp_path: Path, from_file: bool
) -> None:
    """It is one that no platform could take, so nothing is connected to."""
    token = "secret token"
    (tmp_path / "mine.toml").write_text(f'token = "{token}"\n' if from_file else "", "utf-8")
    environment = {} if from_file else {"CORNERMAN_TOKEN": token}
    done = cornerman(tmp_path, "run", "--config", "mine.toml", **environment)
    assert (done.returncode, done.stdout, done.stderr) == (3, "", f"{BAD_TOKEN}\n")


def test_all_shards_in_one_process_need_no_other_database(tmp_path: Path) -> None:
    done = cornerman(tmp_path, "run", "--shards", "0-3/4")
    assert (done.returncode, done.stdout, done.stderr) == (3, "", f"{NO_TOKEN}\n")


def test_a_bot_that_runs_already_keeps_another_from_its_file(tmp_path: Path) -> None:
    with only_bot_on(tmp_path / "cornerman.db"):
        done = cornerman(tmp_path, "run", CORNERMAN_TOKEN=TOKEN)
    said = "A bot runs on cornerman.db already; stop that one first.\n"
    assert (done.returncode, done.stdout, done.stderr) == (3, "", said)


def test_a_config_that_is_not_there_is_bad_usage(tmp_path: Path) -> None:
    done = cornerman(tmp_path, "run", "--config", "none.toml")
    assert done.returncode == 2
    assert "none.toml cannot be read" in done.stderr
    assert "Traceback" not in done.stderr


def test_settings_do_not_show_the_token() -> None:
    settings = Settings.model_validate({"token": TOKEN})
    assert TOKEN not in f"{settings!r} {settings}"
    assert settings.token.get_secret_value() == TOKEN


@pytest.mark.parametrize(
    "name", ["NO_TOKEN", "BAD_TOKEN", "NO_INTENTS", "BAD_SHARDS", "NO_NETWORK", "NOT_PLATFORM", "REFUSED"]
)
def test_each_sentence_is_one_and_says_what_to_do(name: str) -> None:
    said = getattr(running, name)
    assert said.endswith(".")
    assert ": " in said
