"""Drills and tallies on them, for tests."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from core.drills.drill import Drill, Scored, Scoring
from core.learning.rates import tell
from core.learning.tally import Context, Tally

MONDAY = datetime(2025, 3, 3, 18, tzinfo=UTC)
WHAT = "5MP > 2MP"
MEMBERS = range(1, 6)


def drill(scoring: Scoring, **others: Any) -> Drill:
    """A week from Monday 18:00, in UTC."""
    values: dict[str, Any] = {"opens": MONDAY, "closes": MONDAY + timedelta(weeks=1), "zone": UTC} | others
    return Drill(WHAT, scoring, **values)


def logged(landed: int, tries: int, *, hour: float = 0, member: int = 1, **others: Any) -> Scored:
    """A tally so many hours after the drill opened."""
    tally = Tally(MONDAY + timedelta(hours=hour), WHAT, tries, landed, Context.TRAINING)
    return Scored(member, tally, **others)


@st.composite
def tallies_of_all(draw: st.DrawFn, most: int = 25) -> list[Scored]:
    """Tallies of several members, some of one moment, some struck, a few outside the drill's time."""
    made: list[Scored] = []
    for _ in range(draw(st.integers(0, most))):
        tries = draw(st.integers(1, 12))
        # Many land all: that is where runs join.
        landed = draw(st.one_of(st.just(tries), st.integers(0, tries)))
        plain = logged(
            landed,
            tries,
            hour=draw(st.integers(-4, 170)),
            member=draw(st.sampled_from(MEMBERS)),
            struck=draw(st.sampled_from([False, False, False, True])),
        )
        run = draw(st.one_of(st.none(), st.integers(plain.sure_run, landed)))
        made.append(Scored(plain.member, plain.tally, run, plain.struck))
    return made


DRILLS = st.builds(
    lambda scoring, at_least, cap: drill(scoring, at_least=at_least, daily_cap=cap),
    st.sampled_from(Scoring),
    st.integers(1, 10),
    st.integers(1, 15),
)
EARLIER = st.dictionaries(
    st.sampled_from(MEMBERS),
    st.tuples(st.integers(0, 30), st.integers(0, 10)).map(lambda count: tell(count[0], sum(count))),
)
LISTED = st.frozensets(st.sampled_from(MEMBERS))
