"""A question fully settled, small enough for a button to carry."""

from __future__ import annotations

from dataclasses import dataclass

from bot.results.ask import Kind
from core.model import ContactKind
from core.notation.tokens import fold, name_key

TAG_LENGTH = 12


@dataclass(frozen=True, slots=True)
class QuestionKey:
    """What one question asks, by names alone: whoever answers it looks everything up afresh.

    `game` is the game's tag (see `tag_of`), `character` whose moves they are, by name; empty where
    that is still open. `first` and `second` are inputs; one that is still open stands as it was
    typed, and then the answer asks back. `mine` is the character who punishes, or who has to punish
    for the move to be unsafe. The rest is as in `Said`; None where the question does not say.
    """

    kind: Kind
    game: str
    character: str
    first: str
    second: str | None = None
    contact: ContactKind = ContactKind.HIT
    state: str | None = None
    active_frame: int | None = None
    hits_before: int | None = None
    distance: float | None = None
    delay_frames: int | None = None
    reversal: int | None = None
    scheme: str | None = None
    mine: str | None = None


def tag_of(game_name: str) -> str:
    """A game's name as keys carry it: letters and digits, folded and cut.

    >>> tag_of("Trade rules!"), tag_of("The Long Lanterns of Summer")
    ('traderules', 'thelonglante')
    """
    return name_key(fold(game_name).chars)[:TAG_LENGTH]
