"""What group drills ask of the database is served by indexes, however much others log."""

from __future__ import annotations

from pathlib import Path

from explained import scans, statements_of
from grouped import COACH, WHAT, Group, group_at, member, plan, weekly
from inline import link

from bot.results.drills import DrillEntry
from bot.results.tally import Tally
from core.drills.drill import Scoring


async def use_all(group: Group) -> None:
    """Everything that is done with drills, once."""
    await plan(group, WHAT, "drill: block ten")
    await weekly(group)
    drill = await group.open(Scoring.LONGEST_RUN)
    tally_id = await group.tally(1, "7/10", drill.id, run="5")
    await group.part.log(member(2), drill.id, DrillEntry("3/10"), group.event())
    await group.part.list_me(member(1), drill.id, True, group.event())
    await group.judging.see(COACH, tally_id, group.event())
    await group.judging.strike(COACH, tally_id, "no", group.event())
    await group.judging.unstrike(COACH, tally_id, group.event())
    await group.judging.results(COACH, drill.id)
    await group.judging.older(COACH, tally_id)
    await group.desk.suggest(COACH)
    await group.desk.listed(COACH)
    await group.desk.move(COACH, drill.id, "in 2 days", group.event())
    await group.part.leave(member(1), drill.id, group.event())
    await group.boards.board(drill.id)
    await group.boards.open_drills()
    await group.boards.lost(drill.id)
    for end in (drill.id, drill.id - 1):
        group.bench.clock.time = (await group.board(drill)).drill.closes_at
        await group.boards.closing(end, group.bench.clock.time - group.bench.clock.time)
    await group.desk.remove(COACH, "block ten", group.event())
    await group.desk.stop_weekly(COACH, group.event())
    await group.privacy.export(member(1))
    await group.privacy.erase(member(1))


async def test_every_query_of_drills_is_served_by_an_index(tmp_path: Path) -> None:
    async with group_at(tmp_path) as group:
        store = group.bench.store
        for number in range(40):
            kept = Tally(link("5MP, 2MP"), group.bench.clock.time, 10, 7)
            await group.bench.log(kept, member(number % 9 + 1).owner)
        asked = statements_of(store)
        await use_all(group)
    assert len(asked) > 25
    assert scans(store, asked) == {}
