"""How fast two versions of a big game are compared, with all that follows for links, cancels and routes.

Run by hand: `python tests/benchmarks/patches.py`. The reference is the question asked one by one: a link and
a cancel verdict for one pair, and a check of one route, as many times as there are pairs and routes. The
aim is 2 seconds in all for 2,000 moves and 1,000 saved routes.
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
from stopwatch import best_ms  # noqa: E402

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


def main() -> None:
    chance = random.Random(SEED)
    game = big_game(chance)
    routes = drawn_routes(game, chance, ROUTES)
    new = usual_patch(game, chance)
    who = game.characters[0]
    first, second, contacts = who.moves[0], who.moves[1], [Contact(kind) for kind in ContactKind]
    states = [None, *(state.name for state in game.hit_states)]
    pair = best_ms(
        lambda: (
            [link(game, who, first, second, Contact(state=state)) for state in states],
            [cancel(game, who, first, second, contact) for contact in contacts],
        ),
        200,
    )
    owner = next(one for one in game.characters if one.name == routes[0].character)
    route = parse_route(routes[0].notation, game, owner)
    one = best_ms(lambda: check(game, owner, route, Start()), 50)
    reference = 2 * (pair * CHARACTERS * MOVES**2 + one * ROUTES) / 1000
    usual = seconds(game, new, routes, f"{CHARACTERS * MOVES:,} moves and {ROUTES:,} routes, a usual patch")
    whole = seconds(game, everything_patch(game), routes, "one that changes every move")
    print(
        f"asked one by one in both versions: {reference:.0f} s ({pair:.3f} ms a pair, {one:.2f} ms a route): "
        f"{reference / usual:.0f} and {reference / whole:.0f} times as long"
    )


if __name__ == "__main__":
    main()
