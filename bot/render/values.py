"""The answer to a question as plain values for a program. The keys are stable: see KEYS."""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.ask import text
from bot.render.wording import say_reason
from bot.results.ask import (
    Advantage,
    Ambiguous,
    Asked,
    Detail,
    Followers,
    Gaps,
    Kind,
    MoveFacts,
    NoSuchFrame,
    NothingBefore,
    NotUnderstood,
    OtherGame,
    Punishes,
    Refusal,
    TwoQuestions,
    UnknownName,
)
from core.blocks import damage
from core.followups import FollowUp
from core.model import Move
from core.verdict import Missing, Reason, Verdict

Value = str | int | float | bool | None | list["Value"] | dict[str, "Value"]

KEYS = {
    "kind": f"what was asked ({', '.join(Kind)}), or why there is no answer (not-understood, unknown-name, "
    "ambiguous, no-such-frame, nothing-before, two-questions, other-game)",
    "answer": '"yes", "no" or "unknown"; null for a move and where there is no answer',
    "numbers": "the numbers used, each with its unit in its name (window_frames, confirm_ms)",
    "reasons": "a list of {code, text}, the decisive one first",
    "text": "the whole answer as it is shown",
    "game, game_version": "the game file that was asked",
    "character": "whose moves they are; null where that is not settled",
    "moves": "the moves asked about and, for lists, those found: {move, name, role, ...numbers}; role is "
    "asked, follow-up, punish or candidate; character where it is another's",
    "examples": "questions that work, where this one did not; else empty",
}


def values(result: Asked | Refusal) -> dict[str, Value]:
    """The answer under the keys of KEYS."""
    game = result.game
    shared: dict[str, Value] = {"text": text(result), "game": game.name, "game_version": game.version}
    if not isinstance(result, Asked):
        return {
            "kind": _KIND[type(result)],
            "answer": None,
            "numbers": {},
            "reasons": [],
            **shared,
            "character": None,
            "moves": _candidates(result),
            "examples": list(getattr(result, "examples", ())),
        }
    reasons = _reasons(result.detail)
    return {
        "kind": result.kind.value,
        "answer": result.answer.value if result.answer else None,
        "numbers": dict(_numbers(result.detail)),
        "reasons": [
            {"code": reason.code.value, "text": say_reason(reason, game, result.contact.state)}
            for reason in reasons
        ],
        **shared,
        "character": result.character.name,
        "moves": [*(_move(move, "asked") for move in result.moves), *_found(result)],
        "examples": [],
    }


_KIND: dict[type, str] = {
    NotUnderstood: "not-understood",
    UnknownName: "unknown-name",
    Ambiguous: "ambiguous",
    NoSuchFrame: "no-such-frame",
    NothingBefore: "nothing-before",
    TwoQuestions: "two-questions",
    OtherGame: "other-game",
}


def _reasons(detail: Detail) -> Sequence[Reason]:
    match detail:
        case Verdict():
            return detail.reasons
        case FollowUp():
            return tuple(dict.fromkeys((*detail.verdict.reasons, *detail.link.reasons)))
        case Gaps():
            return detail.ways[0].verdict.reasons
        case Punishes():
            return tuple(reason for by in detail.by for reason in by.answer.verdict.reasons)
        case MoveFacts():
            return detail.safe.reasons
        case Advantage():
            return detail.frames.verdict.reasons if isinstance(detail.frames, Missing) else ()
        case Followers():
            return ()


def _numbers(detail: Detail) -> dict[str, int | float | str]:
    match detail:
        case Verdict():
            return dict(detail.evidence)
        case FollowUp():
            cancel = {**detail.cancel.legal.evidence, **detail.cancel.combos.evidence}
            return {f"cancel_{name}": number for name, number in cancel.items()} | {
                f"link_{name}": number for name, number in detail.link.evidence.items()
            }
        case Gaps():
            return {
                f"{way.means.value}_{n}": v for way in detail.ways for n, v in way.verdict.evidence.items()
            }
        case Punishes():
            return dict(detail.by[0].answer.verdict.evidence)
        case MoveFacts():
            return dict(detail.safe.evidence)
        case Advantage():
            if isinstance(detail.frames, Missing):
                return {}
            return {"advantage_frames": detail.frames.low, "advantage_high_frames": detail.frames.high}
        case Followers():
            return {}


def _move(move: Move, role: str, **more: Value) -> dict[str, Value]:
    return {"move": move.input, "name": move.name, "role": role, **more}


def _found(asked: Asked) -> list[Value]:
    match asked.detail:
        case Followers():
            return [
                _move(
                    found.move,
                    "follow-up",
                    combos=found.verdict.answer.value,
                    links=found.link.answer.value,
                    cancels=found.cancel.legal.answer.value,
                    cancel_combos=found.cancel.combos.answer.value,
                    **_window(found),
                )
                for found in asked.detail.moves
            ]
        case Punishes():
            return [
                _move(
                    option.move,
                    "punish",
                    character=by.character.name,
                    startup_frames=option.move.startup_frames,
                    spare_frames=option.spare_frames,
                    damage=damage(option.move),
                    reaches=option.reaches,
                )
                for by in asked.detail.by
                for option in by.answer.moves
            ]
        case _:
            return []


def _window(found: FollowUp) -> dict[str, Value]:
    names = ("window_frames", "accepted_presses_frames")
    return {name: found.link.evidence.get(name) for name in names}


def _candidates(refusal: Refusal) -> list[Value]:
    if not isinstance(refusal, Ambiguous):
        return []
    return [
        {
            "move": candidate.move.input if candidate.move else None,
            "name": candidate.move.name if candidate.move else None,
            "role": "candidate",
            "character": candidate.character.name if candidate.character else None,
        }
        for candidate in refusal.candidates
    ]
