"""What a member types for how a move touched: hit, block, whiff, or a hit state of the game."""

from __future__ import annotations

from dataclasses import dataclass

from bot.services.complete import complete_names
from core.model import ContactKind, Game


@dataclass(frozen=True, slots=True)
class Touch:
    """How a move touched; `state`: the hit state, by its name in the game."""

    contact: ContactKind | None = None
    state: str | None = None


def read_touch(game: Game, typed: str | None) -> Touch | None:
    """What was meant, nothing said for no text; None where the game has no such touch."""
    wanted = " ".join((typed or "").casefold().split()).removeprefix("on ")
    if not wanted:
        return Touch()
    for kind in ContactKind:
        if wanted == kind.value:
            return Touch(kind)
    for state in game.hit_states:
        if wanted in (name.casefold() for name in (state.name, *state.aliases)):
            return Touch(ContactKind.HIT, state.name)
    return None


def touches(game: Game, typed: str = "") -> tuple[str, ...]:
    """Every touch that the text may become, best first."""
    plain = [(kind.value, (kind.value,)) for kind in ContactKind]
    states = [(state.name, (state.name, *state.aliases)) for state in game.hit_states]
    return complete_names([*plain, *states], typed)
