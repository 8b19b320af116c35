"""What a route comes to where it ends."""

from __future__ import annotations

from dataclasses import dataclass

from core.conditions import juggle_count
from core.frames import advantage, outcome
from core.model import Effect, Outcome, Range
from core.routes.joints import Judge, busy_frames
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
    move, contact, dash = state.move, state.contact, state.dash
    window = dash.out_of if dash else None
    last_hit = window.hit if window else len(move.hits)
    result = outcome(judge.game, move, contact) if last_hit == len(move.hits) else None
    effect = result.effect if isinstance(result, Outcome) else None
    lead = advantage(judge.game, move, contact) if window is None else None
    busy = judge.begun_in(move, contact, window).start_frames if window else busy_frames(move, contact)
    frames = None
    if busy is not None and state.frames is not None:
        frames = state.frames + busy + (dash.frames if dash else 0)
    return Ending(
        hits=state.hits + judge.landed(contact, last_hit),
        damage=added(state.damage, judge.damage(move, contact, last_hit)),
        gauges=gained(judge.game, state.gauges, move),
        distance=pushed(state),
        effect=Effect.KNOCKDOWN if state.lying and effect is Effect.STAND else effect,
        juggle_count=juggle_count(move, contact) if effect is Effect.LAUNCH else None,
        lead_frames=lead.low if isinstance(lead, Range) and lead.exact else None,
        frames=frames,
    )
