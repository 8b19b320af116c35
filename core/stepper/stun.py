"""What one touch does to the defender, and for how many frames after hitstop."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum, auto

from core.model import Effect, Game, Move, Outcome, WhichHit
from core.stepper.sheet import NumberMissingError, known


class Condition(Enum):
    """The state the defender is in."""

    FREE = auto()
    HITSTUN = auto()
    BLOCKSTUN = auto()
    LAUNCHED = auto()
    DOWN = auto()


def block_effect(move: Move, number: int) -> tuple[Condition, int]:
    """What the move's hit of this number does when blocked: no bonus, no decay."""
    frames = known(move.hits[number - 1].blockstun_frames, f"hit {number} of {move.input}", "blockstun")
    return Condition.BLOCKSTUN, frames


def hit_effect(
    game: Game,
    move: Move,
    number: int,
    *,
    state: str | None,
    first_touch: bool,
    airborne: bool,
    hits_before: int,
    bare_advantage: Callable[[Move], int],
) -> tuple[Condition, int]:
    """What the move's hit of this number does when it lands.

    `state` names a hit state of the grounded defender; `hits_before` counts the route's hits before
    this one. Decay and bonus belong to hitstun: time in the air or on the ground has neither.
    `bare_advantage` plays a move alone with no stun at all: an advantage given as seen in play
    becomes stun by what it exceeds that. Raises NumberMissingError.
    """
    last = number == len(move.hits)
    special = None
    if last and airborne:
        special = move.on_air_hit
        if special is None:
            raise NumberMissingError(
                f"{move.input} has no outcome on a hit in the air: the stepper needs it."
            )
    elif last and state is not None:
        special = move.outcome(state)
    outcome = special or (move.on_hit if last else None)
    if outcome is not None and outcome.effect is Effect.LAUNCH:
        return Condition.LAUNCHED, known(outcome.air_frames, move.input, "frames in the air after its launch")
    if outcome is not None and outcome.effect is Effect.KNOCKDOWN:
        return Condition.DOWN, max(0, _exact_advantage(move, outcome) - bare_advantage(move))
    if special is not None:
        stun = _stun_seen_in_play(move, special, bare_advantage)
    else:
        stun = known(move.hits[number - 1].hitstun_frames, f"hit {number} of {move.input}", "hitstun")
        if state is not None and not airborne:
            stun += _bonus_frames(game, state, first_touch, last)
    decay = game.hitstun_decay_frames
    if decay:
        stun -= decay[min(hits_before, len(decay) - 1)]
    return Condition.LAUNCHED if airborne and not last else Condition.HITSTUN, max(0, stun)


def _bonus_frames(game: Game, state: str, first: bool, last: bool) -> int:
    hit_state = game.hit_state(state)
    if hit_state is None:
        raise NumberMissingError(f"{game.name} has no hit state {state!r}: the stepper needs it.")
    applies = {WhichHit.FIRST: first, WhichHit.LAST: last, WhichHit.EVERY: True}
    return known(hit_state.bonus_frames, state, "bonus") if applies[hit_state.applies_to] else 0


def _stun_seen_in_play(move: Move, outcome: Outcome, bare_advantage: Callable[[Move], int]) -> int:
    """An advantage by height is compared at its low end with the plain hit's low end."""
    advantage, plain = outcome.advantage, move.on_hit.advantage if move.on_hit else None
    if advantage is not None and not advantage.exact and plain is not None:
        return known(move.hits[-1].hitstun_frames, move.input, "hitstun") + advantage.low - plain.low
    return _exact_advantage(move, outcome) - bare_advantage(move)


def _exact_advantage(move: Move, outcome: Outcome) -> int:
    if outcome.advantage is None or not outcome.advantage.exact:
        raise NumberMissingError(
            f"{move.input} has no single {outcome.effect} advantage: the stepper needs one number."
        )
    return outcome.advantage.low
