"""The quiz in chat: asked, answered in its place, and logged as choosing."""

from __future__ import annotations

from typing import Any

import pytest
import simcord
from chat.faults import deliver_again, delivered_twice, events_seen
from chat.practice import forge, id_of, picked, rows, tallies_of
from chat.test_conversions import BREAD, LIFT, LOW, keep, save
from chat.world import World, labels_of, text_of

from bot.services.quiz import LIMIT_SECONDS

DAY = 86_400


async def ready(world: World, *, both: bool = False) -> None:
    """Two routes, one or both of them kept."""
    ann = world.salt.ann
    await save(world, ann, bread=BREAD, lift=LIFT)
    await keep(world, ann, "5MP", "counter hit", "bread")
    if both:
        await keep(world, ann, "2HP", "hit", "lift")


async def ask(world: World, **options: Any) -> Any:
    return await world.salt.ann.slash(world.salt.channel, "conversion quiz", **options)


async def test_a_question_is_asked_and_answered_in_its_place(world: World) -> None:
    await ready(world)
    asked = await ask(world)
    assert asked.ephemeral
    assert "You land 5MP, and it is a counter hit. What now?" in text_of(asked)
    assert sorted(labels_of(asked)) == ["bread", "lift"]
    answer = await world.salt.ann.click(asked.response, label="bread")
    said = text_of(answer)
    assert "Right, in 0.0 seconds: “bread”." in said
    assert "bread: 5MP, 2MP xx 214LK" in said
    assert "On 2 Jan 2026" in said
    assert labels_of(answer) == ["Quiz me", "My conversions", "Step by step"]
    assert answer.response.id == asked.response.id
    assert rows(world, "quiz") == []
    steps = await world.salt.ann.click(answer.response, label="Step by step")
    assert "5MP, 2MP xx 214LK" in text_of(steps)


async def test_a_slow_answer_is_right_but_not_in_time(world: World) -> None:
    await ready(world)
    asked = await ask(world)
    await world.env.advance_time(LIMIT_SECONDS + 2)
    answer = await world.salt.ann.click(asked.response, label="bread")
    assert "Right, but slow: 5.0 seconds, where 3 are in time." in text_of(answer)
    assert "In 10 minutes." in text_of(answer)
    assert [one["landed"] for one in tallies_of(world, world.salt.ann)] == [0]


async def test_with_a_slow_connection_more_seconds_are_asked_for_and_kept(world: World) -> None:
    await ready(world)
    asked = await ask(world, seconds=10)
    await world.env.advance_time(8)
    answer = await world.salt.ann.click(asked.response, label="bread")
    assert "Right, in 8.0 seconds" in text_of(answer)
    following = await world.salt.ann.click(answer.response, label="Quiz me")
    assert "10 seconds are in time" in text_of(following)
    with pytest.raises(simcord.OptionError, match="seconds"):
        await ask(world, seconds=1)


async def test_a_wrong_answer_says_what_is_right_and_comes_sooner_than_a_right_one(world: World) -> None:
    await ready(world, both=True)
    ann = world.salt.ann
    first = await ask(world)
    wrong = await ann.click(first.response, label="lift")
    said = text_of(wrong)
    assert "Not that one: here you play “bread”." in said
    assert "You chose lift: 2HP, 5HP." in said
    assert "In 1 minute." in said
    second = await ann.click(wrong.response, label="Quiz me")
    assert "You land 2HP, and it is a plain hit. What now?" in text_of(second)
    await ann.click(second.response, label="lift")
    await world.env.advance_time(61)
    third = await ask(world)
    assert "You land 5MP" in text_of(third)
    due = {one["starter"]: one["due_at"] for one in rows(world, "conversion")}
    assert due["5MP"] < due["2HP"]


async def test_an_answer_counts_after_a_restart_in_between(world: World) -> None:
    await ready(world)
    asked = await ask(world)
    await world.restart()
    answer = await world.salt.ann.click(asked.response, label="bread")
    assert "Right, in" in text_of(answer)
    assert len(tallies_of(world, world.salt.ann)) == 1


async def test_a_doubled_press_counts_once(world: World) -> None:
    await ready(world)
    ann = world.salt.ann
    asked = await ask(world)
    with delivered_twice(world.env, "INTERACTION_CREATE"), events_seen(world.env) as seen:
        await ann.click(asked.response, label="bread")
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert len(tallies_of(world, ann)) == 1
    assert [one["step"] for one in rows(world, "conversion")] == [1]


async def test_a_second_press_is_told_kindly_that_it_is_over(world: World) -> None:
    await ready(world)
    ann = world.salt.ann
    old = await ask(world)
    asked = await ask(world)
    late = await ann.click(old.response, label="bread")
    assert late.ephemeral
    assert "That question is over" in text_of(late)
    assert labels_of(late) == ["Quiz me", "My conversions"]
    assert tallies_of(world, ann) == []
    carried = id_of(asked, "bread")
    await ann.click(asked.response, label="bread")
    again = await ask(world)
    forge(world, world.salt.channel, again, carried)
    assert "That question is over" in text_of(await ann.click(again.response, custom_id=carried))
    assert len(tallies_of(world, ann)) == 1


@pytest.mark.parametrize("custom_id", ["a1|1|1", "a1|x|1|3", "a2|1|1|3", "a1|999|1|3", "a1|1|999|3"])
async def test_a_forged_answer_counts_nothing(world: World, custom_id: str) -> None:
    await ready(world)
    asked = await ask(world)
    forge(world, world.salt.channel, asked, custom_id)
    refused = await world.salt.ann.click(asked.response, custom_id=custom_id)
    assert refused.ephemeral
    assert tallies_of(world, world.salt.ann) == []
    assert len(rows(world, "quiz")) == 1


async def test_without_routes_to_choose_between_one_is_told_what_to_do(world: World) -> None:
    ann = world.salt.ann
    none = await ask(world)
    assert "There is nothing to ask you yet" in text_of(none)
    await save(world, ann, bread=BREAD)
    await keep(world, ann, "5MP", "hit", "bread")
    one = await ask(world)
    assert "save a second route" in text_of(one)
    assert "My routes" in labels_of(one)
    assert rows(world, "quiz") == []


async def test_it_counts_as_choosing_and_not_as_the_work_of_the_hands(world: World) -> None:
    salt = world.salt
    await ready(world)
    await save(world, salt.ann, low=LOW)
    answer = await salt.ann.click((await ask(world)).response, label="bread")
    assert "practice of choosing, not of your hands" in text_of(answer)
    (kept,) = tallies_of(world, salt.ann)
    assert (kept["what"], kept["tries"], kept["landed"]) == ("5MP, counter hit", 1, 1)
    progress = text_of(await salt.ann.slash(salt.channel, "progress"))
    assert "Nothing is logged for your hands yet" in progress
    assert "Choosing (in the quiz, not with your hands)" in progress
    assert "5MP, counter hit: too few tries to tell (1 try)" in progress
    assert "Practised today" in progress
    timing = text_of(await salt.ann.slash(salt.channel, "timing"))
    assert "Nothing logged here says when a press came" in timing
    plan = text_of(await salt.ann.slash(salt.channel, "plan", minutes=20))
    assert "nothing to plan for" in plan


async def test_an_answer_is_in_the_list_of_tallies_and_can_only_be_taken_out(world: World) -> None:
    salt = world.salt
    await ready(world)
    await salt.ann.click((await ask(world)).response, label="bread")
    listed = await salt.ann.slash(salt.channel, "tallies")
    assert "choosing (5MP, counter hit), 1 of 1 in the quiz" in text_of(listed).replace("\\", "")
    (offered,) = picked(listed)
    shown = await salt.ann.select(listed.response, [offered["value"]])
    assert labels_of(shown) == ["Undo", "Quiz me", "My tallies"]
    for act in ("change", "more", "landed", "dropped"):
        forged = f"t1|{act}|{offered['value']}"
        again = await salt.ann.slash(salt.channel, "tallies")
        one = await salt.ann.select(again.response, [offered["value"]])
        forge(world, salt.channel, one, forged)
        refused = await salt.ann.click(one.response, custom_id=forged)
        assert "This is an answer of the quiz" in text_of(refused)
    assert len(tallies_of(world, salt.ann)) == 1
    gone = await salt.ann.click(shown.response, label="Undo")
    assert "Taken out: 1 of 1 on choosing (5MP, counter hit) in the quiz." in text_of(gone).replace("\\", "")
    assert tallies_of(world, salt.ann) == []


async def test_it_is_asked_in_direct_messages_too(world: World) -> None:
    user = world.salt.ann.user
    await user.slash("route save", moves=BREAD, name="bread")
    await user.slash("route save", moves=LIFT, name="lift")
    await user.slash("conversion set", starter="5MP", situation="hit", route="bread")
    asked = await user.slash("conversion quiz")
    assert "Right, in" in text_of(await user.click(asked.response, label="bread"))


async def test_a_question_is_over_when_its_route_has_other_moves_by_now(world: World) -> None:
    salt = world.salt
    await ready(world)
    asked = await ask(world)
    await save(world, salt.ann, bread=BREAD)
    assert len(rows(world, "quiz")) == 1  # saved again as it was: nothing changed
    await save(world, salt.ann, bread=LOW)
    answer = await salt.ann.click(asked.response, label="bread")
    assert "That question is over" in text_of(answer)
    assert tallies_of(world, salt.ann) == []
