"""Routes that a member saves under names of their own."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from inline import HERE, MIRREL, ODRUN, Bench, bench_at

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import SavedRoute
from bot.services import routes as routes_module
from bot.services.routes import NAME_CHARACTERS, RouteService

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
BNB = "5MP > 2MP > 236HP"
OTHER = replace(HERE, member_id=HERE.member_id + 1)


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        yield bench


@pytest.fixture
def service(bench: Bench) -> RouteService:
    return RouteService(bench.store, bench.desk, bench.book, bench.clock)


def saved(result: SavedRoute | LogRefusal) -> SavedRoute:
    assert isinstance(result, SavedRoute), result
    return result


async def test_a_route_is_saved_as_notation_with_the_game_s_version(
    service: RouteService, bench: Bench
) -> None:
    route = saved(await service.save(HERE, BNB, "  bread \n and butter ", 1))
    game = bench.desk.game_of(HERE)
    assert (route.name, route.notation, route.character) == ("bread and butter", "5MP, 2MP xx 236HP", ODRUN)
    assert (route.game, route.game_version, route.saved_at) == (game.name, game.version, NOW)
    assert await service.listed(HERE) == (route,)
    assert await service.listed(OTHER) == ()


async def test_the_same_name_in_any_case_is_saved_anew_for_that_character(service: RouteService) -> None:
    await service.save(HERE, BNB, "bread", 1)
    other = saved(await service.save(HERE, "Mirrel: 5MP, 2MP", "bread", 2))
    again = saved(await service.save(HERE, "5MP, 2MK", "BREAD", 3))
    assert set(await service.listed(HERE)) == {other, again}


async def test_the_same_event_saves_once(service: RouteService) -> None:
    first = saved(await service.save(HERE, BNB, "bread", 1))
    assert await service.save(HERE, BNB, "Bread", 1) == first
    assert await service.listed(HERE) == (first,)


@pytest.mark.parametrize(
    ("typed", "name", "code"),
    [
        (BNB, " \n ", LogRefusalCode.NO_NAME),
        (BNB, "a" * (NAME_CHARACTERS + 1), LogRefusalCode.TOO_LONG),
        ("5MP, 5QQ", "bread", LogRefusalCode.NO_SUCH_WHAT),
        ("5MP", "bread", LogRefusalCode.NO_SUCH_WHAT),
        ("drill: block", "bread", LogRefusalCode.NO_SUCH_WHAT),
        ("Odrin: 5MP, 2MP", "bread", LogRefusalCode.UNKNOWN_CHARACTER),
    ],
)
async def test_what_cannot_be_saved_is_refused(
    service: RouteService, typed: str, name: str, code: LogRefusalCode
) -> None:
    refusal = await service.save(HERE, typed, name, 1)
    assert isinstance(refusal, LogRefusal)
    assert refusal.code is code
    assert await service.listed(HERE) == ()


async def test_a_name_may_be_as_long_as_it_says(service: RouteService) -> None:
    assert saved(await service.save(HERE, BNB, "a" * NAME_CHARACTERS, 1)).name == "a" * NAME_CHARACTERS


async def test_only_so_many_are_saved_and_a_known_name_still_is(
    service: RouteService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(routes_module, "MOST_ROUTES", 2)
    for event in (1, 2):
        saved(await service.save(HERE, BNB, f"route {event}", event))
    refusal = await service.save(HERE, BNB, "route 3", 3)
    assert isinstance(refusal, LogRefusal)
    assert refusal.code is LogRefusalCode.TOO_MANY
    assert saved(await service.save(HERE, "5MP, 2MK", "route 2", 4)).notation == "5MP, 2MK"
    assert saved(await service.save(OTHER, "Odrun: 5MP, 2MK", "route 3", 5)).name == "route 3"


async def test_a_route_is_forgotten_by_name(service: RouteService) -> None:
    route = saved(await service.save(HERE, BNB, "Bread", 1))
    assert await service.forget(OTHER, "bread", 2) == refusal_of("bread")
    assert await service.forget(HERE, "BREAD ", 3) == route
    assert await service.listed(HERE) == ()
    assert await service.forget(HERE, "bread", 4) == refusal_of("bread")


def refusal_of(name: str) -> LogRefusal:
    refusal = LogRefusal(LogRefusalCode.NO_SUCH_ROUTE)
    return replace(refusal, facts=refusal.facts.plus(typed=name))


async def test_of_several_routes_of_one_name_the_own_character_s_is_forgotten_or_the_one_named(
    service: RouteService,
) -> None:
    own = saved(await service.save(HERE, BNB, "bread", 1))
    hers = saved(await service.save(HERE, "Mirrel: 5MP, 2MP", "bread", 2))
    assert await service.forget(HERE, "Mirrel: bread", 3) == hers
    assert await service.forget(HERE, "bread", 4) == own


async def test_without_an_own_character_it_is_asked_whose_route_is_meant(service: RouteService) -> None:
    await service.save(OTHER, "Odrun: 5MP, 2MP", "bread", 1)
    await service.save(OTHER, "Mirrel: 5MP, 2MP", "bread", 2)
    refusal = await service.forget(OTHER, "bread", 3)
    assert isinstance(refusal, LogRefusal)
    assert (refusal.code, refusal.facts["names"]) == (LogRefusalCode.WHOSE, f"{MIRREL}, {ODRUN}")
    assert len(await service.listed(OTHER)) == 2


async def test_names_are_offered(service: RouteService) -> None:
    for event, name in enumerate(("bread", "corner carry"), start=1):
        await service.save(HERE, BNB, name, event)
    assert await service.complete(HERE, "") == ("bread", "corner carry")
    assert await service.complete(HERE, "car") == ("corner carry",)
