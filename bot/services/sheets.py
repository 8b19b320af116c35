"""A member's sheet of conversions: what is kept, whether it still works, and what could fill the gaps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from bot.ports import Worker, WorkerError
from bot.results.conversion import (
    Cell,
    CellState,
    ConversionRefusal,
    ConversionRefusalCode,
    Proposal,
    Sheet,
    StarterRow,
)
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.route import KnownHands
from bot.results.tally import KeptConversion, SavedRoute
from bot.services.conversions import gone_situation, judge, route_of, starters_of
from bot.services.desk import AskDesk
from bot.services.evidence import number_for
from bot.services.hands import TimingService
from bot.services.subjects import read_moves
from bot.storage import conversions, routes
from bot.storage.store import Store
from core.model import Character, Game
from core.notation import Route, format_route
from core.routes import Aim, FoundRoute, Query, find, hands
from core.situations import Situation, SituationKind, situations, written_for
from core.text import clipped
from core.verdict import Facts

MOST_PROPOSALS = 4
"""More at once is a list that nobody acts on."""
MOST_CANDIDATES = 10
"""So many of a starter's saved routes are tried in its gaps, the latest first."""
BUDGET = 20_000
MOST_MOVES = 4
"""Of a route that is looked for: short, so that it can be learnt soon."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How a route does in one situation; `damage` is None where it is not known. `spends`: some gauge."""

    works: bool
    damage: int | None
    spends: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """A starter in a situation that nothing is kept for."""

    starter: str
    situation: Situation


Tried = Mapping[tuple[int, str], Fit]
"""By the number of a saved route and the name of a situation."""


def fits(game: Game, who: Character, asked: Sequence[tuple[Route, Situation]]) -> tuple[Fit, ...]:
    """Each route judged in its situation. Slow where they are many: it is run in a worker."""
    judged = (judge(game, who, route, situation) for route, situation in asked)
    return tuple(Fit(found.works, found.damage, any(amount for _, amount in found.spent)) for found in judged)


def look_for(
    game: Game, who: Character, gaps: Sequence[Gap], known: KnownHands, scheme: str | None
) -> tuple[FoundRoute | None, ...]:
    """For each gap the short route that lands the most damage with these hands. Slow: it is run in a
    worker."""
    presser = hands(known.spread, known.bias_frames)
    return tuple(_found(game, who, gap, Query(hands=presser, scheme=scheme)) for gap in gaps)


def _found(game: Game, who: Character, gap: Gap, query: Query) -> FoundRoute | None:
    start = gap.situation.start
    spend = () if gap.situation.kind is SituationKind.GAUGE else start.gauges
    wanted = replace(
        query,
        aim=Aim.EXPECTED,
        start=start,
        first=(gap.starter,),
        spend=spend,
        most_moves=MOST_MOVES,
        budget=BUDGET,
        most_routes=1,
    )
    best = find(game, who, wanted).routes[:1]
    return next((one for one in best if len(one.route.steps) > 1), None)


class SheetService:
    """Tells a member what they do when a starter lands."""

    def __init__(self, store: Store, desk: AskDesk, timing: TimingService, worker: Worker) -> None:
        self._store = store
        self._desk = desk
        self._timing = timing
        self._worker = worker

    async def of(self, place: Place, character: str | None = None) -> Sheet | ConversionRefusal:
        """The sheet of a character as it was typed; else of the member's own, or of the only one that they
        have routes of."""
        game, scheme = self._desk.game_of(place), self._desk.controls_of(place)
        async with self._store.read() as reading:
            saved = await routes.listed(reading, place.owner, game.name)
            kept = await conversions.listed(reading, place.owner, game.name)
        who = self._whose(place, character, saved)
        if isinstance(who, ConversionRefusal):
            return who
        own = {route.id: route for route in saved if route.character == who.name}
        if not own:
            facts = Facts(character=who.name)
            return ConversionRefusal(game, ConversionRefusalCode.NO_ROUTES, facts)
        read = {number: route_of(game, route, scheme) for number, route in own.items()}
        moves = {number: route for number, route in read.items() if route is not None}
        here = {(one.starter, one.situation): one for one in kept if one.character == who.name}
        columns = _columns(game, here.values())
        begins = {number: route.steps[0].move.input for number, route in moves.items()}
        starters = starters_of(who, [*(starter for starter, _ in here), *begins.values()])
        try:
            tried = await self._tried(game, who, moves, here, columns)
        except WorkerError:
            return ConversionRefusal(game, ConversionRefusalCode.BUSY)
        rows = tuple(_row(starter, columns, here, begins, tried) for starter in starters)
        proposals, searched = await self._proposals(place, game, who, rows, own, moves, tried)
        return Sheet(game, who, rows, proposals, searched)

    def _whose(
        self, place: Place, typed: str | None, saved: Sequence[SavedRoute]
    ) -> Character | ConversionRefusal:
        game = self._desk.game_of(place)
        if typed is not None:
            who = self._desk.character_named(place, typed)
            code, facts = ConversionRefusalCode.NO_CHARACTER, Facts(typed=clipped(typed))
            return who or ConversionRefusal(game, code, facts)
        own = self._desk.character_of(place)
        with_routes = {route.character for route in saved}
        if own is None and len(with_routes) == 1:
            own = next((who for who in game.characters if who.name in with_routes), None)
        return own or ConversionRefusal(game, ConversionRefusalCode.WHOSE)

    async def _tried(
        self,
        game: Game,
        who: Character,
        moves: Mapping[int, Route],
        here: Mapping[tuple[str, str], KeptConversion],
        columns: Sequence[Situation],
    ) -> Tried:
        """What is kept, and what else could stand in the gaps, judged."""
        by_starter: dict[str, list[int]] = {}
        for number in sorted(moves, reverse=True):
            by_starter.setdefault(moves[number].steps[0].move.input, []).append(number)
        pairs = []
        for situation in columns:
            for starter, numbers in by_starter.items():
                kept = here.get((starter, situation.name))
                tried = [kept.route.id] if kept else numbers[:MOST_CANDIDATES]
                pairs += [(number, situation) for number in tried if number in numbers]
        asked = tuple((moves[number], situation) for number, situation in pairs)
        found = await self._worker.run(fits, game, who, asked) if asked else ()
        return {(number, situation.name): fit for (number, situation), fit in zip(pairs, found, strict=True)}

    async def _proposals(
        self,
        place: Place,
        game: Game,
        who: Character,
        rows: Sequence[StarterRow],
        own: Mapping[int, SavedRoute],
        moves: Mapping[int, Route],
        tried: Tried,
    ) -> tuple[tuple[Proposal, ...], bool]:
        """What could fill the gaps that matter most, the member's own routes where one works there; and
        whether others could be looked for."""
        gaps = _gaps(game, rows)[:MOST_PROPOSALS]
        mine = {gap: _own(gap, own, moves, tried) for gap in gaps}
        empty = tuple(gap for gap, proposal in mine.items() if proposal is None)
        scheme = self._desk.controls_of(place)
        found: tuple[FoundRoute | None, ...] = (None,) * len(empty)
        searched = True
        try:
            if empty:
                known = await self._timing.hands(place)
                found = await self._worker.run(look_for, game, who, empty, known, scheme)
        except WorkerError:
            searched = False
        for gap, route in zip(empty, found, strict=True):
            if route is not None:
                mine[gap] = await self._entered(place, game, who, gap, route, scheme)
        return tuple(one for one in mine.values() if one is not None), searched

    async def _entered(
        self, place: Place, game: Game, who: Character, gap: Gap, route: FoundRoute, scheme: str | None
    ) -> Proposal | None:
        """A found route with a number in the member's log, so that it can be opened and saved."""
        written = format_route(written_for(route.route, gap.situation))
        read = read_moves(game, who, written, scheme)
        if isinstance(read, LogRefusal):
            return None
        number = await number_for(self._store, place.owner, read.subject)
        return Proposal(gap.starter, gap.situation, route.damage, found=read.subject, subject_id=number)


def _columns(game: Game, kept: Iterable[KeptConversion]) -> tuple[Situation, ...]:
    """The situations of the game, and those that conversions are still kept for though the game file has them
    no more."""
    known = situations(game)
    names = {situation.name for situation in known}
    gone = dict.fromkeys(one.situation for one in kept if one.situation not in names)
    return (*known, *map(gone_situation, gone))


def _row(
    starter: str,
    columns: Sequence[Situation],
    here: Mapping[tuple[str, str], KeptConversion],
    begins: Mapping[int, str],
    tried: Tried,
) -> StarterRow:
    cells = []
    for situation in columns:
        kept = here.get((starter, situation.name))
        if kept is None:
            cells.append(Cell(situation, CellState.GAP))
            continue
        fit = tried.get((kept.route.id, situation.name))
        works = fit is not None and fit.works and begins[kept.route.id] == starter
        state = CellState.FILLED if works else CellState.BROKEN
        damage = fit.damage if fit and works else None
        cells.append(Cell(situation, state, kept.route, damage))
    return StarterRow(starter, tuple(cells))


def _gaps(game: Game, rows: Sequence[StarterRow]) -> list[Gap]:
    """The gaps, those that matter most first: the situations in their order, in each the starters of which
    most is kept. What is the same as a plain hit is none."""
    known = [one for one in situations(game) if not one.like_a_hit]
    order = sorted(rows, key=lambda row: -sum(cell.state is not CellState.GAP for cell in row.cells))
    return [
        Gap(row.starter, situation)
        for situation in known
        for row in order
        for cell in row.cells
        if cell.situation == situation and cell.state is CellState.GAP
    ]


def _own(
    gap: Gap, own: Mapping[int, SavedRoute], moves: Mapping[int, Route], tried: Tried
) -> Proposal | None:
    """The saved route with the most damage that works in the gap. One that spends nothing is no answer to
    what is done with full gauges: it is what is done without."""
    working = []
    for number, route in moves.items():
        fit = tried.get((number, gap.situation.name))
        if fit is not None and gap.situation.kind is SituationKind.GAUGE and not fit.spends:
            continue
        if fit is not None and fit.works and route.steps[0].move.input == gap.starter:
            working.append((fit.damage or 0, -number, number, fit.damage))
    if not working:
        return None
    _, _, number, damage = max(working)
    return Proposal(gap.starter, gap.situation, damage, route=own[number])
