"""The tables of questions and modifiers, read once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from pydantic import BaseModel, ConfigDict, Field

from bot.results.ask import Kind
from bot.words.patterns import Patterns, read_pattern
from core.model import ContactKind

PAIRED = (Kind.EARLY, Kind.LATE)
"""Questions about two moves that may name the second alone."""

OF_TWO = (
    *PAIRED,
    Kind.LINK,
    Kind.CANCEL,
    Kind.COMBO,
    Kind.WINDOW,
    Kind.GAP,
    Kind.CONFIRM,
    Kind.MEATY,
    Kind.SAFE_JUMP,
)
"""Questions about two moves."""


@dataclass(frozen=True, slots=True)
class Asking:
    """What one kind of question may be asked with. `on`: the contact that the words imply. `loose`:
    nothing but moves."""

    kind: Kind
    on: ContactKind | None
    loose: bool
    patterns: Patterns


@dataclass(frozen=True, slots=True)
class Modifier:
    """What the patterns set, by name, and at which step they are read."""

    sets: Mapping[str, object]
    step: int
    patterns: Patterns


@dataclass(frozen=True, slots=True)
class Example:
    """A question to show, with places for moves and for whose they are."""

    kind: Kind
    text: str


@dataclass(frozen=True, slots=True)
class Tables:
    """Everything in the tables, patterns ready to match."""

    questions: tuple[Asking, ...]
    modifiers: tuple[Modifier, ...]
    polite: Patterns
    around_moves: Patterns
    fillers: frozenset[str]
    pronouns: frozenset[str]
    pairs: tuple[str, ...]
    examples: tuple[Example, ...]

    def words(self) -> tuple[str, ...]:
        """Every word of the patterns, each once."""
        every = [entry.patterns for entry in self.questions] + [entry.patterns for entry in self.modifiers]
        found = (word for patterns in (*every, self.polite) for one in patterns for word in one.literals())
        return tuple(dict.fromkeys(found))


@cache
def tables() -> Tables:
    """The tables; pydantic's error for one that does not hold what it should."""
    said = _Questions.model_validate(_read("questions.toml"))
    modifiers = _Modifiers.model_validate(_read("modifiers.toml"))
    return Tables(
        tuple(
            Asking(entry.kind, entry.on, entry.loose, _patterns(entry.patterns, said.synonyms))
            for entry in said.question
        ),
        tuple(
            Modifier(entry.model_extra or {}, entry.step, _patterns(entry.patterns))
            for entry in modifiers.modifier
        ),
        _patterns(said.polite),
        _patterns(said.around_moves),
        frozenset(said.fillers),
        frozenset(said.pronouns),
        tuple(said.pairs),
        tuple(Example(entry.kind, entry.text) for entry in said.example),
    )


class _Question(BaseModel):
    model_config = ConfigDict(extra="forbid")
    kind: Kind
    on: ContactKind | None = None
    loose: bool = False
    patterns: list[str] = Field(min_length=1)


class _Example(BaseModel):
    model_config = ConfigDict(extra="forbid")
    kind: Kind
    text: str


class _Questions(BaseModel):
    model_config = ConfigDict(extra="forbid")
    polite: list[str]
    around_moves: list[str]
    fillers: list[str]
    pronouns: list[str]
    pairs: list[str]
    synonyms: dict[str, str]
    question: list[_Question]
    example: list[_Example]


class _Modifier(BaseModel):
    """Its other keys are what it sets."""

    model_config = ConfigDict(extra="allow")
    step: int = 1
    patterns: list[str] = Field(min_length=1)


class _Modifiers(BaseModel):
    model_config = ConfigDict(extra="forbid")
    modifier: list[_Modifier]


def _patterns(texts: list[str], synonyms: Mapping[str, str] | None = None) -> Patterns:
    return Patterns(read_pattern(text, synonyms or {}) for text in texts)


def _read(name: str) -> dict[str, object]:
    return tomllib.loads((files("bot.words") / name).read_text(encoding="utf-8"))
