"""Game files: dictionaries and tables -> a checked `Game`, or every problem with its place."""

from core.gamefile.build import load
from core.gamefile.characters import table_names
from core.gamefile.problems import GameFileError, Problem
from core.gamefile.tables import Table
from core.text import nearest, one_of, shown

__all__ = ["GameFileError", "Problem", "Table", "load", "nearest", "one_of", "shown", "table_names"]
