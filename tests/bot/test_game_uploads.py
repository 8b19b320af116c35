"""Game files that a moderator sends: looked at, read with other columns, used or dropped."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from explained import scans, statements_of
from gamed import (
    DIRECT,
    ELSEWHERE,
    MARLOW,
    ODRUN,
    OTHER_MOD,
    Office,
    both,
    changed,
    office_at,
    packaged,
    refusal,
    seen,
    sheet,
    toml,
)
from inline import InlineWorker

from bot.ports import WorkerError
from bot.results.audit import Deed
from bot.results.files import Upload
from bot.results.games import Contents, GameRefusal, GameRefusalCode
from bot.services import game_changes
from bot.storage import audit, editions, uploads
from core.patches import apply

PATH_IN_MOVES = b"""
name = "Tidewrack"
version = "1"
fps = 60
buttons = { A = {} }
[[character]]
name = "Brine Olwen"
moves = "/etc/passwd"
"""
HOSTILE = {
    "huge": (Upload("game.toml", b"#" * 2_000_001),),
    "huge in all": tuple(Upload(f"{n}.csv", b"input,name\n" * 50_000) for n in range(4)),
    "too many": tuple(sheet("input,name", "5A,a", name=f"{n}.csv") for n in range(6)),
    "none": (),
    "binary": (Upload("game.toml", bytes(range(256)) * 20),),
    "NULs": (sheet("input,name", "5\0A,jab"),),
    "deep": (Upload("game.toml", b"a = " + b"[" * 50_000),),
    "a path": (Upload("../../etc/odrun.csv", b"input,name\r\n5A,jab"),),
    "a path in moves": (Upload("game.toml", PATH_IN_MOVES),),
    "a program": (Upload("game.exe", b"MZ"),),
    "a formula": (sheet("character,input,name,damage", f"{ODRUN},5MP,lamp swing,=1+1"),),
    "empty": (Upload("game.toml", b""), Upload("moves.csv", b"")),
}  # fmt: skip


@pytest.fixture
async def office(tmp_path: Path) -> AsyncIterator[Office]:
    async with office_at(tmp_path) as office:
        yield office


def with_startup(number: int) -> Upload:
    """Odrun's moves, 5MP with this startup, under headings of somebody's own spreadsheet."""
    _, moves = both()
    rows = [line for line in moves.data.decode("utf-8-sig").splitlines() if line.startswith(ODRUN)]
    header = moves.data.decode("utf-8-sig").splitlines()[0].split(",")
    cells = [dict(zip(header, row.split(","), strict=True)) for row in rows]
    lines = ["Command;Move;Kind;Scheme;Same as;Start-up;Notes"]
    for row in cells:
        startup = str(number) if row["input"] == "5MP" else row["startup"]
        named = ";".join(row[name] for name in ("input", "name", "kind", "scheme", "same_as"))
        lines.append(f"{named};{startup};a note")
    return Upload("odrun.csv", "\r\n".join(lines).encode())


def edited(**cells: str) -> tuple[Upload, Upload]:
    """Saltglass as it is handed out, with other cells for Odrun's 5MP."""
    rules, moves = both()
    header, *rows = moves.data.decode("utf-8-sig").split("\r\n")
    names = header.split(",")
    lines = [header]
    for row in rows:
        each = row.split(",")
        if each[:2] == [ODRUN, "5MP"]:
            each = [cells.get(name, cell) for name, cell in zip(names, each, strict=True)]
        lines.append(",".join(each))
    return rules, Upload("moves.csv", "\r\n".join(lines).encode())


async def test_a_new_game_is_shown_and_used_only_when_that_is_confirmed(office: Office) -> None:
    shown = seen(await office.take(toml(), reason="for the Friday game"))
    assert shown.game is not None
    assert (shown.name, shown.says, shown.label, shown.contents) == (
        "Tidewrack",
        "1.0",
        "1.0",
        Contents(1, 1, 0),
    )
    assert (shown.before, shown.patch, shown.problems, shown.usable) == (None, None, (), True)
    assert "Tidewrack" not in office.game_book.names(1)
    done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    assert (done.game, done.before_id, done.before, done.patch) == (shown.game, None, None, None)
    assert (done.edition.reason, done.edition.made_by) == ("for the Friday game", MARLOW.member_id)
    assert office.game_book.game(1, "Tidewrack") == shown.game
    assert "Tidewrack" not in office.game_book.names(2)
    (deed,) = await office.deeds()
    assert (deed.deed, deed.what) == (Deed.GAME_LOADED, "Tidewrack 1.0: for the Friday game")
    assert await office.rows("upload") == [], "what was used is not kept twice"


async def test_a_new_version_is_shown_with_what_it_changes(office: Office) -> None:
    before = office.game()
    shown = seen(await office.take(*edited(startup="5", total="19")))
    assert (shown.says, shown.label) == (before.version, f"{before.version} (2)")
    assert (shown.before, shown.upload_id > 0) == (before, True)
    assert shown.patch is not None
    assert apply(shown.patch, before) == shown.game
    assert [one.name for one in shown.patch.characters] == [ODRUN]
    done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    assert (done.game, done.patch) == (shown.game, shown.patch)
    assert office.move().startup_frames == 5


async def test_a_sheet_alone_is_of_the_channel_s_game_and_leaves_the_other_characters(office: Office) -> None:
    before = office.game()
    shown = seen(await office.take(with_startup(5), character="odrun"))
    assert shown.game is not None, shown.problems
    assert [who.name for who in shown.game.characters] == [who.name for who in before.characters]
    assert shown.game.characters[1:] == before.characters[1:]
    taken = {one.header: one.column for one in shown.columns}
    assert taken["Start-up"] == "startup"
    assert (taken["Notes"], shown.notes[0].delimiter) == (None, ";")


async def test_a_sheet_stays_one_of_the_game_that_the_channel_was_about_when_it_was_sent(
    office: Office,
) -> None:
    shown = seen(await office.take(with_startup(5), character="odrun"))
    await office.desk.choose_game(MARLOW, "Kitewind")
    assert office.game().name == "Kitewind"
    done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    assert (done.game.name, done.game) == ("Saltglass", shown.game)


async def test_what_already_is_so_is_nothing_new(office: Office) -> None:
    shown = seen(await office.take(*both()))
    assert (shown.problems, shown.usable) == ((), False)
    assert refusal(shown.refusal) is GameRefusalCode.NOTHING_NEW
    used = await office.uploads.use(MARLOW, shown.upload_id, office.event())
    assert refusal(used) is GameRefusalCode.NOTHING_NEW
    assert await office.rows() == []


async def test_all_that_is_wrong_is_told_and_nothing_can_be_used(office: Office) -> None:
    shown = seen(await office.take(*edited(startup="soon", damage="a lot")))
    assert shown.game is None
    assert {problem.field for problem in shown.problems} >= {"startup", "damage"}
    assert not shown.usable
    used = await office.uploads.use(MARLOW, shown.upload_id, office.event())
    assert refusal(used) is GameRefusalCode.NOT_READABLE
    assert isinstance(used, GameRefusal)
    assert used.facts["count"] == len(shown.problems)
    assert (await office.rows(), office.game().version) == ([], packaged("saltglass")[1].version)


@pytest.mark.parametrize("files", HOSTILE.values(), ids=list(HOSTILE))
async def test_hostile_files_are_refused_in_words_and_change_nothing(
    office: Office, files: Sequence[Upload]
) -> None:
    before = office.game()
    shown = seen(await office.take(*files))
    assert shown.problems
    assert not shown.usable
    assert all(problem.wrong and problem.right for problem in shown.problems)
    assert (await office.rows(), office.game()) == ([], before)
    if shown.upload_id:
        assert refusal(await office.uploads.use(MARLOW, shown.upload_id, 77)) is GameRefusalCode.NOT_READABLE


async def test_a_worker_that_fails_is_one_clear_problem(tmp_path: Path) -> None:
    class Dying(InlineWorker):
        async def run(self, work: Callable[..., Any], *_args: Any, **_kwargs: Any) -> Any:
            raise WorkerError(f"The process of {work.__name__} died.")

    async with office_at(tmp_path, Dying()) as office:
        shown = seen(await office.take(toml()))
        assert [(one.wrong, shown.upload_id) for one in shown.problems] == [("take too long to read", 0)]
        assert await office.rows("upload") == []


async def test_a_label_that_is_taken_gets_a_number_and_the_same_file_is_kept_once(office: Office) -> None:
    one, other = edited(damage="650"), edited(damage="700")
    labels = []
    for files in (one, other, one, other):
        shown = seen(await office.take(*files))
        done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
        assert done.edition.version == shown.label
        labels.append(done.edition.version)
    version = packaged("saltglass")[1].version
    assert labels == [f"{version} (2)", f"{version} (3)"] * 2
    assert len(await office.rows()) == 2


async def test_a_version_that_only_has_another_name_is_a_version(office: Office) -> None:
    for version in ("1.0", "1.1"):
        shown = seen(await office.take(toml(version=version)))
        done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
        assert (done.edition.version, done.game.version) == (version, version)
    assert len(await office.rows()) == 2


async def test_what_somebody_sent_is_theirs_alone(office: Office) -> None:
    shown = seen(await office.take(toml()))
    for place in (OTHER_MOD, ELSEWHERE):
        for result in (
            await office.uploads.preview(place, shown.upload_id),
            await office.uploads.columns(place, shown.upload_id, ""),
            await office.uploads.guesses(place, shown.upload_id),
            await office.uploads.use(place, shown.upload_id, office.event()),
            await office.uploads.drop(place, shown.upload_id, office.event()),
        ):
            assert refusal(result) is GameRefusalCode.NO_SUCH_UPLOAD
    assert await office.rows() == []
    assert seen(await office.uploads.preview(MARLOW, shown.upload_id)).usable


async def test_a_later_upload_takes_the_place_of_the_one_before(office: Office) -> None:
    first = seen(await office.take(toml()))
    second = seen(await office.take(toml(version="1.1")))
    assert second.upload_id != first.upload_id
    used = await office.uploads.use(MARLOW, first.upload_id, office.event())
    assert refusal(used) is GameRefusalCode.NO_SUCH_UPLOAD
    assert (
        changed(await office.uploads.use(MARLOW, second.upload_id, office.event())).edition.version == "1.1"
    )


async def test_an_upload_is_kept_for_a_day(office: Office) -> None:
    shown = seen(await office.take(toml()))
    await office.take(toml(), place=OTHER_MOD)
    office.clock.time += timedelta(days=1, seconds=1)
    used = await office.uploads.use(MARLOW, shown.upload_id, office.event())
    assert refusal(used) is GameRefusalCode.NO_SUCH_UPLOAD
    await office.take(toml(), place=ELSEWHERE)
    assert len(await office.rows("upload")) == 1, "what is too old is removed"


async def test_what_was_dropped_is_gone(office: Office) -> None:
    shown, event = seen(await office.take(toml())), office.event()
    assert await office.uploads.drop(MARLOW, shown.upload_id, event) is None
    assert await office.uploads.drop(MARLOW, shown.upload_id, event) is None, "the same press again"
    assert await office.rows("upload") == []
    again = await office.uploads.drop(MARLOW, shown.upload_id, office.event())
    assert refusal(again) is GameRefusalCode.NO_SUCH_UPLOAD


async def test_the_same_event_is_one_upload_and_one_version(office: Office) -> None:
    event = office.event()
    shown, again = [seen(await office.uploads.take(MARLOW, [toml()], "", "", event)) for _ in range(2)]
    assert shown == again
    event = office.event()
    done, same = [changed(await office.uploads.use(MARLOW, shown.upload_id, event)) for _ in range(2)]
    assert (same.edition, same.game, same.again) == (done.edition, done.game, True)
    assert (len(await office.rows()), len(await office.deeds())) == (1, 1)


@pytest.mark.parametrize("gone_by", ["drop", "another upload", "erasing"])
async def test_what_is_gone_while_it_is_read_is_not_used(tmp_path: Path, gone_by: str) -> None:
    class SlowWorker(InlineWorker):
        meanwhile: Callable[[], Any] | None = None

        async def run(self, *given: Any, **named: Any) -> Any:
            meanwhile, self.meanwhile = self.meanwhile, None
            if meanwhile is not None:
                await meanwhile()
            return await super().run(*given, **named)

    worker = SlowWorker()
    async with office_at(tmp_path, worker) as office:
        number = seen(await office.take(toml())).upload_id
        worker.meanwhile = {
            "drop": lambda: office.uploads.drop(MARLOW, number, office.event()),
            "another upload": lambda: office.take(toml(version="1.1")),
            "erasing": lambda: office.privacy.erase(MARLOW),
        }[gone_by]
        used = await office.uploads.use(MARLOW, number, office.event())
        assert refusal(used) is GameRefusalCode.NO_SUCH_UPLOAD
        assert (await office.rows(), await office.deeds()) == ([], [])


@pytest.mark.parametrize("broken", [(editions, "set_current"), (audit, "note"), (uploads, "drop")])
async def test_a_failure_half_way_stores_no_version_and_keeps_the_upload(
    office: Office, monkeypatch: pytest.MonkeyPatch, broken: tuple[object, str]
) -> None:
    shown, event = seen(await office.take(*edited(damage="650"))), office.event()

    async def fail(*_: object, **__: object) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(*broken, fail)
        with pytest.raises(OSError, match="full"):
            await office.uploads.use(MARLOW, shown.upload_id, event)
    assert (await office.rows(), await office.deeds()) == ([], [])
    assert office.move().hits[0].damage == 600
    done = changed(await office.uploads.use(MARLOW, shown.upload_id, event))
    assert (done.again, office.move().hits[0].damage) == (False, 650)


async def test_what_changed_since_it_was_looked_at_is_not_undone_by_a_sheet(office: Office) -> None:
    shown = seen(await office.take(with_startup(5), character=ODRUN))
    mirrel = office.game().characters[1]
    changed(await office.edit("450", place=OTHER_MOD, column="damage", move="5LP", character="Mirrel"))
    done = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    assert done.game.characters[1] != mirrel
    assert office.move("5LP", who=mirrel.name).hits[0].damage == 450
    assert office.move().startup_frames == 5


async def test_a_game_that_is_called_so_but_for_its_capitals_is_a_mistake(office: Office) -> None:
    shown = seen(await office.take(toml("SALTGLASS")))
    (problem,) = shown.problems
    assert (problem.file, problem.field) == ("game.toml", "name")
    assert "Saltglass" in problem.right
    assert not shown.usable


async def test_a_server_has_so_many_games_and_no_more(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game_changes, "MOST_GAMES", 2)
    for name in ("Tidewrack", "Brinelight"):
        shown = seen(await office.take(toml(name)))
        changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    shown = seen(await office.take(toml("Thirdmast")))
    assert refusal(shown.refusal) is GameRefusalCode.TOO_MANY_GAMES
    used = await office.uploads.use(MARLOW, shown.upload_id, office.event())
    assert refusal(used) is GameRefusalCode.TOO_MANY_GAMES
    assert seen(await office.take(toml("Tidewrack", version="1.1"))).usable, "a version of one it has"


async def test_games_belong_to_servers(office: Office) -> None:
    for place in (DIRECT, replace(MARLOW, direct=True)):
        assert refusal(await office.take(toml(), place=place)) is GameRefusalCode.NO_SERVER
    too_long = await office.take(toml(), reason="x" * 201)
    assert refusal(too_long) is GameRefusalCode.TEXT_TOO_LONG
    assert await office.rows("upload") == []


async def test_what_was_sent_is_in_the_export_and_is_erased(office: Office) -> None:
    await office.take(toml())
    everything = await office.privacy.export(MARLOW)
    assert everything.games is not None
    assert everything.games.files == ("game.toml",)
    await office.privacy.erase(MARLOW)
    assert await office.rows("upload") == []
    assert (await office.privacy.export(MARLOW)).games is None


async def test_no_query_reads_a_whole_table(office: Office) -> None:
    asked = statements_of(office.store)
    shown = seen(await office.take(toml()))
    await office.uploads.columns(MARLOW, shown.upload_id, "")
    changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    await office.uploads.drop(MARLOW, shown.upload_id, office.event())
    assert len(asked) >= 8
    assert scans(office.store, asked) == {}
