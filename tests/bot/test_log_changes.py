"""Changing, undoing and putting back what was logged."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from inline import HERE, Bench, InlineWorker, bench_at
from logged import LINK, NOW, OTHER, in_log, logged, refused, service_of

from bot.results.log import Changed, LogRefusalCode, PutBack, Undone
from bot.results.tally import Controller, Drops, ServerSettings, Setup, Side
from bot.services.log import Entry, LogService
from core.learning.tally import Context


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        yield bench


@pytest.fixture
def service(bench: Bench) -> LogService:
    return service_of(bench, InlineWorker())


async def test_an_entry_s_own_text_changes_nothing_of_a_tally(service: LogService, bench: Bench) -> None:
    await bench.book.set_server(1, ServerSettings(zone="Europe/Berlin"))
    everything = Entry(
        *("5MP xx 236HP", "10: 5 hit, 1 early, 1 late, 1 too far, 1 mashed, 1 no meter", Context.RANKED, 2),
        *("29, 30", Side.LEFT, Controller.KEYBOARD, "one-button", "tired", "2 hours ago"),
    )
    for place, event, entry in (
        (HERE, 1, LINK),
        (HERE, 2, everything),
        (HERE, 3, Entry("drill: block", "3/3")),
    ):
        kept = logged(await service.log(place, entry, event)).kept
        text = await service.entry_of(place, kept.id)
        assert isinstance(text, Entry)
        assert await service.change(place, kept.id, text, event + 100) == Changed(kept)


async def test_a_change_gives_new_values_and_keeps_what_is_not_said(service: LogService) -> None:
    entry = replace(LINK, context=Context.RANKED, presses=2, side=Side.LEFT, note="tired", gaps="29, 30")
    before = logged(await service.log(HERE, entry, 1)).kept
    result = await service.change(HERE, before.id, Entry("", "", gaps="29", note="awake"), 2)
    assert result == Changed(replace(before, tally=replace(before.tally, gap_frames=(29,), note="awake")))
    result = await service.change(
        HERE, before.id, Entry("5MP, 2MK", "8/9", Context.TRAINING, 1, when="yesterday 21:00"), 3
    )
    assert isinstance(result, Changed)
    after = result.kept.tally
    assert (after.subject.what, after.tries, after.landed, after.drops) == ("5MP, 2MK", 9, 8, Drops())
    assert (after.context, after.presses, after.setup) == (Context.TRAINING, 1, Setup(Side.LEFT))
    assert after.made_at == datetime(2026, 3, 1, 21, tzinfo=UTC)
    assert await in_log(service) == (result.kept,)


async def test_a_change_that_cannot_be_is_refused_and_changes_nothing(service: LogService) -> None:
    before = logged(await service.log(HERE, replace(LINK, gaps="29, 30, 28"), 1)).kept
    refusal = refused(await service.change(HERE, before.id, Entry("", "1/2", gaps="29, 30, 28"), 2))
    assert refusal.code is LogRefusalCode.MORE_GAPS
    assert refused(await service.change(HERE, before.id, Entry("5QQ, 5MP", ""), 3)).code is (
        LogRefusalCode.NO_SUCH_WHAT
    )
    assert await in_log(service) == (before,)


async def test_a_repeated_change_gives_the_tally_as_it_is_now(service: LogService) -> None:
    kept = logged(await service.log(HERE, LINK, 1)).kept
    await service.change(HERE, kept.id, Entry("", "8/10"), 2)
    last = await service.change(HERE, kept.id, Entry("", "9/10"), 3)
    assert await service.change(HERE, kept.id, Entry("", "8/10"), 2) == last


async def test_the_last_tally_is_undone_and_put_back(service: LogService) -> None:
    assert refused(await service.undo(HERE, None, 1)).code is LogRefusalCode.NOTHING_LOGGED
    first = logged(await service.log(HERE, LINK, 2)).kept
    second = logged(await service.log(HERE, replace(LINK, when="yesterday"), 3)).kept
    assert await service.undo(HERE, None, 4) == Undone(second)
    assert await in_log(service) == (first,)
    assert await service.put_back(HERE, second.id, 5) == PutBack(second)
    assert await in_log(service) == (second, first)


async def test_undoing_and_putting_back_twice_is_the_same_as_once(service: LogService) -> None:
    first = logged(await service.log(HERE, LINK, 1)).kept
    kept = logged(await service.log(HERE, LINK, 2)).kept
    for event in (3, 3, 4):
        assert await service.undo(HERE, kept.id, event) == Undone(kept)
    assert await in_log(service) == (first,)
    for event in (5, 5, 6):
        assert await service.put_back(HERE, kept.id, event) == PutBack(kept)
    assert await in_log(service) == (kept, first)


async def test_a_repeated_undo_of_the_last_takes_no_other_tally(service: LogService) -> None:
    first = logged(await service.log(HERE, LINK, 1)).kept
    await service.log(HERE, LINK, 2)
    await service.undo(HERE, None, 3)
    assert refused(await service.undo(HERE, None, 3)).code is LogRefusalCode.NOTHING_LOGGED
    assert await in_log(service) == (first,)


async def test_nobody_touches_another_member_s_tally(service: LogService) -> None:
    kept = logged(await service.log(HERE, LINK, 1)).kept
    other_server = replace(HERE, server_id=2)
    for place in (OTHER, other_server):
        for result in (
            await service.again(place, kept.id, True, 2),
            await service.change(place, kept.id, LINK, 3),
            await service.undo(place, kept.id, 4),
            await service.put_back(place, kept.id, 5),
            await service.one(place, kept.id),
            await service.entry_of(place, kept.id),
            await service.typed(place, kept.subject_id),
        ):
            assert refused(result).code is LogRefusalCode.NOT_YOURS
        assert await in_log(service, place) == ()
    assert await service.one(HERE, kept.id) == kept


async def test_an_undone_tally_is_neither_logged_again_nor_changed(service: LogService) -> None:
    kept = logged(await service.log(HERE, LINK, 1)).kept
    await service.undo(HERE, kept.id, 2)
    assert refused(await service.again(HERE, kept.id, True, 3)).code is LogRefusalCode.NOT_YOURS
    assert refused(await service.change(HERE, kept.id, LINK, 4)).code is LogRefusalCode.NOT_YOURS
    assert refused(await service.log(HERE, LINK, 1)).code is LogRefusalCode.NOT_YOURS
    assert await in_log(service) == ()
