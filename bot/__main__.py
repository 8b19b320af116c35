"""The command line: ask a question, check a game file, list the games."""

from __future__ import annotations

import argparse
import json
import os
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path

from bot.config import ConfigError, Settings, read_settings
from bot.gamefiles import GAME_FILE, GameNotFoundError, find_game, packaged_games, read_game
from bot.render.ask import text
from bot.render.summary import summary
from bot.render.values import KEYS, values
from bot.results.ask import Asked, UnknownName
from bot.services.ask import AskService
from core.gamefile import GameFileError
from core.verdict import Answer

ANSWERED, NO_ANSWER, BAD_USAGE, INTERRUPTED = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 answered, 1 not understood or unknown, 2 bad
    usage or a bad file."""
    try:
        given = _parser().parse_args(argv)
        code = _run(given)
        sys.stdout.flush()
        return code
    except SystemExit as stop:  # argparse has printed what is wrong, or the help
        return stop.code if isinstance(stop.code, int) else BAD_USAGE
    except (ConfigError, GameNotFoundError) as error:
        print(error, file=sys.stderr)
        return BAD_USAGE
    except GameFileError as error:
        print("\n".join(map(str, error.problems)), file=sys.stderr)
        return BAD_USAGE
    except BrokenPipeError:  # whoever read our output has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ANSWERED
    except KeyboardInterrupt:
        return INTERRUPTED


def _run(given: argparse.Namespace) -> int:
    settings = read_settings(given.config)
    match given.command:
        case "ask":
            return _ask(given, settings)
        case "check":
            print(summary(read_game(_game_file(given.file, settings))))
        case _:
            for name, file in {**packaged_games(), **_own_games(settings)}.items():
                print(f"{name}: {file}")
    return ANSWERED


def _ask(given: argparse.Namespace, settings: Settings) -> int:
    service = AskService(read_game(_game_file(given.game or settings.default_game, settings)))
    character = given.character or settings.default_character or None
    result = service.ask(given.question, character, given.controls)
    print(json.dumps(values(result), ensure_ascii=False, indent=2) if given.json else text(result))
    if isinstance(result, Asked):
        return NO_ANSWER if result.answer is Answer.UNKNOWN else ANSWERED
    wrong_option = isinstance(result, UnknownName) and result.place is None
    return BAD_USAGE if wrong_option else NO_ANSWER


def _game_file(name_or_path: str, settings: Settings) -> Path:
    """The game file of a path, of a game in the server's own folder, or of a packaged game."""
    wanted = name_or_path.strip().casefold()
    for name, file in _own_games(settings).items():
        if wanted == name.casefold():
            return file
    return find_game(name_or_path)


def _own_games(settings: Settings) -> dict[str, Path]:
    """The server's own game files by the names of their folders or files."""
    folder = settings.games_folder
    found = {file.parent.name: file for file in sorted(folder.glob(f"*/{GAME_FILE}"))}
    return {**{file.stem: file for file in sorted(folder.glob("*.toml"))}, **found}


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
        epilog=_epilog(),
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
    game = commands.add_parser("game", help="look after game files").add_subparsers(
        required=True, metavar="COMMAND"
    )
    check = game.add_parser(
        "check", parents=[shared], help="print every problem of a game file, or a summary"
    )
    check.set_defaults(command="check")
    check.add_argument("file", metavar="FILE", help="a game.toml, its folder, or a game's name")
    listing = game.add_parser("list", parents=[shared], help="print the games that can be asked by name")
    listing.set_defaults(command="list")
    return parser


def _epilog() -> str:
    keys = "\n".join(
        textwrap.fill(f"{key}: {what}", 98, initial_indent="  ", subsequent_indent="      ")
        for key, what in KEYS.items()
    )
    return (
        f"keys of the JSON:\n{keys}\n\n"
        "exit code: 0 answered; 1 not understood, or the answer is unknown; 2 bad usage or a bad file"
    )


if __name__ == "__main__":
    sys.exit(main())
