"""A move's values as the cells of a game file write them: what `core.gamefile.cells` reads, the other way."""

from __future__ import annotations

from collections.abc import Iterable

from core.gamefile.tables import state_columns
from core.model import Effect, Freeze, Hit, Move, MoveKind, Outcome, Projectile, Range


def cells_of(move: Move) -> dict[str, str]:
    """The move's columns but its input and aliases, in the order of the guide; empty where it has nothing."""
    hits, juggle = move.hits, move.juggle
    moving = move.kind is MoveKind.MOVEMENT
    return {
        "name": move.name,
        "kind": move.kind.value,
        "level": written(move.level),
        "strength": written(move.strength),
        "stance": move.stance.value,
        "hit_level": move.hit_level.value,
        "tags": written(move.tags),
        "startup": written(move.startup_frames),
        "cancelled_startup": written(move.cancelled_startup_frames),
        "freeze": written(move.freeze),
        "active": _active(hits),
        "recovery": "" if moving else written(move.recovery_frames),
        "total": written(move.recovery_frames) if moving else "",
        "on_hit": written(move.on_hit),
        "on_block": written(move.on_block),
        "on_air_hit": written(move.on_air_hit),
        **{column: written(found) for state, found in move.outcomes for column in state_columns([state])},
        "hitstun": _by_hit(hit.hitstun_frames for hit in hits),
        "blockstun": _by_hit(hit.blockstun_frames for hit in hits),
        "cancellable_hits": _cancellable(hits),
        "hitstop": _by_hit(_hitstop(hit) for hit in hits),
        "damage": _by_hit(hit.damage for hit in hits),
        "projectile": written(move.projectile),
        "reach": written(move.reach),
        "pushback_on_hit": written(move.pushback_on_hit),
        "pushback_on_block": written(move.pushback_on_block),
        "travel": written(move.travel),
        "juggle_start": written(juggle.start),
        "juggle_add": written(juggle.add),
        "juggle_limit": written(juggle.limit),
        "gain": written(move.gains),
        "cost": written(move.costs),
    }


def written(value: object) -> str:
    """Any value of the model as a game file writes it: empty for None, `;` between several.

    >>> written(Range(2, 7)), written(Range(3, 3)), written((0, 1)), written(True)
    ('2..7', '+3', '0; 1', 'yes')
    """
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:g}"
        case Range(low=low, high=high):
            return _signed(low) if low == high else f"{low}..{high}"
        case Outcome():
            return _outcome(value)
        case Freeze(frames=frames, before_frames=before):
            return f"{frames} after {before}"
        case Projectile(speed=speed):
            return written(speed) or "yes"
        case frozenset():
            return "; ".join(sorted(map(written, value)))
        case (str() as name, int() as amount):
            return f"{name} {amount}"
        case tuple():
            return "; ".join(map(written, value))
    return str(value)


def _signed(advantage: int) -> str:
    return f"{advantage:+}" if advantage else "0"


def _outcome(outcome: Outcome) -> str:
    advantage = outcome.advantage
    match outcome.effect:
        case Effect.LAUNCH:
            return f"launch {written(outcome.air_frames)}".rstrip()
        case Effect.KNOCKDOWN:
            exact = advantage is not None and advantage.exact
            return f"KD {advantage.low if advantage and exact else written(advantage)}".rstrip()
        case Effect.STAND:
            return written(advantage)


def _active(hits: tuple[Hit, ...]) -> str:
    spans = (f"({hit.gap_frames})" * (n > 0) + str(hit.active_frames) for n, hit in enumerate(hits))
    return "".join(spans)


def _by_hit(values: Iterable[int | str | None]) -> str:
    """One value for each hit, ? for unknown; empty where none is known."""
    cells = [written(value) or "?" for value in values]
    return "" if set(cells) <= {"?"} else "; ".join(cells)


def _hitstop(hit: Hit) -> str:
    attacker, defender = hit.attacker_hitstop_frames, hit.defender_hitstop_frames
    if attacker == defender:
        return written(attacker)
    return f"{written(attacker) or '?'}/{written(defender) or '?'}"


def _cancellable(hits: tuple[Hit, ...]) -> str:
    if any(hit.cancellable is None for hit in hits[:-1]):
        return ""
    return "; ".join(str(n) for n, hit in enumerate(hits, start=1) if hit.cancellable) or "none"
