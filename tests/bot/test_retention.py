"""How long things are kept, and that what is older goes without a trace in what is told."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from explained import scans, statements_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from inline import HERE, Bench, bench_at, link, route
from sqlalchemy import func, insert, select

from bot.results.audit import Deed
from bot.results.place import Place
from bot.results.tally import Drops, KeptTally, Tally
from bot.services.audit import AuditService
from bot.services.jobs import JobService
from bot.services.retention import JOB, RetentionService
from bot.storage import audit, posts, retention, tallies, uploads
from bot.storage.schema import drill, drill_tally, post, tally
from core.learning.tally import Context

NOW = datetime(2026, 6, 1, 20, tzinfo=UTC)
DAY = timedelta(days=1)
WHAT = (link("5MP, 2MP"), route("5MP, 2MP xx 236HP"))
THERE = Place(2, 10, HERE.member_id)


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
def jobs(bench: Bench) -> JobService:
    return JobService(bench.store, bench.clock)


@pytest.fixture
def service(bench: Bench, jobs: JobService) -> RetentionService:
    return RetentionService(bench.store, bench.book, jobs, bench.clock)


async def logged(bench: Bench, days_ago: int, place: Place = HERE, **others: Any) -> KeptTally:
    """A tally that was made so many days ago."""
    given = {"subject": WHAT[0], "tries": 10, "landed": 7, "drops": Drops(early=2, late=1)} | others
    return await bench.log(Tally(made_at=NOW - days_ago * DAY, **given), place.owner)


async def ids(bench: Bench) -> list[int]:
    """The tallies that are there, those taken out of the log too."""
    async with bench.store.read() as reading:
        return list(await reading.connection.scalars(select(tally.c.id).order_by(tally.c.id)))


async def test_tallies_are_kept_for_ever_where_nothing_is_chosen(
    bench: Bench, service: RetentionService
) -> None:
    await logged(bench, 4_000)
    assert await service.prune() == 0
    assert len(await ids(bench)) == 1


async def test_what_is_older_goes_also_what_was_taken_out_and_nothing_else(
    bench: Bench, service: RetentionService
) -> None:
    await bench.undo(await logged(bench, 91))
    await logged(bench, 91)
    kept = [await logged(bench, 89), await logged(bench, 0)]
    elsewhere = await logged(bench, 91, THERE)
    assert await service.older(HERE, 90) == 2
    await service.keep(HERE, 90, 1)
    assert await service.prune() == 2
    assert await ids(bench) == [*(one.id for one in kept), elsewhere.id]
    assert await service.prune() == 0


async def test_a_tally_of_exactly_so_many_days_is_kept(bench: Bench, service: RetentionService) -> None:
    await logged(bench, 30)
    await service.keep(HERE, 30, 1)
    assert await service.prune() == 0


TALLIES = st.lists(
    st.tuples(
        st.integers(0, 200),
        st.sampled_from(WHAT),
        st.sampled_from([Context.TRAINING, Context.RANKED]),
        st.integers(0, 7),
        st.booleans(),
    ),
    max_size=12,
)


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(made=TALLIES)
async def test_the_running_sums_are_those_of_the_tallies_that_are_left(
    tmp_path_factory: pytest.TempPathFactory, made: list[tuple[int, Any, Context, int, bool]]
) -> None:
    async with (
        bench_at(tmp_path_factory.mktemp("sums"), NOW) as bench,
        bench_at(tmp_path_factory.mktemp("left"), NOW) as left,
    ):
        service = RetentionService(bench.store, bench.book, JobService(bench.store, bench.clock), bench.clock)
        for days, subject, context, landed, undone in made:
            for one in (bench, left) if days <= 100 else (bench,):
                kept = await logged(one, days, subject=subject, context=context, landed=landed)
                if undone:
                    await one.undo(kept)
        await service.keep(HERE, 100, 1)
        await service.prune()

        async def sums(one: Bench) -> set[tuple[Any, ...]]:
            async with one.store.read() as reading:
                found = await tallies.totals(reading, HERE.owner, "Saltglass")
            return {(x.subject, x.context, x.tallies, x.tries, x.landed, x.early, x.late) for x in found}

        assert await sums(bench) == await sums(left)


async def test_what_a_drill_knows_of_an_old_tally_goes_with_it(
    bench: Bench, service: RetentionService
) -> None:
    kept = await logged(bench, 91)
    async with bench.store.write() as writing:
        plan = {"game": "Saltglass", "character": "", "kind": "link", "what": "x", "scoring": "best-tally"}
        row = plan | {"at_least": 1, "daily_cap": 1, "goal": "", "dummy": "", "weekly": False}
        row |= {"server_id": 1, "channel_id": 1, "opens_at": NOW, "closes_at": NOW, "stage": "closed"}
        await writing.connection.execute(insert(drill), row | {"id": 1})
        row = {"tally_id": kept.id, "drill_id": 1, "reason": ""}
        await writing.connection.execute(insert(drill_tally), row)
    await service.keep(HERE, 90, 1)
    assert await service.prune() == 1
    async with bench.store.read() as reading:
        assert await reading.connection.scalar(select(func.count()).select_from(drill_tally)) == 0


async def test_a_days_work_broken_off_is_done_by_the_next_one(
    bench: Bench, service: RetentionService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.services.retention.AT_ONCE", 2)
    for _ in range(5):
        await logged(bench, 91)
    await service.keep(HERE, 90, 1)
    prune, calls = retention.prune_tallies, 0

    async def once(*given: Any) -> int:
        nonlocal calls
        calls += 1
        if calls > 1:
            raise RuntimeError("the process dies")
        return await prune(*given)

    monkeypatch.setattr(retention, "prune_tallies", once)
    with pytest.raises(RuntimeError):
        await service.prune()
    assert len(await ids(bench)) == 3
    monkeypatch.setattr(retention, "prune_tallies", prune)
    assert await service.prune() == 3
    assert await ids(bench) == []


@pytest.mark.parametrize("days", [-1, 0, 29, 3_651])
async def test_fewer_or_more_days_cannot_be_chosen(
    bench: Bench, service: RetentionService, days: int
) -> None:
    with pytest.raises(ValueError, match="30 to 3650"):
        await service.keep(HERE, days, 1)
    assert bench.book.keep_days() == {}


async def test_the_choice_outlives_a_restart_is_noted_once_and_can_be_taken_back(
    bench: Bench, service: RetentionService
) -> None:
    for _ in range(2):
        await service.keep(HERE, 90, 1)
    await bench.book.load()
    assert bench.book.keep_days() == {HERE.server_id: 90}
    await service.keep(HERE, None, 2)
    assert bench.book.keep_days() == {}
    noted = (await AuditService(bench.store).page(HERE)).entries
    assert [(one.deed, one.what) for one in noted] == [
        (Deed.SETTING, "keep_days="),
        (Deed.SETTING, "keep_days=90"),
    ]


async def test_what_moderators_did_is_kept_for_a_year(bench: Bench, service: RetentionService) -> None:
    async with bench.store.write() as writing:
        for days in (366, 364):
            await audit.note(writing, HERE.owner, NOW - days * DAY, Deed.DRILL_STOPPED)
    await service.prune()
    noted = (await AuditService(bench.store).page(HERE)).entries
    assert [one.made_at for one in noted] == [NOW - 364 * DAY]


async def test_old_notices_are_forgotten_and_posts_of_drills_are_not(
    bench: Bench, service: RetentionService
) -> None:
    async with bench.store.write() as writing:
        for key, days in (
            ("notice:seen:1:1", 31),
            ("notice:seen:2:1", 29),
            ("drill:1", 300),
            ("recap:1", 300),
        ):
            await posts.reserve(writing, key, 1, NOW - days * DAY)
    await service.prune()
    async with bench.store.read() as reading:
        left = set(await reading.connection.scalars(select(post.c.key)))
    assert left == {"notice:seen:2:1", "drill:1", "recap:1"}


async def test_files_that_nobody_confirmed_are_forgotten_after_a_day(
    bench: Bench, service: RetentionService
) -> None:
    async with bench.store.write() as writing:
        for place, hours in ((HERE, 25), (THERE, 23)):
            sent = uploads.KeptUpload(0, (), {}, None, "Saltglass", "", NOW - timedelta(hours=hours))
            await uploads.put(writing, place.owner, sent)
    await service.prune()
    async with bench.store.read() as reading:
        left = [await uploads.of_owner(reading, place.owner) for place in (HERE, THERE)]
    assert [one is not None for one in left] == [False, True]


async def test_it_is_due_once_a_month_where_all_is_kept_for_ever(
    service: RetentionService, jobs: JobService
) -> None:
    await service.plan()
    assert await jobs.next_due() == datetime(2026, 7, 1, 4, tzinfo=UTC)


async def test_it_is_due_each_night_however_often_it_is_planned(
    bench: Bench, service: RetentionService, jobs: JobService
) -> None:
    await service.keep(HERE, 90, 1)
    for _ in range(3):
        await service.plan()
    bench.clock.time = NOW + DAY
    claimed, _ = await jobs.claim()
    assert claimed is not None
    assert (claimed.job.kind, claimed.job.due_at) == (JOB, datetime(2026, 6, 2, 4, tzinfo=UTC))
    assert await jobs.claim() == (None, await jobs.next_due())
    await service.plan()  # as whoever does it begins with
    assert await jobs.done(claimed)
    assert await jobs.next_due() == datetime(2026, 6, 3, 4, tzinfo=UTC)


async def test_no_whole_table_is_read_for_it(bench: Bench, service: RetentionService) -> None:
    await service.keep(HERE, 90, 1)
    await logged(bench, 91)
    asked = statements_of(bench.store)
    await service.older(HERE, 90)
    await service.prune()
    await AuditService(bench.store).page(HERE)
    await AuditService(bench.store).page(HERE, 10)
    assert asked
    assert scans(bench.store, asked) == {}
