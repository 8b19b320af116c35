"""`cornerman route inputs` and `cornerman route rhythm`: how a route is played, with typical hands."""

from __future__ import annotations

import argparse
import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Any

from bot.config import Settings
from bot.render.card import as_text
from bot.render.inputs import inputs_card
from bot.render.pictures import rhythm_picture
from bot.render.play_values import INPUT_KEYS, RHYTHM_KEYS, input_values, rhythm_values
from bot.render.rhythm_card import clicks_text, no_track_card, presses_card, route_name, unplayable_card
from bot.results.playing import ClickTrack, RhythmSheet, Unplayable
from bot.services.playing import LOOPS, clicks_of, inputs_of, rhythm_of, timed
from bot.terminal.common import (
    ANSWERED,
    NO_ANSWER,
    UsageError,
    add_player,
    epilog,
    read_open,
    read_player,
)
from core.inputs import Facing, Plan
from core.verdict import Answer

SLOWEST, FASTEST, MOST_LOOPS = 25, 150, 20
"""Percent of the game's speed, and how often a click track may be played."""
CODES = (
    "0 answered; 1 the route does not work, or nothing can be told; 2 bad usage, a bad file, or a file that "
    "cannot be written"
)


def add_playing(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add both commands; `shared` has the options that every command takes."""
    for name, what, keys, run in (
        ("inputs", "what to enter for a route, with directions shared", INPUT_KEYS, _inputs),
        (
            "rhythm",
            "when to press each move, with picture and click track",
            RHYTHM_KEYS,
            _rhythm,
        ),
    ):
        command = commands.add_parser(
            name,
            parents=[shared],
            help=what,
            description=what.capitalize() + ".",
            epilog=epilog(keys, CODES),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.set_defaults(command="route", run=run)
        command.add_argument("route", metavar="ROUTE", help='the moves, as in "5MP, 2MP xx 236HP"')
        add_player(command)
        command.add_argument("--json", action="store_true", help="print JSON instead of text")
        if run is _inputs:
            command.add_argument(
                "--side",
                choices=[side.value for side in Facing],
                default=Facing.RIGHT.value,
                help="the side one faces (default: %(default)s)",
            )
            continue
        command.add_argument("--sheet", type=Path, metavar="FILE.png", help="write the picture there")
        command.add_argument("--clicks", type=Path, metavar="FILE.wav", help="write the click track there")
        command.add_argument(
            "--speed",
            type=_whole(SLOWEST, FASTEST),
            default=100,
            metavar="PERCENT",
            help=f"of the click track, {SLOWEST} to {FASTEST} (default: %(default)s)",
        )
        command.add_argument(
            "--loops",
            type=_whole(1, MOST_LOOPS),
            default=LOOPS,
            metavar="N",
            help=f"how often the click track is played, 1 to {MOST_LOOPS} (default: %(default)s)",
        )


def _inputs(given: argparse.Namespace, settings: Settings) -> int:
    opened = read_open(given, settings)
    if opened.check.verdict.answer is Answer.NO:
        return _unplayable(given, Unplayable(opened), input_values(Unplayable(opened)))
    controls = read_player(given, settings).controls
    sheet = inputs_of(timed(opened), Facing(given.side), controls)
    _print(given, as_text(inputs_card(sheet)), input_values(sheet))
    return ANSWERED if isinstance(sheet.plan, Plan) else NO_ANSWER


def _rhythm(given: argparse.Namespace, settings: Settings) -> int:
    sheet = rhythm_of(read_open(given, settings))
    if isinstance(sheet, Unplayable):
        return _unplayable(given, sheet, rhythm_values(sheet))
    said = [as_text(presses_card(sheet))]
    files: list[tuple[Path, bytes]] = []
    if given.sheet is not None:
        files.append((given.sheet, rhythm_picture(route_name(sheet.opened), sheet.schedule)))
        said.append(f"The picture is in {given.sheet}.")
    if given.clicks is not None:
        made = _clicks(given, settings, sheet)
        if made is None:
            return NO_ANSWER
        files.append((given.clicks, made.wav))
        said.append(f"{clicks_text(made)} It is in {given.clicks}.")
    for file, data in files:
        write_whole(file, data)
    _print(given, "\n\n".join(said), rhythm_values(sheet))
    return ANSWERED


def _clicks(given: argparse.Namespace, settings: Settings, sheet: RhythmSheet) -> ClickTrack | None:
    """The click track; None where it would be too long, which is told."""
    inputs = inputs_of(sheet, Facing.RIGHT, read_player(given, settings).controls)
    made = clicks_of(inputs, given.speed / 100, given.loops)
    if isinstance(made, ClickTrack):
        return made
    print(no_track_card(made).lead)
    return None


def write_whole(file: Path, data: bytes) -> None:
    """Write a file whole or not at all. Raises UsageError."""
    if file.is_dir():
        raise UsageError(f"{file} is a folder; name a file in it.")
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        part.replace(file)
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise UsageError(f"{file} cannot be written: {error.strerror}.") from None


def _unplayable(given: argparse.Namespace, route: Unplayable, told: Any) -> int:
    _print(given, as_text(unplayable_card(route)), told)
    return NO_ANSWER


def _print(given: argparse.Namespace, text: str, told: Any) -> None:
    print(json.dumps(told, ensure_ascii=False, indent=2) if given.json else text)


def _whole(least: int, most: int) -> Any:
    """What reads a whole number from `least` to `most`."""

    def read(text: str) -> int:
        if text.isascii() and text.isdigit() and least <= int(text) <= most:
            return int(text)
        raise argparse.ArgumentTypeError(f"a whole number from {least} to {most} is needed")

    return read
