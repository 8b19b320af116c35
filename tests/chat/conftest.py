"""The nets under every chat test: everybody is answered, all that was sent fits."""

from __future__ import annotations

import gc
import os
from collections.abc import AsyncIterator, Iterator
from functools import cache
from pathlib import Path

import pytest
import simcord
from apispec import ApiDocument
from chat.world import EnvClock, World, build_world, new_bot

from bot.app import Cornerman
from bot.client.pace import LIMITS, Limit
from bot.gamefiles import packaged_games, read_both
from bot.services.ask import AskService
from core.model import Game

ROOT = Path(__file__).parents[2]
DOCUMENT = Path(
    os.environ.get("CORNERMAN_API_DOCUMENT", ROOT.parent / "shared" / "reference" / "discord-openapi.json")
)


@pytest.fixture(scope="session", autouse=True)
def _games_are_read_once() -> Iterator[None]:
    """And so is what is derived from them: none of it keeps anything of who asked."""
    services: dict[int, AskService] = {}

    def service_of(game: Game) -> AskService:
        return services.setdefault(id(game), services.get(id(game)) or AskService(game))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("bot.app.read_both", cache(read_both))
        patch.setattr("bot.app.packaged_games", cache(packaged_games))
        patch.setattr("bot.services.game_book.AskService", service_of)
        gc.collect()
        gc.freeze()  # each test collects to find lost exceptions: let it look at its own objects only
        yield
        gc.unfreeze()


SELDOM_SECONDS = 60.0
"""From one refresh of a post to the next, here."""


@pytest.fixture(autouse=True)
def _posts_are_refreshed_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """The simulator waits up to 5 s for a timer that is due by then on the wall clock, and gives up when it
    rings at the end of them: so that none is due while a test acts, but only when it lets time go by."""
    monkeypatch.setattr("bot.scheduler.refresher.EVERY_SECONDS", SELDOM_SECONDS)


@pytest.fixture(autouse=True)
def _the_server_is_asked_seldom_whether_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """A test that lets weeks go by would ask PostgreSQL a hundred thousand times."""
    monkeypatch.setattr("bot.storage.changes.BEAT_SECONDS", 10 * 366 * 24 * 3600.0)


@pytest.fixture(autouse=True)
def _nobody_is_too_fast_and_nothing_too_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a member does in an hour a test does at one moment, on a machine that may be busy with others:
    tests/chat/test_pace.py and test_prompt.py have the limits back."""
    boundless = Limit(1_000_000, 1_000_000)
    monkeypatch.setattr("bot.client.pace.LIMITS", dict.fromkeys(LIMITS, boundless))
    monkeypatch.setattr("bot.client.prompt.AFTER_SECONDS", SELDOM_SECONDS)
    monkeypatch.setattr("bot.client.prompt.TYPING_SECONDS", SELDOM_SECONDS)


@pytest.fixture
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Between its tries to connect the bot waits for moments, not for minutes."""
    monkeypatch.setattr("bot.client.waits.FIRST_SECONDS", 0.01)
    monkeypatch.setattr("bot.client.waits.LONGEST_SECONDS", 0.02)
    monkeypatch.setattr("bot.client.gateway.IDENTIFY_SECONDS", 0.01)


@pytest.fixture(scope="session")
def document_if_there() -> ApiDocument | None:
    return ApiDocument.load(DOCUMENT) if DOCUMENT.is_file() else None


@pytest.fixture
def api_document(document_if_there: ApiDocument | None) -> ApiDocument:
    if document_if_there is None:
        pytest.skip(f"the platform's API document is not at {DOCUMENT}; CORNERMAN_API_DOCUMENT can say where")
    return document_if_there


@pytest.fixture
def clock() -> EnvClock:
    return EnvClock()


@pytest.fixture
def simcord_bot(clock: EnvClock, tmp_path: Path) -> Cornerman:
    return new_bot(clock, tmp_path)


@pytest.fixture
async def world(
    simcord_env: simcord.Env, clock: EnvClock, tmp_path: Path, document_if_there: ApiDocument | None
) -> AsyncIterator[World]:
    """The world; afterwards: nobody was left without an answer, and all that was sent fits the document."""
    clock.env = simcord_env
    world = await build_world(simcord_env, clock, tmp_path)
    yield world
    await world.bot.in_step.close()
    await world.bot.store.close()
    unanswered = [one for one in simcord_env.backend.interactions.values() if not one.responded]
    assert not unanswered, f"no answer was given to {[(one.type, one.command_name) for one in unanswered]}"
    if document_if_there is not None:
        assert not problems_of(simcord_env, document_if_there)


def problems_of(env: simcord.Env, document: ApiDocument) -> list[str]:
    """Where what was sent does not fit the document."""
    return [
        str(problem)
        for sent in env.http_requests
        for problem in document.problems(sent.method, sent.path, sent.json)
    ]
