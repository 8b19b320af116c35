"""How fast the engine answers, as ratios against a reference measured in the same run.

Run by hand: `python tests/benchmarks/engine.py`. Each row is the best of several rounds; the
reference is the least that the same job could cost, or the other way to do it.
"""

from __future__ import annotations

import csv
import io
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from builders import BUTTONS  # noqa: E402
from stopwatch import best_ms  # noqa: E402

from bot.gamefiles import find_game, read_game  # noqa: E402
from core.followups import follow_up, follow_ups  # noqa: E402
from core.gamefile import Table, load  # noqa: E402
from core.links import link  # noqa: E402
from core.model import Contact, Move  # noqa: E402
from core.stepper import Press, run  # noqa: E402
from core.verdict import Answer, Code, Facts, Reason, Verdict  # noqa: E402

GAME = read_game(find_game("saltglass"))
WHO = GAME.characters[0]
MOVES = {move.input: move for move in WHO.moves}
FIRST, SECOND = MOVES["5MP"], MOVES["2MP"]
HIT = Contact()


def bare_verdict() -> Verdict:
    """The values of a link's answer, with nothing worked out."""
    facts = Facts(
        first="5MP", second="2MP", contact="hit", startup_frames=6, advantage_frames=7, window_frames=2
    )
    numbers = Facts(advantage_frames=7, startup_frames=6, window_frames=2)
    presses = Facts(first_press_frames=-3, last_press_frames=1, accepted_presses_frames=5)
    return Verdict(Answer.YES, (Reason(Code.LINK_IN_TIME, facts),), numbers.plus(**presses))


def every_pair() -> None:
    for move in WHO.moves:
        if move.hits:
            follow_ups(GAME, WHO, move, HIT)


def every_pair_stepped() -> None:
    whole = [move for move in WHO.moves if _whole(move)]
    for first in whole:
        for second in whole:
            run(GAME, first, [Press(60, second)], HIT)


def _whole(move: Move) -> bool:
    stun = all(hit.hitstun_frames is not None for hit in move.hits)
    return bool(move.hits) and move.total_frames is not None and stun and move.on_hit is not None


def big_table() -> tuple[str, str]:
    """A TOML file with five characters and one CSV text of 400 moves, which all five use."""
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
    rules += [f'[[character]]\nname = "Player {n}"\nmoves = "moves.csv"' for n in range(5)]
    lines = ["input,name,startup,active,recovery,on_hit,on_block,damage"]
    motions = [f"{a}{b}{c}{d}" for a in "1234" for b in "6789" for c in "1234" for d in "6789"]
    rules += [f'[[motion]]\nname = "motion {m}"\nforms = ["{m}"]' for m in motions[:67]]
    inputs = [f"{motion}{button}" for motion in motions for button in BUTTONS][:400]
    lines += [
        f"{one},move {one},{4 + n % 9},3,{9 + n % 11},{n % 7},{-(n % 9)},{300 + n}"
        for n, one in enumerate(inputs)
    ]
    return "\n".join(rules), "\n".join(lines)


def main() -> None:
    toml, table = big_table()
    rows = list(csv.reader(io.StringIO(table)))

    def read() -> None:
        tomllib.loads(toml)
        for _ in range(5):
            list(csv.reader(io.StringIO(table)))

    def load_big() -> None:
        tables = {"moves.csv": Table(tuple(rows[0]), tuple(tuple(row) for row in rows[1:]))}
        load(tomllib.loads(toml), tables)

    one_link = best_ms(lambda: link(GAME, WHO, FIRST, SECOND, HIT), 2000)
    one_pair = best_ms(lambda: follow_up(GAME, WHO, FIRST, SECOND, HIT), 1000)
    measured = [
        ("one link verdict", one_link, "its bare values", best_ms(bare_verdict, 2000)),
        (
            f"all follow-ups of a move ({len(WHO.moves)} moves)",
            best_ms(lambda: follow_ups(GAME, WHO, FIRST, HIT), 30),
            "one pair, as many times",
            one_pair * len(WHO.moves),
        ),
        (
            f"every pair of a character ({len(WHO.moves)} moves)",
            best_ms(every_pair, 1, 3),
            "one stepper run a pair",
            best_ms(every_pair_stepped, 1, 3),
        ),
        (
            "loading a game of 2,000 moves",
            best_ms(load_big, 1, 3),
            "reading its text alone",
            best_ms(read, 1, 3),
        ),
    ]
    print(f"{'what':<44}{'ms':>10}  {'reference':<26}{'ms':>10}{'ratio':>9}")
    for what, ms, reference, reference_ms in measured:
        print(f"{what:<44}{ms:>10.4f}  {reference:<26}{reference_ms:>10.4f}{ms / reference_ms:>9.2f}")


if __name__ == "__main__":
    main()
