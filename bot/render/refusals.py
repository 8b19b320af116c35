"""What is said where a question has no answer: what is wrong, where, and what would be right."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from bot.results.ask import (
    QUESTION_CHARACTERS,
    QUESTION_WORDS,
    Ambiguous,
    Named,
    NoSuchFrame,
    NothingBefore,
    NotUnderstood,
    OtherGame,
    Phrase,
    Refusal,
    TwoQuestions,
    UnknownName,
)
from core.notation import NotationError
from core.text import quoted

SHOWN_CANDIDATES = 12


def refusal_card(refusal: Refusal) -> Card:
    """A card for a refusal."""
    game = refusal.game
    match refusal:
        case NotUnderstood():
            if refusal.too_long:
                lead = say("refusals", "too-long", characters=QUESTION_CHARACTERS, words=QUESTION_WORDS)
            else:
                lead = say("refusals", "not-understood" if refusal.text.strip() else "empty", game=game.name)
            groups = _try(refusal.examples)
        case UnknownName():
            lead, groups = _unknown(refusal), _try(refusal.examples)
        case Ambiguous():
            lead, groups = _ambiguous(refusal)
        case NoSuchFrame():
            gap = (
                refusal.move.active_frames is not None and refusal.active_frame <= refusal.move.active_frames
            )
            lead = say(
                "refusals",
                "no-such-frame-gap" if gap and refusal.active_frame > 0 else "no-such-frame",
                move=refusal.move.input,
                frame=refusal.active_frame,
                active=refusal.move.active_frames or 0,
            )
            groups = ()
        case NothingBefore():
            lead, groups = _nothing_before(refusal)
        case TwoQuestions():
            asked = tuple(part.question.text for part in refusal.parts)
            lead, groups = say("refusals", "two-questions"), (Group(say("refusals", "pick"), asked),)
        case OtherGame():
            lead, groups = say("refusals", "other-game", game=game.name), ()
    return Card(lead, groups, (), source_of(game))


def pointed(text: str, place: Phrase) -> str:
    """The question with carets under the place, in two lines, for a fixed-width font."""
    return NotationError(text, place.start, place.end, "").pointed()


def _unknown(refusal: UnknownName) -> str:
    name = quoted(refusal.name)[1:-1]
    if refusal.what is Named.CHARACTER:
        said = say("refusals", "no-character", game=refusal.game.name, name=name)
    elif refusal.what is Named.GAME:
        said = say("refusals", "no-game", name=name)
    elif refusal.what is Named.SCHEME:
        said = say("refusals", "no-scheme", game=refusal.game.name, name=name)
    elif refusal.of is not None:
        said = say("refusals", "no-move", character=refusal.of.name, name=name)
    else:
        said = say("refusals", "no-move-anybody", game=refusal.game.name, name=name)
    return f"{said} {say('refusals', 'near', names=', '.join(refusal.near))}" if refusal.near else said


def _ambiguous(refusal: Ambiguous) -> tuple[str, tuple[Group, ...]]:
    name = quoted(refusal.place.text)[1:-1]
    candidates = refusal.candidates[:SHOWN_CANDIDATES]
    moves = [candidate.move for candidate in candidates if candidate.move is not None]
    if not moves:
        names = ", ".join(candidate.character.name for candidate in candidates if candidate.character)
        return say("refusals", "ambiguous-character", name=name, names=names), ()
    character = candidates[0].character
    lead = say(
        "refusals",
        "ambiguous-move",
        name=name,
        count=len(refusal.candidates),
        character=character.name if character else refusal.game.name,
    )
    lines = [say("refusals", "candidate", move=move.input, name=move.name) for move in moves]
    return lead, (Group(say("refusals", "one-of"), tuple(lines)),)


def _nothing_before(refusal: NothingBefore) -> tuple[str, tuple[Group, ...]]:
    """Which move, or which two moves, is asked back."""
    if refusal.move is not None and refusal.firsts:
        second = refusal.move.input
        links = tuple(say("refusals", "link", first=one.input, second=second) for one in refusal.firsts)
        lead = say("refusals", "which-link", second=second)
        return lead, (Group(say("refusals", "link-from"), links),)
    return say("refusals", "which-pair" if refusal.pair else "which-move"), _try(refusal.examples)


def _try(examples: tuple[str, ...]) -> tuple[Group, ...]:
    return (Group(say("refusals", "try"), examples),) if examples else ()
