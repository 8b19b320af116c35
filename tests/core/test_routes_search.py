"""The search for routes against looking at every route there is, on small generated games.

The reference below keeps no route's state in short and drops nothing. It asks links and cancels for
each pair with all that went before, and adds damage, gauges and distances up by itself.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import pytest
from builders import game_of, row
from demo import GAMES, demo

from core.cancels import cancel
from core.conditions import juggle_count
from core.frames import outcome
from core.links import link
from core.model import (
    CancelRule,
    Character,
    Contact,
    ContactKind,
    Effect,
    Game,
    Gauge,
    Hit,
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
from core.notation import format_route
from core.routes import Aim, FoundRoute, Query, Start, check, find
from core.routes.joints import Judge
from core.routes.search import search
from core.timing import Window, cancel_window, link_window
from core.verdict import Answer

DEPTH = 3


def lands(window: Window) -> float:
    """Hands that are quick to reckon with: wider is surer, later is less so."""
    return (1 - 0.5**window.frames) * (1 - 0.001 * window.first_gap)


# Games


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


# Every route there is


@dataclass(frozen=True)
class Told:
    """A whole route and what it comes to."""

    moves: tuple[str, ...]
    damage: int
    chance: float
    expected: float
    frames: int
    spent: int
    effect: Effect


@dataclass(frozen=True)
class Past:
    """A route with its last move still open."""

    moves: tuple[Move, ...]
    contact: Contact
    damage: int
    chance: float
    expected: float
    salt: int
    spent: int
    distance: float
    lying: bool
    lying_hits: int
    started: int


class Reference:
    """Every route of a game's one character."""

    def __init__(self, game: Game) -> None:
        self.game, self.who = game, game.characters[0]
        self.known: dict[object, object] = {}

    def all(self, depth: int) -> list[Told]:
        ways = list(self.starts())
        for past in ways:
            if len(past.moves) < depth:
                ways += self.after(past)
        return [self.ended(past) for past in ways]

    def starts(self) -> Iterator[Past]:
        salt = self.game.gauges[0].start
        for move in self.who.moves:
            cost = dict(move.costs).get("salt", 0)
            if cost <= salt:
                yield Past((move,), Contact(), 0, 1.0, 0.0, salt - cost, cost, 0.0, False, 0, 0)

    def hurt(self, past: Past, last_hit: int) -> int:
        move, total = past.moves[-1], 0
        for n, hit in enumerate(move.hits[:last_hit]):
            percent = 100
            if self.game.scaling is not None:
                steps = self.game.scaling.steps_percent
                floor = 60 if move.kind is MoveKind.SUPER else 40
                percent = max(floor, steps[min(len(steps) - 1, past.contact.hits_before + n)])
            total += (hit.damage or 0) * percent // 100
        return total

    def joints(
        self, first: Move, second: Move, contact: Contact
    ) -> list[tuple[Means, int, str, Window, int]]:
        key = (first.input, first.startup_frames, second.input, contact)
        if key not in self.known:
            self.known[key] = list(self._joints(first, second, contact))
        return self.known[key]  # type: ignore[return-value]

    def _joints(
        self, first: Move, second: Move, contact: Contact
    ) -> Iterator[tuple[Means, int, str, Window, int]]:
        for means in (Means.CANCEL, Means.CHAIN):
            game = replace(self.game, rules=tuple(rule for rule in self.game.rules if rule.means is means))
            answer = cancel(game, self.who, first, second, contact)
            if answer.window is not None and answer.combos.answer is Answer.YES:
                window = cancel_window(game, self.who, first, second, contact)
                assert isinstance(window, Window)
                assert window.start_gap is not None
                yield means, answer.window.hit, answer.window.rule.name, window, window.start_gap
        if link(self.game, self.who, first, second, contact).answer is Answer.YES:
            window = link_window(self.game, self.who, first, second, contact)
            assert isinstance(window, Window)
            assert window.start_gap is not None
            yield Means.LINK, len(first.hits), "", window, window.start_gap

    def after(self, past: Past) -> Iterator[Past]:
        first = past.moves[-1]
        salt = min(40, past.salt + dict(first.gains).get("salt", 0))
        for second in self.who.moves:
            for means, last_hit, rule, window, gap in self.joints(first, second, past.contact):
                cost = dict(second.costs).get("salt", 0)
                distance = past.distance + (first.pushback_on_hit or 0)
                if cost > salt or (second.reach is not None and distance > second.reach + 1e-9):
                    continue
                count, lying = past.contact.juggle_count, past.lying
                whole = last_hit == len(first.hits)
                taken = past.lying_hits + (last_hit if past.lying else 0)
                if past.lying and not whole:
                    continue
                if whole:
                    result = outcome(self.game, first, past.contact)
                    assert isinstance(result, Outcome)
                    if past.lying and result.effect is Effect.STAND:
                        continue
                    assert self.game.juggle is not None
                    lying = result.effect is Effect.KNOCKDOWN
                    if lying and taken >= self.game.juggle.downed_hits:
                        continue
                    count = juggle_count(first, past.contact) if result.effect is Effect.LAUNCH else None
                more = self.hurt(past, last_hit)
                begun = second
                if means is Means.CANCEL and second.cancelled_startup_frames is not None:
                    begun = replace(second, startup_frames=second.cancelled_startup_frames)
                yield Past(
                    (*past.moves, begun),
                    Contact(
                        hits_before=past.contact.hits_before + last_hit,
                        juggle_count=count,
                        came_by=means,
                        rules_used=(*past.contact.rules_used, rule) if rule else past.contact.rules_used,
                    ),
                    past.damage + more,
                    past.chance * lands(window),
                    past.expected + past.chance * more,
                    salt - cost,
                    past.spent + cost,
                    distance,
                    lying,
                    taken,
                    past.started + gap,
                )

    def ended(self, past: Past) -> Told:
        move = past.moves[-1]
        more = self.hurt(past, len(move.hits))
        result = outcome(self.game, move, past.contact)
        assert isinstance(result, Outcome)
        effect = Effect.KNOCKDOWN if past.lying and result.effect is Effect.STAND else result.effect
        assert move.total_frames is not None
        stops = sum(hit.attacker_hitstop_frames or 0 for hit in move.hits)
        return Told(
            tuple(one.input for one in past.moves),
            past.damage + more,
            past.chance,
            past.expected + past.chance * more,
            past.started + move.total_frames + stops,
            past.spent,
            effect,
        )


def asked(**more: object) -> Query:
    return replace(Query(most_moves=DEPTH, hands=lands, budget=10**6), **more)  # type: ignore[arg-type]


def asks_about(seed: int, top: int) -> tuple[Query, Callable[[Told], bool], Callable[[Told], float]]:
    """One question by turns, which routes answer it, and what makes one the best."""
    least = top * 2 // 3
    limit = (0, 10, 25)[seed // 5 % 3]
    questions: list[tuple[Query, Callable[[Told], bool], Callable[[Told], float]]] = [
        (asked(aim=Aim.EXPECTED), lambda _: True, lambda told: told.expected),
        (
            asked(aim=Aim.RELIABLE, least_damage=least),
            lambda told: told.damage >= least,
            lambda told: told.chance,
        ),
        (
            asked(aim=Aim.SHORTEST, least_damage=least),
            lambda told: told.damage >= least,
            lambda told: -told.frames,
        ),
        (
            asked(spend=(("salt", limit),)),
            lambda told: told.spent <= limit,
            lambda told: told.damage,
        ),
        (
            asked(knockdown=True),
            lambda told: told.effect is Effect.KNOCKDOWN,
            lambda told: told.damage,
        ),
    ]
    return questions[seed % 5]


def worth(aim: Aim, route: FoundRoute) -> float:
    assert route.frames is not None
    return {
        Aim.DAMAGE: route.damage,
        Aim.EXPECTED: route.expected_damage,
        Aim.RELIABLE: route.chance,
        Aim.SHORTEST: -route.frames,
    }[aim]


@pytest.mark.parametrize(("depth", "seeds"), [(3, range(120)), (4, range(120, 170)), (5, range(170, 190))])
def test_each_aim_finds_what_looking_at_every_route_finds(depth: int, seeds: range) -> None:
    routes = made = answered = 0
    for seed in seeds:
        game = generated_game(seed)
        every = Reference(game).all(depth)
        judge = Judge(game, game.characters[0])
        found = search(judge, replace(asked(), most_moves=depth))
        assert found.complete
        routes, made = routes + len(every), made + found.explored
        if not every:
            assert found.routes == ()
            continue
        top = max(told.damage for told in every)
        surest = max(told.chance for told in every if told.damage == top)
        assert found.routes[0].damage == top, seed
        assert found.routes[0].chance == pytest.approx(surest), seed

        query, answers, value = asks_about(seed, top)
        fit = [value(told) for told in every if answers(told)]
        found = search(judge, replace(query, most_moves=depth))
        assert bool(found.routes) == bool(fit), seed
        answered += bool(fit)
        if fit:
            assert worth(query.aim, found.routes[0]) == pytest.approx(max(fit)), seed
        assert all(
            route.spent[0] <= dict(query.spend).get("salt", math.inf) and route.damage >= query.least_damage
            for route in found.routes
        )
    assert answered > len(seeds) * 0.8
    assert made < routes


@pytest.mark.parametrize("batch", range(3))
def test_starters_and_wanted_and_unwanted_moves_are_kept_to(batch: int) -> None:
    some = none = 0
    for seed in range(batch, 30, 3):
        game = generated_game(seed)
        every = Reference(game).all(DEPTH)
        moves = [move.input for move in game.characters[0].moves]
        first, wanted, unwanted = moves[0], moves[1], moves[2]
        found = find(game, game.characters[0], asked(first=(first,), require=(wanted,), avoid=(unwanted,)))
        fit = [
            told.damage
            for told in every
            if told.moves[0] == first and wanted in told.moves and unwanted not in told.moves
        ]
        assert (found.routes[0].damage if found.routes else None) == max(fit, default=None), seed
        some, none = some + bool(fit), none + (not fit)
        for route in found.routes:
            inputs = [move.input for move in route.route.moves]
            assert inputs[0] == first
            assert wanted in inputs
            assert unwanted not in inputs
    assert some
    assert none


def test_a_required_move_that_nobody_has_is_in_no_route() -> None:
    game = generated_game(0)
    found = find(game, game.characters[0], asked(require=("5Z",)))
    assert found.complete
    assert found.routes == ()


# What is given


WHOLE = {name: Start(gauges=tuple((g.name, g.maximum) for g in demo(name).gauges)) for name in GAMES}
PEOPLE = [(name, who) for name in GAMES for who in demo(name).characters]
NAMES = [who.name for _, who in PEOPLE]


@pytest.mark.parametrize(
    ("name", "who", "aim"),
    [(*person, aim) for person, aim in zip(PEOPLE, [*Aim, *Aim], strict=True)],
    ids=NAMES,
)
def test_every_route_given_is_one_the_check_says_yes_to_with_the_same_damage(
    name: str, who: Character, aim: Aim
) -> None:
    game = demo(name)
    least = 1000 if name == "saltglass" else 100
    found = find(game, who, Query(aim=aim, start=WHOLE[name], most_moves=5, least_damage=least))
    assert found.complete
    assert found.routes
    for route in found.routes:
        judged = check(game, who, route.route, WHOLE[name])
        assert judged.works, format_route(route.route)
        assert judged.route == route.route
        assert judged.damage == route.damage
        assert judged.frames == route.frames
        assert tuple(amount for _, amount in judged.spent) == route.spent


@pytest.mark.parametrize(("name", "who"), PEOPLE[1::2], ids=NAMES[1::2])
def test_what_is_given_beside_the_best_gives_up_damage_for_safety(name: str, who: Character) -> None:
    found = find(demo(name), who, Query(most_moves=5))
    assert 2 <= len(found.routes) <= 5
    for harder, surer in zip(found.routes, found.routes[1:], strict=False):
        assert harder.damage > surer.damage
        assert harder.chance < surer.chance
        assert harder.chance < surer.chance - 0.02 or harder.damage > surer.damage * 1.02


def test_the_same_question_has_the_same_answer() -> None:
    game = demo("saltglass")
    query = Query(most_moves=5)
    assert find(game, game.characters[0], query) == find(game, game.characters[0], query)


def test_a_search_that_runs_out_says_so_and_still_gives_routes_that_work() -> None:
    game = demo("kitewind")
    who = game.characters[0]
    whole = find(game, who, Query())
    cut = find(game, who, Query(budget=200))
    assert (whole.complete, cut.complete) == (True, False)
    assert cut.explored == 200
    assert all(check(game, who, route.route).works for route in cut.routes)


def test_specials_that_differ_in_strength_alone_are_given_once() -> None:
    game = demo("saltglass")
    who = game.characters[0]
    found = find(game, who, Query(most_moves=4, most_routes=20))
    shapes = [format_route(route.route) for route in found.routes]
    for strength in "LMH":
        shapes = [
            shape.replace(f"214{strength}K", "214K").replace(f"623{strength}P", "623P") for shape in shapes
        ]
    assert len(shapes) == len(set(shapes)) > 2


def test_a_press_nothing_is_known_about_never_counts_as_landing() -> None:
    game = replace(generated_game(1), link_buffer_frames=None)
    known = find(generated_game(1), game.characters[0], asked())
    found = find(game, game.characters[0], asked())
    assert found.routes[0].damage == known.routes[0].damage
    for route in found.routes:
        links = any(step.joined is Means.LINK for step in route.route.steps)
        assert (route.chance == 0) == links
    assert not math.isnan(found.routes[0].expected_damage)


def test_a_move_without_damage_in_the_file_is_left_out_and_named() -> None:
    game = generated_game(2)
    who = game.characters[0]
    dull = replace(who.moves[0], hits=tuple(replace(hit, damage=None) for hit in who.moves[0].hits))
    solo = replace(who, moves=(dull, *who.moves[1:]))
    found = find(replace(game, characters=(solo,)), solo, asked())
    assert found.left_out == (dull.input,)
    assert all(dull not in route.route.moves for route in found.routes)


def detour(first: dict[str, Any], second: dict[str, Any], last: dict[str, Any]) -> Game:
    """Two starters with the same numbers, of which the second does less damage; both link into 5MP alone,
    which is cancelled into a special."""
    return game_of(
        row("5LP", 7, 3, 7, 6, 0, damage=60, reach=3, **first),
        row("5LK", 7, 3, 7, 6, 0, damage=50, reach=3, **second),
        row("5MP", 6, 3, 12, 0, 0, damage=10, reach=3, pushback_on_hit=0.2),
        row("236LP", 8, 3, 20, -4, -8, damage=300, kind="special", **last),
        cancel=[
            {
                "name": "special cancel",
                "from": {"moves": ["5MP"]},
                "into": {"kinds": ["special"]},
                "contact": ["hit"],
            }
        ],
        gauge=[{"name": "salt", "maximum": 40}],
    )


@pytest.mark.parametrize(
    "game",
    [
        detour({"gain": "salt 10"}, {"gain": "salt 30"}, {"cost": "salt 30"}),
        detour({"pushback_on_hit": 1.0}, {"pushback_on_hit": 0.2}, {"reach": 1.0}),
    ],
    ids=["it fills the gauge", "it stays in reach"],
)
def test_less_damage_now_is_kept_where_it_opens_up_more_later(game: Game) -> None:
    found = find(game, game.characters[0], asked())
    assert format_route(found.routes[0].route) == "5LK, 5MP xx 236LP"
    assert found.routes[0].damage == 360
