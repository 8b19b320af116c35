"""Whatever is typed into the log: nothing formats, links or pings, all of it fits, and nothing breaks."""

from __future__ import annotations

from typing import Any

import pytest
from chat.hostile import HOSTILE, INVISIBLE, check
from chat.practice import LINK, form, log, open_form, picked, pings_nobody
from chat.world import World

FORM_CHARACTERS = {"what": 120, "result": 100, "gaps": 1_000}
LONG = {"4,000 characters": "@everyone " * 400, "4,000 in one word": "x" * 4_000}
TEXTS = HOSTILE | LONG | {"a formula": "=1+1", "in lines": "a\r\nb\n\n# c", "of buttons": "t1|undo|1"}


def check_quiet(world: World, channel: Any, answer: Any) -> None:
    check(answer)
    assert answer.ephemeral
    assert pings_nobody(world, channel, answer)


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
async def test_the_log_takes_anything(world: World, text: str) -> None:
    salt = world.salt
    what = f"drill: {text}"
    for options in (
        {"what": text},
        {"what": what, "note": text},
        {"what": what[:120]},
        {"note": text[:200]},
        {"result": text},
        {"gaps": text},
        {"when": text},
        {"controls": text},
    ):
        answer = await log(salt.ann, salt.channel, **options)
        check_quiet(world, salt.channel, answer)
    shown = await open_form(salt.ann, salt.channel)
    typed = {name: text[:most] or "x" for name, most in FORM_CHARACTERS.items()}
    check_quiet(world, salt.channel, await salt.ann.submit_modal(shown, form(**typed)))
    listed = await salt.ann.slash(salt.channel, "tallies")
    check_quiet(world, salt.channel, listed)
    for option in picked(listed):
        assert not INVISIBLE.search(option["label"] + (option.get("description") or ""))
        check_quiet(world, salt.channel, await salt.ann.select(listed.response, [option["value"]]))


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
async def test_reports_routes_and_choices_take_anything(world: World, text: str) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, f"drill: {text}"[:120], "7/10")
    await log(salt.ann, salt.channel, LINK, "7/10")
    asked: list[tuple[str, dict[str, Any]]] = [
        ("progress", {}),
        ("progress", {"what": text}),
        ("progress", {"what": f"drill: {text}"[:120]}),
        ("progress", {"date": text}),
        ("timing", {"what": text}),
        ("plan", {"minutes": 20, "what": text}),
        ("plan", {"minutes": 20, "what": f"drill: {text}"[:120]}),
        ("plan", {"minutes": 20, "date": text}),
        ("goal", {"share": text}),
        ("route save", {"moves": text, "name": text}),
        ("route save", {"moves": LINK, "name": text[:30]}),
        ("route list", {}),
        ("route forget", {"name": text}),
        ("mydata show", {}),
        ("mydata download", {}),
    ]
    for command, options in asked:
        check_quiet(world, salt.channel, await salt.ann.slash(salt.channel, command, **options))
    check_quiet(world, salt.channel, await salt.mod.slash(salt.channel, "zone", name=text))
    await salt.ann.autocomplete(salt.channel, "log", "what", text[:100])
    await salt.ann.autocomplete(salt.channel, "route forget", "name", text[:100])
