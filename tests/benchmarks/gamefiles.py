"""How long a game of 2,000 moves takes to be taken in, beside reading its files alone.

Run by hand: `python tests/benchmarks/gamefiles.py`. The measure is tomllib and csv over the same bytes: what
anybody must do who reads them. The rest is the loader, which checks each of some 40,000 cells and builds the
game, and finding whose each move is. Aims: within 150 times the measure and twice the loader alone; within
2 s where nothing else runs; no form of the files takes more than 4 times the first.
"""

from __future__ import annotations

import csv
import io
import pickle
import sys
import tomllib
from itertools import combinations
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from filed import rewritten  # noqa: E402
from stopwatch import best_ms  # noqa: E402

from bot.gamefiles import (  # noqa: E402
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
from core.gamefile import Table  # noqa: E402

CHARACTERS, MOVES = 10, 200
TIMES, LOADS, SECONDS, FORMS = 150, 2.0, 2.0, 4.0
ROUNDS = 5


def grown() -> Source:
    """The rules of a packaged game, and ten characters of two hundred moves with its normals' cells."""
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
    for number in range(CHARACTERS):
        moves = [special] + [
            {**normals[at % len(normals)], "input": input, "name": f"move {at}", "aliases": ""}
            for at, input in enumerate(inputs[: MOVES - 1])
        ]
        rows = tuple(tuple(move[column] for column in table.header) for move in moves)
        rules += f'[[character]]\nname = "Hand {number}"\nmoves = "{number}.csv"\n\n'
        tables.append((f"{number}.csv", Table(table.header, rows)))
    return Source(rules, tuple(tables))


def main() -> int:
    source = grown()
    game = game_of(source)
    rules, sheet = files_of(source)
    count = sum(len(who.moves) for who in game.characters)
    text, rows = rules.data.decode(), sheet.data.decode("utf-8-sig")
    alone = best_ms(lambda: (tomllib.loads(text), list(csv.reader(io.StringIO(rows, newline="")))), 5, ROUNDS)
    taken = best_ms(lambda: read_upload((rules, sheet)), 1, ROUNDS)
    assert read_upload((rules, sheet)).game == game
    print(f"{count} moves, {len(rules.data) + len(sheet.data):,} bytes")
    print(f"tomllib and csv alone  {alone:8.1f} ms")
    print(f"taken in               {taken:8.1f} ms, {taken / alone:.1f} times that")
    inline = _inline(source)
    per_character = [rules, *(_own_sheet(name, table) for name, table in source.tables)]
    slowest = taken
    for what, files in (
        ("as UTF-16 with tabs", (rules, rewritten(sheet, "\t", "utf-16"))),
        ("all in the rules", (inline,)),
    ):
        found = best_ms(lambda files=files: read_upload(files), 1, 3)  # type: ignore[misc]
        assert read_upload(files).game == game
        slowest = max(slowest, found)
        print(f"{what:22} {found:8.1f} ms, {found / alone:.1f} times that")
    one = read_upload(per_character[1:2], source).game
    assert one == game
    for what, job in (
        ("one sheet of ten", lambda: read_upload(per_character[1:2], source)),
        ("loading what is kept", lambda: game_of(source)),
        ("handing out", lambda: files_of(source)),
        ("storing and back", lambda: from_json(as_json(source))),
        ("its mark", lambda: digest(source)),
        ("another version", lambda: with_version(source, "9")),
        ("one cell changed", lambda: with_cell(source, "Hand 3", "5LP", "damage", "7")),
        ("to a worker and back", lambda: pickle.loads(pickle.dumps((source, game)))),
    ):
        print(f"{what:22} {best_ms(job, 1, 3):8.1f} ms")
    loader = best_ms(lambda: game_of(source), 1, ROUNDS)
    print(f"{'taken in':22} {taken / loader:8.1f} times the loader alone")
    good = taken <= min(TIMES * alone, LOADS * loader, SECONDS * 1000) and slowest <= FORMS * taken
    print("within the aims" if good else "NOT within the aims")
    return 0 if good else 1


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


if __name__ == "__main__":
    sys.exit(main())
