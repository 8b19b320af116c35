"""A coach's board, the page of one student, and what several are stuck on, as they are met in chat."""

from __future__ import annotations

from typing import Any

import pytest
from chat.lessons import ask, coach_of, coached, given, plain
from chat.practice import LINK, alts_of, everything, files_of, forge, id_of, log, picked, rows
from chat.world import World, labels_of

OF_STUDENT = ("Their tallies", "Their timing", "Their progress", "Note something", "End it", "My students")


async def board(world: World) -> Any:
    return await coach_of(world.salt).slash(world.salt.channel, "students board")


async def page(world: World, student: Any) -> Any:
    return await coach_of(world.salt).slash(world.salt.channel, "students page", member=student)


async def test_a_coach_without_students_is_told_how_to_ask(world: World) -> None:
    shown = await board(world)
    assert shown.ephemeral
    assert "You have no students yet" in plain(shown)
    assert "/students ask" in plain(shown)
    assert not picked(shown)


async def test_who_was_asked_stands_there_with_nothing_told_of_them(world: World) -> None:
    await log(world.salt.ann, world.salt.channel, LINK, "7/10")
    await ask(world.salt, world.salt.ann)
    shown = await board(world)
    assert "Who has not answered yet?" in plain(shown)
    assert world.salt.ann.name in plain(shown)
    assert not picked(shown)
    assert "5MP" not in plain(shown)
    assert not files_of(shown)


async def test_the_board_tells_of_homework_practice_and_where_they_are_stuck(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await coached(world, salt, salt.bo)
    await given(salt, salt.bo)
    await log(salt.ann, salt.channel, LINK, "5/40")
    shown = await board(world)
    said = plain(shown)
    assert "2 students" in said
    assert said.index(salt.bo.name) < said.index(salt.ann.name), "whose homework is due stands first"
    assert "Stuck on Odrun Vale's 5MP, 2MP" in said
    assert "Homework: Odrun Vale's 5MP, 2MP, open" in said
    assert files_of(shown) == ["students.png"]
    (alt,) = alts_of(shown)
    assert f"{salt.ann.name}: homework none, last practice today" in alt
    assert "stuck on 5MP, 2MP" in alt


async def test_the_page_of_a_student_leads_to_their_log_and_to_nothing_that_changes_it(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await log(salt.ann, salt.channel, LINK, "20: 14 hit, 5 early, 1 late")
    shown = await page(world, salt.ann)
    assert tuple(labels_of(shown)) == OF_STUDENT
    await world.restart()
    before = everything(world)
    for label, told in (
        ("Their tallies", "14 of 20: Odrun Vale's 5MP, 2MP, training"),
        ("Their timing", f"{salt.ann.name} reads:"),
        ("Their progress", f"{salt.ann.name} reads:"),
    ):
        seen = await coach_of(salt).click(shown.response, label=label)
        assert seen.ephemeral
        assert told in plain(seen)
        assert labels_of(seen) == ["Their page", "My students"]
    assert everything(world) == before


async def test_a_note_is_seen_by_its_coach_alone(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    await ask(salt, salt.ann, salt.mod)
    asked = await salt.ann.slash(salt.channel, "coach")
    yes = next(label for label in labels_of(asked) if label.startswith("Yes"))
    await salt.ann.click(asked.response, label=yes)
    form = await coach_of(salt).click((await page(world, salt.ann)).response, label="Note something")
    await world.restart()
    noted = await coach_of(salt).submit_modal(form, {"student-note": "tires <@1> after ten"})
    assert "tires" in plain(noted)
    assert "tires" in plain(await page(world, salt.ann))
    other = await salt.mod.slash(salt.channel, "students page", member=salt.ann)
    assert "tires" not in plain(other)
    assert len(rows(world, "coach_note")) == 1


async def test_who_is_no_student_has_no_page(world: World) -> None:
    refused = await page(world, world.salt.ann)
    assert "not your student" in plain(refused)


@pytest.mark.parametrize("label", OF_STUDENT[:-1])
async def test_nobody_else_sees_or_does_anything_with_a_student(world: World, label: str) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    custom_id = id_of(await page(world, salt.ann), label)
    before = everything(world)
    strangers = [(salt.mod, salt.channel), (salt.bo, salt.channel), (world.kite.mod, world.kite.channel)]
    if label != "End it":  # which is the student's to do too
        strangers.append((salt.ann, salt.channel))
    for stranger, channel in strangers:
        shown = await stranger.slash(channel, "help")
        forge(world, channel, shown, custom_id)
        refused = await stranger.click(shown.response, label=labels_of(shown)[0])
        assert "not between you and anybody" in plain(refused)
    assert everything(world) == before


async def test_once_it_is_over_the_coach_sees_nothing_more(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.ann)
    shown = await page(world, salt.ann)
    sure = await coach_of(salt).click(shown.response, label="End it")
    await coach_of(salt).click(sure.response, label="Yes, end it")
    for label in OF_STUDENT[:4]:
        refused = await coach_of(salt).click(shown.response, label=label)
        assert "not between you and anybody" in plain(refused)
    assert "You have no students yet" in plain(await board(world))


async def test_what_two_are_stuck_on_is_told_to_their_coach(world: World) -> None:
    salt = world.salt
    for member in (salt.ann, salt.bo):
        await coached(world, salt, member)
        await log(member, salt.channel, LINK, "5/40")
    shown = await coach_of(salt).slash(salt.channel, "students stuck")
    assert "Odrun Vale's 5MP, 2MP: 10 of 80" in plain(shown)
    assert salt.ann.name in plain(shown)
    lonely = await salt.mod.slash(salt.channel, "students stuck")
    assert "No two of your students" in plain(lonely)


async def test_many_students_come_page_by_page(world: World) -> None:
    salt = world.salt
    for number in range(11):
        member = salt.guild.add_member(world.env.create_user(f"pupil-{number}"))
        await coached(world, salt, member)
    shown = await board(world)
    assert len(picked(shown)) == 10
    assert "Page 2" in labels_of(shown)
    second = await coach_of(salt).click(shown.response, label="Page 2")
    assert len(picked(second)) == 1
    assert "Page 1" in labels_of(second)
    opened = await coach_of(salt).select(second.response, [picked(second)[0]["value"]])
    assert tuple(labels_of(opened)) == OF_STUDENT
