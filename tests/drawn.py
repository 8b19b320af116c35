"""Small games drawn at random, the same ones for the same number."""

from __future__ import annotations

import random
from dataclasses import replace

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
    Means,
    Move,
    MoveKind,
    Order,
    Outcome,
    Range,
    Scaling,
    Selector,
)


def generated_move(chance: random.Random, number: int) -> Move:
    kind = chance.choice([MoveKind.NORMAL, MoveKind.NORMAL, MoveKind.SPECIAL, MoveKind.SUPER])
    effect = chance.choice([*[Effect.STAND] * 4, Effect.LAUNCH, Effect.KNOCKDOWN])
    advantage = chance.randint(1, 9) if effect is Effect.STAND else chance.randint(18, 30)
    lead = Range(advantage, advantage)
    on_hit = Outcome(effect, None if effect is Effect.LAUNCH else lead, chance.randint(26, 36))
    spans = chance.choice([1, 1, 1, 2])
    hits = tuple(
        Hit(
            active_frames=chance.randint(1, 3),
            gap_frames=2 if n else 0,
            hitstun_frames=None if n == spans - 1 else chance.randint(8, 18),
            cancellable=chance.random() < 0.8,
            damage=chance.randint(10, 60),
            attacker_hitstop_frames=4,
            defender_hitstop_frames=4,
        )
        for n in range(spans)
    )
    costs = kind is MoveKind.SUPER or chance.random() < 0.15
    return Move(
        f"5{'ABCDEFGH'[number]}",
        f"move {number}",
        kind,
        strength=chance.choice(["light", "heavy"]),
        tags=frozenset({"hits-downed"}) if chance.random() < 0.3 else frozenset(),
        startup_frames=chance.randint(3, 9),
        cancelled_startup_frames=chance.choice([None, None, 3]),
        hits=hits,
        recovery_frames=chance.randint(4, 10),
        on_hit=on_hit,
        on_air_hit=Outcome(Effect.LAUNCH, air_frames=chance.randint(16, 30)),
        reach=chance.choice([None, 1.0, 1.5, 2.0]),
        pushback_on_hit=chance.choice([None, 0.0, 0.0, 0.2, 0.4]),
        juggle=Juggle(chance.randint(0, 1), chance.randint(1, 2), chance.choice([None, 2])),
        gains=(("salt", chance.randint(0, 12)),),
        costs=(("salt", chance.choice([10, 25])),) if costs else (),
    )


def generated_game(seed: int) -> Game:
    chance = random.Random(seed)
    contact = frozenset({ContactKind.HIT})
    normals, specials = frozenset({MoveKind.NORMAL}), frozenset({MoveKind.SPECIAL})
    supers = frozenset({MoveKind.SUPER})
    rules = (
        CancelRule(
            "chain", Means.CHAIN, Selector(normals), Selector(normals), contact, 2, 6,
            order=chance.choice([Order.ANY, Order.NOT_FALLING]),
            same_move=False,
            per_route=chance.choice([None, 1, 2]),
        ),
        CancelRule(
            "cancel", Means.CANCEL, Selector(normals), Selector(specials), contact,
            not_after=chance.choice([frozenset(), frozenset({Means.CHAIN})]),
        ),
        CancelRule(
            "super", Means.CANCEL, Selector(normals | specials), Selector(supers), contact,
            per_route=chance.choice([None, 1]),
        ),
    )  # fmt: skip
    moves = tuple(generated_move(chance, n) for n in range(chance.randint(4, 6)))
    return Game(
        "Drawn",
        "1",
        60,
        (),
        strengths=("light", "heavy"),
        link_buffer_frames=2,
        cancel_buffer_frames=3,
        cancel_window_frames=2,
        hitstun_decay_frames=chance.choice([(), (0, 0, 1, 2), (0, 1, 3)]),
        scaling=chance.choice([None, Scaling((100, 90, 70, 50), 40, ((MoveKind.SUPER, 60),))]),
        gauges=(Gauge("salt", 40, chance.choice([0, 10, 40])),),
        rules=rules,
        juggle=JuggleRules(3, chance.randint(0, 1)),
        characters=(Character("Solo", moves=moves),),
    )


def game_with_movement(seed: int) -> Game:
    """A generated game with a step forward and one back, and rules that let them cancel moves."""
    game = generated_game(seed)
    chance = random.Random(f"movement {seed}")
    contact, steps = frozenset({ContactKind.HIT}), Selector(frozenset({MoveKind.MOVEMENT}))
    some = Selector(frozenset(chance.sample([MoveKind.NORMAL, MoveKind.SPECIAL], chance.randint(1, 2))))
    rules = (
        CancelRule(
            "step", Means.CANCEL, some, steps, contact,
            per_route=chance.choice([None, 1]),
            not_after=chance.choice([frozenset(), frozenset({Means.LINK})]),
        ),
        CancelRule("slide", Means.CHAIN, Selector(), Selector(moves=frozenset({"44"})), contact, 2, 5),
    )  # fmt: skip
    forward = Move(
        "66", "step", MoveKind.MOVEMENT,
        recovery_frames=chance.randint(2, 8), travel=chance.choice([0.3, 0.6, 1.0]),
    )  # fmt: skip
    back = Move(
        "44", "slide", MoveKind.MOVEMENT,
        recovery_frames=chance.randint(1, 4), travel=chance.choice([-0.3, -0.6, -1.0]),
    )  # fmt: skip
    (who,) = game.characters
    # Reaching less far than without movement, so that it often decides what is in reach; in some games pushed
    # further, in some hardly at all.
    pushes = chance.choice([(None, 0.0, 0.1, 0.3, 0.5), (0.0, 0.05, 0.1)])
    reaches = chance.choice([(None, 0.5, 0.8, 1.0), (0.65, 1.05)])
    attacks = (
        replace(move, reach=chance.choice(reaches), pushback_on_hit=chance.choice(pushes))
        for move in who.moves
    )
    solo = replace(who, moves=(*attacks, forward, back))
    states = (HitState("counter hit", bonus_frames=chance.randint(2, 8)),)
    rules = rules[: chance.randint(0, 2)]
    return replace(game, rules=(*game.rules, *rules), hit_states=states, characters=(solo,))
