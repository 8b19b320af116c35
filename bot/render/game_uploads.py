"""Game files that a moderator sent, in words: what they hold, change and lack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby, islice

from bot.render.card import Card, Group, source_of
from bot.render.game_changes import changes_in_all, shown_changes
from bot.render.game_desk import game_refusal_card
from bot.render.wording import say
from bot.results.files import ColumnGuess, TableNote
from bot.results.games import Preview
from core.gamefile import Problem
from core.model import Game

MOST_PROBLEMS = 8
MOST_CHANGES = 8
FEW_CHANGES = 3
"""So few are seen at a glance; more are counted first."""
MOST_GUESSES = 8
"""So many columns of a file are named in a line."""
NEEDED = ("startup", "active", "recovery", "on_hit", "on_block")
"""Columns without which few questions are answered."""
PROBLEMS_FILE = "problems.txt"

_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}


def preview_card(preview: Preview) -> Card:
    """What files that were sent would do."""
    groups = [
        _group("wrong", _wrong(preview)),
        _group("has", _has(preview)),
        _group("changes", _changes(preview)),
        _group("columns", _columns(preview)),
        _group("next", _next(preview)),
    ]
    shown = tuple(group for group in groups if group.lines)
    return Card(_lead(preview), shown, (), source_of(preview.before or preview.here))


def problems_text(preview: Preview) -> bytes | None:
    """All problems as a text file, UTF-8; None where the card shows them all."""
    if len(preview.problems) <= MOST_PROBLEMS:
        return None
    return "".join(f"{problem}.\r\n" for problem in preview.problems).encode("utf-8", "replace")


def dropped_card(game: Game) -> Card:
    """Files that were forgotten."""
    return Card(say("game-uploads", "dropped"), (), (), source_of(game))


def too_large_card(size: int, most: int, game: Game) -> Card:
    """Files that have more bytes than are taken."""
    sizes = {"size": _megabytes(size), "most": _megabytes(most)}
    return Card(say("game-uploads", "too-many-bytes", 60, **sizes), (), (), source_of(game))


def unfetched_card(file: str, game: Game) -> Card:
    """A file that could not be fetched from the platform."""
    return Card(say("game-uploads", "unfetched", file=file), (), (), source_of(game))


def _lead(preview: Preview) -> str:
    if preview.refusal is not None:
        return game_refusal_card(preview.refusal).lead
    if preview.game is None:
        count = len(preview.problems)
        return say("game-uploads", "wrong-one" if count == 1 else "wrong", count=count)
    before = preview.before.version if preview.before else None
    key = "ready-new" if before is None else "ready"
    return say("game-uploads", key, name=preview.name, label=preview.label, before=before)


def _wrong(preview: Preview) -> Iterator[str]:
    for problem in islice(_alike(preview.problems), MOST_PROBLEMS):
        yield say("game-uploads", "problem", problem=str(problem))
    if len(preview.problems) > MOST_PROBLEMS:
        yield say("game-uploads", "more-problems", count=len(preview.problems), file=PROBLEMS_FILE)


def _has(preview: Preview) -> Iterator[str]:
    has = preview.contents
    if has is not None:
        yield say("game-uploads", "contents", characters=has.characters, moves=has.moves, rules=has.rules)
    for note in preview.notes:
        yield _sheet(note)
    if preview.moves_only and preview.game is not None:
        yield say("game-uploads", "moves-only", name=preview.name or preview.here.name)
    if preview.usable and preview.says != preview.label:
        key = "label-moves-only" if preview.moves_only else "label"
        yield say("game-uploads", key, says=preview.says, label=preview.label)
    if preview.usable and preview.reason:
        yield say("game-uploads", "reason", reason=preview.reason)


def _sheet(note: TableNote) -> str:
    return say(
        "game-uploads",
        "sheet",
        file=note.file,
        rows=note.rows,
        encoding=note.encoding,
        delimiter=say("game-uploads", _DELIMITERS[note.delimiter]),
    )


def _changes(preview: Preview) -> Iterator[str]:
    if preview.patch is not None:
        shown = shown_changes(preview.patch, preview.name, MOST_CHANGES)
        if len(shown) > FEW_CHANGES:
            yield changes_in_all(preview.patch)
        yield from shown


def _columns(preview: Preview) -> Iterator[str]:
    """Only what somebody should look at, a line for a file: what was guessed, or, where the files cannot be
    read, all that is called otherwise; what is left out; and what the file lacks."""
    for file, found in groupby(preview.columns, lambda one: one.file):
        columns = list(found)
        guessed = [one for one in columns if one.column is not None and _worth_telling(one, preview)]
        if guessed:
            told = [say("game-uploads", "guess", header=one.header, column=one.column) for one in guessed]
            yield say("game-uploads", "guessed", file=file, guesses=_some(told))
        left_out = [one for one in columns if one.column is None]
        if left_out:
            headers = _some([say("game-uploads", "header", header=one.header) for one in left_out])
            yield say("game-uploads", "left-out", file=file, headers=headers)
        lacking = _lacking(columns)
        if preview.usable and lacking:
            yield say("game-uploads", "lacking", file=file, columns=", ".join(lacking))


def _worth_telling(one: ColumnGuess, preview: Preview) -> bool:
    return not one.sure or (preview.game is None and one.header.casefold() != one.column)


def _lacking(columns: Sequence[ColumnGuess]) -> list[str]:
    has = {one.column for one in columns}
    return [one for one in NEEDED if one not in has and not (one == "recovery" and "total" in has)]


def _some(told: Sequence[str], most: int = MOST_GUESSES) -> str:
    """The first of these, and how many more there are."""
    if len(told) <= most:
        return ", ".join(told)
    return say("game-uploads", "some", some=", ".join(told[:most]), count=len(told) - most)


def _alike(problems: Sequence[Problem]) -> Iterator[Problem]:
    """These problems, with one for neighbours that differ in their row alone."""
    for alike, found in groupby(problems, lambda one: replace(one, row="")):
        rows = [one.row for one in found]
        yield replace(alike, row=_some(rows, MOST_PROBLEMS))


def _doubtful(columns: Sequence[ColumnGuess]) -> list[ColumnGuess]:
    return [one for one in columns if one.column is None or not one.sure]


def _next(preview: Preview) -> Iterator[str]:
    if preview.game is None:
        yield say("game-uploads", "next-wrong")
    elif preview.usable:
        yield say("game-uploads", "next-ready" if preview.before else "next-ready-new")
    else:
        yield say("game-uploads", "next-not-usable")
    if preview.upload_id and _doubtful(preview.columns):
        yield say("game-uploads", "next-columns")


def _megabytes(size: int) -> str:
    return f"{size / 1_000_000:.1f} MB"


def _group(question: str, lines: Iterator[str]) -> Group:
    return Group(say("game-upload-questions", question), tuple(lines))
