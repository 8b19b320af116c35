"""A session for the minutes that someone has: what, in which order, how long, how often, and when to rest.

The order: homework that is due; the weakest link, slowly; the whole route; mixed order; under load; and then
three times in matches, where landing is not the goal. Mixed order is harder while training and kept better
later (Shea & Morgan 1979, the direction only). The sizes below are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from math import ceil

from core.learning.rates import interval
from core.learning.tally import Context

REPS_CAP = 200
"""The most reps a plan lets someone make on one day."""
LONGEST_MINUTES = 60
"""The longest session planned, however many minutes someone has."""
WORK_MINUTES = 10
"""The longest work without a break of a minute."""
SLOW_MINUTES_A_LINK = 5
MATCH_TRIES = 3


class BlockKind(StrEnum):
    """The kinds of block, in the order of a session."""

    HOMEWORK = "homework"
    SLOW = "slow"
    ROUTE = "route"
    MIXED = "mixed"
    LOAD = "load"
    MATCHES = "matches"
    BREAK = "break"


REPS_A_MINUTE = {
    BlockKind.HOMEWORK: 4,
    BlockKind.SLOW: 4,
    BlockKind.ROUTE: 3,
    BlockKind.MIXED: 3,
    BlockKind.LOAD: 2,
}
PARTS = {BlockKind.SLOW: 4, BlockKind.ROUTE: 2, BlockKind.MIXED: 2, BlockKind.LOAD: 2}
"""How the minutes after homework are shared out; a kind that would get less than two minutes waits."""
LEAST_MINUTES = 2


class Note(StrEnum):
    """What must be said with a plan."""

    HANDS = "hands"
    """Always: stop on pain or numbness, and see a doctor or hand therapist if it stays."""
    HOMEWORK_CUT = "homework-cut"
    """The homework needs more than fits."""
    LONG_ENOUGH = "long-enough"
    """More minutes were offered than a session should take."""
    CAP_REACHED = "cap-reached"
    """The cap on a day's reps cuts this plan short; with no block left: rest today."""


@dataclass(frozen=True, slots=True)
class Skill:
    """A link of the route, and its record (plain or effective counts; nothing tried is 0 of 0)."""

    what: str
    landed: float = 0
    tries: float = 0


@dataclass(frozen=True, slots=True)
class Homework:
    """What a coach asked for: `tries` at `what` by `due`. Raises ValueError for less than a try."""

    what: str
    tries: int
    due: date

    def __post_init__(self) -> None:
        if self.tries < 1:
            raise ValueError(f"Homework needs at least 1 try, not {self.tries}.")


@dataclass(frozen=True, slots=True)
class Block:
    """One piece of the session. `order` holds what to do; in mixed order, each rep in turn, else one name.

    Matches take 0 of the session's minutes: how long they last is not the player's to choose.
    """

    kind: BlockKind
    minutes: int
    reps: int
    order: tuple[str, ...]
    context: Context | None = None


BREAK = Block(BlockKind.BREAK, 1, 0, ())


@dataclass(frozen=True, slots=True)
class Plan:
    """The blocks in their order, and what to say with them."""

    blocks: tuple[Block, ...]
    notes: tuple[Note, ...]

    @property
    def minutes(self) -> int:
        """What the session takes, breaks included."""
        return sum(block.minutes for block in self.blocks)

    @property
    def reps(self) -> int:
        """All reps, those in matches included."""
        return sum(block.reps for block in self.blocks)


def weakest_first(links: Sequence[Skill]) -> tuple[Skill, ...]:
    """The links by what is sure of them (Wilson's lower bound), the least first; ties in the route's order.

    A link never tried comes first: nothing is known to hold there.
    """
    return tuple(sorted(links, key=lambda link: interval(link.landed, link.tries)[0]))


def plan(
    minutes: int,
    route: str,
    links: Sequence[Skill],
    others: Sequence[str] = (),
    homework: Sequence[Homework] = (),
    reps_today: int = 0,
) -> Plan:
    """The session for `minutes` at `route`. Raises ValueError for less than a minute.

    `links` in the route's order; `others`: more routes to mix in; `homework`: what is due, nothing else;
    `reps_today`: reps already made today, which count against the cap.
    """
    if minutes < 1:
        raise ValueError(f"A session needs at least 1 minute, not {minutes}.")
    reps_left = max(0, REPS_CAP - max(0, reps_today))
    # A break of one minute between any two stretches of work, and none at the end.
    session = min(minutes, LONGEST_MINUTES)
    work = session - session // (WORK_MINUTES + 1)

    given = tuple(_homework_blocks(homework, work))
    left = work - sum(block.minutes for block in given)
    wanted = [*given, *_route_blocks(left, route, weakest_first(links), others)]
    fitting = tuple(_within_cap(_with_breaks(wanted), max(0, reps_left - MATCH_TRIES)))
    matches = min(MATCH_TRIES, reps_left)
    last = (Block(BlockKind.MATCHES, 0, matches, (route,)),) if matches else ()

    said = {
        Note.HANDS: True,
        Note.HOMEWORK_CUT: _reps(fitting, BlockKind.HOMEWORK) < sum(task.tries for task in homework),
        Note.LONG_ENOUGH: minutes > LONGEST_MINUTES,
        Note.CAP_REACHED: sum(block.reps for block in fitting) < sum(block.reps for block in wanted),
    }
    return Plan(fitting + last, tuple(note for note, holds in said.items() if holds))


def _reps(blocks: Sequence[Block], kind: BlockKind) -> int:
    return sum(block.reps for block in blocks if block.kind is kind)


def _homework_blocks(homework: Sequence[Homework], minutes: int) -> Iterator[Block]:
    """The earliest due first, each with the minutes it needs, as far as the minutes go."""
    for task in sorted(homework, key=lambda task: (task.due, task.what)):
        needs = min(minutes, ceil(task.tries / REPS_A_MINUTE[BlockKind.HOMEWORK]))
        if needs:
            reps = min(task.tries, needs * REPS_A_MINUTE[BlockKind.HOMEWORK])
            yield Block(BlockKind.HOMEWORK, needs, reps, (task.what,))
        minutes -= needs


def _route_blocks(minutes: int, route: str, links: Sequence[Skill], others: Sequence[str]) -> Iterator[Block]:
    """The blocks of the route itself, `links` with the weakest first."""
    slow = [link.what for link in links] or [route]
    mixed = tuple(dict.fromkeys([*slow, route, *others]))
    shares = _shares(minutes, can_mix=len(mixed) > 1, slow_most=SLOW_MINUTES_A_LINK * len(slow))
    slow_minutes = shares.get(BlockKind.SLOW, 0)
    slow_links = slow[: ceil(slow_minutes / SLOW_MINUTES_A_LINK)]
    for what, share in zip(slow_links, _split(slow_minutes, len(slow_links)), strict=True):
        yield _block(BlockKind.SLOW, share, (what,), Context.TRAINING)
    yield from _timed(BlockKind.ROUTE, shares, (route,), Context.TRAINING)
    yield from _timed(BlockKind.MIXED, shares, mixed, Context.TRAINING)
    load = shares.get(BlockKind.LOAD, 0)
    under_load = (Context.REACTION, Context.SPARRING)[: load // LEAST_MINUTES]
    for context, share in zip(under_load, _split(load, len(under_load)), strict=True):
        yield _block(BlockKind.LOAD, share, (route,), context)


def _timed(
    kind: BlockKind, shares: dict[BlockKind, int], names: tuple[str, ...], context: Context
) -> Iterator[Block]:
    if kind in shares:
        yield _block(kind, shares[kind], names, context)


def _block(kind: BlockKind, minutes: int, names: tuple[str, ...], context: Context) -> Block:
    return Block(kind, minutes, minutes * REPS_A_MINUTE[kind], names, context)


def _shares(minutes: int, *, can_mix: bool, slow_most: int) -> dict[BlockKind, int]:
    """Whole minutes for each kind, in the session's order: the later kinds wait where there are too few."""
    kinds = [kind for kind in PARTS if can_mix or kind is not BlockKind.MIXED]
    if minutes <= 0:
        return {}
    kinds = kinds[: max(1, minutes // LEAST_MINUTES)]
    spare = minutes - LEAST_MINUTES * len(kinds)
    parts = sum(PARTS[kind] for kind in kinds)
    shares = {kind: LEAST_MINUTES + spare * PARTS[kind] // parts for kind in kinds}
    # What rounding left over goes to the links; what they cannot use goes to the last kind but one: the mixed
    # order, or else the whole route.
    shares[BlockKind.SLOW] += minutes - sum(shares.values())
    if len(kinds) > 1:
        over = max(0, shares[BlockKind.SLOW] - slow_most)
        shares[BlockKind.SLOW] -= over
        shares[kinds[max(1, len(kinds) - 2)]] += over
    return shares


def _split(minutes: int, count: int) -> list[int]:
    """Whole minutes for `count` blocks, the first ones longer."""
    return [minutes // count + (index < minutes % count) for index in range(count)]


def _with_breaks(blocks: Sequence[Block]) -> Iterator[Block]:
    """The same work with a break after every ten minutes; a block that is under way goes on after it."""
    worked = 0
    for block in blocks:
        minutes, reps = block.minutes, block.reps
        while minutes:
            if worked == WORK_MINUTES:
                yield BREAK
                worked = 0
            piece = min(minutes, WORK_MINUTES - worked)
            piece_reps = reps * piece // minutes
            yield replace(block, minutes=piece, reps=piece_reps)
            worked, minutes, reps = worked + piece, minutes - piece, reps - piece_reps


def _within_cap(blocks: Iterator[Block], reps_left: int) -> Iterator[Block]:
    """The blocks until the reps run out, the last one shortened to them; mixed blocks get their order."""
    for block in blocks:
        if reps_left <= 0:
            return
        reps = min(block.reps, reps_left)
        reps_left -= reps
        minutes = ceil(block.minutes * reps / block.reps) if block.reps else block.minutes
        order = _mixed_order(block.order, reps) if block.kind is BlockKind.MIXED else block.order
        yield replace(block, minutes=minutes, reps=reps, order=order)


def _mixed_order(names: tuple[str, ...], reps: int) -> tuple[str, ...]:
    """`reps` names in turn, none twice in a row, and not always the same one after another."""
    count = len(names)
    # Each round begins one name later; with two names that would repeat one, so they just alternate.
    shift = 1 if count > 2 else 0
    return tuple(names[(rep + shift * (rep // count)) % count] for rep in range(reps))
