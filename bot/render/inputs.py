"""What to enter for a route: in numpad, in arrows and in words, what is shared, and what could go wrong.

Numpad digits and names (forward, back) are as if facing right, and so the same on both sides; arrows point
where the stick goes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bot.render.card import Card, Group, source_of
from bot.render.wording import Fact, say
from bot.results.playing import InputSheet
from core.inputs import (
    HAND_FRAMES,
    NAMES,
    NEUTRAL,
    Facing,
    NoPlan,
    Note,
    NoteCode,
    Plan,
    PlannedPress,
    facing,
)
from core.model import Means, Stance
from core.notation import Press, Route

ARROWS = {1: "↙", 2: "↓", 3: "↘", 4: "←", 5: "•", 6: "→", 7: "↖", 8: "↑", 9: "↗"}


def inputs_card(sheet: InputSheet) -> Card:
    """The card of a route's inputs."""
    checked, found = sheet.opened.check, sheet.plan
    source = source_of(checked.game, checked.character)
    if not isinstance(found, Plan):
        return Card(_no_plan(sheet, found), (), (), source)
    numpad = numpad_line(found, sheet.side)
    side = "arrows-left" if sheet.side is Facing.LEFT else "arrows-right"
    enter = (say("inputs", side, arrows=arrow_line(found)), say("inputs", "numpad", numpad=numpad))
    groups = {
        "enter": enter,
        "hands": tuple(_words(found, sheet.side, checked.route)),
        "shared": tuple(_shared(found, sheet.side)),
        "when": tuple(_when(sheet, found)),
        "watch": tuple(dict.fromkeys(_notes(found.notes, sheet.side, checked.game.fps))),
    }
    told = tuple(Group(say("inputs-questions", name), lines) for name, lines in groups.items() if lines)
    return Card(_lead(sheet, found, numpad), told, (), source)


def numpad_line(found: Plan, side: Facing) -> str:
    """The inputs in numpad: what was entered already is not written again.

    A held direction stands before its button, as in "5MP, 2MP, 6HP".
    """
    return ", ".join(
        _pressed(found, number, "".join(map(str, _digits(press, side))), "")
        for number, press in enumerate(found.presses)
    )


def arrow_line(found: Plan) -> str:
    """The same in arrows, as on the screen."""
    return ", ".join(
        _pressed(found, number, "".join(ARROWS[digit] for digit in _digits(press, Facing.RIGHT)), " ")
        for number, press in enumerate(found.presses)
    )


def _pressed(found: Plan, number: int, directions: str, between: str) -> str:
    press = found.presses[number]
    buttons = "+".join(press.buttons)
    if press.move.stance is not Stance.AIRBORNE:
        return f"{directions}{between if buttons else ''}{buttons}"
    jump = say("inputs", "jump") if between and _jumps(found, number) else ""
    return f"{jump}j.{directions if _moved(press) else ''}{buttons}"


def _digits(press: PlannedPress, side: Facing) -> tuple[int, ...]:
    """The directions to write for a press: those entered for it, or the one that it is pressed with."""
    entered = [facing(one.direction, side) for one in press.entered]
    turned = tuple(digit for digit in entered if digit != NEUTRAL)
    at_rest = press.form is None and press.held == NEUTRAL and bool(press.buttons)
    if turned and at_rest:
        return (*turned, NEUTRAL)
    return turned or (facing(press.held, side),)


def _moved(press: PlannedPress) -> bool:
    """Whether a direction is entered for the press."""
    return any(one.direction != NEUTRAL for one in press.entered)


def _jumps(found: Plan, number: int) -> bool:
    """Whether the player leaves the ground for this press."""
    before = found.presses[number - 1].move.stance if number else Stance.STANDING
    return found.presses[number].move.stance is Stance.AIRBORNE and before is not Stance.AIRBORNE


def _lead(sheet: InputSheet, found: Plan, numpad: str) -> str:
    count = say(
        "inputs-leads", "direction" if found.directions == 1 else "directions", count=found.directions
    )
    motions = any(sum(one.direction != NEUTRAL for one in press.entered) > 1 for press in found.presses)
    if sheet.scheme is not None and found.saved <= 0 and not motions:
        return say("inputs-leads", "simple", numpad=numpad, scheme=sheet.scheme)
    key = "saved" if found.saved > 0 else "alone" if found.directions else "none"
    return say("inputs-leads", key, numpad=numpad, count=count, saved=found.saved)


def _no_plan(sheet: InputSheet, found: NoPlan | None) -> str:
    if found is None:
        return say("inputs-leads", "failed")
    moves = sheet.opened.check.route.moves
    after = moves[found.step - 1].input if found.step else None
    key = "unreadable" if found.unreadable else "impossible" if found.complete else "unfinished"
    return say("inputs-leads", key, move=moves[found.step].input, after=after)


def _words(found: Plan, side: Facing, route: Route) -> Iterator[str]:
    """A sentence for each press."""
    kept = {
        int(note.facts["press"]): _name(int(note.facts["direction"]), side)
        for note in found.notes
        if note.code is NoteCode.KEEP_HELD
    }
    for number, press in enumerate(found.presses):
        turned = [_name(one.direction, side) for one in press.entered if one.direction != NEUTRAL]
        let_go = press.held == NEUTRAL and bool(press.entered)
        if not press.buttons:
            key = "movement"
        elif press.move.stance is Stance.AIRBORNE and not _moved(press):
            key = "air"
        elif let_go:
            key = "motion-let-go" if turned else "let-go"
        elif turned:
            key = "single" if len(turned) == 1 else "motion"
        else:
            key = "plain" if press.held == NEUTRAL else "held"
        line = say(
            "inputs",
            key,
            number=number + 1,
            move=press.move.input,
            buttons="+".join(press.buttons),
            directions=", ".join(turned),
            direction=_name(press.held, side),
        )
        if number in kept:
            line += say("inputs", "until", direction=kept[number])
        done = route.steps[number].press
        if press.keep or done is Press.HOLD:
            line += say("inputs", "keep")
        if done is Press.RELEASE:
            line += say("inputs", "release")
        yield line + (say("inputs", "jumps") if _jumps(found, number) else "")


def _shared(found: Plan, side: Facing) -> Iterator[str]:
    """Which directions each press takes that were entered for one before it."""
    for press in found.presses:
        if press.shared:
            names = ", ".join(_name(one.entered.direction, side) for one in press.shared)
            before = dict.fromkeys(found.presses[one.presses[-1]].move.input for one in press.shared)
            yield say("inputs", "shared", move=press.move.input, directions=names, after=" and ".join(before))


def _when(sheet: InputSheet, found: Plan) -> Iterator[str]:
    """When to enter what is cancelled or chained into, and where that stands."""
    timed, steps = sheet.schedule, sheet.opened.check.route.steps
    for before, press, planned, step in zip(
        timed.presses, timed.presses[1:], found.presses[1:], steps[1:], strict=False
    ):
        if step.delayed:
            late = press.frame - before.frame
            yield say("inputs", "delayed", timed.fps, move=press.input, after=before.input, frames=late)
        elif press.means in (Means.CANCEL, Means.CHAIN):
            opens = press.first_frame - before.frame
            hands = HAND_FRAMES * (1 + sum(one.direction != NEUTRAL for one in planned.entered))
            key = "early" if opens <= hands else "not-before"
            yield say("inputs", key, timed.fps, move=press.input, after=before.input, frames=max(opens, 1))
    if any(press.means is Means.LINK for press in timed.presses[1:]):
        yield say("inputs", "timed")
    if not sheet.as_scheduled:
        yield say("inputs", "elsewhere")
    if timed.untold:
        yield say("inputs", "unknown", move=timed.untold[0])


def _notes(notes: Iterable[Note], side: Facing, fps: float) -> Iterator[str]:
    for note in notes:
        if note.code is NoteCode.RIGHT_AFTER:  # of presses whose time is not known: it is no advice there
            continue
        facts: dict[str, Fact] = dict(note.facts)
        if "direction" in facts:
            facts["direction"] = _name(int(str(facts["direction"])), side)
        if "directions" in facts:
            facts["directions"] = "".join(str(facing(int(digit), side)) for digit in str(facts["directions"]))
        if facts.get("instead") == "":
            facts["instead"] = say("inputs-notes", "nothing")
        yield say("inputs-notes", note.code.value, fps, **facts)


def _name(direction: int, side: Facing) -> str:
    return NAMES[facing(direction, side)]
