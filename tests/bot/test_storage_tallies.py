"""The practice log as it is kept: what is stored, found, changed, undone and added up."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from stored import DRILL, LINK, NOW, ROUTE, WREN, opened, tally

from bot.results.place import Owner
from bot.results.tally import Controller, Drops, KeptTally, Mark, Setup, Side, Subject, SubjectKind, Total
from bot.storage import tallies
from bot.storage.store import Store
from core.learning.tally import Context

FULL = tally(
    5,
    12,
    drops=Drops(1, 1, 1, 1, 1, 1, 0, 1),
    context=Context.TOURNAMENT,
    presses=2,
    setup=Setup(Side.RIGHT, Controller.BUTTONS, "simple"),
    gap_frames=(24, 21, 25),
    note="après-midi 🎮",
    game_version="1.2",
)


async def log(store: Store, *made: object, owner: object = WREN) -> list[KeptTally]:
    async with store.write() as writing:
        return [await tallies.add(writing, owner, each, None, NOW) for each in made]  # type: ignore[arg-type]


async def test_a_tally_comes_back_as_it_went_in_also_after_reopening(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, store.write() as writing:
        kept = await tallies.add(writing, WREN, FULL, 41, NOW)
    async with opened(tmp_path) as store, store.read() as reading:
        assert kept.tally == FULL
        assert await tallies.get(reading, WREN, kept.id) == kept
        assert await tallies.by_event(reading, WREN, 41) == kept
        assert await tallies.by_event(reading, WREN, 42) is None


async def test_many_added_at_once_are_kept_as_if_added_one_after_the_other(tmp_path: Path) -> None:
    made = [
        tally(subject=ROUTE),
        FULL,
        tally(2, 3, context=Context.RANKED),
        tally(subject=DRILL, made_at=NOW - timedelta(days=2)),
        tally(4, 9, drops=Drops(early=2, late=3)),
        tally(subject=ROUTE, note="again"),
    ]
    other = Owner(WREN.server_id, 71)
    async with opened(tmp_path) as store:
        for owner in (WREN, other):
            await log(store, tally(1, 6), owner=owner)
        await log(store, *made, owner=other)
        async with store.write() as writing:
            await tallies.add_all(writing, WREN, [], NOW)
            await tallies.add_all(writing, WREN, made, NOW)
        async with store.read() as reading:
            one_by_one = await tallies.listed(reading, other, 99)
            at_once = await tallies.listed(reading, WREN, 99)
            assert [each.tally for each in at_once] == [*reversed(made), tally(1, 6)]
            numbers = {old.subject_id: new.subject_id for old, new in zip(one_by_one, at_once, strict=True)}
            assert len(set(numbers.values())) == len(numbers) == 3
            assert set(await tallies.totals(reading, WREN, "Saltglass")) == {
                replace(total, subject_id=numbers[total.subject_id])
                for total in await tallies.totals(reading, other, "Saltglass")
            }


async def test_moments_come_back_in_utc_and_naive_ones_are_refused(tmp_path: Path) -> None:
    there = datetime(2026, 1, 1, 1, 30, 0, 5, tzinfo=timezone(timedelta(hours=9)))
    async with opened(tmp_path) as store:
        (kept,) = await log(store, tally(made_at=there))
        async with store.read() as reading:
            found = await tallies.get(reading, WREN, kept.id)
        assert found is not None
        assert found.tally.made_at == there
        assert found.tally.made_at.tzinfo is UTC
        with pytest.raises(Exception, match="needs a time zone"):
            async with store.write() as writing:
                await tallies.add(writing, WREN, tally(), None, datetime(2026, 1, 1))
        with pytest.raises(Exception, match="needs a time zone"):
            async with store.read() as reading:
                await tallies.tries_since(reading, WREN, datetime(2026, 1, 1))


async def test_the_log_is_listed_newest_first_and_on_from_any_of_it(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        kept = await log(store, *(tally(made_at=NOW - timedelta(days=each)) for each in range(5)))
        other, *_ = await log(store, tally(subject=ROUTE))
        async with store.read() as reading:
            assert await tallies.latest(reading, WREN) == other
            assert await tallies.listed(reading, WREN, 2) == (other, kept[4])
            assert await tallies.listed(reading, WREN, 2, before_id=kept[4].id) == (kept[3], kept[2])
            assert await tallies.listed(reading, WREN, 9, before_id=kept[0].id) == ()
            same = await tallies.listed(reading, WREN, 2, subject_id=kept[0].subject_id)
            assert same == (kept[4], kept[3])


async def test_what_was_made_last_comes_first_where_progress_asks(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        late, early = await log(store, tally(), tally(made_at=NOW - timedelta(days=3)))
        between, drill = await log(
            store,
            tally(
                subject=Subject("Saltglass", "Odrun", SubjectKind.LINK, "5B > 5C"),
                made_at=early.tally.made_at,
            ),
            tally(3, 4, subject=DRILL, made_at=NOW - timedelta(days=4), context=Context.REACTION),
        )
        await log(store, tally(subject=Subject("Kitewind", "Corbet", SubjectKind.LINK, "5A > 5A")))
        async with store.read() as reading:
            assert await tallies.of_subject(reading, WREN, late.subject_id, 9) == (late, early)
            assert await tallies.of_subject(reading, WREN, late.subject_id, 1) == (late,)
            assert await tallies.of_links(reading, WREN, "Saltglass", 9) == (late, between, early)
            assert await tallies.of_links(reading, WREN, "Saltglass", 2) == (late, between)
            marks = await tallies.marks(reading, WREN, 9)
            assert [mark.id for mark in marks] == [5, late.id, between.id, early.id, drill.id]
            assert marks[-1] == Mark(drill.id, drill.subject_id, drill.tally.made_at, 4, 3, Context.REACTION)
            assert len(await tallies.marks(reading, WREN, 2)) == 2


async def test_an_undone_tally_is_nowhere_until_it_is_put_back(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            kept = await tallies.add(writing, WREN, tally(), 8, NOW)
        async with store.write() as writing:
            assert await tallies.undo(writing, WREN, kept.id) == kept
            assert await tallies.undo(writing, WREN, kept.id) is None
            assert await tallies.change(writing, WREN, kept.id, FULL) is None
        async with store.read() as reading:
            assert await tallies.get(reading, WREN, kept.id) is None
            assert await tallies.get(reading, WREN, kept.id, undone=True) == kept
            assert await tallies.by_event(reading, WREN, 8) is None
            assert await tallies.latest(reading, WREN) is None
            assert await tallies.listed(reading, WREN, 9) == ()
            assert await tallies.listed(reading, WREN, 9, subject_id=kept.subject_id) == ()
            assert await tallies.of_subject(reading, WREN, kept.subject_id, 9) == ()
            assert await tallies.of_links(reading, WREN, LINK.game, 9) == ()
            assert await tallies.marks(reading, WREN, 9) == ()
            assert await tallies.totals(reading, WREN, LINK.game) == ()
            assert await tallies.tries_since(reading, WREN, NOW) == 0
        async with store.write() as writing:
            assert await tallies.put_back(writing, WREN, kept.id) == kept
            assert await tallies.put_back(writing, WREN, kept.id) is None
        async with store.read() as reading:
            assert await tallies.latest(reading, WREN) == kept
            assert await tallies.tries_since(reading, WREN, NOW) == 10


async def test_totals_follow_each_subject_and_context(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        one, two, ranked = await log(
            store,
            tally(7, 10, drops=Drops(early=2, late=1)),
            tally(1, 4, drops=Drops(late=3)),
            tally(2, 2, context=Context.RANKED),
        )
        async with store.read() as reading:
            assert await tallies.totals(reading, WREN, "Saltglass") == (
                Total(one.subject_id, LINK, Context.RANKED, 1, 2, 2, 0, 0),
                Total(one.subject_id, LINK, Context.TRAINING, 2, 14, 8, 2, 4),
            )
            assert await tallies.totals(reading, WREN, "Kitewind") == ()
        async with store.write() as writing:
            changed = await tallies.change(writing, WREN, ranked.id, tally(0, 1, subject=ROUTE))
            await tallies.undo(writing, WREN, two.id)
        async with store.read() as reading:
            assert changed == await tallies.get(reading, WREN, ranked.id)
            assert changed is not None
            assert await tallies.totals(reading, WREN, "Saltglass") == (
                Total(one.subject_id, LINK, Context.TRAINING, 1, 10, 7, 2, 1),
                Total(changed.subject_id, ROUTE, Context.TRAINING, 1, 1, 0, 0, 0),
            )


async def test_what_is_practised_has_one_number(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        first, again, route = await log(store, tally(), tally(), tally(subject=ROUTE))
        assert first.subject_id == again.subject_id != route.subject_id
        async with store.read() as reading:
            assert await tallies.find_subject(reading, WREN, LINK) == first.subject_id
            assert await tallies.find_subject(reading, WREN, DRILL) is None
            assert await tallies.subject_of(reading, WREN, route.subject_id) == ROUTE
            assert await tallies.subject_of(reading, WREN, 99) is None


async def test_tries_are_counted_from_a_moment_on(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await log(store, tally(1, 3), tally(1, 5, made_at=NOW - timedelta(microseconds=1)))
        async with store.read() as reading:
            assert await tallies.tries_since(reading, WREN, NOW) == 3
            assert await tallies.tries_since(reading, WREN, NOW - timedelta(days=1)) == 8
            assert await tallies.tries_since(reading, WREN, NOW + timedelta(days=1)) == 0


async def test_the_number_of_an_erased_tally_never_comes_again(tmp_path: Path) -> None:
    from bot.storage import privacy

    async with opened(tmp_path) as store:
        (gone,) = await log(store, tally())
        async with store.write() as writing:
            await privacy.erase(writing, WREN)
        (new,) = await log(store, tally())
        assert new.id > gone.id
        assert new.subject_id > gone.subject_id
