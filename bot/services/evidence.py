"""What stored tallies say, as the fit of a player's timing and the learning modules read them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from bot.results.log import LogRefusal
from bot.results.place import Owner, Place
from bot.results.tally import Controller, KeptTally, Mark, Subject, SubjectKind, Tally, Total
from bot.services.desk import AskDesk
from bot.services.subjects import Found, found_of, read_subject, windows_of
from bot.storage import routes, tallies
from bot.storage.store import Reading, Store
from core.learning.plan import Skill
from core.learning.recency import recent_rate, weight
from core.learning.tally import Tally as Practice
from core.timing import Tally as Presses
from core.timing import Window
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES
from core.timing.fit import ENOUGH_TRIES

MOST_LINK_TALLIES = 400
"""A member's latest tallies of links that are read; what is older would count little."""


@dataclass(frozen=True, slots=True)
class LinkLog:
    """A link whose window the present game file knows, and one member's tallies of it, the latest first."""

    found: Found
    window: Window
    tallies: tuple[Tally, ...]

    @property
    def tries(self) -> int:
        """Tries that landed or may have dropped by timing."""
        return sum(timing_tries(tally) for tally in self.tallies)

    @property
    def landed(self) -> int:
        """Those that landed."""
        return sum(tally.landed for tally in self.tallies)

    @property
    def mostly_twice(self) -> bool:
        """Whether most of the tries were pressed twice."""
        twice = sum(timing_tries(tally) for tally in self.tallies if tally.presses == 2)
        return 2 * twice > self.tries

    def presses(self, now: datetime) -> list[Presses]:
        """Its tallies as the fit reads them."""
        return [timing_tally(tally, self.window, now) for tally in self.tallies]


def timing_tries(tally: Tally) -> int:
    """Its tries less those that dropped for a reason other than timing."""
    return tally.tries - tally.drops.not_timing


def timing_tally(tally: Tally, window: Window, now: datetime) -> Presses:
    """A tally as evidence on when the press came; old ones weigh less.

    A gap that was read off counts even where its try dropped for another reason than timing.
    """
    return Presses(
        window,
        max(timing_tries(tally), len(tally.gap_frames)),
        tally.landed,
        tally.drops.early,
        tally.drops.late,
        spacing_frames=TYPICAL_SPACING_FRAMES if tally.presses == 2 else 0.0,
        gaps=tally.gap_frames,
        weight=weight(now - tally.made_at),
    )


def link_logs(desk: AskDesk, kept: Iterable[KeptTally]) -> tuple[LinkLog, ...]:
    """Tallies of links by link, in the order in which the links first come. A link that the present game file
    lacks, that does not work there or whose numbers are missing is left out: its windows are not known."""
    logged: dict[Subject, list[Tally]] = {}
    for one in kept:
        if timing_tries(one.tally) or one.tally.gap_frames:
            logged.setdefault(one.tally.subject, []).append(one.tally)
    found = []
    for subject, own in logged.items():
        link = found_of(desk, subject, own[0].setup.controls)
        if link is not None:
            _, window = windows_of(link)[0]
            if isinstance(window, Window):
                found.append(LinkLog(link, window, tuple(own)))
    return tuple(found)


def with_controller(links: tuple[LinkLog, ...], controller: Controller | None) -> tuple[LinkLog, ...]:
    """What was made with this controller, where that alone has enough tries; else everything."""
    own = []
    for link in links:
        made = tuple(tally for tally in link.tallies if tally.setup.controller is controller)
        if made:
            own.append(replace(link, tallies=made))
    enough = controller is not None and sum(link.tries for link in own) >= ENOUGH_TRIES
    return tuple(own) if enough else links


def practice(kept: KeptTally | Mark) -> Practice:
    """A tally or mark as the learning modules read it; `what` is its subject's number."""
    one = kept.tally if isinstance(kept, KeptTally) else kept
    return Practice(one.made_at, str(kept.subject_id), one.tries, one.landed, one.context)


def skill(what: str, kept: Iterable[KeptTally], now: datetime) -> Skill:
    """The record of one link, its old tallies counting less."""
    recent = recent_rate(map(practice, kept), now)
    return Skill(what, recent.landed, recent.tries)


def latest_subjects(totals: Iterable[Total], marks: Iterable[Mark]) -> dict[int, Subject]:
    """What these totals are about, by number, that of the latest mark first; what has no mark is left out."""
    subjects = {total.subject_id: total.subject for total in totals}
    return {mark.subject_id: subjects[mark.subject_id] for mark in marks if mark.subject_id in subjects}


async def kept_of(reading: Reading, owner: Owner, subject: Subject, most: int) -> tuple[KeptTally, ...]:
    """At most so many tallies of a subject, the latest made first; none where it was never practised."""
    subject_id = await tallies.find_subject(reading, owner, subject)
    return () if subject_id is None else await tallies.of_subject(reading, owner, subject_id, most)


async def number_for(store: Store, owner: Owner, subject: Subject) -> int:
    """The number of a subject in a member's log: a new one where they neither practised nor looked at it."""
    async with store.read() as reading:
        number = await tallies.find_subject(reading, owner, subject)
    if number is None:
        async with store.write() as writing:
            _, number = await tallies.enter_subject(writing, owner, subject)
    return number


async def called(
    reading: Reading, desk: AskDesk, place: Place, typed: str, controls: str | None = None
) -> Found | LogRefusal:
    """What a member calls so: moves, a route they saved, or a drill they logged. `controls`: a control scheme
    to read moves under in place of the member's own."""
    game = desk.game_of(place).name
    saved = await routes.listed(reading, place.owner, game)
    totals = await tallies.totals(reading, place.owner, game)
    drills = dict.fromkeys(total.subject.what for total in totals if total.subject.kind is SubjectKind.DRILL)
    return read_subject(desk, place, typed, saved, tuple(drills), controls)
