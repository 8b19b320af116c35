"""What the columns of a sheet are taken for by their headers."""

from __future__ import annotations

import pytest
from filed import RULES, WICK, lanterns, read

from bot.gamefiles import ColumnGuess, Reading
from bot.gamefiles.columns import Headers
from core.gamefile.schema import COLUMNS

STATES = {"counter hit": ("CH",), "off balance": ()}


def taken_for(*header: str, **chosen: str | None) -> list[tuple[str | None, bool]]:
    """The column of each header, and whether that is sure."""
    return [(guess.column, guess.sure) for guess in Headers(STATES, chosen).guesses("m.csv", header)]


def look(text: str, **options: object) -> Reading:
    """A sheet of Wick's, read."""
    return read(("game.toml", RULES + WICK), ("wick.csv", text), **options)


@pytest.mark.parametrize("column", ["character", *COLUMNS, "on_counter_hit", "on_off_balance"])
def test_every_column_is_known_by_its_own_name_in_any_case_with_blanks_for_underlines(column: str) -> None:
    for written in (column, column.upper(), f"  {column.replace('_', ' ').title()} "):
        assert taken_for(written) == [(column, True)], written


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Start-up", "startup"),
        ("Startup (frames)", "startup"),
        ("Start up frames", "startup"),
        ("First Active Frame", "startup"),
        ("Block adv", "on_block"),
        ("Adv. on block", "on_block"),
        ("Guard Advantage", "on_block"),
        ("Frame advantage on hit", "on_hit"),
        ("Frame\nadvantage\non hit", "on_hit"),
        ("Hit Adv.", "on_hit"),
        ("+/- on hit", "on_hit"),
        ("Counter hit", "on_counter_hit"),
        ("CH", "on_counter_hit"),
        ("CH advantage", "on_counter_hit"),
        ("Off balance adv", "on_off_balance"),
        ("Dmg", "damage"),
        ("Recovery frames", "recovery"),
        ("Active frames", "active"),
        ("Total Frames", "total"),
        ("Move", "name"),
        ("Move name", "name"),
        ("Command", "input"),
        ("Input", "input"),
        ("Notation", "input"),
        ("Type", "kind"),
        ("Hit-stun", "hitstun"),
        ("Block Stun", "blockstun"),
        ("Char.", "character"),
        ("Range", "reach"),
        ("Properties", "tags"),
        ("Guard level", "hit_level"),
    ],
)
def test_common_spellings_are_known(header: str, column: str) -> None:
    """Common practice, no source."""
    assert taken_for(header) == [(column, True)]


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Startupp", "startup"),
        ("Recovry", "recovery"),
        ("Damagge", "damage"),
        ("Advantage on blok", "on_block"),
    ],
)
def test_what_comes_near_is_taken_and_told_as_a_guess(header: str, column: str) -> None:
    assert taken_for(header) == [(column, False)]


@pytest.mark.parametrize("header", ["Notes", "Video", "#", "", "Rec?!x", "on_nothing", "frames"])
def test_a_column_that_nobody_knows_is_left_out(header: str) -> None:
    assert taken_for(header) == [(None, False)]


def test_a_column_left_out_is_told_and_no_mistake() -> None:
    reading = look("input,,name,Notes\n5LP,x,tap,=SUM(A1)\n")
    assert reading.problems == ()
    assert reading.columns == (
        ColumnGuess("wick.csv", "input", "input", True),
        ColumnGuess("wick.csv", "column 2", None, False),
        ColumnGuess("wick.csv", "name", "name", True),
        ColumnGuess("wick.csv", "Notes", None, False),
    )


def test_no_two_columns_are_taken_for_the_same_and_the_surest_goes_first() -> None:
    assert taken_for("Startupp", "Start-up", "startup") == [(None, False), (None, False), ("startup", True)]
    assert taken_for("Dmg", "damage") == [(None, False), ("damage", True)]
    assert taken_for("Dmg", "Damages") == [("damage", True), (None, False)]


def test_what_somebody_chose_goes_before_every_guess() -> None:
    assert taken_for("Notes", "damage", notes="damage") == [("damage", True), (None, False)]
    assert taken_for("damage", Damage=None) == [(None, True)]
    chosen = {"befehl": "input", "Schaden": "damage"}
    reading = look("Befehl,name,active,Schaden\n5LP,tap,3,300\n", columns=chosen)
    assert reading.game is not None
    assert reading.game.characters[0].moves[0].hits[0].damage == 300


def test_a_header_of_which_only_chosen_columns_are_known_is_found_below_a_title() -> None:
    chosen = {"Befehl": "input", "Schlag": "name"}
    reading = look("Wick,\n,\nBefehl,Schlag\n5LP,tap\n", columns=chosen)
    assert reading.game is not None
    assert reading.game.characters[0].moves[0].name == "tap"


def test_a_choice_that_cannot_be_is_told() -> None:
    lines = list(map(str, look("input,name\n5LP,tap\n", columns={"name": "nmae"}).problems))
    assert lines == ['wick.csv: "nmae" is no column of moves; the nearest is name']
    lines = list(map(str, look("a1,b1\n5LP,tap\n", columns={"a1": "name", "b1": "name"}).problems))
    assert lines == ['wick.csv: "b1" and "a1" are both to be name; choose another column for one of them']


def test_a_sheet_without_any_header_is_told() -> None:
    (line,) = map(str, look("5LP,4,3,8\n").problems)
    assert line == (
        "wick.csv, row 1: names no column that I know; begin with a row such as input, name, startup, with "
        "commas, semicolons or tabs between"
    )


def test_a_sheet_whose_rows_are_parted_otherwise_than_its_header_is_told_so_and_no_more() -> None:
    rows = "character,input,name\nWick;5LP;tap\nWick;2LP;low tap\n"
    assert [str(one) for one in read(("moves.csv", rows), base=lanterns()).problems] == [
        f"moves.csv, row {row}: has 1 cell where the header has 3; give every row as many cells as the "
        "header, the empty ones included"
        for row in (2, 3)
    ]


def test_hit_states_of_the_base_are_columns_of_a_sheet_alone() -> None:
    reading = read(("wick.csv", "Move,Command,CH\ntap,5LP,+7\n"), base=lanterns())
    assert [guess.column for guess in reading.columns] == ["name", "input", "on_counter_hit"]
