"""A route as a practice drill."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from demo import GAMES, demo
from inline import HERE, ODRUN, Bench, InlineWorker, bench_at, link, route

from bot.limits import LABEL_CHARACTERS
from bot.ports import WorkerError
from bot.render.card import as_text
from bot.render.route_drill import drill_card, piece_label
from bot.results.playing import PieceKind, RouteDrill, Unplayable
from bot.results.route import KnownHands, OpenRoute
from bot.results.tally import MemberSettings, SubjectKind, Tally
from bot.services.opening import terminal_route
from bot.services.route_drill import MOST_PIECES, DrillService, chances_of, parts_of
from bot.services.subjects import found_of
from bot.storage import tallies
from core.learning.plan import REPS_CAP
from core.notation import book_of
from core.routes import Start, usual_check

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
ROUTE = "5MP, 2MP xx 236HP"
LONG = "5MP, 5MP, 2MK xx 214KK xx 214214HK"
ROUTES = [
    ("saltglass", ODRUN, ROUTE),
    ("saltglass", ODRUN, LONG),
    ("saltglass", "Garrow Thrupp", "5HP xx 214HP, 5MP xx 41236PP xx 214214HP"),
    ("saltglass", "Ninnet Sprae", "4HP, 5MP xx 214PP xx 214214HP, 2HK"),
    ("kitewind", "Marrable Twill", "5L > 5M > 5H xx 236M xx 63214X"),
    ("kitewind", "Ossily Fenn", "2M > 2X, j.M > j.H"),
    ("kitewind", "Ossily Fenn", "2M > 2X, 66, 5L"),
    ("kitewind", "Marrable Twill", "5L x3"),
]


def opened(game: str, who: str, text: str, start: Start | None = None) -> OpenRoute:
    read = demo(game)
    character = next(one for one in read.characters if one.name == who)
    return terminal_route(read, character, book_of(read, character).route(text), start)


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


def service(bench: Bench, worker: InlineWorker | None = None) -> DrillService:
    return DrillService(bench.store, bench.book, bench.clock, worker or InlineWorker())


async def drill(bench: Bench, asked: OpenRoute, event_id: int = 1) -> RouteDrill:
    made = await service(bench).of(HERE, asked, event_id)
    assert isinstance(made, RouteDrill)
    return made


@pytest.mark.parametrize(("game", "who", "text"), ROUTES)
async def test_presses_alone_come_first_then_joined_ones_then_the_whole(
    bench: Bench, game: str, who: str, text: str
) -> None:
    asked = opened(game, who, text)
    pieces = (await drill(bench, asked)).pieces
    kinds = [piece.kind for piece in pieces]
    assert kinds == sorted(kinds, key=list(PieceKind).index)
    assert kinds[-1] is PieceKind.WHOLE
    assert 2 <= len(pieces) <= MOST_PIECES
    assert len({piece.subject for piece in pieces}) == len(pieces)
    assert len({piece.subject_id for piece in pieces}) == len(pieces)


@pytest.mark.parametrize(("game", "who", "text"), ROUTES)
async def test_every_piece_works_by_itself_and_can_be_logged(
    bench: Bench, game: str, who: str, text: str
) -> None:
    for piece in (await drill(bench, opened(game, who, text))).pieces:
        found = found_of(bench.desk, 1, piece.subject)
        assert found is not None
        assert found.character is not None
        assert found.route is not None
        assert usual_check(found.game, found.character, found.route).works, piece.subject.what
        async with bench.store.read() as reading:
            kept = await tallies.subject_of(reading, HERE.owner, piece.subject_id)
        assert kept == piece.subject


@pytest.mark.parametrize("weakest", [1, 2])
def test_the_link_that_lands_least_often_comes_first(weakest: int) -> None:
    """Both links are presses 1 and 2; the cancels are not asked, however often they drop."""
    asked = opened("saltglass", ODRUN, LONG)
    chances = tuple(0.1 if number == weakest else 0.5 if number in (1, 2) else 0.01 for number in range(1, 5))
    first, second, *_ = parts_of(asked.check, chances)
    assert (first.first, first.last) == (weakest - 1, weakest)
    assert second.last == 3 - weakest


def test_a_press_that_is_sure_is_not_practised_alone() -> None:
    asked = opened("saltglass", ODRUN, LONG)
    parts = parts_of(asked.check, (0.99, 0.7, 0.99, 0.99))
    assert [part.last for part in parts if part.kind is PieceKind.ALONE] == [2]


def test_the_chances_are_those_of_the_hands() -> None:
    asked = opened("saltglass", ODRUN, ROUTE)
    steady = chances_of(asked.check, asked.hands.spread.times(0.5), 0.0)
    early = chances_of(asked.check, asked.hands.spread, -4.0)
    usual = chances_of(asked.check, asked.hands.spread, 0.0)
    assert steady is not None
    assert early is not None
    assert usual is not None
    assert early[0] < usual[0] < steady[0]


async def test_a_link_alone_is_the_link_of_the_log(bench: Bench) -> None:
    first, *_ = (await drill(bench, opened("saltglass", ODRUN, ROUTE))).pieces
    assert first.subject == link("5MP, 2MP")
    kept = await bench.log(Tally(link("5MP, 2MP"), NOW, 10, 7))
    assert kept.subject_id == first.subject_id


async def test_the_whole_is_the_route_of_the_log_and_carries_the_chance_of_all_its_presses(
    bench: Bench,
) -> None:
    made = await drill(bench, opened("saltglass", ODRUN, ROUTE))
    alone, whole = made.pieces
    assert whole.subject == route(ROUTE)
    assert whole.subject.kind is SubjectKind.ROUTE
    assert alone.chance is not None
    assert whole.chance is not None
    assert 0 < whole.chance <= alone.chance < 1


async def test_the_same_event_twice_numbers_the_pieces_once(bench: Bench) -> None:
    asked = opened("saltglass", ODRUN, ROUTE)
    assert await drill(bench, asked, 7) == await drill(bench, asked, 7)


async def test_reps_made_today_count_against_the_day_s_cap(bench: Bench) -> None:
    asked = opened("saltglass", ODRUN, LONG)
    usual = await drill(bench, asked)
    assert not usual.cut
    await bench.log(Tally(link("5MP, 2MP"), NOW - timedelta(days=2), REPS_CAP, 9))
    assert (await drill(bench, asked)).pieces == usual.pieces
    await bench.log(Tally(link("5MP, 2MP"), NOW - timedelta(hours=1), REPS_CAP - 5, 9))
    few = await drill(bench, asked)
    assert (few.cut, sum(piece.reps for piece in few.pieces)) == (True, 5)
    assert f"At most {REPS_CAP} reps" in as_text(drill_card(few))
    await bench.log(Tally(link("5MP, 2MP"), NOW - timedelta(hours=1), 5, 5))
    none = await drill(bench, asked)
    assert none.pieces == ()
    assert drill_card(none).lead.startswith("Rest today")
    assert "Stop on pain or numbness" in as_text(drill_card(none))


async def test_a_route_that_does_not_work_makes_no_drill(bench: Bench) -> None:
    asked = opened("saltglass", ODRUN, "5LP, 5MP xx 236HP")
    assert await service(bench).of(HERE, asked, 1) == Unplayable(asked)
    async with bench.store.read() as reading:
        assert await tallies.subject_of(reading, HERE.owner, 1) is None


async def test_without_a_worker_the_pieces_come_in_the_route_s_order_without_chances(bench: Bench) -> None:
    class Dead(InlineWorker):
        async def run(self, *_: Any, **__: Any) -> Any:
            raise WorkerError("It died.")

    made = await service(bench, Dead()).of(HERE, opened("saltglass", ODRUN, LONG), 1)
    assert isinstance(made, RouteDrill)
    assert made.pieces[0].subject.what == "5MP, 5MP"
    assert all(piece.chance is None for piece in made.pieces)
    assert "%" not in "".join(drill_card(made).groups[0].lines)


async def said(bench: Bench, asked: OpenRoute) -> str:
    return as_text(drill_card(await drill(bench, asked)))


async def test_the_card_has_a_goal_breaks_the_speeds_and_the_caution_on_hands(bench: Bench) -> None:
    text = await said(bench, opened("saltglass", ODRUN, ROUTE))
    assert "when 8 of 10 land; the drill is done when the whole does so on two different days" in text
    assert "After every 10 minutes of work a break of 1 minute" in text
    assert "from the click track at 50 % to 75 % to full speed" in text
    assert "trains your hands only if the game runs slowly too" in text
    assert "Stop on pain or numbness, and see a doctor or hand therapist if it stays." in text


async def test_the_goal_is_the_member_s_own(bench: Bench) -> None:
    bench.book.hold(HERE.owner, MemberSettings(goal=0.9))
    assert "when 9 of 10 land" in await said(bench, opened("saltglass", ODRUN, ROUTE))


async def test_a_cancel_is_decided_on_the_hit_with_a_dummy_that_blocks_at_random(bench: Bench) -> None:
    """Common practice, no source: a cancel is confirmed against a dummy that blocks at random."""
    text = await said(bench, opened("saltglass", ODRUN, ROUTE))
    assert "Let the dummy block at random: go on into 236HP only when 2MP hits." in text
    assert "at random" not in await said(bench, opened("saltglass", ODRUN, "5MP, 2MP"))


async def test_the_hit_state_of_the_starter_and_the_gauge_that_is_spent_are_set_up(bench: Bench) -> None:
    text = await said(bench, opened("saltglass", ODRUN, "counter hit 5LP, 5MP xx 236PP"))
    assert "in the state “counter hit” on the first hit" in text
    assert "Have 40 salt at the start; 120 is full." in text


async def test_typical_hands_are_called_so_and_one_s_own_are_one_s_own(bench: Bench) -> None:
    asked = opened("saltglass", ODRUN, ROUTE)
    assert "with typical hands" in await said(bench, asked)
    own = replace(asked, hands=KnownHands(asked.hands.spread, 0.0, 40))
    text = await said(bench, own)
    assert "with your hands" in text
    assert "typical" not in text


async def test_each_piece_has_a_button_that_names_it(bench: Bench) -> None:
    for game, who, text in ROUTES:
        for piece in (await drill(bench, opened(game, who, text))).pieces:
            label = piece_label(piece)
            assert label.startswith("Log ")
            assert len(label) <= LABEL_CHARACTERS
    assert {game for game, _, _ in ROUTES} == set(GAMES)


async def test_a_drill_of_one_press_names_no_next_piece(bench: Bench) -> None:
    text = await said(bench, opened("saltglass", ODRUN, "5MP, 2MP"))
    assert "When 8 of 10 land on two different days." in text
    assert "next piece" not in text
