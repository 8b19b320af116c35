"""Which few of the found routes are offered."""

from __future__ import annotations

import pytest
from demo import demo, owner

from bot.results.finding import Choice, Role
from bot.services.choices import with_roles
from core.notation import book_of
from core.routes import Aim


def choice(damage: int, chance: float) -> Choice:
    game = demo("saltglass")
    written = book_of(game, owner(game, "odrun")).route("5MP, 2MP")
    return Choice(written, damage, chance, damage * chance, 1.0, (), None)


def roles(aim: Aim, *worth: tuple[int, float]) -> list[Role | None]:
    return [one.role for one in with_roles([choice(*each) for each in worth], aim)]


@pytest.mark.parametrize(
    ("aim", "worth", "expected"),
    [
        (Aim.DAMAGE, [], []),
        (Aim.DAMAGE, [(900, 0.5)], [Role.ONLY]),
        (Aim.DAMAGE, [(900, 0.5), (600, 0.9)], [Role.MOST, Role.SUREST]),
        (
            Aim.DAMAGE,
            [(900, 0.2), (800, 0.6), (700, 0.5), (600, 0.9)],
            [Role.MOST, Role.MIDDLE, None, Role.SUREST],
        ),
        (
            Aim.RELIABLE,
            [(600, 0.9), (900, 0.2), (800, 0.6), (700, 0.5)],
            [Role.SUREST, Role.MOST, Role.MIDDLE, None],
        ),
        (
            Aim.EXPECTED,
            [(800, 0.6), (900, 0.2), (700, 0.5), (500, 0.9)],
            [Role.AVERAGE, Role.MOST, None, Role.SUREST],
        ),
        # The best on average is the surest too: one between is offered beside it.
        (Aim.EXPECTED, [(800, 0.9), (900, 0.5), (850, 0.6)], [Role.AVERAGE, Role.MOST, Role.MIDDLE]),
        (
            Aim.SHORTEST,
            [(300, 0.4), (900, 0.2), (500, 0.9), (700, 0.6)],
            [Role.SHORTEST, Role.MOST, Role.SUREST, None],
        ),
        # As sure but for what nobody would notice: the one with more damage, and no other is between.
        (Aim.DAMAGE, [(900, 0.2), (800, 0.991), (300, 0.994)], [Role.MOST, Role.SUREST, None]),
    ],
)
def test_the_best_the_surest_and_the_strongest_are_offered(
    aim: Aim, worth: list[tuple[int, float]], expected: list[Role | None]
) -> None:
    assert roles(aim, *worth) == expected
