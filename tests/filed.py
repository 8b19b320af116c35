"""Game files as uploads for tests: small ones, generated ones, sheets written otherwise, and spoiled ones."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Sequence

from hypothesis import strategies as st

from bot.gamefiles import MOVES_FILE, Reading, Source, Upload, read_upload
from core.gamefile import Table

RULES = """# The rules of a small game.
name = "Lanterns"
version = "1.0"   # the first
fps = 60
strengths = ["light", "medium"]

[buttons]
LP = { group = "punch", strength = "light" }
MP = { group = "punch", strength = "medium" }

[hitstop]
light = 8
medium = 10

[[hit_state]]
name = "counter hit"
aliases = ["CH"]
bonus_frames = 2

[[gauge]]
name = "glow"
maximum = 100

[[scheme]]
name = "one button"

"""
WICK = """[[character]]
name = "Wick"
aliases = ["the lamplighter"]
moves = "wick.csv"
"""
TALLOW = """
[[character]]
name = "Tallow Bray"
moves = "tallow.csv"
"""
WICK_MOVES = (
    "input,name,startup,active,recovery,on_hit,on_block\n5LP,tap,4,3,8,+4,+1\n5MP,swing,6,3,12,+5,-1\n"
)
TALLOW_MOVES = "input,name,startup\n5LP,nudge,5\n"

DIRECTIONS = ("5", "2", "j.", "4", "6", "3", "1")
NAME_SIGNS = "abz XÉñüß'\",;|.:()!#%"
WIDE_SIGNS = NAME_SIGNS + "雪λ🌊"
CELLS = {
    "startup": ("1", "4", "17"),
    "active": ("3", "2(6)3", "10"),
    "recovery": ("0", "8", "31"),
    "on_hit": ("+4", "-2", "0", "2..8", "-2..3", "KD 30", "launch 45"),
    "on_block": ("+1", "-1", "-12..-1"),
    "on_air_hit": ("KD", "launch 20"),
    "on_counter_hit": ("+9", "KD 40"),
    "reach": ("1.5", "0", "2,25"),
    "pushback_on_hit": ("-0.5", "0.3"),
    "juggle_add": ("0", "2"),
    "gain": ("glow 10",),
    "cost": ("glow 50",),
    "kind": ("special", "throw"),
    "hit_level": ("low", "overhead"),
    "tags": ("anti-air", "anti-air; own-tag"),
    "freeze": ("9 after 1",),
    "projectile": ("no",),
}


def upload(name: str, text: str | bytes) -> Upload:
    """A file with this text, in UTF-8."""
    return Upload(name, text if isinstance(text, bytes) else text.encode())


def read(*files: tuple[str, str | bytes], base: Source | None = None, **options: object) -> Reading:
    """What becomes of these files, by name and text."""
    return read_upload([upload(*file) for file in files], base, **options)  # type: ignore[arg-type]


def source_of(*files: tuple[str, str | bytes]) -> Source:
    """The source of files without a problem."""
    reading = read(*files)
    assert not reading.problems, list(map(str, reading.problems))
    assert reading.source is not None
    return reading.source


def lanterns() -> Source:
    """The small game with both its characters."""
    return source_of(
        ("game.toml", RULES + WICK + TALLOW), ("wick.csv", WICK_MOVES), ("tallow.csv", TALLOW_MOVES)
    )


def rewritten(file: Upload, delimiter: str, encoding: str, line_end: str = "\r\n") -> Upload:
    """A sheet of `files_of` as another program would save it."""
    rows = csv.reader(io.StringIO(file.data.decode("utf-8-sig"), newline=""))
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=line_end).writerows(rows)
    return Upload(file.name, out.getvalue().encode(encoding))


@st.composite
def sources(draw: st.DrawFn, signs: str = WIDE_SIGNS) -> Source:
    """A source of one to three characters, whose names and cells are drawn."""
    names = st.text(signs, min_size=1, max_size=12).map(str.strip).filter(lambda name: name not in ("", "?"))
    called = draw(
        st.lists(names, min_size=1, max_size=3, unique_by=lambda name: " ".join(name.casefold().split()))
    )
    tables = []
    rules = RULES
    for number, name in enumerate(called):
        columns = draw(st.lists(st.sampled_from(tuple(CELLS)), unique=True, max_size=8))
        inputs = draw(
            st.lists(
                st.tuples(st.sampled_from(DIRECTIONS), st.sampled_from(("LP", "MP"))),
                min_size=1,
                max_size=6,
                unique=True,
            )
        )
        rows = []
        for at, (direction, button) in enumerate(inputs):
            cells = [draw(st.sampled_from(("", "?", *CELLS[column]))) for column in columns]
            rows.append((direction + button, f"{draw(names)} {at}", *cells))
        tables.append((f"{number}.csv", Table(("input", "name", *columns), tuple(rows))))
        quoted = name.replace('"', '\\"')
        rules += f'[[character]]\nname = "{quoted}"\nmoves = "{number}.csv"  # of the {number}th\n'
    return Source(rules, tuple(tables))


INSERTED = (
    *(bytes([sign]) for sign in b"\0\r\n\t\"'=@-+,;|[]{}#\\?\xc3"),
    *(b"", b"\xff\xfe", b"\xe2\x80\x93", b"\xed\xa0\x80", b"9" * 400, b"1e999", b"0xff", b"nan", b"inf"),
    *(b"=1+1", b"KD", b"launch", b"..", b"true", b"character,", b'"""', b"\\u0000", b"1979-05-27T07:32:00Z"),
    *(b"[[character]]\n", b"[[character.move]]\n", b"move = [{}]\n", b'moves = "../x.csv"\n', b"name = 1\n"),
    b"a.b.c.d = 1\n",
)


def spoiled(chance: random.Random, files: Sequence[Upload]) -> list[Upload]:
    """The files with up to a few mistakes, as a hand, a disk or somebody hostile would make them."""
    found = list(files)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        at = chance.randrange(len(found))
        found[at] = _spoil(chance, found[at])
    if chance.random() < 0.05:
        found.append(chance.choice(found))
    if chance.random() < 0.05:
        del found[chance.randrange(len(found))]
    return found


def _spoil(chance: random.Random, file: Upload) -> Upload:
    data = file.data
    begin = chance.randrange(len(data) + 1)
    end = min(len(data), begin + chance.choice((0, 1, 1, 2, 8, 60)))
    lines = data.split(b"\n")
    match chance.randrange(9):
        case 0 | 1 | 2:
            return Upload(file.name, data[:begin] + chance.choice(INSERTED) + data[end:])
        case 3:
            return Upload(file.name, data[:begin] + data[end:])
        case 4:
            return Upload(file.name, data[:begin] + bytes([chance.randrange(256)]) + data[end:])
        case 5:
            chance.shuffle(lines)
            return Upload(file.name, b"\n".join(lines))
        case 6:
            at = chance.randrange(len(lines))
            return Upload(
                file.name, b"\n".join((*lines[:at], *[lines[at]] * chance.randint(0, 3), *lines[at + 1 :]))
            )
        case 7:
            return Upload(file.name, data[: chance.randrange(len(data) + 1)])
        case _:
            name = chance.choice(
                (file.name.upper(), "../" + file.name, "x.csv", "game.toml", MOVES_FILE, "a.exe", "")
            )
            return Upload(name, data)
