"""What a change between two versions of a game leads to, as work for another process: plain values in and
out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from core.model import Character, Game
from core.notation import NotationError, book_of
from core.patches import (
    Consequences,
    Patch,
    RouteChange,
    SavedText,
    compare,
    consequences,
    route_changes,
)

Change = tuple[Patch, Consequences]


def what_follows(old: Game, new: Game) -> Change:
    """What differs, and what follows for links and cancels."""
    patch = compare(old, new)
    return patch, consequences(old, new, patch)


def part_of(game: Game, character: str) -> Game:
    """The game with nobody but this character, which is all that their routes need."""
    return replace(game, characters=tuple(who for who in game.characters if who.name == character))


def patch_of(patch: Patch, character: str) -> Patch:
    """What of a patch concerns the routes of this character: the game's rules, and their own moves."""
    return replace(
        patch,
        added=tuple(who for who in patch.added if who.name == character),
        removed=tuple(who for who in patch.removed if who.name == character),
        characters=tuple(who for who in patch.characters if who.name == character),
        order=None,
    )


def routes_touched(
    old: Game, new: Game, patch: Patch, texts: Sequence[SavedText]
) -> tuple[tuple[int, RouteChange], ...]:
    """What becomes of kept moves, by their keys; what stays the same is left out. A text is read under its
    control scheme, else under none or another, as a member's is when they open it."""
    read = [replace(text, scheme=_scheme(old, text)) for text in texts]
    return route_changes(old, new, patch, read)


def _scheme(game: Game, text: SavedText) -> str | None:
    """The control scheme under which the text is read; its own where none does."""
    who = game.character(text.character)
    if who is None:
        return text.scheme
    known = [scheme.name for scheme in game.schemes]
    own = text.scheme if text.scheme in known else None
    tried = dict.fromkeys((own, None, *known))
    return next((scheme for scheme in tried if _reads(game, who, text.notation, scheme)), own)


def _reads(game: Game, who: Character, notation: str, scheme: str | None) -> bool:
    try:
        book_of(game, who, scheme).route(notation)
    except NotationError:
        return False
    return True
