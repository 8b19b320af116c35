"""How fast two versions of a big game are compared, with all that follows for links, cancels and routes.

The reference is all of it asked one by one: links and cancels of every pair, and a check of every route, in
both versions. The aim (step 7) is 2 seconds in all for 2,000 moves and 1,000 saved routes of a usual patch.
Seconds are the processor's, so that other programs do not count.
"""

from __future__ import annotations

import pickle
import random
import time
from dataclasses import replace

from benchmarks.figures import Figure, alone, at_most, times_as_fast
from patching import drawn_routes

from bot.gamefiles import find_game, read_game
from core.cancels import cancel
from core.links import link
from core.model import Character, Contact, ContactKind, Game, Move, Outcome
from core.notation import parse_route
from core.patches import SavedText, apply, compare, consequences, route_changes
from core.routes import Start, check

CHARACTERS = 10
MOVES = 200
ROUTES = 1000
SEED = 7
ASKED = 100
"""Moves and routes that are asked one by one; the rest is worked out from them."""
AIM = at_most(2)


def big_game(chance: random.Random, characters: int = CHARACTERS, moves_each: int = MOVES) -> Game:
    """The larger demo game's rules, and so many characters and moves each, drawn from its own."""
    game = read_game(find_game("saltglass"))
    models = [move for who in game.characters for move in who.moves if move.hits]
    people = []
    for number in range(characters):
        moves = [_like(chance.choice(models), place, chance) for place in range(moves_each)]
        people.append(Character(f"Player {number}", moves=tuple(moves), jump=game.characters[0].jump))
    return replace(game, name="Big", characters=tuple(people))


def _like(model: Move, place: int, chance: random.Random) -> Move:
    """A move with the kind and tags of the model, and numbers near its own."""
    startup = max(3, (model.startup_frames or 8) + chance.randint(-2, 2))
    prefix = "j." if model.input.startswith("j.") else ""
    written = f"{prefix}{11111 + place}LP"
    return replace(
        _with_advantage(model, chance.randint(-2, 2)),
        input=written,
        name=f"move {place}",
        aliases=(),
        startup_frames=startup,
        by_scheme=(),
    )


def _with_advantage(move: Move, frames: int) -> Move:
    """The move with so many frames more on hit, its last hit's stun with them."""
    found = move.on_hit
    last = move.hits[-1].hitstun_frames
    if found is None or found.advantage is None or last is None:
        return move
    hits = (*move.hits[:-1], replace(move.hits[-1], hitstun_frames=last + frames))
    return replace(move, hits=hits, on_hit=Outcome(found.effect, found.advantage + frames))


def usual_patch(game: Game, chance: random.Random) -> Game:
    """A patch as they mostly are: one number of every tenth move, a few moves gone, new and renamed."""
    people = []
    for who in game.characters:
        moves = [_patched(move, chance) if not chance.randrange(10) else move for move in who.moves]
        moves[3] = replace(moves[3], input="99999LP")
        del moves[chance.randrange(10, len(moves))]
        moves.append(replace(moves[0], input="88888LP", name="fresh"))
        people.append(replace(who, moves=tuple(moves)))
    return replace(game, version="2", characters=tuple(people))


def _patched(move: Move, chance: random.Random) -> Move:
    if chance.random() < 0.4:
        return replace(move, startup_frames=(move.startup_frames or 5) + chance.choice([-1, 1]))
    if chance.random() < 0.5:
        return _with_advantage(move, chance.choice([-1, 1]))
    return replace(move, hits=tuple(replace(hit, damage=(hit.damage or 0) - 20) for hit in move.hits))


def everything_patch(game: Game) -> Game:
    """A patch that spares nothing: every hit's stun a frame shorter over the whole game."""
    return replace(game, version="2", hitstun_decay_frames=(1,))


def seconds(game: Game, new: Game, routes: list[SavedText]) -> tuple[float, float, float, int]:
    """All of it once: the processor's seconds of comparing, of links and cancels, and of routes; and the
    bytes that go to and from a worker."""
    began = time.process_time()
    patch = compare(game, new)
    compared = time.process_time()
    follows = consequences(game, new, patch)
    followed = time.process_time()
    changes = route_changes(game, new, patch, routes)
    ended = time.process_time()
    assert apply(patch, game) == new
    size = len(pickle.dumps((patch, follows, changes)))
    return compared - began, followed - compared, ended - followed, size


def one_by_one(game: Game, routes: list[SavedText]) -> float:
    """Seconds of the processor to ask about every pair and check every route of one version, worked out from
    every pair of some of its moves and some routes."""
    who = game.characters[0]
    moves, checked_routes = who.moves[:ASKED], routes[:ASKED]
    states = [Contact(state=state) for state in (None, *(one.name for one in game.hit_states))]
    contacts = [Contact(kind) for kind in ContactKind]
    began = time.process_time()
    for first in moves:
        for second in moves:
            for contact in states:
                link(game, who, first, second, contact)
            for contact in contacts:
                cancel(game, who, first, second, contact)
    asked = time.process_time()
    full = Start(gauges=tuple((gauge.name, gauge.maximum) for gauge in game.gauges))
    for route in checked_routes:
        owner = game.character(route.character)
        assert owner is not None
        check(game, owner, parse_route(route.notation, game, owner), full)
    checked = time.process_time()
    pairs = sum(len(one.moves) ** 2 for one in game.characters)
    each_pair, each_route = (asked - began) / len(moves) ** 2, (checked - asked) / len(checked_routes)
    return each_pair * pairs + each_route * len(routes)


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of a usual patch, part by part, and of one that changes every move."""
    chance = random.Random(SEED)
    game = big_game(chance, 2, 20) if tiny else big_game(chance)
    routes = drawn_routes(game, chance, 10 if tiny else ROUTES)
    reference = 2 * one_by_one(game, routes)
    of = f"{sum(len(who.moves) for who in game.characters):,} moves, {len(routes):,} routes"
    *usual, size = seconds(game, usual_patch(game, chance), routes)
    *whole, _ = seconds(game, everything_patch(game), routes)
    asked = "beside asking one by one"
    return (
        times_as_fast("patches.usual", f"{of}, a usual patch, {asked}", sum(usual), reference, "s", aim=AIM),
        alone("patches.compared", f"{of}: comparing", usual[0], "s"),
        alone("patches.followed", f"{of}: links and cancels", usual[1], "s"),
        alone("patches.routes", f"{of}: routes", usual[2], "s"),
        alone("patches.size", f"{of}: to and from a worker", size / 1e6, "MB"),
        times_as_fast("patches.everything", f"{of}, every move changed, {asked}", sum(whole), reference, "s"),
    )
