"""What commands of the command line share: reading a game, a character and a route, and exit codes."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from bot.config import Settings
from bot.gamefiles import game_file, read_game
from bot.render.log import log_refusal_card
from bot.render.refusals import refusal_card
from bot.results.log import LogRefusal
from bot.results.route import OpenRoute
from bot.services.moves import MoveFinder
from bot.services.opening import terminal_route
from bot.services.subjects import read_moves
from core.model import Character, Game
from core.notation import Route
from core.routes import Start

T = TypeVar("T")

ANSWERED, NO_ANSWER, BAD_USAGE, CANNOT_RUN, INTERRUPTED = 0, 1, 2, 3, 130


class UsageError(ValueError):
    """What was typed cannot be used; the message is one sentence for the reader."""


@dataclass(frozen=True, slots=True)
class Player:
    """Whose moves are spoken of: None where no character is named; `controls` is their control scheme."""

    game: Game
    character: Character | None
    controls: str | None


def add_player(parser: argparse.ArgumentParser) -> None:
    """The options that say which game, which character and which control scheme."""
    parser.add_argument(
        "--game", metavar="NAME_OR_FILE", help="a game's name, or the path of its file or folder"
    )
    parser.add_argument("--character", metavar="NAME", help="your character, where the moves name none")
    parser.add_argument("--controls", metavar="SCHEME", help="your control scheme")


def read_player(given: argparse.Namespace, settings: Settings) -> Player:
    """What the options of `add_player` say. Raises UsageError, and what reading a game file raises."""
    game = read_game(game_file(given.game or settings.default_game, settings.games_folder))
    finder = MoveFinder(game)
    name = given.character or settings.default_character or None
    character = finder.character(name) if name else None
    if name and character is None:
        raise UsageError(refusal_card(finder.unknown_character(name, name, None)).lead)
    controls = finder.scheme(given.controls) if given.controls else None
    if given.controls and controls is None:
        raise UsageError(refusal_card(finder.unknown_scheme(given.controls, given.controls)).lead)
    return Player(game, character, controls)


def read_open(given: argparse.Namespace, settings: Settings, start: Start | None = None) -> OpenRoute:
    """The route of the argument ROUTE, judged for typical hands. `start`: how it begins; None: full gauges.
    Raises as `read_player` does."""
    player = read_player(given, settings)
    who, route = read_route(player, given.route)
    return terminal_route(player.game, who, route, start)


def read_route(player: Player, typed: str) -> tuple[Character, Route]:
    """The moves of a text, and whose they are. Raises UsageError."""
    found = told(read_moves(player.game, player.character, typed, player.controls), player.game)
    assert found.character is not None
    assert found.route is not None
    return found.character, found.route


def told(read: T | LogRefusal, game: Game) -> T:
    """What was read. Raises UsageError where it was refused."""
    if isinstance(read, LogRefusal):
        raise UsageError(log_refusal_card(read, game).lead)
    return read


def epilog(keys: Mapping[str, str], codes: str) -> str:
    """What stands below a command's help: the keys of its JSON, and its exit codes."""
    told = "\n".join(
        textwrap.fill(f"{key}: {what}", 98, initial_indent="  ", subsequent_indent="      ")
        for key, what in keys.items()
    )
    return f"keys of the JSON:\n{told}\n\nexit code: {codes}"
