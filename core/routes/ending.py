"""What a route comes to where it ends."""

from __future__ import annotations

from dataclasses import dataclass

from core.cancels import CancelWindow
from core.conditions import juggle_count
from core.frames import advantage, outcome
from core.model import Effect, Outcome, Range
from core.routes.joints import Judge, busy_frames
from core.routes.movement import Dash
from core.routes.state import RouteState, added, gained, pushed


@dataclass(frozen=True, slots=True)
class Ending:
    """What a route comes to that ends with its last move, all of whose hits land.

    `effect`: how it leaves the defender, `lead_frames`: the advantage with it; None where not known or
    not one number. `frames`: real frames from the first press until the player is free.
    """

    hits: int
    damage: int | None
    gauges: tuple[int, ...]
    distance: float
    effect: Effect | None
    juggle_count: int | None
    lead_frames: int | None
    frames: int | None


def finish(judge: Judge, state: RouteState) -> Ending:
    """What the route comes to where it ends here. A movement at its end adds its frames alone; begun out
    of the last move, it leaves a lead that is not known, and gives up the hits still to come."""
    move, contact = state.move, state.contact
    if state.dash is not None and state.dash.out_of is not None:
        return _cut_short(judge, state, state.dash, state.dash.out_of)
    result, lead = outcome(judge.game, move, contact), advantage(judge.game, move, contact)
    busy = busy_frames(move, contact)
    frames = None if busy is None or state.frames is None else state.frames + busy
    if frames is not None and state.dash:
        frames += state.dash.frames
    effect = result.effect if isinstance(result, Outcome) else None
    return Ending(
        hits=state.hits + judge.landed(contact, len(move.hits)),
        damage=added(state.damage, judge.damage(move, contact, len(move.hits))),
        gauges=gained(judge.game, state.gauges, move),
        distance=pushed(state),
        effect=Effect.KNOCKDOWN if state.lying and effect is Effect.STAND else effect,
        juggle_count=juggle_count(move, contact) if effect is Effect.LAUNCH else None,
        lead_frames=lead.low if isinstance(lead, Range) and lead.exact else None,
        frames=frames,
    )


def _cut_short(judge: Judge, state: RouteState, dash: Dash, window: CancelWindow) -> Ending:
    """What a route comes to that ends with a movement begun out of its last move."""
    move, contact = state.move, state.contact
    begun = judge.begun_in(move, contact, window).start_frames
    whole = window.hit == len(move.hits)
    result = outcome(judge.game, move, contact) if whole else None
    effect = result.effect if isinstance(result, Outcome) else None
    return Ending(
        hits=state.hits + judge.landed(contact, window.hit),
        damage=added(state.damage, judge.damage(move, contact, window.hit)),
        gauges=gained(judge.game, state.gauges, move),
        distance=pushed(state),
        effect=Effect.KNOCKDOWN if state.lying and effect is Effect.STAND else effect,
        juggle_count=juggle_count(move, contact) if effect is Effect.LAUNCH else None,
        lead_frames=None,
        frames=None if begun is None or state.frames is None else state.frames + begun + dash.frames,
    )
