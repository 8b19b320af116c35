"""What a member does when a starter lands: kept where it works, shown as a sheet, its gaps pointed out."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from demo import demo
from inline import HERE, ODRUN, Bench, InlineWorker, bench_at, desk_with

from bot.ports import Worker, WorkerError
from bot.results.conversion import (
    CellState,
    ClearedConversion,
    ConversionRefusal,
    ConversionRefusalCode,
    SetConversion,
    Sheet,
)
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import KeptConversion, SavedRoute
from bot.services import conversions as conversions_module
from bot.services.conversions import ConversionService
from bot.services.desk import AskDesk
from bot.services.hands import TimingService
from bot.services.routes import RouteService
from bot.services.sheets import MOST_PROPOSALS, SheetService, fits, look_for
from bot.storage import conversions

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
BREAD, BIG, ODD, DEAR = "5MP, 2MP xx 214LK", "5MP, 2MK xx 236LP", "off balance 5MP, 5HP", "5MP, 2MP xx 236PP"
OTHER = replace(HERE, member_id=HERE.member_id + 1)


class DeafWorker(InlineWorker):
    """Gives up on some work."""

    def __init__(self, *given_up: Callable[..., object]) -> None:
        self.given_up = given_up

    async def run(self, work: Any, *args: Any, **kwargs: Any) -> Any:
        if work in self.given_up:
            raise WorkerError("given up")
        return await super().run(work, *args, **kwargs)


@dataclass(frozen=True)
class Desk:
    """What a test asks."""

    bench: Bench
    routes: RouteService
    conversions: ConversionService

    async def save(self, moves: str, name: str, event: int, place: Any = HERE) -> SavedRoute:
        saved = await self.routes.save(place, moves, name, event)
        assert isinstance(saved, SavedRoute), saved
        return saved

    async def kept(self, place: Any = HERE) -> tuple[KeptConversion, ...]:
        async with self.bench.store.read() as reading:
            return await conversions.listed(reading, place.owner, "Saltglass")

    def sheets(self, worker: Worker | None = None, desk: AskDesk | None = None) -> SheetService:
        bench, worker = self.bench, worker or InlineWorker()
        desk = desk or bench.desk
        timing = TimingService(bench.store, desk, bench.book, bench.clock, worker)
        return SheetService(bench.store, desk, timing, worker)

    async def sheet(self, **options: Any) -> Sheet:
        found = await self.sheets(**options).of(HERE)
        assert isinstance(found, Sheet), found
        return found


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Desk]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        routes = RouteService(bench.store, bench.desk, bench.book, bench.clock)
        yield Desk(bench, routes, ConversionService(bench.store, bench.desk, routes))


def is_set(result: object) -> SetConversion:
    assert isinstance(result, SetConversion), result
    return result


def cell_of(sheet: Sheet, starter: str, situation: str) -> tuple[CellState, str | None, int | None]:
    row = next(row for row in sheet.rows if row.starter == starter)
    cell = next(cell for cell in row.cells if cell.situation.name == situation)
    return cell.state, cell.route.name if cell.route else None, cell.damage


async def test_a_route_is_kept_for_a_starter_in_a_situation(desk: Desk) -> None:
    route = await desk.save(BREAD, "bread", 1)
    result = is_set(await desk.conversions.set(HERE, " 5mp ", "Counter", "BREAD", 2))
    kept = result.conversion
    assert (kept.starter, kept.situation, kept.route) == ("5MP", "counter hit", route)
    assert (kept.character, kept.step, kept.due_at) == (ODRUN, 0, None)
    assert result.check.damage == 1795
    assert await desk.kept() == (kept,)
    assert await desk.kept(OTHER) == ()


async def test_another_route_takes_its_place_and_is_learnt_from_the_start(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    await desk.save(BIG, "low", 2)
    first = is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 3)).conversion
    async with desk.bench.store.write() as writing:
        asked = await conversions.ask(writing, HERE.owner, first, (first.route.id,), NOW)
        await conversions.answered(writing, asked, 3, NOW)
    same = is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 4)).conversion
    assert (same.id, same.step, same.due_at) == (first.id, 3, NOW)
    other = is_set(await desk.conversions.set(HERE, "5MP", "hit", "low", 5)).conversion
    assert (other.id, other.route.name, other.step, other.due_at) == (first.id, "low", 0, None)
    assert await desk.kept() == (other,)


async def test_an_open_question_about_a_route_that_is_no_longer_kept_there_is_over(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    await desk.save(BIG, "low", 2)
    first = is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 3)).conversion
    for event, end in enumerate(("set", "clear"), 4):
        async with desk.bench.store.write() as writing:
            await conversions.ask(writing, HERE.owner, first, (1, 2), NOW)
        if end == "set":
            is_set(await desk.conversions.set(HERE, "5MP", "hit", "low", event))
        else:
            await desk.conversions.clear(HERE, "5MP", "hit", event)
        async with desk.bench.store.read() as reading:
            assert await conversions.open_question(reading, HERE.owner) is None


@pytest.mark.parametrize(
    ("starter", "situation", "route", "code"),
    [
        ("5QQ", "hit", "bread", ConversionRefusalCode.NO_STARTER),
        ("5MP", "sideways", "bread", ConversionRefusalCode.NO_SITUATION),
        ("2MK", "hit", "bread", ConversionRefusalCode.OTHER_STARTER),
        ("5MP", "airborne", "bread", ConversionRefusalCode.NOT_THERE),
        ("5MP", "hit", "odd", ConversionRefusalCode.NOT_THERE),
        ("5MP", "hit", "dear", ConversionRefusalCode.NOT_THERE),
    ],
)
async def test_what_does_not_work_there_is_refused_and_not_kept(
    desk: Desk, starter: str, situation: str, route: str, code: ConversionRefusalCode
) -> None:
    for event, (moves, name) in enumerate(((BREAD, "bread"), (ODD, "odd"), (DEAR, "dear")), 1):
        await desk.save(moves, name, event)
    refused = await desk.conversions.set(HERE, starter, situation, route, 9)
    assert isinstance(refused, ConversionRefusal)
    assert refused.code is code
    assert await desk.kept() == ()


async def test_a_route_counts_in_the_hit_state_and_with_the_gauge_that_it_needs(desk: Desk) -> None:
    await desk.save(ODD, "odd", 1)
    await desk.save(DEAR, "dear", 2)
    is_set(await desk.conversions.set(HERE, "5MP", "off balance", "odd", 3))
    dear = is_set(await desk.conversions.set(HERE, "5MP", "gauge", "dear", 4))
    assert dict(dear.check.spent) == {"glow": 0, "salt": 40}


async def test_a_name_that_is_not_saved_or_of_somebody_else_is_refused(desk: Desk) -> None:
    route = await desk.save(BREAD, "bread", 1)
    for refused in (
        await desk.conversions.set(HERE, "5MP", "hit", "cheese", 2),
        await desk.conversions.set(OTHER, "5MP", "hit", "bread", 3),
        await desk.conversions.take(OTHER, route.id, "hit", 4),
    ):
        assert isinstance(refused, LogRefusal)
        assert refused.code in (LogRefusalCode.NO_SUCH_ROUTE, LogRefusalCode.GONE_ROUTE)
    assert await desk.kept(OTHER) == ()


async def test_the_same_event_keeps_one_conversion(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    first = is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 2))
    await desk.conversions.clear(HERE, "5MP", "hit", 3)
    again = is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 2))
    assert again.conversion.route == first.conversion.route
    assert await desk.kept() == ()


async def test_only_so_many_are_kept_and_those_kept_may_still_change(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(conversions_module, "MOST_CONVERSIONS", 1)
    await desk.save(BREAD, "bread", 1)
    await desk.save(BIG, "low", 2)
    is_set(await desk.conversions.set(HERE, "5MP", "hit", "bread", 3))
    refused = await desk.conversions.set(HERE, "5MP", "meaty", "bread", 4)
    assert isinstance(refused, ConversionRefusal)
    assert refused.code is ConversionRefusalCode.TOO_MANY
    assert is_set(await desk.conversions.set(HERE, "5MP", "hit", "low", 5)).conversion.route.name == "low"


async def test_a_conversion_is_taken_back_and_its_route_stays(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    is_set(await desk.conversions.set(HERE, "5MP", "counter hit", "bread", 2))
    missed = await desk.conversions.clear(HERE, "5MP", "hit", 3)
    assert isinstance(missed, ConversionRefusal)
    assert missed.code is ConversionRefusalCode.NOTHING_SET
    elsewhere = await desk.conversions.clear(OTHER, "5MP", "counter hit", 4)
    assert isinstance(elsewhere, ConversionRefusal)
    gone = await desk.conversions.clear(HERE, "lamp swing", "CH", 5)
    assert isinstance(gone, ClearedConversion)
    assert await desk.kept() == ()
    assert len((await desk.routes.listed(HERE)).routes) == 1


async def test_the_sheet_has_every_starter_in_every_situation(desk: Desk) -> None:
    for event, (moves, name) in enumerate(((BREAD, "bread"), (BIG, "low"), ("2HP, 5HP", "lift")), 1):
        await desk.save(moves, name, event)
    await desk.conversions.set(HERE, "5MP", "hit", "bread", 7)
    await desk.conversions.set(HERE, "2HP", "punish", "lift", 8)
    sheet = await desk.sheet()
    assert sheet.character.name == ODRUN
    assert [row.starter for row in sheet.rows] == ["5MP", "2HP"]
    assert {len(row.cells) for row in sheet.rows} == {8}
    assert cell_of(sheet, "5MP", "hit") == (CellState.FILLED, "bread", 1795)
    assert cell_of(sheet, "5MP", "punish") == (CellState.GAP, None, None)
    assert cell_of(sheet, "2HP", "punish") == (CellState.FILLED, "lift", 1800)
    assert (sheet.filled, sheet.broken, sheet.searched) == (2, 0, True)


async def test_gaps_are_filled_with_the_members_own_routes_before_others_are_looked_for(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    await desk.save(BIG, "low", 2)
    await desk.save(ODD, "odd", 3)
    await desk.conversions.set(HERE, "5MP", "hit", "bread", 4)
    sheet = await desk.sheet()
    told = [(one.situation.name, one.route.name if one.route else None) for one in sheet.proposals]
    # Bread spends nothing, so that it is no answer to what is done with full gauges. Nothing that begins with
    # 5MP is known to follow on somebody in the air.
    assert told == [("counter hit", "bread"), ("off balance", "bread"), ("gauge", None)]
    assert all(one.damage == 1795 for one in sheet.proposals if one.route)


async def test_what_is_found_works_there_and_can_be_opened_from_the_log(desk: Desk) -> None:
    await desk.save("5MP, 2MP xx 236PP", "dear", 1)
    sheet = await desk.sheet()
    found = [one for one in sheet.proposals if one.route is None]
    assert [one.situation.name for one in found][:3] == ["hit", "counter hit", "off balance"]
    for proposal in found:
        assert proposal.found is not None
        assert proposal.subject_id
        saved = await desk.save(
            proposal.found.what, f"found {proposal.situation.name}", 50 + proposal.subject_id
        )
        is_set(
            await desk.conversions.set(
                HERE, "5MP", proposal.situation.name, saved.name, 90 + proposal.subject_id
            )
        )
    again = await desk.sheet()
    assert again.filled == len(found)
    assert [one.subject_id for one in found] == sorted({one.subject_id for one in found})


async def test_there_are_never_more_proposals_than_one_acts_on_the_commonest_first(desk: Desk) -> None:
    for event, moves in enumerate((BREAD, "2HP, 5HP", "5LP, 2LK", "2MP, 5LK"), 1):
        await desk.save(moves, f"route {event}", event)
    sheet = await desk.sheet()
    assert len(sheet.proposals) == MOST_PROPOSALS
    assert {one.situation.name for one in sheet.proposals} == {"hit"}


async def test_without_the_search_the_sheet_stands_and_says_so(desk: Desk) -> None:
    await desk.save(DEAR, "dear", 1)
    sheet = await desk.sheet(worker=DeafWorker(look_for))
    assert not sheet.searched
    assert all(one.route is not None for one in sheet.proposals)


async def test_where_the_sheet_itself_could_not_be_worked_out_that_is_said(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    refused = await desk.sheets(DeafWorker(fits)).of(HERE)
    assert isinstance(refused, ConversionRefusal)
    assert refused.code is ConversionRefusalCode.BUSY


async def test_what_no_longer_works_in_a_new_version_is_pointed_out(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    await desk.save("off balance 5MP, 5HP", "odd", 2)
    await desk.conversions.set(HERE, "5MP", "hit", "bread", 3)
    await desk.conversions.set(HERE, "5MP", "off balance", "odd", 4)
    salt = demo("saltglass")
    odrun = salt.characters[0]
    slower = tuple(replace(move, startup_frames=30) if move.input == "2MP" else move for move in odrun.moves)
    patched = replace(
        salt,
        version="1.3",
        hit_states=tuple(state for state in salt.hit_states if state.name != "off balance"),
        characters=(replace(odrun, moves=slower), *salt.characters[1:]),
    )
    bench = desk.bench
    new = desk_with(bench.store, bench.clock, bench.book, {"saltglass": patched})
    sheet = await desk.sheet(desk=new)
    assert cell_of(sheet, "5MP", "hit") == (CellState.BROKEN, "bread", None)
    assert cell_of(sheet, "5MP", "off balance")[:2] == (CellState.BROKEN, "odd")
    assert (sheet.filled, sheet.broken) == (0, 2)
    routes = RouteService(bench.store, new, bench.book, bench.clock)
    gone = await ConversionService(bench.store, new, routes).clear(HERE, "5MP", "off balance", 9)
    assert isinstance(gone, ClearedConversion)


async def test_a_route_that_begins_with_another_move_since_it_was_saved_anew_is_broken(desk: Desk) -> None:
    await desk.save(BREAD, "bread", 1)
    await desk.conversions.set(HERE, "5MP", "hit", "bread", 2)
    await desk.save("2HP, 5HP", "bread", 3)
    sheet = await desk.sheet()
    assert cell_of(sheet, "5MP", "hit")[0] is CellState.BROKEN


async def test_whose_sheet_it_is_is_settled_or_asked(desk: Desk) -> None:
    sheets = desk.sheets()

    async def code_of(place: Any, character: str | None = None) -> ConversionRefusalCode | str:
        found = await sheets.of(place, character)
        return found.code if isinstance(found, ConversionRefusal) else found.character.name

    assert await code_of(HERE) is ConversionRefusalCode.NO_ROUTES
    assert await code_of(OTHER) is ConversionRefusalCode.WHOSE
    await desk.save("Mirrel: 5MP, 2MP", "hers", 1, OTHER)
    assert await code_of(OTHER) == "Mirrel Quay"
    await desk.save("Odrun: 5MP, 2MP", "his", 2, OTHER)
    assert await code_of(OTHER) is ConversionRefusalCode.WHOSE
    assert await code_of(OTHER, "odrun") == ODRUN
    assert await code_of(OTHER, "nobody") is ConversionRefusalCode.NO_CHARACTER


async def test_situations_are_offered(desk: Desk) -> None:
    assert desk.conversions.complete_situation(HERE, "")[:2] == ("hit", "counter hit")
    assert desk.conversions.complete_situation(HERE, "mea") == ("meaty",)
