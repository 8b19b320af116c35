"""Homework as its coach meets it: what waits, accepting, sending back, comments, the same for others."""

from __future__ import annotations

from typing import Any

from chat.lessons import coach_of, coached, given, morning, plain, told
from chat.practice import everything, forge, id_of, picked, rows
from chat.world import World, labels_of

CLIP = "https://clips.example/ann"


async def handed_in(world: World, student: Any, clip: str = "") -> Any:
    """The student's homework, handed in from their list."""
    shown = await student.slash(world.salt.channel, "homework list")
    shown = await student.select(shown.response, [picked(shown)[0]["value"]])
    form = await student.click(shown.response, label="Hand it in")
    return await student.submit_modal(form, {"hand-in-note": "ten in a row", "clip": clip})


async def waiting(world: World, coach: Any = None) -> Any:
    """The first that waits for the coach, opened."""
    coach = coach or coach_of(world.salt)
    queue = await coach.slash(world.salt.channel, "homework review")
    return await coach.select(queue.response, [picked(queue)[0]["value"]])


async def one_handed_in(world: World, clip: str = "") -> Any:
    """A homework of Ann's that waits, opened by the coach."""
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    await handed_in(world, world.salt.ann, clip)
    return await waiting(world)


async def test_nothing_waits_before_something_is_handed_in(world: World) -> None:
    await coached(world, world.salt, world.salt.ann)
    await given(world.salt, world.salt.ann)
    queue = await coach_of(world.salt).slash(world.salt.channel, "homework review")
    assert "Nothing waits for you" in plain(queue)
    assert not picked(queue)


async def test_a_coach_accepts_what_was_handed_in_and_the_student_is_told(world: World) -> None:
    await morning(world)
    seen = await one_handed_in(world)
    assert "ten in a row" in plain(seen)
    assert labels_of(seen) == ["Accept it", "Send it back", "The same for others", "What waits for me"]
    accepted = await coach_of(world.salt).click(seen.response, label="Accept it")
    assert "is accepted" in plain(accepted)
    await world.env.settle()
    assert "accepted" in plain(told(world.salt.ann)[-1])
    queue = await coach_of(world.salt).slash(world.salt.channel, "homework review")
    assert "Nothing waits for you" in plain(queue)


async def test_a_coach_sends_it_back_with_a_note_that_the_student_reads(world: World) -> None:
    await morning(world)
    seen = await one_handed_in(world)
    await world.restart()
    form = await coach_of(world.salt).click(seen.response, label="Send it back")
    await coach_of(world.salt).submit_modal(form, {"review-note": "wait for the hit"})
    await world.env.settle()
    back = told(world.salt.ann)[-1]
    assert "sent" in plain(back)
    assert "wait for the hit" in plain(back)
    assert "Hand it in" in labels_of(back)
    (row,) = rows(world, "homework")
    assert (row["stage"], row["review_note"]) == ("returned", "wait for the hit")


async def test_without_a_note_nothing_goes_back(world: World) -> None:
    seen = await one_handed_in(world)
    form = await coach_of(world.salt).click(seen.response, label="Send it back")
    before = everything(world)
    refused = await coach_of(world.salt).submit_modal(form, {"review-note": "  "})
    assert "Say in the note what is missing" in plain(refused)
    assert everything(world) == before


async def test_a_coach_who_changed_their_mind_takes_it_back(world: World) -> None:
    seen = await one_handed_in(world)
    accepted = await coach_of(world.salt).click(seen.response, label="Accept it")
    form = await coach_of(world.salt).click(accepted.response, label="Send it back")
    returned = await coach_of(world.salt).submit_modal(form, {"review-note": "once more"})
    assert "Accept it" in labels_of(returned)
    assert rows(world, "homework")[0]["stage"] == "returned"


async def test_comments_on_a_clip_stand_at_their_moment(world: World) -> None:
    seen = await one_handed_in(world, CLIP)
    form = await coach_of(world.salt).click(seen.response, label="Comment on the clip")
    said = await coach_of(world.salt).submit_modal(
        form, {"clip-time": "0:42", "comment": "the jump is early <@1> **here**"}
    )
    assert "0:42 the jump is early" in plain(said)
    shown = await world.salt.ann.slash(world.salt.channel, "homework list")
    shown = await world.salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert "0:42 the jump is early" in plain(shown)


async def test_a_moment_that_is_none_is_refused_with_how_to_write_it(world: World) -> None:
    seen = await one_handed_in(world, CLIP)
    form = await coach_of(world.salt).click(seen.response, label="Comment on the clip")
    refused = await coach_of(world.salt).submit_modal(form, {"clip-time": "soon", "comment": "early"})
    assert "like 0:42" in plain(refused)
    assert not rows(world, "clip_comment")


async def test_without_a_clip_there_is_nothing_to_comment_on(world: World) -> None:
    assert "Comment on the clip" not in labels_of(await one_handed_in(world))


async def test_the_same_goes_to_several_others_at_once(world: World) -> None:
    salt = world.salt
    await coached(world, salt, salt.bo)
    await coached(world, salt, salt.mod)
    seen = await one_handed_in(world)
    shown = await coach_of(salt).click(seen.response, label="The same for others")
    values = [option["value"] for option in picked(shown)]
    assert len(values) == 2
    await world.restart()
    done = await coach_of(salt).select(shown.response, values)
    assert "is set for 2 students" in plain(done)
    assert len(rows(world, "homework")) == 3
    again = await coach_of(salt).select(shown.response, values)
    assert "this very homework already" in plain(again)
    assert len(rows(world, "homework")) == 3


async def test_who_is_not_its_coach_can_do_nothing_with_it(world: World) -> None:
    salt = world.salt
    seen = await one_handed_in(world)
    ids = [
        id_of(seen, "Accept it"),
        id_of(seen, "The same for others"),
        id_of(seen, "Send it back"),
        id_of(seen, "Accept it").replace("accept-work", "comment"),
        id_of(seen, "Accept it").replace("accept-work", "take-easier"),
        id_of(seen, "Accept it").replace("accept-work", "one-homework"),
    ]
    before = everything(world)
    for stranger, channel in ((salt.mod, salt.channel), (world.kite.mod, world.kite.channel)):
        for custom_id in ids:
            shown = await stranger.slash(channel, "help")
            forge(world, channel, shown, custom_id)
            refused = await stranger.click(shown.response, label=labels_of(shown)[0])
            assert "not between you and anybody" in plain(refused), custom_id
    assert everything(world) == before
