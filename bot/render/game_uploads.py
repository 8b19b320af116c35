"""Game files that a moderator sent, in words: what they hold, change and lack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.render.card import Card, Group, source_of
from bot.render.game_changes import changes_in_all, shown_changes
from bot.render.game_desk import game_refusal_card
from bot.render.wording import say
from bot.results.files import ColumnGuess, TableNote
from bot.results.games import Preview
from core.model import Game

MOST_PROBLEMS = 8
MOST_CHANGES = 8
FEW_CHANGES = 3
"""So few are seen at a glance; more are counted first."""
MOST_GUESSES = 8
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
    for problem in preview.problems[:MOST_PROBLEMS]:
        yield say("game-uploads", "problem", problem=str(problem))
    if len(preview.problems) > MOST_PROBLEMS:
        yield say("game-uploads", "more-problems", count=len(preview.problems), file=PROBLEMS_FILE)


def _has(preview: Preview) -> Iterator[str]:
    has = preview.contents
    if has is not None:
        yield say("game-uploads", "contents", characters=has.characters, moves=has.moves, rules=has.rules)
    for note in preview.notes:
        yield _sheet(note)
    if preview.usable and preview.says != preview.label:
        yield say("game-uploads", "label", says=preview.says, label=preview.label)
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
    """Only what somebody should look at: where the files cannot be read, each that is called otherwise."""
    shown = _doubtful(preview.columns)
    if preview.game is None:
        shown += [one for one in preview.columns if one not in shown and one.header.casefold() != one.column]
    for one in shown[:MOST_GUESSES]:
        key = "left-out" if one.column is None else "guessed"
        yield say("game-uploads", key, header=one.header, file=one.file, column=one.column)
    if len(shown) > MOST_GUESSES:
        yield say("chat", "more", count=len(shown) - MOST_GUESSES)


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
