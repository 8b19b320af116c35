"""The inputs of a route: pressed where its rhythm sheet has it, or else anywhere in the windows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from core.inputs import HAND_FRAMES, Facing, NoPlan, Plan, PlannedPress, Wanted, plan
from core.inputs.interpreter import Frame
from core.model import Move, Stance
from core.rhythm import Schedule
from core.routes import RouteCheck

ROUNDS = 2
"""At most so many plans are tried where the hands cannot press where the rhythm sheet does."""
LIMIT = 20_000
"""States looked at for each, about a second: a plan whose times are given is found long before."""


def planned(
    checked: RouteCheck, timed: Schedule, side: Facing, scheme: str | None
) -> tuple[Plan | NoPlan, bool]:
    """The plan of a route's inputs, and whether it presses where the schedule does. Moves of which the
    schedule does not know the time are entered as soon as hands can. Slow: up to some seconds."""
    gaps = [(press.gap_frames, press.gap_frames) for press in timed.presses[1:]]
    found = _with_gaps(checked, gaps, side, scheme)
    if isinstance(found, Plan) or found.unreadable:
        return found, isinstance(found, Plan)
    return _anywhere(checked, timed, side, scheme) or found, False


def _anywhere(checked: RouteCheck, timed: Schedule, side: Facing, scheme: str | None) -> Plan | None:
    """A plan that presses anywhere in the windows; None where none is found that keeps them all.

    What is accepted counts from the start of the move before, which a held press delays: so each plan shows
    from where the windows of the next one count.
    """
    held = [press.start_frame - press.frame for press in timed.presses]
    for _ in range(ROUNDS):
        found = _with_gaps(checked, _windows(timed, held), side, scheme)
        if isinstance(found, NoPlan):
            return None
        before, held = held, _held(timed, found)
        if before == held:
            return found
    return None


def _windows(timed: Schedule, held: Sequence[int]) -> list[tuple[int, int]]:
    """The accepted gaps from press to press, where each press is held for so long."""
    return [
        (
            max(1, press.first_frame - before.start_frame + hold),
            max(1, press.last_frame - before.start_frame + hold),
        )
        for (before, press), hold in zip(pairwise(timed.presses), held, strict=False)
    ]


def _held(timed: Schedule, found: Plan) -> list[int]:
    """How long each press of a plan is held before its move starts."""
    held = [0]
    for (before, press), (pressed_before, pressed) in zip(
        pairwise(timed.presses), pairwise(found.presses), strict=False
    ):
        gap = pressed.frame - pressed_before.frame - held[-1]  # from the start of the move before
        opens = press.at_once_frame
        held.append(0 if opens is None else max(0, opens - before.start_frame - gap))
    return held


def _with_gaps(
    checked: RouteCheck, gaps: Sequence[tuple[int, int]], side: Facing, scheme: str | None
) -> Plan | NoPlan:
    """The plan with each press after the first so many frames after the one before; moves beyond the known
    gaps as soon as hands can. Nothing is shared over a jump: for it the stick goes up."""
    moves = checked.route.moves
    known = [Wanted(move, *gap) for move, gap in zip(moves[1:], gaps, strict=False)]
    wanted = [Wanted(moves[0]), *known, *(Wanted(move) for move in moves[1 + len(known) :])]
    begins = [0, *(n for n in range(1, len(moves)) if _jumps(moves[n - 1], moves[n]))]
    whole: Plan | None = None
    for begin, end in pairwise([*begins, len(moves)]):
        found = plan(
            checked.game,
            checked.character,
            [Wanted(moves[begin]), *wanted[begin + 1 : end]],
            side,
            scheme,
            limit=LIMIT,
        )
        if isinstance(found, NoPlan):
            return replace(found, step=found.step + begin)
        joined = found if whole is None else _joined(whole, found, wanted[begin])
        if joined is None:
            return NoPlan(begin)
        whole = joined
    assert whole is not None
    return whole


def _jumps(before: Move, move: Move) -> bool:
    return move.stance is Stance.AIRBORNE and before.stance is not Stance.AIRBORNE


def _joined(before: Plan, after: Plan, first: Wanted) -> Plan | None:
    """One plan after another, whose first press is timed from the last one before; None where there is no
    time to enter it."""
    lead = after.presses[0].frame + HAND_FRAMES
    gap = max(first.least_frames or 0, lead)
    if first.most_frames is not None and gap > first.most_frames:
        return None
    last = before.presses[-1].frame
    shift = last + gap - after.presses[0].frame
    presses = len(before.presses)
    rest = [Frame()] * (shift - len(before.frames))
    return Plan(
        (*before.presses, *(_later(press, shift, presses) for press in after.presses)),
        (*before.frames[:shift], *rest, *after.frames),
        before.directions + after.directions,
        (
            *before.notes,
            *(
                replace(note, facts=note.facts.plus(press=int(note.facts["press"]) + presses))
                if "press" in note.facts
                else note
                for note in after.notes
                if "press" not in note.facts or note.facts["press"] != 0
            ),
        ),
    )


def _later(press: PlannedPress, frames: int, presses: int) -> PlannedPress:
    """A press so many frames and presses later."""
    return replace(
        press,
        frame=press.frame + frames,
        entered=tuple(replace(one, frame=one.frame + frames) for one in press.entered),
        took=tuple(replace(one, frame=one.frame + frames) for one in press.took),
        shared=tuple(
            replace(
                one,
                entered=replace(one.entered, frame=one.entered.frame + frames),
                presses=tuple(number + presses for number in one.presses),
            )
            for one in press.shared
        ),
    )
