"""What must hold, timing apart, for a second move to touch a defender the first has just touched."""

from __future__ import annotations

from core.frames import distance_after, hits, outcome
from core.model import Contact, ContactKind, Effect, Game, HitLevel, JuggleRules, Move, Outcome
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

HITS_DOWNED = "hits-downed"
"""The tag of moves that may touch somebody lying on the ground."""


def refusal(
    game: Game, first: Move, second: Move, contact: Contact, hit: int | None = None
) -> Verdict | None:
    """The first condition that forbids or is not known; None where `second` may touch.

    `hit`: the number of the first move's last hit that lands before the second (None: all land).
    """
    if not hits(second):
        return _no(Code.DOES_NOT_HIT, move=second.input)
    impossible = cannot_touch(first, contact)
    if impossible is not None:
        return impossible
    if contact.kind is ContactKind.WHIFF:
        return _no(Code.NOTHING_TOUCHED, move=first.input)
    if second.hit_level is HitLevel.THROW:
        return _no(Code.THROW_MISSES_STUN, move=second.input)
    return _body(game, first, second, contact, hit) or _reach(first, second, contact)


def cannot_touch(move: Move, contact: Contact) -> Verdict | None:
    """Why a move cannot meet the defender like this; None where nothing the file says is against it."""
    if contact.kind is ContactKind.WHIFF:
        return None
    if not hits(move):
        return _no(Code.DOES_NOT_HIT, move=move.input)
    if contact.kind is ContactKind.BLOCK and move.hit_level in (HitLevel.THROW, HitLevel.UNBLOCKABLE):
        return _no(Code.CANNOT_BE_BLOCKED, move=move.input)
    if contact.distance is None or move.projectile is not None or move.reach is None:
        return None
    if contact.distance > move.reach:
        return _no(Code.FIRST_OUT_OF_REACH, move=move.input, distance=contact.distance, reach=move.reach)
    return None


def notes(
    game: Game, first: Move, second: Move, contact: Contact, hit: int | None = None
) -> tuple[Reason, ...]:
    """What a verdict that says yes should add: the juggle count, and how far away it still reaches.

    `hit`: as in `refusal`.
    """
    found = []
    result = _left_in(game, first, contact, hit)
    if game.juggle is not None and not isinstance(result, Missing | None):
        if result.effect is Effect.LAUNCH:
            facts = Facts(
                move=second.input, count=juggle_count(first, contact), limit=juggle_limit(game.juggle, second)
            )
            found.append(Reason(Code.JUGGLES, facts))
        elif result.effect is Effect.KNOCKDOWN:
            found.append(Reason(Code.HITS_DOWNED, Facts(move=second.input, limit=game.juggle.downed_hits)))
    pushed = distance_after(first, contact)
    if second.reach is not None and second.projectile is None and pushed is not None:
        farthest = round(second.reach - (pushed - (contact.distance or 0)), 3)
        found.append(
            Reason(Code.IN_REACH_UP_TO, Facts(move=second.input, distance=farthest, unit=game.distance_unit))
        )
    return tuple(found)


def costs(move: Move) -> tuple[Reason, ...]:
    """A reason for each gauge that the move costs."""
    return tuple(
        Reason(Code.COSTS_GAUGE, Facts(move=move.input, gauge=gauge, amount=amount))
        for gauge, amount in move.costs
    )


def juggle_count(first: Move, contact: Contact) -> int:
    """The juggle count after the first move's hit: its start for a launch, else what it adds."""
    return first.juggle.start if contact.juggle_count is None else contact.juggle_count + first.juggle.add


def juggle_limit(rules: JuggleRules, move: Move) -> int:
    """The highest juggle count at which a move still hits."""
    return rules.limit if move.juggle.limit is None else move.juggle.limit


def _left_in(game: Game, first: Move, contact: Contact, hit: int | None) -> Outcome | Missing | None:
    """How the first move leaves the defender; None on block, and while its last hit has not landed."""
    whole = contact.kind is ContactKind.HIT and hit in (None, len(first.hits))
    return outcome(game, first, contact) if whole else None


def _body(game: Game, first: Move, second: Move, contact: Contact, hit: int | None) -> Verdict | None:
    """Whether the second move hits the defender as the first leaves them: in the air, or lying down."""
    result = _left_in(game, first, contact, hit)
    if isinstance(result, Missing):
        return result.verdict
    if result is None or result.effect is Effect.STAND:
        return None
    if result.effect is Effect.KNOCKDOWN and HITS_DOWNED not in second.tags:
        return _no(Code.KNOCKED_DOWN, move=first.input, second=second.input)
    if game.juggle is None:
        return Missing("", ("juggle",)).verdict
    if result.effect is Effect.KNOCKDOWN:
        if game.juggle.downed_hits < 1:
            return _no(Code.DOWNED_LIMIT, move=second.input, limit=game.juggle.downed_hits)
        return None
    count, limit = juggle_count(first, contact), juggle_limit(game.juggle, second)
    if count > limit:
        return _no(Code.JUGGLE_LIMIT, move=second.input, count=count, limit=limit)
    return None


def _reach(first: Move, second: Move, contact: Contact) -> Verdict | None:
    if second.projectile is not None:
        return None
    after = distance_after(first, contact)
    if second.reach is not None and after is not None:
        if after > second.reach:
            return _no(Code.OUT_OF_REACH, move=second.input, distance=round(after, 3), reach=second.reach)
    elif contact.distance is not None:
        field = "reach" if second.reach is None else f"pushback_on_{contact.kind}"
        return Missing(second.input if second.reach is None else first.input, (field,)).verdict
    return None


def _no(code: Code, **facts: int | float | str) -> Verdict:
    return Verdict(Answer.NO, (Reason(code, Facts(**facts)),))
