"""Routes that are found are played frame by frame by the stepper, which knows nothing of windows.

It knows of timing alone, and of no jump before an attack in the air nor of hits on the ground: routes
from the ground against somebody standing or in the air are compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import pytest
from agreement import in_time
from demo import GAMES, demo

from core.model import Character, Game, Stance
from core.notation import Route, format_route
from core.permission import permission
from core.routes import Query, RouteCheck, Start, check
from core.routes.joints import Judge
from core.routes.search import search
from core.stepper import NumberMissingError, Permits, Press, Trace, run
from core.stepper.world import no_rules
from core.timing import Window

DASHING: tuple[str, ...] = ("Mirrel Quay", "Ninnet Sprae", "Ossily Fenn")
"""Those whose launches leave time for a dash."""
PEOPLE = [(name, who) for name in GAMES for who in demo(name).characters]


def found_routes(game: Game, who: Character, start: Start) -> Iterator[Route]:
    """Routes from every starter with every third of the other moves in them, a few each."""
    judge = Judge(game, who)
    airborne = tuple(move.input for move in who.moves if move.stance is Stance.AIRBORNE)
    lying = tuple(move.input for move in who.moves if "hits-downed" in move.tags)
    given: set[str] = set()
    for first, other in [*permutations([move.input for move in who.moves], 2)][::3]:
        query = Query(
            first=(first,),
            require=(other,),
            avoid=(*airborne, *lying),
            start=start,
            most_moves=4,
            most_routes=8,
        )
        for found in search(judge, query).routes:
            if (written := format_route(found.route)) not in given:
                given.add(written)
                yield found.route


class Played:
    """A checked route in the stepper, each move pressed on the frame on which it can start at the soonest."""

    def __init__(self, judged: RouteCheck) -> None:
        self.judged = judged
        self.label = f"{judged.character.name}: {format_route(judged.route)}"

    def permits(self, number: int) -> Permits:
        first, second = self.judged.steps[number - 1], self.judged.steps[number]
        contact = first.contact
        game, who = self.judged.game, self.judged.character
        if contact is None:  # out of a movement nothing is begun
            return no_rules
        return lambda hit: permission(game, who, first.step.move, second.step.move, contact, hit).rules

    def run(self, last: int, later_frames: int = 0, late_from: int | None = None) -> Trace:
        """The route up to step `last`, that one, or all steps from `late_from` on, pressed so much later."""
        late = last if late_from is None else late_from
        presses = []
        for number, step in enumerate(self.judged.steps[1 : last + 1], start=1):
            assert step.frame is not None
            frame = 1 + step.frame + (later_frames if number >= late else 0)
            presses.append(Press(frame, step.step.move, self.permits(number)))
        first = self.judged.steps[0]
        assert first.contact is not None
        return run(self.judged.game, first.step.move, presses, first.contact, self.permits(1))

    def combos(self, trace: Trace, last: int) -> bool:
        """Whether just the planned moves came out, each as planned, and each combined."""
        planned = [(step.step.move.input, step.means) for step in self.judged.steps[1 : last + 1]]
        came = [(one.move.input, one.means) for one in trace.followups]
        return came == planned and all(in_time(one) for one in trace.followups if one.move.hits)


@pytest.mark.parametrize("gauges", ["as the round starts", "full"])
@pytest.mark.parametrize(("name", "who"), PEOPLE, ids=[who.name for _, who in PEOPLE])
def test_a_found_route_combos_and_a_frame_after_the_last_accepted_press_it_does_not(
    name: str, who: Character, gauges: str
) -> None:
    game = demo(name)
    full = tuple((gauge.name, gauge.maximum) for gauge in game.gauges) if gauges == "full" else ()
    start = Start(gauges=full)
    played = steps = skipped = moved = 0
    for route in found_routes(game, who, start):
        judged = check(game, who, route, start)
        assert judged.works
        player = Played(judged)
        try:
            whole = player.run(len(judged.steps) - 1)
        except NumberMissingError:
            skipped += 1
            continue
        if not whole.complete:
            skipped += 1
            continue
        assert player.combos(whole, len(judged.steps) - 1), player.label
        played += 1
        for number, step in enumerate(judged.steps[1:], start=1):
            assert isinstance(step.window, Window)
            assert step.window.start_gap is not None
            spare = step.window.last_gap - step.window.start_gap
            # A movement that is late is so by what follows it.
            last = number if step.step.move.hits else number + 1
            moved += last > number
            assert player.combos(player.run(last, spare, number), last), (player.label, number)
            assert not player.combos(player.run(last, spare + 1, number), last), (player.label, number)
            started = whole.followups[number - 1].start_frame
            assert step.frame == started - 1, (player.label, number)
            steps += 1
    assert played > 60
    assert steps > 120
    assert skipped < played / 8
    if who.name in DASHING:
        assert moved
