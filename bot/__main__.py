"""The command line: ask a question, run the bot, open the room, look after game files and the database."""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import sys
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from pydantic import SecretStr

from bot.config import ConfigError, Settings, read_settings
from bot.gamefiles import GameNotFoundError, game_file, read_game
from bot.ports import StorageError
from bot.render.ask import text
from bot.render.values import KEYS, values
from bot.results.ask import Asked, UnknownName
from bot.services.ask import AskService
from bot.services.learn import asks_to_learn
from bot.terminal.common import (
    ANSWERED,
    BAD_USAGE,
    CANNOT_RUN,
    INTERRUPTED,
    NO_ANSWER,
    UsageError,
    epilog,
)
from bot.terminal.doctor import add_doctor, print_findings
from bot.terminal.games import add_games
from bot.terminal.moving import add_copies
from bot.terminal.routes import add_routes, print_routes
from core.gamefile import GameFileError
from core.verdict import Answer

ROOM_PORT, MAX_PORT = 8650, 65_535
ALONE = "Several processes need a PostgreSQL database: set database to its address, or leave out --shards."
ROOM_NEEDS = ("simcord", "markdown_it")  # the simulator, and what its page needs


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 answered, 1 not understood or unknown, 2 bad
    usage or a bad file, 3 the platform or the database cannot be used."""
    try:
        given = _parser().parse_args(argv)
        code = _run(given)
        sys.stdout.flush()
        return code
    except SystemExit as stop:  # argparse has printed what is wrong, or the help
        return stop.code if isinstance(stop.code, int) else BAD_USAGE
    except (ConfigError, GameNotFoundError, UsageError) as error:
        print(error, file=sys.stderr)
        return BAD_USAGE
    except GameFileError as error:
        print("\n".join(map(str, error.problems)), file=sys.stderr)
        return BAD_USAGE
    except StorageError as error:
        print(error, file=sys.stderr)
        return CANNOT_RUN
    except BrokenPipeError:  # whoever read our output has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ANSWERED
    except KeyboardInterrupt:
        return INTERRUPTED


def _run(given: argparse.Namespace) -> int:
    if given.command == "doctor":  # wrong settings are a finding of its own
        return print_findings(given)
    settings = read_settings(given.config)
    match given.command:
        case "ask":
            return _ask(given, settings)
        case "run":
            return _connect(settings, given.shards)
        case "room":
            return _room(given, settings)
    code: int = given.run(given, settings)
    return code


def _ask(given: argparse.Namespace, settings: Settings) -> int:
    service = AskService(read_game(game_file(given.game or settings.default_game, settings.games_folder)))
    character = given.character or settings.default_character or None
    result = service.ask(given.question, character, given.controls)
    if asks_to_learn(result):
        return print_routes(result, given.controls, as_json=given.json)
    print(json.dumps(values(result), ensure_ascii=False, indent=2) if given.json else text(result))
    if isinstance(result, Asked):
        return NO_ANSWER if result.answer is Answer.UNKNOWN else ANSWERED
    wrong_option = isinstance(result, UnknownName) and result.place is None
    return BAD_USAGE if wrong_option else NO_ANSWER


def _connect(settings: Settings, said: str | None) -> int:
    from bot.app import Cornerman, SystemClock, build  # here, for a single question needs no chat library
    from bot.client import logs
    from bot.client.run import RunError, run
    from bot.client.shards import ShardsError, read_shards
    from bot.heap import set_apart, share_heaps
    from bot.storage.starting import only_bot_on

    try:
        shards = read_shards(said) if said is not None else None
    except ShardsError as error:
        raise UsageError(error) from None
    if shards is not None and not shards.all and isinstance(settings.database, Path):
        raise UsageError(ALONE)

    def make_bot() -> Cornerman:
        bot = build(settings, SystemClock(), shards=shards)
        set_apart()  # with all that it needs, and nothing of a bot before it
        return bot

    token = settings.token.get_secret_value().strip()
    address = settings.database.get_secret_value() if isinstance(settings.database, SecretStr) else ""
    logs.set_up(settings.log_level, settings.log_format, (token, address))
    share_heaps()
    try:
        with only_bot_on(settings.database):
            asyncio.run(run(make_bot, token))
    except RunError as error:
        print(error, file=sys.stderr)
        return CANNOT_RUN
    return ANSWERED


def _room(given: argparse.Namespace, settings: Settings) -> int:
    if not all(map(find_spec, ROOM_NEEDS)):
        print("The room needs one more install: pip install 'cornerman[room]'", file=sys.stderr)
        return BAD_USAGE
    from bot.room.open import open_room  # here, for the extra is needed by nothing else

    open_room(settings, given.port, given.browser)
    return ANSWERED


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="cornerman", description="Right frame answers, with reasons.")
    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument(
        "--config", type=Path, metavar="FILE", help="settings (default: config.toml, if there)"
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    ask = commands.add_parser(
        "ask",
        parents=[shared],
        help="ask one question",
        description="Ask one question in plain words, such as: does 5MP link into 2MP on counter hit?",
        epilog=epilog(
            KEYS, "0 answered; 1 not understood, or the answer is unknown; 2 bad usage or a bad file"
        ),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    ask.set_defaults(command="ask")
    ask.add_argument("question", metavar="QUESTION")
    ask.add_argument(
        "--game", metavar="NAME_OR_FILE", help="a game's name, or the path of its file or folder"
    )
    ask.add_argument("--character", metavar="NAME", help="your character, where the question names none")
    ask.add_argument(
        "--controls", metavar="SCHEME", help="your control scheme, where the question names none"
    )
    ask.add_argument("--json", action="store_true", help="print JSON instead of text")
    running = commands.add_parser(
        "run",
        parents=[shared],
        help="connect the bot to the chat platform",
        description="Connect the bot to the chat platform, with the token of CORNERMAN_TOKEN or of the "
        "settings, until it is told to stop (SIGTERM or Ctrl-C).",
        epilog="exit code: 0 stopped; 2 bad usage, settings or game file; 3 the platform or the database "
        "cannot be used",
    )
    running.set_defaults(command="run")
    running.add_argument(
        "--shards",
        metavar="FIRST-LAST/COUNT",
        help="hold only these shards, such as 0-1/4 or 2/4, where other processes hold the others (default: "
        "all, as many as the platform recommends)",
    )
    room = commands.add_parser(
        "room",
        parents=[shared],
        help="try the bot in an invented server on this machine",
        description="Open an invented server with the bot in it, as a page on this machine; it needs no "
        "token and no network.",
    )
    room.set_defaults(command="room")
    room.add_argument(
        "--port",
        type=_port,
        default=ROOM_PORT,
        help="the page's port (default: %(default)s, 0: any free one)",
    )
    room.add_argument("--no-browser", dest="browser", action="store_false", help="do not open a browser")
    add_copies(commands, shared)
    add_doctor(commands, shared)
    add_routes(commands, shared)
    add_games(commands, shared)
    return parser


def _port(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) <= MAX_PORT:
        return int(text)
    raise argparse.ArgumentTypeError(f"a port is a number from 0 to {MAX_PORT}")


if __name__ == "__main__":
    sys.exit(main())
