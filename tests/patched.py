"""Patch day over a real store: a server whose game gets new versions, and what members keep of it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from inline import HERE, ODRUN, HandClock, InlineWorker
from kept import edited, source_of
from stored import opened

from bot.gamefiles import Source, game_of
from bot.ports import WorkerError
from bot.results.audit import Deed
from bot.results.coaching import KeptHomework
from bot.results.drills import DrillPlan, DrillStage, KeptDrill
from bot.results.games import EditionChange, GameRefusal
from bot.results.patches import PatchNotice, PatchSheet
from bot.results.place import Owner, Place
from bot.results.tally import SavedRoute, Subject, SubjectKind
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.game_changes import GameChanges, Planned
from bot.services.game_desk import GameDesk
from bot.services.jobs import JobService
from bot.services.notices import JOB as NOTICE
from bot.services.notices import NoticeService
from bot.services.patch_telling import JOB, PatchTelling
from bot.services.patch_views import PatchViews
from bot.services.patches import PatchService
from bot.services.settings import SettingsBook
from bot.storage import drills, homework, routes
from bot.storage.rows import enter
from bot.storage.store import Store
from core.drills.drill import Scoring
from core.learning.homework import CleanReps

P = ParamSpec("P")
Result = TypeVar("Result")

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
"""A Monday, outside of anybody's quiet hours."""
SALT = "Saltglass"
MOD = replace(HERE, member_id=900)
TAM, IVO, PELL = (replace(HERE, member_id=number) for number in (101, 102, 103))
ELSEWHERE = replace(MOD, server_id=2)
CELLS = (
    (ODRUN, "5MP", "on_hit", "+6"),
    (ODRUN, "214LK", "damage", "760"),
    ("Mirrel Quay", "2MP", "damage", "550"),
)
"""A patch whose consequences are known by hand: after 5MP, +7 before, 2MK (startup 7) had 7 - 7 + 1 = 1 frame
and has none, 2MP (startup 6) had 2 and has 1."""


def salt() -> Source:
    """The host's Saltglass, version 1.2."""
    return source_of("saltglass")


@cache
def patched_salt(label: str = "1.3", cells: tuple[tuple[str, str, str, str], ...] = CELLS) -> Source:
    """The same with these cells."""
    return edited(salt(), label, {(who, move, column): text for who, move, column, text in cells})


class FailingWorker(InlineWorker):
    """Works at once while it may."""

    fails = False

    async def run(self, work: Callable[P, Result], *args: P.args, **kwargs: P.kwargs) -> Result:
        if self.fails:
            raise WorkerError("no")
        return await super().run(work, *args, **kwargs)


@dataclass
class PatchDay:
    """Servers that use the host's Saltglass until somebody changes it."""

    store: Store
    clock: HandClock
    book: SettingsBook
    game_book: GameBook
    desk: AskDesk
    worker: FailingWorker
    jobs: JobService
    notices: NoticeService
    changes: GameChanges
    game_desk: GameDesk
    patches: PatchService
    telling: PatchTelling
    told: list[int] = field(default_factory=list)
    _events: Any = field(default_factory=lambda: count(1_000))

    def event(self) -> int:
        """The id of an interaction that was not seen before."""
        return int(next(self._events))

    async def use(self, source: Source, place: Place = MOD) -> EditionChange:
        """The server has this version from now on; nobody is told yet."""
        server_id = place.owner.server_id
        planned = await self.changes.plan(server_id, source, game_of(source))
        assert isinstance(planned, Planned), planned
        async with self.store.write(self.event()) as writing:
            edition = await self.changes.store(writing, place.owner, planned, Deed.GAME_LOADED)
        return self.changes.taken_up(place.owner, planned, edition)

    async def patch(self, place: Place = MOD, source: Source | None = None) -> int:
        """The same, and whom it concerns is told; how many they are."""
        return await self.telling.announce(place, await self.use(source or patched_salt(), place))

    async def back(self, edition_id: int, place: Place = MOD) -> int:
        """The server goes back to a version; how many are told."""
        change = await self.game_desk.back(place, edition_id, self.event())
        assert isinstance(change, EditionChange), change
        return await self.telling.announce(place, change)

    async def save(
        self, place: Place, notation: str, name: str = "bread", character: str = ODRUN
    ) -> SavedRoute:
        """A route that a member saved."""
        route = SavedRoute(0, SALT, "1.2", character, name, notation, self.clock.now())
        async with self.store.write() as writing:
            return await routes.save(writing, place.owner, route)

    async def give(self, student: Place, notation: str, coach: Place = MOD) -> KeptHomework:
        """Homework of a student."""
        subject = Subject(SALT, ODRUN, SubjectKind.LINK, notation)
        now = self.clock.now()
        kept = KeptHomework(
            0, coach.owner, student.owner, subject, CleanReps(20), "", now, now + timedelta(days=3)
        )
        async with self.store.write() as writing:
            for each in (coach, student):
                await enter(writing, each.owner)
            return await homework.add(writing, kept)

    async def drill(self, notation: str, place: Place = MOD) -> KeptDrill:
        """A group drill that is open."""
        subject = Subject(SALT, ODRUN, SubjectKind.LINK, notation)
        now, server_id = self.clock.now(), place.owner.server_id
        plan = DrillPlan(subject, Scoring.TOTAL_CLEAN, 10, 30)
        async with self.store.write() as writing:
            drill = await drills.add(
                writing,
                server_id,
                plan,
                55,
                now,
                now + timedelta(days=7),
                weekly=False,
                opened_by=place.member_id,
            )
            await drills.set_stage(writing, drill.id, DrillStage.OPEN)
        return drill

    async def sheet(self, place: Place = TAM, before_id: int = 0) -> PatchSheet:
        """What changed, for a member."""
        found = await self.patches.sheet(place, before_id)
        assert isinstance(found, PatchSheet), found
        return found

    async def go(self, by: timedelta = timedelta(hours=1)) -> list[PatchNotice | None]:
        """Let time go by, with what is due done at its moment; what is told meanwhile."""
        end, told = self.clock.time + by, []
        while (due := await self.jobs.next_due()) is not None and due <= end:
            self.clock.time = max(due, self.clock.time)
            claimed, _ = await self.jobs.claim()
            if claimed is None:
                break
            payload = claimed.job.payload
            match claimed.job.kind:
                case kind if kind == NOTICE:
                    told.append(await self.telling.notice(payload["number"]))
                case kind if kind == JOB:
                    assert claimed.job.server_id is not None
                    await self.telling.settle(claimed.job.server_id, payload["game"])
            await self.jobs.done(claimed)
        self.clock.time = end
        return told


def whom(told: list[PatchNotice | None]) -> list[int]:
    """Who was told, by member id."""
    return sorted(one.to.member_id for one in told if one is not None)


def refusal(result: object) -> str:
    assert isinstance(result, GameRefusal), result
    return result.code.value


async def muted(day: PatchDay, owner: Owner) -> None:
    """The member wants to be left in peace."""
    await day.book.set_member(owner, replace(day.book.member(owner), muted=True))


@asynccontextmanager
async def patch_day_at(folder: Path, now: datetime = NOON) -> AsyncIterator[PatchDay]:
    """A day on which everybody has version 1.2."""
    async with opened(folder) as store:
        clock = HandClock(now)
        book = SettingsBook(store, clock)
        await book.load()
        game_book = GameBook(store, clock, book, {"saltglass": game_of(salt())}, {"saltglass": salt()})
        await game_book.load()
        desk = AskDesk(book, game_book, "saltglass", clock)
        worker, jobs = FailingWorker(), JobService(store, clock)
        notices = NoticeService(jobs, book, clock)
        changes = GameChanges(store, game_book, book, clock)
        views = PatchViews(store, game_book, book, worker)
        patches = PatchService(store, desk, game_book, book, clock, views)
        telling = PatchTelling(store, game_book, views, clock, jobs, notices)
        changes.tell_with(telling.owe)
        game_desk = GameDesk(store, desk, game_book, changes)
        yield PatchDay(
            store, clock, book, game_book, desk, worker, jobs, notices, changes, game_desk, patches, telling
        )
