"""What a patch does to links and cancels."""

from __future__ import annotations

from core.model import Game
from core.patches.cancels import cancel_changes
from core.patches.effects import Consequences
from core.patches.links import link_changes
from core.patches.pairs import twins
from core.patches.patch import Patch

EVERYWHERE = frozenset(
    ("strengths", "cancel_window_frames", "hitstun_decay_frames", "hit_states", "rules", "juggle")
)
"""Fields of the game that links and cancels of every character hang on. Buffers only move the presses."""


def consequences(old: Game, new: Game, patch: Patch) -> Consequences:
    """Links lost, gained, tighter and looser, and cancels lost and gained, the most important first.

    Of moves and characters that both versions have, at point blank, as they are without a control scheme:
    what a move that is gone or new could do is not told. A link counts where it links at every height of
    contact. What is not known in one of the versions is neither lost nor gained.
    """
    everywhere = any(change.field in EVERYWHERE for change in patch.changes)
    touched = {who.name for who in patch.characters}
    characters = [who for who in twins(old, new, patch) if everywhere or who.old.name in touched]
    return Consequences(link_changes(old, new, characters), cancel_changes(old, new, characters))
