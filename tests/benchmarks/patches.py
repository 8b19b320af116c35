"""How fast two versions of a big game are compared, with all that follows for links, cancels and routes.

Run by hand: `python tests/benchmarks/patches.py`. The reference is all of it asked one by one: links and
cancels of every pair, and a check of every route, in both versions. The aim is 2 seconds in all for 2,000
moves and 1,000 saved routes. Seconds are the processor's, so that other programs do not count.
"""

from __future__ import annotations

import pickle
import random
import sys
import time
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from patching import drawn_routes  # noqa: E402

from bot.gamefiles import find_game, read_game  # noqa: E402
from core.cancels import cancel  # noqa: E402
from core.links import link  # noqa: E402
from core.model import Character, Contact, ContactKind, Game, Move, Outcome  # noqa: E402
from core.notation import parse_route  # noqa: E402
from core.patches import SavedText, apply, compare, consequences, route_changes  # noqa: E402
from core.routes import Start, check  # noqa: E402

CHARACTERS = 10
MOVES = 200
ROUTES = 1000
SEED = 7


def big_game(chance: random.Random) -> Game:
    """The larger demo game's rules, and ten characters with 200 moves drawn from its own."""
    game = read_game(find_game("saltglass"))
    models = [move for who in game.characters for move in who.moves if move.hits]
    people = []
    for number in range(CHARACTERS):
        moves = [_like(chance.choice(models), place, chance) for place in range(MOVES)]
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


def seconds(game: Game, new: Game, routes: list[SavedText], label: str) -> float:
    """All of it once, told part by part; the seconds of the processor it took."""
    began = time.process_time()
    patch = compare(game, new)
    compared = time.process_time()
    follows = consequences(game, new, patch)
    followed = time.process_time()
    changes = route_changes(game, new, patch, routes)
    ended = time.process_time()
    assert apply(patch, game) == new
    effects: dict[str, int] = {}
    for _, change in changes:
        effects[change.effect.value] = effects.get(change.effect.value, 0) + 1
    print(
        f"{label}: {ended - began:.2f} s: compared {compared - began:.3f}, links and cancels "
        f"{followed - compared:.2f} ({len(follows.links):,} and {len(follows.cancels):,}), routes "
        f"{ended - followed:.2f} ({effects}); {len(pickle.dumps((patch, follows, changes))) / 1e6:.1f} MB"
    )
    return ended - began


def one_by_one(game: Game, routes: list[SavedText]) -> float:
    """Seconds of the processor to ask about every pair and check every route of one version, worked out from
    every pair of a hundred of its moves and a hundred routes."""
    who = game.characters[0]
    states = [Contact(state=state) for state in (None, *(one.name for one in game.hit_states))]
    contacts = [Contact(kind) for kind in ContactKind]
    began = time.process_time()
    for first in who.moves[:100]:
        for second in who.moves[:100]:
            for contact in states:
                link(game, who, first, second, contact)
            for contact in contacts:
                cancel(game, who, first, second, contact)
    asked = time.process_time()
    full = Start(gauges=tuple((gauge.name, gauge.maximum) for gauge in game.gauges))
    for route in routes[:100]:
        owner = game.character(route.character)
        assert owner is not None
        check(game, owner, parse_route(route.notation, game, owner), full)
    checked = time.process_time()
    return (asked - began) / 100**2 * CHARACTERS * MOVES**2 + (checked - asked) / 100 * ROUTES


def main() -> None:
    chance = random.Random(SEED)
    game = big_game(chance)
    routes = drawn_routes(game, chance, ROUTES)
    new = usual_patch(game, chance)
    reference = 2 * one_by_one(game, routes)
    usual = seconds(game, new, routes, f"{CHARACTERS * MOVES:,} moves and {ROUTES:,} routes, a usual patch")
    whole = seconds(game, everything_patch(game), routes, "one that changes every move")
    print(
        f"asked one by one in both versions: {reference:.0f} s: "
        f"{reference / usual:.0f} and {reference / whole:.0f} times as long"
    )


if __name__ == "__main__":
    main()
