"""What saving, forgetting and sharing routes leads to."""

from __future__ import annotations

from dataclasses import dataclass

from bot.results.tally import SavedRoute, SharedRoute


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A route that is no longer saved, and how many conversions went with it."""

    route: SavedRoute
    conversions: int = 0


@dataclass(frozen=True, slots=True)
class SaveDraft:
    """What the form that saves a route is filled in with: its moves, and the name and tags it has so far."""

    notation: str
    name: str = ""
    tags: str = ""


@dataclass(frozen=True, slots=True)
class Shared:
    """A route that everybody in the server sees now. `again`: in place of what the member had shared under
    this name before."""

    route: SharedRoute
    again: bool = False


@dataclass(frozen=True, slots=True)
class Kept:
    """A shared route that a member saved for themselves, as `route`. `had`: it was saved already. `taken`:
    the name under which it is shared, where another route of theirs has that one; empty where not."""

    route: SavedRoute
    had: bool = False
    taken: str = ""


@dataclass(frozen=True, slots=True)
class PickedShared:
    """A shared route that a member looks at. `subject_id`: its number in their log. `own`: they shared it.
    `may_tidy`: they may take it out of the library."""

    route: SharedRoute
    subject_id: int
    own: bool
    may_tidy: bool


@dataclass(frozen=True, slots=True)
class RouteList:
    """Saved routes, or those of the library: all of them, or those of a `character` or with a `tag`; empty
    where not said. `tags`: all that there are."""

    routes: tuple[SavedRoute, ...] | tuple[SharedRoute, ...]
    tags: tuple[str, ...] = ()
    character: str = ""
    tag: str = ""
