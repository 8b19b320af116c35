"""One number of a game: changed by a moderator, or said to be wrong by a member and then decided."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import deliver_again, events_seen
from chat.gaming import MOVE, ODRUN, STARTUP, faster, loaded, plain, rules, startup_of, versions_of
from chat.hostile import HOSTILE, check
from chat.lessons import morning, told
from chat.practice import everything, forge, rows
from chat.world import World, labels_of

WRONG: dict[str, Any] = {"move": MOVE, "column": "startup", "right": "5", "character": ODRUN}
EDIT: dict[str, Any] = {
    "move": MOVE,
    "column": "startup",
    "number": "5",
    "reason": "counted on the screen",
    "character": ODRUN,
}


async def edit(world: World, member: Any = None, **options: str) -> Any:
    salt = world.salt
    return await (member or salt.mod).slash(salt.channel, "game edit", **{**EDIT, **options})


async def report(world: World, member: Any = None, **options: str) -> Any:
    salt = world.salt
    return await (member or salt.ann).slash(salt.channel, "wrong", **{**WRONG, **options})


async def reports(world: World) -> Any:
    salt = world.salt
    return await salt.mod.slash(salt.channel, "game reports")


async def test_a_number_that_is_changed_is_a_version_of_its_own_with_the_reason(world: World) -> None:
    changed = await edit(world)
    assert changed.ephemeral
    assert "Odrun Vale's 5MP: startup is 5, was 6. That is version 1.2 (2) of Saltglass" in plain(changed)
    assert labels_of(changed) == ["Post what changed", "Versions", "Back to 1.2"]
    assert await startup_of(world) == "5"
    (kept,) = [row for row in rows(world, "edition") if row["server_id"] == world.salt.guild.id]
    assert kept["reason"] == "counted on the screen"
    await world.restart()
    assert await startup_of(world) == "5"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"number": "6"}, "Startup of Odrun Vale's 5MP is 6 already."),
        ({"number": "fast"}, "“fast” cannot be the startup of Odrun Vale's 5MP: it is not a number"),
        ({"number": "-3"}, "“-3” cannot be the startup"),
        ({"number": "9" * 400}, "cannot be the startup"),
        ({"column": "advantage on bloc"}, "“advantage on bloc” is no column that I know"),
        ({"column": "name"}, "“name” is no column that I know"),
        ({"column": "startp"}, "the nearest is startup"),
        ({"column": "Start-up", "number": "6"}, "Startup of Odrun Vale's 5MP is 6 already."),
        (
            {"column": "advantage on hit", "number": "+7"},
            "Advantage on hit of Odrun Vale's 5MP is +7 already.",
        ),
        ({"move": "9QQ"}, "Odrun Vale has no move “9QQ”"),
        ({"character": "Odrin"}, "There is no character “Odrin” here"),
        ({"reason": "x" * 300}, "That is too long: 200 characters at most."),
        ({"number": "<@1> **5** @everyone"}, "cannot be the startup"),
    ],
)
async def test_a_number_that_cannot_be_is_refused_in_one_sentence(
    world: World, options: dict[str, str], said: str
) -> None:
    before = everything(world)
    refused = await edit(world, **options)
    assert refused.ephemeral
    assert said in plain(refused)
    assert everything(world) == before
    assert await startup_of(world) == STARTUP


async def test_an_edit_builds_on_the_version_that_is_used_now(world: World) -> None:
    await loaded(world, rules("1.3"), faster())
    await edit(world, column="damage", number="650")
    said = plain(await edit(world, column="on_block", number="+1"))
    assert "advantage on block is +1, was +2" in said
    assert versions_of(world, world.salt) == ["1.3", "1.3 (2)", "1.3 (3)"]
    assert await startup_of(world) == "5"
    shown = plain(await world.salt.ann.slash(world.salt.channel, "move", move=MOVE, character=ODRUN))
    assert "650 damage" in shown
    assert "+1 on block" in shown


async def test_an_edit_delivered_twice_is_one_version(world: World) -> None:
    with events_seen(world.env) as seen:
        await edit(world)
    before = everything(world)
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert everything(world) == before


async def test_moves_columns_and_characters_are_offered_as_they_are_typed(world: World) -> None:
    salt = world.salt
    for member, command in ((salt.mod, "game edit"), (salt.ann, "wrong")):
        found = await member.autocomplete(salt.channel, command, "move", "5M", character=ODRUN)
        assert "5MP" in [one["value"] for one in found]
        (column, *_) = await member.autocomplete(salt.channel, command, "column", "on bl")
        assert (column["name"], column["value"]) == ("on_block: advantage on block", "on_block")
        (whose, *_) = await member.autocomplete(salt.channel, command, "character", "odr")
        assert whose["value"] == ODRUN


async def test_a_member_reports_a_number_and_nothing_changes_before_it_is_decided(world: World) -> None:
    salt = world.salt
    thanked = await report(world, note="counted on video")
    assert thanked.ephemeral
    assert "startup of Odrun Vale's 5MP should be 5, not 6." in plain(thanked)
    assert "counted on video" in plain(thanked)
    assert await startup_of(world) == STARTUP
    shown = await reports(world)
    assert shown.ephemeral
    assert "One number is said to be wrong." in plain(shown)
    line = f"1. Odrun Vale's 5MP, startup: 5, not 6, says {salt.ann.name}, 1 Jan 2026 (Saltglass 1.2)"
    assert f"{line}: “counted on video”" in plain(shown)
    assert labels_of(shown) == ["Accept 1", "Leave 1"]


async def test_a_report_is_accepted_with_one_button_and_its_member_is_told(world: World) -> None:
    salt = world.salt
    await morning(world)
    await report(world)
    shown = await reports(world)
    await world.restart()
    with events_seen(world.env) as seen:
        done = await salt.mod.click(shown.response, label="Accept 1")
    said = plain(done)
    assert (
        f"Accepted: startup of Odrun Vale's 5MP is 5 from version 1.2 (2) on, and {salt.ann.name} is told."
        in said
    )
    assert "Members report one with /wrong." in said
    assert "“Back to 1.2” undoes it." in said
    assert "Back to 1.2" in labels_of(done)
    assert await startup_of(world) == "5"
    await world.env.settle()
    (news,) = told(salt.ann)
    assert "Your report was accepted: in Saltglass, startup of Odrun Vale's 5MP is 5 now." in plain(news)
    before = everything(world)
    again = await salt.mod.click(shown.response, label="Accept 1")
    assert "That report was decided already" in plain(again)
    left = await salt.mod.click(shown.response, label="Leave 1")
    assert "That report was decided already" in plain(left)
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert everything(world) == before
    assert len(told(salt.ann)) == 1


async def test_a_report_is_left_and_its_member_is_told(world: World) -> None:
    salt = world.salt
    await morning(world)
    await report(world)
    shown = await reports(world)
    done = await salt.mod.click(shown.response, label="Leave 1")
    assert f"Left: startup of Odrun Vale's 5MP does not become 5, and {salt.ann.name} is told." in plain(done)
    assert await startup_of(world) == STARTUP
    await world.env.settle()
    (news,) = told(salt.ann)
    assert "was looked at: in Saltglass, startup of Odrun Vale's 5MP does not become 5." in plain(news)
    assert "No number is said to be wrong." in plain(await reports(world))


async def test_a_report_that_was_overtaken_is_not_written_over_what_stands(world: World) -> None:
    salt = world.salt
    await report(world)
    await edit(world, number="7")
    shown = await reports(world)
    refused = await salt.mod.click(shown.response, label="Accept 1")
    assert "Startup of Odrun Vale's 5MP is 7 by now; it was 6 when it was reported." in plain(refused)
    assert await startup_of(world) == "7"
    left = plain(await salt.mod.click(shown.response, label="Leave 1"))
    assert "Left: startup of Odrun Vale's 5MP does not become 5" in left


async def test_a_report_that_cannot_be_right_is_refused_as_an_edit_is(world: World) -> None:
    for options, said in (
        ({"right": "fast"}, "“fast” cannot be the startup of Odrun Vale's 5MP"),
        ({"right": STARTUP}, "Startup of Odrun Vale's 5MP is 6 already."),
        ({"move": "9QQ"}, "Odrun Vale has no move “9QQ”"),
        ({"note": "x" * 300}, "200 characters at most"),
    ):
        refused = await report(world, **options)
        assert refused.ephemeral
        assert said in plain(refused)
    assert rows(world, "report") == []


async def test_five_reports_of_a_member_wait_at_most(world: World) -> None:
    for right in ("1", "2", "3", "4", "5"):
        await report(world, right=right)
    assert len(rows(world, "report")) == 5
    refused = await report(world, right="7")
    assert "5 numbers that you reported wait to be looked at" in plain(refused)
    assert "should be 7" in plain(await report(world, world.salt.bo, right="7"))


async def test_the_same_report_twice_is_one(world: World) -> None:
    await report(world)
    await report(world)
    assert len(rows(world, "report")) == 1


async def test_more_reports_than_fit_are_counted(world: World) -> None:
    salt = world.salt
    for member in (salt.ann, salt.bo, *[salt.guild.add_member(world.env.create_user("wren"))]):
        for right in ("1", "2", "3", "4"):
            await report(world, member, right=right)
    shown = await reports(world)
    assert "12 numbers are said to be wrong." in plain(shown)
    assert "… and 2 more after these." in plain(shown)
    assert labels_of(shown)[-1] == "Leave 10"


async def test_reports_of_another_server_do_not_exist_here(world: World) -> None:
    kite = world.kite
    await report(world)
    (kept,) = rows(world, "report")
    await kite.ann.slash(kite.channel, "wrong", move="5M", column="startup", right="9", character="Dapple")
    shown = await kite.mod.slash(kite.channel, "game reports")
    assert "One number is said to be wrong." in plain(shown)
    assert "Odrun" not in plain(shown)
    for act in ("accept-report", "dismiss-report"):
        card = await kite.mod.slash(kite.channel, "game reports")
        forge(world, kite.channel, card, f"m1|{act}|{kept['id']}")
        refused = await kite.mod.click(card.response, label="Accept 1")
        assert "That report was decided already, or is not of this server" in plain(refused)
    assert [row["stage"] for row in rows(world, "report")] == ["open", "open"]


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
async def test_whatever_is_typed_formats_nothing_and_calls_nobody(world: World, text: str) -> None:
    salt = world.salt
    text = text[:200]
    check(await report(world, note=text))
    check(await reports(world))
    for option in ("move", "column", "right", "character"):
        check(await report(world, **{option: text}))
    for option in ("move", "column", "number", "reason", "character"):
        check(await edit(world, **{option: text}))
    check(await salt.mod.slash(salt.channel, "game versions"))
    check(await salt.mod.slash(salt.channel, "game download", version=text))


async def test_who_was_told_can_look_at_it_again_and_nobody_else_can(world: World) -> None:
    salt = world.salt
    await report(world)
    await salt.mod.click((await reports(world)).response, label="Leave 1")
    (kept,) = rows(world, "report")
    for member, said in ((salt.ann, "Your report was looked at"), (salt.bo, "not of this server")):
        card = await member.slash(salt.channel, "log", what="Odrun: 5MP, 2MP", result="7/10")
        forge(world, salt.channel, card, f"t1|my-report|{kept['id']}")
        shown = await member.click(card.response, label=labels_of(card)[0])
        assert said in plain(shown)
