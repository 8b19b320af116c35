"""Puts the program together: games, services, cogs and buttons. `run`, the room and the tests call it."""

from __future__ import annotations

from datetime import UTC, datetime

from bot.client.bot import ChatBot
from bot.cogs.asking import Asking
from bot.cogs.listening import Listening
from bot.cogs.members import Members
from bot.cogs.moves import Moves
from bot.cogs.server import Server
from bot.components.buttons import QuestionButton
from bot.config import Settings
from bot.gamefiles import game_file, own_games, packaged_games, read_game
from bot.ports import Clock
from bot.services.access import Access
from bot.services.desk import AskDesk


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The time now, aware, in UTC."""
        return datetime.now(UTC)


class Cornerman(ChatBot):
    """The bot with all that it does."""

    def __init__(self, desk: AskDesk, access: Access) -> None:
        super().__init__(access, (Asking, Moves, Members, Server, Listening), (QuestionButton,))
        self.desk = desk
        self.access = access


def build(settings: Settings, clock: Clock) -> Cornerman:
    """The bot, not connected. Raises GameFileError and GameNotFoundError, for a member of staff to read."""
    files = {**packaged_games(), **own_games(settings.games_folder)}
    default = game_file(settings.default_game, settings.games_folder)
    games = {name: read_game(file) for name, file in files.items()}
    name = next((name for name, file in files.items() if file == default), settings.default_game)
    if name not in games:
        games[name] = read_game(default)
    return Cornerman(AskDesk(games, name, clock), Access())
