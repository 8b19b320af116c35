"""What all tests share: a repeatable hypothesis profile, a game, and what may not be skipped."""

from __future__ import annotations

import gc
import inspect
import os
from collections.abc import Generator, Iterator
from pathlib import Path

import databases
import pytest
from hypothesis import HealthCheck, settings
from net import error_records

from core.model import Game

DATA = Path(__file__).parent / "data"

settings.register_profile(
    "repeatable",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def trade_game() -> Game:
    """The trade's cancel rules as a rule set, with two invented players."""
    from bot.gamefiles import read_game

    return read_game(DATA / "games" / "trade")


MARKERS = {
    "browser": "opens the room in Debian's Chromium; skipped where it is not installed",
    "postgresql": "needs a PostgreSQL server's programs; skipped where they are not installed",
    "api_document": "checks against the platform's published API document; skipped where it is not at hand",
}
SQLITE_ONLY = "sqlite"
NEEDED = {name for name in os.environ.get("CORNERMAN_NEEDS", "").split(",") if name}
"""Markers of tests that must run here: .ci/run names them, and a skip of one fails."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--database",
        choices=("sqlite", "postgresql"),
        default="sqlite",
        help="what the tests keep their data in: files, or a PostgreSQL server that they begin and end",
    )


def pytest_configure(config: pytest.Config) -> None:
    databases.use(config.getoption("--database"))
    config.addinivalue_line("markers", f"{SQLITE_ONLY}: is about a SQLite file; left out on PostgreSQL")
    unknown = NEEDED - MARKERS.keys()
    if unknown:
        raise pytest.UsageError(f"CORNERMAN_NEEDS: no tests are marked {', '.join(sorted(unknown))}")
    for name, what in MARKERS.items():
        config.addinivalue_line("markers", f"{name}: {what}")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    left_out: list[pytest.Item] = []
    if databases.uses_postgresql():
        left_out = [item for item in items if item.get_closest_marker(SQLITE_ONLY)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in set(left_out)]
    elif not databases.installed():
        for item in items:
            if item.get_closest_marker("postgresql"):
                item.add_marker(pytest.mark.skip("PostgreSQL is not installed: apt-get install postgresql"))


@pytest.fixture(scope="session", autouse=True)
def _what_all_tests_share_is_not_looked_at_again() -> Iterator[None]:
    """Each asynchronous test collects, to find lost exceptions: let it look at its own objects only."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.fixture(autouse=True)
def _nothing_is_swallowed(request: pytest.FixtureRequest) -> Iterator[None]:
    """What nobody catches, in the library, in a task or in an event, fails the test that it happened in."""
    collect = inspect.iscoroutinefunction(request.function)
    with error_records("discord", "asyncio", "bot.uncaught", collect=collect) as records:
        yield
    assert not records, [(record.name, record.getMessage()) for record in records]


@pytest.fixture(autouse=True)
def _databases_go_with_their_test() -> Iterator[None]:
    yield
    databases.drop_all()


def pytest_unconfigure() -> None:
    databases.end()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    needed = sorted(NEEDED & {mark.name for mark in item.iter_markers()})
    if report.skipped and needed:
        report.outcome = "failed"
        report.longrepr = f"skipped, but CORNERMAN_NEEDS names {needed[0]}: {report.longrepr}"
    return report
