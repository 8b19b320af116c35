"""Links: the second move pressed once the first is over, and the frames in which the press counts.

With W = advantage - startup + 1 and a buffer of b frames, presses from b frames before the player
is free up to W - 1 frames after are accepted: W + b of them. Where W is below 1, none is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.cancels import press_clock, windows
from core.conditions import costs, notes, refusal
from core.frames import advantage, free_clock, startup
from core.model import Character, Contact, ContactKind, Game, Move, Range, Stance
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict


def link(game: Game, character: Character, first: Move, second: Move, contact: Contact) -> Verdict:
    """Whether `second` links after `first` on this contact.

    Evidence: `advantage_frames`, `startup_frames`, `window_frames` (W; `..._low/high_frames` where it
    depends on height), the first and last accepted press relative to the attacker's first free
    frame, and their number. On block, yes says that it is a true blockstring.
    """
    race = link_race(game, character, first, second, contact)
    if isinstance(race, Verdict):
        return race
    return _verdict(game, character, first, second, contact, race.startup_frames, race.lead)


@dataclass(frozen=True, slots=True)
class LinkRace:
    """The second move's startup from the player's first free frame, and the advantage it runs against."""

    startup_frames: int
    lead: Range


def link_race(
    game: Game, character: Character, first: Move, second: Move, contact: Contact
) -> LinkRace | Verdict:
    """The race of a move begun after the first is over; a verdict where it does not arise or is not known."""
    refused = refusal(game, first, second, contact) or air_to_air(first, second)
    if refused is not None:
        return refused
    speed = link_startup(character, second, contact)
    lead = advantage(game, first, contact)
    if isinstance(lead, Missing):
        return lead.verdict
    return speed.verdict if isinstance(speed, Missing) else LinkRace(speed, lead)


def air_to_air(first: Move, second: Move) -> Verdict | None:
    """Unknown where both moves are done in the air: whether there is time for two depends on the jump."""
    if first.stance is not Stance.AIRBORNE or second.stance is not Stance.AIRBORNE:
        return None
    facts = Facts(first=first.input, second=second.input)
    return Verdict(Answer.UNKNOWN, (Reason(Code.AIR_TO_AIR_LINK, facts),))


def link_startup(character: Character, second: Move, contact: Contact) -> int | Missing:
    """The second move's startup from the player's first free frame: a jump comes before an air move."""
    speed = startup(second, contact.distance)
    if isinstance(speed, Missing) or second.stance is not Stance.AIRBORNE:
        return speed
    if character.jump is None:
        return Missing("", (f"jump of {character.name}",))
    return speed + character.jump.before_frames


def window(lead_frames: int, startup_frames: int) -> int:
    """W, the frames in which the second move may begin: advantage - startup + 1.

    >>> window(6, 5), window(4, 4), window(3, 4)
    (2, 1, 0)
    """
    return lead_frames - startup_frames + 1


def _verdict(
    game: Game,
    character: Character,
    first: Move,
    second: Move,
    contact: Contact,
    speed: int,
    lead: Range,
) -> Verdict:
    lowest, highest = window(lead.low, speed), window(lead.high, speed)
    facts = Facts(
        first=first.input,
        second=second.input,
        contact=contact.kind.value,
        startup_frames=speed,
        advantage_frames=lead.low,
        window_frames=lowest,
    )
    evidence = _numbers(lead, speed, lowest, highest)
    jump: tuple[Reason, ...] = ()
    if speed != startup(second, contact.distance):
        jump = (Reason(Code.JUMP_FIRST, Facts(move=second.input, startup_frames=speed)),)
    if highest < 1:
        late = facts.plus(short_frames=1 - highest, advantage_frames=lead.high)
        would = _would_link(game, character, first, second, contact, 1 - highest)
        return Verdict(Answer.NO, (Reason(Code.LINK_TOO_LATE, late), *jump, *would), evidence)
    if lowest < 1:
        height = facts.plus(window_high_frames=highest, advantage_high_frames=lead.high)
        return Verdict(Answer.UNKNOWN, (Reason(Code.DEPENDS_ON_HEIGHT, height), *jump), evidence)
    code = Code.TRUE_STRING if contact.kind is ContactKind.BLOCK else Code.LINK_IN_TIME
    reasons = (Reason(code, facts), *jump, *notes(game, first, second, contact), *costs(second))
    buffer = game.link_buffer_frames
    if buffer is None:
        missing = Reason(Code.NUMBER_MISSING, Facts(move="", field="link_frames of [buffers]"))
        return Verdict(Answer.YES, (*reasons, missing), evidence)
    cancelled_until = last_cancel_press(game, character, first, second, contact)
    opens = -buffer if cancelled_until is None else max(-buffer, cancelled_until + 1)
    if opens > -buffer:
        reasons = (*reasons, Reason(Code.EARLY_PRESS_CANCELS, facts.plus(first_press_frames=opens)))
    presses = Facts(
        first_press_frames=opens, last_press_frames=lowest - 1, accepted_presses_frames=lowest - opens
    )
    return Verdict(Answer.YES, reasons, evidence.plus(**presses))


def _numbers(lead: Range, speed: int, lowest: int, highest: int) -> Facts:
    if lead.exact:
        return Facts(advantage_frames=lead.low, startup_frames=speed, window_frames=lowest)
    return Facts(
        advantage_low_frames=lead.low,
        advantage_high_frames=lead.high,
        startup_frames=speed,
        window_low_frames=lowest,
        window_high_frames=highest,
    )


def last_cancel_press(
    game: Game, character: Character, first: Move, second: Move, contact: Contact
) -> int | None:
    """The last press, relative to the first free frame, that a cancel or chain would take instead.

    Always below 0: the window of either ends where the first move does.
    """
    free = free_clock(first, contact)
    if isinstance(free, Missing):
        return None
    presses = [
        press_clock(first, contact, window) for window in windows(game, character, first, second, contact)
    ]
    known = [press - free for press in presses if press is not None]
    return max(known, default=None)


def _would_link(
    game: Game, character: Character, first: Move, second: Move, contact: Contact, short_frames: int
) -> tuple[Reason, ...]:
    """What would make a link that comes too late: a hit state, or a later frame of contact."""
    if contact.kind is not ContactKind.HIT or contact.state is not None or contact.active_frame > 1:
        return ()
    found = []
    for state in game.hit_states:
        verdict = link(game, character, first, second, replace(contact, state=state.name))
        if verdict.answer is Answer.YES:
            facts = Facts(first=first.input, second=second.input, state=state.name)
            found.append(
                Reason(Code.WOULD_LINK_IN_STATE, facts.plus(window_frames=verdict.evidence["window_frames"]))
            )
    last, active = (first.hits[-1].active_frames if first.hits else 0), first.active_frames or 0
    if first.stance is not Stance.AIRBORNE and first.projectile is None and short_frames < last:
        meaty = Facts(first=first.input, second=second.input, active_frame=active - last + 1 + short_frames)
        found.append(Reason(Code.WOULD_LINK_MEATY, meaty.plus(active_frames=active)))
    return tuple(found)
