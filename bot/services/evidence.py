"""What stored tallies say, as the fit of a player's timing and the learning modules read them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from bot.results.log import LogRefusal
from bot.results.place import Owner, Place
from bot.results.tally import Controller, KeptTally, Mark, Subject, SubjectKind, Tally, Total
from bot.services.desk import AskDesk
from bot.services.subjects import Found, found_in, read_subject, windows_of
from bot.storage import routes, tallies
from bot.storage.store import Reading, Store
from core.learning.plan import Skill
from core.learning.recency import recent_rate, weight
from core.learning.tally import Tally as Practice
from core.model import Game
from core.timing import Tally as Presses
from core.timing import Window
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES
from core.timing.fit import ENOUGH_TRIES

MOST_LINK_TALLIES = 400
"""A member's latest tallies of links that are read; what is older would count little."""
Version = tuple[str, str]
"""A game's name and the label of one of its versions."""
NO_VERSIONS: Mapping[Version, Game] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Timed:
    """A tally of a link, and the window that its press had in the version under which it was logged."""

    tally: Tally
    window: Window


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


@dataclass(frozen=True, slots=True)
class LinkLogs:
    """One member's tallies of links: `links` are those that the present game file knows, `timed` all tallies
    that say when presses came, also of links that are gone. `unknown`: those of links logged under a version
    that is not kept any more, whose windows nobody knows."""

    links: tuple[LinkLog, ...]
    timed: tuple[Timed, ...]
    unknown: tuple[Tally, ...]

    @property
    def lost_tries(self) -> int:
        """The tries that say nothing because their version is not kept."""
        return sum(map(timing_tries, self.unknown))

    def presses(self, now: datetime) -> tuple[Presses, ...]:
        """Its tallies as the fit reads them."""
        return tuple(timing_tally(each.tally, each.window, now) for each in self.timed)


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


def link_logs(
    desk: AskDesk, server_id: int, kept: Iterable[KeptTally], versions: Mapping[Version, Game] = NO_VERSIONS
) -> LinkLogs:
    """Tallies of links by link, in the order in which the links first come. Each counts by the window of the
    version under which it was logged: the present one where none is noted, else that of `versions`. A link
    that its version lacks, that does not work there or whose numbers are missing has no window."""
    told = [one.tally for one in kept if timing_tries(one.tally) or one.tally.gap_frames]
    logged: dict[Subject, list[Tally]] = {}
    for tally in told:
        logged.setdefault(tally.subject, []).append(tally)
    links = []
    timed: list[Timed] = []
    unknown: list[Tally] = []
    for subject, own in logged.items():
        game, controls = desk.game_named(server_id, subject.game), own[0].setup.controls
        link, window = _link_in(game, subject, controls)
        if link is not None and window is not None:
            links.append(LinkLog(link, window, tuple(own)))
        windows: dict[str, Window | None] = {}
        for tally in own:
            label = tally.game_version
            if label not in windows:
                present = game is not None and label in ("", game.version)
                then = game if present else versions.get((subject.game, label))
                if then is None:
                    unknown.append(tally)
                    continue
                windows[label] = window if present else _link_in(then, subject, controls)[1]
            if (known := windows[label]) is not None:
                timed.append(Timed(tally, known))
    return LinkLogs(tuple(links), tuple(timed), tuple(unknown))


async def versions_of(desk: AskDesk, server_id: int, kept: Iterable[KeptTally]) -> dict[Version, Game]:
    """The versions, other than the present one, under which these tallies were logged, as far as they are
    kept."""
    found: dict[Version, Game] = {}
    for name, label in dict.fromkeys((one.tally.subject.game, one.tally.game_version) for one in kept):
        present = desk.game_named(server_id, name)
        if label and (present is None or label != present.version):
            game = await desk.version(server_id, name, label)
            if game is not None:
                found[name, label] = game
    return found


def with_controller(logs: LinkLogs, controller: Controller | None) -> LinkLogs:
    """What was made with this controller, where that alone has enough tries; else everything."""

    def own(tallies: Iterable[Tally]) -> tuple[Tally, ...]:
        return tuple(tally for tally in tallies if tally.setup.controller is controller)

    timed = tuple(each for each in logs.timed if each.tally.setup.controller is controller)
    if controller is None or sum(timing_tries(each.tally) for each in timed) < ENOUGH_TRIES:
        return logs
    links = tuple(replace(link, tallies=made) for link in logs.links if (made := own(link.tallies)))
    return LinkLogs(links, timed, own(logs.unknown))


def _link_in(game: Game | None, subject: Subject, controls: str | None) -> tuple[Found | None, Window | None]:
    """A link in some version of its game, and its window there."""
    found = found_in(game, subject, controls) if game is not None else None
    window = windows_of(found)[0][1] if found is not None else None
    return found, window if isinstance(window, Window) else None


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
