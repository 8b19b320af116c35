"""The log as a service over a real store, and what it answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from inline import HERE, Bench, InlineWorker

from bot.results.log import Logged, LogRefusal
from bot.results.place import Place
from bot.results.tally import KeptTally
from bot.services.hands import TimingService
from bot.services.log import Entry, LogService

NOW = datetime(2026, 3, 2, 20, 15, 30, tzinfo=UTC)
OTHER = replace(HERE, member_id=HERE.member_id + 1)
LINK = Entry("5MP, 2MP", "7/10, 2 early")


def service_of(bench: Bench, worker: InlineWorker) -> LogService:
    timing = TimingService(bench.store, bench.desk, bench.book, bench.clock, worker)
    return LogService(bench.store, bench.desk, bench.book, bench.clock, timing)


def logged(result: object) -> Logged:
    assert isinstance(result, Logged), result
    return result


def refused(result: object) -> LogRefusal:
    assert isinstance(result, LogRefusal), result
    return result


async def in_log(service: LogService, place: Place = HERE) -> tuple[KeptTally, ...]:
    return (await service.listed(place)).tallies
