"""Routes followed from the old version of a character's moves into the new."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.model import Character, Game, Move
from core.notation import NotationError, Route, book_of
from core.patches.patch import CharacterPatch


@dataclass(frozen=True, slots=True)
class Followed:
    """A route in the old version and in the new, step by step the same moves.

    `gone`: the number, from 0, of the first step whose move the new version lacks; the new route then has the
    old move there. `renamed`: of the first whose move has another input, where the route's text does not
    mean the same in the new version. `touched`: whether any of its moves does something else now.
    """

    old: Route
    new: Route
    gone: int | None = None
    renamed: int | None = None
    touched: bool = False

    @property
    def changed(self) -> bool:
        """Whether the moves themselves give a reason to judge the route anew."""
        return self.touched or self.gone is not None or self.renamed is not None


class Follower:
    """Reads routes of one character under one control scheme, and follows them."""

    def __init__(
        self, old: Game, new: Game, who: Character, then: Character, patch: CharacterPatch, scheme: str | None
    ) -> None:
        self._book = book_of(old, who, scheme)
        self._new, self._then, self._scheme = new, then, scheme
        inputs = {one.old.input: one.new.input for one in patch.renamed}
        moves = {move.input: move for move in then.moves}
        self._moves: dict[str, Move | None] = {}
        self._touched: set[str] = set()
        changed = {one.input for one in patch.moves} | set(inputs)
        for move in who.moves:
            before, after = move.under(scheme), moves.get(inputs.get(move.input, move.input))
            self._moves[before.input] = None if after is None else after.under(scheme)
            if after is not None and move.input in changed and played(before) != played(after.under(scheme)):
                self._touched.add(before.input)

    def read(self, text: str) -> Followed | None:
        """The route that the text means in the old version, followed; None where it cannot be read there."""
        try:
            route = self._book.route(text)
        except NotationError:
            return None
        pairs = [(move, self._moves.get(move.input)) for move in route.moves]
        followed = Route(
            tuple(
                replace(step, move=then or was) for step, (was, then) in zip(route.steps, pairs, strict=True)
            )
        )
        touched = any(move.input in self._touched for move in route.moves)
        gone = next((n for n, (_, then) in enumerate(pairs) if then is None), None)
        renamed = next((n for n, (was, then) in enumerate(pairs) if then and then.input != was.input), None)
        if gone is None and renamed is None:
            return Followed(route, followed, touched=touched)
        again = self._again(text)
        if again is not None and (gone is not None or again == followed):
            return Followed(route, again, touched=True)
        return Followed(route, followed, gone, renamed, touched)

    def _again(self, text: str) -> Route | None:
        """What the same text means in the new version."""
        try:
            return book_of(self._new, self._then, self._scheme).route(text)
        except NotationError:
            return None


def played(move: Move) -> Move:
    """The move with nothing but what a route on hit may hang on."""
    hits = tuple(replace(hit, blockstun_frames=None) for hit in move.hits)
    return replace(move, name="", aliases=(), hits=hits, on_block=None, pushback_on_block=None, by_scheme=())
