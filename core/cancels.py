"""Cancels and chains: whether one move may be begun out of another, when, and whether it combos.

Legal and combos are two answers. With d the frames by which the second move begins later than
on the first frame after hitstop, it combos if startup + d <= stun of the hit it is begun out of.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.conditions import cannot_touch, costs, notes, refusal
from core.frames import contact_clock, frames_left, startup, stun
from core.model import CancelRule, Character, Contact, ContactKind, Game, Means, Move
from core.permission import permission
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict


@dataclass(frozen=True, slots=True)
class CancelWindow:
    """When the second move may begin out of one hit of the first, by one rule.

    The delays are d, in frames after the first frame that follows hitstop. The presses are real
    frames after that hit's contact frame (0; below 0 before it). None where the game file leaves
    out the cancel window, the cancel buffer or hitstop.
    """

    rule: CancelRule
    hit: int
    first_delay_frames: int
    last_delay_frames: int | None
    first_press_frames: int | None
    last_press_frames: int | None

    @property
    def empty(self) -> bool:
        """Whether the first move is over before the second may begin."""
        return self.last_delay_frames is not None and self.last_delay_frames < self.first_delay_frames


@dataclass(frozen=True, slots=True)
class CancelAnswer:
    """The two answers on a cancel or chain; `window` is the one they speak of, None where not legal."""

    legal: Verdict
    combos: Verdict
    window: CancelWindow | None = None


def cancel(game: Game, character: Character, first: Move, second: Move, contact: Contact) -> CancelAnswer:
    """Whether `second` may be begun out of `first` on this contact, and whether it then combos.

    Of a move with several hits, the last one that allows it is spoken of, one that combos before
    one that does not. On block `combos` says whether it is a true blockstring. On whiff nothing
    combos, and the window counts from the first active frame as if it had touched.
    """
    impossible = cannot_touch(first, contact)
    if impossible is not None:
        return CancelAnswer(impossible, impossible)
    answers = [
        _out_of(game, character, first, second, contact, hit)
        for hit in range(len(first.hits), contact.first_hit - 1, -1)
    ]
    if not answers:
        unknown = Missing(first.input, ("active",)).verdict
        return CancelAnswer(unknown, unknown)
    return min(answers, key=_best_first)


def windows(
    game: Game, character: Character, first: Move, second: Move, contact: Contact
) -> tuple[CancelWindow, ...]:
    """Every window in which `second` may be begun out of `first`: by hit, then by rule."""
    found: list[CancelWindow] = []
    for hit in range(contact.first_hit, len(first.hits) + 1):
        for rule in permission(game, character, first, second, contact, hit).rules:
            window = _window(game, rule, first, contact, hit)
            if isinstance(window, CancelWindow) and not window.empty:
                found.append(window)
    return tuple(found)


def _out_of(
    game: Game, character: Character, first: Move, second: Move, contact: Contact, hit: int
) -> CancelAnswer:
    allowed = permission(game, character, first, second, contact, hit)
    if allowed.missing is not None:
        return CancelAnswer(allowed.missing.verdict, allowed.missing.verdict)
    if not allowed.rules:
        forbidden = Verdict(Answer.NO, allowed.refusals)
        return CancelAnswer(forbidden, forbidden)
    answers = [_by_rule(game, character, rule, first, second, contact, hit) for rule in allowed.rules]
    return min(answers, key=_best_first)


def _best_first(answer: CancelAnswer) -> tuple[int, int]:
    """Legal before not known before forbidden; of those alike, by whether it combos."""
    order = (Answer.YES, Answer.UNKNOWN, Answer.NO)
    return order.index(answer.legal.answer), order.index(answer.combos.answer)


def _by_rule(
    game: Game, character: Character, rule: CancelRule, first: Move, second: Move, contact: Contact, hit: int
) -> CancelAnswer:
    window = _window(game, rule, first, contact, hit)
    if isinstance(window, Missing):
        return CancelAnswer(window.verdict, window.verdict)
    facts = Facts(rule=rule.name, means=rule.means.value, first=first.input, second=second.input)
    if window.empty:
        over = Verdict(Answer.NO, (Reason(Code.MOVE_OVER, facts),))
        return CancelAnswer(over, over)
    evidence = Facts(first_start_after_hitstop_frames=window.first_delay_frames + 1)
    if window.last_delay_frames is not None:
        evidence = evidence.plus(last_start_after_hitstop_frames=window.last_delay_frames + 1)
    if window.first_press_frames is not None and window.last_press_frames is not None:
        evidence = evidence.plus(
            first_press_from_contact_frames=window.first_press_frames,
            last_press_from_contact_frames=window.last_press_frames,
        )
    if len(first.hits) > 1:
        evidence = evidence.plus(from_hit=window.hit)
    allows = Reason(Code.RULE_ALLOWS, facts.plus(contact=contact.kind.value))
    legal = Verdict(Answer.YES, (allows, *costs(second)), evidence)
    later = out_of_jump(character, rule, second)
    if isinstance(later, Missing):
        return CancelAnswer(legal, later.verdict, window)
    return CancelAnswer(legal, combos(game, first, later, contact, window), window)


def out_of_jump(character: Character, rule: CancelRule, move: Move) -> Move | Missing:
    """The move as it counts from the start of the jump, where the rule has one before it; else itself."""
    if not rule.jump:
        return move
    if character.jump is None:
        return Missing("", (f"jump of {character.name}",))
    own, cancelled = move.startup_frames, move.cancelled_startup_frames
    before = character.jump.before_frames
    return replace(
        move,
        startup_frames=None if own is None else own + before,
        cancelled_startup_frames=None if cancelled is None else cancelled + before,
    )


def _window(game: Game, rule: CancelRule, first: Move, contact: Contact, hit: int) -> CancelWindow | Missing:
    """The rule's window, cut where the first move is over or touches again."""
    if contact.kind is ContactKind.WHIFF:
        contact, hit = Contact(ContactKind.WHIFF), 1
    left = frames_left(first, contact, hit)
    if isinstance(left, Missing):
        return left
    first_delay = rule.first_frame - 1
    last_delay = rule.last_frame - 1 if rule.last_frame is not None else None
    if last_delay is None and game.cancel_window_frames is not None:
        last_delay = first_delay + game.cancel_window_frames
    if last_delay is not None or left <= first_delay:
        ends = (left - 1, _next_touch(first, contact, hit), last_delay)
        last_delay = min(end for end in ends if end is not None)
    stop = 0 if contact.kind is ContactKind.WHIFF else first.hits[hit - 1].attacker_hitstop_frames
    buffer = game.cancel_buffer_frames
    return CancelWindow(
        rule,
        hit,
        first_delay,
        last_delay,
        None if buffer is None else -buffer,
        None if stop is None or last_delay is None else stop + 1 + last_delay,
    )


def _next_touch(first: Move, contact: Contact, hit: int) -> int | None:
    """The last d before the first move's next span touches; None where none follows or is known."""
    if contact.kind is ContactKind.WHIFF or hit >= len(first.hits):
        return None
    here, following = frames_left(first, contact, hit), frames_left(first, contact, hit + 1)
    return None if isinstance(here, Missing) or isinstance(following, Missing) else here - following - 1


def combos(game: Game, first: Move, second: Move, contact: Contact, window: CancelWindow) -> Verdict:
    """Whether the second move, begun in this window, combos; on block whether it is a true blockstring.

    Evidence: `stun_frames`, `startup_frames`, and the last start and press that still combo, where known.
    """
    refused = refusal(game, first, second, contact, window.hit)
    if refused is not None:
        return refused
    race = stun_race(game, first, second, contact, window)
    if isinstance(race, Missing):
        return race.verdict
    evidence = Facts(stun_frames=race.stun_frames, startup_frames=race.startup_frames)
    facts = Facts(
        first=first.input,
        second=second.input,
        stun_frames=race.stun_frames,
        startup_frames=race.startup_frames,
        start_frame=window.first_delay_frames + 1,
        contact=contact.kind.value,
    )
    spare = race.latest_delay_frames - window.first_delay_frames
    if spare < 0:
        return Verdict(Answer.NO, (Reason(Code.STUN_ENDS, facts.plus(short_frames=-spare)),), evidence)
    if window.last_delay_frames is not None:
        last = min(race.latest_delay_frames, window.last_delay_frames)
        evidence = evidence.plus(last_combo_start_after_hitstop_frames=last + 1)
        if window.last_press_frames is not None:
            press = window.last_press_frames - window.last_delay_frames + last
            evidence = evidence.plus(last_combo_press_from_contact_frames=press)
    lasts = Reason(Code.STUN_LASTS, facts.plus(spare_frames=spare))
    jump: tuple[Reason, ...] = ()
    if window.rule.jump:
        jump = (Reason(Code.JUMP_FIRST, Facts(move=second.input, startup_frames=race.startup_frames)),)
    return Verdict(Answer.YES, (lasts, *jump, *notes(game, first, second, contact, window.hit)), evidence)


@dataclass(frozen=True, slots=True)
class StunRace:
    """The second move's startup against the stun it must touch in, and the latest d that still does."""

    startup_frames: int
    stun_frames: int
    latest_delay_frames: int


def stun_race(
    game: Game, first: Move, second: Move, contact: Contact, window: CancelWindow
) -> StunRace | Missing:
    """The race of the second move, begun in this window, against the stun of the hit it comes out of."""
    speed = startup(second, contact.distance, cancelled=window.rule.means is Means.CANCEL)
    lasts = _held(game, first, contact, window)
    if isinstance(speed, Missing):
        return speed
    return lasts if isinstance(lasts, Missing) else StunRace(speed, lasts, lasts - speed)


def _held(game: Game, first: Move, contact: Contact, window: CancelWindow) -> int | Missing:
    """How long the defender is held, from the attacker's first frame after hitstop.

    That is the stun of the hit. A projectile goes on without its owner: it holds the defender for
    as much longer as its hitstop is his alone, and its later spans hold on to him.
    """
    if first.projectile is None:
        return stun(game, first, contact, window.hit)
    here = contact_clock(first, contact, window.hit)
    stop = first.hits[window.hit - 1].attacker_hitstop_frames
    last = len(first.hits)
    ends = contact_clock(first, contact, last)
    lasts = stun(game, first, contact, last)
    own = first.hits[-1].defender_hitstop_frames
    if isinstance(here, Missing):
        return here
    if isinstance(ends, Missing):
        return ends
    if isinstance(lasts, Missing):
        return lasts
    if stop is None or own is None:
        return Missing(first.input, ("hitstop",))
    return ends + own + lasts - here - stop


def press_clock(first: Move, contact: Contact, window: CancelWindow) -> int | None:
    """The real frame of the window's last press, counted from the first move's first frame (1)."""
    clock = contact_clock(first, contact, window.hit)
    if isinstance(clock, Missing) or window.last_press_frames is None:
        return None
    return clock + window.last_press_frames
