"""One number of a game file: which one is meant, and the file with another in its place."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bot.gamefiles import EDITABLE, Source, cell, game_of, with_cell
from bot.gamefiles.columns import Headers
from bot.results.ask import Ambiguous, Asked, Kind, Named, Refusal, UnknownName
from bot.results.games import GameRefusal, GameRefusalCode
from bot.results.place import Place
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from core.gamefile import GameFileError
from core.gamefile.tables import state_columns
from core.model import Game, Move
from core.text import clipped, nearest_few, one_line
from core.verdict import Facts

NEAR = 3


@dataclass(frozen=True, slots=True)
class Cell:
    """A column of a move of a game, by the names that the game file gives them."""

    game: str
    character: str
    input: str
    column: str

    @property
    def facts(self) -> Facts:
        """The same for a sentence."""
        return Facts(character=self.character, move=self.input, column=self.column)

    @property
    def words(self) -> str:
        """The same as a line of names."""
        return f"{self.character} {self.input} {self.column}"


@dataclass(frozen=True, slots=True)
class Edited:
    """A source with another number in it, and its game; `found`: what stood there, empty for nothing."""

    source: Source
    game: Game
    found: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why a number cannot be edited so; `facts` beside those of its cell and what was typed."""

    code: GameRefusalCode
    facts: Facts


def editable(game: Game) -> tuple[str, ...]:
    """The columns of a game's moves that hold numbers."""
    return (*EDITABLE, *state_columns([state.name for state in game.hit_states]))


def complete_columns(game: Game, typed: str) -> tuple[str, ...]:
    """Columns that the text may become, at most 25, best first."""
    return complete_names([(name, (name, name.replace("_", " "))) for name in editable(game)], typed)


def find_cell(
    desk: AskDesk, place: Place, move: str, column: str, character: str | None
) -> Cell | GameRefusal:
    """The number of the channel's game that is called so. The move is read as a question about it is: of
    `character`, else of whom it names, else of the member's own."""
    game = desk.game_of(place)
    known = editable(game)
    wanted = "_".join(one_line(column).casefold().replace("-", " ").split())
    if wanted not in known:
        wanted = _spoken(game, column) or wanted
    if wanted not in known:
        near = ", ".join(nearest_few(wanted, known, NEAR))
        return refused(game, GameRefusalCode.NO_SUCH_COLUMN, typed=clipped(column), near=near)
    asked = desk.about(place, Kind.MOVE, move, character=character)
    if not isinstance(asked, Asked):
        return _not_found(game, asked, move)
    owner = asked.character.name
    return Cell(game.name, owner, _as_written(game, owner, asked.moves[0]), wanted)


def _spoken(game: Game, column: str) -> str | None:
    """The column that is surely called so in a sheet, such as "advantage on hit"; None where none is."""
    headers = Headers({state.name: state.aliases for state in game.hit_states}, {})
    (guess,) = headers.guesses("", (column,))
    return guess.column if guess.sure else None


def edited(source: Source, before: Game, where: Cell, number: str) -> Edited | Wrong:
    """The source, whose game is `before`, with this text as the number, and what follows from it. Meant for
    another thread."""
    try:
        found = cell(source, where.character, where.input, where.column) or ""
        changed = with_cell(source, where.character, where.input, where.column, number)
        game = game_of(changed)
    except GameFileError as error:
        first = next((one for one in error.problems if one.field == where.column), error.problems[0])
        at = f"{first.field}: " if first.field and first.field != where.column else ""
        return Wrong(GameRefusalCode.WRONG_NUMBER, Facts(wrong=at + first.wrong, right=first.right))
    except LookupError:
        return Wrong(GameRefusalCode.NO_SUCH_MOVE, Facts(typed=where.input, near=""))
    if replace(game, version=before.version) == before:
        return Wrong(GameRefusalCode.SAME_NUMBER, Facts(number=found))
    return Edited(changed, game, found)


def _moves(game: Game, character: str) -> tuple[Move, ...]:
    who = game.character(character)
    assert who is not None
    return who.moves


def _as_written(game: Game, character: str, move: Move) -> str:
    """The input under which the game file has a move, which a control scheme may call otherwise."""
    moves = _moves(game, character)
    called = [one for one in moves if move.input in {one.input, *(its.input for _, its in one.by_scheme)}]
    return next((one for one in called if one.input == move.input), called[0]).input


def _not_found(game: Game, refusal: Refusal, typed: str) -> GameRefusal:
    """Why no move was found, in the words of this desk."""
    said = clipped(one_line(typed))
    if isinstance(refusal, UnknownName):
        code, whose = GameRefusalCode.NO_SUCH_MOVE, refusal.of.name if refusal.of else ""
        if refusal.what is Named.CHARACTER:
            code, said = GameRefusalCode.NO_SUCH_CHARACTER, clipped(refusal.name)
        return refused(game, code, typed=said, character=whose, near=", ".join(refusal.near))
    if isinstance(refusal, Ambiguous):
        moves = [each.move.input for each in refusal.candidates if each.move is not None]
        people = dict.fromkeys(each.character.name for each in refusal.candidates if each.character)
        if moves:
            owner = next(iter(people), "")
            names = ", ".join(dict.fromkeys(moves))
            return refused(game, GameRefusalCode.WHICH_MOVE, typed=said, character=owner, names=names)
        return refused(game, GameRefusalCode.WHICH_CHARACTER, typed=said, names=", ".join(people))
    return refused(game, GameRefusalCode.NO_SUCH_MOVE, typed=said, character="", near="")


def refused(game: Game, code: GameRefusalCode, **facts: int | str) -> GameRefusal:
    """Why not, with what its sentence needs."""
    return GameRefusal(game, code, Facts(**facts))
