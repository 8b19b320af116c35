"""All cogs, in the order in which their commands are told to the platform."""

from __future__ import annotations

from bot.cogs.asking import Asking
from bot.cogs.coaching import Coaching, Students
from bot.cogs.conversions import Conversions
from bot.cogs.drills import Drills
from bot.cogs.game import Games, Wrong
from bot.cogs.homework import Homework
from bot.cogs.listening import Listening
from bot.cogs.log import Log
from bot.cogs.members import Members
from bot.cogs.moves import Moves
from bot.cogs.own_data import OwnData
from bot.cogs.patches import Patches
from bot.cogs.practice import Practice
from bot.cogs.routes import Routes
from bot.cogs.server import Server
from bot.cogs.setup import Setup

COGS = (
    Asking,
    Moves,
    Members,
    Server,
    Setup,
    Games,
    Wrong,
    Listening,
    Log,
    Practice,
    Routes,
    Conversions,
    Drills,
    Coaching,
    Students,
    Homework,
    Patches,
    OwnData,
)
