"""What a new version of a game does to what is kept in a server: routes, homework, drills."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.results.games import Edition
from bot.results.place import Owner
from core.model import Game
from core.patches import Consequences, Patch, RouteChange, RouteEffect


class Keep(StrEnum):
    """As what moves are kept."""

    SAVED = "saved"
    """A member's own route."""
    SHARED = "shared"
    """A route of the server's library."""
    HOMEWORK = "homework"
    """A student's homework that is not accepted yet."""
    DRILL = "drill"
    """A group drill that is open, or yet to be opened."""
    LISTED = "listed"
    """A drill of the list from which the weekly series takes its drills."""


@dataclass(frozen=True, slots=True)
class KeptMoves:
    """Moves that are kept. `id`: of what `keep` says; `member_id`: whose it is, 0 where it is the server's.
    `name`: of a route; `situations`: in which the route is what its owner plays."""

    keep: Keep
    id: int
    member_id: int
    character: str
    notation: str
    name: str = ""
    situations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Touched:
    """What a change does to kept moves."""

    kept: KeptMoves
    change: RouteChange

    @property
    def opens(self) -> str:
        """The moves that a list opens: as they are mended, wholly or in part, where they break."""
        breaks = self.change.effect is RouteEffect.BREAKS
        return (self.change.repaired if breaks else None) or self.kept.notation


_ORDER = tuple(RouteEffect)


@dataclass(frozen=True, slots=True)
class Concerns:
    """All in a server that a change touches, what breaks first."""

    touched: tuple[Touched, ...]

    def of(self, member_id: int) -> tuple[Touched, ...]:
        """What of it is this member's own: routes and homework. A route that they shared stands once, among
        those that they saved, where they still have it."""
        mine = [one for one in self.touched if one.kept.member_id == member_id]
        saved = {(one.kept.character, one.kept.notation) for one in mine if one.kept.keep is Keep.SAVED}
        return tuple(
            one
            for one in mine
            if one.kept.keep is not Keep.SHARED or (one.kept.character, one.kept.notation) not in saved
        )

    def kept_as(self, keep: Keep, *effects: RouteEffect) -> tuple[Touched, ...]:
        """Those that are kept so, with one of these effects; with any where none is given."""
        wanted = effects or _ORDER
        return tuple(one for one in self.touched if one.kept.keep is keep and one.change.effect in wanted)


def in_order(touched: list[Touched]) -> tuple[Touched, ...]:
    """What breaks first, then in the order given."""
    return tuple(sorted(touched, key=lambda one: _ORDER.index(one.change.effect)))


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a game, as a server has it."""

    edition: Edition
    game: Game

    @property
    def label(self) -> str:
        """What the version is called."""
        return self.edition.version


@dataclass(frozen=True, slots=True)
class PatchSheet:
    """What changed from one version to another, and what follows. `mine`: of the member who looks at it;
    `opens`: by the place of a route in it the number in their log under which it is opened, mended where it
    breaks and can be mended; `assigned`: homework that they set for students they have now."""

    before: Version
    after: Version
    patch: Patch
    follows: Consequences
    concerns: Concerns
    mine: tuple[Touched, ...]
    opens: tuple[tuple[int, int], ...] = ()
    assigned: tuple[Touched, ...] = ()


@dataclass(frozen=True, slots=True)
class PatchNotice:
    """What a member is told of a change that touches what is theirs; `opens` as in `PatchSheet`."""

    to: Owner
    before: Version
    after: Version
    mine: tuple[Touched, ...]
    opens: tuple[tuple[int, int], ...]
