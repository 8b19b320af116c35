"""The next drill is what most members drop, and points at nobody."""

from __future__ import annotations

from dataclasses import fields
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from core.drills.suggest import Practised, Suggestion, suggest


def practised(member: int, what: str, landed: int, tries: int, goal: float = 0.8) -> Practised:
    return Practised(member, what, tries, landed, goal)


def test_what_most_members_drop_comes_first() -> None:
    rows = [
        practised(1, "link", 5, 10),
        practised(2, "link", 7, 10),
        practised(3, "link", 9, 10),
        practised(1, "route", 2, 10),
        practised(2, "route", 2, 10),
        practised(3, "route", 3, 10),
    ]
    assert suggest(rows) == (Suggestion("route", 3, 3, 7, 30), Suggestion("link", 2, 3, 12, 20))


def test_one_member_below_the_goal_makes_no_drill() -> None:
    assert suggest([practised(1, "link", 0, 50), practised(2, "link", 50, 50)]) == ()


def test_nine_tries_do_not_tell_and_a_goal_that_is_met_is_met() -> None:
    assert suggest([practised(1, "link", 0, 10), practised(2, "link", 0, 9)]) == ()
    assert suggest([practised(1, "link", 0, 10), practised(2, "link", 8, 10)]) == ()
    assert len(suggest([practised(1, "link", 0, 10), practised(2, "link", 7, 10)])) == 1


def test_each_member_has_their_own_goal() -> None:
    rows = [
        practised(1, "link", 6, 10, 0.5),
        practised(2, "link", 6, 10, 0.9),
        practised(3, "link", 6, 10, 0.7),
    ]
    assert suggest(rows) == (Suggestion("link", 2, 3, 12, 20),)


def test_of_as_many_below_the_greater_part_then_the_lower_rate_then_the_name_decides() -> None:
    def two(what: str, landed: int) -> list[Practised]:
        return [practised(1, what, landed, 10), practised(2, what, landed, 10)]

    rows = [*two("d", 5), *two("a", 5), *two("b", 4), *two("c", 1), practised(3, "c", 10, 10)]
    assert [each.what for each in suggest(rows)] == ["b", "a", "d", "c"]


def test_what_was_drilled_lately_can_be_left_out() -> None:
    rows = [practised(member, what, 1, 10) for member in (1, 2) for what in ("link", "route")]
    assert [each.what for each in suggest(rows, leave_out={"link"})] == ["route"]


def test_a_suggestion_holds_no_member() -> None:
    assert "member" not in {field.name for field in fields(Suggestion)}


ROWS = st.lists(
    st.builds(
        lambda member, what, landed, dropped: practised(member, what, landed, landed + dropped),
        st.integers(1, 5),
        st.sampled_from("abc"),
        st.integers(0, 20),
        st.integers(0, 20),
    ),
    max_size=20,
    unique_by=lambda one: (one.member, one.what),
)


@given(ROWS, st.randoms(use_true_random=False))
def test_every_suggestion_is_true_none_is_missing_and_their_order_is_always_the_same(
    rows: list[Practised], random: Random
) -> None:
    found = suggest(rows)
    assert suggest(random.sample(rows, len(rows))) == found
    assert [each.below for each in found] == sorted((each.below for each in found), reverse=True)
    told = {each.what: each for each in found}
    for what in "abc":
        enough = [one for one in rows if one.what == what and one.tries >= 10]
        below = [one for one in enough if one.landed / one.tries < 0.8]
        if len(below) < 2:
            assert what not in told
        else:
            counts = (sum(one.landed for one in below), sum(one.tries for one in below))
            assert told[what] == Suggestion(what, len(below), len(enough), *counts)
