"""A move's numbers in play: when it touches, when it is over, the stun it causes and the advantage it leaves.

The arithmetic, with A the active frames from first to last and R the recovery:

- total = startup - 1 + A + R; the attacker's first free frame is total + hitstops + 1.
- hitstun after hitstop = on_hit + (A_last - 1) + R, the same for every frame of contact.
- contact on the k-th frame of the last span adds k - 1 to the advantage.

Every function returns the number, or `Missing` with what the game file leaves out.
"""

from __future__ import annotations

import math

from core.model import (
    Contact,
    ContactKind,
    Effect,
    Game,
    Hit,
    HitState,
    Move,
    MoveKind,
    Outcome,
    Range,
    WhichHit,
)
from core.verdict import Missing


def startup(move: Move, distance: float | None = None, cancelled: bool = False) -> int | Missing:
    """The frame on which a move first touches: its startup, and for a projectile the way to go.

    `cancelled`: the move was cancelled into, and may have a startup of its own then.
    """
    frames = move.cancelled_startup_frames if cancelled else None
    if frames is None:
        frames = move.startup_frames
    if frames is None:
        return Missing(move.input, ("startup",))
    travel = travel_frames(move, distance)
    return travel if isinstance(travel, Missing) else frames + travel


def travel_frames(move: Move, distance: float | None) -> int | Missing:
    """How long a projectile flies over `distance`; 0 at point blank and for other moves."""
    if move.projectile is None or not distance:
        return 0
    if not move.projectile.speed:
        return Missing(move.input, ("projectile speed",))
    return math.ceil(distance / move.projectile.speed)


def span_start(move: Move, hit: int) -> int | Missing:
    """The first frame of the `hit`-th active span (1 is the first), counted in the move's own frames."""
    missing = tuple(
        field
        for field, known in (("startup", move.startup_frames is not None), ("active", bool(move.hits)))
        if not known
    )
    if missing or move.startup_frames is None:
        return Missing(move.input, missing)
    before = sum(span.gap_frames + span.active_frames for span in move.hits[: hit - 1])
    return move.startup_frames + before + move.hits[hit - 1].gap_frames


def contact_frame(move: Move, contact: Contact, hit: int) -> int | Missing:
    """The move's own frame on which its `hit`-th span touches, hitstop left out."""
    start = span_start(move, hit)
    travel = travel_frames(move, contact.distance)
    if isinstance(start, Missing):
        return start
    if isinstance(travel, Missing):
        return travel
    return start + travel + (contact.active_frame - 1 if hit == contact.first_hit else 0)


def contact_on(move: Move, active_frame: int) -> tuple[int, int] | None:
    """The span and the frame in it that the move's `active_frame`-th active frame is, gaps counted.

    None where that frame lies in a gap or past the last span: nothing touches then.
    """
    left = active_frame
    for number, span in enumerate(move.hits, start=1):
        left -= span.gap_frames
        if left < 1:
            return None
        if left <= span.active_frames:
            return number, left
        left -= span.active_frames
    return None


def frames_left(move: Move, contact: Contact, hit: int) -> int | Missing:
    """How many frames the move still has after its `hit`-th span touches, hitstop left out.

    Below 1 where it is over by then, as with a projectile from far away. A projectile's later
    spans wait while the defender is frozen; its owner does not.
    """
    touches = contact_frame(move, contact, hit)
    if isinstance(touches, Missing):
        return touches
    if move.total_frames is None:
        return Missing(move.input, ("recovery",))
    waits = lead_by_hitstop(move, contact, before=hit) if move.projectile else 0
    return waits if isinstance(waits, Missing) else move.total_frames - touches - waits


def landed(move: Move, contact: Contact) -> tuple[Hit, ...]:
    """The spans that touch; none on whiff."""
    return () if contact.kind is ContactKind.WHIFF else move.hits[contact.first_hit - 1 :]


def lead_by_hitstop(move: Move, contact: Contact, before: int | None = None) -> int | Missing:
    """Frames for which hitstop holds the defender longer than the attacker, over the hits that land.

    0 unless the two differ, as with a projectile. `before`: only the hits before that one.
    """
    lead = 0
    for hit in landed(move, contact) if before is None else move.hits[contact.first_hit - 1 : before - 1]:
        if hit.attacker_hitstop_frames == hit.defender_hitstop_frames and move.projectile is None:
            continue
        if hit.attacker_hitstop_frames is None or hit.defender_hitstop_frames is None:
            return Missing(move.input, ("hitstop",))
        lead += hit.defender_hitstop_frames - hit.attacker_hitstop_frames
    return lead


def contact_clock(move: Move, contact: Contact, hit: int) -> int | Missing:
    """The real frame, hitstop counted, on which the `hit`-th span touches (the move's first frame is 1).

    A super freeze of the move itself is left out, here and in `free_clock`: it shifts both alike.
    """
    touches = contact_frame(move, contact, hit)
    if isinstance(touches, Missing):
        return touches
    earlier = move.hits[contact.first_hit - 1 : hit - 1] if contact.kind is not ContactKind.WHIFF else ()
    stops = [
        span.defender_hitstop_frames if move.projectile else span.attacker_hitstop_frames for span in earlier
    ]
    known = [stop for stop in stops if stop is not None]
    return touches + sum(known) if len(known) == len(stops) else Missing(move.input, ("hitstop",))


def free_clock(move: Move, contact: Contact) -> int | Missing:
    """F, the attacker's first free real frame: total + its hitstops of all hits that landed + 1."""
    if move.total_frames is None:
        fields = (
            ("startup", move.startup_frames),
            ("active", move.active_frames),
            ("recovery", move.recovery_frames),
        )
        return Missing(move.input, tuple(field for field, frames in fields if frames is None))
    stops = [hit.attacker_hitstop_frames for hit in landed(move, contact)]
    known = [stop for stop in stops if stop is not None]
    return (
        move.total_frames + sum(known) + 1 if len(known) == len(stops) else Missing(move.input, ("hitstop",))
    )


def outcome(game: Game, move: Move, contact: Contact) -> Outcome | Missing:
    """What the move's hits lead to once the last has touched on its first frame: effect and numbers.

    Hit state and decay are counted in: they change hitstun, not the time in the air or lying down.
    Meaty and distance are not (see `advantage`).
    """
    airborne = contact.juggle_count is not None
    given = move.on_air_hit if airborne else move.outcome(contact.state)
    base = given or (None if airborne else move.on_hit)
    if base is None:
        return Missing(move.input, ("on_air_hit" if airborne else "on_hit",))
    if base.effect is Effect.LAUNCH:
        return base if base.air_frames is not None else Missing(move.input, ("air time of on_hit",))
    if base.advantage is None:
        return Missing(move.input, ("on_hit",))
    if base.effect is Effect.KNOCKDOWN:
        return base
    last = len(move.hits)
    bonus = 0 if given else _bonus(game, contact, last, last)
    if isinstance(bonus, Missing):
        return bonus
    return Outcome(Effect.STAND, base.advantage + (bonus - _decay(game, contact, last)))


def stun(game: Game, move: Move, contact: Contact, hit: int) -> int | Missing:
    """Frames of stun, after hitstop, that the `hit`-th span causes: hitstun, air time or blockstun."""
    last = len(move.hits)
    if not 1 <= hit <= last:
        return Missing(move.input, ("active",))
    span = move.hits[hit - 1]
    if contact.kind is ContactKind.BLOCK:
        return _known(span.blockstun_frames, move, f"blockstun of hit {hit}")
    if hit < last:
        bonus = _bonus(game, contact, hit, last)
        frames = _known(span.hitstun_frames, move, f"hitstun of hit {hit}")
        if isinstance(frames, Missing):
            return frames
        return bonus if isinstance(bonus, Missing) else frames + bonus - _decay(game, contact, hit)
    result = outcome(game, move, contact)
    if isinstance(result, Missing):
        return result
    if result.air_frames is not None:
        return result.air_frames
    if result.effect is Effect.KNOCKDOWN or result.advantage is None:
        return 0
    plain = move.on_hit.advantage if move.on_hit else None
    if span.hitstun_frames is not None and plain is not None:
        return span.hitstun_frames + result.advantage.low - plain.low
    return _stun_from(result.advantage, move, hit)


def advantage(game: Game, move: Move, contact: Contact) -> Range | Missing:
    """How many frames the attacker is free before the defender, as seen in play.

    After a launch: before the defender can no longer be hit in the air. After a knockdown: before
    the defender can be hit standing up. A range where it depends on the height of contact.
    """
    late = _late_by(move, contact)
    if isinstance(late, Missing):
        return late
    if contact.kind is ContactKind.BLOCK:
        return move.on_block + late if move.on_block is not None else Missing(move.input, ("on_block",))
    result = outcome(game, move, contact)
    if isinstance(result, Missing):
        return result
    if result.advantage is not None:
        return result.advantage + late
    if result.air_frames is None:
        return Missing(move.input, ("on_hit",))
    touches = contact_frame(move, contact, len(move.hits))
    lead = lead_by_hitstop(move, contact)
    if isinstance(touches, Missing):
        return touches
    if isinstance(lead, Missing):
        return lead
    if move.total_frames is None:
        return Missing(move.input, ("recovery",))
    frames = result.air_frames - (move.total_frames - touches) + lead
    return Range(frames, frames)


def distance_after(move: Move, contact: Contact) -> float | None:
    """The distance between the two after the move's pushback, from point blank if none is given."""
    pushed = move.pushback_on_block if contact.kind is ContactKind.BLOCK else move.pushback_on_hit
    return None if pushed is None else (contact.distance or 0) + pushed


def hits(move: Move) -> bool:
    """Whether the move can touch anybody at all."""
    return move.kind is not MoveKind.MOVEMENT


def _stun_from(advantage: Range, move: Move, hit: int) -> int | Missing:
    """Stun that leaves this advantage: advantage + (A_last - 1) + R, less the lead by hitstop."""
    at_once = Contact()
    touches = contact_frame(move, at_once, hit)
    lead = lead_by_hitstop(move, at_once)
    if isinstance(touches, Missing):
        return touches
    if isinstance(lead, Missing):
        return lead
    if move.total_frames is None or not advantage.exact:
        return Missing(move.input, (f"hitstun of hit {hit}",))
    return advantage.low + move.total_frames - touches - lead


def _late_by(move: Move, contact: Contact) -> int | Missing:
    """Frames by which the last contact comes later than at point blank on the first active frame."""
    travel = travel_frames(move, contact.distance)
    if isinstance(travel, Missing):
        return travel
    meaty = contact.active_frame - 1 if contact.first_hit >= len(move.hits) else 0
    if contact.first_hit == 1:
        return travel + meaty
    whole = lead_by_hitstop(move, Contact(contact.kind))
    rest = lead_by_hitstop(move, contact)
    if isinstance(whole, Missing):
        return whole
    return rest if isinstance(rest, Missing) else travel + meaty + rest - whole


def _bonus(game: Game, contact: Contact, hit: int, last: int) -> int | Missing:
    if contact.state is None:
        return 0
    state = game.hit_state(contact.state)
    if state is None or state.bonus_frames is None:
        return Missing("", (f"bonus_frames of {contact.state}",))
    return state.bonus_frames if _applies(state, hit, contact.first_hit, last) else 0


def _applies(state: HitState, hit: int, first: int, last: int) -> bool:
    match state.applies_to:
        case WhichHit.FIRST:
            return hit == first
        case WhichHit.LAST:
            return hit == last
        case WhichHit.EVERY:
            return True


def _decay(game: Game, contact: Contact, hit: int) -> int:
    if not game.hitstun_decay_frames:
        return 0
    number = contact.hits_before + hit - contact.first_hit
    return game.hitstun_decay_frames[min(number, len(game.hitstun_decay_frames) - 1)]


def _known(frames: int | None, move: Move, field: str) -> int | Missing:
    return Missing(move.input, (field,)) if frames is None else frames
