"""Completing what somebody is typing: moves, characters, games. Best first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from rapidfuzz import fuzz

from core.model import Character, Game, Move
from core.notation import MOVE_LIMIT, NotationError, book_of, letters_for
from core.notation.tokens import fold, name_key

MOST = 25
NEAR_SCORE = 70

Named = TypeVar("Named")


def complete_moves(game: Game, owners: Sequence[Character], typed: str) -> tuple[Move, ...]:
    """Moves that the text may become, one for each input; every move, in order, for no text."""
    moves = list({move.input: move for who in reversed(owners) for move in reversed(who.moves)}.values())
    moves.reverse()
    meant: list[Move] = []
    for who in owners:
        meant += _called(game, who, typed)
    letters = letters_for(game.buttons)
    named = [(move, (move.input, letters(move.input), move.name, *move.aliases)) for move in moves]
    first = {move.input: move for move in meant}
    rest = {move.input: move for move in _best(named, typed)}
    return tuple((first | rest).values())[:MOST]


def complete_names(names: Iterable[tuple[str, Sequence[str]]], typed: str) -> tuple[str, ...]:
    """Of names, each with everything it is called, those that the text may become."""
    return tuple(_best([(name, called) for name, called in names], typed))[:MOST]


def complete_states(game: Game, typed: str) -> tuple[str, ...]:
    """Hit states of the game that the text may become, at most 25, best first."""
    states = [(state.name, (state.name, *state.aliases)) for state in game.hit_states]
    return complete_names(states, typed)


def complete_controls(game: Game, typed: str) -> tuple[str, ...]:
    """Control schemes of the game that the text may become, best first."""
    return complete_names([(one.name, (one.name, *one.aliases)) for one in game.schemes], typed)


def _called(game: Game, who: Character, typed: str) -> tuple[Move, ...]:
    """The move that is called just so, or those that it may be."""
    if not typed.strip() or len(typed) > MOVE_LIMIT:
        return ()
    try:
        return (book_of(game, who).find(typed),)
    except NotationError as error:
        return error.candidates


def _best(named: Sequence[tuple[Named, Sequence[str]]], typed: str) -> list[Named]:
    """What begins so, then what has a word that does, then what holds it, then what looks like it."""
    wanted = name_key(fold(typed[:MOVE_LIMIT]).chars)
    if not wanted:
        return [one for one, _ in named]
    ranked = []
    for place, (one, called) in enumerate(named):
        rank = min(_rank(wanted, name) for name in called)
        if rank < NEAR_NONE:
            ranked.append((rank, place, one))
    return [one for _, _, one in sorted(ranked, key=lambda entry: entry[:2])]


NEAR_NONE = 1000.0


def _rank(wanted: str, name: str) -> float:
    folded = fold(name).chars
    key = name_key(folded)
    if key == wanted:
        return 0
    if key.startswith(wanted):
        return 1
    if any(name_key(word).startswith(wanted) for word in folded.split()):
        return 2
    if wanted in key:
        return 3
    score = fuzz.ratio(wanted, key[: len(wanted) + 2])
    return 1000 - score if score >= NEAR_SCORE else NEAR_NONE
