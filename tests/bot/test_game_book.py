"""Which game a server and a channel have, in which version, and what is kept of those before."""

from __future__ import annotations

import logging
import shutil
from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from demo import demo
from inline import HERE, ODRUN, Bench, HandClock, InlineWorker, bench_at
from kept import edited, hosting, keep, source_of
from sqlalchemy import update
from stored import NOW

from bot.app import build
from bot.config import Settings
from bot.gamefiles import GAMES, Source, game_of
from bot.results.ask import UnknownName
from bot.results.audit import Deed
from bot.results.place import DIRECT_MESSAGES, Place
from bot.services import game_book
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.storage import audit, editions
from bot.storage.schema import edition as edition_rows
from core.model import Game

SERVER, OTHER = 1, 2
CHANNEL = 55
FASTER = {(ODRUN, "5MP", "startup"): "5"}


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
async def games(bench: Bench) -> GameBook:
    return await started(bench)


async def started(bench: Bench, **sources: Source) -> GameBook:
    """The book of a bot that starts now, with these host's games in place of the demo games."""
    games = hosting(bench.store, bench.clock, bench.book, **sources)
    await games.load()
    return games


def desk_of(bench: Bench, games: GameBook) -> AskDesk:
    return AskDesk(bench.book, games, "saltglass", bench.clock)


def startup(game: Game | None) -> int | None:
    """That of Odrun's 5MP, by which the versions here are told apart."""
    assert game is not None
    who = game.character(ODRUN)
    assert who is not None
    return next(move for move in who.moves if move.input == "5MP").startup_frames


async def labels(bench: Bench, server_id: int = DIRECT_MESSAGES) -> list[str]:
    async with bench.store.read() as reading:
        return [each.version for each in await editions.labels(reading, server_id, "Saltglass")]


async def deeds(bench: Bench, server_id: int = SERVER) -> list[tuple[Deed, str]]:
    async with bench.store.read() as reading:
        return [(one.deed, one.what) for one in await audit.listed(reading, server_id, None, 50)]


async def test_a_version_of_the_host_s_is_kept_once_however_often_the_bot_starts(bench: Bench) -> None:
    first = await started(bench)
    again = await started(bench)
    assert await labels(bench) == ["1.2"]
    number = first.edition_of(SERVER, "Saltglass")
    assert number == again.edition_of(SERVER, "Saltglass") == again.edition_of(None, "Saltglass")
    assert number is not None
    assert await first.source(number) == source_of("saltglass")


async def test_a_host_s_file_that_changed_under_its_label_gets_another_and_the_old_one_stays_known(
    bench: Bench,
) -> None:
    await started(bench)
    games = await started(bench, saltglass=edited(source_of("saltglass"), "1.2", FASTER))
    assert await labels(bench) == ["1.2", "1.2 (2)"]
    now = games.game(SERVER, "Saltglass")
    assert now is not None
    assert (now.version, startup(now)) == ("1.2 (2)", 5)
    assert startup(await games.version(SERVER, "Saltglass", "1.2")) == 6
    back = await started(bench)
    assert back.host_games["Saltglass"] == demo("saltglass")
    assert await labels(bench) == ["1.2", "1.2 (2)"]


async def test_a_word_in_brackets_is_a_label_of_its_own(bench: Bench) -> None:
    await started(bench, saltglass=edited(source_of("saltglass"), "1.3 (beta)", {}))
    games = await started(bench, saltglass=edited(source_of("saltglass"), "1.3", {}))
    assert games.host_games["Saltglass"].version == "1.3"
    assert await labels(bench) == ["1.3 (beta)", "1.3"]


async def test_the_longest_label_gets_a_number_and_can_still_be_read(bench: Bench) -> None:
    longest = 60 * "9"
    await started(bench, saltglass=edited(source_of("saltglass"), longest, {}))
    games = await started(bench, saltglass=edited(source_of("saltglass"), longest, FASTER))
    label = games.host_games["Saltglass"].version
    assert len(label) <= 60
    number = games.edition_of(SERVER, "Saltglass")
    assert number is not None
    source = await games.source(number)
    assert source is not None
    assert (game_of(source).version, startup(game_of(source))) == (label, 5)
    again = await started(bench, saltglass=edited(source_of("saltglass"), longest, FASTER))
    assert again.host_games["Saltglass"].version == label
    assert len(await labels(bench)) == 2


async def test_a_host_s_file_with_another_label_is_another_version_though_it_says_the_same(
    bench: Bench,
) -> None:
    await started(bench)
    games = await started(bench, saltglass=edited(source_of("saltglass"), "1.3", {}))
    assert await labels(bench) == ["1.2", "1.3"]
    assert games.host_games["Saltglass"].version == "1.3"


async def test_a_server_s_own_version_is_its_own_alone_also_after_a_restart(
    bench: Bench, games: GameBook
) -> None:
    faster = edited(source_of("saltglass"), "1.3", FASTER)
    edition = await keep(bench, games, SERVER, faster, "1.3")
    for now in (games, await started(bench)):
        assert startup(now.game(SERVER, "Saltglass")) == 5
        assert now.game(SERVER, "Saltglass") == game_of(faster)
        assert now.edition_of(SERVER, "Saltglass") == edition.id
        assert startup(now.game(OTHER, "Saltglass")) == startup(now.game(None, "Saltglass")) == 6
        assert set(now.names(SERVER)) == set(now.names(OTHER)) == {"Saltglass", "Kitewind"}


async def test_two_servers_may_give_one_label_to_two_versions(bench: Bench, games: GameBook) -> None:
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3")
    slower = edited(source_of("saltglass"), "1.3", {(ODRUN, "5MP", "startup"): "8"})
    await keep(bench, games, OTHER, slower, "1.3")
    for now in (games, await started(bench)):
        assert startup(await now.version(SERVER, "Saltglass", "1.3")) == 5
        assert startup(await now.version(OTHER, "Saltglass", "1.3")) == 8
        assert await now.version(3, "Saltglass", "1.3") is None


async def test_a_game_that_only_one_server_has_is_found_there_alone(bench: Bench, games: GameBook) -> None:
    own = Source(
        source_of("saltglass").rules.replace('"Saltglass"', '"Brinefen"'), source_of("saltglass").tables
    )
    await keep(bench, games, SERVER, own, "1.2")
    assert games.named(SERVER, "brineFEN") == "Brinefen"
    assert games.game(OTHER, "Brinefen") is None
    assert games.named(OTHER, "Brinefen") is None
    assert games.edition_of(OTHER, "Brinefen") is None
    desk = desk_of(bench, games)
    assert "Brinefen" in desk.complete_game(HERE, "")
    assert "Brinefen" not in desk.complete_game(replace(HERE, server_id=OTHER), "")
    assert isinstance(await desk.choose_game(replace(HERE, server_id=OTHER), "Brinefen"), UnknownName)
    assert isinstance(await desk.choose_game(HERE, "Brinefen"), Game)
    assert desk.game_of(HERE).name == "Brinefen"


async def test_a_version_before_is_known_once_it_was_read(bench: Bench, games: GameBook) -> None:
    faster, slower = (
        edited(source_of("saltglass"), label, {(ODRUN, "5MP", "startup"): text})
        for label, text in (("1.3", "5"), ("1.4", "7"))
    )
    await keep(bench, games, SERVER, faster, "1.3")
    await keep(bench, games, SERVER, slower, "1.4")
    assert games.known(SERVER, "Saltglass", "1.4") == game_of(slower)
    assert games.known(SERVER, "Saltglass", "1.2") == demo("saltglass")  # the host's
    assert games.known(SERVER, "Saltglass", "1.3") is None
    assert await games.version(SERVER, "Saltglass", "1.3") == game_of(faster)
    assert games.known(SERVER, "Saltglass", "1.3") == game_of(faster)
    assert games.known(OTHER, "Saltglass", "1.3") is None
    assert await games.version(SERVER, "Saltglass", "0.1") is None
    assert await games.version(SERVER, "Marlstone", "1.2") is None


async def test_the_server_s_own_version_comes_before_one_of_the_host_s_with_its_label(bench: Bench) -> None:
    games = await started(bench)
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3", used=False)
    slower = edited(source_of("saltglass"), "1.3", {(ODRUN, "5MP", "startup"): "8"})
    updated = await started(bench, saltglass=slower)
    assert startup(updated.game(SERVER, "Saltglass")) == 8
    assert startup(await updated.version(SERVER, "Saltglass", "1.3")) == 5
    assert startup(updated.known(SERVER, "Saltglass", "1.3")) == 5
    assert startup(await updated.version(OTHER, "Saltglass", "1.3")) == 8


async def test_a_server_may_stay_with_a_version_that_the_host_has_left(bench: Bench) -> None:
    games = await started(bench)
    number = games.edition_of(None, "Saltglass")
    assert number is not None
    async with bench.store.write() as writing:
        await editions.set_current(writing, SERVER, "Saltglass", number)
    updated = await started(bench, saltglass=edited(source_of("saltglass"), "1.3", FASTER))
    assert updated.game(SERVER, "Saltglass") == demo("saltglass")
    assert updated.edition_of(SERVER, "Saltglass") == number
    assert startup(updated.game(OTHER, "Saltglass")) == 5


async def test_only_so_many_versions_before_are_held(
    bench: Bench, games: GameBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game_book, "OLD_VERSIONS", 2)
    older = ["1.3", "1.4", "1.5"]
    for label in [*older, "1.6"]:
        await keep(bench, games, SERVER, edited(source_of("saltglass"), label, FASTER), label)
    for label in older:
        assert await games.version(SERVER, "Saltglass", label) is not None
    assert [games.known(SERVER, "Saltglass", label) is not None for label in older] == [False, True, True]


async def test_a_stored_version_that_can_no_longer_be_read_leaves_the_host_s_and_is_told_in_the_log(
    bench: Bench, games: GameBook, caplog: pytest.LogCaptureFixture
) -> None:
    edition = await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3")
    broken: dict[str, Any] = {
        "content": '{"rules": "name = \\"Saltglass\\"", "tables": []}',
        "digest": "of no other",
    }
    async with bench.store.write() as writing:
        await writing.connection.execute(
            update(edition_rows).where(edition_rows.c.id == edition.id).values(broken)
        )
    with caplog.at_level(logging.ERROR):
        now = await started(bench)
    assert now.game(SERVER, "Saltglass") == demo("saltglass")
    assert "1.3" in caplog.text
    assert await now.version(SERVER, "Saltglass", "1.3") is None


async def test_a_channel_may_be_about_another_game_than_its_server(bench: Bench, games: GameBook) -> None:
    desk, there = desk_of(bench, games), replace(HERE, channel_id=CHANNEL)
    chosen = await desk.choose_channel(HERE, CHANNEL, "KITEWIND", 7)
    assert isinstance(chosen, Game)
    assert chosen.name == "Kitewind"
    for now in (games, await started(bench)):
        desk = desk_of(bench, now)
        assert desk.game_of(there).name == "Kitewind"
        assert desk.game_of(HERE).name == "Saltglass"
        assert desk.game_of(replace(HERE, channel_id=77, parent_id=CHANNEL)).name == "Kitewind"  # a thread
        assert desk.game_of(replace(there, server_id=OTHER)).name == "Saltglass"
        assert desk.game_of(Place(None, CHANNEL, 100)).name == "Saltglass"
    await desk.choose_game(HERE, "Kitewind", 8)
    await desk.choose_channel(HERE, CHANNEL, "Saltglass", 9)
    assert (desk.game_of(HERE).name, desk.game_of(there).name) == ("Kitewind", "Saltglass")
    back = await desk.choose_channel(HERE, CHANNEL, None, 10)
    assert isinstance(back, Game)
    assert back.name == desk.game_of(there).name == "Kitewind"
    assert desk_of(bench, await started(bench)).game_of(there).name == "Kitewind"


async def test_a_name_that_no_game_has_changes_no_channel(bench: Bench, games: GameBook) -> None:
    desk = desk_of(bench, games)
    refused = await desk.choose_channel(HERE, CHANNEL, "Kitewond", 7)
    assert isinstance(refused, UnknownName)
    assert refused.near[0] == "Kitewind"
    assert games.channel_game(SERVER, CHANNEL) is None
    assert await deeds(bench) == []


async def test_what_was_chosen_is_noted_once_and_the_same_event_chooses_nothing_more(
    bench: Bench, games: GameBook
) -> None:
    desk = desk_of(bench, games)
    for _ in range(2):
        await desk.choose_game(HERE, "Kitewind", 7)
        await desk.choose_channel(HERE, CHANNEL, "Saltglass", 8)
    await desk.choose_channel(HERE, CHANNEL, None, 9)
    await desk.choose_channel(HERE, CHANNEL, "Saltglass", 8)  # delivered once more, and late
    assert games.channel_game(SERVER, CHANNEL) is None
    assert await deeds(bench) == [
        (Deed.CHANNEL_GAME, ""),
        (Deed.CHANNEL_GAME, "Saltglass"),
        (Deed.GAME_CHOSEN, "Kitewind"),
    ]


async def test_nothing_of_a_server_that_is_forgotten_is_held(bench: Bench, games: GameBook) -> None:
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3", used=False)
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.4", FASTER), "1.4")
    await games.version(SERVER, "Saltglass", "1.3")
    await games.choose_for(HERE.owner, CHANNEL, "Kitewind", 7)
    games.forget_server(SERVER)
    assert games.game(SERVER, "Saltglass") == demo("saltglass")
    assert games.channel_game(SERVER, CHANNEL) is None
    assert games.known(SERVER, "Saltglass", "1.3") is None


async def test_two_servers_ask_about_two_versions_of_one_game(bench: Bench, games: GameBook) -> None:
    desk = desk_of(bench, games)
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3")
    here, there = desk.game_of(HERE), desk.game_of(replace(HERE, server_id=OTHER))
    assert (startup(here), startup(there)) == (5, 6)
    assert desk.game_named(SERVER, "Saltglass") is here
    assert desk.game_named(OTHER, "Saltglass") is there
    await keep(
        bench, games, SERVER, edited(source_of("saltglass"), "1.4", {(ODRUN, "5MP", "startup"): "7"}), "1.4"
    )
    assert startup(desk.game_of(HERE)) == 7


async def test_who_listens_hears_of_a_version_taken_up_and_not_of_those_that_a_start_finds(
    bench: Bench, games: GameBook
) -> None:
    heard: list[tuple[int, str]] = []
    games.listen(lambda server_id, name: heard.append((server_id, name)))
    await keep(bench, games, SERVER, edited(source_of("saltglass"), "1.3", FASTER), "1.3")
    assert heard == [(SERVER, "Saltglass")]
    fresh = hosting(bench.store, bench.clock, bench.book)
    fresh.listen(lambda server_id, name: heard.append((server_id, name)))
    await fresh.load()
    assert len(heard) == 1


def test_a_host_s_file_that_no_spreadsheet_may_hold_is_played_and_told_of_in_the_log(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = shutil.copytree(GAMES / "saltglass", tmp_path / "saltglass")
    table = folder / "odrun.csv"
    table.write_text(table.read_text("utf-8").replace("lamp swing", "=lamp swing"), "utf-8")
    settings = Settings.model_construct(games_folder=tmp_path, database=tmp_path / "cornerman.db")
    with caplog.at_level(logging.WARNING):
        bot = build(settings, HandClock(NOW), InlineWorker())
    assert startup(bot.game_book.game(SERVER, "Saltglass")) == 6
    assert bot.game_book.edition_of(SERVER, "Saltglass") is None
    assert "No versions of" in caplog.text
    assert "=lamp swing" in caplog.text
