"""The picture of a sheet of conversions: a grid that is read on a phone, and told in words as well."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from functools import cache
from io import BytesIO

import pytest
from demo import demo
from papers import meetings, size_of, texts
from PIL import Image

from bot.limits import ALT_CHARACTERS
from bot.render.pictures import sheet as drawing
from bot.render.pictures import sheet_alt, sheet_picture
from bot.render.pictures.names import ROWS
from bot.render.pictures.paper import MATCHES, TRAINING, Paper
from bot.results.conversion import Cell, CellState, Sheet, StarterRow
from bot.results.tally import SavedRoute
from core.situations import situations

GAME = demo("saltglass")
ODRUN = GAME.characters[0]
SITUATIONS = situations(GAME)
NAMES = (
    "bread and butter",
    "i",
    "Punish from the far side with everything",
    "Donaudampfschifffahrtsgesellschaftskapit",
    "link «$x_2$» 練習 🥊 {brace} \\frac{1}{2}",
    "WWWWWWWW WWWWWWWW WWWWWWWW WWWWWWWW WWWW",
)
STARTERS = ("5LP", "5MP", "236236HP", "j.HK", "[4]63214PPP+KKK", "2MK", "214LK", "LP+LK", "5HP", "6HP")
PHONE_WIDTH, LEAST_TYPE = 360, 11


def route(number: int) -> SavedRoute:
    saved_at = datetime(2026, 1, 1, tzinfo=UTC)
    name = NAMES[number % len(NAMES)]
    return SavedRoute(number, GAME.name, GAME.version, ODRUN.name, name, "5MP, 2MP", saved_at)


def row(starter: str, kept: dict[int, CellState], first: int = 0) -> StarterRow:
    """A starter with something kept in these situations."""
    cells = []
    for number, situation in enumerate(SITUATIONS):
        state = kept.get(number, CellState.GAP)
        saved = None if state is CellState.GAP else route(first + number)
        damage = 1_234 + number if state is CellState.FILLED else None
        cells.append(Cell(situation, state, saved, damage))
    return StarterRow(starter, tuple(cells))


FILLED, BROKEN = CellState.FILLED, CellState.BROKEN
CASES: dict[str, tuple[StarterRow, ...]] = {
    "one starter": (row("5MP", {0: FILLED}),),
    "one starter in a rare situation": (row("5MP", {6: FILLED}),),
    "three starters": (
        row("5MP", {0: FILLED, 1: FILLED}),
        row("236236HP", {4: FILLED, 0: BROKEN}, 2),
        row("2HP", {}),
    ),
    "eight starters": tuple(
        row(starter, {(n + k) % 8: BROKEN if k == 2 else FILLED for k in range(3)}, n)
        for n, starter in enumerate(STARTERS[:8])
    ),
    "eight full starters": tuple(
        row(starter, dict.fromkeys(range(8), FILLED), n) for n, starter in enumerate(STARTERS[:8])
    ),
    "more than eight": tuple(row(starter, {0: FILLED}, n) for n, starter in enumerate(STARTERS)),
}
each_case = pytest.mark.parametrize("case", CASES)


def sheet(case: str) -> Sheet:
    return Sheet(GAME, ODRUN, CASES[case])


@cache
def drawn(case: str) -> Paper:
    return drawing.draw(ODRUN.name, CASES[case], sheet(case).columns)


def written(case: str) -> list[str]:
    return [text.get_text() for text in texts(drawn(case))]


def marks(case: str, colour: str) -> int:
    lines = drawn(case).figure.axes[0].lines
    return sum(line.get_linestyle() == "None" and line.get_color() == colour for line in lines)


@each_case
def test_a_sheet_is_a_png_of_the_paper_s_size(case: str) -> None:
    picture = sheet_picture(ODRUN.name, CASES[case], sheet(case).columns)
    with Image.open(BytesIO(picture)) as image:
        image.load()
        assert (image.format, image.size) == ("PNG", size_of(drawn(case)))
        assert image.width == 1000
    assert picture == sheet_picture(ODRUN.name, CASES[case], sheet(case).columns)


@each_case
def test_no_text_leaves_the_paper_or_meets_another_text_a_line_or_a_mark(case: str) -> None:
    assert meetings(drawn(case)) == []


@each_case
def test_every_text_is_large_enough_on_a_phone(case: str) -> None:
    for text in texts(drawn(case)):
        pixels = float(text.get_fontsize()) * 100 / 72
        assert pixels * PHONE_WIDTH / 1000 >= LEAST_TYPE, text.get_text()


@each_case
def test_what_is_kept_what_is_broken_and_what_is_missing_differ_in_shape_and_words(case: str) -> None:
    cells = [cell for one in CASES[case][:ROWS] for cell in one.cells]
    assert marks(case, TRAINING) == sum(cell.state is FILLED for cell in cells)
    assert marks(case, MATCHES) == sum(cell.state is BROKEN for cell in cells)
    said = " ".join(written(case))
    assert ("no longer works" in said) is any(cell.state is BROKEN for cell in cells)


def test_a_gap_says_so_and_a_situation_without_anything_is_named_below() -> None:
    assert written("three starters").count("nothing yet") == 2
    said = " ".join(written("three starters"))
    assert "nothing yet here: 2HP" in said
    assert "Nothing yet for any starter: off balance, punish, in the air, meaty, corner." in said


def test_at_most_eight_starters_are_drawn_and_told_and_the_rest_is_counted() -> None:
    said = written("more than eight")
    assert STARTERS[7] in said
    assert STARTERS[8] not in said
    assert "… and 2 starters more." in said
    alt = sheet_alt(ODRUN.name, CASES["more than eight"], sheet("more than eight").columns)
    assert STARTERS[8] not in alt
    assert "… and 2 starters more." in alt


def test_a_name_is_whole_unless_it_has_more_than_five_lines() -> None:
    said = " ".join(written("eight full starters"))
    assert "bread and butter" in said
    assert "everything" in said
    assert any(text.startswith("WW") and text.endswith("…") for text in written("eight full starters"))


@each_case
def test_the_words_fit_and_begin_with_the_first_starter(case: str) -> None:
    alt = sheet_alt(ODRUN.name, CASES[case], sheet(case).columns)
    assert len(alt) <= ALT_CHARACTERS
    assert CASES[case][0].starter in alt


def test_the_words_tell_every_cell() -> None:
    alt = sheet_alt(ODRUN.name, CASES["three starters"], sheet("three starters").columns)
    assert alt == (
        "What Odrun Vale does when a starter lands. "
        "5MP: plain hit bread and butter, 1,234 damage; counter hit i, 1,235 damage; "
        "nothing yet: full gauges. "
        "236236HP: plain hit Punish from the far side with everything, which no longer works; "
        "full gauges bread and butter, 1,238 damage; nothing yet: counter hit. "
        "2HP: nothing yet: plain hit, counter hit, full gauges."
    )


def test_the_words_do_without_the_drawing_library() -> None:
    code = (
        "import sys; from bot.render.pictures import sheet_alt; import bot.render.conversions;"
        "sheet_alt('Odrun', (), ()); sys.exit('matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
