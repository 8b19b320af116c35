"""Label setting on plain graphs: the same best ways as by looking at all of them."""

from __future__ import annotations

import random
from collections.abc import Iterable

import networkx as nx
import pytest

from core.routes.labels import Explored, Label, explore

# Arcs (cost, time), and at most 14 of time from 1 to 6. Ahuja, Magnanti & Orlin, Network Flows, 1993,
# data from memory: the best way is 1-3-2-4-6 with cost 13.
ARCS = {
    (1, 2): (1, 10), (1, 3): (10, 3), (2, 4): (1, 1), (2, 5): (2, 3), (3, 2): (1, 2),
    (3, 4): (5, 7), (3, 5): (12, 3), (4, 5): (10, 1), (4, 6): (1, 7), (5, 6): (2, 2),
}  # fmt: skip

Arcs = dict[tuple[int, int], tuple[int, int]]


def explored(arcs: Arcs, start: int, most_time: float, budget: int = 100_000) -> Explored[int]:
    """Every way from `start` that no other beats in cost and time."""

    def grow(label: Label[int]) -> Iterable[Label[int]]:
        cost, time = label.costs
        for (tail, head), (more, longer) in arcs.items():
            if tail == label.state and time + longer <= most_time:
                yield Label(head, head, (cost + more, time + longer), label)

    return explore([Label(start, start, (0, 0))], grow, budget)


def test_the_published_example_of_a_path_with_limited_time_is_found() -> None:
    found = explored(ARCS, 1, 14)
    best = min((label for label in found.kept if label.state == 6), key=lambda label: label.costs)
    assert (best.way, best.costs) == ((1, 3, 2, 4, 6), (13, 13))
    assert found.complete


def test_with_time_enough_the_cheapest_path_is_another() -> None:
    found = explored(ARCS, 1, 100)
    best = min((label for label in found.kept if label.state == 6), key=lambda label: label.costs)
    assert (best.way, best.costs) == ((1, 2, 4, 6), (3, 18))


@pytest.mark.parametrize("seed", range(10))
def test_every_best_trade_of_cost_and_time_is_kept_and_nothing_else(seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(200):
        size = chance.randint(3, 7)
        arcs = {
            (a, b): (chance.randint(0, 9), chance.randint(0, 9))
            for a in range(size)
            for b in range(a + 1, size)
            if chance.random() < 0.6
        }
        most = chance.randint(4, 40)
        ways = [(0, (0, 0))]
        for tail, costs in ways:
            for (a, b), more in arcs.items():
                if a == tail and costs[1] + more[1] <= most:
                    ways.append((b, (costs[0] + more[0], costs[1] + more[1])))
        best = {
            (node, costs)
            for node, costs in ways
            if not any(
                node == other and theirs != costs and theirs[0] <= costs[0] and theirs[1] <= costs[1]
                for other, theirs in ways
            )
        }
        found = explored(arcs, 0, most)
        assert {(label.state, label.costs) for label in found.kept} == best
        assert len(found.kept) == len(best)
        assert found.complete


@pytest.mark.parametrize("seed", range(3))
def test_without_limits_the_longest_path_is_that_of_another_program(seed: int) -> None:
    # networkx.dag_longest_path_length
    chance = random.Random(seed)
    for _ in range(50):
        size = chance.randint(2, 12)
        graph = nx.DiGraph()
        graph.add_node(0)
        for a in range(size):
            for b in range(a + 1, size):
                if chance.random() < 0.5:
                    graph.add_edge(a, b, weight=chance.randint(1, 20))

        def grow(label: Label[int], graph: nx.DiGraph = graph) -> Iterable[Label[int]]:
            for _, head, weight in graph.out_edges(label.state, data="weight"):
                yield Label(head, head, (label.costs[0] - weight,), label)

        found = explore([Label(node, node, (0,)) for node in graph], grow, 100_000)
        longest = -min(label.costs[0] for label in found.kept)
        assert longest == nx.dag_longest_path_length(graph, weight="weight")


def test_a_search_that_runs_out_of_labels_says_that_it_is_not_complete() -> None:
    whole = explored(ARCS, 1, 14)
    assert explored(ARCS, 1, 14, whole.labels).complete
    assert not explored(ARCS, 1, 14, whole.labels - 1).complete
