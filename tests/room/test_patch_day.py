"""Patch day in the room: the moderator loads the next version, the card stands there, a student is told."""

from __future__ import annotations

from pathlib import Path

from chat.world import answers_in, labels_of, text_of
from room.opened import Opened, opened_at
from room.running import RunningRoom

from bot.gamefiles import Upload, find_game, read_game, read_upload
from bot.room.patch import load_patch, next_version
from core.patches import compare, number_changes


async def patch(opened: Opened) -> bool:
    """What is typed as `patch`."""
    return await load_patch(opened.world.moderator, opened.world.patches.channel, next_version())


def test_the_files_are_the_packaged_game_with_what_the_table_says(tmp_path: Path) -> None:
    new = next_version()
    folder = new.write(tmp_path)
    sent = [Upload(file.name, file.read_bytes()) for file in sorted(folder.iterdir())]
    reading = read_upload(sent)
    assert reading.game is not None, reading.problems
    assert reading.game.version == new.version == "1.3"
    differs = compare(read_game(find_game(new.game)), reading.game)
    changed = [(one.character, one.input, one.field, one.new) for one in number_changes(differs)]
    assert changed == [
        ("Odrun Vale", "5MP", "on_hit", "+6"),
        ("Odrun Vale", "5MK", "tags", "special-cancellable"),
        ("Odrun Vale", "214LK", "damage", "760"),
        ("Mirrel Quay", "2MP", "damage", "550"),
    ]


async def test_the_card_stands_in_its_channel_and_names_nobody(tmp_path: Path) -> None:
    async with opened_at(tmp_path) as opened:
        assert await patch(opened)
        (card,) = answers_in(opened.world.patches.channel, opened.bot)
        said = text_of(card).replace("\\", "")
        assert "Saltglass is at version 1.3, which breaks" in said
        assert "Odrun Vale's 5MP: advantage on hit is +6, was +7." in said
        assert "The drill Odrun Vale's 5MP, 2MP is harder" in said
        assert not any(name in said for name in ("Tamsin", "Ivo", "low confirm"))
        assert labels_of(card) == ["What changed for me?"]
        assert not await patch(opened)  # it is used already
        assert len(answers_in(opened.world.patches.channel, opened.bot)) == 1


async def test_next_brings_the_students_what_it_does_to_their_routes_and_homework(tmp_path: Path) -> None:
    async with opened_at(tmp_path) as opened:
        await patch(opened)
        assert opened.told("Tamsin") == []
        while not any("Version 1.3" in said for said in opened.told("Tamsin")):
            assert await opened.passing.to_next()
        (notice,) = [said for said in opened.told("Tamsin") if "Version 1.3" in said]
        assert "breaks 1 route and 1 piece of homework of yours" in notice
        assert "“low confirm” breaks at 2MK" in notice
        assert "Your homework, Odrun Vale's 5MP, 2MK, breaks at 2MK" in notice
        assert "“bread and butter” does 1,846 damage, was 1,795." in notice
        (ivo,) = [said for said in opened.told("Ivo") if "Version 1.3" in said]
        assert "“the one I can do” does 1,660 damage, was 1,710." in ivo


def test_what_is_typed_as_patch_loads_it_once_and_where_its_files_lie_is_printed(room: RunningRoom) -> None:
    folder = Path(room.greeting.partition("lies in ")[2].partition(":")[0])
    assert {file.name for file in folder.iterdir()} == {"game.toml", "moves.csv"}
    assert room.type("patch") == "Version 1.3 is loaded, and #general tells of it.\n"
    assert room.type("patch") == "That patch is loaded already: /game versions goes back.\n"
    assert "#general" in room.type("go #general")
    room.type("quit")
    code, _, errors = room.end()
    assert (code, errors) == (0, "")
    assert not folder.exists()
