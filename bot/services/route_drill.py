"""A route as a practice drill: its presses alone, the weakest first, then joined, then the whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import time
from itertools import pairwise

from bot.ports import Clock, Worker, WorkerError
from bot.results.place import Place
from bot.results.playing import Piece, PieceKind, RouteDrill, Unplayable
from bot.results.route import SURE, OpenRoute
from bot.results.tally import Subject, SubjectKind
from bot.services.settings import SettingsBook
from bot.storage import tallies
from bot.storage.store import Store
from core.learning.calendar import day_of, moment_of
from core.learning.plan import REPS_A_MINUTE, REPS_CAP, SLOW_MINUTES_A_LINK, BlockKind
from core.model import Means, MoveKind
from core.notation import Route, format_route
from core.routes import RouteCheck, reliability
from core.routes.check import judged_as_usual
from core.routes.joints import Judge
from core.timing import Spread
from core.verdict import Verdict

MOST_ALONE, MOST_PIECES = 2, 4
"""So many presses are practised alone, and so many pieces in all: each has a button to log it."""
SHORTEST_JOINED = 3
"""Moves of a joined piece; two are one press."""

Chances = tuple[float, ...]
"""Of each press after the first, once the ones before it have landed."""


@dataclass(frozen=True, slots=True)
class Part:
    """Moves of a route from one step to another, both counted in."""

    kind: PieceKind
    first: int
    last: int


class DrillService:
    """Makes drills for a member's own hands, and gives each piece a number in their log."""

    def __init__(self, store: Store, book: SettingsBook, clock: Clock, worker: Worker) -> None:
        self._store = store
        self._book = book
        self._clock = clock
        self._worker = worker

    async def of(self, place: Place, opened: OpenRoute, event_id: int) -> RouteDrill | Unplayable:
        """The drill of a route that works."""
        checked = opened.check
        if not checked.works or len(checked.steps) < 2:
            return Unplayable(opened)
        hands, owner = opened.hands, place.owner
        try:
            chances = await self._worker.run(chances_of, checked, hands.spread, hands.bias_frames)
        except WorkerError:
            chances = None
        zone, now = self._book.zone(owner), self._clock.now()
        begun = moment_of(day_of(now, zone), time(), zone)
        cuts = [(part, subject_of(checked, part)) for part in parts_of(checked, chances)]
        async with self._store.write(event_id) as writing:
            today = await tallies.tries_since(writing, owner, begun)
            numbers = [(await tallies.enter_subject(writing, owner, subject))[1] for _, subject in cuts]
        left = max(0, REPS_CAP - today)
        pieces: list[Piece] = []
        wanted = 0
        for (part, subject), number in zip(cuts, numbers, strict=True):
            a_minute = REPS_A_MINUTE[BlockKind.SLOW if part.kind is PieceKind.ALONE else BlockKind.ROUTE]
            full = a_minute * SLOW_MINUTES_A_LINK
            reps = min(full, left)
            wanted, left = wanted + full, left - reps
            if reps:
                minutes = -(-reps // a_minute)
                chance = _chance(chances, part)
                pieces.append(Piece(part.kind, subject, number, minutes, reps, chance))
        cut = sum(piece.reps for piece in pieces) < wanted
        return RouteDrill(opened, tuple(pieces), self._book.goal(owner), today, cut, confirm_of(checked))


def chances_of(checked: RouteCheck, spread: Spread, bias_frames: float) -> Chances | None:
    """The chance of each press; None where one is not known. Slow: it is run in a worker."""
    found = reliability(checked, spread, bias_frames)
    return None if isinstance(found, Verdict) else tuple(step.hit for step in found.steps)


def parts_of(checked: RouteCheck, chances: Chances | None) -> tuple[Part, ...]:
    """At most `MOST_PIECES` parts in the order in which they are practised.

    First presses alone, the weakest first: links, or cancels where there is no link, for a cancel may be
    buffered at once and a link has to be timed. Then what leads up to the weakest press, and what goes on
    from it; then the whole. What does not work by itself begins sooner, as soon as it takes.
    """
    last = len(checked.steps) - 1
    presses = [n for n in range(1, last + 1) if not _moves(checked, n)]
    timed = [n for n in presses if checked.steps[n].means is Means.LINK] or presses
    order = sorted(timed, key=lambda n: chances[n - 1] if chances else n)
    weakest = order[0]
    unsure = [n for n in order[1:MOST_ALONE] if chances is None or chances[n - 1] < SURE]
    found = [_working(checked, PieceKind.ALONE, _before(checked, n), n) for n in (weakest, *unsure)]
    into = _before(checked, weakest)
    joined = ((_before(checked, into) if into else 0, weakest), (0, weakest), (into, last))
    found += [
        _working(checked, PieceKind.JOINED, first, end)
        for first, end in joined
        if end - first + 1 >= SHORTEST_JOINED
    ]
    whole = Part(PieceKind.WHOLE, 0, last)
    pieces: dict[str, Part] = {}
    for part in found:  # the same moves twice in a route are one piece, and logged under one number
        pieces.setdefault(_written(checked, part), part)
    pieces.pop(_written(checked, whole), None)
    return (*[*pieces.values()][: MOST_PIECES - 1], whole)


def subject_of(checked: RouteCheck, part: Part) -> Subject:
    """What a part is called in the log."""
    route = _cut(checked.route, part.first, part.last)
    link = len(route.steps) == 2 and route.steps[1].joined is Means.LINK
    kind = SubjectKind.LINK if link else SubjectKind.ROUTE
    return Subject(checked.game.name, checked.character.name, kind, format_route(route))


def confirm_of(checked: RouteCheck) -> tuple[str, str] | None:
    """The first cancel, on which one decides whether to go on; None where there is none."""
    for before, step in pairwise(checked.steps):
        if step.means is Means.CANCEL:
            return before.step.move.input, step.step.move.input
    return None


def _moves(checked: RouteCheck, number: int) -> bool:
    """Whether this step is a movement, which lands nothing by itself."""
    return checked.steps[number].step.move.kind is MoveKind.MOVEMENT


def _before(checked: RouteCheck, number: int) -> int:
    """The step before this press that lands."""
    return next(n for n in range(number - 1, -1, -1) if n == 0 or not _moves(checked, n))


def _working(checked: RouteCheck, kind: PieceKind, first: int, last: int) -> Part:
    """The part from there, or from as little before as it takes to work by itself."""
    judge = Judge(checked.game, checked.character)
    for begin in range(first, 0, -1):
        cut = _cut(checked.route, begin, last)
        if judged_as_usual(judge, cut).works:
            return Part(kind if begin == first else PieceKind.JOINED, begin, last)
    return Part(kind if not first else PieceKind.JOINED, 0, last)


def _written(checked: RouteCheck, part: Part) -> str:
    return format_route(_cut(checked.route, part.first, part.last))


def _cut(route: Route, first: int, last: int) -> Route:
    head, *rest = route.steps[first : last + 1]
    return Route((replace(head, joined=None, delayed=False, delay_frames=None), *rest))


def _chance(chances: Chances | None, part: Part) -> float | None:
    if chances is None:
        return None
    chance = 1.0
    for one in chances[part.first : part.last]:
        chance *= one
    return chance
