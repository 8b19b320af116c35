"""Game files: on disk, as somebody sends them, as they are stored, handed out and changed."""

from bot.gamefiles.disk import (
    GAMES,
    GameNotFoundError,
    find_game,
    game_file,
    own_games,
    packaged_games,
    read_both,
    read_game,
    read_source,
)
from bot.gamefiles.editing import (
    EDITABLE,
    NoSuchCellError,
    cell,
    with_cell,
    with_version,
)
from bot.gamefiles.loading import GAME_FILE, game_of
from bot.gamefiles.reading import read_upload
from bot.gamefiles.sheets import MAX_BYTES
from bot.gamefiles.source import ColumnGuess, Reading, Source, TableNote, Upload
from bot.gamefiles.template import template
from bot.gamefiles.writing import MOVES_FILE, as_json, digest, files_of, from_json

__all__ = [
    "EDITABLE",
    "GAMES",
    "GAME_FILE",
    "MAX_BYTES",
    "MOVES_FILE",
    "ColumnGuess",
    "GameNotFoundError",
    "NoSuchCellError",
    "Reading",
    "Source",
    "TableNote",
    "Upload",
    "as_json",
    "cell",
    "digest",
    "files_of",
    "find_game",
    "from_json",
    "game_file",
    "game_of",
    "own_games",
    "packaged_games",
    "read_both",
    "read_game",
    "read_source",
    "read_upload",
    "template",
    "with_cell",
    "with_version",
]
