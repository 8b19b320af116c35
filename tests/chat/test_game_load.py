"""A moderator sends a game's files: they are looked at, and used only when the moderator says so."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import deliver_again, events_seen
from chat.gaming import (
    GAME,
    MOVE,
    ODRUN,
    OTHER,
    STARTUP,
    VERSION,
    File,
    faster,
    load,
    loaded,
    moves,
    plain,
    rules,
    startup_of,
    versions_of,
)
from chat.hostile import HOSTILE as HOSTILE_TEXTS
from chat.hostile import check
from chat.practice import everything, files_of, filled, forge, picked, rows
from chat.world import World, labels_of

from bot.client.policy import NOT_ALLOWED
from bot.ports import WorkerError
from bot.services.access import Standing

USE, COLUMNS, DROP = "Use it", "Columns", "Drop it"
DAY_SECONDS = 86_400
SEMICOLONS = (
    "Command;Move;Start-up;Active;Recovery frames;Dmg;my notes\r\n5MP;lamp swing;5;4;11;650;é for ever\r\n"
)


def sheet(text: str = SEMICOLONS, encoding: str = "cp1252") -> File:
    """A sheet of one move, as some spreadsheet saves it."""
    return "odrun.csv", text.encode(encoding)


def second_host(world: World) -> Any:
    """Another moderator of the same server."""
    guild = world.salt.guild
    return guild.add_member(world.env.create_user("second-host"), roles=[guild.roles["Host"]])


async def test_a_file_is_looked_at_and_changes_nothing_before_it_is_used(world: World) -> None:
    shown = await load(world, rules("1.3"), faster(), reason="the spring patch")
    said = plain(shown)
    assert shown.ephemeral
    assert "Saltglass, version 1.3, can be used in place of version 1.2." in said
    assert "4 characters, 151 moves and 5 rules of what cancels into what." in said
    assert "Odrun Vale's 5MP: startup is 5, was 6." in said
    assert "“the spring patch”" in said
    assert labels_of(shown) == [USE, COLUMNS, DROP]
    assert await startup_of(world) == STARTUP
    assert versions_of(world, world.salt) == []


async def test_what_is_used_answers_everybody_in_the_server_and_nobody_elsewhere(world: World) -> None:
    salt, kite = world.salt, world.kite
    await kite.mod.slash(kite.channel, "game choose", name=GAME)
    used = await loaded(world, rules("1.3"), faster(), reason="the spring patch")
    assert used.ephemeral
    assert "Odrun Vale's 5MP: startup is 5, was 6. That is version 1.3 of Saltglass" in plain(used)
    assert labels_of(used) == ["Post what changed", "Versions", "Back to 1.2"]
    assert await startup_of(world) == await startup_of(world, salt.bo, salt.other_channel) == "5"
    assert await startup_of(world, kite.ann, kite.channel) == STARTUP
    (kept,) = [row for row in rows(world, "edition") if row["server_id"] == salt.guild.id]
    assert (kept["version"], kept["reason"]) == ("1.3", "the spring patch")
    assert [row["deed"] for row in rows(world, "audit") if row["server_id"] == salt.guild.id] == [
        "game-loaded"
    ]
    await world.restart()
    assert await startup_of(world) == "5"


async def test_files_are_used_after_a_restart_and_once_however_often_it_is_pressed(world: World) -> None:
    shown = await load(world, rules("1.3"), faster())
    await world.restart()
    with events_seen(world.env) as seen:
        used = await world.salt.mod.click(shown.response, label=USE)
    assert "version 1.3" in plain(used)
    before = everything(world)
    again = await world.salt.mod.click(shown.response, label=USE)
    assert "These files are not kept any more" in plain(again)
    assert everything(world) == before
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert everything(world) == before


async def test_dropped_files_are_forgotten(world: World) -> None:
    salt = world.salt
    shown = await load(world, rules("1.3"), faster())
    await salt.mod.click(shown.response, label=DROP)
    assert "Dropped" in plain(shown)
    assert labels_of(shown) == []
    assert rows(world, "upload") == []
    assert await startup_of(world) == STARTUP


async def test_later_files_take_the_place_of_earlier_ones_and_old_ones_are_gone(world: World) -> None:
    salt = world.salt
    first = await load(world, rules("1.3"), faster())
    second = await load(world, rules("1.4"), faster("4", "18"))
    gone = await salt.mod.click(first.response, label=USE)
    assert "not kept any more" in plain(gone)
    await world.env.advance_time(DAY_SECONDS + 60)
    old = await salt.mod.click(second.response, label=USE)
    assert "send them again with /game load" in plain(old)
    assert versions_of(world, salt) == []


async def test_a_sheet_alone_changes_the_moves_of_one_character_however_it_was_saved(world: World) -> None:
    shown = await load(world, sheet(), character=ODRUN)
    said = plain(shown)
    assert "odrun.csv: 1 row, read as Windows-1252 with semicolons between the cells." in said
    assert "odrun.csv: I left out “my notes”." in said
    assert "“Start-up”" not in said
    assert f"{ODRUN}: 5LP (wick pinch) is gone." in said
    assert "more changes" in said
    assert labels_of(shown) == [USE, COLUMNS, DROP]


async def test_a_moderator_says_what_a_column_is_where_the_guess_was_wrong(world: World) -> None:
    salt = world.salt
    text = moves({(MOVE, "damage"): "650"}, {"damage": "Hurt per touch"})
    shown = await load(world, rules("1.3"), text)
    assert "moves.csv: I left out “Hurt per touch”." in plain(shown)
    form = await salt.mod.click(shown.response, label=COLUMNS)
    said = filled(form)["columns"]
    assert said.startswith("Hurt per touch = leave out")
    await world.restart()
    mended = await salt.mod.submit_modal(form, {"columns": said.replace("leave out", "damage", 1)})
    assert mended.ephemeral
    assert "“Hurt per touch”" not in plain(mended)
    assert "Odrun Vale's 5MP: damage is 650, was 600." in plain(mended)
    used = await salt.mod.click(mended.response, label=USE)
    assert "damage is 650" in plain(used)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("startup", "Line 1, “startup”, cannot be read: write it as “their column = our column”"),
        ("Sturtup = startup", "Your sheet has no column “Sturtup”; the nearest is startup"),
        ("zzz = startup", "Your sheet has no column “zzz”: leave the left side of each line as it was."),
        ("startup = damige", "“damige” is no column that I know; the nearest is damage"),
        ("startup = zzzzzz", "“zzzzzz” is no column that I know: name one such as"),
    ],
)
async def test_a_line_about_columns_that_cannot_be_read_is_refused_and_changes_nothing(
    world: World, line: str, said: str
) -> None:
    salt = world.salt
    shown = await load(world, rules("1.3"), faster())
    form = await salt.mod.click(shown.response, label=COLUMNS)
    before = everything(world)
    refused = await salt.mod.submit_modal(form, {"columns": line})
    assert refused.ephemeral
    assert said in plain(refused)
    assert everything(world) == before
    assert "startup is 5" in plain(await salt.mod.click(shown.response, label=USE))


async def test_all_that_is_wrong_is_told_with_its_place_and_nothing_is_stored(world: World) -> None:
    cells = {
        (move, "startup"): "fast" for move in ("5LP", "5MP", "5HP", "5LK", "5MK", "5HK", "2LP", "2MP", "2HP")
    }
    shown = await load(world, rules("1.3"), moves(cells))
    said = plain(shown)
    assert "These files cannot be used yet: 9 things are wrong in them." in said
    assert "moves.csv" in said
    assert "startup" in said
    assert "All 9 are in problems.txt." in said
    assert files_of(shown) == ["problems.txt"]
    text = (await shown.response.attachments[0].read()).decode()
    assert len(text.splitlines()) == 9
    assert USE not in labels_of(shown)
    assert versions_of(world, world.salt) == []
    assert await startup_of(world) == STARTUP


HOSTILE = {
    "nothing in it": ((("game.toml", b""),), "wrong in"),
    "binary": ((("game.toml", bytes(range(256)) * 40),), "wrong in"),
    "a picture called a sheet": ((("moves.csv", b"\x89PNG\r\n\x1a\n" + bytes(200)),), "wrong in"),
    "another kind of file": ((("moves.xlsx", b"PK\x03\x04"),), "save a sheet as CSV"),
    "nested deep": ((("game.toml", b"x = " + b"[" * 20_000),), "wrong in"),
    "a formula": ((rules("1.3"), moves({(MOVE, "name"): "=1+2"})), "formula"),
    "a path": (
        (("game.toml", rules()[1].replace(b'moves = "odrun.csv"', b'moves = "../../etc/passwd"')),),
        "wrong in",
    ),
    "no toml": ((("game.toml", b"name = [[["),), "proper TOML"),
    "a huge number": ((rules("1.3"), moves({(MOVE, "startup"): "9" * 400})), "wrong in"),
    "too many columns": (
        (("odrun.csv", ",".join(f"c{one}" for one in range(500)).encode() + b"\r\n"),),
        "column",
    ),
    "a sheet of nobody": ((("odrun.csv", b"input,name,startup\r\n9ZZ,x,5\r\n"),), "wrong in"),
    "two rules": ((rules("1.3"), ("other.toml", rules("1.4")[1])), "wrong in"),
}


@pytest.mark.parametrize(("files", "said"), HOSTILE.values(), ids=HOSTILE.keys())
async def test_a_file_that_is_no_game_is_refused_in_words(
    world: World, files: tuple[File, ...], said: str
) -> None:
    shown = await load(world, *files)
    assert shown.ephemeral
    assert said in plain(shown)
    assert "went wrong" not in plain(shown)
    assert USE not in labels_of(shown)
    assert versions_of(world, world.salt) == []
    assert await startup_of(world) == STARTUP


@pytest.mark.parametrize("text", HOSTILE_TEXTS.values(), ids=HOSTILE_TEXTS.keys())
async def test_whatever_stands_in_a_file_formats_nothing_and_calls_nobody(world: World, text: str) -> None:
    name = text.replace("\\", "\\\\").replace('"', '\\"')
    files = [
        ("game.toml", rules(name=name[:40] or "x")[1]),
        moves({(MOVE, "startup"): text, (MOVE, "name"): text}, {"damage": text}),
    ]
    check(await load(world, *files, reason=text[:200]))
    check(await load(world, moves({(MOVE, "damage"): "1"}, {"tags": text}), character=text))
    shown = await load(world, (f"{text[:40]}.csv", sheet()[1]), reason=text)
    check(shown)


async def test_files_that_are_too_large_are_refused_before_they_are_fetched(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fetched(*_: object, **__: object) -> bytes:
        raise AssertionError("they were fetched")

    monkeypatch.setattr("discord.Attachment.read", fetched)
    halves = [(f"{name}.csv", b"x" * 1_200_000) for name in ("one", "two")]
    refused = await load(world, *halves)
    assert refused.ephemeral
    assert "These files have 2.4 MB together, and I take 2.0 MB at most" in plain(refused)
    assert rows(world, "upload") == []


async def test_a_file_that_the_platform_no_longer_has_is_asked_for_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(world.env.backend.cdn), "get", lambda *_: None)
    refused = await load(world, rules("1.3"))
    assert "The platform did not hand me game.toml: please send it again." in plain(refused)


async def test_files_that_take_too_long_to_read_are_refused_and_not_kept(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def broken(*_: object, **__: object) -> None:
        raise WorkerError

    monkeypatch.setattr(world.bot.game_uploads._worker, "run", broken)
    refused = await load(world, rules("1.3"), faster())
    assert refused.ephemeral
    assert "send fewer or smaller files" in plain(refused)
    assert labels_of(refused) == []
    assert rows(world, "upload") == []


async def test_what_the_version_says_already_is_told_and_cannot_be_used(world: World) -> None:
    shown = await load(world, rules(), moves())
    assert "These files say what version 1.2 says already: nothing was changed." in plain(shown)
    assert labels_of(shown) == [COLUMNS, DROP]


async def test_a_name_of_a_version_that_is_taken_gets_a_number(world: World) -> None:
    shown = await load(world, rules(VERSION), faster())
    assert "The file calls itself 1.2; other numbers are called so here, so this becomes 1.2 (2)." in plain(
        shown
    )
    used = await world.salt.mod.click(shown.response, label=USE)
    assert "That is version 1.2 (2) of Saltglass" in plain(used)


async def test_a_game_of_another_name_becomes_one_more_of_the_servers(world: World) -> None:
    salt, kite = world.salt, world.kite
    shown = await load(world, rules("0.1", name="Tideglass"), faster())
    assert "Tideglass, version 0.1, can be used: a new game for this server." in plain(shown)
    used = await salt.mod.click(shown.response, label=USE)
    assert "Tideglass, version 0.1, is one of this server's games now." in plain(used)
    assert await startup_of(world) == STARTUP
    chosen = await salt.mod.click(used.response, label="Ask about it here")
    assert "This server asks about Tideglass." in plain(chosen)
    assert await startup_of(world) == "5"
    refused = await kite.mod.slash(kite.channel, "game choose", name="Tideglass")
    assert "“Tideglass”" in plain(refused)
    offered = await kite.mod.autocomplete(kite.channel, "game choose", "name", "")
    assert sorted(one["value"] for one in offered) == [OTHER, GAME]


async def test_another_moderators_files_are_theirs(world: World) -> None:
    salt = world.salt
    other = second_host(world)
    shown = await load(world, rules("1.3"), faster())
    theirs = await load(world, rules("1.4"), faster("4", "18"), member=other)
    (number, _) = [row["id"] for row in rows(world, "upload")]
    forge(world, salt.channel, theirs, f"m1|use-upload|{number}")
    refused = await other.click(theirs.response, label=USE)
    assert "not kept any more" in plain(refused)
    assert "version 1.3" in plain(await salt.mod.click(shown.response, label=USE))


@pytest.mark.parametrize(
    "act",
    ["use-upload", "drop-upload", "upload-columns", "versions", "use-edition-now", "download", "reports"],
)
async def test_a_member_cannot_press_what_is_for_moderators(world: World, act: str) -> None:
    salt = world.salt
    await load(world, rules("1.3"), faster())
    (upload,) = rows(world, "upload")
    card = await salt.ann.slash(salt.channel, "ask", question="is Mirrel's 236HK safe?")
    label = labels_of(card)[0]
    forge(world, salt.channel, card, f"m1|{act}|{upload['id']}")
    before = everything(world)
    refused = await salt.ann.click(card.response, label=label)
    assert refused.ephemeral
    assert plain(refused).strip() == NOT_ALLOWED
    assert everything(world) == before


async def test_a_list_of_versions_is_for_moderators_too(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "log", what="Odrun: 5MP, 2MP", result="7/10")
    shown = await salt.ann.slash(salt.channel, "tallies")
    forge(world, salt.channel, shown, "l1|edition|0", kind=3)
    refused = await salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert plain(refused).strip() == NOT_ALLOWED


async def test_a_coach_is_no_moderator(world: World) -> None:
    coach = world.salt.by_standing[Standing.COACH]
    offered = coach.available_commands(world.salt.channel)
    assert not [one for one in offered if one.startswith("game")]


async def test_two_moderators_who_use_files_at_once_both_have_their_version(world: World) -> None:
    salt = world.salt
    other = second_host(world)
    mine = await load(world, rules("1.3"), faster())
    theirs = await load(world, rules("1.4"), faster("4", "18"), member=other)
    await salt.mod.click(mine.response, label=USE)
    used = await other.click(theirs.response, label=USE)
    assert "startup is 4, was 5" in plain(used)
    assert versions_of(world, salt) == ["1.3", "1.4"]
