"""A route as a drill: its pieces in order, when to go on, the training mode, the speed and the hands."""

from __future__ import annotations

from collections.abc import Iterator

from bot.limits import LABEL_CHARACTERS
from bot.render.card import Card, Group, source_of
from bot.render.limits import cut
from bot.render.rhythm_card import route_name
from bot.render.route_find import lands_words
from bot.render.wording import say
from bot.results.playing import Piece, PieceKind, RouteDrill
from core.learning.plan import BREAK, REPS_CAP, WORK_MINUTES, Note

OUT_OF = 10
"""Tries of a goal."""


def drill_card(drill: RouteDrill) -> Card:
    """The card of a drill. The caution on hands is always on it."""
    checked, name = drill.opened.check, route_name(drill.opened)
    hands = Group(say("drill-questions", "hands"), (say("plan-notes", Note.HANDS.value),))
    source = source_of(checked.game, checked.character)
    if not drill.pieces:
        return Card(say("drill-leads", "rest", name=name), (hands,), (), source)
    first = drill.pieces[0]
    weakest = first.kind is PieceKind.ALONE and len(drill.pieces) > 2
    several = len(drill.pieces) > 1
    key = "drill" if weakest else "drill-short" if several else "drill-whole"
    goal = say("drill", "goal" if several else "goal-whole", landed=_goal(drill), tries=OUT_OF)
    groups = (
        Group(say("drill-questions", "pieces"), tuple(_pieces(drill))),
        Group(say("drill-questions", "goal" if several else "goal-whole"), (goal,)),
        Group(say("drill-questions", "dummy"), tuple(_dummy(drill))),
        Group(say("drill-questions", "speed"), tuple(_speed(drill))),
        hands,
    )
    return Card(say("drill-leads", key, name=name, first=first.subject.what), groups, (), source)


def piece_label(piece: Piece) -> str:
    """What the button says that logs a piece."""
    return cut(say("drill", "label", what=piece.subject.what), LABEL_CHARACTERS)


def _pieces(drill: RouteDrill) -> Iterator[str]:
    for number, piece in enumerate(drill.pieces, start=1):
        yield say(
            "drill",
            piece.kind.value,
            number=number,
            minutes=piece.minutes,
            reps=piece.reps,
            what=piece.subject.what,
            lands=None if piece.chance is None else lands_words(piece.chance),
            whose=say("drill", "yours" if drill.opened.hands.tries else "anybody"),
        )
    yield say("drill", "break", minutes=WORK_MINUTES, rest=BREAK.minutes)
    if drill.cut:
        yield say("drill", "cap", cap=REPS_CAP)
    if not drill.opened.hands.tries and any(piece.chance is not None for piece in drill.pieces):
        yield say("drill", "typical")


def _dummy(drill: RouteDrill) -> Iterator[str]:
    """What of the training mode matters to this route."""
    checked = drill.opened.check
    lines = []
    state = checked.route.steps[0].state or checked.start.state
    if state is not None:
        lines.append(say("drill", "state", state=state))
    if checked.start.airborne:
        lines.append(say("drill", "air"))
    full = {gauge.name: gauge.maximum for gauge in checked.game.gauges}
    lines += [
        say("drill", "gauge", gauge=name, amount=amount, maximum=full[name])
        for name, amount in checked.spent
        if amount
    ]
    if drill.confirm is not None:
        first, second = drill.confirm
        lines.append(say("drill", "random", first=first, second=second))
    yield from lines or [say("drill", "stand")]


def _speed(drill: RouteDrill) -> Iterator[str]:
    yield say("drill", "ladder", landed=_goal(drill), tries=OUT_OF)
    yield say("rhythm", "slow")


def _goal(drill: RouteDrill) -> int:
    """The goal out of `OUT_OF`, at least half of them."""
    return min(OUT_OF, max(OUT_OF // 2, round(drill.goal * OUT_OF)))
