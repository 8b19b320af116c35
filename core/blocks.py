"""After a blocked move: the gap before the next one, what may be punished, and what is safe.

With G = startup + delay - advantage on block (for a cancel: blockstun), G <= 0 is a true
blockstring. Else a reversal with a startup below G beats the second move, one equal to G trades.
A blocked move is punished by what starts within -advantage frames.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.cancels import cancel, out_of_jump, stun_race
from core.conditions import cannot_touch, refusal
from core.frames import advantage, distance_after, startup
from core.links import link_race
from core.model import Character, Contact, Game, Means, Move, MoveKind, Stance
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict


@dataclass(frozen=True, slots=True)
class Gap:
    """The gap between two blocked moves, the second begun by these means. The verdict answers
    whether there is one; `gap_frames` in its evidence is G (0 or less: none)."""

    means: Means
    verdict: Verdict


def gaps(
    game: Game, character: Character, first: Move, second: Move, contact: Contact, delay_frames: int = 0
) -> tuple[Gap, ...]:
    """The gap for each way in which `second` can follow a blocked `first`: cancel or chain, then link.

    `delay_frames`: how much later than possible the second move begins. One that no rule allows
    is left out; where a number is missing, the verdict says unknown.
    """
    found = []
    answer = cancel(game, character, first, second, contact)
    window = answer.window
    if window is not None:
        delay = window.first_delay_frames + delay_frames
        if window.last_delay_frames is None or delay <= window.last_delay_frames:
            refused = refusal(game, first, second, contact, window.hit)
            later = out_of_jump(character, window.rule, second)
            race = later if isinstance(later, Missing) else stun_race(game, first, later, contact, window)
            if refused is not None:
                verdict = refused
            elif isinstance(race, Missing):
                verdict = race.verdict
            else:
                verdict = _gap(game, first, second, race.startup_frames + delay - race.stun_frames)
            found.append(Gap(window.rule.means, verdict))
    found.append(Gap(Means.LINK, _after_the_end(game, character, first, second, contact, delay_frames)))
    return tuple(found)


def _after_the_end(
    game: Game, character: Character, first: Move, second: Move, contact: Contact, delay_frames: int
) -> Verdict:
    race = link_race(game, character, first, second, contact)
    if isinstance(race, Verdict):
        return race
    speed, lead = race.startup_frames, race.lead
    if not lead.exact:
        facts = Facts(first=first.input, second=second.input, contact=contact.kind.value)
        return Verdict(
            Answer.UNKNOWN,
            (Reason(Code.DEPENDS_ON_HEIGHT, facts),),
            Facts(
                gap_low_frames=speed + delay_frames - lead.high,
                gap_high_frames=speed + delay_frames - lead.low,
            ),
        )
    return _gap(game, first, second, speed + delay_frames - lead.low)


def _gap(game: Game, first: Move, second: Move, gap_frames: int) -> Verdict:
    facts = Facts(first=first.input, second=second.input, gap_frames=gap_frames)
    evidence = Facts(gap_frames=gap_frames)
    if gap_frames <= 0:
        return Verdict(Answer.NO, (Reason(Code.NO_GAP, facts),), evidence)
    reasons = [Reason(Code.GAP, facts)]
    fastest = fastest_startup(game)
    if fastest is not None and gap_frames <= fastest:
        reasons.append(Reason(Code.FRAME_TRAP, facts.plus(fastest_startup_frames=fastest)))
    return Verdict(Answer.YES, tuple(reasons), evidence)


def fastest_startup(game: Game) -> int | None:
    """The startup of the fastest attack from the ground that anybody in the game has."""
    return min(
        (
            move.startup_frames
            for character in game.characters
            for move in answers(character)
            if move.startup_frames
        ),
        default=None,
    )


def answers(character: Character) -> tuple[Move, ...]:
    """The moves with which a character may answer from the ground: no jumping attack, no movement."""
    return tuple(
        move
        for move in character.moves
        if move.kind is not MoveKind.MOVEMENT and move.stance is not Stance.AIRBORNE
    )


@dataclass(frozen=True, slots=True)
class Punish:
    """One move that punishes: by how many frames it is faster than needed, its damage where known,
    and whether reach was judged (None: the game file leaves a reach or pushback out)."""

    move: Move
    spare_frames: int
    damage: int | None
    reaches: bool | None


@dataclass(frozen=True, slots=True)
class PunishAnswer:
    """Whether a blocked move can be punished by this character, and with what, most damage first."""

    verdict: Verdict
    moves: tuple[Punish, ...] = ()


def punish(game: Game, theirs: Move, mine: Character, contact: Contact) -> PunishAnswer:
    """Which of a character's moves punish a blocked move: startup <= -advantage, within reach.

    Where the advantage depends on height, the best that the attacker can get is taken.
    """
    impossible = cannot_touch(theirs, contact)
    lead = advantage(game, theirs, contact)
    if impossible is not None:
        return PunishAnswer(impossible)
    if isinstance(lead, Missing):
        return PunishAnswer(lead.verdict)
    evidence = Facts(advantage_on_block_frames=lead.high, free_frames=max(0, -lead.high))
    facts = Facts(move=theirs.input, character=mine.name, advantage_frames=lead.high)
    if lead.high >= 0:
        return PunishAnswer(Verdict(Answer.NO, (Reason(Code.NOT_PUNISHABLE, facts),), evidence))
    speeds = [(move, startup(move, contact.distance)) for move in answers(mine)]
    in_time = [
        Punish(move, -lead.high - speed, damage(move), _reaches(theirs, move, contact))
        for move, speed in speeds
        if not isinstance(speed, Missing) and speed <= -lead.high
    ]
    moves = tuple(
        sorted((option for option in in_time if option.reaches is not False), key=_most_damage_first)
    )
    if moves:
        return PunishAnswer(
            Verdict(Answer.YES, (Reason(Code.PUNISHES, facts.plus(moves=len(moves))),), evidence), moves
        )
    nothing = None if speeds else Missing("", ("startup",))
    unknown = next((speed for _, speed in speeds if isinstance(speed, Missing)), nothing)
    if unknown is not None:
        return PunishAnswer(unknown.verdict)
    if in_time:
        after = distance_after(theirs, contact)
        facts = facts.plus(distance=round(after or 0, 3), unit=game.distance_unit)
        return PunishAnswer(Verdict(Answer.NO, (Reason(Code.PUNISH_OUT_OF_REACH, facts),), evidence))
    fastest = min(speed for _, speed in speeds if not isinstance(speed, Missing))
    facts = facts.plus(fastest_startup_frames=fastest)
    return PunishAnswer(Verdict(Answer.NO, (Reason(Code.TOO_SLOW_TO_PUNISH, facts),), evidence))


def damage(move: Move) -> int | None:
    """The damage of all the move's hits; None where one is not known."""
    parts = [hit.damage for hit in move.hits]
    known = [part for part in parts if part is not None]
    return sum(known) if parts and len(known) == len(parts) else None


def _most_damage_first(option: Punish) -> tuple[bool, int, int]:
    return (option.reaches is None, -(option.damage or 0), option.spare_frames)


def _reaches(theirs: Move, mine: Move, contact: Contact) -> bool | None:
    after = distance_after(theirs, contact)
    if mine.projectile is not None:
        return True
    return None if after is None or mine.reach is None else after <= mine.reach


def safe(game: Game, move: Move, contact: Contact) -> Verdict:
    """Whether a blocked move is safe: nobody in the game has an attack that punishes it.

    Unknown where nobody is known to, and the file leaves out what it takes to say so of all.

    Evidence: the advantage on block and, of the moves that would punish, the fastest.
    """
    impossible = cannot_touch(move, contact)
    lead = advantage(game, move, contact)
    if impossible is not None:
        return impossible
    if isinstance(lead, Missing):
        return lead.verdict
    evidence = Facts(advantage_on_block_frames=lead.high)
    facts = Facts(move=move.input, advantage_frames=lead.high)
    answered = [(character, punish(game, move, character, contact)) for character in game.characters]
    options = [(option, character) for character, answer in answered for option in answer.moves]
    if options:
        fastest, character = max(options, key=lambda found: found[0].spare_frames)
        speed = -lead.high - fastest.spare_frames
        facts = facts.plus(punish=fastest.move.input, startup_frames=speed, character=character.name)
        return Verdict(Answer.NO, (Reason(Code.UNSAFE, facts),), evidence.plus(fastest_punish_frames=speed))
    for _, answer in answered:
        if answer.verdict.answer is Answer.UNKNOWN:
            return answer.verdict
    return Verdict(Answer.YES, (Reason(Code.SAFE, facts),), evidence)
