"""Characters that no database keeps, or that no message can carry: they are taken out where they come in."""

from __future__ import annotations

import re
from typing import Any

import pytest
from chat.gaming import load, moves, rules, versions_of
from chat.lessons import coach_of, coached, given
from chat.practice import LINK, everything, form, log, open_form, picked, tallies_of
from chat.world import World, answers_in, text_of

NUL, HALF = "\0", "\ud83d"
"""PostgreSQL keeps no NUL; half a character cannot be written in UTF-8 at all."""
UNSTORABLE = re.compile("[\0\ud800-\udfff]")
TYPED = {
    "NUL": f"to{NUL}p{NUL}",
    "half a character": f"{HALF}to{HALF}p",
    "both halves apart": f"to\udc4d{HALF}p",
}


def check(answer: Any) -> str:
    said = text_of(answer)
    assert "went wrong" not in said
    assert not UNSTORABLE.search(said)
    return said


def check_stored(world: World) -> None:
    texts = [value for table in everything(world).values() for row in table for value in row.values()]
    assert not [text for text in texts if isinstance(text, str) and UNSTORABLE.search(text)]


@pytest.mark.parametrize("typed", TYPED.values(), ids=TYPED.keys())
async def test_commands_take_them_out(world: World, typed: str) -> None:
    salt, ann = world.salt, world.salt.ann
    assert "7 of 10" in check(await log(ann, salt.channel, f"drill: {typed}", note=typed))
    (kept,) = tallies_of(world, ann)
    assert (kept["what"], kept["note"]) == ("top", "top")
    for command, options in (
        ("ask", {"question": f"is {typed} safe?"}),
        ("move", {"move": typed, "character": typed}),
        ("progress", {"what": f"drill: {typed}"}),
        ("route save", {"moves": LINK, "name": typed, "tags": typed}),
        ("route check", {"moves": typed, "gauge": typed}),
        ("route list", {"tag": typed}),
        ("route share", {"name": typed}),
        ("wrong", {"move": "5MP", "column": "startup", "right": typed, "note": typed, "character": "Odrun"}),
    ):
        check(await ann.slash(salt.channel, command, **options))
    await ann.autocomplete(salt.channel, "log", "what", typed)
    for command, options in (
        ("drill plan", {"what": f"drill: {typed}", "scoring": "best-tally", "goal": typed, "dummy": typed}),
        (
            "game edit",
            {"move": "5MP", "column": "startup", "number": "5", "reason": typed, "character": "Odrun"},
        ),
    ):
        check(await salt.mod.slash(salt.channel, command, **options))
    check_stored(world)


@pytest.mark.parametrize("typed", TYPED.values(), ids=TYPED.keys())
async def test_forms_take_them_out(world: World, typed: str) -> None:
    salt, ann, coach = world.salt, world.salt.ann, coach_of(world.salt)
    shown = await open_form(ann, salt.channel)
    check(await ann.submit_modal(shown, form(what=f"drill: {typed}", gaps=typed)))
    check(await ann.submit_modal(await open_form(ann, salt.channel), form(what=f"drill: {typed}")))
    await coached(world, salt, ann)
    check(await given(salt, ann, note=typed))
    mine = await ann.slash(salt.channel, "homework list")
    card = await ann.select(mine.response, [picked(mine)[0]["value"]])
    shown = await ann.click(card.response, label="Hand it in")
    assert "top" in check(await ann.submit_modal(shown, {"hand-in-note": typed, "clip": typed}))
    card = await coach.slash(salt.channel, "students page", member=ann)
    shown = await coach.click(card.response, label="Note something")
    check(await coach.submit_modal(shown, {"student-note": typed}))
    check_stored(world)


@pytest.mark.parametrize("typed", TYPED.values(), ids=TYPED.keys())
async def test_messages_take_them_out(world: World, typed: str) -> None:
    salt = world.salt
    await salt.ann.send(salt.channel, f"{world.mention} is {typed} safe?")
    (answer,) = answers_in(salt.channel, world.bot)
    assert "top" in check(answer)
    await salt.ann.user.send_dm(f"how do I learn {typed}?")
    check(salt.ann.user.dm_channel.last_message)
    check_stored(world)


@pytest.mark.parametrize("key", ["name", "version"])
@pytest.mark.parametrize("escaped", [r"\u0000", r"\u0007", r"\u202E"])
async def test_a_game_file_that_writes_them_as_escapes_is_refused(
    world: World, key: str, escaped: str
) -> None:
    name, text = rules()
    spoilt = re.sub(
        rb'(?m)^%s = "' % key.encode(), rf'{key} = "{escaped}'.encode().replace(b"\\", b"\\\\"), text, count=1
    )
    said = check(await load(world, (name, spoilt), moves()))
    assert f"{key}: " in said
    assert "holds a character that cannot be printed" in said
    assert versions_of(world, world.salt) == []
    check_stored(world)


async def test_names_and_reasons_of_files_take_them_out(world: World) -> None:
    sent = await load(world, (f"ga{NUL}me{HALF}.toml", rules("1.3")[1]), moves(), reason=f"to{NUL}p{HALF}")
    check(sent)
    check_stored(world)
