"""A session for the minutes someone has, from what they really practise."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from inline import HERE, MIRREL, Bench, bench_at, drill, link, route

from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import PlannedSession, PracticeRefusal, PracticeRefusalCode
from bot.results.tally import MemberSettings, SavedRoute, ServerSettings, Subject, Tally
from bot.services.plan import PlanService
from bot.storage import routes
from core.learning.plan import REPS_CAP, Block, BlockKind, Note
from core.learning.spacing import When

NOW = datetime(2026, 1, 14, 20, tzinfo=UTC)
YESTERDAY = NOW - timedelta(days=1)
ROUTE = route("5MP, 5MP, 2MK xx 236HP")
LINKS = ("5MP, 5MP", "5MP, 2MK")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.book.set_member(HERE.owner, MemberSettings(character="Odrun Vale"))
        yield bench


@pytest.fixture
def service(bench: Bench) -> PlanService:
    return PlanService(bench.store, bench.desk, bench.book, bench.clock)


def tally(what: Subject, tries: int = 10, landed: int = 5, when: datetime = YESTERDAY) -> Tally:
    return Tally(what, when, tries, landed)


def planned(found: object) -> PlannedSession:
    assert isinstance(found, PlannedSession), found
    return found


def refused(found: object, code: PracticeRefusalCode) -> PracticeRefusal:
    assert isinstance(found, PracticeRefusal), found
    assert found.code is code
    return found


def orders(session: PlannedSession, kind: BlockKind) -> list[tuple[str, ...]]:
    return [block.order for block in session.plan.blocks if block.kind is kind]


async def test_the_weakest_link_comes_first_by_the_member_s_own_record(
    bench: Bench, service: PlanService
) -> None:
    await bench.log(tally(ROUTE))
    await bench.log(tally(link("5MP, 5MP"), 20, 5))
    await bench.log(tally(link("5MP, 2MK"), 20, 18))
    session = planned(await service.of(HERE, 45))
    assert (session.subject, session.minutes, session.weakest) == (ROUTE, 45, "5MP, 5MP")
    slow = orders(session, BlockKind.SLOW)
    assert slow[0] == ("5MP, 5MP",)
    assert orders(session, BlockKind.ROUTE)[0] == (ROUTE.what,)
    assert orders(session, BlockKind.MATCHES) == [(ROUTE.what,)]
    assert set(orders(session, BlockKind.MIXED)[0]) == {*LINKS, ROUTE.what}


async def test_a_link_never_tried_comes_before_a_weak_one_and_is_not_called_weakest(
    bench: Bench, service: PlanService
) -> None:
    await bench.log(tally(ROUTE))
    await bench.log(tally(link("5MP, 5MP"), 20, 5))
    session = planned(await service.of(HERE, 45))
    assert orders(session, BlockKind.SLOW)[0] == ("5MP, 2MK",)
    assert session.weakest == "5MP, 5MP"


async def test_a_cancel_needs_slow_work_only_where_there_is_no_link(
    bench: Bench, service: PlanService
) -> None:
    await bench.log(tally(ROUTE))
    assert "2MK xx 236HP" not in {
        one for order in orders(planned(await service.of(HERE, 60)), BlockKind.SLOW) for one in order
    }
    alone = planned(await service.of(HERE, 60, "2MK xx 236HP"))
    assert orders(alone, BlockKind.SLOW)[0] == ("2MK xx 236HP",)


async def test_without_a_record_at_any_link_none_is_called_weakest(
    bench: Bench, service: PlanService
) -> None:
    await bench.log(tally(ROUTE))
    session = planned(await service.of(HERE, 20))
    assert session.weakest is None
    assert orders(session, BlockKind.SLOW)[0] == (LINKS[0],)


async def test_another_character_s_link_is_no_record(bench: Bench, service: PlanService) -> None:
    await bench.log(tally(route("5MP, 5MP, 5MP xx 236HP")))
    await bench.log(tally(link("5MP, 5MP", MIRREL), 20, 5))
    assert planned(await service.of(HERE, 20)).weakest is None


async def test_a_link_that_comes_twice_is_one_link(bench: Bench, service: PlanService) -> None:
    await bench.log(tally(route("5MP, 5MP, 5MP xx 236HP")))
    session = planned(await service.of(HERE, 60))
    assert [order for order in orders(session, BlockKind.SLOW) if order == ("5MP, 5MP",)] == [("5MP, 5MP",)]


async def test_chains_need_no_slow_work(bench: Bench, service: PlanService) -> None:
    await bench.log(tally(route("5LP ~ 5LP ~ 2LP")))
    session = planned(await service.of(HERE, 20))
    assert orders(session, BlockKind.SLOW) == [("5LP ~ 5LP ~ 2LP",)]


async def test_the_route_practised_last_is_planned_and_two_others_are_mixed_in(
    bench: Bench, service: PlanService
) -> None:
    others = [f"5MP, 5MP, 5MP xx 236{strength}P" for strength in "LMH"]
    for age, what in enumerate([ROUTE.what, *others]):
        await bench.log(tally(route(what), when=YESTERDAY - timedelta(days=age)))
    await bench.log(tally(route("5LP, 5MP, 5MP", MIRREL)))
    await bench.log(tally(link("5MP, 5LP"), when=NOW))
    session = planned(await service.of(HERE, 60, ROUTE.what))
    assert session.subject == ROUTE
    assert set(orders(session, BlockKind.MIXED)[0]) == {*LINKS, ROUTE.what, *others[:2]}


async def test_without_a_route_the_link_practised_last_is_a_route_of_one_link(
    bench: Bench, service: PlanService
) -> None:
    await bench.log(tally(link("5MP, 2MP"), 20, 10, YESTERDAY - timedelta(days=1)))
    await bench.log(tally(link("5MP, 2MK"), 20, 10))
    session = planned(await service.of(HERE, 20))
    assert (session.subject, session.weakest) == (link("5MP, 2MK"), "5MP, 2MK")
    assert orders(session, BlockKind.SLOW) == [("5MP, 2MK",)]
    assert orders(session, BlockKind.MIXED) == []


async def test_a_route_counts_before_a_later_link(bench: Bench, service: PlanService) -> None:
    await bench.log(tally(ROUTE, when=YESTERDAY - timedelta(days=3)))
    await bench.log(tally(link("5MP, 2MP")))
    assert planned(await service.of(HERE, 20)).subject == ROUTE


async def test_a_route_that_the_game_file_lost_is_passed_over(bench: Bench, service: PlanService) -> None:
    await bench.log(tally(route("5MP, 9MP, 5MP")))
    await bench.log(tally(ROUTE, when=YESTERDAY - timedelta(days=3)))
    assert planned(await service.of(HERE, 20)).subject == ROUTE


async def test_nothing_logged_and_nothing_named_is_refused(bench: Bench, service: PlanService) -> None:
    refused(await service.of(HERE, 20), PracticeRefusalCode.NO_ROUTE)
    await bench.log(tally(drill("anti-airs on reaction")))
    refused(await service.of(HERE, 20), PracticeRefusalCode.NO_ROUTE)
    undone = await bench.log(tally(ROUTE))
    await bench.undo(undone)
    refused(await service.of(HERE, 20), PracticeRefusalCode.NO_ROUTE)
    for other in (Place(1, 10, 101), Place(2, 10, 100)):
        refused(await service.of(other, 20), PracticeRefusalCode.NO_ROUTE)


async def test_what_is_named_needs_no_record(bench: Bench, service: PlanService) -> None:
    assert planned(await service.of(HERE, 20, ROUTE.what)).subject == ROUTE
    await bench.log(tally(drill("anti-airs on reaction")))
    session = planned(await service.of(HERE, 20, "anti-airs on reaction"))
    assert session.subject == drill("anti-airs on reaction")
    assert orders(session, BlockKind.SLOW) == [("anti-airs on reaction",)]


async def test_a_saved_route_is_named_by_its_name(bench: Bench, service: PlanService) -> None:
    saved = SavedRoute(0, "Saltglass", "1.2", "Odrun Vale", "bread", ROUTE.what, NOW)
    async with bench.store.write() as writing:
        await routes.save(writing, HERE.owner, saved)
    assert planned(await service.of(HERE, 20, "bread")).subject == ROUTE


async def test_reps_made_today_on_the_server_s_clock_count_against_the_cap(
    bench: Bench, service: PlanService
) -> None:
    # 20:00 in UTC is 05:00 on the next day in Tokyo: 14:00 and 16:00 are 23:00 before and 01:00 of that day.
    await bench.log(tally(ROUTE, REPS_CAP - 50, 10, NOW.replace(hour=14)))
    await bench.log(tally(ROUTE, 50, 10, NOW.replace(hour=16)))
    full = planned(await service.of(HERE, 20))
    assert Note.CAP_REACHED in full.plan.notes
    assert full.plan.blocks == ()
    await bench.book.set_server(1, ServerSettings(zone="Asia/Tokyo"))
    fresh = planned(await service.of(HERE, 20))
    assert Note.CAP_REACHED not in fresh.plan.notes
    assert fresh.plan.blocks[-1] == Block(BlockKind.MATCHES, 0, 3, (ROUTE.what,))


async def test_a_date_brings_the_next_practice(bench: Bench, service: PlanService) -> None:
    # 24 days from the last practice: 4 days on, 20 are left, of which 4 are 20 % (Cepeda et al. 2008).
    await bench.log(tally(ROUTE))
    await bench.log(tally(link("5MP, 2MP"), when=NOW))
    found = planned(await service.of(HERE, 20, None, "2026-02-06")).next
    assert found is not None
    assert (found.code, found.day, found.left_days) == (When.SPACED, date(2026, 1, 17), 20)
    never = planned(await service.of(HERE, 20, "5MP, 5LP", "2026-02-06")).next
    assert never is not None
    assert never.code is When.NOW
    assert planned(await service.of(HERE, 20)).next is None


@pytest.mark.parametrize(
    ("typed", "code"),
    [("some day", PracticeRefusalCode.NO_DATE), ("2026-01-13", PracticeRefusalCode.DATE_OVER)],
)
async def test_a_date_that_is_none_or_over_is_refused(
    service: PlanService, typed: str, code: PracticeRefusalCode
) -> None:
    assert refused(await service.of(HERE, 20, ROUTE.what, typed), code).facts["typed"] == typed


async def test_what_cannot_be_read_is_refused_as_in_logging(service: PlanService) -> None:
    assert isinstance(await service.of(HERE, 20, "5MP, 9XQ"), LogRefusal)
