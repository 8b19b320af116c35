"""Game files: dictionaries and tables -> a checked `Game`, or every problem with its place."""

from core.gamefile.build import load
from core.gamefile.characters import table_names
from core.gamefile.problems import GameFileError, Problem, nearest, one_of, shown
from core.gamefile.tables import Table

__all__ = ["GameFileError", "Problem", "Table", "load", "nearest", "one_of", "shown", "table_names"]
