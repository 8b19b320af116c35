"""Whatever happens to group drills, in whatever order: standings are what the rows of the log say, each drill
that ends has one recap, and no tally is lost."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from itertools import count, groupby
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from grouped import COACH, WHAT, Group, group_at, group_on, member
from hypothesis import settings as run_settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import text

from bot.results.drills import DrillEntry, DrillRefusal
from bot.services.log import Entry
from core.drills.drill import Scoring

MEMBERS = st.integers(1, 4)
AT_LEAST, CAP = 5, 20

Points = tuple[int, float, int]
"""The group, the points, and the landed reps by which equal ones are told apart."""


Rows = Callable[[str], Sequence[Any]]
"""The rows that a query finds, by the names of their columns."""


def recomputed(rows_of: Rows, drill_id: int) -> tuple[dict[int, Points], set[int], int, int]:
    """From the rows, in plain words: the points of each member who has any, who of all with tallies is
    unlisted, how many take part, and the landed reps of all."""
    (drill,) = rows_of(f"SELECT * FROM drill WHERE id = {drill_id}")
    by_member: dict[int, list[Any]] = defaultdict(list)
    before: dict[int, list[Any]] = defaultdict(list)
    about = ("game", "character", "kind", "what")
    every = """
        SELECT tally.*, member.member_id, drill_tally.run, drill_tally.struck_at, subject.game,
               subject.character, subject.kind, subject.what
        FROM tally JOIN member ON member.id = tally.owner_id JOIN subject ON subject.id = tally.subject_id
        LEFT JOIN drill_tally ON drill_tally.tally_id = tally.id
    """
    part = f"""
        SELECT * FROM entry JOIN member ON member.id = owner_id
        WHERE drill_id = {drill_id} AND NOT left_it
    """
    takes_part = {row["member_id"]: row["listed"] for row in rows_of(part)}
    for row in rows_of(every):
        if row["undone"] or row["member_id"] not in takes_part or any(row[k] != drill[k] for k in about):
            continue
        early = max(row["made_at"], row["logged_at"]) < drill["opens_at"]
        late = max(row["made_at"], row["logged_at"]) >= drill["closes_at"]
        if early:
            before[row["member_id"]].append(row)
        elif row["made_at"] >= drill["opens_at"] and not late and row["struck_at"] is None:
            by_member[row["member_id"]].append(row)
    scored = {who: points(drill["scoring"], own, before[who]) for who, own in by_member.items()}
    unlisted = {who for who in by_member if not takes_part[who]}
    landed = sum(row["landed"] for own in by_member.values() for row in own)
    return {who: got for who, got in scored.items() if got}, unlisted, len(takes_part), landed


def points(scoring: str, own: list[Any], before: list[Any]) -> Points | None:
    """What a member's tallies are worth; None for nothing."""
    landed, tries = sum(row["landed"] for row in own), sum(row["tries"] for row in own)
    match scoring:
        case "best-tally":
            shares = [
                (row["landed"] / row["tries"], row["landed"]) for row in own if row["tries"] >= AT_LEAST
            ]
            best = max(shares, default=(0.0, 0))
            return (0, *best) if best[1] else None
        case "total-clean":
            days: dict[str, int] = defaultdict(int)
            for row in own:
                days[str(row["made_at"])[:10]] += row["landed"]
            total = sum(min(day, CAP) for day in days.values())
            return (0, total, total) if total else None
        case "longest-run":
            run = longest(own)
            return (0, run, run) if run else None
    had, of = sum(row["landed"] for row in before), sum(row["tries"] for row in before)
    if tries < 10:
        return None
    if of < 10:
        return (1, wilson(landed, tries)[0], landed) if landed else None
    gain = landed / tries - had / of
    below = sqrt((landed / tries - wilson(landed, tries)[0]) ** 2 + (wilson(had, of)[1] - had / of) ** 2)
    return (0, gain - below, landed) if gain > 1e-12 else None


def longest(own: list[Any]) -> int:
    """The longest run: as it was given where the counts can hold it, else what they make certain; tallies of
    one day in which all landed go on from one to the next."""
    found = [0]
    # All of one moment are of one day, so that only what lies between them matters: as the scores do it.
    own = sorted(own, key=lambda row: (row["made_at"], row["tries"], row["landed"], given(row)))
    for (whole, _), some in groupby(
        own, key=lambda row: (row["landed"] == row["tries"], str(row["made_at"])[:10])
    ):
        runs = [given(row) for row in some]
        found.append(sum(runs) if whole else max(runs))
    return max(found)


def given(row: Any) -> int:
    sure = -(-int(row["landed"]) // (int(row["tries"]) - int(row["landed"]) + 1))
    run: int | None = row["run"]
    return run if run is not None and sure <= run <= row["landed"] else sure


def wilson(landed: int, tries: int) -> tuple[float, float]:
    z = 1.959963984540054
    share = landed / tries
    middle, reach = (
        share + z * z / (2 * tries),
        z * sqrt(share * (1 - share) / tries + (z / (2 * tries)) ** 2),
    )
    whole = 1 + z * z / tries
    return (middle - reach) / whole, (middle + reach) / whole


class Machine(RuleBasedStateMachine):
    """Four members and their coach; time goes on, and the bot may be away."""

    places = count()
    folder: Path

    def __init__(self) -> None:
        super().__init__()
        self.runner = asyncio.Runner()
        place = self.folder / str(next(self.places))
        place.mkdir()
        self.opened = group_at(place)
        self.group: Group = self.run(self.opened.__aenter__())
        self.tallies: list[tuple[int, int]] = []
        self.recaps: list[int] = []
        self.events = count(10_000_000)

    def run(self, work: Any) -> Any:
        return self.runner.run(work)

    def teardown(self) -> None:
        self.run(self.opened.__aexit__(None, None, None))
        self.runner.close()

    def rows_of(self, query: str) -> Sequence[Any]:
        async def work() -> Sequence[Any]:
            async with self.group.bench.store.read() as reading:
                return (await reading.connection.execute(text(query))).mappings().all()

        found: Sequence[Any] = self.run(work())
        return found

    @initialize(landed=st.integers(0, 12))
    def practise(self, landed: int) -> None:
        """One of them practised before."""
        self.log_elsewhere(1, landed, 3)
        self.wait(1)

    @rule(scoring=st.sampled_from(Scoring), days=st.integers(1, 3))
    def open(self, scoring: Scoring, days: int) -> None:
        if len(self.rows_of("SELECT id FROM drill WHERE stage = 'open'")) < 2:
            self.run(self.group.open(scoring, days, at_least=AT_LEAST, daily_cap=CAP))

    @rule(who=MEMBERS, landed=st.integers(0, 9), dropped=st.integers(0, 3), run=st.integers(0, 9))
    def log(self, who: int, landed: int, dropped: int, run: int) -> None:
        tries = max(1, landed + dropped)
        typed = str(run) if run and run <= landed and run * (tries - landed + 1) >= landed else ""
        entry = DrillEntry(f"{landed}/{tries}", typed)
        done = self.run(self.group.part.log(member(who), 0, entry, next(self.events)))
        if isinstance(done, tuple):
            self.tallies.append((who, done[0].kept.id))
        else:
            assert isinstance(done, DrillRefusal)
            assert done.code.value == "none-open"

    @rule(who=MEMBERS, landed=st.integers(0, 12), dropped=st.integers(0, 3))
    def log_elsewhere(self, who: int, landed: int, dropped: int) -> None:
        entry = Entry(WHAT, f"{landed}/{max(1, landed + dropped)}")
        done = self.run(self.group.log.log(member(who), entry, next(self.events)))
        self.tallies.append((who, done.kept.id))

    @rule(who=MEMBERS, leaves=st.booleans())
    def join_or_leave(self, who: int, leaves: bool) -> None:
        act = self.group.part.leave if leaves else self.group.part.join
        self.run(act(member(who), 0, next(self.events)))

    @rule(who=MEMBERS, listed=st.booleans())
    def list_me(self, who: int, listed: bool) -> None:
        self.run(self.group.part.list_me(member(who), 0, listed, next(self.events)))

    @precondition(lambda self: self.tallies)
    @rule(data=st.data(), act=st.sampled_from(["strike", "unstrike", "see", "undo", "put_back", "change"]))
    def do_with_a_tally(self, data: st.DataObject, act: str) -> None:
        who, tally_id = data.draw(st.sampled_from(self.tallies))
        event, judging, log = next(self.events), self.group.judging, self.group.log
        match act:
            case "strike":
                self.run(judging.strike(COACH, tally_id, "no", event))
            case "unstrike":
                self.run(judging.unstrike(COACH, tally_id, event))
            case "see":
                self.run(judging.see(COACH, tally_id, event))
            case "undo":
                self.run(log.undo(member(who), tally_id, event))
            case "put_back":
                self.run(log.put_back(member(who), tally_id, event))
            case "change":
                self.run(log.change(member(who), tally_id, Entry("", "3/6"), event))

    @rule(moved=st.sampled_from(["in 2 days", "in 3 hours", "cancel"]))
    def move_or_cancel(self, moved: str) -> None:
        drill = self.run(self.group.part.mine(member(1), 0))
        if isinstance(drill, DrillRefusal):
            return
        if moved == "cancel":
            self.run(self.group.desk.cancel(COACH, drill.drill.id, next(self.events)))
        else:
            self.run(self.group.desk.move(COACH, drill.drill.id, moved, next(self.events)))

    @rule(hours=st.sampled_from([1, 5, 14, 30]))
    def wait(self, hours: int) -> None:
        self.run(self.group.go(timedelta(hours=hours)))

    @rule(hours=st.sampled_from([1, 14, 50]))
    def be_away(self, hours: int) -> None:
        self.recaps += [end.board.drill.id for end in self.group.ends]
        self.group.bench.clock.time += timedelta(hours=hours)
        self.group = self.run(group_on(self.group.bench))
        self.run(self.group.run())

    @invariant()
    def no_tally_is_lost(self) -> None:
        assert {row["id"] for row in self.rows_of("SELECT id FROM tally")} == {
            tally_id for _, tally_id in self.tallies
        }

    @invariant()
    def what_is_over_has_had_one_recap(self) -> None:
        over = [row["id"] for row in self.rows_of("SELECT id FROM drill WHERE stage = 'closed'")]
        assert sorted(self.recaps + [end.board.drill.id for end in self.group.ends]) == over
        for row in self.rows_of("SELECT closes_at FROM drill WHERE stage = 'open'"):
            closes_at = datetime.fromisoformat(str(row["closes_at"])).replace(tzinfo=UTC)
            assert closes_at > self.group.bench.clock.time

    @invariant()
    def the_standings_are_what_the_rows_say(self) -> None:
        for row in self.rows_of("SELECT id FROM drill"):
            board = self.run(self.group.boards.board(row["id"]))
            scored, unlisted, members, landed = recomputed(self.rows_of, row["id"])
            standings = board.standings
            assert board.members == members
            assert sum(entry.landed for entry in standings.entries) == landed
            assert {entry.member for entry in standings.unlisted} == unlisted
            told = {
                entry.member: (int(entry.group), entry.score.points, entry.score.landed)
                for entry in standings.entries
                if entry.score is not None
            }
            assert told.keys() == scored.keys()
            for who, found in told.items():
                assert found == pytest.approx(scored[who])
            named = {who: got for who, got in scored.items() if who not in unlisted}
            places = {who: 1 + sum(better(one, got) for one in named.values()) for who, got in named.items()}
            assert {one.entry.member: one.place for one in standings.rows if one.place} == places


def better(one: Points, other: Points) -> bool:
    """Whether one stands before the other, in the same group."""
    return one[0] == other[0] and (one[1] > other[1] + 1e-12 or (one[1] >= other[1] and one[2] > other[2]))


def test_standings_agree_with_a_plain_recomputation(tmp_path: Path) -> None:
    Machine.folder = tmp_path
    limits = run_settings(max_examples=25, stateful_step_count=30, deadline=None)
    run_state_machine_as_test(Machine, settings=limits)
