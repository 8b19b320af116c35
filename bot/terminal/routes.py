"""`cornerman route check` and `cornerman route find`."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from bot.config import Settings
from bot.render.card import as_text
from bot.render.route_check import route_card
from bot.render.route_find import finding_card
from bot.render.route_values import CHECK_KEYS, FIND_KEYS, check_values, find_values
from bot.results.ask import Asked
from bot.results.finding import FEWEST_MOVES, LONGEST_MOVES, MOST_MOVES, Finding, Wanted
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.route import KnownHands
from bot.services.choices import as_choice
from bot.services.learn import starter_of
from bot.services.opening import begun, terminal_route
from bot.services.route_finder import finding_of, look
from bot.services.route_options import NONE, read_start, read_state, read_wanted
from bot.services.route_options import Asked as Search
from bot.terminal.common import (
    ANSWERED,
    BAD_USAGE,
    NO_ANSWER,
    UsageError,
    add_player,
    epilog,
    read_player,
    read_route,
    told,
)
from bot.terminal.playing import add_playing
from core.model import Game
from core.routes import Aim

GAUGE = 'as in "salt 50", or "none" (default: all there is)'
AIMS = {
    "damage": Aim.DAMAGE,
    "average": Aim.EXPECTED,
    "surest": Aim.RELIABLE,
    "shortest": Aim.SHORTEST,
}


def add_routes(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the commands about routes; `shared` has the options that every command takes. Each sets `run`, a
    function of the arguments and the settings that returns the exit code."""
    route = commands.add_parser("route", help="check a route, find routes, play them").add_subparsers(
        required=True, metavar="COMMAND"
    )
    _add_check(route, shared)
    _add_find(route, shared)
    add_playing(route, shared)


def check_route(given: argparse.Namespace, settings: Settings) -> int:
    """Print whether a route works, and why."""
    player = read_player(given, settings)
    who, route = read_route(player, given.route)
    state = told(read_state(player.game, given.state), player.game)
    start = told(read_start(player.game, given.gauge, given.airborne, given.distance), player.game)
    opened = terminal_route(player.game, who, begun(route, state), start)
    _print(check_values(opened), as_text(route_card(opened)), given.json)
    return ANSWERED if opened.check.works else NO_ANSWER


def find_routes(given: argparse.Namespace, settings: Settings) -> int:
    """Print routes to choose from, and draw them."""
    player = read_player(given, settings)
    wanted = Wanted(
        given.starter,
        AIMS[given.want],
        given.at_least,
        given.gauge,
        given.knockdown,
        given.with_moves,
        given.without,
        given.state,
        given.airborne,
        given.distance,
        given.moves,
    )
    read = read_wanted(player.game, player.character, wanted, player.controls, KnownHands())
    if isinstance(read, LogRefusal) and read.code is LogRefusalCode.NO_CHARACTER:
        raise UsageError(f"Name a character with --character, or as in “{read.facts['example']}”.")
    found = _found(player.game, told(read, player.game))
    if given.picture is not None and found.routes:
        from bot.render.pictures import front_picture  # here, for drawing is slow to import

        try:
            given.picture.write_bytes(front_picture(found))
        except OSError as error:
            print(f"{given.picture} cannot be written: {error.strerror}.", file=sys.stderr)
            return BAD_USAGE
    return _print_found(found, given.json)


def print_routes(asked: Asked, controls: str | None, *, as_json: bool) -> int:
    """Print the routes that answer a question about what to learn, and return the exit code."""
    found = _lesson(asked, controls, NONE)  # as in chat: what costs nothing can be done every time
    return _print_found(found if found.routes else _lesson(asked, controls), as_json)


def _lesson(asked: Asked, controls: str | None, gauge: str = "") -> Finding:
    """The routes from the move asked about that land most on average."""
    wanted = Wanted(starter_of(asked), Aim.EXPECTED, gauge=gauge)
    read = read_wanted(asked.game, asked.character, wanted, controls, KnownHands())
    return _found(asked.game, told(read, asked.game))


def _found(game: Game, search: Search) -> Finding:
    """What a search finds for typical hands."""
    known = KnownHands()
    looked = look(game, search.character, search.query, known.spread, known.bias_frames)
    pairs = zip(looked.found.routes, looked.chances, strict=True)
    choices = [as_choice(game, search, one, chance) for one, chance in pairs]
    return finding_of(game, search, known, looked.found, choices)


def _print_found(found: Finding, as_json: bool) -> int:
    _print(find_values(found), as_text(finding_card(found)), as_json)
    return ANSWERED if found.routes else NO_ANSWER


def _print(values: dict[str, Any], text: str, as_json: bool) -> None:
    print(json.dumps(values, ensure_ascii=False, indent=2) if as_json else text)


def _add_check(route: Any, shared: argparse.ArgumentParser) -> None:
    check = route.add_parser(
        "check",
        parents=[shared],
        help="say whether a route works, step by step",
        description="Say whether a route works, what each step is, and what it comes to.",
        epilog=epilog(
            CHECK_KEYS, "0 it works; 1 it does not, or that is unknown; 2 it cannot be read, or bad usage"
        ),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    check.set_defaults(command="route", run=check_route)
    check.add_argument("route", metavar="ROUTE", help='the moves, as in "Odrun: 5MP, 2MP xx 236HP"')
    _add_start(check)
    check.add_argument("--gauge", default="", metavar="AMOUNTS", help=f"what there is, {GAUGE}")
    _add_last(check)


def _add_find(route: Any, shared: argparse.ArgumentParser) -> None:
    find = route.add_parser(
        "find",
        parents=[shared],
        help="find routes to choose from",
        description="Find the best routes, and others that are easier or shorter, for typical hands.",
        epilog=epilog(FIND_KEYS, "0 found; 1 nothing fits; 2 something cannot be read, or bad usage"),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    find.set_defaults(command="route", run=find_routes)
    find.add_argument(
        "starter", nargs="?", default="", metavar="STARTER", help="the first move, as in 5MP or Odrun: 5MP"
    )
    find.add_argument(
        "--want", choices=tuple(AIMS), default="damage", help="what counts most (default: %(default)s)"
    )
    find.add_argument("--at-least", type=_whole, default=0, metavar="DAMAGE", help="the least damage")
    find.add_argument("--gauge", default="", metavar="AMOUNTS", help=f"what it may cost at most, {GAUGE}")
    find.add_argument("--knockdown", action="store_true", help="it must knock down")
    find.add_argument("--with", dest="with_moves", default="", metavar="MOVES", help="moves to be in it")
    find.add_argument("--without", default="", metavar="MOVES", help="moves to leave out")
    find.add_argument(
        "--moves",
        type=_moves,
        default=MOST_MOVES,
        metavar="COUNT",
        help=f"how many moves at most, {FEWEST_MOVES} to {LONGEST_MOVES} (default: %(default)s)",
    )
    _add_start(find)
    find.add_argument("--picture", type=Path, metavar="FILE", help="write a picture of them, as PNG")
    _add_last(find)


def _add_start(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--state", default="", metavar="STATE", help="how the first move hits, as in CH")
    parser.add_argument("--airborne", action="store_true", help="they are in the air already")
    parser.add_argument("--distance", type=_distance, metavar="FAR", help="how far apart the two begin")


def _add_last(parser: argparse.ArgumentParser) -> None:
    add_player(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def _whole(text: str) -> int:
    if text.isascii() and text.isdigit() and len(text) < 8:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is no whole number")


def _moves(text: str) -> int:
    if text.isascii() and text.isdigit() and FEWEST_MOVES <= int(text[:3]) <= LONGEST_MOVES:
        return int(text)
    raise argparse.ArgumentTypeError(f"a route has {FEWEST_MOVES} to {LONGEST_MOVES} moves here")


def _distance(text: str) -> float:
    try:
        far = float(text)
    except ValueError:
        far = -1
    if 0 <= far <= 1000:
        return far
    raise argparse.ArgumentTypeError(f"{text!r} is no distance")
