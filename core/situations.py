"""In which situations a starter may land, and how a route starts in each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from core.model import Game
from core.notation import Route
from core.notation.tokens import fold, name_key
from core.routes import Start, full_gauges


class SituationKind(StrEnum):
    """What kind of situation it is; STATE is a hit state that the game file names."""

    HIT = "hit"
    STATE = "state"
    PUNISH = "punish"
    GAUGE = "gauge"
    AIRBORNE = "airborne"
    MEATY = "meaty"
    CORNER = "corner"


@dataclass(frozen=True, slots=True)
class Situation:
    """One situation. `name`: as it is stored and typed, no two of a game alike. `start`: how a route starts
    there.

    Without GAUGE there is nothing in any gauge at first, so that a route counts for the times when there is
    none; with it, all are full. A punish is met in the game's own hit state for it, else it is a plain hit.
    What a corner changes game files do not say: it is like the middle of the screen.
    """

    kind: SituationKind
    name: str
    start: Start

    @property
    def like_a_hit(self) -> bool:
        """Whether the game file makes it the same as a plain hit."""
        return self.kind in (SituationKind.PUNISH, SituationKind.CORNER) and self.start.state is None


def situations(game: Game) -> tuple[Situation, ...]:
    """Every situation of the game, the most common first."""
    empty = tuple((gauge.name, 0) for gauge in game.gauges)
    starts = {
        SituationKind.HIT: Start(gauges=empty),
        SituationKind.PUNISH: Start(gauges=empty),
        SituationKind.GAUGE: Start(gauges=full_gauges(game)),
        SituationKind.AIRBORNE: Start(gauges=empty, airborne=True),
        SituationKind.MEATY: Start(gauges=empty, active_frame=2),
        SituationKind.CORNER: Start(gauges=empty, corner=True),
    }
    if not game.gauges:
        del starts[SituationKind.GAUGE]
    found = [Situation(kind, kind.value, start) for kind, start in starts.items()]
    place = {situation.name: number for number, situation in enumerate(found)}
    named = []
    for state in game.hit_states:
        called = {name_key(fold(name).chars) for name in (state.name, *state.aliases)}
        same = next((place[name] for name in place if name in called), None)
        if same is None:
            named.append(Situation(SituationKind.STATE, state.name, Start(state=state.name, gauges=empty)))
        else:
            found[same] = replace(found[same], start=replace(found[same].start, state=state.name))
    return (found[0], *named, *found[1:])


def situation_named(game: Game, typed: str) -> Situation | None:
    """The situation of this name, or of this alias of a hit state, in any case."""
    key = name_key(fold(typed).chars)
    aliases = {
        name_key(fold(alias).chars): state.name for state in game.hit_states for alias in state.aliases
    }
    wanted = {key, name_key(fold(aliases[key]).chars) if key in aliases else key}
    return next((one for one in situations(game) if name_key(fold(one.name).chars) in wanted), None)


def started_in(route: Route, situation: Situation) -> Route:
    """The route begun as the situation has it, whatever hit state is written before its first move; where it
    is meaty, on the active frame that the route names."""
    first = replace(route.steps[0], state=None)
    if situation.kind is not SituationKind.MEATY:
        first = replace(first, meaty=False, meaty_frame=None)
    return Route((first, *route.steps[1:]))


def written_for(route: Route, situation: Situation) -> Route:
    """The route with the situation written before its first move, where there are words for that: what it
    needs to be read again."""
    first = replace(route.steps[0], state=situation.start.state)
    if situation.start.active_frame > 1:
        first = replace(first, meaty=True, meaty_frame=situation.start.active_frame)
    return Route((first, *route.steps[1:]))
