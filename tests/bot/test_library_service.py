"""Routes that members share with everybody in their server."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import TypeVar

import pytest
from inline import HERE, MIRREL, ODRUN, Bench, bench_at

from bot.results.library import Kept, PickedShared, RouteList, Shared
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import SavedRoute, SharedRoute
from bot.services import library as library_module
from bot.services.library import LibraryService
from bot.services.privacy import PrivacyService
from bot.services.routes import NAME_CHARACTERS, RouteService

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
BNB, CANONICAL = "Odrun: 5MP > 2MP > 236HP", "5MP, 2MP xx 236HP"
LOW = "Odrun: 5MP, 2MK"
OTHER = replace(HERE, member_id=HERE.member_id + 1)
ELSEWHERE = replace(HERE, server_id=2)
ALONE = Place(None, 10, 555)

EVENTS = count(1_000)
"""Numbers of events that no test gives itself."""
R = TypeVar("R")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
def own(bench: Bench) -> RouteService:
    return RouteService(bench.store, bench.desk, bench.book, bench.clock)


@pytest.fixture
def service(bench: Bench, own: RouteService) -> LibraryService:
    return LibraryService(bench.store, own, bench.desk, bench.book, bench.clock)


def done(result: R | LogRefusal) -> R:
    assert not isinstance(result, LogRefusal), result
    return result


def refused(result: object, code: LogRefusalCode) -> LogRefusal:
    assert isinstance(result, LogRefusal), result
    assert result.code is code
    return result


async def share(
    own: RouteService, service: LibraryService, place: Place = HERE, moves: str = BNB, name: str = "bread"
) -> SharedRoute:
    """A route saved and shared."""
    done(await own.save(place, moves, name, next(EVENTS), "corner"))
    return done(await service.share(place, name, next(EVENTS))).route


async def listed(service: LibraryService, place: Place = HERE) -> tuple[str, ...]:
    return tuple(route.name for route in done(await service.listed(place)).routes)


async def test_a_saved_route_is_shared_as_it_is_and_everybody_there_finds_it(
    service: LibraryService, own: RouteService, bench: Bench
) -> None:
    route = await share(own, service)
    game = bench.desk.game_of(HERE)
    assert (route.name, route.notation, route.character, route.tags) == (
        "bread",
        CANONICAL,
        ODRUN,
        ("corner",),
    )
    assert (route.game, route.game_version) == (game.name, game.version)
    assert (route.shared_by, route.shared_at) == (HERE.member_id, NOW)
    assert done(await service.listed(OTHER)) == RouteList((route,), ("corner",))
    assert await listed(service, ELSEWHERE) == ()


async def test_the_moves_of_a_button_are_shared_under_the_name_they_are_saved_under(
    service: LibraryService, own: RouteService
) -> None:
    saved = done(await own.save(HERE, BNB, "bread", 1))
    number = done(await own.enter(HERE, saved))
    assert done(await service.share_numbered(HERE, number, 2)).route.name == "bread"
    await own.forget(HERE, "bread", 3)
    refused(await service.share_numbered(HERE, number, 4), LogRefusalCode.NOT_SAVED)
    refused(await service.share_numbered(OTHER, number, 5), LogRefusalCode.GONE_ROUTE)


async def test_what_is_not_saved_cannot_be_shared(service: LibraryService) -> None:
    refusal = refused(await service.share(HERE, "bread", 1), LogRefusalCode.NO_SUCH_ROUTE)
    assert refusal.facts["typed"] == "bread"
    assert await listed(service) == ()


async def test_a_name_in_any_case_is_the_server_s_and_only_its_sharer_may_put_another_route_there(
    service: LibraryService, own: RouteService
) -> None:
    first = await share(own, service)
    done(await own.save(OTHER, LOW, "BREAD", 1))
    refusal = refused(await service.share(OTHER, "bread", 2), LogRefusalCode.NAME_SHARED)
    assert (refusal.facts["typed"], refusal.facts["character"]) == ("bread", ODRUN)
    done(await own.save(HERE, LOW, "Bread", 3, "punish"))
    again = done(await service.share(HERE, "bread", 4))
    assert again.again
    assert (again.route.id, again.route.name) == (first.id, "Bread")
    assert (again.route.notation, again.route.tags) == ("5MP, 2MK", ("punish",))
    assert await listed(service) == ("Bread",)


async def test_the_same_name_may_stand_for_another_character_and_in_another_server(
    service: LibraryService, own: RouteService
) -> None:
    await share(own, service)
    await share(own, service, OTHER, "Mirrel: 5MP, 2MP")
    await share(own, service, ELSEWHERE, LOW)
    assert await listed(service) == ("bread", "bread")
    assert await listed(service, ELSEWHERE) == ("bread",)


async def test_the_same_event_shares_once_and_brings_nothing_back(
    service: LibraryService, own: RouteService
) -> None:
    await own.save(HERE, BNB, "bread", 1)
    first = done(await service.share(HERE, "bread", 2))
    assert done(await service.share(HERE, "bread", 2)).route == first.route
    await service.tidy(HERE, first.route.id, 3, moderates=False)
    refused(await service.share(HERE, "bread", 2), LogRefusalCode.NO_SUCH_SHARED)
    assert await listed(service) == ()


async def test_a_library_and_one_member_s_share_of_it_have_an_end(
    service: LibraryService, own: RouteService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(library_module, "MOST_SHARED_BY_ONE", 1)
    monkeypatch.setattr(library_module, "MOST_SHARED", 2)
    await share(own, service, name="one")
    await own.save(HERE, BNB, "two", 1)
    refused(await service.share(HERE, "two", 2), LogRefusalCode.TOO_MANY_SHARED)
    await share(own, service, name="one")  # in place of the one before
    await share(own, service, OTHER, name="other")
    await own.save(HERE, BNB, "two", 3)
    refused(await service.share(HERE, "two", 4), LogRefusalCode.LIBRARY_FULL)
    assert await listed(service) == ("one", "other")


async def test_routes_are_listed_by_character_and_tag_the_own_character_s_first(
    service: LibraryService, own: RouteService, bench: Bench
) -> None:
    odrun = await share(own, service)
    done(await own.save(OTHER, "Mirrel: 5MP, 2MP", "hers", 1, "punish"))
    hers = done(await service.share(OTHER, "hers", 2)).route
    assert done(await service.listed(HERE)).routes == (hers, odrun)
    await bench.desk.choose_own(HERE, "odrun", None)
    assert done(await service.listed(HERE)).routes == (odrun, hers)
    assert done(await service.listed(HERE, "mirrel")) == RouteList((hers,), ("corner", "punish"), MIRREL)
    assert done(await service.listed(HERE, None, "#Corner")).routes == (odrun,)
    assert done(await service.listed(HERE, "mirrel", "corner")).routes == ()
    unknown = refused(await service.listed(HERE, "zzzz"), LogRefusalCode.UNKNOWN_CHARACTER)
    assert unknown.facts["typed"] == "zzzz"
    assert await service.complete_tag(HERE, "p") == ("punish",)


async def test_a_shared_route_is_saved_as_ones_own_copy(service: LibraryService, own: RouteService) -> None:
    shared = await share(own, service)
    kept = done(await service.keep(OTHER, shared.id, 1))
    assert not kept.had
    assert not kept.taken
    (copy,) = (await own.listed(OTHER)).routes
    assert isinstance(copy, SavedRoute)
    assert copy == kept.route
    assert (copy.name, copy.notation, copy.tags, copy.saved_at) == ("bread", CANONICAL, ("corner",), NOW)
    await service.tidy(HERE, shared.id, 2, moderates=False)
    assert (await own.listed(OTHER)).routes == (copy,)


async def test_the_moves_that_one_has_are_not_saved_twice(service: LibraryService, own: RouteService) -> None:
    shared = await share(own, service)
    mine = done(await own.save(OTHER, BNB, "my own", 1))
    for event in (2, 3, 3):
        assert done(await service.keep(OTHER, shared.id, event)) == Kept(mine, had=True)
    assert (await own.listed(OTHER)).routes == (mine,)


async def test_a_copy_never_takes_the_place_of_another_route_of_that_name(
    service: LibraryService, own: RouteService
) -> None:
    shared = await share(own, service)
    mine = done(await own.save(OTHER, LOW, "BREAD", 1))
    second = done(await own.save(OTHER, "Odrun: 5MP, 2MP", "bread 2", 2))
    kept = done(await service.keep(OTHER, shared.id, 3))
    assert (kept.route.name, kept.taken) == ("bread 3", "bread")
    assert set((await own.listed(OTHER)).routes) == {mine, second, kept.route}


async def test_a_long_name_is_cut_so_that_the_number_has_room(
    service: LibraryService, own: RouteService
) -> None:
    name = "a" * NAME_CHARACTERS
    shared = await share(own, service, name=name)
    await own.save(OTHER, LOW, name, 1)
    kept = done(await service.keep(OTHER, shared.id, 2))
    assert kept.route.name == "a" * (NAME_CHARACTERS - 2) + " 2"


async def test_nothing_is_kept_beyond_the_most_that_one_may_save_nor_from_elsewhere(
    service: LibraryService, own: RouteService, monkeypatch: pytest.MonkeyPatch
) -> None:
    shared = await share(own, service)
    refused(await service.keep(ELSEWHERE, shared.id, 1), LogRefusalCode.NO_SUCH_SHARED)
    refused(await service.keep(OTHER, shared.id + 1, 2), LogRefusalCode.NO_SUCH_SHARED)
    await own.save(OTHER, LOW, "one", 3)
    monkeypatch.setattr(library_module, "MOST_ROUTES", 1)
    refused(await service.keep(OTHER, shared.id, 4), LogRefusalCode.TOO_MANY)
    assert len((await own.listed(OTHER)).routes) == 1


async def test_a_copy_that_was_forgotten_does_not_come_back_with_its_event(
    service: LibraryService, own: RouteService
) -> None:
    shared = await share(own, service)
    await service.keep(OTHER, shared.id, 1)
    await own.forget(OTHER, "bread", 2)
    refused(await service.keep(OTHER, shared.id, 1), LogRefusalCode.NO_SUCH_SHARED)
    assert (await own.listed(OTHER)).routes == ()


async def test_a_shared_route_is_taken_out_by_who_shared_it_or_by_a_moderator_and_nobody_else(
    service: LibraryService, own: RouteService
) -> None:
    first = await share(own, service)
    second = await share(own, service, name="second", moves=LOW)
    refused(await service.tidy(OTHER, first.id, 1, moderates=False), LogRefusalCode.NOT_YOURS_TO_TIDY)
    refused(await service.tidy(ELSEWHERE, first.id, 2, moderates=True), LogRefusalCode.NO_SUCH_SHARED)
    assert len(await listed(service)) == 2
    assert await service.tidy(HERE, first.id, 3, moderates=False) == first
    assert await service.tidy(OTHER, second.id, 4, moderates=True) == second
    assert await listed(service) == ()
    refused(await service.tidy(OTHER, second.id, 5, moderates=True), LogRefusalCode.NO_SUCH_SHARED)
    assert len((await own.listed(HERE)).routes) == 2  # what they saved stays theirs


async def test_a_picked_route_says_who_may_take_it_out_and_has_a_number_of_the_lookers_own(
    service: LibraryService, own: RouteService
) -> None:
    shared = await share(own, service)
    for place, moderates, is_own, may_tidy in (
        (HERE, False, True, True),
        (OTHER, False, False, False),
        (OTHER, True, False, True),
    ):
        picked = done(await service.picked(place, shared.id, moderates=moderates))
        number = done(await own.enter(place, shared))
        assert picked == PickedShared(shared, number, is_own, may_tidy)
    refused(await service.picked(ELSEWHERE, shared.id, moderates=True), LogRefusalCode.NO_SUCH_SHARED)


async def test_in_direct_messages_the_library_is_that_of_the_member_s_server(
    service: LibraryService, own: RouteService, bench: Bench
) -> None:
    await share(own, service)
    direct = bench.book.home(Place(None, 99, HERE.member_id))
    assert await listed(service, direct) == ("bread",)
    assert done(await service.share(direct, "bread", 1)).again


async def test_where_there_is_no_server_there_is_no_library(
    service: LibraryService, own: RouteService
) -> None:
    done(await own.save(ALONE, BNB, "bread", 1))
    number = done(await own.opened(ALONE, 1))
    for result in (
        await service.share(ALONE, "bread", 2),
        await service.share_numbered(ALONE, number, 3),
        await service.listed(ALONE),
    ):
        refused(result, LogRefusalCode.NO_SERVER)


async def test_erasing_takes_what_a_member_shared_and_leaves_the_copies_of_others(
    service: LibraryService, own: RouteService, bench: Bench
) -> None:
    shared = await share(own, service)
    theirs = await share(own, service, OTHER, LOW, "low")
    copy = done(await service.keep(OTHER, shared.id, 1)).route
    await PrivacyService(bench.store, bench.book).erase(HERE)
    assert done(await service.listed(OTHER)).routes == (theirs,)
    assert copy in (await own.listed(OTHER)).routes
    assert isinstance(await service.share(OTHER, "bread", 2), Shared)  # the name is free again
