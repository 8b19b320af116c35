"""What members filled in and was refused, so that nobody has to type it again."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

from bot.results.place import Owner
from bot.services.log import Entry

MOST = 1_000


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry that was refused; `tally_id`: the tally that it was to change, 0 for a new one; `field`: what
    of it was refused, where the form does not ask for that by itself."""

    entry: Entry
    tally_id: int = 0
    field: str = ""


@dataclass(frozen=True, slots=True)
class RouteDraft:
    """The name and tags under which the moves with this number in the member's log were not saved."""

    subject_id: int
    name: str
    tags: str


class Drafts:
    """The last draft of each member, one of each kind, in memory; the oldest are forgotten first."""

    def __init__(self) -> None:
        self._drafts: OrderedDict[Owner, Draft] = OrderedDict()
        self._routes: OrderedDict[Owner, RouteDraft] = OrderedDict()

    def keep(self, owner: Owner, draft: Draft) -> None:
        """Keep it instead of the member's last one."""
        self._drafts[owner] = draft
        self._drafts.move_to_end(owner)
        if len(self._drafts) > MOST:
            self._drafts.popitem(last=False)

    def forget(self, owner: Owner) -> None:
        """Forget the member's last ones."""
        self._drafts.pop(owner, None)
        self._routes.pop(owner, None)

    def keep_route(self, owner: Owner, draft: RouteDraft | None) -> None:
        """Keep a route's draft instead of the member's last one, or none."""
        self._routes.pop(owner, None)
        if draft is not None:
            self._routes[owner] = draft
        if len(self._routes) > MOST:
            self._routes.popitem(last=False)

    def of_route(self, owner: Owner) -> RouteDraft | None:
        """The member's last draft of a route."""
        return self._routes.get(owner)

    def of(self, owner: Owner) -> Draft:
        """The member's last one; an empty one where there is none."""
        return self._drafts.get(owner, Draft(Entry("", "")))
