"""How a route is played as plain values for a program. The keys are stable: INPUT_KEYS and RHYTHM_KEYS."""

from __future__ import annotations

from bot.render.card import as_text
from bot.render.inputs import arrow_line, inputs_card, numpad_line
from bot.render.rhythm_card import presses_card, unplayable_card
from bot.render.values import Value
from bot.render.wording import say_reason
from bot.results.playing import InputSheet, RhythmSheet, Unplayable
from bot.results.route import OpenRoute
from core.inputs import NEUTRAL, Plan, PlannedPress
from core.notation import format_route
from core.rhythm import TimedPress

_SHARED = {
    "route": "the moves, each with how it comes out",
    "text": "the whole answer as it is shown",
    "game, game_version, character": "whose moves they are, and the game file that was asked",
    "works": "whether the route works: true, false, or null where that is not known",
    "reasons": "a list of {code, text}: why it does not work, or is not known to; else empty",
}
INPUT_KEYS = {
    **_SHARED,
    "side, controls": "the side one faces, and the control scheme; controls is null for the usual one",
    "numpad, arrows": "the inputs in a line: numpad digits as if facing right, arrows as on the screen; null "
    "where there is no plan",
    "directions, saved": "how many directions are entered, and how many fewer than for each move by itself",
    "presses": "a list of {move, frame, directions, buttons, shared}: frame counts from the first press, "
    "directions are numpad digits as entered on this side, shared are those that a press before took too",
}
RHYTHM_KEYS = {
    **_SHARED,
    "fps": "frames a second",
    "presses": "a list of {move, means, frame, second_frame, first_frame, last_frame, at_once_frame, "
    "contact_frame, gap_frames}: frames count from the first press, gap_frames from the one before; the game "
    "accepts first_frame to last_frame, and holds what is pressed before at_once_frame until then",
    "untold": "the moves from the first one on of which it cannot be told when to press",
}


def input_values(sheet: InputSheet | Unplayable) -> dict[str, Value]:
    """The answer under INPUT_KEYS."""
    if isinstance(sheet, Unplayable):
        return {**_shared(sheet.opened, as_text(unplayable_card(sheet))), "presses": []}
    found = sheet.plan if isinstance(sheet.plan, Plan) else None
    return {
        **_shared(sheet.opened, as_text(inputs_card(sheet))),
        "side": sheet.side.value,
        "controls": sheet.scheme,
        "numpad": numpad_line(found, sheet.side) if found else None,
        "arrows": arrow_line(found) if found else None,
        "directions": found.directions if found else None,
        "saved": found.saved if found else None,
        "presses": [_planned(press, found.presses[0].frame) for press in found.presses] if found else [],
    }


def rhythm_values(sheet: RhythmSheet | Unplayable) -> dict[str, Value]:
    """The answer under RHYTHM_KEYS."""
    if isinstance(sheet, Unplayable):
        fps = sheet.opened.check.game.fps
        told: list[Value] = []
        return {**_shared(sheet.opened, as_text(unplayable_card(sheet))), "fps": fps, "presses": told}
    return {
        **_shared(sheet.opened, as_text(presses_card(sheet))),
        "fps": sheet.schedule.fps,
        "presses": [_timed(press) for press in sheet.schedule.presses],
        "untold": list(sheet.schedule.untold),
    }


def _shared(opened: OpenRoute, text: str) -> dict[str, Value]:
    checked = opened.check
    works = {"yes": True, "no": False}.get(checked.verdict.answer.value)
    reasons = () if works else checked.verdict.reasons
    return {
        "route": format_route(checked.route),
        "text": text,
        "game": checked.game.name,
        "game_version": checked.game.version,
        "character": checked.character.name,
        "works": works,
        "reasons": [
            {"code": reason.code.value, "text": say_reason(reason, checked.game)} for reason in reasons
        ],
    }


def _planned(press: PlannedPress, begin: int) -> dict[str, Value]:
    return {
        "move": press.move.input,
        "frame": press.frame - begin,
        "directions": [one.direction for one in press.entered if one.direction != NEUTRAL],
        "buttons": list(press.buttons),
        "shared": [one.entered.direction for one in press.shared],
    }


def _timed(press: TimedPress) -> dict[str, Value]:
    return {
        "move": press.input,
        "means": press.means.value if press.means else None,
        "frame": press.frame,
        "second_frame": press.second_frame,
        "first_frame": press.first_frame,
        "last_frame": press.last_frame,
        "at_once_frame": press.at_once_frame,
        "contact_frame": press.contact_frame,
        "gap_frames": press.gap_frames,
    }
