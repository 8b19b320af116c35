"""How long a game of 2,000 moves takes to be taken in, beside reading its files alone.

The measure is tomllib and csv over the same bytes: what anybody must do who reads them. The rest is the
loader, which checks each of some 40,000 cells and builds the game, and finding whose each move is. Aims
(step 7): within 150 times the measure and twice the loader alone; within 2 s where nothing else runs; no form
of the files takes more than 4 times the first.
"""

from __future__ import annotations

import csv
import io
import pickle
import tomllib
from itertools import combinations

from benchmarks.figures import Figure, alone, at_most, beside, ratio_at_most
from benchmarks.stopwatch import best_ms
from filed import rewritten

from bot.gamefiles import (
    Source,
    Upload,
    as_json,
    digest,
    files_of,
    find_game,
    from_json,
    game_of,
    read_source,
    read_upload,
    with_cell,
    with_version,
)
from core.gamefile import Table

CHARACTERS, MOVES = 10, 200
ROUNDS = 5


def grown(characters: int, moves_each: int) -> Source:
    """The rules of a packaged game, and so many characters and moves each with its normals' cells."""
    source = read_source(find_game("saltglass"))
    rules = source.rules[: source.rules.index("[[character]]")]
    table = source.tables[0][1]
    whole = [dict(zip(table.header, row, strict=True)) for row in table.rows]
    normals = [move for move in whole if move["kind"] == move["scheme"] == "" and "j." not in move["input"]]
    special = next(move for move in whole if "anti-air" in move["tags"] and move["kind"])
    buttons = ("LP", "MP", "HP", "LK", "MK", "HK")
    pressed = ["+".join(some) for count in (1, 2, 3) for some in combinations(buttons, count)]
    inputs = [direction + some for some in pressed for direction in ("5", "2", "4", "6", "3", "1")]
    tables = []
    for number in range(characters):
        moves = [special] + [
            {**normals[at % len(normals)], "input": input, "name": f"move {at}", "aliases": ""}
            for at, input in enumerate(inputs[: moves_each - 1])
        ]
        rows = tuple(tuple(move[column] for column in table.header) for move in moves)
        rules += f'[[character]]\nname = "Hand {number}"\nmoves = "{number}.csv"\n\n'
        tables.append((f"{number}.csv", Table(table.header, rows)))
    return Source(rules, tuple(tables))


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of reading, in each form, and of what else is done with a game's files."""
    source = grown(2, 6) if tiny else grown(CHARACTERS, MOVES)
    rounds = 1 if tiny else ROUNDS
    game = game_of(source)
    rules, sheet = files_of(source)
    moves = f"{sum(len(who.moves) for who in game.characters):,} moves"
    text, rows = rules.data.decode(), sheet.data.decode("utf-8-sig")
    alone_ms = best_ms(
        lambda: (tomllib.loads(text), list(csv.reader(io.StringIO(rows, newline="")))), 5, rounds
    )
    taken = best_ms(lambda: read_upload((rules, sheet)), 1, rounds)
    loader = best_ms(lambda: game_of(source), 1, rounds)
    assert read_upload((rules, sheet)).game == game
    what = f"{moves} taken in"
    made = [
        beside("gamefiles.read", f"{what}, beside tomllib and csv", taken, alone_ms, aim=ratio_at_most(150)),
        beside("gamefiles.read_loader", f"{what}, beside the loader", taken, loader, aim=ratio_at_most(2)),
        alone("gamefiles.read_ms", what, taken, aim=at_most(2000)),
    ]
    for name, form, files in (
        ("utf16", "as UTF-16 with tabs", (rules, rewritten(sheet, "\t", "utf-16"))),
        ("inline", "all in the rules", (_inline(source),)),
    ):
        ms = best_ms(lambda files=files: read_upload(files), 1, min(3, rounds))  # type: ignore[misc]
        assert read_upload(files).game == game
        what = f"{moves} {form}, beside the usual form"
        made.append(beside(f"gamefiles.read_{name}", what, ms, taken, aim=ratio_at_most(4)))
    one_sheet = (_own_sheet(*source.tables[0]),)
    assert read_upload(one_sheet, source).game == game
    for name, what, job in (
        ("sheet", "one character's sheet taken in", lambda: read_upload(one_sheet, source)),
        ("hand_out", "handing out", lambda: files_of(source)),
        ("keep", "storing and back", lambda: from_json(as_json(source))),
        ("digest", "its mark", lambda: digest(source)),
        ("version", "another version", lambda: with_version(source, "9")),
        ("cell", "one cell changed", lambda: with_cell(source, "Hand 1", "5LP", "damage", "7")),
        ("pickle", "to a worker and back", lambda: pickle.loads(pickle.dumps((source, game)))),
    ):
        made.append(alone(f"gamefiles.{name}", f"{moves}: {what}", best_ms(job, 1, min(3, rounds))))
    return tuple(made)


def _own_sheet(name: str, table: Table) -> Upload:
    out = io.StringIO()
    csv.writer(out).writerows((table.header, *table.rows))
    return Upload(name, out.getvalue().encode())


def _inline(source: Source) -> Upload:
    """The same game with every move in the rules."""
    text = source.rules
    for name, table in source.tables:
        moves = ""
        for row in table.rows:
            filled = [(column, cell) for column, cell in zip(table.header, row, strict=True) if cell]
            moves += "[[character.move]]\n" + "".join(f'{column} = "{cell}"\n' for column, cell in filled)
        text = text.replace(f'moves = "{name}"\n', moves)
    return Upload("game.toml", text.encode())
