"""A member's press timing: what the practice log says of one link, of a route, and of everything."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bot.ports import Clock, Worker, WorkerError
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import (
    AllTiming,
    LinkSides,
    LinkTiming,
    PracticeRefusal,
    PracticeRefusalCode,
    RouteTiming,
)
from bot.results.route import KnownHands
from bot.results.tally import KeptTally, SubjectKind
from bot.services.desk import AskDesk
from bot.services.evidence import (
    MOST_LINK_TALLIES,
    LinkLog,
    LinkLogs,
    called,
    link_logs,
    timing_tries,
    versions_of,
    with_controller,
)
from bot.services.settings import SettingsBook
from bot.services.subjects import Found, windows_of
from bot.storage import tallies
from bot.storage.store import Store
from core.model import Means
from core.timing import (
    Bottleneck,
    Diagnosis,
    Fit,
    Tally,
    TapAdvice,
    TooFew,
    Window,
    bottleneck,
    diagnose,
    fit,
    mashing,
    period_frames,
    tap_advice,
)
from core.verdict import Facts

MASH_PRESSES_A_SECOND = 10.0
"""A usual rate of one finger (common practice, no source)."""
MASH_LEAD_SECONDS = 0.5
"""How long before the window someone begins to mash (a guess): about when the first move has touched. Not
before its own press."""


@dataclass(frozen=True, slots=True)
class Press:
    """A press to be diagnosed, with what the rules say of pressing it twice."""

    window: Window
    fps: float
    advice: TapAdvice


def diagnoses(made: Sequence[Tally], presses: Sequence[Press]) -> tuple[Diagnosis | TooFew, ...]:
    """What one fit to these tallies says of each press. Slow: it is run in a worker."""
    hands = fit(made)
    return tuple(
        hands if isinstance(hands, TooFew) else diagnose(hands, press.window, press.fps, press.advice)
        for press in presses
    )


def weakest_step(made: Sequence[Tally], windows: Sequence[Window]) -> Bottleneck | TooFew:
    """Where hands with these tallies drop a route. Slow: it is run in a worker."""
    hands = fit(made)
    return hands if isinstance(hands, TooFew) else bottleneck(hands, windows)


class TimingService:
    """Reads the latest tallies of a member's links, fits the member's hands in a worker, and tells.

    The evidence is counts and gaps of links alone. Tallies of whole routes are none: a route that dropped
    does not say at which press. Nor are those of a cancel: it may be pressed at once and is held, so nobody
    aims at the middle of its window. Only what was made with the member's present controller counts, where
    that is enough to tell.
    """

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock, worker: Worker) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._worker = worker

    async def of(
        self, place: Place, what: str | None
    ) -> LinkTiming | RouteTiming | AllTiming | PracticeRefusal | LogRefusal:
        """The timing of a link or route as it was typed, or of everything where nothing was."""
        try:
            return await (self._all(place) if what is None else self._of_typed(place, what))
        except WorkerError:
            return PracticeRefusal(self._desk.game_of(place), PracticeRefusalCode.BUSY)

    async def _of_typed(
        self, place: Place, what: str
    ) -> LinkTiming | RouteTiming | PracticeRefusal | LogRefusal:
        async with self._store.read() as reading:
            found = await called(reading, self._desk, place, what)
        if isinstance(found, LogRefusal):
            return found
        match found.subject.kind:
            case SubjectKind.LINK:
                return await self.of_link(place, found)
            case SubjectKind.ROUTE:
                return await self._of_route(place, found)
            case SubjectKind.DRILL | SubjectKind.CHOICE:
                facts = Facts(what=found.subject.what)
                return PracticeRefusal(found.game, PracticeRefusalCode.HAS_NO_PRESS, facts)

    async def hands(self, place: Place) -> KnownHands:
        """How the member presses, fitted to the log; typical hands where it has too few tries, and where the
        fit could not be made."""
        made = await self._made(place)
        try:
            fitted = await self._worker.run(fit, made) if made else None
        except WorkerError:
            fitted = None
        if not isinstance(fitted, Fit):
            return KnownHands()
        return KnownHands(fitted.spread, fitted.likeliest.bias_frames, fitted.tries)

    async def of_link(self, place: Place, found: Found) -> LinkTiming:
        """The timing of one link; predicted from the member's other links where it was never tried. Raises
        WorkerError."""
        kept = await self._kept(place)
        _, window = windows_of(found)[0]
        if not isinstance(window, Window):
            here = [one.tally for one in kept if one.tally.subject == found.subject]
            tries, landed = sum(map(timing_tries, here)), sum(tally.landed for tally in here)
            return LinkTiming(
                found.game, found.subject, window, tries, landed, None, None, MASH_PRESSES_A_SECOND
            )
        logs = await self._logs(place, kept)
        made = next((link.tallies for link in logs.links if link.found.subject == found.subject), ())
        link = LinkLog(found, window, made)
        (told,) = await self._diagnoses(logs, (link,))
        return _link_timing(link, told, logs.lost_tries)

    async def _of_route(self, place: Place, found: Found) -> RouteTiming:
        steps = windows_of(found)
        timed = {at: window for at, (_, window) in enumerate(steps) if isinstance(window, Window)}
        weakest: Bottleneck | TooFew | None = None
        lost = 0
        if timed:
            logs = await self._logs(place, await self._kept(place))
            made, lost = logs.presses(self._clock.now()), logs.lost_tries
            weakest = await self._worker.run(weakest_step, made, tuple(timed.values()))
        told = tuple(step for step, _ in steps)
        return RouteTiming(found.game, found.subject, told, tuple(timed), weakest, lost)

    async def _all(self, place: Place) -> AllTiming | PracticeRefusal:
        game = self._desk.game_of(place)
        logs = await self._logs(place, await self._kept(place))
        links = logs.links
        if not links:
            async with self._store.read() as reading:
                logged = await tallies.totals(reading, place.owner, game.name)
            code = PracticeRefusalCode.NO_LINKS if logged else PracticeRefusalCode.NO_TALLIES
            return PracticeRefusal(game, code)
        told = await self._diagnoses(logs, links)
        weakest_first = sorted(zip(told, links, strict=True), key=lambda pair: _share(*pair))
        told_of = tuple(_link_timing(link, says, logs.lost_tries) for says, link in weakest_first)
        return AllTiming(game, told_of, sum(link.tries for link in links), logs.lost_tries)

    async def _kept(self, place: Place) -> tuple[KeptTally, ...]:
        game = self._desk.game_of(place).name
        async with self._store.read() as reading:
            return await tallies.of_links(reading, place.owner, game, MOST_LINK_TALLIES)

    async def _logs(self, place: Place, kept: Sequence[KeptTally]) -> LinkLogs:
        """Those made with the controller that the member has now, where they are enough."""
        server_id = place.owner.server_id
        versions = await versions_of(self._desk, server_id, kept)
        logs = link_logs(self._desk, server_id, kept, versions)
        return with_controller(logs, self._book.member(place.owner).setup.controller)

    async def _made(self, place: Place) -> tuple[Tally, ...]:
        logs = await self._logs(place, await self._kept(place))
        return logs.presses(self._clock.now())

    async def _diagnoses(
        self, evidence: LinkLogs, asked: Iterable[LinkLog]
    ) -> tuple[Diagnosis | TooFew, ...]:
        """What the evidence says of each of these links."""
        made = evidence.presses(self._clock.now())
        return await self._worker.run(diagnoses, made, tuple(map(_press, asked)))


def _press(link: LinkLog) -> Press:
    found = link.found
    assert found.character is not None
    assert found.route is not None
    second = found.route.steps[1].move
    advice = tap_advice(found.game, found.character, second, Means.LINK, link.window)
    return Press(link.window, found.game.fps, advice)


def _link_timing(link: LinkLog, told: Diagnosis | TooFew, lost_tries: int) -> LinkTiming:
    found, window, fps = link.found, link.window, link.found.game.fps
    begins = max(1.0, window.first_gap - MASH_LEAD_SECONDS * fps)
    mashed = mashing(window, period_frames(fps, MASH_PRESSES_A_SECOND), begins)
    return LinkTiming(
        found.game,
        found.subject,
        window,
        link.tries,
        link.landed,
        told,
        mashed,
        MASH_PRESSES_A_SECOND,
        _sides(link, told) if link.tallies else None,
        lost_tries,
    )


def _share(told: Diagnosis | TooFew, link: LinkLog) -> float:
    """How often one press lands there: as predicted, or as seen where there are too few tries to predict."""
    if isinstance(told, Diagnosis):
        return told.one.hit
    return link.landed / link.tries if link.tries else 0.0


def _sides(link: LinkLog, told: Diagnosis | TooFew) -> LinkSides:
    early = sum(tally.drops.early for tally in link.tallies)
    late = sum(tally.drops.late for tally in link.tallies)
    unknown = link.tries - link.landed - early - late
    mean_off = spread = None
    if isinstance(told, Diagnosis):
        aim = told.two_aim_gap if link.mostly_twice else told.aim_gap
        mean_off = aim + told.bias_frames.value - link.window.middle_gap
        spread = told.spread_frames.value
    return LinkSides(link.found.subject, link.window, early, link.landed, late, unknown, mean_off, spread)
