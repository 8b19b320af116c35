"""Questions and their keys: what a button carries, and how it is asked again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bot.results.ask import (
    Ambiguous,
    Asked,
    Kind,
    Named,
    NothingBefore,
    Phrase,
    Punishes,
    Question,
    Refusal,
    Said,
    TwoQuestions,
    UnknownName,
)
from bot.results.key import QuestionKey, tag_of
from bot.services.asker import Asker
from core.model import Character, ContactKind, Game, Move


def key_of(asked: Asked) -> QuestionKey:
    """The key of an answered question."""
    said = asked.question.said
    late = asked.moves[0].active_frames if said.meaty else None
    lists = {Kind.CANCELS_AFTER: Kind.CANCEL, Kind.LINKS_AFTER: Kind.LINK, Kind.FOLLOW_UPS: Kind.COMBO}
    return QuestionKey(
        asked.kind if asked.among is None else lists[asked.kind],
        tag_of(asked.game.name),
        asked.character.name,
        asked.moves[0].input,
        asked.moves[1].input if len(asked.moves) > 1 else asked.among,
        asked.contact.kind,
        asked.contact.state,
        late if said.active_frame is None else said.active_frame,
        said.hits_before,
        said.distance,
        said.delay_frames,
        said.reversal_startup_frames,
        said.scheme,
        _mine(asked),
    )


def question_of(key: QuestionKey) -> Question:
    """The question of a key, its moves still to be looked up."""
    frame = key.active_frame
    on = None if key.contact is ContactKind.HIT and key.state is None else key.contact
    said = Said(
        contact=on,
        state=key.state,
        meaty=frame is not None,
        active_frame=frame,
        hits_before=key.hits_before,
        distance=key.distance,
        delay_frames=key.delay_frames,
        reversal_startup_frames=key.reversal,
        scheme=key.scheme,
    )
    return plain_question(key.kind, key.first, key.second, said)


def plain_question(kind: Kind, first: str, second: str | None, said: Said) -> Question:
    """A question about moves as they were called, outside of any sentence."""
    if second is None:
        return Question(first, kind, Phrase(first, 0, len(first)), None, said)
    start = len(first) + 2
    text = f"{first}, {second}"
    return Question(
        text, kind, Phrase(first, 0, len(first)), Phrase(second, start, start + len(second)), said
    )


def choice_keys(refusal: Refusal, asker: Asker) -> tuple[QuestionKey, ...]:
    """A key for each thing that a refusal offers, in order."""
    match refusal:
        case Ambiguous():
            place = refusal.question.called.index(refusal.place)
            return tuple(
                _key(
                    refusal.game,
                    candidate.question or refusal.question,
                    candidate.character.name if candidate.character else "",
                    {place: candidate.move.input} if candidate.move else {},
                    asker,
                )
                for candidate in refusal.candidates
            )
        case UnknownName(what=Named.MOVE, question=Question() as question, place=Phrase() as place):
            of = refusal.of.name if refusal.of else ""
            at = question.called.index(place)
            return tuple(_key(refusal.game, question, of, {at: near}, asker) for near in refusal.near)
        case NothingBefore(move=Move() as second, character=Character() as who):
            said = replace(refusal.question.said, contact=None)
            pair = replace(refusal.question, second=refusal.question.first, said=said)
            return tuple(
                _key(refusal.game, pair, who.name, {0: first.input, 1: second.input}, asker)
                for first in refusal.firsts
            )
        case TwoQuestions():
            return tuple(key_of(part) for part in refusal.parts if isinstance(part, Asked))
        case _:
            return ()


def _key(
    game: Game, question: Question, character: str, moves: Mapping[int, str], asker: Asker
) -> QuestionKey:
    """The key of a reading whose moves stand as they were called, but for those given by place."""
    said = question.said
    called = [moves.get(place, phrase.meant) for place, phrase in enumerate(question.called)]
    other = said.mine if question.kind is Kind.PUNISH else said.theirs
    own = asker.mine.name if question.kind is Kind.PUNISH and asker.mine else None
    return QuestionKey(
        question.kind,
        tag_of(game.name),
        character,
        called[0],
        called[1] if len(called) > 1 else None,
        said.contact or ContactKind.HIT,
        said.state,
        said.active_frame,
        said.hits_before,
        said.distance,
        said.delay_frames,
        said.reversal_startup_frames,
        said.scheme or asker.scheme,
        other.meant if other else own,
    )


def _mine(asked: Asked) -> str | None:
    if isinstance(asked.detail, Punishes):
        return asked.detail.by[0].character.name if len(asked.detail.by) == 1 else None
    theirs = asked.question.said.theirs
    return theirs.meant if theirs and asked.kind is Kind.SAFE else None
