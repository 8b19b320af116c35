"""A resolved reading -> the contact it speaks of and what the engine says."""

from __future__ import annotations

from dataclasses import replace

from bot.results.ask import (
    Advantage,
    Detail,
    Followers,
    Gaps,
    Kind,
    MoveFacts,
    NoSuchFrame,
    PunishBy,
    Punishes,
    Question,
)
from bot.services.resolve import Resolved
from core.blocks import fastest_startup, gaps, punish, safe
from core.followups import confirm_time, follow_up, follow_ups
from core.frames import advantage, contact_on, outcome
from core.knockdown import meaty, safe_jump
from core.model import Contact, ContactKind, Effect, Game, Move
from core.verdict import Missing

_ON_BLOCK = (Kind.GAP, Kind.PUNISH, Kind.SAFE)
_DELAYED = (Kind.GAP, Kind.MEATY)
_AFTER_A_KNOCKDOWN = (Kind.MEATY, Kind.SAFE_JUMP)


def fits_kind(question: Question) -> bool:
    """Whether everything the question says bears on its kind: nothing said is passed over."""
    kind, said = question.kind, question.said
    contact = ContactKind.BLOCK if kind in _ON_BLOCK else said.contact
    return (
        (said.contact is None or said.contact is contact)
        and (said.delay_frames is None or kind in _DELAYED)
        and (said.reversal_startup_frames is None or kind is Kind.SAFE_JUMP)
        and (said.hits_before is None or contact is not ContactKind.BLOCK)
        and not (kind is Kind.LEARN and contact not in (None, ContactKind.HIT))
        and not (kind in _AFTER_A_KNOCKDOWN and (said.meaty or contact not in (None, ContactKind.HIT)))
    )


def contact_of(game: Game, found: Resolved) -> Contact | NoSuchFrame:
    """How the first move meets the defender, as the question says."""
    question, said, move = found.question, found.question.said, found.moves[0]
    kind = ContactKind.BLOCK if question.kind in _ON_BLOCK else said.contact or ContactKind.HIT
    contact = Contact(kind, said.state, distance=said.distance, hits_before=said.hits_before or 0)
    frame = said.active_frame if said.active_frame is not None or not said.meaty else move.active_frames
    if frame is None or not move.hits:
        return contact
    touched = contact_on(move, frame) if frame > 0 else None
    if touched is None:
        return NoSuchFrame(game, question.text, move, frame)
    return replace(contact, first_hit=touched[0], active_frame=touched[1])


def reversal_of(game: Game, found: Resolved) -> int | None:
    """The reversal a safe jump is judged against: the one asked about, else the game's fastest attack."""
    asked = found.question.said.reversal_startup_frames
    return fastest_startup(game) if asked is None else asked


def detail_of(game: Game, found: Resolved, contact: Contact) -> Detail:
    """What the engine says."""
    who, first, second = found.character, found.moves[0], found.moves[-1]
    said = found.question.said
    match found.question.kind:
        case Kind.LINK | Kind.CANCEL | Kind.COMBO | Kind.WINDOW | Kind.EARLY | Kind.LATE:
            return follow_up(game, who, first, second, contact)
        case Kind.LINKS_AFTER | Kind.CANCELS_AFTER | Kind.FOLLOW_UPS | Kind.LEARN:
            found_moves = follow_ups(game, who, first, contact)
            among = found.among
            return Followers(tuple(one for one in found_moves if among is None or one.move in among.moves))
        case Kind.PLUS:
            return _plus(game, first, contact)
        case Kind.GAP:
            return Gaps(gaps(game, who, first, second, contact, said.delay_frames or 0))
        case Kind.CONFIRM:
            return confirm_time(game, who, first, second, contact)
        case Kind.MEATY:
            return meaty(game, first, second, contact, said.delay_frames)
        case Kind.SAFE_JUMP:
            return safe_jump(game, who, first, second, reversal_of(game, found) or 1, contact)
        case Kind.SAFE:
            judges = (found.against,) if found.against else game.characters
            return safe(replace(game, characters=judges), first, contact)
        case Kind.PUNISH:
            everyone = (found.punisher,) if found.punisher else game.characters
            return Punishes(tuple(PunishBy(by, punish(game, first, by, contact)) for by in everyone))
        case Kind.MOVE:
            blocked = replace(contact, kind=ContactKind.BLOCK, state=None)
            return MoveFacts(safe(game, first, blocked), follow_ups(game, who, first, Contact()))


def _plus(game: Game, move: Move, contact: Contact) -> Advantage:
    result = outcome(game, move, contact) if contact.kind is ContactKind.HIT else None
    effect = Effect.STAND if result is None or isinstance(result, Missing) else result.effect
    return Advantage(effect, advantage(game, move, contact))
