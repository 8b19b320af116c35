"""The two demo games for tests, loaded once, and how to find a character and a move in them."""

from __future__ import annotations

from functools import cache

from bot.gamefiles import find_game, read_game
from core.model import Character, Contact, ContactKind, Game, Move

GAMES = ("saltglass", "kitewind")
HIT, BLOCK, WHIFF = Contact(), Contact(ContactKind.BLOCK), Contact(ContactKind.WHIFF)
COUNTER, OFF_BALANCE = Contact(state="counter hit"), Contact(state="off balance")


@cache
def demo(name: str) -> Game:
    """The demo game of this name."""
    return read_game(find_game(name))


def owner(game: Game, alias: str) -> Character:
    """The character with this alias."""
    return next(one for one in game.characters if alias in one.aliases)


def move(character: Character, written: str) -> Move:
    """The character's move with this input."""
    return next(one for one in character.moves if one.input == written)
