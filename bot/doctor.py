"""What keeps the bot from running well on this machine: one finding for each thing that it needs. Nothing is
changed, and nothing is connected to but the database."""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from pathlib import Path
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import SecretStr

from bot.config import CONFIG_FILE, PREFIX, ConfigError, Settings, read_settings
from bot.gamefiles import GameNotFoundError, game_file, own_games, packaged_games, read_game
from bot.services.moves import MoveFinder
from bot.storage.address import address_of
from bot.storage.checkup import check_up, check_up_server
from bot.storage.errors import StorageError
from core.gamefile import GameFileError
from core.model import Game

MB = 1_000_000
FULL, TIGHT = 50 * MB, 500 * MB
COPIES = 3
"""A backup, a restore and a migration need room for another database, and its log may grow as large."""
FIRST_YEAR, LAST_YEAR = 2026, 2100
AHEAD = timedelta(minutes=5)
OLDEST_SERVER = 12
"""The oldest version of PostgreSQL that the bot is meant for."""
ALONE = "let only the bot read it (chmod 600)"

_TOKEN = re.compile(r"[\w-]+\.[\w-]+\.[\w-]+", re.ASCII)
"""Three parts in base64url, as the platform gives them out."""
_PASSWORD = re.compile(r"[^/]+://[^/@]*:[^/@]+@")
"""How a URL begins that holds a password."""


class State(StrEnum):
    """How a finding is meant; from what is well to what keeps the bot from running."""

    OK = "ok"
    LOOK = "look at it"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found of one thing, in one sentence, with what to do about it."""

    check: str
    state: State
    said: str


def examine(
    config: Path | None, now: Callable[[], datetime] = lambda: datetime.now(UTC)
) -> tuple[Finding, ...]:
    """All findings, in the order in which they had better be set right. `config`: as in `read_settings`."""
    try:
        settings = read_settings(config)
    except ConfigError as error:
        return Finding("settings", State.WRONG, f"{error}."), _clock(now(), None), _pictures()
    return (
        _settings(config or CONFIG_FILE, settings),
        _token(settings.token.get_secret_value()),
        _unless_forbidden("games", lambda: _games(settings)),
        *_kept(settings.database, now),
        _pictures(),
    )


def _kept(database: Path | SecretStr, now: Callable[[], datetime]) -> tuple[Finding, ...]:
    """Of the database, of what a file of one needs, and of the clock."""
    if isinstance(database, SecretStr):
        return _server(database, now)
    return (
        _unless_forbidden("database", lambda: _database(database)),
        _unless_forbidden("disk", lambda: _disk(database)),
        _unless_forbidden("clock", lambda: _clock(now(), database)),
    )


def _unless_forbidden(check: str, look: Callable[[], Finding]) -> Finding:
    """A finding also where not even looking is allowed."""
    try:
        return look()
    except OSError as error:
        said = f"{error.filename or check} cannot be looked at ({(error.strerror or 'it failed').lower()})"
        return Finding(check, State.WRONG, f"{said}: let the bot's user read it and its folder.")


def _settings(file: Path, settings: Settings) -> Finding:
    known = {PREFIX + name.upper() for name in Settings.model_fields}
    unknown = sorted(
        name for name in os.environ if name.upper().startswith(PREFIX) and name.upper() not in known
    )
    if unknown:
        said = f"{unknown[0]} in the environment is no setting; there are {', '.join(sorted(known))}."
        return Finding("settings", State.LOOK, said)
    if not file.is_file():
        said = f"There is no {file} here: all settings are those of the environment, or the defaults."
        return Finding("settings", State.OK, said)
    if _is_open_to_all(file):
        for name, secret in _secrets(settings).items():
            if secret and secret in file.read_text("utf-8"):
                said = f"Anybody on this machine can read the {name} in {file}: {ALONE}."
                return Finding("settings", State.LOOK, said)
    return Finding("settings", State.OK, f"{file} is read.")


def _is_open_to_all(file: Path) -> bool:
    return os.name == "posix" and bool(file.stat().st_mode & stat.S_IROTH)


def _secrets(settings: Settings) -> dict[str, str]:
    """What nobody else may read, by what it is called; empty where it is not set."""
    database = settings.database
    url = database.get_secret_value() if isinstance(database, SecretStr) else ""
    return {
        "token": settings.token.get_secret_value(),
        "database's password": url if _PASSWORD.match(url) else "",
    }


def _token(token: str) -> Finding:
    """What is wrong with its form is said without showing any of it."""
    token = token.strip()
    if not token:
        said = "There is no token: set CORNERMAN_TOKEN, or token in the config file, to the bot's own."
        return Finding("token", State.WRONG, said)
    if not _TOKEN.fullmatch(token):
        said = (
            "What is set as token is none: copy it anew from the bot's page on the platform, three parts "
            "with dots between them and nothing else."
        )
        return Finding("token", State.WRONG, said)
    return Finding("token", State.OK, "There is a token, and it has the form of one.")


def _games(settings: Settings) -> Finding:
    folder = settings.games_folder
    if folder.exists() and not (folder.is_dir() and os.access(folder, os.R_OK | os.X_OK)):
        return Finding(
            "games", State.WRONG, f"{folder} is no folder that the bot may read; name one that is."
        )
    try:
        default = _default_game(settings)
    except GameNotFoundError as error:
        return Finding("games", State.WRONG, f"The setting default_game is wrong: {error}.")
    except GameFileError as error:
        more = len(error.problems) - 1
        others = f", and {more} more" if more else ""
        said = f"A game file has to be set right ({error.problems[0]}{others}): try cornerman game check."
        return Finding("games", State.WRONG, said)
    own = own_games(folder)
    if not own and folder != Settings.model_fields["games_folder"].default:
        where = "holds no game file" if folder.is_dir() else "does not exist"
        said = (
            f"{folder.absolute()} {where}: set games_folder to the folder of your own games, or leave it out."
        )
        return Finding("games", State.LOOK, said)
    who = settings.default_character
    if who and MoveFinder(default).character(who) is None:
        said = f"{default.name} has no character {who}: set default_character to one that it has."
        return Finding("games", State.LOOK, said)
    count = len({**packaged_games(), **own})
    return Finding("games", State.OK, f"{count} games are read; {default.name} is what a question is about.")


def _default_game(settings: Settings) -> Game:
    """The game of the settings, with all others read too, as the bot does when it starts."""
    for file in {**packaged_games(), **own_games(settings.games_folder)}.values():
        read_game(file)
    return read_game(game_file(settings.default_game, settings.games_folder))


def _database(file: Path) -> Finding:
    try:
        found = check_up(file)
    except StorageError as error:
        return Finding("database", State.WRONG, str(error))
    if not found.exists:
        return Finding("database", State.OK, f"{file} is not there yet: the bot makes it when it first runs.")
    if found.revision is not None and not found.up_to_date:
        said = (
            f"{file} is whole, but its tables are older than this version: copy it with cornerman backup, "
            "then start the bot, which brings them up to date."
        )
        return Finding("database", State.LOOK, said)
    if _is_open_to_all(file):
        said = f"{file} is well, but anybody on this machine can read what members wrote in it: {ALONE}."
        return Finding("database", State.LOOK, said)
    return Finding("database", State.OK, f"{file} is whole, up to date, and can be written to.")


def _server(database: SecretStr, now: Callable[[], datetime]) -> tuple[Finding, Finding]:
    """Of the database, and of the clock, which has to agree with that of the database's server."""
    try:
        address = address_of(database)
        found = asyncio.run(check_up_server(address))
    except StorageError as error:
        return Finding("database", State.WRONG, str(error)), _clock(now(), None)
    clock = _clock(now(), None, found.clock)
    said = f"{address} is reached (PostgreSQL {found.version})"
    if found.version < OLDEST_SERVER:
        said = f"{said}, but Cornerman needs PostgreSQL {OLDEST_SERVER} or newer: update the server."
        return Finding("database", State.WRONG, said), clock
    if found.revision is None:
        return Finding(
            "database", State.OK, f"{said} and empty: the bot makes its tables when it runs."
        ), clock
    if not found.up_to_date:
        said = (
            f"{said}, but its tables are older than this version: copy it with pg_dump, then start the bot, "
            "which brings them up to date."
        )
        return Finding("database", State.LOOK, said), clock
    return Finding("database", State.OK, f"{said}, up to date, and can be written to."), clock


def _disk(database: Path) -> Finding:
    folder = database.absolute().parent
    free = shutil.disk_usage(folder).free
    wanted = max(TIGHT, COPIES * (database.stat().st_size if database.is_file() else 0))
    if free < FULL:
        said = f"Only {free // MB} MB are free in {folder}: make room, or the bot can soon keep nothing more."
        return Finding("disk", State.WRONG, said)
    if free < wanted:
        room = f"make room for {wanted // MB:,} MB, for backups need it"
        said = f"Only {free // MB:,} MB are free in {folder}: {room}."
        return Finding("disk", State.LOOK, said)
    return Finding("disk", State.OK, f"{free / (1000 * MB):,.1f} GB are free in {folder}.")


def _clock(now: datetime, database: Path | None, server: datetime | None = None) -> Finding:
    """`database`: the file of one; `server`: what the clock of a database's server says."""
    said = f"This machine's clock says {now.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
    if not FIRST_YEAR <= now.year <= LAST_YEAR:
        return Finding("clock", State.WRONG, f"{said}: set it, or let it be set over the network (NTP).")
    if database is not None and database.is_file():
        written = datetime.fromtimestamp(database.stat().st_mtime, UTC)
        if written > now + AHEAD:
            said = f"{said}, but the database was written to on {written:%Y-%m-%d %H:%M}: set the clock."
            return Finding("clock", State.LOOK, said)
    if server is not None and abs(server - now) > AHEAD:
        theirs = f"{server.astimezone(UTC):%Y-%m-%d %H:%M}"
        said = f"{said}, but that of the database's server {theirs}: set both over the network (NTP)."
        return Finding("clock", State.LOOK, said)
    try:
        ZoneInfo("Europe/Lisbon")
    except (ZoneInfoNotFoundError, OSError):
        lost = "The time zones of the world are missing: install Cornerman anew, with its package tzdata."
        return Finding("clock", State.WRONG, lost)
    offset = now.astimezone().strftime("%z")
    return Finding("clock", State.OK, f"{said}; the machine's own zone is UTC{offset[:3]}:{offset[3:5]}.")


def _pictures() -> Finding:
    """Draws one, with matplotlib's own files in a folder of ours: it makes them where there are none."""
    home = _font_list_folder()
    with TemporaryDirectory(prefix="cornerman-doctor-") as folder, _environment("MPLCONFIGDIR", folder):
        try:
            from bot.render.pictures import warm_up
            from bot.render.pictures.fonts import missing_fonts

            missing = missing_fonts()
            warm_up()
        except Exception as error:
            said = f"No picture can be drawn ({type(error).__name__}: {error}): install Cornerman anew."
            return Finding("pictures", State.WRONG, " ".join(said.split()))
    if missing:
        return Finding("pictures", State.WRONG, f"The font {missing[0]} is missing: install matplotlib anew.")
    if not _can_be_made(home):
        said = (
            f"Pictures are drawn, but {home} cannot be written to, so each start looks for fonts anew: set "
            "MPLCONFIGDIR to a folder of the bot's own."
        )
        return Finding("pictures", State.LOOK, said)
    return Finding("pictures", State.OK, "Pictures are drawn, and their fonts are there.")


def _font_list_folder() -> Path:
    """Where matplotlib keeps its list of fonts."""
    given = os.environ.get("MPLCONFIGDIR")
    if given:
        return Path(given)
    return Path(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")) / "matplotlib"


def _can_be_made(folder: Path) -> bool:
    """Whether files can be made in this folder, which need not exist."""
    there = next(each for each in (folder.absolute(), *folder.absolute().parents) if each.exists())
    return there.is_dir() and os.access(there, os.W_OK | os.X_OK)


@contextmanager
def _environment(name: str, value: str) -> Iterator[None]:
    """Within, a variable of the environment has this value."""
    before = os.environ.get(name)
    os.environ[name] = value
    try:
        yield
    finally:
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before
