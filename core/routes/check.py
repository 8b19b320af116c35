"""Whether a route works, step by step, what it comes to, and where it fails what would mend it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from core.frames import contact_clock, contact_on
from core.model import Character, Game, HitState, Move, Stance
from core.notation import NotationError, Route, Step, read_input
from core.routes.checked import Repair, RouteCheck, StepCheck
from core.routes.ending import Ending, finish
from core.routes.joints import Judge
from core.routes.state import (
    RouteState,
    Start,
    Taken,
    assume,
    begin,
    dash_verdict,
    dash_window,
    follow,
    full_gauges,
)
from core.timing import RouteChance, Spread, Window, in_rhythm, route_chance
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

TRIED = 2000
"""At most so many steps are tried, where what follows by whatever works could do so in several ways."""
REPAIRS = 3


def check(game: Game, character: Character, route: Route, start: Start | None = None) -> RouteCheck:
    """Judge a route on hit. Where a step fails, at most `REPAIRS` changes that mend it come along."""
    judge = Judge(game, character)
    return with_repairs(judge, judged(judge, route, start or Start()))


def usual_check(game: Game, character: Character, route: Route) -> RouteCheck:
    """The route as `judged_as_usual` judges it; where it fails, with what would mend it."""
    judge = Judge(game, character)
    return with_repairs(judge, judged_as_usual(judge, route))


def with_repairs(judge: Judge, found: RouteCheck) -> RouteCheck:
    """The check with what would mend the route, where it fails."""
    return found if found.works else replace(found, repairs=tuple(_repairs(judge, found)))


def presses(
    game: Game, character: Character, route: Route, start: Start | None = None
) -> tuple[StepCheck, ...]:
    """Every step judged, also after one that does not follow: as if that one had hit all the same.

    Where a route does not even begin, every step has the reason why.
    """
    judge = Judge(game, character)
    state = begin(judge, route.steps[0], start or Start())
    if isinstance(state, Verdict):
        return tuple(StepCheck(step, None, state) for step in route.steps)
    told: list[StepCheck] = []
    at = 0
    while True:
        rest = route.steps[at:]
        taken, refused = _walk(judge, rest, state)
        states = (state, *(one.state for one in taken))
        # The first of the rest is the step that failed before: its reason stands already.
        told += _told(judge, rest, states, taken, finish(judge, states[-1]))[min(at, 1) :]
        if refused is None:
            return tuple(told)
        at += len(taken) + 1
        told.append(StepCheck(route.steps[at], None, refused))
        state = assume(judge, states[-1], route.steps[at])


def reliability(check: RouteCheck, spread: Spread, bias_frames: float) -> RouteChance | Verdict:
    """The chance that these hands land the route whole, start frames carried from press to press.

    Its steps are the presses after the first. A verdict where a press has no window. The frames of a
    super freeze count in the player's rhythm. A movement's lateness is not taken off the next press.
    """
    windows: list[Window] = []
    for before, step in zip(check.steps, check.steps[1:], strict=False):
        if not isinstance(step.window, Window):
            return step.window or step.verdict
        windows.append(in_player_time(step.window, before.freeze_frames))
    if check.failing is not None:
        return check.verdict
    return route_chance(in_rhythm(windows, spread, bias_frames)) if windows else RouteChance((), 1.0)


def in_player_time(window: Window, freeze_frames: int) -> Window:
    """The window with the super freeze of the move before counted."""
    if not freeze_frames:
        return window
    start = None if window.start_gap is None else window.start_gap + freeze_frames
    return replace(
        window,
        first_gap=window.first_gap + freeze_frames,
        last_gap=window.last_gap + freeze_frames,
        start_gap=start,
    )


def judged(judge: Judge, route: Route, start: Start) -> RouteCheck:
    """The check without repairs. For many routes with one judge, which works each answer out once."""
    game = judge.game
    steps = route.steps
    first = begin(judge, steps[0], start)
    presses, directions = count_inputs(game, route.moves)
    whole = RouteCheck(
        game, judge.character, start, route, Verdict(Answer.YES, ()), (), None, (), None, (), (),
        presses, directions, _notes(route, start),
    )  # fmt: skip
    if isinstance(first, Verdict):
        return replace(whole, verdict=first, steps=(StepCheck(steps[0], None, first),), failing=0)
    taken, refused = _walk(judge, steps, first)
    states = (first, *(one.state for one in taken))
    ending = finish(judge, states[-1])
    told = _told(judge, steps, states, taken, ending)
    verdict = Verdict(Answer.YES, told[-1].verdict.reasons, _evidence(ending))
    if refused is not None:
        told = (*told, StepCheck(steps[len(taken) + 1], None, refused))
        verdict = refused
    spent = states[-1].spent
    had = tuple(have + cost for have, cost in zip(first.gauges, first.spent, strict=True))
    gained = (end - begun + paid for end, begun, paid in zip(ending.gauges, had, spent, strict=True))
    names = [gauge.name for gauge in game.gauges]
    return replace(
        whole,
        route=_joined(route, taken),
        verdict=verdict,
        steps=told,
        failing=None if refused is None else len(taken) + 1,
        ending=ending,
        spent=tuple(zip(names, spent, strict=True)),
        gained=tuple(zip(names, gained, strict=True)),
    )


def judged_as_usual(judge: Judge, route: Route) -> RouteCheck:
    """The check, without repairs, with every gauge full, on somebody who stands; where that fails and it
    works on somebody in the air, so."""
    start = Start(gauges=full_gauges(judge.game))
    found = judged(judge, route, start)
    if found.works:
        return found
    in_the_air = judged(judge, route, replace(start, airborne=True))
    return in_the_air if in_the_air.works else found


def _walk(judge: Judge, steps: Sequence[Step], first: RouteState) -> tuple[tuple[Taken, ...], Verdict | None]:
    """How the steps follow each other, as far as they do, and why they do no further.

    Where a step may follow in several ways, the first that lets all the rest follow is taken.
    """
    left = TRIED

    def onwards(taken: tuple[Taken, ...]) -> tuple[tuple[Taken, ...], Verdict | None]:
        nonlocal left
        if len(taken) + 1 == len(steps):
            return taken, None
        left -= 1
        options = follow(judge, taken[-1].state if taken else first, steps[len(taken) + 1])
        if isinstance(options, Verdict):
            return taken, options
        best: tuple[tuple[Taken, ...], Verdict | None] | None = None
        for option in options:
            found = onwards((*taken, option))
            if found[1] is None:
                return found
            if best is None or len(found[0]) > len(best[0]):
                best = found
            if left <= 0:
                break
        assert best is not None, "follow gives a verdict where there is no way"
        return best

    return onwards(())


def _told(
    judge: Judge,
    steps: Sequence[Step],
    states: Sequence[RouteState],
    taken: Sequence[Taken],
    ending: Ending,
) -> tuple[StepCheck, ...]:
    """The steps that work. States stay with the move before while a movement is under way."""
    told: list[StepCheck] = []
    for n, state in enumerate(states):
        joint = taken[n - 1].joint if n else None
        window = joint.window if joint else None
        move = steps[n].move
        if state.dash is not None and joint is not None:
            after = taken[n].joint if n < len(taken) else None
            presses = dash_window(judge, state, after.spare_frames if after else None)
            begun = joint.start_frames
            frame = None if begun is None or state.frames is None else state.frames + begun
            verdict = dash_verdict(state, joint)
            told.append(StepCheck(steps[n], joint.means, verdict, presses, frame=frame, damage=0))
            continue
        verdict = Verdict(Answer.YES, ())
        if joint is not None:
            past = states[n - 1]
            verdict = judge.verdict(past.move, move, past.contact, joint, past.dash)
        later = next((one.damage for one in states[n + 1 :] if one.dash is None), ending.damage)
        own = None if later is None or state.damage is None else later - state.damage
        touches = contact_clock(state.move, state.contact, state.contact.first_hit)
        told.append(
            StepCheck(
                steps[n],
                joint.means if joint else None,
                verdict,
                window,
                state.contact,
                state.frames,
                None if isinstance(touches, Missing) else touches - 1,
                state.move.freeze.frames if state.move.freeze else 0,
                own,
            )
        )
    return tuple(told)


def _joined(route: Route, taken: Sequence[Taken]) -> Route:
    """The route with the means by which the steps that follow do so."""
    first, *rest = route.steps
    joined = (replace(step, joined=one.joint.means) for step, one in zip(rest, taken, strict=False))
    return Route((first, *joined, *rest[len(taken) :]))


def _evidence(ending: Ending) -> Facts:
    known = {"damage": ending.damage, "hits": ending.hits, "length_frames": ending.frames}
    return Facts(**{name: value for name, value in known.items() if value is not None})


def _notes(route: Route, start: Start) -> tuple[Reason, ...]:
    """What the game file leaves out, so that nothing was made of it."""
    notes = [Reason(Code.NUMBER_MISSING, Facts(move="", field="corner"))] if start.corner else []
    for move in dict.fromkeys(route.moves):
        if not move.hits and move.recovery_frames is not None and move.travel is None:
            notes.append(Reason(Code.NUMBER_MISSING, Facts(move=move.input, field="travel")))
    return tuple(notes)


def count_inputs(game: Game, moves: Sequence[Move]) -> tuple[int, int]:
    """How many presses of buttons (several at once are one) and of directions the moves take, none shared.

    A jump is one direction; a whole turn is eight.
    """
    presses = directions = 0
    airborne = False
    for move in moves:
        try:
            shape = read_input(move.input, game.buttons)
        except NotationError:
            presses, airborne = presses + 1, move.stance is Stance.AIRBORNE
            continue
        presses += shape.pressed
        turns = {"360": 8, "720": 16}
        directions += turns.get(shape.directions, 0 if shape.directions == "5" else len(shape.directions))
        directions += move.stance is Stance.AIRBORNE and not airborne
        airborne = move.stance is Stance.AIRBORNE
    return presses, directions


# Repairs


def _repairs(judge: Judge, failed: RouteCheck) -> list[Repair]:
    """At most one change of each kind, those that mend the whole route first, then the smallest."""
    found: list[Repair] = []
    for options in (
        _other_means(failed),
        _other_moves(failed),
        _more_gauge(failed),
        _states(judge, failed),
        _meaty(failed),
    ):
        mended: Repair | None = None
        for kind, route, start in options:
            told, failing = _walked(judge, route, start)
            if failing is not None and failing <= (failed.failing or 0):
                continue
            if mended is None or (failing is None and not mended.whole):
                mended = Repair(kind, failed.failing or 0, told, start, failing is None)
            if failing is None:
                break
        if mended is not None:
            found.append(mended)
    return sorted(found, key=lambda repair: not repair.whole)[:REPAIRS]


def _walked(judge: Judge, route: Route, start: Start) -> tuple[Route, int | None]:
    """The route with the means by which its steps come out, and the number of the first that does not."""
    first = begin(judge, route.steps[0], start)
    if isinstance(first, Verdict):
        return route, 0
    taken, refused = _walk(judge, route.steps, first)
    return _joined(route, taken), None if refused is None else len(taken) + 1


Change = tuple[str, Route, Start]


def _changed(route: Route, number: int, step: Step) -> Route:
    return Route((*route.steps[:number], step, *route.steps[number + 1 :]))


def _other_means(failed: RouteCheck) -> Iterator[Change]:
    """The step, or the one before it, by whatever works; its delay left out."""
    number = failed.failing or 0
    for place in (number, number - 1):
        if place < 1:
            continue
        step = failed.route.steps[place]
        if step.joined is not None:
            yield "means", _changed(failed.route, place, replace(step, joined=None)), failed.start
        if step.delayed:
            at_once = replace(step, delayed=False, delay_frames=None)
            yield "means", _changed(failed.route, place, at_once), failed.start


def _other_moves(failed: RouteCheck) -> Iterator[Change]:
    """Other moves in place of the one that fails, the most alike first."""
    number = failed.failing or 0
    step = failed.route.steps[number]
    moves = _as_played(failed.game, failed.character, failed.route)
    for move in most_alike(step.move, moves):
        yield "move", _changed(failed.route, number, replace(step, move=move)), failed.start


def most_alike(wanted: Move, moves: Iterable[Move]) -> list[Move]:
    """The other moves that hit, those most like this one first."""

    def unlike(move: Move) -> tuple[bool, bool, bool, int]:
        apart = abs((move.startup_frames or 99) - (wanted.startup_frames or 0))
        return move.kind is not wanted.kind, move.stance is not wanted.stance, bool(move.costs), apart

    return sorted((move for move in moves if move != wanted and move.hits), key=unlike)


def _more_gauge(failed: RouteCheck) -> Iterator[Change]:
    """The same with as much more of the gauge at the start as is lacking."""
    for reason in failed.verdict.reasons:
        if reason.code is not Code.GAUGE_SHORT:
            continue
        gauge = next(one for one in failed.game.gauges if one.name == reason.facts["gauge"])
        given = dict(failed.start.gauges)
        lacks = int(reason.facts["amount"]) - int(reason.facts["have"])
        more = given | {gauge.name: given.get(gauge.name, gauge.start) + lacks}
        yield "gauge", failed.route, replace(failed.start, gauges=tuple(more.items()))


def _states(judge: Judge, failed: RouteCheck) -> Iterator[Change]:
    """The first move in a hit state of the game."""
    states: tuple[HitState, ...] = judge.game.hit_states
    first = failed.route.steps[0]
    if first.state is None and failed.start.state is None:
        for state in states:
            yield "state", _changed(failed.route, 0, replace(first, state=state.name)), failed.start


def _meaty(failed: RouteCheck) -> Iterator[Change]:
    """The first move on a later active frame, the earliest that helps; a later step has no use of it."""
    first = failed.route.steps[0]
    if failed.failing != 1 or first.meaty or failed.start.active_frame > 1 or failed.start.airborne:
        return
    if first.move.stance is Stance.AIRBORNE or first.move.projectile is not None:
        return
    for frame in range(2, (first.move.active_frames or 0) + 1):
        if contact_on(first.move, frame) is not None:
            late = replace(first, meaty=True, meaty_frame=frame)
            yield "meaty", _changed(failed.route, 0, late), failed.start


def _as_played(game: Game, character: Character, route: Route) -> tuple[Move, ...]:
    """The character's moves as the control scheme has them that the route is written in."""
    schemes = (None, *(scheme.name for scheme in game.schemes))
    for scheme in schemes:
        moves = tuple(move.under(scheme) for move in character.moves)
        if all(move in moves for move in route.moves):
            return moves
    return character.moves
