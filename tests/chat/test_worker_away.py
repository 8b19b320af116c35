"""The worker processes are busy, broken or gone: each command and button still says what it can, or one kind
sentence with what to do."""

from __future__ import annotations

from typing import Any

import pytest
from chat.commands import ARGUMENTS, WHOM, commands_of
from chat.gaming import faster, load, rules
from chat.lessons import coached, given
from chat.practice import LINK, log
from chat.world import World, labels_of, text_of

from bot.ports import WorkerError


async def fail(*_: Any, **__: Any) -> Any:
    raise WorkerError("sleep was not begun: 64 tasks run or wait already.")


MORE: list[tuple[str, dict[str, Any]]] = [
    ("ask", {"question": "what should I learn from Odrun's 5MP?"}),
    ("ask", {"question": "what next?"}),
    ("timing", {"what": LINK}),
    ("timing", {"what": "Odrun: 5MP, 2MP xx 236HP"}),
    ("progress", {"what": LINK}),
    ("plan", {"minutes": 20, "what": LINK}),
    ("route find", {"starter": "5MP", "picture": True}),
    ("route next", {"starter": "5MP"}),
    ("route check", {"moves": "Odrun: 5MP, 5HP"}),
    ("conversion show", {"character": "Odrun Vale"}),
    ("patch", {"since": "1.2"}),
]


async def test_every_command_and_button_answers_without_the_worker(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="20: 12 hit, 6 early, 2 late")
    await salt.ann.slash(salt.channel, "route save", **ARGUMENTS["route save"])
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    shown = await load(world, rules("1.3"), faster())
    await salt.mod.click(shown.response, label="Use it")
    waiting = await load(world, rules("1.4"), faster("4", "18"))
    monkeypatch.setattr("inline.InlineWorker.run", fail)
    commands = [
        (one.qualified_name, dict(ARGUMENTS.get(one.qualified_name, {}))) for one in commands_of(world.bot)
    ]
    pressed = set[str]()
    for command, options in [*MORE, *commands]:
        if command in WHOM:
            options[WHOM[command]] = salt.bo
        member = salt.ann if command in salt.ann.available_commands(salt.channel) else salt.mod
        answer = await member.slash(salt.channel, command, **options)
        assert "went wrong" not in text_of(answer), command
        for label in labels_of(answer):
            if label in pressed or "rase" in label:
                continue
            pressed.add(label)
            fresh = await member.slash(salt.channel, command, **options)
            if label in labels_of(fresh):
                after = await member.click(fresh.response, label=label)
                assert after.modal or "went wrong" not in text_of(after), (command, label)
    assert len(pressed) > 30
    used = await salt.mod.click(waiting.response, label="Use it")
    assert "went wrong" not in text_of(used)
    assert "went wrong" not in text_of(await load(world, rules("1.5"), faster("3", "17")))
