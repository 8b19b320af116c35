"""A session for the minutes that someone has, block after block."""

from __future__ import annotations

from collections.abc import Iterator

from bot.render.card import Card, Group, source_of
from bot.render.reps import character_of, next_words
from bot.render.wording import say
from bot.results.practice import PlannedSession
from core.learning.plan import REPS_CAP, Block, BlockKind, Note

ROUND_CHARACTERS = 110
"""A round of mixed reps longer than this is not written a second time."""


def plan_card(session: PlannedSession) -> Card:
    """The card of a session. The caution on hands is always on it."""
    lines = tuple(_blocks(session))
    notes = [note for note in session.plan.notes if note is not Note.HANDS]
    groups = [Group(say("plan-questions", "session"), lines)] if lines else []
    if notes:
        said = tuple(say("plan-notes", note.value, cap=REPS_CAP) for note in notes)
        groups.append(Group(say("plan-questions", "notes"), said))
    if session.next is not None:
        groups.append(Group(say("plan-questions", "next"), (next_words(session.next),)))
    groups.append(Group(say("plan-questions", "hands"), (say("plan-notes", Note.HANDS.value),)))
    source = source_of(session.game, character_of(session.game, session.subject))
    return Card(_lead(session), tuple(groups), (), source)


def _lead(session: PlannedSession) -> str:
    blocks, what = session.plan.blocks, session.subject.what
    if not blocks:
        return say("plan-leads", "rest")
    first = blocks[0]
    if first.kind is BlockKind.MATCHES:
        return say("plan-leads", "matches-only", what=what)
    begin = say("plan-first", first.kind.value, name=_name(first, session))
    key = "plan" if blocks[-1].kind is BlockKind.MATCHES else "plan-no-matches"
    return say("plan-leads", key, minutes=session.plan.minutes, what=what, first=begin)


def _blocks(session: PlannedSession) -> Iterator[str]:
    """A line for each block; those that are no break are numbered."""
    number, before, slow = 0, None, False
    for block in session.plan.blocks:
        if block.kind is BlockKind.BREAK:
            yield say("plan-blocks", "break", minutes=block.minutes)
            continue
        number += 1
        same = before is not None and _key(before) == _key(block)
        before = block
        yield say(
            "plan-blocks",
            "again" if same else _sentence(block, session, slow),
            number=number,
            minutes=block.minutes,
            reps=block.reps,
            name=_name(block, session),
            order=mixed_words(block.order, session.subject.what),
            times=block.reps,
        )
        slow = slow or block.kind is BlockKind.SLOW


def mixed_words(order: tuple[str, ...], route: str) -> str:
    """The order of mixed reps, round by round as far as it takes to go on alone; `route`: the whole.

    >>> mixed_words(("a, b", "b, c", "a, b", "b, c", "a, b"), "a, b, c")
    'a, b and b, c by turns'
    """
    names = list(dict.fromkeys(order))
    called = {name: f"({say('plan-order', 'whole') if name == route else name})" for name in names}
    if len(names) == 1:
        return names[0]
    if len(names) == 2 and len(order) > 2:
        first, second = (say("plan-order", "whole") if name == route else name for name in names)
        return say("plan-order", "turns", first=first, second=second)
    written = [called[name] for name in order]
    count = len(names)
    first_round, second_round = ", ".join(written[:count]), ", ".join(written[count : 2 * count])
    if not second_round:
        return say("plan-order", "round", round=first_round)
    if len(first_round) > ROUND_CHARACTERS or len(order) < 2 * count:
        return say("plan-order", "rounds-short", round=first_round)
    return say("plan-order", "rounds", round=first_round, next=second_round)


def _sentence(block: Block, session: PlannedSession, slow: bool) -> str:
    """Which sentence tells of a block; `slow`: how slow reps are made has been told."""
    if block.kind is BlockKind.LOAD and block.context is not None:
        return f"{block.kind.value}-{block.context.value}"
    if block.kind is BlockKind.SLOW and slow:
        return "slow-also"
    weakest = block.kind is BlockKind.SLOW and block.order == (session.weakest,)
    return "slow-weakest" if weakest else block.kind.value


def _key(block: Block) -> tuple[object, ...]:
    """What two pieces of one block, parted by a break, have in common."""
    return block.kind, block.context, frozenset(block.order)


def _name(block: Block, session: PlannedSession) -> str:
    return block.order[0] if block.order else session.subject.what
