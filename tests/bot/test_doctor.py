"""`cornerman doctor`: each thing that may be wrong is found, said in one sentence, and nothing is changed."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest
from examined import TOKEN, found
from shell import run
from stored import opened

from bot import doctor
from bot.config import Settings
from bot.doctor import Finding, State, examine
from bot.storage.revision import HEAD
from bot.terminal.doctor import KEYS

ROOT = Path(__file__).parents[2]
CHECKS = ["settings", "token", "games", "database", "disk", "clock", "pictures"]

pytestmark = pytest.mark.usefixtures("own_folder", "healthy")  # in this order


def contents(folder: Path) -> dict[str, tuple[bytes | None, int]]:
    """All files below a folder, and when they were written to."""
    return {
        str(path.relative_to(folder)): (
            path.read_bytes() if path.is_file() else None,
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
    }


def test_where_all_is_well_it_says_so_and_exits_with_0(
    database: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "doctor")
    assert (code, err) == (0, "")
    lead, blank, *lines = out.splitlines()
    assert (lead, blank) == ("All is well here.", "")
    assert [line.split()[1] for line in lines if line.startswith("ok ")] == CHECKS
    assert f"{database.name} is whole, up to date" in out


def test_a_place_where_the_bot_never_ran_is_well_too(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "doctor")
    assert code == 0
    assert "cornerman.db is not there yet" in out


def test_what_is_only_worth_a_look_exits_with_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CORNERMAN_DEFAULT_CHARACTER", "Nobody At All")
    code, out, _ = run(capsys, "doctor")
    assert code == 1
    assert out.startswith("The bot can run here, but one thing is worth a look.\n")
    assert "look at it  games" in out


def test_what_is_wrong_exits_with_3(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CORNERMAN_TOKEN", "")
    monkeypatch.setenv("CORNERMAN_DATABASE", "nowhere/a.db")
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: SimpleNamespace(free=1))
    code, out, _ = run(capsys, "doctor")
    assert code == 3
    assert out.startswith("3 things are wrong here; ")
    assert sum(line.startswith("wrong ") for line in out.splitlines()) == 3


def test_the_json_has_its_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "doctor", "--json")
    told = json.loads(out)
    assert code == 0
    assert set(told) == set(KEYS)
    assert told["state"] == "ok"
    assert [one["check"] for one in told["findings"]] == CHECKS
    assert all(set(one) == {"check", "state", "said"} for one in told["findings"])


def test_the_help_names_the_keys_and_the_exit_codes(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "doctor", "--help")
    assert code == 0
    assert all(f"  {key}: " in out for key in KEYS)
    assert "exit code: 0 all is well; 1 something to look at; 3 something is wrong" in out


@pytest.mark.parametrize("content", ["default_gam = 'x'", "metrics_port = 70000", "log_level ="])
def test_wrong_settings_are_a_finding_and_what_needs_none_is_still_looked_at(
    content: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(content, "utf-8")
    code, out, err = run(capsys, "doctor", "--config", str(file), "--json")
    told = json.loads(out)
    assert (code, err) == (3, "")
    assert [(one["check"], one["state"]) for one in told["findings"]] == [
        ("settings", "wrong"),
        ("clock", "ok"),
        ("pictures", "ok"),
    ]


def test_a_variable_that_is_no_setting_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CORNERMAN_DATABSE", "a.db")
    one = found("settings")
    assert one.state is State.LOOK
    assert one.said.startswith("CORNERMAN_DATABSE in the environment is no setting")
    assert "CORNERMAN_DATABASE" in one.said


@pytest.mark.skipif(os.name != "posix", reason="files have no such modes here")
@pytest.mark.parametrize(("mode", "state"), [(0o644, State.LOOK), (0o640, State.OK), (0o600, State.OK)])
def test_a_token_in_a_file_that_anybody_can_read_is_worth_a_look(
    mode: int, state: State, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("CORNERMAN_TOKEN")
    file = tmp_path / "config.toml"
    file.write_text(f'token = "{TOKEN}"\n', "utf-8")
    file.chmod(mode)
    assert found("settings").state is state
    assert found("token").state is State.OK


@pytest.mark.skipif(os.name != "posix", reason="files have no such modes here")
@pytest.mark.parametrize(("mode", "state"), [(0o644, State.LOOK), (0o640, State.OK), (0o600, State.OK)])
def test_a_database_that_anybody_can_read_is_worth_a_look(mode: int, state: State, database: Path) -> None:
    database.chmod(mode)
    one = found("database")
    assert one.state is state
    assert ("chmod 600" in one.said) is (state is State.LOOK)


@pytest.mark.parametrize("mode", [0o644, 0o600])
def test_a_file_without_the_token_may_be_read_by_anybody(mode: int, tmp_path: Path) -> None:
    file = tmp_path / "config.toml"
    file.write_text('default_game = "Saltglass"\n', "utf-8")
    file.chmod(mode)
    assert found("settings") == Finding("settings", State.OK, "config.toml is read.")


@pytest.mark.parametrize("token", [TOKEN, f"  {TOKEN}\n", "a.b.c", "a-_.b-_.c-_"])
def test_three_parts_with_dots_are_the_form_of_a_token(token: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CORNERMAN_TOKEN", token)
    assert found("token").state is State.OK


@pytest.mark.parametrize(
    "token",
    [
        "",
        " ",
        "secretword",
        "a.secretword",
        "a.b.secretword.d",
        "Bot a.b.secretword",
        "a.b.secret+word",
        "a..secretword",
    ],
)
def test_a_token_of_another_form_is_wrong_and_is_not_shown(
    token: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CORNERMAN_TOKEN", token)
    assert found("token").state is State.WRONG
    for argv in (("doctor",), ("doctor", "--json")):
        code, out, err = run(capsys, *argv)
        assert code == 3
        assert "secret" not in out + err


def test_a_good_token_is_not_shown_either(capsys: pytest.CaptureFixture[str]) -> None:
    out = run(capsys, "doctor")[1] + run(capsys, "doctor", "--json")[1]
    assert not any(part in out for part in TOKEN.split("."))


def test_a_game_file_with_problems_keeps_the_bot_from_starting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "bad.toml").write_text(
        'name = "Bad"\nversion = "1"\nfps = -1\nstrengths = ["a", "a"]\n', "utf-8"
    )
    monkeypatch.setenv("CORNERMAN_GAMES_FOLDER", str(folder))
    one = found("games")
    assert one.state is State.WRONG
    assert "bad.toml" in one.said
    assert "more" in one.said
    assert "cornerman game check" in one.said


def test_own_games_are_counted_with_the_packaged_ones(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = int(found("games").said.split()[0])
    shutil.copytree(ROOT / "tests" / "data" / "games" / "trade", tmp_path / "mine" / "trade")
    monkeypatch.setenv("CORNERMAN_GAMES_FOLDER", "mine")
    assert found("games").state is State.OK
    assert int(found("games").said.split()[0]) == before + 1


@pytest.mark.parametrize(
    ("name", "value", "state", "said"),
    [
        ("DEFAULT_GAME", "no such game", State.WRONG, "default_game"),
        ("DEFAULT_CHARACTER", "Nobody At All", State.LOOK, "default_character"),
        ("GAMES_FOLDER", "not/there", State.LOOK, "not/there does not exist"),
        ("GAMES_FOLDER", "empty", State.LOOK, "empty holds no game file"),
        ("GAMES_FOLDER", "file", State.WRONG, "no folder"),
        ("DEFAULT_CHARACTER", "Odrun", State.OK, "Saltglass"),
    ],
)
def test_settings_of_games_are_looked_at(
    name: str, value: str, state: State, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setenv(f"CORNERMAN_{name}", value)
    one = found("games")
    assert one.state is state
    assert said in one.said


def damaged(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[4096 : 4096 + 2000] = b"\xff" * 2000  # the second page
    file.write_bytes(data)


def of_another_program(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as made:
        made.execute("CREATE TABLE recipe (name)")


def at_revision(file: Path, revision: str) -> None:
    with closing(sqlite3.connect(file, isolation_level=None)) as opened_file:
        opened_file.execute("UPDATE alembic_version SET version_num = ?", (revision,))


@pytest.mark.parametrize(
    ("break_it", "state", "said"),
    [
        (damaged, State.WRONG, "is damaged"),
        (lambda file: file.write_bytes(b"no database at all" * 400), State.WRONG, "is not a database"),
        (of_another_program, State.WRONG, "is another program's database"),
        (lambda file: at_revision(file, "9999"), State.WRONG, "was written by a newer version"),
        (lambda file: at_revision(file, "0001"), State.LOOK, "cornerman backup"),
        (lambda file: file.write_bytes(b""), State.OK, "is whole"),
        (lambda file: (file.unlink(), file.mkdir()), State.WRONG, "it is a folder"),
        (lambda file: at_revision(file, HEAD), State.OK, "is whole, up to date"),
    ],
    ids=["damaged", "no database", "another's", "newer", "older", "empty", "folder", "as it was"],
)
def test_a_database_is_looked_through(
    break_it: object, state: State, said: str, database: Path, tmp_path: Path
) -> None:
    assert callable(break_it)
    break_it(database)
    before = contents(tmp_path)
    one = found("database")
    assert one.state is state, one.said
    assert said in one.said
    assert contents(tmp_path) == before


def test_a_database_whose_folder_is_missing_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CORNERMAN_DATABASE", "nowhere/a.db")
    assert found("database").said.endswith("its folder does not exist; create the folder.")
    monkeypatch.undo()


@pytest.mark.parametrize("refused", ["cornerman.db", "cornerman.db-wal", ""])
def test_a_database_that_cannot_be_written_to_is_wrong(
    refused: str, database: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A system that is mounted read-only says so to root too; here `access` says it in its place."""
    (tmp_path / "cornerman.db-wal").write_bytes(b"")
    access = os.access

    def refusing(path: object, mode: int) -> bool:
        return (tmp_path / refused) != Path(str(path)).absolute() and access(str(path), mode)

    monkeypatch.setattr(os, "access", refusing)
    one = found("database")
    assert one.state is State.WRONG
    assert f"{database.name} cannot be written to" in one.said


@pytest.mark.sqlite
def test_it_also_looks_while_the_bot_runs_and_then_sees_what_was_written_last(tmp_path: Path) -> None:
    async def look() -> tuple[Finding, list[str], Finding]:
        async with opened(tmp_path) as store:
            async with store.write() as writing:
                await writing.connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
            assert (tmp_path / "cornerman.db-wal").stat().st_size > 0
            while_running = await asyncio.to_thread(found, "database")
            async with store.write() as writing:  # it held up nobody
                await writing.connection.exec_driver_sql(f"UPDATE alembic_version SET version_num = '{HEAD}'")
            return while_running, sorted(os.listdir(tmp_path)), await asyncio.to_thread(found, "database")

    older, files, newest = asyncio.run(look())
    assert older.state is State.LOOK
    assert files == ["cornerman.db", "cornerman.db-shm", "cornerman.db-wal"]
    assert newest.state is State.OK


@pytest.mark.sqlite
def test_after_a_crash_the_log_is_read_and_left_as_it_is(tmp_path: Path) -> None:
    crashed = tmp_path / "crashed"
    crashed.mkdir()

    async def crash() -> None:
        async with opened(tmp_path) as store:
            async with store.write() as writing:
                await writing.connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
            for end in ("", "-wal", "-shm"):
                shutil.copy(f"{store.file}{end}", crashed)

    asyncio.run(crash())
    config = crashed / "config.toml"
    config.write_text("", "utf-8")
    before = {name: (crashed / name).read_bytes() for name in ("cornerman.db", "cornerman.db-wal")}
    assert found("database", config).state is State.LOOK  # what stands in the log alone
    assert {name: (crashed / name).read_bytes() for name in before} == before


def test_the_program_changes_nothing_in_its_folder_or_its_user_s(database: Path, tmp_path: Path) -> None:
    """In a process of its own, so with the libraries' own habits."""
    before = contents(tmp_path)
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "MPL"))}
    done = subprocess.run(
        [sys.executable, "-m", "bot", "doctor"],
        cwd=tmp_path,
        env={**kept, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1", "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stderr) in ((0, ""), (1, "")), (
        done.stdout
    )  # the disk here may be nearly full
    assert f"{database.name} is whole" in done.stdout
    assert "Pictures are drawn, and their fonts are there." in done.stdout
    assert contents(tmp_path) == before


@pytest.fixture
def sentences() -> Iterator[list[str]]:
    """What is said in this test, to be looked at afterwards."""
    said: list[str] = []
    yield said
    assert said
    assert all(one.endswith(".") and "\n" not in one and ".." not in one for one in said)


def test_each_finding_is_one_sentence(
    sentences: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sentences.extend(finding.said for finding in examine(None))
    monkeypatch.setenv("CORNERMAN_TOKEN", "x")
    monkeypatch.setenv("CORNERMAN_DEFAULT_GAME", "no such game")
    monkeypatch.setenv("CORNERMAN_DATABASE", str(tmp_path / "nowhere" / "a.db"))
    sentences.extend(finding.said for finding in examine(None))
    sentences.extend(finding.said for finding in examine(tmp_path / "missing.toml"))


def test_what_may_not_even_be_looked_at_is_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(_: Settings) -> Finding:
        raise PermissionError(13, "Permission denied", "/srv/games")

    monkeypatch.setattr(doctor, "_games", forbidden)
    one = found("games")
    assert one.state is State.WRONG
    assert (
        one.said
        == "/srv/games cannot be looked at (permission denied): let the bot's user read it and its folder."
    )
