"""A checked route and found routes as plain values for a program. The keys are stable: see the KEYS."""

from __future__ import annotations

from bot.render.card import as_text
from bot.render.route_check import check_answer, landing, link_frames, route_card
from bot.render.route_find import finding_card
from bot.render.values import Value
from bot.render.wording import say_reason
from bot.results.finding import Choice, Finding
from bot.results.route import OpenRoute
from core.notation import format_route
from core.routes import Repair, RouteCheck, StepCheck
from core.timing import Window

CHECK_KEYS = {
    "answer": '"yes" where the route works, else "no" or "unknown"',
    "route": "the route, with the means by which its steps come out",
    "damage, hits": "of the whole route; null where it does not work, or a number is missing",
    "frames, seconds": "from the first press until the player is free, of the steps that work",
    "spent, gained": "by the gauge's name",
    "presses, directions": "to enter for all of it, none shared",
    "effect, lead_frames, distance": "how it leaves the defender (stand, launch, knockdown), the frames the "
    "player is free before they are, and how far apart the two are",
    "chance": "that all of it lands, from 0 to 1, with typical hands; null where it is not known",
    "steps": "a list of {move, means, answer, first_gap_frames, last_gap_frames, accepted_frames, "
    "window_frames, damage, reasons}; gaps from the press before, window_frames of links alone",
    "failing": "the number, from 0, of the first step that does not work; null where all do",
    "repairs": "a list of {kind, step, route, works}: small changes with which that step works",
    "reasons": "why, as a list of {code, text}, the decisive one first; of a route that fails",
    "text": "the whole answer as it is shown",
    "game, game_version, character": "the game file that was asked, and whose moves they are",
}
FIND_KEYS = {
    "aim": "damage, expected, reliable or shortest",
    "starter": "the first move; empty for any",
    "routes": "the best first: a list of {route, damage, chance, expected_damage, seconds, spent, hard, "
    "role}; hard is {first, second, chance} of the press that lands least often, or null; role is surest, "
    "middle, most, average, shortest or only for those that the text offers, else null",
    "complete": "whether nothing better exists within what was asked",
    "left_out": "moves that were not tried, since the game file lacks a number of theirs",
    "text": "the whole answer as it is shown",
    "game, game_version, character": "the game file that was asked, and whose moves they are",
}


def check_values(opened: OpenRoute) -> dict[str, Value]:
    """A checked route under CHECK_KEYS."""
    checked = opened.check
    ending, works = checked.ending, checked.works
    left = ending if works else None
    return {
        "answer": check_answer(checked).value,
        "route": format_route(checked.route),
        "damage": checked.damage,
        "hits": left.hits if left else None,
        "frames": checked.frames,
        "seconds": None if checked.seconds is None else round(checked.seconds, 3),
        "spent": dict(checked.spent),
        "gained": dict(checked.gained),
        "presses": checked.presses,
        "directions": checked.directions,
        "effect": left.effect.value if left and left.effect else None,
        "lead_frames": left.lead_frames if left else None,
        "distance": left.distance if left else None,
        "chance": _rounded(landing(opened)) if works else None,
        "steps": [_step(checked, step) for step in checked.steps],
        "failing": checked.failing,
        "repairs": [_repair(repair) for repair in checked.repairs],
        "reasons": [] if works else _reasons(checked, checked.steps[-1]),
        "text": as_text(route_card(opened)),
        "game": checked.game.name,
        "game_version": checked.game.version,
        "character": checked.character.name,
    }


def find_values(found: Finding) -> dict[str, Value]:
    """Found routes under FIND_KEYS."""
    return {
        "aim": found.aim.value,
        "starter": found.starter,
        "routes": [_choice(one) for one in found.routes],
        "complete": found.complete,
        "left_out": list(found.left_out),
        "text": as_text(finding_card(found)),
        "game": found.game.name,
        "game_version": found.game.version,
        "character": found.character.name,
    }


def _step(checked: RouteCheck, step: StepCheck) -> dict[str, Value]:
    window = step.window if isinstance(step.window, Window) else None
    linked = window is not None and step.means is not None and step.means.value == "link"
    return {
        "move": step.step.move.input,
        "means": step.means.value if step.means else None,
        "answer": step.verdict.answer.value,
        "first_gap_frames": window.first_gap if window else None,
        "last_gap_frames": window.last_gap if window else None,
        "accepted_frames": window.frames if window else None,
        "window_frames": link_frames(window) if window and linked else None,
        "damage": step.damage,
        "reasons": _reasons(checked, step),
    }


def _reasons(checked: RouteCheck, step: StepCheck) -> list[Value]:
    return [
        {"code": reason.code.value, "text": say_reason(reason, checked.game)}
        for reason in step.verdict.reasons
    ]


def _repair(repair: Repair) -> dict[str, Value]:
    return {
        "kind": repair.kind,
        "step": repair.step,
        "route": format_route(repair.route),
        "works": repair.whole,
    }


def _choice(one: Choice) -> dict[str, Value]:
    hard: Value = None
    if one.hard is not None:
        chance = _rounded(one.hard.chance)
        hard = {"first": one.hard.first, "second": one.hard.second, "chance": chance}
    return {
        "route": format_route(one.route),
        "damage": one.damage,
        "chance": _rounded(one.chance),
        "expected_damage": round(one.expected_damage, 1),
        "seconds": None if one.seconds is None else round(one.seconds, 3),
        "spent": dict(one.spent),
        "hard": hard,
        "role": one.role.value if one.role else None,
    }


def _rounded(chance: float | None) -> float | None:
    return None if chance is None else round(chance, 4)
