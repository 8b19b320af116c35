"""A session for the minutes that someone has. The sizes are common practice, no source."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.plan import (
    REPS_CAP,
    Block,
    BlockKind,
    Homework,
    Note,
    Plan,
    Skill,
    plan,
    weakest_first,
)
from core.learning.tally import Context

ROUTE = "5MP > 2MP > 236HP"
SURE, SHAKY, NEVER = Skill("5MP > 2MP", 45, 50), Skill("2MP > 236HP", 10, 40), Skill("236HP > 5HP")
LINKS = (SURE, SHAKY)
ORDER = list(BlockKind)


def kinds(made: Plan) -> list[BlockKind]:
    """The kinds of work in turn, without breaks and without saying one twice."""
    return list(dict.fromkeys(block.kind for block in made.blocks if block.kind is not BlockKind.BREAK))


def blocks(made: Plan, kind: BlockKind) -> list[Block]:
    return [block for block in made.blocks if block.kind is kind]


def test_twenty_minutes_go_from_the_weakest_link_to_matches() -> None:
    made = plan(20, ROUTE, LINKS)
    assert kinds(made) == ["slow", "route", "mixed", "load", "matches"]
    assert made.minutes == 20
    assert made.blocks[0].order == (SHAKY.what,)
    assert made.notes == (Note.HANDS,)


def test_the_minutes_and_reps_of_twenty_minutes() -> None:
    # 19 minutes of work: 2 each, the other 11 as 4 : 2 : 2 : 2, rounded down, and what is left over is slow
    assert [(block.kind, block.minutes, block.reps) for block in plan(20, ROUTE, LINKS).blocks] == [
        ("slow", 4, 16),
        ("slow", 3, 12),
        ("route", 3, 9),
        ("break", 1, 0),
        ("route", 1, 3),
        ("mixed", 4, 12),
        ("load", 2, 4),
        ("load", 2, 4),
        ("matches", 0, 3),
    ]


def test_one_link_gets_no_more_than_five_slow_minutes_and_mixed_order_gets_the_rest() -> None:
    made = plan(30, ROUTE, LINKS[:1])
    # 28 minutes of work: 10, 6, 6 and 6 by their parts
    minutes = {kind: sum(block.minutes for block in blocks(made, kind)) for kind in kinds(made)}
    assert minutes == {"slow": 5, "route": 6, "mixed": 11, "load": 6, "matches": 0}


def test_without_anything_to_mix_the_whole_route_gets_the_rest() -> None:
    made = plan(30, ROUTE, ())
    # 28 minutes of work: 13, 7 and 7 by their parts, 1 left over; the route itself is what is slow
    minutes = {kind: sum(block.minutes for block in blocks(made, kind)) for kind in kinds(made)}
    assert minutes == {"slow": 5, "route": 16, "load": 7, "matches": 0}
    assert made.blocks[0].order == (ROUTE,)


def test_the_weakest_link_is_the_one_least_sure_and_one_never_tried_comes_before_all() -> None:
    assert weakest_first([SURE, SHAKY, NEVER]) == (NEVER, SHAKY, SURE)
    # 3 of 3 is less sure than 45 of 50, and surer than 10 of 40.
    lucky = Skill("5HP > 2LK", 3, 3)
    assert weakest_first([SURE, lucky, SHAKY]) == (SHAKY, lucky, SURE)


def test_equally_weak_links_keep_the_order_of_the_route() -> None:
    first, second = Skill("b"), Skill("a")
    assert weakest_first([first, second]) == (first, second)


def test_slow_blocks_are_short_and_the_next_weakest_follows() -> None:
    slow = blocks(plan(20, ROUTE, (SURE, SHAKY, NEVER)), BlockKind.SLOW)
    assert [block.order for block in slow] == [(NEVER.what,), (SHAKY.what,)]
    assert all(block.minutes <= 5 for block in slow)


def test_in_matches_going_for_it_three_times_is_the_task_and_takes_no_training_minutes() -> None:
    assert plan(5, ROUTE, LINKS).blocks[-1] == Block(BlockKind.MATCHES, 0, 3, (ROUTE,))


def test_load_is_reaction_first_and_sparring_where_there_is_time() -> None:
    assert [block.context for block in blocks(plan(15, ROUTE, LINKS), BlockKind.LOAD)] == [Context.REACTION]
    assert [block.context for block in blocks(plan(20, ROUTE, LINKS), BlockKind.LOAD)] == [
        Context.REACTION,
        Context.SPARRING,
    ]


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        (1, ["slow", "matches"]),
        (4, ["slow", "route", "matches"]),
        (6, ["slow", "route", "mixed", "matches"]),
        (8, ["slow", "route", "mixed", "load", "matches"]),
    ],
)
def test_with_few_minutes_the_later_kinds_wait(minutes: int, expected: list[str]) -> None:
    assert kinds(plan(minutes, ROUTE, LINKS)) == expected


def test_mixed_order_never_repeats_and_needs_two_things_to_mix() -> None:
    # Shea & Morgan 1979: random order is kept better than blocks (direction only)
    for links, others in ((LINKS, ("2LK > 2LP",)), (LINKS[:1], ()), ((), ("2LK > 2LP",))):
        mixed = blocks(plan(30, ROUTE, links, others), BlockKind.MIXED)
        for block in mixed:
            assert len(block.order) == block.reps
            assert all(one != other for one, other in pairwise(block.order))
        assert set(others) <= {name for block in mixed for name in block.order}
    assert BlockKind.MIXED not in kinds(plan(30, ROUTE, ()))


def test_due_homework_comes_first_the_earliest_due_before_the_others() -> None:
    later, sooner = Homework("2LK > 2LP", 8, date(2025, 3, 9)), Homework("5HP > 236HP", 12, date(2025, 3, 5))
    made = plan(20, ROUTE, LINKS, homework=[later, sooner])
    assert made.blocks[:2] == (
        Block(BlockKind.HOMEWORK, 3, 12, ("5HP > 236HP",)),
        Block(BlockKind.HOMEWORK, 2, 8, ("2LK > 2LP",)),
    )
    assert made.blocks[2].kind is BlockKind.SLOW
    assert made.minutes == 20
    assert Note.HOMEWORK_CUT not in made.notes


def test_homework_that_does_not_fit_is_said_to_be_cut() -> None:
    made = plan(5, ROUTE, LINKS, homework=[Homework("5HP > 236HP", 100, date(2025, 3, 5))])
    assert kinds(made) == ["homework", "matches"]
    assert sum(block.reps for block in blocks(made, BlockKind.HOMEWORK)) == 20
    assert Note.HOMEWORK_CUT in made.notes


def test_a_break_comes_after_ten_minutes_and_none_at_the_end() -> None:
    assert not blocks(plan(10, ROUTE, LINKS), BlockKind.BREAK)
    assert len(blocks(plan(20, ROUTE, LINKS), BlockKind.BREAK)) == 1
    assert len(blocks(plan(60, ROUTE, LINKS), BlockKind.BREAK)) == 5


def test_more_than_an_hour_is_not_planned_and_said_so() -> None:
    assert plan(90, ROUTE, LINKS).blocks == plan(60, ROUTE, LINKS).blocks
    assert Note.LONG_ENOUGH in plan(61, ROUTE, LINKS).notes
    assert Note.LONG_ENOUGH not in plan(60, ROUTE, LINKS).notes


def test_reps_already_made_today_count_against_the_cap() -> None:
    fresh, tired = plan(20, ROUTE, LINKS), plan(20, ROUTE, LINKS, reps_today=170)
    assert Note.CAP_REACHED not in fresh.notes
    assert Note.CAP_REACHED in tired.notes
    assert tired.reps == 30
    assert tired.minutes < fresh.minutes
    assert kinds(tired)[-1] is BlockKind.MATCHES


def test_past_the_cap_the_plan_is_to_rest() -> None:
    for made_today in (REPS_CAP, REPS_CAP + 50):
        made = plan(20, ROUTE, LINKS, reps_today=made_today)
        assert made == Plan((), (Note.HANDS, Note.CAP_REACHED))


def test_a_session_of_no_minutes_and_homework_of_no_tries_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1 minute, not 0"):
        plan(0, ROUTE, LINKS)
    with pytest.raises(ValueError, match="at least 1 try, not 0"):
        Homework("5HP", 0, date(2025, 3, 5))


@st.composite
def skills(draw: st.DrawFn) -> tuple[Skill, ...]:
    found = []
    for index in range(draw(st.integers(0, 8))):
        tries = draw(st.integers(0, 200))
        found.append(Skill(f"link {index}", draw(st.integers(0, tries)), tries))
    return tuple(found)


HOMEWORK = st.lists(
    st.builds(
        Homework, st.sampled_from("abcd"), st.integers(1, 150), st.dates(date(2025, 1, 1), date(2025, 2, 1))
    ),
    max_size=4,
)


@given(
    st.integers(1, 200), skills(), st.lists(st.sampled_from("xyz"), max_size=3), HOMEWORK, st.integers(0, 250)
)
def test_no_plan_breaks_its_limits(
    minutes: int, links: tuple[Skill, ...], others: list[str], homework: list[Homework], reps_today: int
) -> None:
    made = plan(minutes, ROUTE, links, others, homework, reps_today)
    assert made.minutes <= minutes
    assert made.reps + reps_today <= max(REPS_CAP, reps_today)
    assert Note.HANDS in made.notes
    assert made == plan(minutes, ROUTE, links, others, homework, reps_today)

    work = [block for block in made.blocks if block.kind is not BlockKind.BREAK]
    assert all(block.reps > 0 and block.order for block in work)
    assert all(block.minutes > 0 for block in made.blocks if block.kind is not BlockKind.MATCHES)
    places = [ORDER.index(block.kind) for block in work]
    assert places == sorted(places)

    since_break = 0
    for block in made.blocks:
        since_break = 0 if block.kind is BlockKind.BREAK else since_break + block.minutes
        assert since_break <= 10
    timed = [block for block in made.blocks if block.minutes]
    assert not timed or BlockKind.BREAK not in (timed[0].kind, timed[-1].kind)


@given(st.integers(1, 60), skills())
def test_a_fresh_player_gets_all_the_minutes(minutes: int, links: tuple[Skill, ...]) -> None:
    # Only a minute that would be a break at the very end is left over.
    assert plan(minutes, ROUTE, links).minutes == minutes - (minutes % 11 == 0)
