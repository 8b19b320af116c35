"""Routes that a member saves under names of their own."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from inline import HERE, MIRREL, ODRUN, Bench, bench_at, drill

from bot.results.library import Forgotten, SaveDraft
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import KeptConversion, SavedRoute, Tally
from bot.services import routes as routes_module
from bot.services.routes import NAME_CHARACTERS, RouteService
from bot.services.tags import MOST_TAGS, TAG_CHARACTERS, read_tags
from bot.storage import conversions

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
    assert (await service.listed(HERE)).routes == (route,)
    assert (await service.listed(OTHER)).routes == ()


async def test_the_same_name_in_any_case_is_saved_anew_for_that_character(service: RouteService) -> None:
    await service.save(HERE, BNB, "bread", 1)
    other = saved(await service.save(HERE, "Mirrel: 5MP, 2MP", "bread", 2))
    again = saved(await service.save(HERE, "5MP, 2MK", "BREAD", 3))
    assert set((await service.listed(HERE)).routes) == {other, again}


async def test_the_same_event_saves_once(service: RouteService) -> None:
    first = saved(await service.save(HERE, BNB, "bread", 1))
    assert await service.save(HERE, BNB, "Bread", 1) == first
    assert (await service.listed(HERE)).routes == (first,)


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
    assert (await service.listed(HERE)).routes == ()


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
    assert await service.forget(HERE, "BREAD ", 3) == Forgotten(route)
    assert (await service.listed(HERE)).routes == ()
    assert await service.forget(HERE, "bread", 4) == refusal_of("bread")


def refusal_of(name: str) -> LogRefusal:
    refusal = LogRefusal(LogRefusalCode.NO_SUCH_ROUTE)
    return replace(refusal, facts=refusal.facts.plus(typed=name))


async def test_of_several_routes_of_one_name_the_own_character_s_is_forgotten_or_the_one_named(
    service: RouteService,
) -> None:
    own = saved(await service.save(HERE, BNB, "bread", 1))
    hers = saved(await service.save(HERE, "Mirrel: 5MP, 2MP", "bread", 2))
    assert await service.forget(HERE, "Mirrel: bread", 3) == Forgotten(hers)
    assert await service.forget(HERE, "bread", 4) == Forgotten(own)


async def test_without_an_own_character_it_is_asked_whose_route_is_meant(service: RouteService) -> None:
    await service.save(OTHER, "Odrun: 5MP, 2MP", "bread", 1)
    await service.save(OTHER, "Mirrel: 5MP, 2MP", "bread", 2)
    refusal = await service.forget(OTHER, "bread", 3)
    assert isinstance(refusal, LogRefusal)
    assert (refusal.code, refusal.facts["names"]) == (LogRefusalCode.WHOSE, f"{MIRREL}, {ODRUN}")
    assert len((await service.listed(OTHER)).routes) == 2


async def test_names_are_offered(service: RouteService) -> None:
    for event, name in enumerate(("bread", "corner carry"), start=1):
        await service.save(HERE, BNB, name, event)
    assert await service.complete(HERE, "") == ("bread", "corner carry")
    assert await service.complete(HERE, "car") == ("corner carry",)


@pytest.mark.parametrize(
    ("typed", "tags"),
    [
        ("", ()),
        (" , ", ()),
        ("corner", ("corner",)),
        ("#Punish, CORNER", ("corner", "punish")),
        ("corner corner,corner", ("corner",)),
        ("a b c d e", ("a", "b", "c", "d", "e")),
        ("x" * TAG_CHARACTERS, ("x" * TAG_CHARACTERS,)),
    ],
)
def test_tags_are_words_in_lower_case_apart_by_blanks_or_commas(typed: str, tags: tuple[str, ...]) -> None:
    assert read_tags(typed) == tags


@pytest.mark.parametrize("typed", ["a b c d e f", "x" * (TAG_CHARACTERS + 1)])
async def test_too_many_or_too_long_tags_are_refused_and_nothing_is_saved(
    service: RouteService, typed: str
) -> None:
    refusal = await service.save(HERE, BNB, "bread", 1, typed)
    assert isinstance(refusal, LogRefusal)
    assert refusal.code is LogRefusalCode.BAD_TAGS
    assert (refusal.facts["most"], refusal.facts["characters"]) == (MOST_TAGS, TAG_CHARACTERS)
    assert (await service.listed(HERE)).routes == ()


async def test_routes_are_listed_by_tag_the_own_character_s_first(service: RouteService) -> None:
    bread = saved(await service.save(HERE, BNB, "bread", 1, "#Corner punish"))
    hers = saved(await service.save(HERE, "Mirrel: 5MP, 2MP", "also", 2, "corner"))
    plain = saved(await service.save(HERE, "5MP, 2MK", "plain", 3))
    assert (await service.listed(HERE)).routes == (bread, plain, hers)
    tagged = await service.listed(HERE, " #CORNER ")
    assert (tagged.routes, tagged.tag, tagged.tags) == ((bread, hers), "corner", ("corner", "punish"))
    assert (await service.listed(HERE, "punish")).routes == (bread,)
    none = await service.listed(HERE, "meaty")
    assert (none.routes, none.tags) == ((), ("corner", "punish"))


async def test_tags_are_offered_alone_and_after_those_that_are_typed(service: RouteService) -> None:
    await service.save(HERE, BNB, "bread", 1, "corner punish")
    assert await service.complete_tag(HERE, "") == ("corner", "punish")
    assert await service.complete_tag(HERE, "#PU") == ("punish",)
    assert await service.complete_tags(HERE, "cor") == ("corner",)
    assert await service.complete_tags(HERE, "meaty, pu") == ("meaty punish",)
    assert await service.complete_tags(HERE, "corner ") == ("corner punish",)


async def test_saving_anew_without_tags_keeps_those_that_there_were(service: RouteService) -> None:
    await service.save(HERE, BNB, "bread", 1, "corner")
    assert saved(await service.save(HERE, "5MP, 2MK", "Bread", 2)).tags == ("corner",)
    assert saved(await service.save(HERE, "5MP, 2MK", "bread", 3, "")).tags == ()


async def test_what_was_looked_at_is_saved_by_its_number(service: RouteService) -> None:
    first = saved(await service.save(HERE, BNB, "bread", 1, "corner"))
    number = await service.enter(HERE, first)
    assert isinstance(number, int)
    assert await service.enter(HERE, first) == number == await service.opened(HERE, first.id)
    assert await service.draft(HERE, number) == SaveDraft("5MP, 2MP xx 236HP", "bread", "corner")
    again = saved(await service.save_numbered(HERE, number, "butter", "punish", 2))
    assert (again.notation, again.name, again.tags) == ("5MP, 2MP xx 236HP", "butter", ("punish",))
    await service.forget(HERE, "bread", 3)
    await service.forget(HERE, "butter", 4)
    assert await service.draft(HERE, number) == SaveDraft("5MP, 2MP xx 236HP")


async def test_a_number_of_others_or_of_a_drill_saves_nothing(service: RouteService, bench: Bench) -> None:
    theirs = saved(await service.save(OTHER, "Odrun: 5MP, 2MP", "bread", 1))
    number = await service.enter(OTHER, theirs)
    assert isinstance(number, int)
    kept = await bench.log(Tally(drill("block"), NOW, 10, 5))
    for wanted, code in (
        (number, LogRefusalCode.GONE_ROUTE),
        (0, LogRefusalCode.GONE_ROUTE),
        (kept.subject_id, LogRefusalCode.NO_SUCH_WHAT),
    ):
        for result in (
            await service.save_numbered(HERE, wanted, "bread", None, 2),
            await service.draft(HERE, wanted),
        ):
            assert isinstance(result, LogRefusal)
            assert result.code is code
    gone = await service.opened(HERE, theirs.id)
    assert isinstance(gone, LogRefusal)
    assert gone.code is LogRefusalCode.GONE_ROUTE
    assert (await service.listed(HERE)).routes == ()


async def convert(bench: Bench, route: SavedRoute, starter: str = "5MP") -> None:
    """A conversion into this route, with a question about it open."""
    wanted = KeptConversion(0, route.game, route.character, starter, "on hit", route)
    async with bench.store.write() as writing:
        kept = await conversions.set_one(writing, HERE.owner, wanted)
        await conversions.ask(writing, HERE.owner, kept, (route.id,), NOW)


async def converted(bench: Bench) -> list[str]:
    async with bench.store.read() as reading:
        found = await conversions.listed(reading, HERE.owner, "Saltglass")
    return [one.route.name for one in found]


async def test_forgetting_takes_the_conversions_into_the_route_with_it_and_no_others(
    service: RouteService, bench: Bench
) -> None:
    bread = saved(await service.save(HERE, BNB, "bread", 1))
    other = saved(await service.save(HERE, "5MP, 2MK", "other", 2))
    for starter, route in (("5MP", bread), ("2MP", bread), ("5MK", other)):
        await convert(bench, route, starter)
    assert await service.forget(HERE, "bread", 3) == Forgotten(bread, 2)
    assert await converted(bench) == ["other"]
    async with bench.store.read() as reading:
        assert await conversions.open_question(reading, HERE.owner) is None


async def test_a_route_saved_anew_in_another_case_keeps_its_number_and_its_conversions(
    service: RouteService, bench: Bench
) -> None:
    bread = saved(await service.save(HERE, BNB, "bread", 1))
    await convert(bench, bread)
    again = saved(await service.save(HERE, "5MP, 2MK", "BREAD", 2))
    assert (again.id, again.name) == (bread.id, "BREAD")
    assert await converted(bench) == ["BREAD"]


async def test_saving_delivered_again_after_the_route_was_forgotten_does_not_bring_it_back(
    service: RouteService,
) -> None:
    await service.save(HERE, BNB, "bread", 1)
    await service.forget(HERE, "bread", 2)
    assert await service.save(HERE, BNB, "bread", 1) == refusal_of("bread")
    assert (await service.listed(HERE)).routes == ()
