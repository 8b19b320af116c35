"""Whatever a member logs, changes, undoes and erases, the sums are those of the rows."""

from __future__ import annotations

import asyncio
import itertools
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from databases import database_at
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from stored import DRILL, LINK, NOW, ROUTE, opened, tally
from surviving import disagreements

from bot.results.place import Owner
from bot.results.tally import Drops, Subject, Tally, Total
from bot.storage import privacy, tallies
from bot.storage.address import address_of
from bot.storage.store import Reading, Store
from core.learning.tally import Context

ANOTHER_GAME = Subject("Kitewind", "Corbet", LINK.kind, "5A > 5B")


@st.composite
def made_tallies(draw: st.DrawFn) -> Tally:
    landed, early, late = (draw(st.integers(0, 5)) for _ in range(3))
    return Tally(
        subject=draw(st.sampled_from([LINK, ROUTE, DRILL, ANOTHER_GAME])),
        made_at=NOW - timedelta(hours=draw(st.integers(0, 3))),
        tries=max(1, landed + early + late + draw(st.integers(0, 2))),
        landed=landed,
        drops=Drops(early=early, late=late),
        context=draw(st.sampled_from([Context.TRAINING, Context.RANKED])),
    )


WHICH = st.integers(0, 6)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), WHICH, made_tallies()),
        st.tuples(st.just("change"), WHICH, made_tallies()),
        st.tuples(st.sampled_from(["undo", "put back"]), WHICH, st.none()),
        st.tuples(st.just("fail"), WHICH, made_tallies()),
        st.tuples(st.just("erase"), st.just(0), st.none()),
    ),
    max_size=14,
)


@dataclass
class Model:
    """The log as two plain dicts."""

    log: dict[int, Tally] = field(default_factory=dict)
    undone: dict[int, Tally] = field(default_factory=dict)

    def pick(self, which: int) -> int:
        """The number of some tally, in the log or not; 0, which is none's, where there is none."""
        known = sorted(self.log | self.undone)
        return known[which % len(known)] if known else 0


async def step(store: Store, owner: Owner, model: Model, name: str, which: int, made: Tally | None) -> None:
    chosen = model.pick(which)
    try:
        async with store.write() as writing:
            if name in ("add", "fail"):
                assert made is not None
                kept = await tallies.add(writing, owner, made, None, NOW)
                if name == "fail":
                    raise ZeroDivisionError
                model.log[kept.id] = made
            elif name == "change":
                assert made is not None
                changed = await tallies.change(writing, owner, chosen, made)
                assert (changed is not None) == (chosen in model.log)
                if changed is not None:
                    model.log[chosen] = made
            elif name == "undo":
                found = await tallies.undo(writing, owner, chosen)
                assert (found.tally if found else None) == model.log.get(chosen)
                if found is not None:
                    model.undone[chosen] = model.log.pop(chosen)
            elif name == "put back":
                found = await tallies.put_back(writing, owner, chosen)
                assert (found.tally if found else None) == model.undone.get(chosen)
                if found is not None:
                    model.log[chosen] = model.undone.pop(chosen)
            else:
                assert await privacy.erase(writing, owner) == len(model.log) + len(model.undone)
                model.log.clear()
                model.undone.clear()
    except ZeroDivisionError:
        pass


async def compare(reading: Reading, owner: Owner, model: Model) -> None:
    listed = await tallies.listed(reading, owner, 100)
    assert [(kept.id, kept.tally) for kept in listed] == sorted(model.log.items(), reverse=True)
    marks = await tallies.marks(reading, owner, 100)
    latest_first = sorted(model.log.items(), key=lambda each: (each[1].made_at, each[0]), reverse=True)
    assert [mark.id for mark in marks] == [tally_id for tally_id, _ in latest_first]
    found = [
        total for game in ("Saltglass", "Kitewind") for total in await tallies.totals(reading, owner, game)
    ]
    assert {(total.subject, total.context): sums(total) for total in found} == added_up(model.log.values())
    assert len(found) == len(added_up(model.log.values()))


def sums(total: Total) -> tuple[int, ...]:
    return total.tallies, total.tries, total.landed, total.early, total.late


def added_up(log: object) -> dict[tuple[Subject, Context], tuple[int, ...]]:
    added: dict[tuple[Subject, Context], tuple[int, ...]] = defaultdict(lambda: (0, 0, 0, 0, 0))
    for each in log:  # type: ignore[attr-defined]
        more = (1, each.tries, each.landed, each.drops.early, each.drops.late)
        key = (each.subject, each.context)
        added[key] = tuple(map(sum, zip(added[key], more, strict=True)))
    return dict(added)


def test_no_sequence_makes_the_sums_disagree_with_the_rows(tmp_path: Path) -> None:
    store = Store(address_of(database_at(tmp_path)))
    members = itertools.count(1)

    async def play(steps: list[tuple[str, int, Tally | None]]) -> None:
        owner, model = Owner(5, next(members)), Model()
        for each in steps:
            await step(store, owner, model, *each)
        async with store.read() as reading:
            await compare(reading, owner, model)
        assert disagreements(store.address) == []

    with asyncio.Runner() as runner:
        runner.run(store.open())

        @settings(max_examples=60)
        @given(STEPS)
        def holds(steps: list[tuple[str, int, Tally | None]]) -> None:
            runner.run(play(steps))

        try:
            holds()
        finally:
            runner.run(store.close())


async def test_a_sum_that_is_wrong_would_be_seen(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            kept = await tallies.add(writing, Owner(5, 1), tally(7, 10), None, NOW)
        assert disagreements(store.address) == []
        async with store.write() as writing:
            await writing.connection.execute(text("UPDATE total SET landed = 6"))
        right, wrong = ((kept.subject_id, "training", 1, 10, landed, 0, 0) for landed in (7, 6))
        assert disagreements(store.address) == [wrong, right]
