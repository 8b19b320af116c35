"""What one process changes in a database that it shares, the others take up: each book that is held."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta

import pytest
from databases import new_on_server, server
from inline import ODRUN
from kept import edited, source_of
from processes import Process, process_on, tell
from stored import DRILL, NOW, tally

from bot.gamefiles import as_json, digest, game_of
from bot.results.coaching import Coaching
from bot.results.drills import DrillPlan, DrillStage, KeptDrill
from bot.results.job import Job
from bot.results.place import Owner, Place
from bot.results.tally import MemberSettings, ServerSettings
from bot.services.in_step import POST
from bot.storage import drills, editions, tallies
from bot.storage.errors import StorageError, told
from bot.storage.store import Store
from core.drills.drill import Scoring

pytestmark = pytest.mark.postgresql

HERE, THERE = 1, 2
"""Two servers: of the first the posts are the first process's to refresh, of the second the second's."""
WREN = Owner(THERE, 70)
COACH = Place(THERE, 20, 900)
PLAN = DrillPlan(DRILL, Scoring.TOTAL_CLEAN, 10, 300)
FASTER = {(ODRUN, "5MP", "startup"): "5"}
Two = tuple[Process, Process]


@pytest.fixture
async def two() -> AsyncIterator[Two]:
    """Two processes, each with a server of its own."""
    address = new_on_server("two")
    async with (
        process_on(address, lambda server_id: server_id == HERE, HERE) as one,
        process_on(address, lambda server_id: server_id == THERE, THERE) as other,
    ):
        yield one, other


async def use(process: Process, version: str) -> None:
    """Another version of Saltglass, used in the second server from now on."""
    source = edited(source_of("saltglass"), version, FASTER)
    async with process.store.write() as writing:
        edition = await editions.add(
            writing, THERE, "Saltglass", version, as_json(source), digest(source), WREN, NOW
        )
        await editions.set_current(writing, THERE, "Saltglass", edition.id)
    process.games.hold(THERE, "Saltglass", edition.id, game_of(source))


async def opened_drill(process: Process) -> KeptDrill:
    """A drill of the second server, opened by this process."""
    async with process.store.write() as writing:
        drill = await drills.add(
            writing, THERE, PLAN, 20, NOW, NOW + timedelta(days=7), weekly=False, opened_by=900
        )
        await drills.set_stage(writing, drill.id, DrillStage.OPEN)
    drill = replace(drill, stage=DrillStage.OPEN)
    process.watch.opened(drill)
    return drill


async def accepted(process: Process) -> Coaching:
    """Wren, coached by the coach of the second server."""
    asked = await process.coaching.ask(COACH, WREN.member_id, 1)
    assert isinstance(asked, Coaching)
    answered = await process.coaching.answer(Place(THERE, 20, WREN.member_id), asked.id, True, 2)
    assert isinstance(answered, Coaching)
    return answered


async def test_what_a_server_chooses_in_one_process_holds_in_the_other(two: Two) -> None:
    one, other = two
    await one.book.set_zone(COACH, "Asia/Tokyo")
    await other.heard()
    assert other.book.server(THERE) == ServerSettings(zone="Asia/Tokyo")
    await other.book.change_server(COACH, {"coach_role": 7})
    await one.heard()
    assert one.book.server(THERE) == ServerSettings(zone="Asia/Tokyo", coach_role=7)


async def test_what_a_member_chooses_in_direct_messages_holds_in_the_process_of_their_server(
    two: Two,
) -> None:
    one, other = two
    await one.book.set_member(WREN, MemberSettings(goal=0.7))
    await other.heard()
    assert other.book.member(WREN) == MemberSettings(goal=0.7)
    assert other.book.home(Place(None, 5, WREN.member_id)).server_id == THERE
    await other.privacy.erase(Place(THERE, 20, WREN.member_id))
    await one.heard()
    assert one.book.member(WREN) == MemberSettings()
    assert one.book.home(Place(None, 5, WREN.member_id)).server_id is None
    assert one.forgotten == [WREN]


async def test_who_is_a_student_is_known_in_the_other_process_and_so_is_the_end_of_it(two: Two) -> None:
    one, other = two
    coaching = await accepted(one)
    await other.heard()
    assert other.coaching.is_student(THERE, WREN.member_id)
    await one.coaching.end(COACH, coaching.id, 3)
    await other.heard()
    assert not other.coaching.is_student(THERE, WREN.member_id)


async def test_a_coach_who_is_erased_has_no_student_in_the_other_process_either(two: Two) -> None:
    one, other = two
    await accepted(other)
    await one.heard()
    assert one.coaching.is_student(THERE, WREN.member_id)
    await other.privacy.erase(COACH)
    await one.heard()
    assert not one.coaching.is_student(THERE, WREN.member_id)


async def test_a_server_s_new_version_of_a_game_answers_in_the_other_process(two: Two) -> None:
    one, other = two
    await use(one, "1.3")
    await other.heard()
    known = other.games.game(THERE, "Saltglass")
    assert known == one.games.game(THERE, "Saltglass")
    assert known is not None
    assert known.version == "1.3"
    assert other.changed == [(THERE, "Saltglass")]
    assert other.games.game(HERE, "Saltglass") != known


async def test_a_version_that_was_taken_up_is_not_taken_up_again_when_it_is_heard_of(two: Two) -> None:
    one, _ = two
    await use(one, "1.3")
    held = one.games.held(THERE, "Saltglass")
    await one.heard()
    assert one.games.held(THERE, "Saltglass") is held
    assert one.changed == [(THERE, "Saltglass")]


async def test_a_channel_s_game_is_the_same_in_the_other_process_and_may_be_taken_back(two: Two) -> None:
    one, other = two
    await one.games.choose_for(COACH.owner, 20, "Kitewind")
    await other.heard()
    assert other.games.channel_game(THERE, 20) == "Kitewind"
    await one.games.choose_for(COACH.owner, 20, None)
    await other.heard()
    assert other.games.channel_game(THERE, 20) is None


async def test_a_job_that_one_process_adds_rings_in_the_other_at_its_moment_and_when_it_moves(
    two: Two,
) -> None:
    one, other = two
    due_at = NOW + timedelta(hours=3, microseconds=123_457)
    for moved in (timedelta(), timedelta(hours=-1)):
        async with one.store.write() as writing:
            await one.jobs.add(writing, Job("note 1", "note", due_at + moved))
        await other.heard()
        assert other.rung == [due_at + moved]
        other.rung.clear()


async def test_a_tally_of_another_process_s_server_has_the_post_refreshed_there_and_not_here(
    two: Two,
) -> None:
    one, other = two
    drill = await opened_drill(other)
    await one.heard()
    async with one.store.write() as writing:
        await tallies.add(writing, WREN, tally(subject=DRILL), 5, NOW)
    one.watch.changed(WREN, DRILL)
    await other.touched(drill.id)
    assert (one.posts, other.posts) == ([], [drill.id])


async def test_a_tally_of_one_s_own_server_has_the_post_refreshed_here_and_not_there(two: Two) -> None:
    one, other = two
    drill = await opened_drill(one)
    await other.heard()
    other.watch.changed(WREN, DRILL)
    await one.heard()
    assert (one.posts, other.posts) == ([], [drill.id])


async def test_who_hears_of_a_post_of_another_process_s_server_tells_nobody(two: Two) -> None:
    one, other = two
    told_on: list[tuple[int, int]] = []
    one.watch.tell_with(lambda *what: told_on.append(what))
    tell(server().url("two"), f"{POST} {THERE} 5")
    await one.heard()
    await other.heard()
    assert (one.posts, other.posts, told_on) == ([], [5], [])


async def test_a_drill_that_is_over_is_no_longer_touched_from_the_other_process(two: Two) -> None:
    one, other = two
    drill = await opened_drill(one)
    await other.heard()
    async with one.store.write() as writing:
        await drills.set_stage(writing, drill.id, DrillStage.CLOSED)
    await other.heard()
    other.watch.changed(WREN, DRILL)
    assert other.posts == []


async def test_a_server_that_one_process_forgets_is_forgotten_in_the_other(two: Two) -> None:
    one, other = two
    await one.book.set_zone(COACH, "Asia/Tokyo")
    await one.book.set_member(WREN, MemberSettings(goal=0.7))
    await accepted(one)
    await opened_drill(one)
    await use(one, "1.3")
    await one.games.choose_for(COACH.owner, 20, "Kitewind")
    await other.heard()
    await use(one, "1.4")
    await other.heard()
    assert await other.games.version(THERE, "Saltglass", "1.3") is not None
    await one.leaving.forget(THERE)
    await other.heard()
    assert other.book.server(THERE) == ServerSettings()
    assert other.book.member(WREN) == MemberSettings()
    assert not other.coaching.is_student(THERE, WREN.member_id)
    assert other.games.game(THERE, "Saltglass") is other.games.host_games["Saltglass"]
    assert other.games.known(THERE, "Saltglass", "1.3") is None
    assert other.games.channel_game(THERE, 20) is None
    other.posts.clear()
    other.watch.changed(WREN, DRILL)
    assert other.posts == []


async def test_two_processes_that_begin_at_once_with_a_new_version_of_the_host_s_keep_it_once() -> None:
    newer = edited(source_of("saltglass"), "7.7", {(ODRUN, "5MP", "startup"): "9"})
    address = new_on_server("begin")
    async with process_on(address, saltglass=newer) as one:
        kept = one.games.edition_of(None, "Saltglass")
        async with process_on(address, saltglass=newer) as other:
            assert other.games.edition_of(None, "Saltglass") == kept
            # As one that looked before the first had kept it.
            async with other.store.write() as writing:
                late = await other.games._add_host(writing, "Saltglass", newer, digest(newer))
    assert late.edition_id == kept


async def test_why_nothing_is_heard_is_one_sentence_when_the_server_takes_no_connection() -> None:
    address = new_on_server("ended")
    store = Store(address)
    await store.open()
    try:
        server().run('DROP DATABASE "ended" WITH (FORCE)')
        with pytest.raises(StorageError, match="does not exist; make it"), told(address):
            await store.listen()
    finally:
        await store.close()
