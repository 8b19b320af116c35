"""The answer to a question as a card, and as values for a program."""

from __future__ import annotations

from bot.render.card import Card, as_text
from bot.render.lists import followers_card, punish_card, safe_card
from bot.render.move import move_card, plus_card
from bot.render.pair import confirm_card, follow_up_card, gap_card, knockdown_card
from bot.render.refusals import pointed, refusal_card
from bot.render.timing import timing_card
from bot.results.ask import (
    Advantage,
    Ambiguous,
    Asked,
    Followers,
    Gaps,
    Kind,
    MoveFacts,
    Punishes,
    Refusal,
    UnknownName,
)
from core.followups import FollowUp
from core.verdict import Verdict


def card(result: Asked | Refusal) -> Card:
    """The card of an answer or a refusal."""
    if not isinstance(result, Asked):
        return refusal_card(result)
    match result.detail:
        case FollowUp() if result.kind in (Kind.EARLY, Kind.LATE):
            return timing_card(result, result.detail)
        case FollowUp():
            return follow_up_card(result, result.detail)
        case Followers():
            return followers_card(result, result.detail)
        case Gaps():
            return gap_card(result, result.detail)
        case Punishes():
            return punish_card(result, result.detail)
        case Advantage():
            return plus_card(result, result.detail)
        case MoveFacts():
            return move_card(result, result.detail)
        case Verdict():
            return _verdict_card(result, result.detail)


def text(result: Asked | Refusal) -> str:
    """The answer as plain text; a refusal points at the words it speaks of."""
    if not isinstance(result, UnknownName | Ambiguous) or result.place is None:
        return as_text(card(result))
    lead, _, rest = as_text(card(result)).partition("\n\n")
    return f"{lead}\n\n{pointed(result.text, result.place)}\n\n{rest}"


def _verdict_card(asked: Asked, verdict: Verdict) -> Card:
    match asked.kind:
        case Kind.SAFE:
            return safe_card(asked, verdict)
        case Kind.CONFIRM:
            return confirm_card(asked, verdict)
        case _:
            return knockdown_card(asked, verdict)
