"""Homework as students and coaches meet it: set, logged on, handed in, made easier."""

from __future__ import annotations

from typing import Any

import pytest
from chat.lessons import coach_of, coached, given, morning, plain, told
from chat.practice import (
    LINK,
    ROUTE,
    everything,
    files_of,
    forge,
    id_of,
    log,
    picked,
    rows,
    tallies_of,
)
from chat.world import World, labels_of


async def mine(world: World, student: Any) -> Any:
    """The student's one homework, opened from their list."""
    shown = await student.slash(world.salt.channel, "homework list")
    (option,) = picked(shown)
    return await student.select(shown.response, [option["value"]])


async def test_a_coach_sets_it_and_the_student_finds_it_in_messages_and_in_their_list(world: World) -> None:
    await morning(world)
    await coached(world, world.salt, world.salt.ann)
    done = await given(world.salt, world.salt.ann, note="slowly at first")
    assert done.ephemeral
    assert "is set for one student" in plain(done)
    assert labels_of(done) == ["The same for others", "My students"]
    await world.env.settle()
    news = told(world.salt.ann)[-1]
    assert "New homework from" in plain(news)
    assert "slowly at first" in plain(news)
    shown = await mine(world, world.salt.ann)
    assert "Goal: 20 reps landed" in plain(shown)
    assert "Nothing is logged on it yet" in plain(shown)
    assert labels_of(shown) == ["Log a tally", "Hand it in", "Easier route", "Rhythm sheet", "Homework"]


async def test_what_is_logged_on_it_counts_wherever_it_is_logged(world: World) -> None:
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    shown = await mine(world, world.salt.ann)
    form = await world.salt.ann.click(shown.response, label="Log a tally")
    logged = await world.salt.ann.submit_modal(form, {"result": "7/10", "note": ""})
    assert "7 of 10 logged on the homework" in plain(logged)
    assert "13 reps to go" in plain(logged)
    await log(world.salt.ann, world.salt.channel, LINK, "13/15")
    shown = await mine(world, world.salt.ann)
    assert "Reached: 20 of 25 landed" in plain(shown)
    assert "hand it in" in plain(shown)


async def test_an_undone_tally_counts_no_more(world: World) -> None:
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    shown = await mine(world, world.salt.ann)
    form = await world.salt.ann.click(shown.response, label="Log a tally")
    logged = await world.salt.ann.submit_modal(form, {"result": "7/10", "note": ""})
    await world.salt.ann.click(logged.response, label="Undo")
    assert "Nothing is logged on it yet" in plain(await mine(world, world.salt.ann))
    assert not tallies_of(world, world.salt.ann)


async def test_it_is_handed_in_with_a_note_and_a_clip_after_a_restart_too(world: World) -> None:
    await morning(world)
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    await world.env.settle()
    news = told(world.salt.ann)[-1]
    await world.restart()
    form = await world.salt.ann.user.click(news, label="Hand it in")
    await world.restart()
    handed = await world.salt.ann.user.submit_modal(
        form, {"hand-in-note": "both sides", "clip": "https://clips.example/ann"}
    )
    assert "is handed in" in plain(handed)
    assert "Hand it in" not in labels_of(handed)
    await world.env.settle()
    assert f"{world.salt.ann.name} handed" in plain(told(coach_of(world.salt))[-1])
    (row,) = rows(world, "homework")
    assert (row["stage"], row["hand_in_note"], row["clip"]) == (
        "handed-in",
        "both sides",
        "https://clips.example/ann",
    )


async def test_a_clip_that_is_no_link_is_refused_with_what_would_be_right(world: World) -> None:
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    form = await world.salt.ann.click((await mine(world, world.salt.ann)).response, label="Hand it in")
    before = everything(world)
    refused = await world.salt.ann.submit_modal(form, {"hand-in-note": "", "clip": "my clip"})
    assert "begins with https://" in plain(refused)
    assert everything(world) == before


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"due": "someday"}, "is no day or time"),
        ({"amount": 0}, "The amount is a number from 1"),
        ({"target": "rate", "rate": 200}, "The rate is a whole percentage"),
        ({"what": "Odrun: 5QQ"}, "5QQ"),
        ({"note": "n" * 301}, "is too long"),
    ],
)
async def test_what_cannot_be_set_is_refused_in_one_sentence(
    world: World, asked: dict[str, Any], why: str
) -> None:
    await coached(world, world.salt, world.salt.ann)
    refused = await given(world.salt, world.salt.ann, **asked)
    assert why in plain(refused)
    assert not rows(world, "homework")


async def test_homework_is_for_ones_students_alone(world: World) -> None:
    salt = world.salt
    refused = await given(salt, salt.ann)
    assert "not your student" in plain(refused)
    asked = {"what": LINK, "target": "clean-reps", "amount": 20, "due": "in 5 days"}
    nobody = await coach_of(salt).slash(salt.channel, "homework set", **asked)
    assert "student" in plain(nobody)
    assert "role" in plain(nobody)
    assert not rows(world, "homework")


async def test_it_is_set_for_all_students_with_a_role_and_for_nobody_else(world: World) -> None:
    salt = world.salt
    role = salt.guild.create_role("Beginners")
    for name in ("wren", "pell"):
        await coached(world, salt, salt.guild.add_member(world.env.create_user(name), roles=[role]))
    salt.guild.add_member(world.env.create_user("no-student"), roles=[role])
    await coached(world, salt, salt.ann)
    asked = {"what": LINK, "target": "matches", "amount": 5, "due": "in 5 days", "role": role}
    done = await coach_of(salt).slash(salt.channel, "homework set", **asked)
    assert "is set for 2 students" in plain(done)
    assert len(rows(world, "homework")) == 2


async def test_a_role_that_no_student_has_is_refused(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    role = salt.guild.create_role("Beginners")
    asked = {"what": LINK, "target": "matches", "amount": 5, "due": "in 5 days", "role": role}
    refused = await coach_of(salt).slash(salt.channel, "homework set", **asked)
    assert "None of your students has this role" in plain(refused)
    assert not rows(world, "homework")


@pytest.mark.parametrize("label", ["Log a tally", "Hand it in", "Easier route", "Homework"])
async def test_others_do_not_learn_that_a_homework_exists(world: World, label: str) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    custom_id = id_of(await mine(world, salt.ann), label).replace("homework|0", "one-homework|1")
    before = everything(world)
    for stranger, channel in ((salt.bo, salt.channel), (world.kite.ann, world.kite.channel)):
        shown = await stranger.slash(channel, "help")
        forge(world, channel, shown, custom_id)
        refused = await stranger.click(shown.response, label=labels_of(shown)[0])
        assert "not between you and anybody" in plain(refused)
    assert everything(world) == before


async def test_an_easier_route_is_asked_for_and_takes_its_place(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what=ROUTE)
    shown = await mine(world, salt.ann)
    offered = await salt.ann.click(shown.response, label="Easier route")
    assert "begins the same and lands more often" in plain(offered)
    asked = await salt.ann.click(offered.response, label="Ask for it")
    assert "asks for an easier route" in plain(asked)
    assert "Easier route" not in labels_of(asked)
    (row,) = rows(world, "homework")
    queue = await coach_of(salt).slash(salt.channel, "homework review")
    (option,) = picked(queue)
    seen = await coach_of(salt).select(queue.response, [option["value"]])
    taken = await coach_of(salt).click(seen.response, label="Take the easier route")
    assert "The easier route took its place" in plain(taken)
    shown = await mine(world, salt.ann)
    assert row["easier"] in plain(shown)


async def test_a_coach_may_leave_it_as_it_is(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what=ROUTE)
    offered = await salt.ann.click((await mine(world, salt.ann)).response, label="Easier route")
    await salt.ann.click(offered.response, label="Ask for it")
    queue = await coach_of(salt).slash(salt.channel, "homework review")
    seen = await coach_of(salt).select(queue.response, [picked(queue)[0]["value"]])
    await coach_of(salt).click(seen.response, label="Leave it as it is")
    (row,) = rows(world, "homework")
    assert row["easier"] is None
    assert "Easier route" in labels_of(await mine(world, salt.ann))


async def test_what_is_sure_already_has_no_easier_route(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what=ROUTE)
    offered = await salt.ann.click((await mine(world, salt.ann)).response, label="Easier route")
    await salt.ann.click(offered.response, label="Ask for it")
    queue = await coach_of(salt).slash(salt.channel, "homework review")
    seen = await coach_of(salt).select(queue.response, [picked(queue)[0]["value"]])
    await coach_of(salt).click(seen.response, label="Take the easier route")
    none = await salt.ann.click((await mine(world, salt.ann)).response, label="Easier route")
    assert "found no easier route" in plain(none)


async def test_once_coaching_is_over_it_stays_with_the_student_and_is_handed_in_to_nobody(
    world: World,
) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    shown = await mine(world, salt.ann)
    mine_now = await salt.ann.slash(salt.channel, "coach")
    sure = await salt.ann.click(mine_now.response, label="End it")
    await salt.ann.click(sure.response, label="Yes, end it")
    form = await salt.ann.click(shown.response, label="Hand it in")
    refused = await salt.ann.submit_modal(form, {"hand-in-note": "", "clip": ""})
    assert "no longer this coach's student" in plain(refused)
    shown = await mine(world, salt.ann)
    assert "Nobody looks at it any more" in plain(shown)
    assert labels_of(shown) == ["Log a tally", "Rhythm sheet", "Homework"]


async def test_how_to_press_it_is_shown_before_anything_was_logged(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann, what=ROUTE)
    sheet = await salt.ann.click((await mine(world, salt.ann)).response, label="Rhythm sheet")
    assert files_of(sheet) == ["rhythm.png"]
