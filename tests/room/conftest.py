"""A room to visit, and a browser to visit it with: the tests of a file and a width share one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from signal import SIGINT

import pytest
from room.page import CHROMIUM, DRIVER, PHONE, WIDE, Page, open_browser
from room.running import RunningRoom, start_room


@pytest.fixture
def room(tmp_path: Path) -> Iterator[RunningRoom]:
    """A room on a free port; it is put away if the test did not close it."""
    running = start_room(tmp_path, "--port", "0")
    yield running
    if running.process.poll() is None:
        running.process.kill()
    running.process.communicate()


@pytest.fixture(scope="module", params=[WIDE, PHONE], ids=["wide", "phone"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    """The page's width and height, where there is a browser to show it."""
    if not (CHROMIUM.exists() and DRIVER.exists()):
        pytest.skip("Chromium is not installed: apt-get install chromium chromium-driver")
    return request.param  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def running(
    size: tuple[int, int],  # noqa: ARG001 (a room for each)
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[RunningRoom]:
    """The room that is visited; in the end it closes without a word of error."""
    room = start_room(tmp_path_factory.mktemp("room"), "--port", "0")
    yield room
    code, _, errors = room.stop(SIGINT)
    assert (code, errors) == (0, "")


@pytest.fixture(scope="module")
def page(
    size: tuple[int, int], running: RunningRoom, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Page]:
    """The room's page as it opens."""
    driver = open_browser(tmp_path_factory.mktemp("profile"))
    try:
        yield Page(driver, running.address, size)
    finally:
        driver.quit()


@pytest.fixture
def nothing_is_wider_than_the_page(page: Page) -> Iterator[None]:
    yield
    assert page.sideways_scroll() <= 0
