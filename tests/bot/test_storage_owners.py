"""Whose rows they are: nobody finds or changes another's; members get all of theirs, or erase it."""

from __future__ import annotations

from contextlib import AsyncExitStack
from dataclasses import replace
from pathlib import Path

import pytest
from moved import contents
from stored import LINK, NOW, WREN, opened, tally

from bot.results.library import Forgotten
from bot.results.place import Owner
from bot.results.tally import (
    Controller,
    Everything,
    KeptConversion,
    KeptTally,
    MemberSettings,
    SavedRoute,
    ServerSettings,
    Setup,
    Side,
)
from bot.storage import conversions, library, privacy, routes, settings, sqlite, tallies
from bot.storage.store import Store

ROUTE = SavedRoute(0, "Saltglass", "1.0", "Mirrel", "bread", "5A > 5B", NOW)
CHOSEN = MemberSettings("Mirrel", 0.9, Setup(Side.LEFT, Controller.STICK, "classic"))
OTHERS = [Owner(WREN.server_id, 71), Owner(6, WREN.member_id), Owner(WREN.member_id, WREN.server_id)]


CONVERSION = KeptConversion(0, "Saltglass", "Mirrel", "5A", "on hit", ROUTE)


async def fill(store: Store, owner: Owner) -> tuple[KeptTally, KeptTally, SavedRoute]:
    async with store.write() as writing:
        kept = await tallies.add(writing, owner, tally(note="secret words"), None, NOW)
        undone = await tallies.add(writing, owner, tally(1, 2), None, NOW)
        await tallies.undo(writing, owner, undone.id)
        route = await routes.save(writing, owner, ROUTE)
        await settings.set_member(writing, owner, CHOSEN)
        await library.share(writing, owner, replace(route, name=f"bread of {owner.member_id}"), NOW)
        conversion = await conversions.set_one(writing, owner, replace(CONVERSION, route=route))
        await conversions.ask(writing, owner, conversion, (route.id,), NOW)
    return kept, undone, route


@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("has_rows", [False, True])
async def test_another_owner_finds_and_changes_nothing(tmp_path: Path, other: Owner, has_rows: bool) -> None:
    async with opened(tmp_path) as store:
        kept, undone, route = await fill(store, WREN)
        if has_rows:
            async with store.write() as writing:
                await settings.set_member(writing, other, CHOSEN)
        async with store.write() as writing:
            await tallies.add(writing, WREN, tally(), 9, NOW)
        before = contents(store.address)
        async with store.write() as writing:
            assert await tallies.get(writing, other, kept.id) is None
            assert await tallies.get(writing, other, undone.id, undone=True) is None
            assert await tallies.by_event(writing, other, 9) is None
            assert await tallies.latest(writing, other) is None
            assert await tallies.listed(writing, other, 9, subject_id=kept.subject_id) == ()
            assert await tallies.change(writing, other, kept.id, tally(1, 1)) is None
            assert await tallies.undo(writing, other, kept.id) is None
            assert await tallies.put_back(writing, other, undone.id) is None
            assert await tallies.of_subject(writing, other, kept.subject_id, 9) == ()
            assert await tallies.of_links(writing, other, LINK.game, 9) == ()
            assert await tallies.marks(writing, other, 9) == ()
            assert await tallies.totals(writing, other, LINK.game) == ()
            assert await tallies.subject_of(writing, other, kept.subject_id) is None
            assert await tallies.find_subject(writing, other, LINK) is None
            assert await tallies.tries_since(writing, other, NOW) == 0
            assert await routes.listed(writing, other, "Saltglass") == ()
            assert await routes.forget(writing, other, route.id) is None
            assert await routes.get(writing, other, route.id) is None
            await routes.rename(writing, other, route.id, "stolen")
            (shared,) = await library.listed(writing, WREN.server_id, "Saltglass")
            assert await library.share(writing, other, ROUTE, NOW, instead_of=shared.id) is None
            if other.server_id != WREN.server_id:
                assert await library.listed(writing, other.server_id, "Saltglass") == ()
                assert await library.get(writing, other.server_id, shared.id) is None
                assert await library.remove(writing, other.server_id, shared.id) is None
            everything = await privacy.everything(writing, other)
        assert everything == Everything(settings=CHOSEN if has_rows else MemberSettings())
        assert contents(store.address) == before


async def test_a_member_gets_everything_that_is_kept_of_them(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        kept, undone, route = await fill(store, WREN)
        await fill(store, OTHERS[0])
        async with store.read() as reading:
            everything = await privacy.everything(reading, WREN)
            shared, _ = await library.listed(reading, WREN.server_id, "Saltglass")
            (conversion,) = await conversions.listed(reading, WREN, "Saltglass")
            assert everything == Everything((kept,), (route,), CHOSEN, (undone,), (shared,), (conversion,))
            assert (shared.shared_by, conversion.route) == (WREN.member_id, route)
            assert await privacy.everything(reading, Owner(1, 1)) == Everything()


async def test_erasing_leaves_no_row_and_no_word_of_the_member_and_all_of_the_others(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await fill(store, OTHERS[0])
        before = contents(store.address)
        await fill(store, Owner(WREN.server_id, 987654321987654321))
        assert "987654321987654321" in str(contents(store.address))
        async with store.write() as writing:
            assert await privacy.erase(writing, Owner(WREN.server_id, 987654321987654321)) == 2
            assert await privacy.erase(writing, WREN) == 0
        assert contents(store.address) == before


@pytest.mark.sqlite
async def test_erased_words_are_in_no_file_of_the_database(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await fill(store, WREN)
        files = [store.file, store.file.with_name(store.file.name + "-wal")]
        assert any(b"secret words" in file.read_bytes() for file in files)
        async with store.write() as writing:
            await privacy.erase(writing, WREN)
        assert not any(b"secret words" in file.read_bytes() for file in files)


@pytest.mark.sqlite
async def test_words_erased_while_another_reads_are_gone_after_the_next_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "EMPTYING_TIMEOUT_MS", 1)
    async with opened(tmp_path) as store:
        await fill(store, WREN)
        log = store.file.with_name(store.file.name + "-wal")
        async with store.read() as reading:
            assert await tallies.latest(reading, WREN) is not None
            async with store.write() as writing:
                await privacy.erase(writing, WREN)
            assert b"secret words" in log.read_bytes()
            assert await tallies.latest(reading, WREN) is not None
        async with store.write() as writing:
            await settings.set_server(writing, 6, ServerSettings(zone="UTC"))
        assert not any(b"secret words" in file.read_bytes() for file in (store.file, log))


async def test_after_an_erase_every_connection_reads_and_writes_on(tmp_path: Path) -> None:
    connections = 2 * sqlite.POOLED

    async def read_on_all(store: Store) -> None:
        async with AsyncExitStack() as stack:
            for _ in range(connections):
                reading = await stack.enter_async_context(store.read())
                assert await tallies.latest(reading, WREN) is None

    async with opened(tmp_path) as store:
        await read_on_all(store)
        for _ in range(connections):  # the pool hands its connections out in turn
            await fill(store, WREN)
            async with store.write() as writing:
                assert await privacy.erase(writing, WREN) == 2
            await read_on_all(store)


async def test_a_route_of_the_same_name_is_replaced_and_another_is_not(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            first = await routes.save(writing, WREN, ROUTE)
            other = await routes.save(writing, WREN, replace(ROUTE, name="butter"))
            elsewhere = await routes.save(writing, WREN, replace(ROUTE, character="Odrun"))
            new = await routes.save(writing, WREN, replace(ROUTE, notation="5B > 5C", game_version="2"))
        assert new == replace(ROUTE, id=first.id, notation="5B > 5C", game_version="2")
        async with store.write() as writing:
            assert await routes.listed(writing, WREN, "Saltglass") == (new, other, elsewhere)
            assert await routes.listed(writing, WREN, "Kitewind") == ()
            assert await routes.forget(writing, WREN, other.id) == Forgotten(other)
            assert await routes.forget(writing, WREN, other.id) is None
            assert await routes.listed(writing, WREN, "Saltglass") == (new, elsewhere)


async def test_settings_are_all_read_and_replaced_one_by_one(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, store.write() as writing:
        await settings.set_member(writing, WREN, CHOSEN)
        await settings.set_member(writing, OTHERS[0], MemberSettings(goal=0.5))
        await settings.set_member(writing, OTHERS[1], CHOSEN)
        await settings.set_member(writing, OTHERS[1], MemberSettings())
        await settings.set_server(writing, WREN.server_id, ServerSettings("Saltglass", "Europe/Oslo"))
        await settings.set_server(writing, 6, ServerSettings(zone="UTC"))
        await settings.set_server(writing, 6, ServerSettings(game="Kitewind"))
    async with opened(tmp_path) as store, store.read() as reading:
        assert list((await settings.all_members(reading)).items()) == [
            (WREN, CHOSEN),
            (OTHERS[0], MemberSettings(goal=0.5)),
            (OTHERS[1], MemberSettings()),  # has none, but is known
        ]
        assert await settings.all_servers(reading) == {
            WREN.server_id: ServerSettings("Saltglass", "Europe/Oslo"),
            6: ServerSettings("Kitewind"),
        }
