"""What a route carries from step to step, and the one function that takes it a step further.

The check and the search both go through `follow`, so that they cannot disagree. Whether one move
follows another is asked of `core.links` and `core.cancels` with a contact that says what came
before; what they leave open is added here: gauges, what pushback adds up to, hits on somebody lying
down, delays, and movement between two moves.

A move's own hits are settled when it is known what follows: a cancel may cut them short.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.conditions import cannot_touch, juggle_count, refusal
from core.frames import contact_on, free_clock, hits, outcome
from core.links import last_cancel_press
from core.model import Contact, Effect, Game, Means, Move, Outcome
from core.notation import Step
from core.routes.joints import Joint, Judge, busy_frames
from core.routes.movement import Dash, moves_between
from core.timing import Window
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

LYING = "what it does to somebody on the ground"


@dataclass(frozen=True, slots=True)
class Start:
    """How a route begins. What is said of its first step goes before `state` and `active_frame`.

    `active_frame`: the one it touches on, gaps counted (meaty: 2 and more). `distance`: None for
    point blank. `gauges`: pairs of name and amount, where not what the game starts a round with.
    `airborne`: the defender is in the air, at juggle count 0. `corner`: game files do not say yet
    what a corner changes, and nothing is made of it.
    """

    state: str | None = None
    active_frame: int = 1
    distance: float | None = None
    corner: bool = False
    gauges: tuple[tuple[str, int], ...] = ()
    airborne: bool = False


@dataclass(frozen=True, slots=True)
class RouteState:
    """A route whose last move `move` has begun and touches like `contact`; its own hits are not yet counted.

    `move` is as it came out. `contact` has what matters for what follows (see `Judge.matter`), `hits` the
    number of hits before. `damage` is None where one is not known. `gauges`, in the game's order, are as
    they are once the move is paid for, `spent` what all moves so far cost. `distance`: between the two
    before it touches; at least that, where a pushback is not known. `lying`: it touches somebody on the
    ground; `lying_hits` have done so before it. `frames`: real frames, hitstop and super freezes
    counted, from the first move's start to this one's. `dash`: a movement since.
    """

    move: Move
    contact: Contact
    hits: int
    damage: int | None
    gauges: tuple[int, ...]
    spent: tuple[int, ...]
    distance: float
    lying: bool
    lying_hits: int
    frames: int | None
    dash: Dash | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """One way in which a step follows, and the state after it."""

    joint: Joint
    state: RouteState


def full_gauges(game: Game) -> tuple[tuple[str, int], ...]:
    """Every gauge of the game with all it holds."""
    return tuple((gauge.name, gauge.maximum) for gauge in game.gauges)


def begin(judge: Judge, step: Step, start: Start) -> RouteState | Verdict:
    """The state of a route of one step; a verdict where it cannot begin like that."""
    game = judge.game
    past = Contact(state=start.state, distance=start.distance, juggle_count=0 if start.airborne else None)
    contact = _meet(step, past)
    if not step.meaty and start.active_frame > 1:
        touched = contact_on(step.move, start.active_frame)
        if touched is None:
            return Missing(step.move.input, (f"active frame {start.active_frame}",)).verdict
        contact = replace(contact, first_hit=touched[0], active_frame=touched[1])
    impossible = cannot_touch(step.move, contact)
    if impossible is not None:
        return impossible
    given = dict(start.gauges)
    full = tuple(min(given.get(gauge.name, gauge.start), gauge.maximum) for gauge in game.gauges)
    paid = _pay(judge, full, step.move)
    if isinstance(paid, Verdict):
        return paid
    return RouteState(
        step.move,
        judge.matter(contact),
        hits=0,
        damage=0,
        gauges=paid,
        spent=judge.costs(step.move),
        distance=start.distance or 0.0,
        lying=False,
        lying_hits=0,
        frames=0,
    )


def follow(judge: Judge, state: RouteState, step: Step) -> tuple[Taken, ...] | Verdict:
    """Every way in which the step follows, by the means it names or by any, the first one preferred.

    A verdict, no or unknown, says why there is none.
    """
    move, dash = step.move, state.dash
    if not hits(move):
        return begin_dash(judge, state, step)
    joints = judge.joints(state.move, move, state.contact, dash)
    if step.joined is not None:
        joints = tuple(joint for joint in joints if joint.means is step.joined)
    if not joints:
        return judge.refusal(state.move, move, state.contact, step.joined, dash)
    tried = [_take(judge, state, step, joint) for joint in joints]
    taken = tuple(one for one in tried if isinstance(one, Taken))
    return taken or next(one for one in tried if isinstance(one, Verdict))


def _take(judge: Judge, state: RouteState, step: Step, joint: Joint) -> Taken | Verdict:
    """The state after this way of following; a verdict where what came before is against it."""
    first, move = state.move, step.move
    refused = (
        _on_the_ground(judge.game, state, move, joint)
        or _out_of_reach(judge.game, state, move, joint)
        or _too_late(first, step, joint)
    )
    if refused is not None:
        return refused
    paid = _pay(judge, gained(judge.game, state.gauges, first), move)
    if isinstance(paid, Verdict):
        return paid
    begun = None if joint.start_frames is None else joint.start_frames + (step.delay_frames or 0)
    return Taken(joint, _after(judge, state, step, joint.means, joint.last_hit, joint.rule, paid, begun))


def assume(judge: Judge, state: RouteState, step: Step) -> RouteState:
    """The state as if the step had followed all the same, and after every hit of the move before it."""
    if not hits(step.move):
        return replace(state, dash=Dash(step.move, step.move.recovery_frames or 0))
    gauges = gained(judge.game, state.gauges, state.move)
    return _after(judge, state, step, step.joined, len(state.move.hits), None, gauges, None)


def _after(
    judge: Judge,
    state: RouteState,
    step: Step,
    means: Means | None,
    last_hit: int,
    rule: str | None,
    gauges: tuple[int, ...],
    begun_frames: int | None,
) -> RouteState:
    """The state in which the step's move has begun, after the hits up to `last_hit` of the move before."""
    first, past, move = state.move, state.contact, step.move
    landed = judge.landed(past, last_hit)
    count, lying = past.juggle_count, state.lying
    if last_hit == len(first.hits):
        result = outcome(judge.game, first, past)
        effect = result.effect if isinstance(result, Outcome) else None
        count = juggle_count(first, past) if effect is Effect.LAUNCH else None
        lying = effect is Effect.KNOCKDOWN
    # How far a projectile flies; known anew once a movement has changed it.
    apart = past.distance if past.distance is None or state.dash is None else max(0.0, pushed(state))
    contact = Contact(
        distance=apart,
        hits_before=past.hits_before + landed,
        juggle_count=count,
        came_by=means,
        rules_used=past.rules_used if rule is None else (*past.rules_used, rule),
    )
    return RouteState(
        judge.begun(first, move, means),
        judge.matter(_meet(step, contact)),
        hits=state.hits + landed,
        damage=added(state.damage, judge.damage(first, past, last_hit)),
        gauges=gauges,
        spent=tuple(map(int.__add__, state.spent, judge.costs(move))),
        distance=pushed(state),
        lying=lying,
        lying_hits=state.lying_hits + (landed if state.lying else 0),
        frames=None if begun_frames is None or state.frames is None else state.frames + begun_frames,
    )


def _meet(step: Step, past: Contact) -> Contact:
    """How a step meets the defender: in its hit state, meaty where it says so, else with its first frame."""
    contact = replace(past, state=step.state) if step.state is not None else past
    frame = step.meaty_frame or step.move.active_frames
    touched = contact_on(step.move, frame) if step.meaty and frame else None
    return contact if touched is None else replace(contact, first_hit=touched[0], active_frame=touched[1])


def added(damage: int | None, more: int | None) -> int | None:
    """Damage and more of it; None where one is not known."""
    return None if damage is None or more is None else damage + more


def pushed(state: RouteState) -> float:
    """The distance once the state's move has touched."""
    return round(state.distance + (state.move.pushback_on_hit or 0), 3)


def gained(game: Game, gauges: tuple[int, ...], move: Move) -> tuple[int, ...]:
    """The gauges once the move has touched; none goes past its most."""
    if not move.gains:
        return gauges
    gains = dict(move.gains)
    return tuple(
        min(gauge.maximum, amount + gains.get(gauge.name, 0))
        for gauge, amount in zip(game.gauges, gauges, strict=True)
    )


def _pay(judge: Judge, gauges: tuple[int, ...], move: Move) -> tuple[int, ...] | Verdict:
    """The gauges once the move is paid for; a verdict where one does not hold as much."""
    if not move.costs:
        return gauges
    costs = judge.costs(move)
    for gauge, amount, cost in zip(judge.game.gauges, gauges, costs, strict=True):
        if cost > amount:
            return _no(Code.GAUGE_SHORT, move=move.input, gauge=gauge.name, amount=cost, have=amount)
    return tuple(map(int.__sub__, gauges, costs))


def _out_of_reach(game: Game, state: RouteState, move: Move, joint: Joint) -> Verdict | None:
    """Why the move does not reach after all the pushback so far; None where it does, or it is not known."""
    if move.reach is None or pushed(state) <= move.reach:
        return None
    at = replace(state.contact, distance=state.distance)
    return refusal(game, state.move, move, at, joint.last_hit)


def _on_the_ground(game: Game, state: RouteState, move: Move, joint: Joint) -> Verdict | None:
    """Why somebody on the ground is not hit again. What a hit that neither launches nor knocks down does
    to them is not known, nor what the first hits of several do."""
    if joint.last_hit < len(state.move.hits):
        return Missing(state.move.input, (LYING,)).verdict if state.lying else None
    result = outcome(game, state.move, state.contact)
    if isinstance(result, Missing) or result.effect is Effect.LAUNCH:
        return None
    if result.effect is Effect.STAND:
        return Missing(state.move.input, (LYING,)).verdict if state.lying else None
    taken = state.lying_hits + (len(state.move.hits) if state.lying else 0)
    if game.juggle is None or taken < game.juggle.downed_hits:
        return None
    return _no(Code.DOWNED_USED, move=move.input, limit=game.juggle.downed_hits)


def _too_late(first: Move, step: Step, joint: Joint) -> Verdict | None:
    delay = step.delay_frames or 0
    if not delay:
        return None
    if joint.spare_frames is None:
        return Missing("", ("cancel_window_frames of [buffers]",)).verdict
    if delay <= joint.spare_frames:
        return None
    facts = Facts(first=first.input, second=step.move.input, delay_frames=delay)
    late = Reason(Code.DELAY_TOO_LONG, facts.plus(spare_frames=joint.spare_frames))
    return Verdict(Answer.NO, (late,))


def begin_dash(judge: Judge, state: RouteState, step: Step) -> tuple[Taken, ...] | Verdict:
    """A movement begun by a rule out of the move before, or once the player is free. What follows it is
    judged against the move before it.

    How near it brings the two is the game file's `travel`. Where that is left out they may be as near
    as can be: what follows is refused for its reach only where it would not touch even then.
    """
    move, first = step.move, state.move
    if state.dash is not None:
        return _no(Code.DOES_NOT_HIT, move=state.dash.move.input)
    if move.recovery_frames is None:
        return Missing(move.input, ("recovery",)).verdict
    frames = move.recovery_frames + (step.delay_frames or 0)
    least = -(first.pushback_on_hit or 0.0)
    near = least if move.travel is None else max(least, state.distance - move.travel)
    taken: list[Taken] = []
    late: Verdict | None = None
    for joint, window in judge.into_movement(first, move, state.contact):
        if step.joined not in (None, joint.means):
            continue
        late = _too_late(first, step, joint)
        if late is None:
            taken.append(Taken(joint, replace(state, distance=near, dash=Dash(move, frames, window))))
    if step.joined in (None, Means.LINK):
        busy = busy_frames(first, state.contact)
        if busy is not None:
            # Its presses depend on what comes next: see `dash_window`.
            joint = Joint(
                Means.LINK, len(first.hits), None, Verdict(Answer.YES, (moves_between(move),)), busy, None
            )
            taken.append(Taken(joint, replace(state, distance=near, dash=Dash(move, frames))))
        elif not taken:
            return Missing(first.input, ("recovery",)).verdict
    if taken:
        return tuple(taken)
    return late or judge.refusal(first, move, state.contact, step.joined, None)


def dash_verdict(state: RouteState, joint: Joint) -> Verdict:
    """That the state's movement takes its frames, and by which rule it began out of the move before."""
    assert state.dash is not None
    move = state.dash.move
    if joint.rule is None:
        return Verdict(Answer.YES, (moves_between(move),))
    facts = Facts(rule=joint.rule, means=joint.means.value, first=state.move.input, second=move.input)
    allows = Reason(Code.RULE_ALLOWS, facts.plus(contact=state.contact.kind.value))
    return Verdict(Answer.YES, (allows, moves_between(move)))


def dash_window(judge: Judge, state: RouteState, spare_frames: int | None) -> Window | Verdict | None:
    """The presses of the state's movement that leave time for a move after it with frames to spare.

    `spare_frames`: None where nothing comes after it; begun once the player was free, it has no window then.
    """
    dash, game = state.dash, judge.game
    assert dash is not None
    if dash.out_of is not None:
        window = judge.begun_in(state.move, state.contact, dash.out_of).window
        if spare_frames is None or isinstance(window, Verdict) or window.start_gap is None:
            return window
        return replace(window, last_gap=min(window.last_gap, window.start_gap + spare_frames))
    if spare_frames is None:
        return None
    if game.link_buffer_frames is None:
        return Missing("", ("link_frames of [buffers]",)).verdict
    free = free_clock(state.move, state.contact)
    if isinstance(free, Missing):
        return free.verdict
    start = free - 1
    first = start - game.link_buffer_frames
    cancels = last_cancel_press(game, judge.character, state.move, dash.move, state.contact)
    chained = cancels is not None and start + cancels >= first
    if cancels is not None:
        first = max(first, start + cancels + 1)
    return Window(max(1, first), start + spare_frames, start, chained)


def _no(code: Code, **facts: int | float | str) -> Verdict:
    return Verdict(Answer.NO, (Reason(code, Facts(**facts)),))
