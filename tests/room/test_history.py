"""The invented practice logs of the room: plausible, always the same, true to the hands behind them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import pairwise
from pathlib import Path

import pytest
from demo import demo
from inline import HandClock, InlineWorker, desk_with
from stored import opened

from bot.results.conversion import Question, Sheet
from bot.results.finding import NextUp
from bot.results.place import Owner, Place
from bot.results.practice import AllTiming, LinkTiming, Overview, PlannedSession, RouteTiming, SubjectProgress
from bot.results.tally import KeptTally, MemberSettings, ServerSettings, SubjectKind, Tally
from bot.room.community import read_community
from bot.room.history import Player, log_of, read_history, write_history
from bot.room.world import BEGIN
from bot.services.desk import AskDesk
from bot.services.evidence import practice, timing_tally
from bot.services.hands import TimingService
from bot.services.opening import RouteOpener
from bot.services.plan import PlanService
from bot.services.progress import ProgressService
from bot.services.quiz import QuizService
from bot.services.route_finder import RouteFinder
from bot.services.settings import SettingsBook
from bot.services.sheets import SheetService
from bot.services.subjects import Found, read_subject, windows_of
from bot.storage import privacy, settings, tallies
from bot.storage.store import Store
from core.learning.calendar import Standing
from core.learning.contexts import GapCode, training_to_match
from core.learning.rates import ENOUGH_TRIES
from core.learning.tally import Context
from core.model import Means
from core.notation import format_route
from core.timing import Diagnosis, Fit, Tendency, TooFew, Window, fit, tap_advice
from core.verdict import Answer

GAMES = {game.name: game for game in map(demo, ("saltglass", "kitewind"))}
HISTORY, COMMUNITY = read_history(), read_community()
PLAYERS = {player.name: player for player in HISTORY.players}
LOGS = {player.name: log_of(player, HISTORY, GAMES[player.game]) for player in HISTORY.players}
IDS = {
    member.name: Owner(server_id, 100 * server_id + member_id)
    for server_id, server in enumerate(COMMUNITY.servers, 1)
    for member_id, member in enumerate(server.members)
}
UPPER_FIELD = IDS["Sabine"].server_id
everybody = pytest.mark.parametrize("player", HISTORY.players, ids=lambda player: player.name)


async def desk_of(store: Store) -> tuple[AskDesk, SettingsBook]:
    """What the services stand on, with the settings that are stored."""
    book = SettingsBook(store, HandClock(BEGIN))
    await book.load()
    return desk_with(store, HandClock(BEGIN), book, GAMES), book


def place_of(name: str) -> Place:
    return Place(IDS[name].server_id, 7, IDS[name].member_id)


async def found(desk: AskDesk, player: Player, tally: Tally) -> Found:
    """The subject as the services read it when its notation is typed."""
    what, drills = tally.subject.what, (tally.subject.what,)
    is_drill = tally.subject.kind is SubjectKind.DRILL
    read = read_subject(desk, place_of(player.name), what, drills=drills if is_drill else ())
    assert isinstance(read, Found), (what, read)
    return read


async def fitted(desk: AskDesk, player: Player) -> Fit | TooFew:
    """The player's hands, as the log of their links gives them away."""
    made = []
    for tally in LOGS[player.name]:
        if tally.subject.kind is SubjectKind.LINK:
            ((_, window),) = windows_of(await found(desk, player, tally))
            assert isinstance(window, Window)
            made.append(timing_tally(tally, window, BEGIN))
    return fit(made)


@pytest.fixture
async def desk(tmp_path: Path) -> AskDesk:
    """A desk in whose second server Kitewind is played, and nobody has a character."""
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            await settings.set_server(writing, UPPER_FIELD, ServerSettings("Kitewind"))
            for player in HISTORY.players:
                await settings.set_member(writing, IDS[player.name], MemberSettings(player.character))
        return (await desk_of(store))[0]


def test_the_same_seed_gives_the_same_log_and_another_seed_another() -> None:
    tamsin = PLAYERS["Tamsin"]
    assert log_of(tamsin, HISTORY, GAMES["Saltglass"]) == LOGS["Tamsin"]
    other = replace(HISTORY, seed=HISTORY.seed + 1)
    assert log_of(tamsin, other, GAMES["Saltglass"]) != LOGS["Tamsin"]


def test_every_player_is_somebody_of_the_community_and_plays_their_servers_game() -> None:
    assert set(PLAYERS) < set(COMMUNITY.member_names)
    for server in COMMUNITY.servers:
        for member in server.members:
            if member.name in PLAYERS:
                assert PLAYERS[member.name].game == (server.game or "Saltglass")
    assert not {"Marlow", "Lorne"} & set(PLAYERS)  # an empty log can be looked at too


@everybody
def test_practice_lies_in_order_before_the_room_opens_and_ends_in_the_last_days(player: Player) -> None:
    moments = [tally.made_at for tally in LOGS[player.name]]
    assert all(before < after for before, after in pairwise(moments))
    assert moments[-1] < BEGIN
    assert date(2025, 12, 29) <= moments[-1].date() <= date(2025, 12, 31)
    assert player.since <= moments[0].date()
    for begin, end in player.away:
        assert not any(begin <= moment.date() <= end for moment in moments)


def test_the_room_has_months_of_tallies_with_everything_that_one_can_note() -> None:
    everything = [tally for log in LOGS.values() for tally in log]
    assert 500 <= len(everything) <= 700
    assert 180 <= len(LOGS["Tamsin"]) <= 240
    sided = [tally for tally in everything if tally.drops.early or tally.drops.late]
    bare = [tally for tally in everything if not tally.drops.total and tally.landed < tally.tries]
    for some in (
        sided,
        bare,
        [tally for tally in everything if tally.gap_frames],
        [tally for tally in everything if tally.presses == 2],
        [tally for tally in everything if tally.note],
        [tally for tally in everything if tally.drops.too_far],
        [tally for tally in everything if tally.drops.motion_failed],
    ):
        assert 10 <= len(some) <= len(everything) / 2
    assert {tally.context for tally in everything} == set(Context)


@everybody
async def test_every_subject_is_written_as_the_services_write_it_and_each_link_has_a_window(
    desk: AskDesk, player: Player
) -> None:
    practised = {tally.subject: tally for tally in LOGS[player.name]}
    assert {subject.what for subject in practised} == {row.what for row in player.practice}
    for subject, tally in practised.items():
        read = await found(desk, player, tally)
        assert read.subject == subject
        for step, window in windows_of(read):
            assert isinstance(window, Window), (subject.what, step)
    for row in player.routes:
        saved = read_subject(desk, place_of(player.name), row["notation"])
        assert isinstance(saved, Found)
        assert saved.subject in practised
        assert saved.subject.what == row["notation"]


async def test_tamsin_trains_links_where_a_second_press_is_right_and_where_it_is_wrong(desk: AskDesk) -> None:
    advice, frames = set(), set()
    for tally in LOGS["Tamsin"]:
        read = await found(desk, PLAYERS["Tamsin"], tally)
        if tally.subject.kind is SubjectKind.LINK and read.route and read.character:
            ((_, window),) = windows_of(read)
            assert isinstance(window, Window)
            second = read.route.steps[1].move
            advice.add(tap_advice(read.game, read.character, second, Means.LINK, window).answer)
            frames.add(window.frames)
    assert advice == {Answer.YES, Answer.NO}
    assert {2, 4} <= frames


@pytest.mark.parametrize("name", ["Tamsin", "Ivo", "Oskar", "Sabine"])
async def test_the_fit_finds_the_bias_that_the_log_was_drawn_with(desk: AskDesk, name: str) -> None:
    hands = await fitted(desk, PLAYERS[name])
    assert isinstance(hands, Fit)
    assert hands.bias_frames.value == pytest.approx(PLAYERS[name].bias_frames, abs=0.2)
    assert hands.bias_frames.low < PLAYERS[name].bias_frames < hands.bias_frames.high
    narrowest, widest = sorted(PLAYERS[name].spread)
    assert narrowest * 0.9 < hands.scale.value < widest * 1.1


async def test_tamsin_is_surely_early_and_ivo_surely_late(desk: AskDesk) -> None:
    tamsin, ivo = await fitted(desk, PLAYERS["Tamsin"]), await fitted(desk, PLAYERS["Ivo"])
    assert isinstance(tamsin, Fit)
    assert isinstance(ivo, Fit)
    assert tamsin.bias_frames.high < 0 < ivo.bias_frames.low


def test_what_tamsin_lands_alone_she_drops_in_matches_and_oskar_does_not() -> None:
    def gap(name: str, what: str) -> GapCode:
        kept = [KeptTally(0, 1, tally) for tally in LOGS[name] if tally.subject.what == what]
        return training_to_match(map(practice, kept)).code

    assert gap("Tamsin", "5MP, 2MP") is GapCode.DROPS_IN_MATCHES
    assert gap("Oskar", "6HP, 5LP") is GapCode.NO_REAL_GAP


@pytest.mark.parametrize("name", ["Tamsin", "Oskar", "Sabine"])
def test_training_lands_more_often_in_the_last_third_than_in_the_first(name: str) -> None:
    what = PLAYERS[name].practice[0].what
    log = [tally for tally in LOGS[name] if tally.subject.what == what and tally.context is Context.TRAINING]
    third = len(log) // 3
    early, late = (
        sum(tally.landed for tally in part) / sum(tally.tries for tally in part)
        for part in (log[:third], log[-third:])
    )
    assert early < late


def test_brindle_has_tried_something_too_few_times_to_tell() -> None:
    tries: dict[str, int] = {}
    for tally in LOGS["Brindle"]:
        tries[tally.subject.what] = tries.get(tally.subject.what, 0) + tally.tries
    assert min(tries.values()) < ENOUGH_TRIES <= max(tries.values())


async def test_all_of_it_is_written_in_one_transaction_and_nothing_of_marlow(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, write = [], Store.write

    def counted(store: Store, event_id: int | None = None):  # type: ignore[no-untyped-def]
        begun.append(event_id)
        return write(store, event_id)

    monkeypatch.setattr(Store, "write", counted)
    async with opened(tmp_path) as store:
        await write_history(store, IDS, GAMES)
        assert begun == [None]
        async with store.read() as reading:
            for name, owner in IDS.items():
                kept = await privacy.everything(reading, owner)
                assert tuple(one.tally for one in kept.tallies) == LOGS.get(name, ())
                assert not kept.undone
                player = PLAYERS.get(name)
                rows = player.routes if player else ()
                assert {route.name: route.tags for route in kept.routes} == {
                    row["name"]: tuple(row.get("tags", ())) for row in rows
                }
                assert {route.name for route in kept.shared} == {
                    row["name"] for row in rows if "shared" in row
                }
                assert {(one.route.name, one.situation) for one in kept.conversions} == {
                    (row["name"], situation) for row in rows for situation in row.get("kept_for", ())
                }
                if player:
                    last = LOGS[name][-1].setup
                    assert kept.settings == MemberSettings(
                        player.character if player.chose_character else None, player.goal, last
                    )
                    totals = await tallies.totals(reading, owner, player.game)
                    assert sum(total.tries for total in totals) == sum(one.tries for one in LOGS[name])
            assert len(PLAYERS["Tamsin"].routes) == 2


async def test_what_is_kept_for_a_situation_works_there_and_the_quiz_can_ask(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await write_history(store, IDS, GAMES)
        desk, book = await desk_of(store)
        worker, clock = InlineWorker(), HandClock(BEGIN)
        timing = TimingService(store, desk, book, clock, worker)
        sheet = await SheetService(store, desk, timing, worker).of(place_of("Tamsin"))
        assert isinstance(sheet, Sheet)
        assert (sheet.filled, sheet.broken) == (3, 0)
        assert sheet.proposals
        asked = await QuizService(store, desk, clock).ask(place_of("Tamsin"), 1)
        assert isinstance(asked, Question)


async def test_tamsin_owns_the_easy_link_alone_and_has_one_step_up_from_it(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await write_history(store, IDS, GAMES)
        desk, book = await desk_of(store)
        worker, clock, place = InlineWorker(), HandClock(BEGIN), place_of("Tamsin")
        timing = TimingService(store, desk, book, clock, worker)
        opener = RouteOpener(store, desk, timing)
        finder = RouteFinder(store, desk, book, clock, timing, opener, worker)
        up = await finder.next(place, "5MP", 1)
        assert isinstance(up, NextUp)
        assert (up.owned, len(up.step.new)) == (1, 1)
        assert up.step.builds_on is not None
        assert format_route(up.step.builds_on) == "5MP, 5LP"
        progress = ProgressService(store, desk, book, clock)
        for what, owned in (("5MP, 5LP", True), ("5MP, 2MP", False)):
            told = await progress.of(place, what)
            assert isinstance(told, SubjectProgress)
            assert told.ownership.owned is owned


async def test_the_services_have_something_to_say_of_everything_that_is_practised(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await write_history(store, IDS, GAMES)
        async with store.write() as writing:
            await settings.set_server(writing, UPPER_FIELD, ServerSettings("Kitewind"))
        desk, book = await desk_of(store)
        clock = HandClock(datetime(2026, 1, 1, 12, tzinfo=UTC))
        timing = TimingService(store, desk, book, clock, InlineWorker())
        progress = ProgressService(store, desk, book, clock)
        plan = PlanService(store, desk, book, clock)
        standing = {}
        for name, player in PLAYERS.items():
            place = place_of(name)
            everything, overview = await timing.of(place, None), await progress.of(place, None)
            assert isinstance(everything, AllTiming)
            assert isinstance(overview, Overview)
            standing[name] = overview.days.standing
            assert isinstance(await plan.of(place, 20), PlannedSession)
            for row in player.practice:
                called = row.what if row.drill else f"{player.character}: {row.what}"
                assert isinstance(await progress.of(place, called), SubjectProgress)
                if row.drill is None:
                    assert isinstance(await timing.of(place, called), LinkTiming | RouteTiming)
        assert set(standing.values()) == {Standing.OPEN, Standing.RESTING}
        assert isinstance(await timing.of(place_of("Tamsin"), "bread and butter"), RouteTiming)
        link = await timing.of(place_of("Tamsin"), "5MP, 2MP")
        assert isinstance(link, LinkTiming)
        assert isinstance(link.diagnosis, Diagnosis)
        assert link.diagnosis.tendency is Tendency.EARLY
        assert link.diagnosis.two_advised.answer is Answer.YES
