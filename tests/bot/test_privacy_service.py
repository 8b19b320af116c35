"""A member's log is theirs: handed out whole, and erased whole."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from inline import HERE, Bench, bench_at, drill, link, route

from bot.results.place import Place
from bot.results.tally import (
    Controller,
    Everything,
    KeptConversion,
    MemberSettings,
    SavedRoute,
    Setup,
    Tally,
)
from bot.services.privacy import PrivacyService
from bot.services.settings import SettingsBook
from bot.storage import conversions, library, routes

NOW = datetime(2026, 1, 14, 20, tzinfo=UTC)
OTHERS = (Place(1, 10, 101), Place(2, 10, 100), Place(None, 10, 100))
OWN = MemberSettings("Odrun Vale", 0.7, Setup(controller=Controller.STICK))
SAVED = SavedRoute(0, "Saltglass", "1.2", "Odrun Vale", "bread", "5MP, 2MP xx 236HP", NOW, ("corner",))
CONVERSION = KeptConversion(0, "Saltglass", "Odrun Vale", "5MP", "on hit", SAVED)


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
def service(bench: Bench) -> PrivacyService:
    return PrivacyService(bench.store, bench.book)


async def fill(bench: Bench, place: Place) -> None:
    """Three tallies, a route that is saved, shared and converted into, and settings."""
    for what in (link("5MP, 2MP"), route("5MP, 2MP xx 236HP"), drill("anti-airs")):
        await bench.log(Tally(what, NOW, 10, 7, note=f"of {place.member_id}"), place.owner)
    async with bench.store.write() as writing:
        saved = await routes.save(writing, place.owner, SAVED)
        kept = await conversions.set_one(writing, place.owner, replace(CONVERSION, route=saved))
        await conversions.ask(writing, place.owner, kept, (saved.id,), NOW)
        shared = replace(saved, name=f"bread of {place.member_id}")
        await library.share(writing, place.owner, shared, NOW)
    await bench.book.set_member(place.owner, OWN)


async def test_everything_that_is_kept_is_handed_out(bench: Bench, service: PrivacyService) -> None:
    await fill(bench, HERE)
    await fill(bench, OTHERS[0])
    found = await service.export(HERE)
    assert [kept.tally.note for kept in found.tallies] == ["of 100"] * 3
    assert [replace(one, id=0) for one in found.routes] == [SAVED]
    assert found.settings == OWN
    assert [(one.name, one.tags, one.shared_by) for one in found.shared] == [
        ("bread of 100", ("corner",), HERE.member_id)
    ]
    (conversion,) = found.conversions
    assert (conversion.starter, conversion.route) == ("5MP", found.routes[0])


async def test_erasing_takes_everything_of_this_member_and_nothing_of_others(
    bench: Bench, service: PrivacyService
) -> None:
    for place in (HERE, *OTHERS):
        await fill(bench, place)
    assert await service.erase(HERE) == 3
    assert await service.export(HERE) == Everything()
    assert bench.book.member(HERE.owner) == MemberSettings()
    async with bench.store.read() as reading:
        left = await library.listed(reading, HERE.owner.server_id, "Saltglass")
    assert [one.name for one in left] == ["bread of 101"]
    for place in OTHERS:
        kept = await service.export(place)
        assert [len(part) for part in (kept.tallies, kept.routes, kept.shared, kept.conversions)] == [
            3,
            1,
            1,
            1,
        ]
        assert bench.book.member(place.owner) == OWN


async def test_what_is_erased_does_not_come_back_with_a_restart(
    bench: Bench, service: PrivacyService
) -> None:
    await fill(bench, HERE)
    await service.erase(HERE)
    book = SettingsBook(bench.store, bench.clock)
    await book.load()
    assert book.member(HERE.owner) == MemberSettings()


async def test_erasing_twice_or_nothing_is_no_error(service: PrivacyService) -> None:
    assert await service.erase(HERE) == 0
    assert await service.erase(HERE) == 0


async def test_someone_erased_can_begin_again(bench: Bench, service: PrivacyService) -> None:
    await fill(bench, HERE)
    await service.erase(HERE)
    await fill(bench, HERE)
    assert len((await service.export(HERE)).tallies) == 3
