"""Which column of moves the header of a sheet's column means."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from rapidfuzz import fuzz, process

from bot.gamefiles.refusals import problem
from bot.gamefiles.source import ColumnGuess
from core.gamefile import GameFileError, Problem, nearest, one_of, shown
from core.gamefile.schema import COLUMNS
from core.gamefile.tables import state_columns
from core.text import printable

CHARACTER = "character"
NEAR_ENOUGH = 88
SHORTEST_NEAR = 4
LONGEST_HEADER = 60

_WORD = re.compile(r"[^\W_]+|\+|-(?=\d)")


@cache
def _spellings() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("columns.toml").read_text("utf-8"))


class Headers:
    """The columns a sheet may have in a game, and what their headers may look like.

    `states`: the game's hit states, each with its other names. `chosen`: what somebody took a header for;
    None: the column is to be left out.
    """

    def __init__(self, states: Mapping[str, Sequence[str]], chosen: Mapping[str, str | None]) -> None:
        spelled = _spellings()
        self._of_state = {state: column for column, state in state_columns(list(states)).items()}
        self._spelled: dict[str, str] = {}
        subjects = {column: tuple(words) for column, words in spelled["advantage_on"].items()}
        subjects |= {self._of_state[state]: (state, *names) for state, names in states.items()}
        for column, words in subjects.items():
            for word in words:
                for form in spelled["advantage_forms"]:
                    self._spelled.setdefault(_plain(form.format(word)), column)
        for column, written in spelled["spelling"].items():
            for one in written:
                self._spelled[_plain(one)] = column
        self._names = (CHARACTER, *COLUMNS, *self._of_state.values())
        self._chosen = {_key(header): column for header, column in chosen.items()}

    @property
    def columns(self) -> tuple[str, ...]:
        """Every column there is, the character's included."""
        return self._names

    def problems(self, file: str) -> tuple[Problem, ...]:
        """What is wrong with what was chosen."""
        wrong = [column for column in self._chosen.values() if column and column not in self._names]
        found = []
        for column in wrong:
            near = nearest(column, self._names)
            right = f"the nearest is {near}" if near else f"write {one_of(self._names)}"
            found.append(problem(file, "", f"{shown(column)} is no column of moves", right))
        return tuple(found)

    def known(self, header: Sequence[str]) -> int:
        """How many different columns a row surely names; 0 where it is no header."""
        named = {column for cell in header if cell.strip() and (column := self._surely(cell)[0]) is not None}
        return len(named)

    def guesses(self, file: str, header: Sequence[str]) -> tuple[ColumnGuess, ...]:
        """What each column is taken for, no two for the same: what was chosen goes first, then a column's
        own name, a known spelling, and what comes near. Raises GameFileError where two were chosen alike."""
        labels = [label_of(cell, number) for number, cell in enumerate(header, start=1)]
        ranked: list[tuple[int, int, str]] = []
        left_out: set[int] = set()
        for index, label in enumerate(labels):
            if _key(label) in self._chosen:
                chosen = self._chosen[_key(label)]
                left_out.add(index)
                if chosen is not None:
                    ranked.append((0, index, chosen))
                continue
            column, rank = self._surely(header[index]) if header[index].strip() else (None, 0)
            if column is not None:
                ranked.append((rank, index, column))
            elif near := self._near(header[index]):
                ranked.append((3, index, near))
        taken: dict[str, int] = {}
        found: dict[int, tuple[str, int]] = {}
        for rank, index, column in sorted(ranked):
            if column not in taken:
                taken[column] = index
                found[index] = column, rank
            elif rank == 0:
                wrong = f"{shown(labels[index])} and {shown(labels[taken[column]])} are both to be {column}"
                raise GameFileError((problem(file, "", wrong, "choose another column for one of them"),))
        return tuple(
            ColumnGuess(file, label, *_guess(found.get(index), index in left_out))
            for index, label in enumerate(labels)
        )

    def _surely(self, header: str) -> tuple[str | None, int]:
        """The column that a header names, and 1 for its own name, 2 for a known spelling of it."""
        if (key := _key(header)) in self._chosen:
            return self._chosen[key], 0
        own = "_".join(header.strip().casefold().split())
        if own in self._names:
            return own, 1
        return self._spelled.get(_plain(header)), 2

    def _near(self, header: str) -> str | None:
        plain = _plain(header)
        if len(plain) < SHORTEST_NEAR:
            return None
        near = process.extractOne(plain, self._spelled.keys(), scorer=fuzz.ratio, score_cutoff=NEAR_ENOUGH)
        return self._spelled[near[0]] if near else None


def label_of(header: str, number: int) -> str:
    """How a column is spoken of: by its header on one line, or by its number from 1 where it has none."""
    return printable(" ".join(header.split()))[:LONGEST_HEADER] or f"column {number}"


def states_in(rules: Mapping[str, object]) -> dict[str, tuple[str, ...]]:
    """The hit states of rules as read, each with its other names, as far as they can be read."""
    entries = rules.get("hit_state")
    found: dict[str, tuple[str, ...]] = {}
    for entry in entries if isinstance(entries, list) else ():
        name, others = (entry.get("name"), entry.get("aliases")) if isinstance(entry, dict) else (None, None)
        if isinstance(name, str) and name.strip():
            listed = others if isinstance(others, list) else ()
            found[name.strip()] = tuple(other for other in listed if isinstance(other, str))
    return found


def _guess(found: tuple[str, int] | None, left_out: bool) -> tuple[str | None, bool]:
    return (None, left_out) if found is None else (found[0], found[1] < 3)


def _key(header: str) -> str:
    return label_of(header, 0).casefold()


def _plain(header: str) -> str:
    """A header without what says nothing: case, signs, and words such as frames.

    >>> _plain("Start-up (frames)"), _plain("Frame advantage on hit")
    ('startup', 'advantageonhit')
    """
    words = _WORD.findall(header[:200].casefold())
    return "".join(word for word in words if word not in _spellings()["says_nothing"])
