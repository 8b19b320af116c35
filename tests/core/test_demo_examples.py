"""The two demo games hold an example of whatever the engine answers questions about."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from demo import BLOCK, COUNTER, GAMES, HIT, OFF_BALANCE, WHIFF, demo

from core.blocks import fastest_startup, gaps, punish, safe
from core.cancels import cancel
from core.knockdown import meaty, safe_jump
from core.links import link
from core.model import Character, Contact, Effect, Game, HitLevel, Means, Move, MoveKind, Stance
from core.verdict import Answer, Code

Pair = tuple[Character, Move, Move]


def pairs(game: Game) -> Iterator[Pair]:
    """Pairs of a character's moves from the ground; the first is a normal."""
    for character in game.characters:
        ground = [one for one in character.moves if one.stance is not Stance.AIRBORNE and one.hits]
        for first in ground:
            if first.kind is MoveKind.NORMAL:
                yield from ((character, first, second) for second in ground)


def links_of(game: Game, frames: Callable[[int], bool]) -> Iterator[Pair]:
    for pair in pairs(game):
        verdict = link(game, *pair, HIT)
        stands = pair[1].on_hit is not None and pair[1].on_hit.effect is Effect.STAND
        if stands and verdict.answer is Answer.YES and frames(int(verdict.evidence["window_frames"])):
            yield pair


def links_only_in(game: Game, contact: Contact) -> Iterator[Pair]:
    for pair in pairs(game):
        if link(game, *pair, HIT).answer is Answer.NO and link(game, *pair, contact).answer is Answer.YES:
            yield pair


def links_only_meaty(game: Game) -> Iterator[Pair]:
    for pair in pairs(game):
        if len(pair[1].hits) == 1 and link(game, *pair, HIT).answer is Answer.NO:
            latest = Contact(active_frame=pair[1].active_frames or 1)
            if link(game, *pair, latest).answer is Answer.YES:
                yield pair


def gaps_of(game: Game, means: tuple[Means, ...], low: int, high: int) -> Iterator[Pair]:
    for pair in pairs(game):
        for gap in gaps(game, *pair, BLOCK):
            if gap.means in means and low <= int(gap.verdict.evidence.get("gap_frames", 99)) <= high:
                yield pair


def punished_by_another(game: Game) -> Iterator[Pair]:
    for mine in game.characters:
        normals = (
            one for one in mine.moves if one.kind is MoveKind.NORMAL and one.stance is not Stance.AIRBORNE
        )
        fastest = min(normals, key=lambda one: one.startup_frames or 99)
        for theirs in game.characters:
            for one in theirs.moves if theirs is not mine else ():
                if any(option.move is fastest for option in punish(game, one, mine, BLOCK).moves):
                    yield mine, one, fastest


def safe_moves(game: Game, answer: Answer) -> Iterator[tuple[Character, Move]]:
    for character in game.characters:
        for one in character.moves:
            if one.on_block and one.on_block.high < 0 and safe(game, one, BLOCK).answer is answer:
                yield character, one


def cancels_of(game: Game, combos: Answer) -> Iterator[Pair]:
    for pair in pairs(game):
        answer = cancel(game, *pair, HIT)
        if answer.legal.answer is Answer.YES and answer.combos.answer is combos:
            yield pair


def normals_without_cancel(game: Game) -> Iterator[tuple[Character, Move]]:
    for character in game.characters:
        for one in character.moves:
            on_ground = one.kind is MoveKind.NORMAL and one.stance is not Stance.AIRBORNE
            answers = (cancel(game, character, one, other, HIT) for other in character.moves)
            if on_ground and all(answer.legal.answer is Answer.NO for answer in answers):
                yield character, one


def juggles(game: Game) -> Iterator[Pair]:
    return (pair for pair in pairs(game) if link(game, *pair, HIT).has(Code.JUGGLES))


def meaties(game: Game) -> Iterator[Pair]:
    for pair in pairs(game):
        if pair[1].hit_level is HitLevel.LOW and meaty(game, pair[1], pair[2], HIT).answer is Answer.YES:
            yield pair


def safe_jumps(game: Game) -> Iterator[Pair]:
    """Jumps that are safe even against the fastest attack of the game."""
    reversal = fastest_startup(game) or 0
    for character in game.characters:
        jumping = [one for one in character.moves if one.stance is Stance.AIRBORNE]
        for first in character.moves:
            for second in jumping:
                if safe_jump(game, character, first, second, reversal, HIT).answer is Answer.YES:
                    yield character, first, second


def whiff_cancels(game: Game) -> Iterator[Pair]:
    return (pair for pair in pairs(game) if cancel(game, *pair, WHIFF).legal.answer is Answer.YES)


BEGUN_OUT = (Means.CANCEL, Means.CHAIN)
EXAMPLES: list[tuple[str, Callable[[Game], Iterator[object]], tuple[str, ...]]] = [
    ("links of 1 frame", lambda game: links_of(game, lambda w: w == 1), GAMES),
    ("links of 2 frames", lambda game: links_of(game, lambda w: w == 2), GAMES),
    ("links of 3 frames", lambda game: links_of(game, lambda w: w == 3), GAMES),
    ("links of 4 frames and more", lambda game: links_of(game, lambda w: w >= 4), GAMES),
    ("links only on counter hit", lambda game: links_only_in(game, COUNTER), GAMES),
    ("links only off balance", lambda game: links_only_in(game, OFF_BALANCE), ("saltglass",)),
    ("links only meaty", links_only_meaty, GAMES),
    ("frame traps without a cancel", lambda game: gaps_of(game, (Means.LINK,), 1, 3), GAMES),
    ("frame traps by cancel", lambda game: gaps_of(game, BEGUN_OUT, 1, 3), GAMES),
    ("true blockstrings", lambda game: gaps_of(game, BEGUN_OUT, -99, 0), GAMES),
    ("moves another's fastest normal punishes", punished_by_another, GAMES),
    ("safe moves below 0 on block", lambda game: safe_moves(game, Answer.YES), GAMES),
    ("moves safe from nobody", lambda game: safe_moves(game, Answer.NO), GAMES),
    ("cancels that combo", lambda game: cancels_of(game, Answer.YES), GAMES),
    ("cancels that are legal but do not combo", lambda game: cancels_of(game, Answer.NO), GAMES),
    ("cancels with a number missing", lambda game: cancels_of(game, Answer.UNKNOWN), GAMES),
    ("normals that nothing cancels", normals_without_cancel, GAMES),
    ("juggles after a launch", juggles, GAMES),
    ("meaties after a sweep", meaties, GAMES),
    ("safe jumps", safe_jumps, GAMES),
    ("cancels on whiff", whiff_cancels, ("kitewind",)),
]


@pytest.mark.parametrize(("what", "find", "names"), EXAMPLES, ids=[row[0] for row in EXAMPLES])
def test_there_is_an_example_of(
    what: str, find: Callable[[Game], Iterator[object]], names: tuple[str, ...]
) -> None:
    having = tuple(name for name in GAMES if next(find(demo(name)), None) is not None)
    assert having == names, what
