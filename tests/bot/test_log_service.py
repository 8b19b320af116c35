"""Logging as a member does it: real tallies in a real store."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from inline import HERE, ODRUN, Bench, InlineWorker, bench_at
from logged import LINK, NOW, OTHER, in_log, logged, refused, service_of

from bot.ports import WorkerError
from bot.results.log import LogRefusalCode
from bot.results.tally import (
    MOST_TRIES,
    NOTE_CHARACTERS,
    Controller,
    Drops,
    MemberSettings,
    ServerSettings,
    Setup,
    Side,
    SubjectKind,
)
from bot.services import log as log_module
from bot.services.entries import GAPS_CHARACTERS
from bot.services.log import PAGE, Entry, LogService
from bot.services.routes import RouteService
from bot.storage import tallies
from core.learning.tally import Context
from core.learning.wins import WinCode
from core.timing import Diagnosis, TooFew


class DeadWorker(InlineWorker):
    """A worker whose process has died."""

    async def run(self, work: Callable[..., Any], *_: Any, **__: Any) -> Any:
        raise WorkerError(f"The process of {work.__name__} died.")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        yield bench


@pytest.fixture
def service(bench: Bench) -> LogService:
    return service_of(bench, InlineWorker())


async def test_a_tally_is_kept_as_it_was_typed(service: LogService, bench: Bench) -> None:
    entry = Entry(
        what="lamp swing > 2mp",
        result="10: 7 hit, 2 early, 1 too far",
        context=Context.SPARRING,
        presses=2,
        gaps="29, 30f 28",
        side=Side.LEFT,
        controller=Controller.STICK,
        controls="Simple",
        note="  tired \n hands ",
        when="yesterday 21:00",
    )
    result = logged(await service.log(HERE, entry, 1))
    kept = result.kept.tally
    assert (kept.subject.what, kept.subject.kind, kept.subject.character) == (
        "5MP, 2MP",
        SubjectKind.LINK,
        ODRUN,
    )
    assert (kept.tries, kept.landed, kept.drops) == (10, 7, Drops(early=2, too_far=1))
    assert (kept.context, kept.presses, kept.gap_frames) == (Context.SPARRING, 2, (29, 30, 28))
    assert kept.setup == Setup(Side.LEFT, Controller.STICK, "one-button")
    assert (kept.note, kept.made_at) == ("tired hands", datetime(2026, 3, 1, 21, tzinfo=UTC))
    assert kept.game_version == bench.desk.game_of(HERE).version
    assert await in_log(service) == (result.kept,)


async def test_what_is_not_said_is_plain_training_now(service: LogService) -> None:
    kept = logged(await service.log(HERE, LINK, 1)).kept.tally
    assert (kept.context, kept.presses, kept.made_at) == (Context.TRAINING, 1, NOW)
    assert kept.setup == Setup()


async def test_context_and_presses_are_those_of_the_last_tally_of_the_same(service: LogService) -> None:
    await service.log(HERE, replace(LINK, context=Context.RANKED, presses=2, when="yesterday"), 1)
    await service.log(HERE, replace(LINK, what="5MP, 2MK"), 2)
    same = logged(await service.log(HERE, LINK, 3)).kept.tally
    assert (same.context, same.presses) == (Context.RANKED, 2)
    other = logged(await service.log(HERE, replace(LINK, what="5MK, 5LP"), 4)).kept.tally
    assert (other.context, other.presses) == (Context.TRAINING, 1)


async def test_the_setup_is_remembered_and_what_is_given_replaces_it(
    service: LogService, bench: Bench
) -> None:
    await service.log(HERE, replace(LINK, side=Side.LEFT, controller=Controller.PAD), 1)
    kept = logged(await service.log(HERE, replace(LINK, side=Side.RIGHT), 2)).kept.tally
    assert kept.setup == Setup(Side.RIGHT, Controller.PAD)
    await bench.book.load()  # it is stored, not only held
    assert bench.book.member(HERE.owner) == MemberSettings(ODRUN, setup=Setup(Side.RIGHT, Controller.PAD))
    assert bench.book.member(OTHER.owner) == MemberSettings()


async def test_controls_said_beside_the_moves_are_those_the_moves_are_read_under(service: LogService) -> None:
    entry = Entry("5MP xx 4HP", "3/5", controls="one-button")
    assert logged(await service.log(HERE, entry, 1)).kept.tally.subject.what == "5MP xx 4HP"


async def test_a_refused_tally_changes_nothing(service: LogService, bench: Bench) -> None:
    await service.log(HERE, replace(LINK, side=Side.LEFT, when="next week"), 1)
    assert await in_log(service) == ()
    assert bench.book.member(HERE.owner).setup == Setup()


REFUSALS: list[tuple[dict[str, Any], LogRefusalCode, dict[str, Any]]] = [
    ({"result": "seven of ten"}, LogRefusalCode.NO_COUNT, {"typed": "seven of ten"}),
    ({"result": "-7/10"}, LogRefusalCode.NO_COUNT, {}),
    ({"result": "12/10"}, LogRefusalCode.MORE_THAN_TRIES, {"landed": 12, "drops": 0, "tries": 10}),
    (
        {"result": "10: 7 hit, 4 early"},
        LogRefusalCode.MORE_THAN_TRIES,
        {"landed": 7, "drops": 4, "tries": 10},
    ),
    ({"result": "0/0"}, LogRefusalCode.TRIES_RANGE, {"tries": 0, "most": MOST_TRIES}),
    ({"result": "7/1001"}, LogRefusalCode.TRIES_RANGE, {"tries": 1001, "most": MOST_TRIES}),
    ({"what": "5MP, 5QQ"}, LogRefusalCode.NO_SUCH_WHAT, {}),
    (
        {"note": "a" * (NOTE_CHARACTERS + 1)},
        LogRefusalCode.TOO_LONG,
        {"field": "note", "most": NOTE_CHARACTERS},
    ),
    ({"gaps": "24, soon"}, LogRefusalCode.NO_GAPS, {"typed": "24, soon"}),
    ({"gaps": "24.5"}, LogRefusalCode.NO_GAPS, {}),
    ({"gaps": "24, -1"}, LogRefusalCode.NO_GAPS, {}),
    ({"gaps": "24, 0"}, LogRefusalCode.GAP_RANGE, {"gap": 0, "most": 600}),
    ({"gaps": "24 601"}, LogRefusalCode.GAP_RANGE, {"gap": 601}),
    ({"gaps": "24 " * 11}, LogRefusalCode.MORE_GAPS, {"gaps": 11, "tries": 10}),
    ({"gaps": "1" * (GAPS_CHARACTERS + 1)}, LogRefusalCode.TOO_LONG, {"field": "gaps"}),
    ({"when": "soon"}, LogRefusalCode.NO_TIME, {"typed": "soon"}),
    ({"when": "tomorrow"}, LogRefusalCode.IN_FUTURE, {"typed": "tomorrow"}),
    ({"when": "2015-01-01"}, LogRefusalCode.TOO_OLD, {"typed": "2015-01-01"}),
    ({"controls": "drums"}, LogRefusalCode.UNKNOWN_CONTROLS, {"typed": "drums", "known": "one-button"}),
]


@pytest.mark.parametrize(("typed", "code", "facts"), REFUSALS)
async def test_what_cannot_be_is_refused_with_the_reason(
    service: LogService, typed: dict[str, Any], code: LogRefusalCode, facts: dict[str, Any]
) -> None:
    refusal = refused(await service.log(HERE, replace(LINK, **typed), 1))
    assert refusal.code is code
    assert facts.items() <= dict(refusal.facts).items()
    assert await in_log(service) == ()


BARELY = [{"result": "1/1"}, {"result": "0/1000"}, {"note": "a" * NOTE_CHARACTERS}, {"gaps": "1, 600"}]
BARELY += [{"gaps": "24 " * 10}, {"when": "20:20"}, {"when": "2016-03-03 21:00"}]


@pytest.mark.parametrize("typed", BARELY)
async def test_what_is_barely_possible_is_logged(service: LogService, typed: dict[str, Any]) -> None:
    logged(await service.log(HERE, replace(LINK, **typed), 1))


async def test_the_same_event_logs_once(service: LogService) -> None:
    first = logged(await service.log(HERE, LINK, 1))
    second = logged(await service.log(HERE, LINK, 1))
    assert not first.again
    assert second == replace(first, again=True)
    changed_mind = logged(await service.log(HERE, Entry("nothing", "that is read"), 1))
    assert changed_mind.kept == first.kept
    third = logged(await service.again(HERE, first.kept.id, True, 2))
    fourth = logged(await service.again(HERE, first.kept.id, True, 2))
    assert fourth == replace(third, again=True)
    assert len(await in_log(service)) == 2


async def test_totals_are_of_the_same_subject_and_context(service: LogService) -> None:
    await service.log(HERE, LINK, 1)
    await service.log(HERE, replace(LINK, context=Context.RANKED, result="1/4"), 2)
    await service.log(HERE, replace(LINK, what="5MP, 2MK"), 3)
    await service.log(OTHER, replace(LINK, what="Odrun: 5MP, 2MP"), 4)
    result = logged(await service.log(HERE, replace(LINK, context=Context.TRAINING, result="8/10"), 5))
    assert (result.total_tries, result.total_landed) == (20, 15)


async def test_small_wins_are_those_of_this_tally_alone(service: LogService) -> None:
    dropped = logged(await service.log(HERE, replace(LINK, result="0/5", when="7 days ago"), 1))
    assert dropped.wins == ()
    landed = logged(await service.log(HERE, replace(LINK, result="3/10", when="1 hour ago"), 2))
    assert [win.code for win in landed.wins] == [WinCode.FIRST_LANDED, WinCode.WEEK_KEPT]
    assert dict(landed.wins[0].facts) == {"tries_before": 5}
    better = logged(await service.log(HERE, replace(LINK, result="8/10"), 3))
    assert [win.code for win in better.wins] == [WinCode.PERSONAL_BEST]
    tried = logged(await service.log(HERE, replace(LINK, result="0/1", context=Context.RANKED), 4))
    assert [win.code for win in tried.wins] == [WinCode.FIRST_TRIED_IN_MATCH]


async def test_the_week_is_that_of_the_member_s_zone(service: LogService, bench: Bench) -> None:
    # Sunday 23:30 UTC is Monday in Berlin: two tallies of one week there, of two weeks in UTC.
    bench.clock.time = datetime(2026, 3, 1, 23, 30, tzinfo=UTC)
    await service.log(HERE, LINK, 1)
    bench.clock.time = NOW
    assert WinCode.WEEK_KEPT in {win.code for win in logged(await service.log(HERE, LINK, 2)).wins}
    await bench.book.set_server(1, ServerSettings(zone="Europe/Berlin"))
    assert WinCode.WEEK_KEPT not in {win.code for win in logged(await service.log(HERE, LINK, 2)).wins}


async def test_a_first_that_may_not_be_one_is_not_told(
    service: LogService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_module, "MOST_MARKS", 2)
    await service.log(HERE, replace(LINK, when="6 days ago"), 1)
    await service.log(HERE, replace(LINK, when="5 days ago", what="5MP, 2MK"), 2)
    result = logged(await service.log(HERE, LINK, 3))
    assert [win.code for win in result.wins] == [WinCode.WEEK_KEPT]


async def test_a_link_comes_with_its_timing_and_nothing_else_does(service: LogService) -> None:
    few = logged(await service.log(HERE, replace(LINK, result="3 hit, 1 early"), 1)).timing
    assert few is not None
    assert isinstance(few.diagnosis, TooFew)
    enough = logged(await service.log(HERE, replace(LINK, result="20 hit, 15 early, 5 late"), 2)).timing
    assert enough is not None
    assert isinstance(enough.diagnosis, Diagnosis)
    assert (enough.tries, enough.landed) == (44, 23)
    for event, what in enumerate(("5MP xx 236HP", "drill: block"), start=3):
        assert logged(await service.log(HERE, replace(LINK, what=what), event)).timing is None


async def test_a_worker_that_fails_does_not_fail_the_log(bench: Bench) -> None:
    service = service_of(bench, DeadWorker())
    result = logged(await service.log(HERE, LINK, 1))
    assert result.timing is None
    assert await in_log(service) == (result.kept,)


async def test_again_is_one_more_try_at_the_same(service: LogService) -> None:
    entry = replace(LINK, context=Context.RANKED, presses=2, side=Side.LEFT, note="tired", gaps="29")
    first = logged(await service.log(HERE, replace(entry, when="yesterday"), 1)).kept
    more = logged(await service.again(HERE, first.id, False, 2)).kept.tally
    assert (more.tries, more.landed, more.drops, more.note, more.gap_frames) == (1, 0, Drops(), "", ())
    assert (more.subject, more.context, more.presses, more.setup, more.made_at) == (
        *(first.tally.subject, Context.RANKED, 2, Setup(Side.LEFT)),
        NOW,
    )
    landed = logged(await service.again(HERE, first.id, True, 3))
    assert (landed.total_tries, landed.total_landed) == (12, 8)


async def test_the_log_is_listed_page_by_page(service: LogService) -> None:
    kept = [logged(await service.log(HERE, LINK, event)).kept for event in range(1, PAGE + 2)]
    page = await service.listed(HERE)
    assert (page.tallies, page.older) == (tuple(reversed(kept[1:])), True)
    rest = await service.listed(HERE, page.tallies[-1].id)
    assert (rest.tallies, rest.older) == ((kept[0],), False)


async def test_what_is_practised_and_saved_is_offered_and_reads_as_itself(
    service: LogService, bench: Bench
) -> None:
    routes = RouteService(bench.store, bench.desk, bench.book, bench.clock)
    await routes.save(HERE, "5MP, 2MP xx 236HP", "bread", 1)
    entries = ("5MP, 2MP", "Mirrel: 5MP, 2MP", "drill: block, then punish")
    for event, what in enumerate(entries, start=2):
        bench.clock.time += timedelta(minutes=1)
        await service.log(HERE, Entry(what, "3/5"), event)
    offered = await service.complete_what(HERE, "")
    assert offered == ("block, then punish", "Mirrel Quay: 5MP, 2MP", "5MP, 2MP", "bread")
    assert await service.complete_what(HERE, "pun") == ("block, then punish",)
    before = {total.subject_id for total in await totals_of(bench)}
    for event, what in enumerate(offered[:3], start=20):
        logged(await service.log(HERE, Entry(what, "3/5"), event))
    assert {total.subject_id for total in await totals_of(bench)} == before
    saved = logged(await service.log(HERE, Entry("Bread", "3/5"), 30)).kept.tally.subject
    assert (saved.what, saved.kind) == ("5MP, 2MP xx 236HP", SubjectKind.ROUTE)


async def totals_of(bench: Bench) -> tuple[Any, ...]:
    async with bench.store.read() as reading:
        return await tallies.totals(reading, HERE.owner, "Saltglass")


async def test_what_one_would_type_for_a_subject_reads_as_that_subject(service: LogService) -> None:
    for event, what in enumerate(("Mirrel: 5MP > 2MP", "drill: block"), start=1):
        kept = logged(await service.log(HERE, Entry(what, "3/5"), event)).kept
        typed = await service.typed(HERE, kept.subject_id)
        assert isinstance(typed, str)
        same = logged(await service.log(HERE, Entry(typed, "3/5"), event + 10)).kept
        assert same.subject_id == kept.subject_id
