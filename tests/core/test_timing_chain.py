"""The chance of a whole route against a simulation, press by press."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.timing import Spread, Step, Window, chance, in_rhythm, route_chance

PLAYERS = 1_000_000
LINK = Window(22, 27, start_gap=25)
TIGHT = Window(30, 33, start_gap=33)
CANCEL = Window(8, 24, start_gap=22)
AT_ONCE = Window(24, 26)

ROUTES = {
    "links with a buffer": [Step(LINK, 24.5, 1.4), Step(TIGHT, 32.0, 1.6), Step(LINK, 26.0, 1.4)],
    "a cancel held for long, then a link": [Step(CANCEL, 16.0, 3.0), Step(LINK, 31.0, 1.7)],
    "without a buffer": [Step(AT_ONCE, 25.0, 1.0), Step(AT_ONCE, 25.0, 1.0), Step(AT_ONCE, 25.0, 1.0)],
    "an early player": [Step(LINK, 22.6, 1.4), Step(LINK, 23.0, 1.4)],
    "a late player": [Step(LINK, 27.0, 1.4), Step(TIGHT, 33.0, 1.4)],
    "steady hands": [Step(LINK, 24.5, 0.3), Step(LINK, 25.0, 0.3), Step(TIGHT, 32.3, 0.3)],
}


def simulated(steps: list[Step]) -> tuple[list[tuple[float, float, float, int]], float]:
    """Early, hit, late and the tries of each step, and the share that landed everything."""
    rng = np.random.default_rng(22)
    pressed = rng.random(PLAYERS)
    started = np.zeros(PLAYERS)
    seen = []
    for step in steps:
        window = step.window
        pressed = pressed + rng.normal(step.mean_gap, step.spread_frames, pressed.size)
        gaps = np.floor(pressed - started)
        early, late = gaps < window.first_gap, gaps > window.last_gap
        landed = ~early & ~late
        seen.append((early.mean(), landed.mean(), late.mean(), pressed.size))
        held = gaps if window.start_gap is None else np.maximum(gaps, window.start_gap)
        pressed, started = pressed[landed], (started + held)[landed]
    return seen, pressed.size / PLAYERS


@pytest.mark.parametrize("name", ROUTES)
def test_a_route_lands_as_often_as_a_million_simulated_ones(name: str) -> None:
    found = route_chance(ROUTES[name])
    seen, whole = simulated(ROUTES[name])
    for step, (early, hit, late, tries) in zip(found.steps, seen, strict=True):
        for expected, share in ((step.early, early), (step.hit, hit), (step.late, late)):
            error = math.sqrt(max(0.0, expected * (1 - expected)) / tries)
            assert share == pytest.approx(expected, abs=5 * error + 1e-3)
    assert whole == pytest.approx(found.whole, abs=5 * math.sqrt(whole * (1 - whole) / PLAYERS) + 1e-3)


def test_the_first_step_is_one_press() -> None:
    found = route_chance([Step(LINK, 24.5, 1.4)])
    exact = chance(24.5, 1.4, LINK.first_gap, LINK.last_gap)
    assert found.steps[0].hit == pytest.approx(exact.hit, abs=1e-12)
    assert found.steps[0].early == pytest.approx(exact.early, abs=1e-12)
    assert found.whole == pytest.approx(exact.hit, abs=1e-12)


def test_a_held_press_makes_the_next_one_early_so_that_a_route_is_not_the_product_of_its_links() -> None:
    steps = [Step(LINK, 23.0, 1.4), Step(LINK, 24.5, 1.4)]
    alone = chance(24.5, 1.4, LINK.first_gap, LINK.last_gap)
    second = route_chance(steps).steps[1]
    assert second.hit < alone.hit - 0.1
    assert second.early > alone.early + 0.1


def test_without_a_buffer_every_press_starts_within_its_own_frame() -> None:
    machine = [Step(AT_ONCE, 25.0, 0.0)] * 4
    assert route_chance(machine).whole == pytest.approx(1, abs=1e-12)


def test_a_machine_in_rhythm_lands_a_route_that_is_held_at_every_step() -> None:
    steps = in_rhythm((LINK, TIGHT, CANCEL, LINK), Spread(0.0, 0.0), bias_frames=0.0)
    assert [step.mean_gap for step in steps] == [24.5, 32.0, 17.5, 30.5]
    assert route_chance(steps).whole == pytest.approx(1, abs=1e-9)


def test_the_bottleneck_is_the_step_that_lands_least_often() -> None:
    steps = in_rhythm((CANCEL, LINK, Window(30, 30, 30), LINK), Spread(0.6, 0.05), bias_frames=0.0)
    assert route_chance(steps).bottleneck == 2


def test_a_route_that_surely_drops_has_no_chance_and_raises_nothing() -> None:
    found = route_chance([Step(LINK, 500.0, 0.1), Step(LINK, 24.5, 1.0)])
    assert found.whole == 0
    assert found.steps[0].late == pytest.approx(1)


def test_a_route_without_a_press_is_refused() -> None:
    with pytest.raises(ValueError, match="at least two moves"):
        route_chance([])


@given(st.lists(st.tuples(st.floats(15, 40), st.floats(0, 6)), min_size=1, max_size=4))
def test_the_chances_of_each_step_add_up_and_the_whole_is_no_likelier_than_any(
    presses: list[tuple[float, float]],
) -> None:
    found = route_chance([Step(LINK, mean, spread) for mean, spread in presses])
    for step in found.steps:
        assert step.early + step.hit + step.late == pytest.approx(1, abs=1e-9)
        assert found.whole <= step.hit + 1e-9
