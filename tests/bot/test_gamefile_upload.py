"""Files of a game as somebody sends them: whose moves they hold, and how they are read."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from demo import GAMES, demo
from filed import (
    NAME_SIGNS,
    RULES,
    TALLOW,
    TALLOW_MOVES,
    WICK,
    WICK_MOVES,
    lanterns,
    read,
    rewritten,
    source_of,
    sources,
)
from hypothesis import given
from hypothesis import strategies as st

from bot.gamefiles import (
    Reading,
    Source,
    digest,
    files_of,
    find_game,
    game_of,
    read_source,
    read_upload,
    template,
)
from core.model import Effect, Game, MoveKind, Outcome, Range

DATA = Path(__file__).parents[1] / "data"
DELIMITERS = (",", ";", "\t", "|")
FORMS = [
    *((delimiter, encoding) for delimiter in DELIMITERS for encoding in ("utf-8", "utf-8-sig", "utf-16")),
    *((delimiter, "cp1252") for delimiter in DELIMITERS),
]


def game(reading: Reading) -> Game:
    """The game that was read."""
    assert reading.problems == ()
    assert reading.game is not None
    return reading.game


def moves(reading: Reading, character: str) -> list[str]:
    """The inputs of a character's moves."""
    who = game(reading).character(character)
    assert who is not None
    return [move.input for move in who.moves]


def told(reading: Reading) -> list[str]:
    """What is wrong, in words; nothing was read."""
    assert reading.game is reading.source is None
    return list(map(str, reading.problems))


# Round trips.


@pytest.mark.parametrize("name", GAMES)
@pytest.mark.parametrize(("delimiter", "encoding"), FORMS)
def test_a_demo_game_that_is_handed_out_comes_back_equal_in_any_form(
    name: str, delimiter: str, encoding: str
) -> None:
    source = read_source(find_game(name))
    rules, sheet = files_of(source)
    reading = read_upload((rules, rewritten(sheet, delimiter, encoding)))
    assert game(reading) == demo(name)
    (note,) = reading.notes
    assert (note.delimiter, note.rows) == (delimiter, sum(len(table.rows) for _, table in source.tables))


@given(source=sources(), form=st.sampled_from(FORMS[:12]), line_end=st.sampled_from(("\n", "\r\n")))
def test_a_game_that_is_handed_out_comes_back_equal(
    source: Source, form: tuple[str, str], line_end: str
) -> None:
    rules, sheet = files_of(source)
    reading = read_upload((rules, rewritten(sheet, *form, line_end)))
    assert game(reading) == game_of(source)
    assert reading.source is not None
    assert digest(reading.source) == digest(source)


@given(source=sources(NAME_SIGNS), delimiter=st.sampled_from(DELIMITERS))
def test_what_a_western_spreadsheet_saves_comes_back_equal(source: Source, delimiter: str) -> None:
    """But for letters that happen to follow each other as they do in UTF-8; none here do."""
    rules, sheet = files_of(source)
    assert game(read_upload((rules, rewritten(sheet, delimiter, "cp1252")))) == game_of(source)


def test_moves_that_stand_in_the_rules_come_into_tables_and_the_game_stays_equal() -> None:
    inline = DATA / "games" / "tinwhistle_inline.toml"
    reading = read((inline.name, inline.read_bytes()))
    assert reading.source is not None
    assert game(reading) == game_of(reading.source) == game_of(read_source(DATA / "games" / "tinwhistle"))
    assert [name for name, _ in reading.source.tables] == ["wren.csv", "moth.csv"]
    assert "[[character.move]]" not in reading.source.rules
    assert "[[character.cancel]]" in reading.source.rules


def test_comments_in_the_rules_stay_when_the_moves_among_them_go() -> None:
    text = f"""{RULES}# Who carries the lamp.
[[character]]   # the first
name = "Wick"   # called so
# his first move
[[character.move]]
input = "5LP"   # quick
name = "tap # [[character]]"
aliases = [
  "jab",        # [character]
]

# his jump
[character.jump]
before_frames = 4
air_frames = 38
landing_frames = 3

[[character.move]]
input = "5MP"
name = \'\'\'
swing \'\'\'
# who trims it
{TALLOW}# the end
"""
    reading = read(("game.toml", text), ("tallow.csv", TALLOW_MOVES))
    assert moves(reading, "Wick") == ["5LP", "5MP"]
    assert reading.source is not None
    assert (
        reading.source.rules
        == f"""{RULES}# Who carries the lamp.
[[character]]   # the first
name = "Wick"   # called so
moves = "wick.csv"
# his first move

# his jump
[character.jump]
before_frames = 4
air_frames = 38
landing_frames = 3

# who trims it
{TALLOW}# the end
"""
    )


def test_a_value_in_the_rules_that_no_cell_can_hold_is_refused() -> None:
    move = '\n[[character.move]]\ninput = "5LP"\nname = "tap"\naliases = ["jab; poke"]\n'
    (line,) = told(read(("game.toml", RULES + '[[character]]\nname = "Wick"\n' + move)))
    assert line == (
        "game.toml: a [[character.move]] holds a value that no cell of a table can; write names without ; in "
        "them, and no empty lists"
    )


# What CSV is: RFC 4180, section 2, and the csv module of Python (docs.python.org/3/library/csv.html).


def test_quotes_commas_and_line_breaks_within_a_cell_are_read_as_rfc_4180_has_them() -> None:
    text = 'input,name,startup\r\n5LP,"a ""tap"", short",4\r\n"5MP","swing",6\r\n'
    reading = read(("game.toml", RULES + WICK), ("wick.csv", text))
    assert [move.name for move in game(reading).characters[0].moves] == ['a "tap", short', "swing"]
    header = 'input,name,"Start-\r\nup"\r\n5LP,tap,4\r\n'
    assert (
        game(read(("game.toml", RULES + WICK), ("wick.csv", header))).characters[0].moves[0].startup_frames
        == 4
    )


@given(
    st.lists(
        st.text("abc ,;|'\"éñ雪", min_size=1, max_size=10)
        .map(str.strip)
        .filter(lambda name: name not in ("", "?")),
        min_size=1,
        max_size=5,
        unique_by=str.casefold,
    ),
    st.sampled_from((csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC)),
    st.sampled_from(("\r\n", "\n", "\r")),
    st.sampled_from(DELIMITERS),
)
def test_what_python_s_csv_writes_is_read_back(
    names: list[str], quoting: int, line_end: str, delimiter: str
) -> None:
    out = io.StringIO()
    rows = csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator=line_end)  # type: ignore[call-overload]
    rows.writerow(("input", "name"))
    rows.writerows((f"{number}LP", name) for number, name in enumerate(names, start=1))
    reading = read(("game.toml", RULES + WICK), ("wick.csv", out.getvalue()))
    assert [move.name for move in game(reading).characters[0].moves] == names


def test_a_file_saved_by_a_spreadsheet_is_read() -> None:
    """tests/data/libreoffice_moves.csv was saved by LibreOffice Calc 7.4.7.2, as soffice --headless
    --convert-to csv:"Text - txt - csv (StarCalc)":44,34,76,1 does, from a sheet with a title and a blank row
    above the header, a line break in a cell, a formula that comes to 7, and numbers that lost their +."""
    data = (DATA / "libreoffice_moves.csv").read_bytes()
    reading = read(("game.toml", template()[0].data), ("libreoffice_moves.csv", data), character="Wick")
    tap, reach, spark, drop, step = game(reading).characters[0].moves
    assert (tap.name, tap.startup_frames, tap.total_frames, tap.reach) == ('tap "lamp"', 4, 14, 1.25)
    assert tap.tags == {"special-cancellable", "anti-air"}
    assert tap.outcomes == (("counter hit", Outcome(Effect.STAND, Range(6, 6))),)
    assert (reach.startup_frames, reach.on_block) == (7, Range(-2, -2))
    assert ([hit.damage for hit in spark.hits], spark.kind) == ([400, 400], MoveKind.SPECIAL)
    assert (drop.name, drop.on_block) == ("lamp drop — déjà", Range(-2, 3))
    assert (step.kind, step.total_frames) == (MoveKind.MOVEMENT, 18)
    assert [guess.header for guess in reading.columns if guess.column is None] == ["Notes"]
    assert [(note.encoding, note.delimiter, note.rows) for note in reading.notes] == [("UTF-8", ",", 5)]


def test_a_mistake_is_told_where_the_sheet_has_it() -> None:
    data = (DATA / "libreoffice_moves.csv").read_text("utf-8").replace("2(6)3", "two")
    lines = told(read(("game.toml", template()[0].data), ("libreoffice_moves.csv", data), character="Wick"))
    assert lines[0].startswith(
        'libreoffice_moves.csv, row 6 (236HP), Active: "two" is not a length of frames'
    )
    data = data.replace('"Command"', '"Order"')
    lines = told(read(("game.toml", template()[0].data), ("libreoffice_moves.csv", data), character="Wick"))
    assert (
        "libreoffice_moves.csv, row 3, input: this column is missing; add it: every move needs its own"
        in lines
    )


# Whose moves a sheet holds.


def test_a_sheet_is_theirs_who_name_it_or_are_called_as_it_is() -> None:
    named = read(("g.toml", RULES + WICK + TALLOW), ("Tallow.CSV", TALLOW_MOVES), ("wick.tsv", WICK_MOVES))
    assert (moves(named, "Wick"), moves(named, "Tallow Bray")) == (["5LP", "5MP"], ["5LP"])
    for file in ("tallow_bray.csv", "Tallow Bray.txt", "the-lamplighter.csv"):
        reading = read((file, "input,name\n2MP,dip\n"), base=lanterns())
        owner = "Wick" if "lamp" in file else "Tallow Bray"
        assert moves(reading, owner) == ["2MP"]


def test_one_sheet_alone_replaces_only_its_character_s_moves() -> None:
    base = lanterns()
    reading = read(("wick.csv", "input,name\n2MP,dip\n"), base=base)
    assert (moves(reading, "Wick"), moves(reading, "Tallow Bray")) == (["2MP"], ["5LP"])
    assert reading.source is not None
    assert reading.source.rules == base.rules


def test_whose_moves_somebody_says_they_are_goes_for_the_one_sheet_that_does_not_say() -> None:
    files = ("wick.csv", "input,name\n2MP,dip\n"), ("sheet.csv", "input,name\n2LP,bow\n")
    both = read(*files, base=lanterns(), character="Tallow Bray")
    assert (moves(both, "Wick"), moves(both, "Tallow Bray")) == (["2MP"], ["2LP"])
    one = read(files[0], base=lanterns(), character="tallow bray")
    assert (moves(one, "Wick"), moves(one, "Tallow Bray")) == (["5LP", "5MP"], ["2MP"])


def test_rules_alone_keep_the_moves_of_everybody() -> None:
    base = lanterns()
    reading = read(("game.toml", base.rules.replace("bonus_frames = 2", "bonus_frames = 4")), base=base)
    assert game(reading).hit_states[0].bonus_frames == 4
    assert (moves(reading, "Wick"), moves(reading, "Tallow Bray")) == (["5LP", "5MP"], ["5LP"])


def test_a_sheet_with_a_column_for_it_holds_moves_of_several() -> None:
    sheet = "Character;Command;Name\nwick;2LP;dip\nTallow Bray;2MP;bow\nThe Lamplighter;2MP;duck\n"
    reading = read(("all.csv", sheet), base=lanterns())
    assert (moves(reading, "Wick"), moves(reading, "Tallow Bray")) == (["2LP", "2MP"], ["2MP"])


def test_whom_the_rules_lack_is_added_to_them_and_their_comments_stay() -> None:
    base = lanterns()
    reading = read(("all.csv", "character,input,name\nWick,2LP,dip\nNettle Oast,5LP,sting\n"), base=base)
    assert [who.name for who in game(reading).characters] == ["Wick", "Tallow Bray", "Nettle Oast"]
    assert reading.source is not None
    assert reading.source.rules.startswith(base.rules.rstrip())
    asked = read(("moves.csv", "input,name\n5LP,sting\n"), base=base, character="Nettle Oast")
    assert moves(asked, "Nettle Oast") == ["5LP"]
    alone = read(("game.toml", RULES), ("moves.csv", "character,input,name\nNettle Oast,5LP,sting\n"))
    assert moves(alone, "Nettle Oast") == ["5LP"]


def test_a_name_that_is_rather_misspelled_adds_nobody() -> None:
    (line,) = told(read(("all.csv", "character,input,name\nTalow Bray,5LP,sting\n"), base=lanterns()))
    assert line == (
        'all.csv, row 2: "Talow Bray" is no character of game.toml, and is spelled almost as Tallow Bray; '
        "write Tallow Bray, or add a [[character]] of this name to game.toml"
    )


def test_characters_told_apart_by_a_number_are_no_misspelling() -> None:
    rules = RULES + '[[character]]\nname = "Lantern 1"\n'
    sheet = "character,input,name\nLantern 1,5LP,a\nLantern 2,5LP,b\n"
    assert len(game(read(("game.toml", rules), ("all.csv", sheet))).characters) == 2


def test_a_row_that_does_not_say_whose_it_is_is_told() -> None:
    (line,) = told(read(("all.csv", "who,input,name\nWick,5LP,tap\n,5MP,swing\n"), base=lanterns()))
    assert line == "all.csv, row 3, who: is empty; write whose move this is, in every row"


def test_a_sheet_of_nobody_s_is_told() -> None:
    (line,) = told(read(("sheet.csv", WICK_MOVES), base=lanterns()))
    assert line == (
        "sheet.csv: does not say whose moves these are; add a column character, or name the file after the "
        "one whose they are, such as odrun.csv"
    )


def test_a_sheet_needs_no_name_where_the_game_has_one_character() -> None:
    assert moves(read(("game.toml", RULES + WICK), ("sheet.csv", WICK_MOVES)), "Wick") == ["5LP", "5MP"]


def test_two_sheets_of_one_character_are_told() -> None:
    sheets = ("wick.csv", WICK_MOVES), ("all.csv", "character,input,name\nWick,5LP,tap\n")
    (line,) = told(read(*sheets, base=lanterns()))
    assert line == "all.csv: holds moves of Wick, and so does wick.csv; keep one of them"


def test_characters_who_share_a_table_get_one_each() -> None:
    rules = RULES + WICK + TALLOW.replace("tallow.csv", "wick.csv")
    source = source_of(("game.toml", rules), ("wick.csv", WICK_MOVES))
    assert [name for name, _ in source.tables] == ["wick.csv", "tallow-bray.csv"]
    who, other = game_of(source).characters
    assert who.moves == other.moves


def test_moves_without_the_rules_of_a_game_are_told() -> None:
    (line,) = told(read(("wick.csv", WICK_MOVES)))
    assert line == (
        "wick.csv: comes without the rules of a game; send game.toml along, or choose a game that these "
        "moves belong to"
    )


def test_a_table_that_the_rules_name_and_nobody_sent_is_told() -> None:
    rules = RULES + WICK + TALLOW.replace('moves = "tallow.csv"', "")
    send = "send it along, or a moves.csv with a column character"
    assert told(read(("game.toml", rules))) == [
        f'game.toml, [[character]] 1st entry (Wick), moves: "wick.csv" was not sent; {send}',
        "game.toml, [[character]] 2nd entry (Tallow Bray), moves: are in no file that was sent; send a "
        "moves.csv with a column character along",
    ]


def test_everything_wrong_in_all_files_is_told_at_once() -> None:
    sheets = (("wick.csv", 'input,name\n5LP,"tap\n'), ("tallow.csv", b"\x00\x01"))
    lines = told(read(("game.toml", RULES + WICK + TALLOW), *sheets))
    assert [line.split(",")[0] for line in lines] == ["wick.csv", "tallow.csv"]
    many = WICK_MOVES.replace(",4,", ",x,").replace(",+5,", ",y,")
    many = many.replace("tap", "=tap").replace("swing,", "")
    lines = told(read(("game.toml", RULES.replace("60", "-1") + WICK), ("wick.csv", many)))
    assert [line.split(":")[0] for line in lines] == [
        "wick.csv, row 2, name",
        "wick.csv, row 3",
        "game.toml, fps",
        "wick.csv, row 2 (5LP), startup",
    ]


def test_nobody_gets_the_moves_of_a_table_that_somebody_else_was_given() -> None:
    rules = RULES + '[[character]]\nname = "Tallow"\n' + WICK.replace("wick.csv", "tallow.csv")
    lines = told(read(("game.toml", rules), ("all.csv", "character,input,name\nTallow,5LP,nudge\n")))
    assert [line.split(";")[0] for line in lines] == [
        'game.toml, [[character]] 2nd entry (Wick), moves: "tallow.csv" was not sent'
    ]


def test_a_column_that_says_nothing_but_a_dash_is_not_known() -> None:
    sheet = "input,name,aliases,on hit,on block\n5LP,-,-,-,–\n5MP,swing,--,+5,-\n"
    tap, swing = game(read(("game.toml", RULES + WICK), ("wick.csv", sheet))).characters[0].moves
    assert (tap.on_hit, tap.on_block, swing.on_block) == (None, None, None)
    assert (tap.name, tap.aliases, swing.aliases) == ("-", (), ())
