"""After a knockdown: meaty timing, and jumps that land in time to block a reversal.

A move begun d frames late after a knockdown with lead K touches on its active frame
k = K - d - startup + 2; it is meaty where 1 <= k <= its active frames.
"""

from __future__ import annotations

from core.frames import advantage, contact_on, startup
from core.model import Character, Contact, Effect, Game, Move, Stance
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict


def knockdown_lead(game: Game, first: Move, contact: Contact) -> int | Verdict:
    """K, the attacker's lead after a move that knocks down; a verdict where it does not or is not known."""
    given = first.outcome(contact.state) or first.on_hit
    if given is None:
        return Missing(first.input, ("on_hit",)).verdict
    if given.effect is not Effect.KNOCKDOWN:
        return Verdict(Answer.NO, (Reason(Code.NO_KNOCKDOWN, Facts(move=first.input)),))
    lead = advantage(game, first, contact)
    return lead.verdict if isinstance(lead, Missing) else lead.low


def meaty(
    game: Game, first: Move, second: Move, contact: Contact, delay_frames: int | None = None
) -> Verdict:
    """Whether `second`, begun after a knockdown by `first`, touches the defender getting up.

    `delay_frames`: how late after the attacker is free it begins; None asks for the delays that
    do. Evidence: `lead_frames` (K), `first_delay_frames` and `last_delay_frames` of those that are
    meaty, and with a delay the `active_frame` (k) that touches.
    """
    lead = knockdown_lead(game, first, contact)
    if isinstance(lead, Verdict):
        return lead
    speed = startup(second)
    if isinstance(speed, Missing):
        return speed.verdict
    if not second.hits:
        return Missing(second.input, ("active",)).verdict
    facts = Facts(first=first.input, second=second.input, lead_frames=lead, startup_frames=speed)
    delays = [d for d in range(lead - speed + 2) if _touches(second, lead - d - speed + 2)]
    evidence = Facts(lead_frames=lead, startup_frames=speed)
    if delays:
        evidence = evidence.plus(first_delay_frames=delays[0], last_delay_frames=delays[-1])
    if delay_frames is None:
        if not delays:
            return Verdict(Answer.NO, (Reason(Code.MEATY_TOO_LATE, facts),), evidence)
        latest = facts.plus(first_delay_frames=delays[0], last_delay_frames=delays[-1])
        return Verdict(Answer.YES, (Reason(Code.MEATY, latest),), evidence)
    active_frame = lead - delay_frames - speed + 2
    facts = facts.plus(delay_frames=delay_frames, active_frame=active_frame)
    evidence = evidence.plus(active_frame=active_frame)
    if active_frame < 1:
        return Verdict(Answer.NO, (Reason(Code.MEATY_TOO_LATE, facts),), evidence)
    if not _touches(second, active_frame):
        return Verdict(Answer.NO, (Reason(Code.MEATY_OVER, facts),), evidence)
    return Verdict(Answer.YES, (Reason(Code.MEATY, facts),), evidence)


def safe_jump(
    game: Game,
    character: Character,
    first: Move,
    second: Move,
    reversal_startup_frames: int,
    contact: Contact,
) -> Verdict:
    """Whether a jump with the air attack `second` after a knockdown by `first` is a safe jump.

    It is where the attack touches a defender who gets up and blocks, and yet the jump is over
    before a reversal that starts in `reversal_startup_frames` touches. Evidence: the delays of the
    jump, in frames after the attacker is free, that do both. (Common practice, no source.)
    """
    if second.stance is not Stance.AIRBORNE:
        return Verdict(Answer.NO, (Reason(Code.NOT_AIRBORNE, Facts(move=second.input)),))
    lead = knockdown_lead(game, first, contact)
    if isinstance(lead, Verdict):
        return lead
    jump, speed = character.jump, startup(second)
    if jump is None:
        return Missing("", (f"jump of {character.name}",)).verdict
    if isinstance(speed, Missing):
        return speed.verdict
    if not second.hits:
        return Missing(second.input, ("active",)).verdict
    in_time = lead + reversal_startup_frames - 1 - jump.total_frames
    # The defender gets up on the jump's frame lead - d + 1: after the attack can be out, before the landing.
    earliest, landed = jump.before_frames + speed, jump.before_frames + jump.air_frames
    delays = [d for d in range(in_time + 1) if earliest <= lead - d + 1 <= landed]
    facts = Facts(
        first=first.input,
        second=second.input,
        lead_frames=lead,
        jump_frames=jump.total_frames,
        reversal_startup_frames=reversal_startup_frames,
    )
    evidence = Facts(lead_frames=lead, jump_frames=jump.total_frames)
    if not delays:
        return Verdict(Answer.NO, (Reason(Code.JUMP_TOO_LONG, facts),), evidence)
    found = Facts(first_delay_frames=delays[0], last_delay_frames=delays[-1])
    return Verdict(Answer.YES, (Reason(Code.SAFE_JUMP, facts.plus(**found)),), evidence.plus(**found))


def _touches(move: Move, active_frame: int) -> bool:
    return contact_on(move, active_frame) is not None
