"""What is wrong with a game file, where, and what would be right."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from core.text import nearest, one_of, printable, shown

NEAREST_LOOKUPS = 200  # a file of thousands of wrong names gets its lines without the search for the nearest


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake. `table`: a TOML table such as [[cancel]], empty for a CSV file or the top of the
    TOML file; `row`: which row or entry, in words; `field`: the column or key. Each may be empty.

    >>> str(Problem("odrun.csv", "", "row 7 (2MP)", "startup", '"x" is not a number of frames', "write 5"))
    'odrun.csv, row 7 (2MP), startup: "x" is not a number of frames; write 5'
    """

    file: str
    table: str
    row: str
    field: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = (self.file, f"{self.table} {self.row}".strip(), self.field)
        return f"{', '.join(part for part in place if part)}: {self.wrong}; {self.right}"


class GameFileError(ValueError):
    """The game file cannot be used. `problems` holds every mistake found, in the file's order."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the files a value stands."""

    file: str
    table: str = ""
    row: str = ""


class Problems:
    """Collects the mistakes of one file; the same one twice counts once."""

    def __init__(self) -> None:
        self._found: dict[Problem, None] = {}
        self._lookups_left = NEAREST_LOOKUPS

    def __len__(self) -> int:
        return len(self._found)

    @property
    def all(self) -> tuple[Problem, ...]:
        """Everything found so far."""
        return tuple(self._found)

    def add(self, place: Place, field: str, wrong: str, right: str) -> None:
        """Note one mistake."""
        parts = (place.file, place.table, place.row, field, wrong, right)
        self._found[Problem(*(printable(part) for part in parts))] = None

    def unknown(self, place: Place, field: str, value: str, what: str, known: Collection[str]) -> None:
        """Note a name that is none of the known ones, and name the nearest of them."""
        near = None
        if self._lookups_left:
            self._lookups_left -= 1
            near = nearest(value, known)
        if near is not None:
            right = f"the nearest is {shown(near)}"
        elif known:
            right = f"write {one_of(known)}"
        else:
            right = "the file names none, so add it there or leave this out"
        self.add(place, field, f"{shown(value)} is no {what}", right)


def ordinal(number: int) -> str:
    """1 as 1st, 2 as 2nd ...

    >>> [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 112)]
    ['1st', '2nd', '3rd', '4th', '11th', '12th', '13th', '21st', '112th']
    """
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if 11 <= number % 100 <= 13 else ending}"
