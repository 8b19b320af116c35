"""How a route is played: when to press, what to enter, and how that sounds."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import pairwise

from bot.ports import Worker, WorkerError
from bot.results.place import Place
from bot.results.playing import ClickTrack, InputSheet, NoTrack, RhythmSheet, Twice, Unplayable
from bot.results.route import KnownHands, OpenRoute
from bot.results.tally import Side, Subject
from bot.services.desk import AskDesk
from bot.services.entering import planned
from bot.services.evidence import MOST_LINK_TALLIES, LinkLog, link_logs
from bot.services.opening import terminal_route
from bot.services.settings import SettingsBook
from bot.services.subjects import found_of
from bot.storage import tallies
from bot.storage.store import Store
from core.inputs import NEUTRAL, Facing, Plan
from core.model import Means, Move
from core.notation import Route, Step, format_route
from core.rhythm import (
    LONGEST_SECONDS,
    SAMPLE_RATE,
    RhythmStep,
    Track,
    schedule,
    track,
    track_wav,
)
from core.rhythm.track import FASTEST, SLOWEST
from core.routes import RouteCheck, StepCheck
from core.timing import Window, best_aim, press_chance, tap_advice
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES
from core.verdict import Answer

LOOPS = 4
"""Of a click track, where nobody asks for another number."""
CLEARLY = 0.1
"""A link is planned with two presses unasked where that adds at least so much to its chance (ours)."""


class PlayService:
    """Plays routes for a member: with the hands of their log, their control scheme and their side."""

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, worker: Worker) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._worker = worker

    async def rhythm(self, place: Place, opened: OpenRoute) -> RhythmSheet | Unplayable:
        """When to press. One press each; two for a link that the member mostly logs so, or that lands clearly
        more often so, where no rule is against it."""
        return rhythm_of(opened, await self._own_twice(place, opened))

    def typical(self, server_id: int, subject: Subject) -> RhythmSheet | None:
        """When to press it with typical hands, for everybody in a server to see; None where it has no
        rhythm."""
        found = found_of(self._desk, server_id, subject)
        if found is None or found.route is None or found.character is None:
            return None
        sheet = rhythm_of(terminal_route(found.game, found.character, found.route))
        return sheet if isinstance(sheet, RhythmSheet) else None

    async def inputs(
        self, place: Place, opened: OpenRoute, side: Side | None = None
    ) -> InputSheet | Unplayable:
        """What to enter on this side; None for the one that the member last logged, else the right."""
        if opened.check.verdict.answer is Answer.NO:
            return Unplayable(opened)
        return await self._inputs(place, timed(opened, await self._own_twice(place, opened)), side)

    async def _inputs(self, place: Place, sheet: RhythmSheet, side: Side | None = None) -> InputSheet:
        side = side or self._book.member(place.owner).setup.side or Side.RIGHT
        facing, scheme = Facing(side.value), self._desk.controls_of(place)
        try:
            return await self._worker.run(inputs_of, sheet, facing, scheme)
        except WorkerError:
            return InputSheet(sheet.opened, sheet.schedule, facing, scheme, None)

    async def clicks(
        self, place: Place, opened: OpenRoute, speed: float = 1.0, loops: int | None = None
    ) -> ClickTrack | NoTrack | Unplayable:
        """The click track at this speed (1 is as fast as the game), with the directions where they can be
        planned. `loops`: as many of them as fit, None for the usual number."""
        rhythm = await self.rhythm(place, opened)
        if isinstance(rhythm, Unplayable):
            return rhythm
        sheet = await self._inputs(place, rhythm)
        try:
            return await self._worker.run(clicks_of, sheet, speed, loops or LOOPS)
        except WorkerError:
            return NoTrack(opened, failed=True)

    async def _own_twice(self, place: Place, opened: OpenRoute) -> frozenset[int]:
        """The numbers of the steps whose links the member mostly logged with two presses."""
        async with self._store.read() as reading:
            kept = await tallies.of_links(reading, place.owner, opened.check.game.name, MOST_LINK_TALLIES)
        return own_twice(opened, link_logs(self._desk, place.owner.server_id, kept).links)


def rhythm_of(opened: OpenRoute, twice: Collection[int] = ()) -> RhythmSheet | Unplayable:
    """When to press, as far as it is known. `twice`: the numbers of the steps that the member presses twice.

    A route that does not work has no rhythm; one of which no press but the first is known has none either.
    """
    sheet = timed(opened, twice)
    no = opened.check.verdict.answer is Answer.NO or len(sheet.schedule.presses) < 2
    return Unplayable(opened) if no else sheet


def timed(opened: OpenRoute, twice: Collection[int] = ()) -> RhythmSheet:
    """The presses whose time is known, whatever the route comes to: at least the first."""
    checked = opened.check
    known = checked.steps if checked.works else checked.steps[: checked.failing]
    steps, doubled = [], []
    for number, step in enumerate(known):
        two = bool(number) and _two_presses(checked, step, opened.hands, number in twice)
        if two:
            doubled.append(Twice(number, step.step.move.input, number in twice))
        steps.append(_rhythm_step(step, TYPICAL_SPACING_FRAMES if two else 0.0))
    steps += [RhythmStep(move.input) for move in checked.route.moves[len(steps) :]]
    told = schedule(steps, checked.game.fps, opened.hands.spread)
    left = {number for number, press in enumerate(told.presses) if press.second_frame is not None}
    return RhythmSheet(opened, told, tuple(one for one in doubled if one.step in left))


def own_twice(opened: OpenRoute, logs: Iterable[LinkLog]) -> frozenset[int]:
    """The numbers of the steps whose links the member mostly logged with two presses."""
    checked = opened.check
    twice = {
        log.found.subject.what
        for log in logs
        if log.mostly_twice and log.found.subject.character == checked.character.name
    }
    joints = enumerate(pairwise(checked.route.steps), start=1)
    return frozenset(
        number
        for number, (before, after) in joints
        if after.joined is Means.LINK and _link(before.move, after.move) in twice
    )


def inputs_of(sheet: RhythmSheet, side: Facing, scheme: str | None) -> InputSheet:
    """What to enter, pressed where the rhythm sheet has it; where hands cannot, elsewhere in the windows.
    Slow: it is run in a worker."""
    found, as_scheduled = planned(sheet.opened.check, sheet.schedule, side, scheme)
    return InputSheet(sheet.opened, sheet.schedule, side, scheme, found, as_scheduled)


def clicks_of(sheet: InputSheet, speed: float, loops: int) -> ClickTrack | NoTrack:
    """The click track of a sheet. Slow: it is run in a worker. Raises ValueError for a speed or loops that
    `core.rhythm.track` does not take."""
    if loops < 1 or not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"A click track has 1 loop or more, at a speed from {SLOWEST} to {FASTEST}.")
    timed, directions = sheet.schedule, directions_of(sheet)
    try:
        one = track(timed, speed=speed, directions=directions)
    except ValueError:  # nothing else is left that it could refuse
        return NoTrack(sheet.opened)
    fit = min(loops, LONGEST_SECONDS * SAMPLE_RATE // one.loop_samples)
    made: Track = track(timed, speed=speed, loops=fit, directions=directions)
    return ClickTrack(sheet.opened, timed, made, track_wav(made), loops, bool(directions))


def directions_of(sheet: InputSheet) -> tuple[int, ...]:
    """The frames, counted from the first press, on which directions are entered; none where there is no plan
    that presses where the schedule does."""
    if not isinstance(sheet.plan, Plan) or not sheet.as_scheduled:
        return ()
    told = sheet.plan.presses[: len(sheet.schedule.presses)]
    first = told[0].frame
    return tuple(one.frame - first for press in told for one in press.entered if one.direction != NEUTRAL)


def _rhythm_step(step: StepCheck, spacing: float) -> RhythmStep:
    """The step as it is pressed; a delay moves its aim from where the move could start at once."""
    window = step.window if isinstance(step.window, Window) else None
    aim = _delayed_aim(step, window) if window is not None and step.step.delayed else None
    return RhythmStep(
        step.step.move.input,
        step.means,
        window,
        spacing,
        aim,
        contact_frames=step.contact_frames,
        freeze_frames=step.freeze_frames,
    )


def _delayed_aim(step: StepCheck, window: Window) -> float:
    """Where a press falls that is meant to come late: so many frames after the earliest start as the route
    says, else in the middle of what is left then."""
    at_once = window.first_gap if window.start_gap is None else max(window.start_gap, window.first_gap)
    late = step.step.delay_frames
    aim = at_once + late if late is not None else (at_once + window.last_gap) / 2
    return float(min(aim, window.last_gap))


def _two_presses(checked: RouteCheck, step: StepCheck, hands: KnownHands, own: bool) -> bool:
    """Whether a link is pressed twice: no rule is against it, and the member does so, or it lands clearly
    more often."""
    window = step.window
    if step.means is not Means.LINK or not isinstance(window, Window) or not step.step.move.hits:
        return False
    if step.step.delayed:
        return False
    advice = tap_advice(checked.game, checked.character, step.step.move, Means.LINK, window)
    if advice.answer is not Answer.YES:
        return False
    return own or (hands.tries > 0 and _gain(window, hands) >= CLEARLY)


def _gain(window: Window, hands: KnownHands) -> float:
    """What a second press adds to the chance of a link."""
    spread = hands.spread.frames(window.middle_gap)
    one, two = (
        press_chance(best_aim(spread, window, spacing) + hands.bias_frames, spread, window, spacing).hit
        for spacing in (0.0, TYPICAL_SPACING_FRAMES)
    )
    return two - one


def _link(first: Move, second: Move) -> str:
    """How the log names this link by itself."""
    return format_route(Route((Step(first), Step(second, joined=Means.LINK))))
