"""What `cornerman doctor` says of the place where the bot is to run: its disk, its clock, its pictures."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfoNotFoundError

import pytest
from examined import found

from bot import doctor
from bot.doctor import State

pytestmark = pytest.mark.usefixtures("own_folder", "healthy")  # in this order


@pytest.mark.parametrize(
    ("free_mb", "state"),
    [(0, State.WRONG), (49, State.WRONG), (51, State.LOOK), (499, State.LOOK), (501, State.OK)],
)
def test_a_disk_that_is_nearly_full_is_told(
    free_mb: int, state: State, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: SimpleNamespace(free=free_mb * doctor.MB))
    one = found("disk")
    assert one.state is state
    assert str(tmp_path) in one.said


def test_room_is_wanted_for_three_more_of_a_large_database(
    database: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with database.open("r+b") as file:
        file.truncate(400 * doctor.MB)  # sparse
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: SimpleNamespace(free=1_199 * doctor.MB))
    one = doctor._disk(database)
    assert one.state is State.LOOK
    assert "make room for 1,200 MB" in one.said


@pytest.mark.parametrize(
    ("now", "state"),
    [
        (datetime(1970, 1, 1, tzinfo=UTC), State.WRONG),
        (datetime(2025, 12, 31, tzinfo=UTC), State.WRONG),
        (datetime(2026, 6, 1, tzinfo=UTC), State.OK),
        (datetime(2101, 1, 1, tzinfo=UTC), State.WRONG),
    ],
)
def test_a_clock_that_cannot_be_right_is_wrong(now: datetime, state: State) -> None:
    one = found("clock", now=now)
    assert one.state is state
    assert f"{now:%Y-%m-%d %H:%M} UTC" in one.said


def test_a_clock_that_is_behind_the_database_is_worth_a_look(database: Path) -> None:
    written = datetime(2027, 3, 1, 12, tzinfo=UTC)
    os.utime(database, (written.timestamp(), written.timestamp()))
    assert found("clock", now=written - timedelta(minutes=1)).state is State.OK
    behind = found("clock", now=written - timedelta(hours=1))
    assert behind.state is State.LOOK
    assert "2027-03-01 12:00" in behind.said


def test_missing_time_zones_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(_: str) -> None:
        raise ZoneInfoNotFoundError

    monkeypatch.setattr(doctor, "ZoneInfo", missing)
    one = found("clock")
    assert one.state is State.WRONG
    assert "tzdata" in one.said


def test_pictures_that_cannot_be_drawn_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise ImportError("libfreetype.so.6:\ncannot open")

    monkeypatch.setattr("bot.render.pictures.warm_up", broken)
    one = found("pictures")
    assert one.state is State.WRONG
    assert "ImportError: libfreetype.so.6: cannot open" in one.said


def test_a_missing_font_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.render.pictures.fonts.FONT", "No Such Letters")
    one = found("pictures")
    assert one.state is State.WRONG
    assert "No Such Letters normal" in one.said


def test_a_list_of_fonts_that_can_be_kept_nowhere_is_worth_a_look(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setattr(doctor, "_font_list_folder", lambda: tmp_path / "file" / "cache")
    one = found("pictures")
    assert one.state is State.LOOK
    assert "MPLCONFIGDIR" in one.said


@pytest.mark.parametrize(
    ("variables", "folder"),
    [
        ({"MPLCONFIGDIR": "/a", "XDG_CACHE_HOME": "/b", "HOME": "/c"}, "/a"),
        ({"XDG_CACHE_HOME": "/b", "HOME": "/c"}, "/b/matplotlib"),
        ({"HOME": "/c"}, "/c/.cache/matplotlib"),
    ],
)
@pytest.mark.skipif(os.name != "posix", reason="these are the folders of other systems")
def test_the_list_of_fonts_lies_where_matplotlib_keeps_it(
    variables: dict[str, str], folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.undo()
    for name in ("MPLCONFIGDIR", "XDG_CACHE_HOME", "HOME"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert doctor._font_list_folder() == Path(folder)
