"""Reading moves and routes.

A move is called by its input (5MP, j.HP, 236HP, [4]6LP), by the trade's shorthand (cr.MP, f+HK,
qcf HP, ↓↘→ heavy punch, jumping medium kick, charge back forward LP), or by its name or an alias.
Case, blanks and signs inside do not matter. A word with two meanings is read as the one for which
there is a move; a dot marks a direction or stance (c.HP), a plus marks buttons (C+D).

Before a move may stand, in any order: a hit state (CH 5HP), `meaty` or `meaty(3)` for the active
frame it hits on, `delay` or `delay(4)` for frames waited, `hold` for a held button, which may also
be written 5[HP]; a released one is 5]HP[. After it `x3` does it three times by whatever works.

Between moves stand: `,` or `;` for a link, `xx` for a cancel, `~` for a chain, and for whatever
works `>`, `->`, `into`, `then` or an arrow after a button (5MP → 2HP).

What could be several moves is never guessed: the error lists them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Generic, TypeVar

from core.model import Character, Game, HitState, Move
from core.notation import words
from core.notation.errors import NotationError
from core.notation.inputs import MOVE_LIMIT, Press
from core.notation.lookup import Found, Lookup
from core.notation.route import Route, Step
from core.notation.split import Piece, Splitter
from core.notation.text import format_route
from core.notation.tokens import Folded, fold, name_key
from core.text import quoted

ROUTE_LIMIT = 500
REPEAT_LIMIT = 20
FRAMES_LIMIT = 99

Value = TypeVar("Value", Game, Character)

# Signs that do not count in names.
_SIGNS = r"[\s!-/:-@\[-`{-~]"
_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+|\S")


@dataclass(frozen=True, slots=True)
class _Said:
    """What has been said before a move."""

    state: str | None = None
    meaty: bool = False
    meaty_frame: int | None = None
    delayed: bool = False
    delay_frames: int | None = None
    held: bool = False


class MoveBook:
    """Reads text about one character's moves under one control scheme; made once, then quick.

    `scheme` is a scheme's name as the game has it; moves come as that scheme has them.
    """

    def __init__(self, game: Game, character: Character, scheme: str | None = None) -> None:
        self._name = character.name
        self._example = f", such as {character.moves[0].under(scheme).input}" if character.moves else ""
        self._lookup = Lookup(game, character, scheme)
        self._states = _states(game.hit_states)
        self._before = _before_pattern(self._states)
        moves = [move.under(scheme) for move in character.moves]
        names = [name for move in moves for name in (move.input, move.name, *move.aliases)]
        states = [name for state in game.hit_states for name in (state.name, *state.aliases)]
        self._splitter = Splitter(game, names + states)

    def find(self, text: str) -> Move:
        """The one move that the text calls. Raises NotationError where there is not just one."""
        folded = self._folded(text, MOVE_LIMIT, "a move")
        step = self._step(folded)
        if step.state or step.meaty or step.delayed:
            raise NotationError(
                text, *folded.span(), f"a move alone is needed here, such as {step.move.input}"
            )
        return step.move

    def step(self, text: str) -> Step:
        """One step: a move and what is said about it. Raises NotationError."""
        return self._step(self._folded(text, MOVE_LIMIT, "a step"))

    def route(self, text: str) -> Route:
        """The route that the text describes. Raises NotationError."""
        pieces = self._splitter.pieces(self._folded(text, ROUTE_LIMIT, "a route"))
        steps: list[Step] = []
        for piece, after in zip(pieces, [*pieces[1:], None], strict=True):
            if not piece.text.chars:
                raise _missing(piece, after)
            step, times = self._repeated_step(piece.text)
            step = replace(step, joined=piece.joined)
            steps += [step, *[Step(step.move, press=step.press)] * (times - 1)]
        route = Route(tuple(steps))
        if (length := len(format_route(route))) > ROUTE_LIMIT:
            reason = f"written out, this route has {length:,} characters, and {ROUTE_LIMIT} is the most"
            raise NotationError(text, 0, len(text), reason)
        return route

    def _folded(self, text: str, limit: int, what: str) -> Folded:
        """The text without blanks around, neither too long nor empty."""
        if len(text) > limit:
            reason = f"{what} has at most {limit} characters, and this text has {len(text):,}"
            raise NotationError(text, limit, len(text), reason)
        folded = fold(text)
        whole = folded.part(0, len(folded.chars))
        if not whole.chars:
            raise NotationError(text, 0, len(text), f"the text is empty; write {what}{self._example}")
        return whole

    def _step(self, text: Folded) -> Step:
        said, text, called = self._apart(text)
        return self._as_step(said, *self._move(text, called))

    def _repeated_step(self, text: Folded) -> tuple[Step, int]:
        """A step and how often it is done."""
        said, text, called = self._apart(text)
        times = 1
        if not called and (repeated := self._splitter.repeated(text)):
            text, number = repeated
            times = _counted(number, REPEAT_LIMIT, "a count of repeats")
            called = self._lookup.called(text.chars)
        return self._as_step(said, *self._move(text, called)), times

    def _apart(self, text: Folded) -> tuple[_Said, Folded, tuple[Move, ...]]:
        """What is said before a move, the move's own text, and the moves that are called just so."""
        said = _Said()
        while not (called := self._lookup.called(text.chars)) and (found := self._before.match(text.chars)):
            said = self._and(said, found, text)
            rest = text.part(found.end(), len(text.chars))
            if not rest.chars:
                raise NotationError(
                    text.source, *text.span(), f"a move is missing after {quoted(text.typed())}"
                )
            text = rest
        return said, text, called

    def _as_step(self, said: _Said, move: Move, press: Press) -> Step:
        return Step(
            self._lookup.held(move) if said.held else move,
            delayed=said.delayed,
            delay_frames=said.delay_frames,
            state=said.state,
            meaty=said.meaty,
            meaty_frame=said.meaty_frame,
            press=Press.HOLD if said.held else press,
        )

    def _and(self, said: _Said, found: re.Match[str], text: Folded) -> _Said:
        """What was said before, and one thing more."""
        word = text.part(*found.span("word"))
        if (
            (found["state"] and said.state)
            or (found["meaty"] and said.meaty)
            or (found["delay"] and said.delayed)
        ):
            reason = f"{quoted(word.typed())} comes after another of its kind, and a step has only one"
            raise NotationError(text.source, *word.span(), reason)
        count = text.part(*found.span("count")) if found["count"] else None
        if found["meaty"]:
            frame = _counted(count, FRAMES_LIMIT, "the active frame of a meaty") if count else None
            return replace(said, meaty=True, meaty_frame=frame)
        if found["delay"]:
            frames = _counted(count, FRAMES_LIMIT, "a delay in frames") if count else None
            return replace(said, delayed=True, delay_frames=frames)
        if found["hold"]:
            return replace(said, held=True)
        names = self._states[name_key(word.chars)]
        if len(names) > 1:
            reason = f"{quoted(word.typed())} could be any of these hit states: {', '.join(names)}"
            raise NotationError(text.source, *word.span(), reason)
        return replace(said, state=names[0])

    def _move(self, text: Folded, called: tuple[Move, ...]) -> tuple[Move, Press]:
        """The one move that is called so, or else that the shorthand means; and what the hand does."""
        moves, press = called, Press.TAP
        if not moves:
            found = self._lookup.read(text)
            moves, press = found.moves, found.press
            if not moves:
                raise self._unknown(text, found)
        if len(moves) > 1:
            reason = f"{quoted(text.typed())} could be {len(moves)} moves of {self._name}"
            raise NotationError(text.source, *text.span(), reason, candidates=moves)
        return moves[0], self._lookup.press_of(moves[0]) if press is Press.TAP else press

    def _unknown(self, text: Folded, found: Found) -> NotationError:
        """The error for text that calls no move; it points at the first word that does not fit."""
        if len(pieces := self._splitter.pieces(text)) > 1 and (separator := pieces[1].separator):
            reason = f"one move is needed here, and {quoted(separator.typed())} stands between several"
            return NotationError(text.source, *separator.span(), reason)
        near = partial(self._lookup.near, text.chars, found.closest)
        whole = quoted(text.typed())
        reason = f"{self._name} has no move {whole}"
        if found.closest:
            return NotationError(text.source, *text.span(), reason, near)
        if found.furthest >= len(found.read.chars):
            lacking = "; a bracket is not closed" if set("[]") & set(text.chars) else " without a button"
            return NotationError(text.source, *text.span(), reason + lacking, near)
        stuck = next(i for i, start in enumerate(text.starts) if start == found.read.starts[found.furthest])
        token = next(token for token in _TOKEN.finditer(text.chars) if token.start() <= stuck < token.end())
        if not token.start():
            return NotationError(text.source, *text.span(), reason, near)
        word = text.part(*token.span())
        return NotationError(
            text.source, *word.span(), f"{quoted(word.typed())} in {whole} is not understood", near
        )


def find_move(text: str, game: Game, character: Character, scheme: str | None = None) -> Move:
    """The one move that the text calls. Raises NotationError where there is not just one."""
    return book_of(game, character, scheme).find(text)


def parse_route(text: str, game: Game, character: Character, scheme: str | None = None) -> Route:
    """The route that the text describes. Raises NotationError."""
    return book_of(game, character, scheme).route(text)


class _Same(Generic[Value]):
    """A value compared by identity: hashing a whole game would take longer than reading a move."""

    __slots__ = ("value",)

    def __init__(self, value: Value) -> None:
        self.value: Value = value

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.value is self.value

    def __hash__(self) -> int:
        return id(self.value)


def book_of(game: Game, character: Character, scheme: str | None = None) -> MoveBook:
    """The book of these very values, made on first use."""
    return _book(_Same(game), _Same(character), scheme)


@lru_cache(maxsize=128)
def _book(game: _Same[Game], character: _Same[Character], scheme: str | None) -> MoveBook:
    return MoveBook(game.value, character.value, scheme)


def _missing(piece: Piece, after: Piece | None) -> NotationError:
    """The error for a separator with no move before or after it."""
    if piece.separator is not None:
        separator, side = piece.separator, "after"
    else:
        assert after is not None, "a text that is one blank piece is refused as empty"
        assert after.separator is not None
        separator, side = after.separator, "before"
    reason = f"a move is missing {side} {quoted(separator.typed())}"
    return NotationError(separator.source, *separator.span(), reason)


def _counted(number: Folded, most: int, what: str) -> int:
    """A number from 1 to `most`."""
    digits = number.chars.lstrip("0")
    if not digits or len(digits) > len(str(most)) or int(digits) > most:
        reason = f"{what} is a number from 1 to {most}, not {quoted(number.typed())}"
        raise NotationError(number.source, *number.span(), reason)
    return int(digits)


def _states(states: tuple[HitState, ...]) -> dict[str, tuple[str, ...]]:
    """By the key of each name and alias, the hit states it can mean."""
    called: dict[str, tuple[str, ...]] = {}
    for state in states:
        for key in dict.fromkeys(name_key(fold(name).chars) for name in (state.name, *state.aliases)):
            called[key] = (*called.get(key, ()), state.name)
    return called


def _before_pattern(states: dict[str, tuple[str, ...]]) -> re.Pattern[str]:
    """What may stand before a move."""
    keys = sorted(states, key=len, reverse=True)
    state = "|".join(rf"{_SIGNS}*".join(map(re.escape, key)) for key in keys) or "(?!)"
    delay, meaty, hold = map("|".join, (words.DELAY, words.MEATY, words.HOLD))
    return re.compile(
        rf"(?P<word>(?P<counted>(?P<delay>{delay})|(?P<meaty>{meaty}))|(?P<hold>{hold})|(?P<state>{state}))"
        r"(?![^\W\d_])\.?(?(counted)(?:\s*\(\s*(?P<count>[0-9]+)\s*f?\s*\))?)[\s:]*"
    )
