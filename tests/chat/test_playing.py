"""How a route is played: inputs, rhythm sheet, click track, a drill of it, by command and by button."""

from __future__ import annotations

import wave
from io import BytesIO
from typing import Any

import pytest
import simcord
from chat.faults import delivered_twice, failing_after
from chat.practice import (
    ROUTE,
    alts_of,
    everything,
    files_of,
    filled,
    forge,
    form,
    id_of,
    log,
    pings_nobody,
    rows,
    tallies_of,
)
from chat.world import World, labels_of, text_of

from bot.components.act import Act
from bot.components.ids import PracticeKey, make_practice_id
from bot.limits import ALT_CHARACTERS, CONTENT_CHARACTERS
from bot.ports import WorkerError
from core.rhythm import LONGEST_SECONDS, SAMPLE_RATE

CHAIN = "Marrable: 5L > 5M > 5H xx 236M xx 63214X"
BROKEN = "Odrun: 5LP, 5MP xx 236HP"
EVENT = "INTERACTION_CREATE"
COMMANDS = ("route inputs", "route rhythm", "route clicks")
UPLOAD_BYTES = 10_000_000


async def sound_of(answer: Any) -> tuple[int, list[int]]:
    """How many frames a click track has, and on which of them a click begins, the same on both channels."""
    (attached,) = answer.response.attachments
    data = await attached.read()
    assert len(data) < UPLOAD_BYTES
    with wave.open(BytesIO(data)) as sound:
        assert (sound.getnchannels(), sound.getframerate(), sound.getsampwidth()) == (2, SAMPLE_RATE, 2)
        samples = memoryview(sound.readframes(sound.getnframes())).cast("h").tolist()
    left, right = samples[0::2], samples[1::2]
    assert left == right
    loud = [number for number, value in enumerate(left) if value]
    return len(left), [at for before, at in zip([-1000, *loud], loud, strict=False) if at - before > 60]


def press(answer: Any, label: str) -> str:
    """The number that a button carries."""
    return id_of(answer, label).rpartition("|")[2]


async def test_inputs_come_for_either_side(world: World) -> None:
    salt = world.salt
    right = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE)
    assert right.ephemeral
    assert "Enter 5MP, 2MP, 6HP: 2 directions in all, 1 fewer" in text_of(right)
    assert "Arrows, facing right: • MP, ↓ MP, → HP" in text_of(right)
    left = await salt.ann.click(right.response, label="Facing left")
    assert left.ephemeral
    assert "Arrows, facing left: • MP, ↓ MP, ← HP" in text_of(left)
    back = await salt.ann.click(left.response, label="Facing right")
    assert text_of(back) == text_of(right)
    asked = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE, side="left")
    assert text_of(asked) == text_of(left)


async def test_the_side_is_the_one_that_was_logged_last(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, ROUTE, "7/10", side="left")
    left = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE)
    assert "facing left" in text_of(left)
    right = await salt.ann.click(left.response, label="Facing right")
    assert "facing right" in text_of(right)
    assert "facing right" in text_of(await salt.bo.slash(salt.channel, "route inputs", what=ROUTE))


async def test_with_a_simple_control_scheme_there_is_nothing_to_share(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="Odrun Vale", controls="one-button")
    answer = await salt.ann.slash(salt.channel, "route inputs", what="5MP, 2MP xx 4MP")
    assert "with one-button controls a special is one button" in text_of(answer)


async def test_the_rhythm_sheet_is_a_picture_with_its_words(world: World) -> None:
    for server, what, said in (
        (world.salt, ROUTE, "2MP, with 5 frames accepted; aim at 30 frames (500 ms) after 5MP"),
        (world.kite, CHAIN, "63214X, with 7 frames accepted"),
    ):
        answer = await server.ann.slash(server.channel, "route rhythm", what=what)
        assert answer.ephemeral
        assert said in text_of(answer)
        assert files_of(answer) == ["rhythm.png"]
        (alt,) = alts_of(answer)
        assert "when to press each move" in alt
        assert len(alt) <= ALT_CHARACTERS


async def test_the_rhythm_comes_in_words_alone_too(world: World) -> None:
    salt = world.salt
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    words = await salt.ann.click(sheet.response, label="Rhythm in words")
    assert words.ephemeral
    assert files_of(words) == []
    assert "2MP: press about 30 frames (500 ms) after 5MP; 28 to 32 are accepted; a link" in text_of(words)
    assert "Rhythm sheet" in labels_of(words)


async def test_a_link_that_is_logged_with_two_presses_has_two_marks(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, "Odrun: 5MP, 2MP", "20: 12 hit", presses=2)
    answer = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    assert "2MP is planned with two presses, as you mostly log it" in text_of(answer)
    assert "press twice, about" in alts_of(answer)[0]


@pytest.mark.parametrize(
    ("label", "speed", "lead_frames"),
    [("Click track", 1.0, 88), ("At 75 % speed", 0.75, 88), ("At 50 % speed", 0.5, 44)],
)
async def test_the_click_track_can_be_heard_at_every_speed(
    world: World, label: str, speed: float, lead_frames: int
) -> None:
    """Worked out by hand: 2MP is pressed 30 frames and 236HP 41 frames after 5MP; directions are entered on
    frames 28 and 40. The count-in has four clicks 11 frames apart, or 22 where 11 would be too fast to hear.
    A frame is 800 samples at full speed."""
    salt = world.salt
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    answer = await salt.ann.click(sheet.response, label="Click track")
    if speed < 1:
        answer = await salt.ann.click(answer.response, label=label)
    assert answer.ephemeral
    assert files_of(answer) == [f"5MP-2MP-xx-236HP-{round(speed * 100)}.wav"]
    assert f"at {round(speed * 100)} % speed, 4 times" in text_of(answer)
    assert ("only if the game runs slowly too" in text_of(answer)) is (speed < 1)
    assert label not in labels_of(answer)
    length, heard = await sound_of(answer)
    loop = length // 4
    counted = [lead_frames * beat // 4 for beat in range(4)]
    frames = [*counted, *(lead_frames + frame for frame in (0, 28, 30, 40, 41))]
    assert [sample for sample in heard if sample < loop] == [round(frame * 800 / speed) for frame in frames]
    again = [sample - loop for sample in heard if loop <= sample < 2 * loop]
    assert again == [sample for sample in heard if sample < loop]


async def test_a_click_track_is_a_plain_message_that_plays_and_pings_nobody(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="<@1> *a* @everyone ~x~")
    answer = await salt.ann.slash(salt.channel, "route clicks", what="<@1> *a* @everyone ~x~")
    said = answer.response.content
    assert "\\<@\u200b1\\> \\*a\\* @\u200beveryone \\~x\\~" in said
    assert len(said) <= CONTENT_CHARACTERS
    assert files_of(answer) == ["1-a-everyone-x-100.wav"]
    assert pings_nobody(world, salt.channel, answer)


async def test_speed_and_loops_are_options_and_no_more_is_sent_than_fits(world: World) -> None:
    salt = world.salt
    answer = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE, speed=50, loops=20)
    length, _ = await sound_of(answer)
    assert length <= LONGEST_SECONDS * SAMPLE_RATE
    assert "not 20 times, for more would be too long to send" in text_of(answer)
    once = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE, speed=150, loops=1)
    assert "at 150 % speed, once" in text_of(once)
    for wrong in ({"speed": 24}, {"speed": 151}, {"loops": 0}, {"loops": 21}):
        with pytest.raises(simcord.OptionError):
            await salt.ann.slash(salt.channel, "route clicks", what=ROUTE, **wrong)


async def test_the_buttons_of_a_click_track_lead_on(world: World) -> None:
    salt = world.salt
    answer = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE)
    sheet = await salt.ann.click(answer.response, label="Rhythm sheet")
    assert files_of(sheet) == ["rhythm.png"]
    words = await salt.ann.click(answer.response, label="Rhythm in words")
    assert "press about 30 frames" in text_of(words)


async def test_a_click_track_comes_though_the_receipt_for_waiting_was_lost(world: World) -> None:
    salt = world.salt
    with failing_after(world.env, "POST", "/interactions/*/callback") as hit:
        answer = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE)
    assert hit
    assert files_of(answer) == ["5MP-2MP-xx-236HP-100.wav"]
    assert "At 50 % speed" in labels_of(answer)


async def test_nothing_of_a_click_track_is_kept_in_memory(world: World) -> None:
    """The library keeps views that can time out, or that hold buttons of no fixed kind."""
    salt = world.salt
    views = world.bot._connection._view_store
    before = len(views._views), len(views._synced_message_views)
    for _ in range(3):
        await salt.ann.slash(salt.channel, "route clicks", what=ROUTE)
    assert (len(views._views), len(views._synced_message_views)) == before


async def test_every_view_outlives_a_restart(world: World) -> None:
    salt = world.salt
    inputs = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE)
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    sound = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE)
    drill = await salt.ann.click(sheet.response, label="Make it a drill")
    await world.restart()
    assert "facing left" in text_of(await salt.ann.click(inputs.response, label="Facing left"))
    assert "28 to 32" in text_of(await salt.ann.click(sheet.response, label="Rhythm in words"))
    assert "at 50 %" in text_of(await salt.ann.click(sound.response, label="At 50 % speed"))
    assert (await salt.ann.click(drill.response, label="Log 5MP, 2MP")).modal


@pytest.mark.parametrize("command", COMMANDS)
async def test_a_route_that_does_not_work_says_why_and_leads_to_its_steps(world: World, command: str) -> None:
    salt = world.salt
    answer = await salt.ann.slash(salt.channel, command, what=BROKEN)
    assert answer.ephemeral
    assert "does not work: 5MP does not follow 5LP" in text_of(answer)
    assert "1 frame too slow" in text_of(answer)
    assert files_of(answer) == []
    assert "Step by step" in labels_of(answer)


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("Odrun: 9QQ, 2MP", "is not understood"),
        ("Odrun: 5MP", "single move"),
        ("drill: anti-airs", "has no moves to look at"),
        ("nobody's favourite", "cannot read"),
    ],
)
async def test_what_is_no_route_is_refused_in_one_sentence(
    world: World, command: str, what: str, said: str
) -> None:
    salt = world.salt
    answer = await salt.ann.slash(salt.channel, command, what=what)
    assert answer.ephemeral
    assert said in text_of(answer)
    assert files_of(answer) == []


async def test_a_jump_in_has_inputs_though_its_height_decides_the_rhythm(world: World) -> None:
    salt = world.salt
    inputs = await salt.ann.slash(salt.channel, "route inputs", what="Odrun: j.HP, 5MP, 2MP xx 236HP")
    assert "From 5MP on it cannot be told when to press" in text_of(inputs)
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what="Odrun: j.HP, 5MP, 2MP xx 236HP")
    assert "cannot be told from the game file" in text_of(sheet)
    assert "How high j.HP touches decides it" in text_of(sheet)


async def test_saved_names_and_what_is_practised_are_offered_and_understood(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
    await log(salt.ann, salt.channel, "Odrun: 5MP, 2MP")
    for command in COMMANDS:
        offered = [one["value"] for one in await salt.ann.autocomplete(salt.channel, command, "what", "")]
        assert {"bread", "Odrun Vale: 5MP, 2MP"} <= set(offered)
        assert await salt.bo.autocomplete(salt.channel, command, "what", "") == []
        assert "bread" in text_of(await salt.ann.slash(salt.channel, command, what="bread")) or (
            command == "route inputs"
        )


async def test_a_dead_worker_leaves_the_words_and_says_what_is_missing(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt

    async def fail(*_: Any, **__: Any) -> Any:
        raise WorkerError("It died.")

    monkeypatch.setattr(world.bot._worker, "run", fail)
    inputs = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE)
    assert "could not be worked out in time" in text_of(inputs)
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    assert files_of(sheet) == []
    assert "28 to 32 are accepted" in text_of(sheet)
    sound = await salt.ann.slash(salt.channel, "route clicks", what=ROUTE)
    assert "could not be made just now" in text_of(sound)
    drill = await salt.ann.click(sheet.response, label="Make it a drill")
    assert "as a drill" in text_of(drill)
    for answer in (inputs, sheet, sound, drill):
        assert answer.ephemeral
        assert "Step by step" in labels_of(answer)


async def test_a_drill_has_pieces_that_are_logged_with_their_own_buttons(world: World) -> None:
    salt = world.salt
    sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
    drill = await salt.ann.click(sheet.response, label="Make it a drill")
    assert drill.ephemeral
    said = text_of(drill)
    assert "5MP, 2MP xx 236HP as a drill: begin with 5MP, 2MP, and end with the whole." in said
    assert "Stop on pain or numbness, and see a doctor or hand therapist if it stays." in said
    assert "Let the dummy block at random: go on into 236HP only when 2MP hits." in said
    assert labels_of(drill)[:2] == ["Log 5MP, 2MP", "Log 5MP, 2MP xx 236HP"]
    for label, what in (("Log 5MP, 2MP", "5MP, 2MP"), ("Log 5MP, 2MP xx 236HP", "5MP, 2MP xx 236HP")):
        opened = await salt.ann.click(drill.response, label=label)
        assert filled(opened)["what"] == f"Odrun Vale: {what}"
        logged = await salt.ann.submit_modal(opened, form(f"Odrun Vale: {what}", "8/10"))
        assert f"Logged: 8 of 10 on {what}" in text_of(logged)
    assert [one["what"] for one in tallies_of(world, salt.ann)] == ["5MP, 2MP", "5MP, 2MP xx 236HP"]
    slow = await salt.ann.click(drill.response, label="At 50 % speed")
    assert files_of(slow) == ["5MP-2MP-xx-236HP-50.wav"]


async def test_looking_at_a_route_and_making_drills_keeps_only_what_their_buttons_carry(world: World) -> None:
    salt = world.salt
    with delivered_twice(world.env, EVENT):
        sheet = await salt.ann.slash(salt.channel, "route rhythm", what=ROUTE)
        drill = await salt.ann.click(sheet.response, label="Make it a drill")
    assert [one["what"] for one in rows(world, "subject")] == ["5MP, 2MP xx 236HP", "5MP, 2MP"]
    before = everything(world)
    again = await salt.ann.click(sheet.response, label="Make it a drill")
    assert text_of(again) == text_of(drill)
    assert everything(world) == before
    assert tallies_of(world, salt.ann) == []


@pytest.mark.parametrize(
    "act",
    [
        Act.INPUTS,
        Act.INPUTS_RIGHT,
        Act.INPUTS_LEFT,
        Act.SHEET,
        Act.PRESSES,
        Act.CLICKS,
        Act.CLICKS_75,
        Act.CLICKS_50,
        Act.DRILL,
    ],
)
async def test_another_member_s_route_is_not_played_from_its_number(world: World, act: Act) -> None:
    salt = world.salt
    theirs = await salt.ann.slash(salt.channel, "route inputs", what=ROUTE)
    own = await salt.bo.slash(salt.channel, "route inputs", what=ROUTE)
    number = int(press(theirs, "Facing left"))
    forge(world, salt.channel, own, make_practice_id(PracticeKey(act, number)))
    answer = await salt.bo.click(own.response, label="Facing left")
    assert answer.ephemeral
    assert "5MP" not in text_of(answer)
    assert files_of(answer) == []


async def test_a_route_is_played_in_direct_messages_too(world: World) -> None:
    ann = world.salt.ann.user
    answer = await ann.slash("route clicks", what=ROUTE)
    assert files_of(answer) == ["5MP-2MP-xx-236HP-100.wav"]
    sheet = await ann.click(answer.response, label="Rhythm sheet")
    assert files_of(sheet) == ["rhythm.png"]
