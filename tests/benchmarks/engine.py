"""How fast the engine answers, beside the least that the same job could cost, or the other way to do it."""

from __future__ import annotations

import csv
import io
import tomllib

from benchmarks.figures import Figure, beside
from benchmarks.stopwatch import best_ms
from builders import BUTTONS

from bot.gamefiles import find_game, read_game
from core.followups import follow_up, follow_ups
from core.gamefile import Table, load
from core.links import link
from core.model import Contact, Move
from core.stepper import Press, run
from core.verdict import Answer, Code, Facts, Reason, Verdict

GAME = read_game(find_game("saltglass"))
WHO = GAME.characters[0]
MOVES = {move.input: move for move in WHO.moves}
FIRST, SECOND = MOVES["5MP"], MOVES["2MP"]
HIT = Contact()
PLAYERS, ROWS = 5, 400


def bare_verdict() -> Verdict:
    """The values of a link's answer, with nothing worked out."""
    facts = Facts(
        first="5MP", second="2MP", contact="hit", startup_frames=6, advantage_frames=7, window_frames=2
    )
    numbers = Facts(advantage_frames=7, startup_frames=6, window_frames=2)
    presses = Facts(first_press_frames=-3, last_press_frames=1, accepted_presses_frames=5)
    return Verdict(Answer.YES, (Reason(Code.LINK_IN_TIME, facts),), numbers.plus(**presses))


def every_pair(moves: tuple[Move, ...]) -> None:
    for move in moves:
        if move.hits:
            follow_ups(GAME, WHO, move, HIT)


def every_pair_stepped(moves: tuple[Move, ...]) -> None:
    whole = [move for move in moves if _whole(move)]
    for first in whole:
        for second in whole:
            run(GAME, first, [Press(60, second)], HIT)


def _whole(move: Move) -> bool:
    stun = all(hit.hitstun_frames is not None for hit in move.hits)
    return bool(move.hits) and move.total_frames is not None and stun and move.on_hit is not None


def big_table(count: int) -> tuple[str, str]:
    """A TOML file with five characters and one CSV text of so many moves, which all five use."""
    rules = [
        'name = "Big"',
        'version = "1"',
        "fps = 60",
        'strengths = ["light", "medium", "heavy"]',
        "[buttons]",
    ]
    rules += [
        f'{name} = {{ group = "{b["group"]}", strength = "{b["strength"]}" }}' for name, b in BUTTONS.items()
    ]
    rules += ["[buffers]", "link_frames = 3", "[hitstop]", "light = 8", "medium = 10", "heavy = 12"]
    rules += [f'[[character]]\nname = "Player {n}"\nmoves = "moves.csv"' for n in range(PLAYERS)]
    lines = ["input,name,startup,active,recovery,on_hit,on_block,damage"]
    motions = [f"{a}{b}{c}{d}" for a in "1234" for b in "6789" for c in "1234" for d in "6789"]
    rules += [f'[[motion]]\nname = "motion {m}"\nforms = ["{m}"]' for m in motions[:67]]
    inputs = [f"{motion}{button}" for motion in motions for button in BUTTONS][:count]
    lines += [
        f"{one},move {one},{4 + n % 9},3,{9 + n % 11},{n % 7},{-(n % 9)},{300 + n}"
        for n, one in enumerate(inputs)
    ]
    return "\n".join(rules), "\n".join(lines)


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """The engine's."""
    scale = 1 if tiny else 1000
    count = 20 if tiny else ROWS
    toml, text = big_table(count)
    rows = list(csv.reader(io.StringIO(text)))
    paired = WHO.moves[:5] if tiny else WHO.moves
    rounds = 1 if tiny else 3

    def read() -> None:
        tomllib.loads(toml)
        for _ in range(PLAYERS):
            list(csv.reader(io.StringIO(text)))

    def load_big() -> None:
        tables = {"moves.csv": Table(tuple(rows[0]), tuple(tuple(row) for row in rows[1:]))}
        load(tomllib.loads(toml), tables)

    one_link = best_ms(lambda: link(GAME, WHO, FIRST, SECOND, HIT), 2 * scale)
    one_pair = best_ms(lambda: follow_up(GAME, WHO, FIRST, SECOND, HIT), scale)
    all_of_one = best_ms(lambda: follow_ups(GAME, WHO, FIRST, HIT), 1 if tiny else 30)
    return (
        beside(
            "engine.link",
            "one link verdict, beside its bare values",
            one_link,
            best_ms(bare_verdict, 2 * scale),
        ),
        beside(
            "engine.follow_ups",
            f"all follow-ups of a move, beside one of its {len(WHO.moves)} pairs as many times",
            all_of_one,
            one_pair * len(WHO.moves),
        ),
        beside(
            "engine.pairs",
            f"every pair of {len(paired)} moves, beside one run of the stepper a pair",
            best_ms(lambda: every_pair(paired), 1, rounds),
            best_ms(lambda: every_pair_stepped(paired), 1, rounds),
        ),
        beside(
            "engine.load",
            f"loading a game of {PLAYERS * count:,} moves, beside reading its text alone",
            best_ms(load_big, 1, rounds),
            best_ms(read, 1, rounds),
        ),
    )
