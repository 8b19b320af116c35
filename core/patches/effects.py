"""What follows from a patch, as values: for links, for cancels, and for saved routes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from core.model import ContactKind
from core.routes import Repair
from core.verdict import Reason


class LinkEffect(StrEnum):
    """What became of a link."""

    LOST = "lost"
    GAINED = "gained"
    TIGHTER = "tighter"
    LOOSER = "looser"


@dataclass(frozen=True, slots=True)
class LinkChange:
    """A link on hit whose window W (see `core.links.window`) is not the old one; 0 where it does not link.

    Moves are called by their new inputs. `state`: a hit state's name, None for a plain hit; a state is named
    only where the plain link did not change in the same way.
    """

    character: str
    first: str
    second: str
    state: str | None
    old_frames: int
    new_frames: int

    @property
    def kind(self) -> LinkEffect:
        """What became of it."""
        if not self.new_frames:
            return LinkEffect.LOST
        if not self.old_frames:
            return LinkEffect.GAINED
        return LinkEffect.TIGHTER if self.new_frames < self.old_frames else LinkEffect.LOOSER


@dataclass(frozen=True, slots=True)
class CancelChange:
    """A cancel or chain that only one version allows on this contact: the new where `gained`, else the old.

    `rule`: the rule by which that version allows it, `combos`: whether it combos there (on block: is a true
    blockstring; None: not known, and on whiff False). `still_legal`: both versions allow it, and what was
    gained or lost is that it combos on hit.
    """

    character: str
    first: str
    second: str
    contact: ContactKind
    rule: str
    gained: bool
    combos: bool | None
    still_legal: bool = False


@dataclass(frozen=True, slots=True)
class Consequences:
    """What a patch does to links and cancels, the lost before the gained, then tighter, then looser."""

    links: tuple[LinkChange, ...] = ()
    cancels: tuple[CancelChange, ...] = ()


class RouteEffect(StrEnum):
    """What a patch does to a route. UNREAD: its text could not be read in the old version either."""

    BREAKS = "breaks"
    MENDED = "mended"
    DAMAGE = "damage"
    HARDER = "harder"
    EASIER = "easier"
    SAME = "same"
    UNREAD = "unread"


@dataclass(frozen=True, slots=True)
class RouteChange:
    """What a patch does to one route; `old_...` and `new_...` as in each version, None where not known.

    Damage is None where the route does not work. `..._frames`: W of its tightest link, None without links.
    `..._rate`: the chance that typical hands land all of it, where its windows changed. `failing`: the
    number, from 0, of the first step that fails in the new version, `failing_move` the input of its move,
    and `reasons` why it fails; no reasons where the new version has no such move. `repair`: the nearest
    change with which it works, or works further; its kind is "renamed" where only a move's input is another.
    `repaired`: the repair's route as text.
    """

    effect: RouteEffect
    old_damage: int | None = None
    new_damage: int | None = None
    old_frames: int | None = None
    new_frames: int | None = None
    old_rate: float | None = None
    new_rate: float | None = None
    failing: int | None = None
    failing_move: str | None = None
    reasons: tuple[Reason, ...] = ()
    repair: Repair | None = None
    repaired: str | None = None


@dataclass(frozen=True, slots=True)
class SavedText:
    """A route as somebody keeps it: `key` is theirs to know it by, `notation` its text about this character's
    moves, as the control scheme of this name has them."""

    key: int
    character: str
    notation: str
    scheme: str | None = None
