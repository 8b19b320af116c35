"""Versions of a server's games: one number edited, versions listed, taken up again and handed out."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from explained import scans, statements_of
from gamed import (
    DIRECT,
    ELSEWHERE,
    MARLOW,
    MONDAY,
    ODRUN,
    OTHER_MOD,
    WREN,
    Office,
    changed,
    kept,
    office_at,
    packaged,
    refusal,
    seen,
    toml,
)

from bot.gamefiles import as_json, digest, read_upload, with_cell, with_version
from bot.results.audit import Deed
from bot.results.games import GameRefusal, GameRefusalCode
from bot.results.place import DIRECT_MESSAGES
from bot.services import game_changes, game_desk
from bot.storage import audit, editions
from core.patches import apply


@pytest.fixture
async def office(tmp_path: Path) -> AsyncIterator[Office]:
    async with office_at(tmp_path) as office:
        yield office


async def test_an_edited_number_is_a_version_of_its_own_from_which_questions_are_answered(
    office: Office,
) -> None:
    before = office.game()
    done = changed(await office.edit("5", reason="the patch of Monday"))
    assert office.move().startup_frames == 5
    assert (done.game, done.before) == (office.game(), before)
    assert (done.edition.version, done.edition.made_by, done.edition.reason, done.edition.made_at) == (
        f"{before.version} (2)",
        MARLOW.member_id,
        "the patch of Monday",
        MONDAY,
    )
    assert office.game().version == f"{before.version} (2)", "logs are tied to it"
    assert done.patch is not None
    assert apply(done.patch, before) == done.game
    (deed,) = await office.deeds()
    assert (deed.made_by, deed.deed) == (MARLOW.member_id, Deed.NUMBER_EDITED)
    assert deed.what == f"Saltglass {before.version} (2): Odrun Vale 5MP startup 6 → 5"


async def test_without_a_reason_the_version_says_which_number_changed(office: Office) -> None:
    done = changed(await office.edit("5"))
    assert done.edition.reason == "Odrun Vale 5MP startup 6 → 5"


async def test_another_server_keeps_the_host_s_version(office: Office) -> None:
    await office.edit("5")
    assert office.move(place=ELSEWHERE).startup_frames == 6
    assert office.game(ELSEWHERE).version == packaged("saltglass")[1].version


async def test_numbers_that_follow_from_the_edited_one_go_along(office: Office) -> None:
    """Odrun's 5MP has 6 startup, 4 active, 11 recovery and the total of 20 that follows from them."""
    changed(await office.edit("8"))
    assert (office.move().startup_frames, office.move().recovery_frames) == (8, 11)
    assert office.move().total_frames == 22
    changed(await office.edit("23", column="total"))
    assert (office.move().startup_frames, office.move().recovery_frames) == (8, 12)


async def test_versions_are_numbered_on_however_often_a_number_is_edited(office: Office) -> None:
    version = office.game().version
    made = [changed(await office.edit(number)).edition.version for number in ("5", "7", "8")]
    assert made == [f"{version} ({number})" for number in (2, 3, 4)]


async def test_a_number_edited_back_is_the_version_that_was_before_and_no_new_one(office: Office) -> None:
    first = office.game()
    changed(await office.edit("5"))
    done = changed(await office.edit("6"))
    assert done.edition.server_id == DIRECT_MESSAGES
    assert office.game() == first
    assert len(await office.rows()) == 1


async def test_a_version_outlives_a_restart(tmp_path: Path) -> None:
    async with office_at(tmp_path) as office:
        await office.edit("5")
        after = office.game()
    async with office_at(tmp_path) as office:
        assert office.game() == after


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"number": "6"}, GameRefusalCode.SAME_NUMBER),
        ({"number": " 6 "}, GameRefusalCode.SAME_NUMBER),
        ({"number": "soon"}, GameRefusalCode.WRONG_NUMBER),
        ({"number": "-3"}, GameRefusalCode.WRONG_NUMBER),
        ({"number": "=1+5"}, GameRefusalCode.WRONG_NUMBER),
        ({"number": "9" * 400}, GameRefusalCode.WRONG_NUMBER),
        ({"column": "name"}, GameRefusalCode.NO_SUCH_COLUMN),
        ({"column": "strtup"}, GameRefusalCode.NO_SUCH_COLUMN),
        ({"move": "5ZZ"}, GameRefusalCode.NO_SUCH_MOVE),
        ({"character": "Nobody"}, GameRefusalCode.NO_SUCH_CHARACTER),
        ({"character": None}, GameRefusalCode.WHICH_CHARACTER),
        ({"reason": "x" * 201}, GameRefusalCode.TEXT_TOO_LONG),
        ({"place": DIRECT}, GameRefusalCode.NO_SERVER),
        ({"place": replace(MARLOW, direct=True)}, GameRefusalCode.NO_SERVER),
    ],
)
async def test_what_cannot_be_is_refused_and_nothing_is_changed(
    office: Office, asked: dict[str, Any], code: GameRefusalCode
) -> None:
    before = office.game()
    assert refusal(await office.edit(**{"number": "5", **asked})) is code
    assert office.game() is before
    assert (await office.rows(), await office.deeds()) == ([], [])


async def test_a_refusal_says_what_would_be_right(office: Office) -> None:
    wrong = await office.edit("soon")
    assert isinstance(wrong, GameRefusal)
    assert {**wrong.facts} == {
        "character": ODRUN,
        "move": "5MP",
        "column": "startup",
        "typed": "soon",
        "wrong": wrong.facts["wrong"],
        "right": wrong.facts["right"],
    }
    assert "soon" in str(wrong.facts["wrong"])
    assert wrong.facts["right"]
    near = await office.edit(column="strtup")
    assert isinstance(near, GameRefusal)
    assert str(near.facts["near"]).startswith("startup")
    which = await office.edit(character=None)
    assert isinstance(which, GameRefusal)
    assert ODRUN in str(which.facts["names"])


async def test_columns_are_read_as_they_are_spoken(office: Office) -> None:
    changed(await office.edit("+8", column="On hit"))
    on_hit = office.move().on_hit
    assert on_hit is not None
    assert on_hit.advantage is not None
    assert on_hit.advantage.low == 8
    assert "on_counter_hit" in office.games.complete_column(MARLOW, "counter")
    assert office.games.complete_column(MARLOW, "star")[0] == "startup"


async def test_two_moderators_at_once_change_one_after_the_other_and_lose_nothing(office: Office) -> None:
    first, second = await asyncio.gather(
        office.edit("5"), office.edit("650", place=OTHER_MOD, column="damage")
    )
    assert changed(second).before_id == changed(first).edition.id
    assert (office.move().startup_frames, office.move().hits[0].damage) == (5, 650)


async def test_an_edit_delivered_again_makes_no_second_version(office: Office) -> None:
    for number in ("5", "7"):
        event = office.event()
        first = changed(await office.edit(number, event_id=event))
        again = changed(await office.edit(number, event_id=event))
        assert (again.edition, again.game, again.again) == (first.edition, first.game, True)
        assert not first.again
    assert len(await office.rows()) == 2
    assert len(await office.deeds()) == 2


@pytest.mark.parametrize("broken", [(editions, "set_current"), (audit, "note"), (editions, "add")])
async def test_a_failure_half_way_leaves_nothing(
    office: Office, monkeypatch: pytest.MonkeyPatch, broken: tuple[object, str]
) -> None:
    before, event = office.game(), office.event()

    async def fail(*_: object, **__: object) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(*broken, fail)
        with pytest.raises(OSError, match="full"):
            await office.edit("5", event_id=event)
    assert (await office.rows(), await office.deeds()) == ([], [])
    assert office.game() is before
    done = changed(await office.edit("5", event_id=event))
    assert not done.again, "nothing was kept of the event either"


async def test_going_back_takes_up_a_version_and_keeps_the_others(office: Office) -> None:
    host, first = office.game(), changed(await office.edit("5"))
    second = changed(await office.edit("7"))
    back = changed(await office.games.back(OTHER_MOD, first.edition.id, office.event()))
    assert (back.game, back.before_id, back.before) == (first.game, second.edition.id, second.game)
    assert office.game() == first.game
    assert back.patch is not None
    assert apply(back.patch, second.game) == first.game
    assert first.before_id is not None
    to_host = changed(await office.games.back(MARLOW, first.before_id, office.event()))
    assert to_host.game == office.game() == host
    assert len(await office.rows()) == 2
    deeds = [(deed.made_by, deed.deed) for deed in await office.deeds()]
    assert deeds[2:] == [(OTHER_MOD.member_id, Deed.VERSION_USED), (MARLOW.member_id, Deed.VERSION_USED)]


async def test_going_back_twice_by_the_same_event_is_once(office: Office) -> None:
    first = changed(await office.edit("5"))
    await office.edit("7")
    event = office.event()
    done = changed(await office.games.back(MARLOW, first.edition.id, event))
    again = changed(await office.games.back(MARLOW, first.edition.id, event))
    assert (again.edition, again.again, done.again) == (done.edition, True, False)
    assert len(await office.deeds()) == 3
    refused = await office.games.back(MARLOW, first.edition.id, office.event())
    assert refusal(refused) is GameRefusalCode.IS_CURRENT


async def host_has_too(office: Office, version: str, startup: str) -> int:
    """The number of a version of the host's, which it has since a server made its own of this name."""
    source = with_version(with_cell(packaged("saltglass")[0], ODRUN, "5MP", "startup", startup), version)
    async with office.store.write() as writing:
        text, mark = as_json(source), digest(source)
        given = (DIRECT_MESSAGES, "Saltglass", version, text, mark, None, MONDAY)
        return (await editions.add(writing, *given)).id


async def test_a_host_s_version_called_as_one_of_the_server_s_gets_a_name_of_its_own(office: Office) -> None:
    own = changed(await office.edit("5"))
    label = own.edition.version
    number = await host_has_too(office, label, "7")
    used = changed(await office.games.back(MARLOW, number, office.event()))
    assert used.game.version == used.edition.version != label
    assert office.move().startup_frames == 7
    for version, startup in ((label, 5), (used.edition.version, 7)):
        game = await office.game_book.version(MARLOW.server_id, "Saltglass", version)
        assert game is not None
        assert next(m for m in game.characters[0].moves if m.input == "5MP").startup_frames == startup
    refused = await office.games.back(MARLOW, number, office.event())
    assert refusal(refused) is GameRefusalCode.NOTHING_NEW
    assert len(await office.rows()) == 2
    assert changed(await office.games.back(MARLOW, own.edition.id, office.event())).game == own.game


async def test_a_host_s_version_that_is_the_same_as_the_server_s_is_the_server_s(office: Office) -> None:
    own = changed(await office.edit("5"))
    number = await host_has_too(office, own.edition.version, "5")
    refused = await office.games.back(MARLOW, number, office.event())
    assert refusal(refused) is GameRefusalCode.NOTHING_NEW
    await office.edit("9")
    assert changed(await office.games.back(MARLOW, number, office.event())).edition == own.edition


async def test_an_edit_to_what_the_host_calls_as_the_server_calls_another_gets_its_own_name(
    office: Office,
) -> None:
    own = changed(await office.edit("5"))
    await host_has_too(office, own.edition.version, "7")
    now = changed(await office.edit("7"))
    assert now.edition.version != own.edition.version
    assert now.edition.server_id == MARLOW.server_id


async def test_the_versions_of_another_server_do_not_exist(office: Office) -> None:
    first = changed(await office.edit("5"))
    number, event = first.edition.id, office.event()
    for result in (
        await office.games.one(ELSEWHERE, number),
        await office.games.back(ELSEWHERE, number, event),
        await office.games.files(ELSEWHERE, number),
        await office.games.named(ELSEWHERE, first.edition.version),
        await office.games.change(ELSEWHERE, number, number),
        await office.games.one(MARLOW, 999),
    ):
        assert refusal(result) is GameRefusalCode.NO_SUCH_VERSION
    assert [one.id for one in (await office.games.editions(ELSEWHERE)).editions] == [first.before_id]


async def test_versions_are_listed_the_newest_first_with_the_host_s_among_them(office: Office) -> None:
    made = [changed(await office.edit(str(number))) for number in range(7, 19)]
    page = await office.games.editions(MARLOW)
    assert [one.id for one in page.editions] == [each.edition.id for each in reversed(made[2:])]
    assert (page.current, page.older) == (made[-1].edition.id, True)
    rest = await office.games.editions(MARLOW, page.editions[-1].id)
    assert [one.id for one in rest.editions] == [made[1].edition.id, made[0].edition.id, made[0].before_id]
    assert not rest.older


async def test_a_version_is_found_by_what_it_is_called(office: Office) -> None:
    first = changed(await office.edit("5"))
    label = first.edition.version
    assert kept(await office.games.named(MARLOW, label)).id == first.edition.id
    assert kept(await office.games.named(MARLOW, f" {label.upper()} ")).id == first.edition.id
    assert kept(await office.games.named(MARLOW, "")).id == first.edition.id, "the one that is used"
    assert (await office.games.complete_version(MARLOW, ""))[0] == label
    assert refusal(await office.games.named(MARLOW, "0.0")) is GameRefusalCode.NO_SUCH_VERSION


async def test_a_version_is_found_by_its_name_however_many_came_after_it(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game_desk, "COMPLETED", 1)
    first = changed(await office.edit("5"))
    await office.edit("7")
    assert kept(await office.games.named(MARLOW, first.edition.version)) == first.edition


async def test_any_version_is_handed_out_as_files_that_are_read_as_the_same_game(office: Office) -> None:
    first = changed(await office.edit("5"))
    for number, game in ((0, first.game), (first.edition.id, first.game), (first.before_id, first.before)):
        assert number is not None
        files = await office.games.files(MARLOW, number)
        assert not isinstance(files, GameRefusal)
        assert read_upload(files).game == game


async def test_a_change_between_any_two_versions_can_be_looked_at(office: Office) -> None:
    first, second = changed(await office.edit("5")), changed(await office.edit("650", column="damage"))
    assert first.before_id is not None
    assert first.before is not None
    whole = changed(await office.games.change(MARLOW, second.edition.id, first.before_id))
    assert whole.patch is not None
    assert (whole.game, apply(whole.patch, first.before)) == (second.game, second.game)
    assert office.game() == second.game, "looking changes nothing"


async def test_a_server_keeps_so_many_versions_and_no_more(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game_changes, "MOST_VERSIONS", 2)
    for number in ("5", "7"):
        changed(await office.edit(number))
    assert refusal(await office.edit("8")) is GameRefusalCode.TOO_MANY_VERSIONS
    changed(await office.edit("5"))  # one that is kept is only used again


async def test_whoever_made_a_version_can_be_erased_and_the_version_stays(office: Office) -> None:
    first = changed(await office.edit("5"))
    assert [one.version for one in (await kept_of(office)).made] == [first.edition.version]
    await office.privacy.erase(MARLOW)
    assert kept(await office.games.one(OTHER_MOD, first.edition.id)).made_by is None
    assert office.move().startup_frames == 5
    assert (await office.deeds())[0].made_by is None


async def kept_of(office: Office) -> Any:
    everything = await office.privacy.export(MARLOW)
    assert everything.games is not None
    return everything.games


async def test_no_query_reads_a_whole_table(office: Office) -> None:
    asked = statements_of(office.store)
    first = changed(await office.edit("5"))
    await office.games.editions(MARLOW)
    await office.games.named(MARLOW, "1")
    await office.games.back(MARLOW, first.before_id or 0, office.event())
    await office.tell(place=WREN)
    await office.reports.open_ones(MARLOW)
    await office.privacy.export(WREN)
    await office.privacy.erase(MARLOW)
    assert len(asked) > 20
    assert scans(office.store, asked) == {}


async def test_a_version_of_another_game_of_the_server_is_found_by_its_number(office: Office) -> None:
    shown = seen(await office.take(toml()))
    new = changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
    later = seen(await office.take(toml(version="1.1")))
    newer = changed(await office.uploads.use(MARLOW, later.upload_id, office.event()))
    assert office.game().name == "Saltglass", "the channel's is another"
    assert kept(await office.games.one(MARLOW, new.edition.id)) == new.edition
    assert newer.before_id == new.edition.id
    done = changed(await office.games.back(MARLOW, new.edition.id, office.event()))
    assert (done.before, office.game_book.game(1, "Tidewrack")) == (newer.game, new.game)
    host = (await office.games.editions(MARLOW)).editions[0].id
    mixed = await office.games.change(MARLOW, new.edition.id, host)
    assert refusal(mixed) is GameRefusalCode.NO_SUCH_VERSION
