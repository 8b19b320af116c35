"""Sources: handed out, stored, marked, and changed cell by cell."""

from __future__ import annotations

import csv
import io
import json
import tomllib

import pytest
from demo import GAMES
from filed import RULES, TALLOW, TALLOW_MOVES, WICK, WICK_MOVES, lanterns, read, source_of, sources
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.gamefiles import (
    EDITABLE,
    NoSuchCellError,
    Source,
    as_json,
    cell,
    digest,
    files_of,
    find_game,
    from_json,
    game_of,
    read_source,
    with_cell,
    with_version,
)
from bot.gamefiles.refusals import is_formula
from core.gamefile import GameFileError
from core.gamefile.schema import COLUMNS


def solo(columns: str, cells: str, rules: str = RULES) -> Source:
    """A source whose only move is Wick's 5LP with these columns and cells, parted by commas."""
    return source_of(("game.toml", rules + WICK), ("wick.csv", f"input,name,{columns}\n5LP,tap,{cells}\n"))


def row(source: Source, columns: str) -> str:
    """Wick's 5LP in these columns."""
    return ",".join(cell(source, "Wick", "5LP", column) or "" for column in columns.split(","))


# Handing out.


@pytest.mark.parametrize("name", GAMES)
def test_the_sheet_handed_out_is_as_spreadsheets_take_it(name: str) -> None:
    rules, sheet = files_of(read_source(find_game(name)))
    assert (rules.name, sheet.name) == ("game.toml", "moves.csv")
    assert rules.data.decode() == read_source(find_game(name)).rules
    assert sheet.data.startswith(b"\xef\xbb\xbf")
    assert sheet.data.count(b"\n") == sheet.data.count(b"\r\n")
    header, *rows = csv.reader(io.StringIO(sheet.data.decode("utf-8-sig"), newline=""))
    assert header[:3] == ["character", "input", "name"]
    assert {len(one) for one in rows} == {len(header)}


@settings(max_examples=40)
@given(sources())
def test_no_cell_that_is_handed_out_is_a_formula(source: Source) -> None:
    game_of(source)
    _, sheet = files_of(source)
    for cells in csv.reader(io.StringIO(sheet.data.decode("utf-8-sig"), newline="")):
        assert not any(is_formula(one) for one in cells)


def test_columns_without_a_cell_are_not_handed_out() -> None:
    header = files_of(solo("startup,damage", "4,"))[1].data.decode("utf-8-sig").split("\r\n")[0]
    assert header == "character,input,name,startup"


# Storing.


@settings(max_examples=40)
@given(sources())
def test_a_source_comes_back_from_its_text_the_same(source: Source) -> None:
    assert from_json(as_json(source)) == source
    assert json.loads(as_json(source))["rules"] == source.rules


@given(sources(), st.text("abc.1\"'\\#é\n\t\x7f", max_size=10))
def test_another_version_changes_nothing_else(source: Source, label: str) -> None:
    changed = with_version(source, label)
    assert changed.tables == source.tables
    assert tomllib.loads(changed.rules)["version"].strip() == label.strip()
    assert changed.rules.splitlines()[3:] == source.rules.splitlines()[3:]
    assert "# the first" in changed.rules
    assert digest(changed) == digest(source)


def test_the_mark_tells_versions_apart_that_say_different_things_and_only_those() -> None:
    source = lanterns()
    marks = {digest(source), digest(with_cell(source, "Wick", "5LP", "startup", "5"))}
    longer = source_of(
        ("game.toml", RULES.replace("= 100", "= 120") + WICK + TALLOW),
        ("wick.csv", WICK_MOVES),
        ("tallow.csv", TALLOW_MOVES),
    )
    assert len(marks | {digest(longer)}) == 3
    reordered = (
        "name,on_block,on_hit,recovery,active,startup,input\ntap,+1,+4,8,3,4,5LP\nswing,-1,+5,12,3,6,5MP\n"
    )
    same = source_of(
        ("game.toml", RULES.replace("# The rules of a small game.", "") + WICK + TALLOW),
        ("wick.csv", reordered),
        ("tallow.csv", TALLOW_MOVES),
    )
    assert digest(same) == digest(source)
    assert len(digest(source)) == 64


# Changing.


def test_a_cell_is_looked_at_and_changed_where_it_stands() -> None:
    source = lanterns()
    assert (cell(source, "Wick", "5LP", "startup"), cell(source, "Wick", "5LP", "damage")) == ("4", None)
    changed = with_cell(source, "Wick", "5LP", "startup", " 5 ")
    assert cell(changed, "Wick", "5LP", "startup") == "5"
    assert cell(changed, "Tallow Bray", "5LP", "startup") == "5"
    assert game_of(changed).characters[0].moves[0].startup_frames == 5
    assert (changed.rules, game_of(changed).characters[1]) == (source.rules, game_of(source).characters[1])
    assert with_cell(changed, "Wick", "5LP", "startup", "4") == source


def test_a_column_that_the_table_lacks_comes_with_its_first_cell() -> None:
    changed = with_cell(lanterns(), "Wick", "5MP", "damage", "500")
    tap, swing = game_of(changed).characters[0].moves
    assert (tap.hits[0].damage, swing.hits[0].damage) == (None, 500)
    state = with_cell(lanterns(), "Wick", "5MP", "on_counter_hit", "+9")
    assert game_of(state).characters[0].moves[1].outcomes[0][0] == "counter hit"


def test_an_empty_text_leaves_a_cell_out() -> None:
    changed = with_cell(lanterns(), "Wick", "5LP", "on_hit", "")
    assert cell(changed, "Wick", "5LP", "on_hit") is None
    assert game_of(changed).characters[0].moves[0].on_hit is None


@pytest.mark.parametrize(
    ("columns", "cells", "column", "text", "expected"),
    [
        # startup - 1 + active + recovery is the total.
        ("startup,active,recovery,total", "4,3,8,14", "startup", "6", "6,3,8,16"),
        ("startup,active,recovery,total", "4,3,8,14", "active", "2(1)3", "4,2(1)3,8,17"),
        ("startup,active,recovery,total", "4,3,8,14", "recovery", "9", "4,3,9,15"),
        ("startup,active,recovery,total", "4,3,8,14", "total", "20", "4,3,14,20"),
        ("startup,active,total", "4,3,14", "startup", "5", "5,3,14"),
        # The last hit's stun is advantage + active - 1 + recovery where both sides freeze alike.
        ("active,recovery,on_hit,hitstun", "3,8,+4,14", "on_hit", "+6", "3,8,+6,16"),
        ("active,recovery,on_hit,hitstun", "3,8,+4,14", "hitstun", "13", "3,8,+3,13"),
        ("active,recovery,on_hit,hitstun", "3,8,+4,14", "recovery", "10", "3,10,+4,16"),
        ("active,recovery,on_block,blockstun", "3,8,-1,9", "on_block", "-3", "3,8,-3,7"),
        ("active,recovery,on_block,blockstun", "3,8,-1,9", "blockstun", "12", "3,8,+2,12"),
        ("active,recovery,on_hit,hitstun", "2(6)3,8,+4,9; 14", "on_hit", "+5", "2(6)3,8,+5,9; 15"),
        ("active,recovery,hitstun", "3,8,14", "recovery", "9", "3,9,14"),
        (
            "startup,active,recovery,total,on_hit,hitstun",
            "4,3,8,14,+4,14",
            "total",
            "16",
            "4,3,10,16,+4,16",
        ),
    ],
)
def test_a_number_that_follows_from_the_edited_one_goes_along(
    columns: str, cells: str, column: str, text: str, expected: str
) -> None:
    changed = with_cell(solo(columns, cells), "Wick", "5LP", column, text)
    assert row(changed, columns) == expected
    game_of(changed)


def test_what_cannot_agree_is_left_for_the_loader_to_say() -> None:
    source = solo("startup,active,recovery,total", "4,3,8,14")
    changed = with_cell(source, "Wick", "5LP", "startup", "x")
    assert row(changed, "startup,active,recovery,total") == "x,3,8,14"
    with pytest.raises(GameFileError, match="not a number of frames"):
        game_of(changed)
    knocks_down = solo("active,recovery,on_hit,hitstun", "3,8,KD 30,?")
    with pytest.raises(GameFileError, match="which knocks down"):
        game_of(with_cell(knocks_down, "Wick", "5LP", "hitstun", "14"))


def test_an_edited_move_brings_along_what_changes_it() -> None:
    rows = "5LP,tap,4,3,8,14,,\n,,,,9,15,one button,5LP\n"
    sheet = f"input,name,startup,active,recovery,total,scheme,same_as\n{rows}"
    source = source_of(("game.toml", RULES + WICK), ("wick.csv", sheet))
    changed = game_of(with_cell(source, "Wick", "5LP", "startup", "5")).characters[0].moves[0]
    assert (changed.total_frames, changed.under("one button").total_frames) == (15, 16)


@pytest.mark.parametrize(
    ("character", "input", "column", "sentence"),
    [
        ("Wock", "5LP", "startup", '"Wock" is no character of this game'),
        ("Wick", "9LP", "startup", 'Wick has no move "9LP"'),
        ("Wick", "5LP", "strtup", '"strtup" is no column of moves; the nearest is startup'),
        ("Wick", "5LP", "on_sand", '"on_sand" is no column of moves'),
    ],
)
def test_a_cell_that_is_not_there_is_told(character: str, input: str, column: str, sentence: str) -> None:
    for act in (cell, lambda *where: with_cell(*where, "5")):
        with pytest.raises(NoSuchCellError, match=sentence):
            act(lanterns(), character, input, column)


def test_a_formula_gets_into_no_cell() -> None:
    for text in ("=1+1", "@x", "-2+3", "+cmd"):
        with pytest.raises(GameFileError, match="begins as a formula does"):
            with_cell(lanterns(), "Wick", "5LP", "name", text)


def test_every_editable_column_is_one_of_the_loader_s_and_can_be_edited() -> None:
    assert set(EDITABLE) < set(COLUMNS)
    cells = {
        "active": "3",
        "on_hit": "+4",
        "freeze": "9 after 1",
        "cancellable_hits": "none",
        "projectile": "0.5",
    }
    cells |= {"total": "20", "gain": "glow 5", "cost": "glow 5"}
    for column in EDITABLE:
        if column not in ("level", "travel"):  # of supers and of movement
            game_of(with_cell(lanterns(), "Wick", "5LP", column, cells.get(column, "3")))


def test_rules_written_in_an_unusual_way_still_say_the_same() -> None:
    moves = '[{ input = "5LP", name = "tap" },\n  { input = "5MP", name = "a # \\" ]" }]'
    table, one_line = (
        f'{RULES}[["character"]] # his\nmove = {moves}\n"name" = \'Wick\'\n',
        moves.replace("\n", ""),
    )
    for form in (table, f'character = [{{ name = "Wick", move = {one_line} }}]\n{RULES}'):
        reading = read(("game.toml", form))
        assert reading.source is not None, list(map(str, reading.problems))
        assert ("# his" in reading.source.rules) == (form is table)
        assert game_of(with_version(reading.source, "2")).version == "2"
        longer = read(("all.csv", "character,input,name\nNettle,5LP,sting\n"), base=reading.source)
        assert longer.game is not None
        assert [len(who.moves) for who in longer.game.characters] == [2, 1]
