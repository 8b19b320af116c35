"""The natural next questions after an answer."""

from __future__ import annotations

from dataclasses import replace

from bot.results.ask import Asked, Followers, Kind
from bot.results.key import QuestionKey
from bot.services.keys import key_of
from core.followups import FollowUp
from core.model import ContactKind, HitLevel, MoveKind
from core.verdict import Answer, Code

MOST = 4


def next_questions(asked: Asked) -> tuple[QuestionKey, ...]:
    """What one asks next, the likeliest first; at most four."""
    key = key_of(asked)
    alone = replace(
        key, second=None, delay_frames=None, reversal=None, mine=None, hits_before=None, active_frame=None
    )
    plain = replace(alone, contact=ContactKind.HIT, state=None)
    found: list[QuestionKey] = []
    if len(asked.moves) > 1:
        found += _of_pair(asked, key, plain)
    else:
        found += _of_move(asked, plain)
    return tuple(dict.fromkeys(one for one in found if one != key))[:MOST]


def _of_pair(asked: Asked, key: QuestionKey, plain: QuestionKey) -> list[QuestionKey]:
    first, second = asked.moves
    pair = replace(key, delay_frames=None, reversal=None, contact=ContactKind.HIT, state=None)
    found: list[QuestionKey] = []
    detail = asked.detail
    if isinstance(detail, FollowUp):
        for reason in detail.link.reasons:
            if reason.code is Code.WOULD_LINK_IN_STATE and asked.contact.state is None:
                found.append(replace(pair, kind=Kind.LINK, state=str(reason.facts["state"])))
        if detail.verdict.answer is Answer.YES and asked.contact.kind is ContactKind.HIT:
            if asked.kind in (Kind.EARLY, Kind.LATE):
                other = Kind.LATE if asked.kind is Kind.EARLY else Kind.EARLY
                found.append(replace(pair, kind=other))
            else:
                found.append(replace(pair, kind=Kind.CONFIRM))
            found.append(replace(pair, kind=Kind.GAP, contact=ContactKind.BLOCK))
            found.append(replace(plain, kind=Kind.FOLLOW_UPS, first=second.input))
        else:
            found.append(replace(plain, kind=Kind.FOLLOW_UPS, first=first.input))
    elif asked.kind is Kind.GAP:
        found += [
            replace(key, delay_frames=(key.delay_frames or 0) + 1),
            replace(pair, kind=Kind.COMBO),
        ]
    else:
        found.append(replace(pair, kind=Kind.COMBO))
        found.append(replace(plain, kind=Kind.FOLLOW_UPS, first=second.input))
    found.append(replace(plain, kind=Kind.SAFE, contact=ContactKind.BLOCK, first=second.input))
    found.append(replace(plain, kind=Kind.MOVE, first=second.input))
    return found


def _of_move(asked: Asked, plain: QuestionKey) -> list[QuestionKey]:
    move = asked.moves[0]
    if move.kind is MoveKind.MOVEMENT:
        return []
    after = [replace(plain, kind=Kind.FOLLOW_UPS)]
    if isinstance(asked.detail, Followers):
        after = [
            replace(plain, kind=kind, contact=asked.contact.kind, state=asked.contact.state)
            for kind in (Kind.FOLLOW_UPS, Kind.LINKS_AFTER, Kind.CANCELS_AFTER)
            if kind is not asked.kind
        ]
        if asked.contact.kind is ContactKind.HIT and asked.kind is not Kind.LEARN:
            after = [replace(plain, kind=Kind.LEARN, state=asked.contact.state), *after]
    blocked = [
        replace(plain, kind=kind, contact=ContactKind.BLOCK)
        for kind in ((Kind.PUNISH, Kind.SAFE) if move.hit_level is not HitLevel.THROW else ())
        if kind is not asked.kind
    ]
    card = [] if asked.kind is Kind.MOVE else [replace(plain, kind=Kind.MOVE)]
    return [*after, *blocked, *card]
