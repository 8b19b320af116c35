"""What buttons say: the next question, or one thing that a name may mean. At most 80 characters."""

from __future__ import annotations

from bot.render.wording import Fact, say
from bot.results.ask import Kind
from bot.results.key import QuestionKey
from core.model import ContactKind, Game

LABEL_LENGTH = 80


def label(key: QuestionKey, game: Game, told: str = "") -> str:
    """A question in the few words of a button. Its character is named where the game has several,
    but for the one that the card has `told` of."""
    on_block = key.contact is ContactKind.BLOCK and key.kind not in (Kind.GAP, Kind.PUNISH, Kind.SAFE)
    on = say("labels", "on", contact=key.state or key.contact.value) if key.state or on_block else ""
    if key.contact is ContactKind.WHIFF:
        on = say("labels", "on", contact=key.contact.value)
    if key.delay_frames and key.kind is Kind.GAP:
        on = say("labels", "late-by", delay=key.delay_frames)
    several = len(game.characters) > 1 and key.character not in ("", told)
    facts: dict[str, Fact] = {
        "first": key.first,
        "second": key.second or "",
        "on": on,
        "whose": key.character,
    }
    name = key.kind.value if key.second or key.kind not in (Kind.EARLY, Kind.LATE) else "which"
    text = say("labels", name, game.fps, **facts).strip()
    named = say("labels", "of", text=text, whose=key.character) if several else text
    return next((one for one in (named, text) if len(one) <= LABEL_LENGTH), text[: LABEL_LENGTH - 1] + "…")
