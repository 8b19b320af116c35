"""Pairs of versions of a game for tests: a demo or a small game, and what a patch might make of it."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

from demo import GAMES, demo
from hypothesis import strategies as st
from judged import usual
from movebooks import GAMES as BOOK_GAMES

from core.model import (
    CancelRule,
    Character,
    ContactKind,
    Effect,
    Game,
    Gauge,
    Hit,
    HitState,
    Juggle,
    JuggleRules,
    Jump,
    Means,
    Move,
    MoveKind,
    Order,
    Outcome,
    Projectile,
    Range,
    Scaling,
    Scheme,
    Selector,
    Stance,
)
from core.notation import Route, Step, format_route
from core.patches import Consequences, SavedText, compare, consequences
from core.routes import Start, full_gauges
from core.routes.joints import Judge
from core.routes.state import begin, follow
from core.verdict import Verdict

Draw = Callable[[st.SearchStrategy[Any]], Any]

FRAMES = st.integers(0, 40)
ADVANTAGES = st.one_of(
    st.none(),
    st.builds(lambda low, more: Range(low, low + more), st.integers(-12, 14), st.sampled_from([0, 0, 0, 5])),
)
OUTCOMES = st.one_of(
    st.none(),
    st.builds(Outcome, st.just(Effect.STAND), ADVANTAGES),
    st.builds(Outcome, st.just(Effect.KNOCKDOWN), ADVANTAGES),
    st.builds(Outcome, st.just(Effect.LAUNCH), st.none(), st.one_of(st.none(), st.integers(0, 60))),
)
HITS = st.lists(
    st.builds(
        Hit,
        active_frames=st.integers(1, 6),
        gap_frames=st.integers(0, 4),
        hitstun_frames=st.one_of(st.none(), FRAMES),
        blockstun_frames=st.one_of(st.none(), FRAMES),
        cancellable=st.sampled_from([True, False, None]),
        damage=st.one_of(st.none(), st.integers(0, 999)),
        attacker_hitstop_frames=st.sampled_from([None, 0, 8, 10]),
        defender_hitstop_frames=st.sampled_from([None, 8, 10]),
    ),
    max_size=3,
).map(tuple)
TAGS = st.frozensets(st.sampled_from(["special-cancellable", "hits-downed", "lifter"]))
MOVE_FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "name": st.sampled_from(["Tap", "tap", "Other"]),
    "aliases": st.sampled_from([(), ("thing",)]),
    "kind": st.sampled_from(MoveKind),
    "stance": st.sampled_from(Stance),
    "strength": st.sampled_from([None, "light", "medium", "heavy", "no such"]),
    "level": st.sampled_from([None, 1, 2]),
    "tags": TAGS,
    "startup_frames": st.one_of(st.none(), st.integers(1, 20)),
    "cancelled_startup_frames": st.one_of(st.none(), st.integers(1, 20)),
    "hits": HITS,
    "recovery_frames": st.one_of(st.none(), FRAMES),
    "on_hit": OUTCOMES,
    "on_block": ADVANTAGES,
    "on_air_hit": OUTCOMES,
    "outcomes": st.sampled_from([(), (("counter hit", Outcome(Effect.STAND, Range(9, 9))),)]),
    "projectile": st.sampled_from([None, Projectile(), Projectile(0.1)]),
    "reach": st.sampled_from([None, 0.2, 1.0, 3.0]),
    "pushback_on_hit": st.sampled_from([None, 0.1, 0.5, 2.0]),
    "pushback_on_block": st.sampled_from([None, 0.1, 2.0]),
    "juggle": st.builds(Juggle, st.integers(0, 6), st.integers(0, 2), st.sampled_from([None, 0, 3])),
    "gains": st.sampled_from([(), (("salt", 3),)]),
    "costs": st.sampled_from([(), (("salt", 9),), (("wind", 50),)]),
    "by_scheme": st.sampled_from([(), (("simple", Move("5A", "quick", MoveKind.SPECIAL)),)]),
    "travel": st.sampled_from([None, 1.0, -1.0]),
}
SELECTORS = st.builds(
    Selector,
    kinds=st.frozensets(st.sampled_from(MoveKind), max_size=3),
    stances=st.frozensets(st.sampled_from(Stance), max_size=1),
    tags=st.sampled_from([frozenset(), frozenset({"special-cancellable"})]),
    moves=st.sampled_from([frozenset(), frozenset({"5LP", "5L", "236LP"})]),
)
RULES = st.builds(
    CancelRule,
    name=st.sampled_from(["special cancel", "chain", "a third"]),
    means=st.sampled_from([Means.CANCEL, Means.CHAIN]),
    source=SELECTORS,
    into=SELECTORS,
    contact=st.frozensets(st.sampled_from(ContactKind), min_size=1),
    first_frame=st.integers(1, 30),
    last_frame=st.one_of(st.none(), st.integers(1, 30)),
    order=st.sampled_from(Order),
    same_move=st.booleans(),
    per_route=st.sampled_from([None, 1]),
    jump=st.sampled_from([False, False, False, True]),
)
JUMPS = st.one_of(st.none(), st.builds(Jump, st.integers(1, 5), st.just(36), st.just(3)))
GAME_FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "version": st.sampled_from(["2", "3"]),
    "fps": st.sampled_from([60, 50]),
    "strengths": st.sampled_from([("light", "medium", "heavy"), ("heavy", "light"), ()]),
    "link_buffer_frames": st.sampled_from([None, 0, 4]),
    "cancel_buffer_frames": st.sampled_from([None, 6]),
    "cancel_window_frames": st.sampled_from([None, 0, 3]),
    "keeps_newest_press": st.booleans(),
    "hitstun_decay_frames": st.sampled_from([(), (1,), (0, 1, 2)]),
    "hit_states": st.lists(
        st.builds(
            HitState,
            st.sampled_from(["counter hit", "off balance"]),
            bonus_frames=st.sampled_from([None, 1, 4]),
        ),
        max_size=2,
        unique_by=lambda state: state.name,
    ).map(tuple),
    "scaling": st.sampled_from([None, Scaling((100, 80), 10)]),
    "gauges": st.sampled_from([(), (Gauge("salt", 40, 20),)]),
    "schemes": st.sampled_from([(), (Scheme("simple"),)]),
    "juggle": st.sampled_from([None, JuggleRules(1), JuggleRules(4, 1)]),
    "distance_unit": st.sampled_from(["steps", "paces"]),
}


@cache
def starting_games() -> tuple[Game, ...]:
    """What versions are made of: the demo games and three small ones."""
    return (*map(demo, GAMES), usual(), *BOOK_GAMES.values())


@st.composite
def patched(draw: Draw, old: Game, most: int = 6) -> Game:
    """The game after so many changes at most."""
    new = old
    for _ in range(draw(st.integers(0, most))):
        new = draw(st.sampled_from([_game, _rules, _characters, _moves, _moves, _move, _move, _move]))(
            draw, new
        )
    return new


@st.composite
def versions(draw: Draw, most: int = 6) -> tuple[Game, Game]:
    """A game and what a patch makes of it."""
    old = draw(st.sampled_from(starting_games()))
    return old, draw(patched(old, most))


def drawn_routes(game: Game, chance: random.Random, count: int) -> list[SavedText]:
    """So many different routes of two to six steps that work with every gauge full, their means written."""
    start = Start(gauges=full_gauges(game))
    judges = [Judge(game, who) for who in game.characters]
    found: dict[tuple[str, str], SavedText] = {}
    while len(found) < count:
        judge = chance.choice(judges)
        steps = [Step(chance.choice(judge.character.moves))]
        state = begin(judge, steps[0], start)
        length = chance.randint(2, 6)
        for _ in range(300):
            if len(steps) == length or isinstance(state, Verdict):
                break
            step = Step(chance.choice(judge.character.moves))
            taken = follow(judge, state, step)
            if not isinstance(taken, Verdict):
                steps.append(replace(step, joined=taken[0].joint.means))
                state = taken[0].state
        text = format_route(Route(tuple(steps)))
        if len(steps) > 1:
            found.setdefault((judge.character.name, text), SavedText(len(found), judge.character.name, text))
    return list(found.values())


def following(old: Game, new: Game) -> Consequences:
    """What follows from the patch between two versions."""
    return consequences(old, new, compare(old, new))


def _game(draw: Draw, game: Game) -> Game:
    field = draw(st.sampled_from(sorted(GAME_FIELDS)))
    return replace(game, **{field: draw(GAME_FIELDS[field])})


def _rules(draw: Draw, game: Game) -> Game:
    """Another rule in place of one, or more, or less, of the game or of a character."""
    rules = list(game.rules)
    number = draw(st.integers(0, len(rules)))
    rules[number : number + draw(st.integers(0, 1))] = draw(st.lists(RULES, max_size=1))
    if draw(st.booleans()) or not game.characters:
        return replace(game, rules=tuple(rules))
    who, place = _one(draw, game.characters)
    return _with(game, place, replace(who, rules=tuple(draw(st.lists(RULES, max_size=2)))))


def _characters(draw: Draw, game: Game) -> Game:
    """A character more, one less, others first, or one with another jump."""
    people = list(game.characters)
    what = draw(st.sampled_from(["add", "remove", "order", "jump", "aliases"]))
    if what == "add":
        names = {who.name for who in people}
        name = next(name for name in (f"Newcomer {n}" for n in range(99)) if name not in names)
        people.insert(draw(st.integers(0, len(people))), Character(name, moves=_some_moves()))
    elif people:
        who, place = _one(draw, people)
        if what == "remove":
            del people[place]
        elif what == "order":
            people = draw(st.permutations(people))
        elif what == "jump":
            people[place] = replace(who, jump=draw(JUMPS))
        else:
            people[place] = replace(who, aliases=("someone",))
    return replace(game, characters=tuple(people))


def _moves(draw: Draw, game: Game) -> Game:
    """A move more, one less, one under another input, or others first."""
    if not game.characters:
        return game
    who, place = _one(draw, game.characters)
    moves = list(who.moves)
    taken = {move.input for move in moves}
    free = next(name for name in (f"{n}Z" for n in range(1, 999)) if name not in taken)
    what = draw(st.sampled_from(["add", "remove", "rename", "swap", "shuffle"]))
    if what == "add":
        made = Move(free, draw(st.sampled_from(["Tap", "Fresh"])), MoveKind.NORMAL, startup_frames=5)
        moves.insert(draw(st.integers(0, len(moves))), made)
    elif what == "shuffle":
        moves = draw(st.permutations(moves))
    elif moves:
        move, number = _one(draw, moves)
        if what == "remove":
            del moves[number]
        elif what == "rename":
            more = draw(st.sampled_from([{}, {"name": "Anew"}, {"startup_frames": 3}]))
            moves[number] = replace(move, input=free, **more)
        else:
            moves.insert(draw(st.integers(0, len(moves) - 1)), moves.pop(number))
    return _with(game, place, replace(who, moves=tuple(moves)))


def _move(draw: Draw, game: Game) -> Game:
    """One field of one move."""
    if not any(who.moves for who in game.characters):
        return game
    people = [(who, place) for place, who in enumerate(game.characters) if who.moves]
    who, place = draw(st.sampled_from(people))
    move, number = _one(draw, who.moves)
    field = draw(st.sampled_from(sorted(MOVE_FIELDS)))
    moves = list(who.moves)
    moves[number] = replace(move, **{field: draw(MOVE_FIELDS[field])})
    return _with(game, place, replace(who, moves=tuple(moves)))


def _one(draw: Draw, values: Any) -> tuple[Any, int]:
    number = draw(st.integers(0, len(values) - 1))
    return values[number], number


def _with(game: Game, place: int, who: Character) -> Game:
    people = list(game.characters)
    people[place] = who
    return replace(game, characters=tuple(people))


@cache
def _some_moves() -> tuple[Move, ...]:
    return usual().characters[0].moves
