"""Timing, progress and plans, with their pictures."""

from __future__ import annotations

from typing import Any

import pytest
import simcord
from chat.practice import DRILL, LINK, ROUTE, alts_of, files_of, log
from chat.world import Server, World, labels_of, text_of

from bot.limits import ALT_CHARACTERS
from bot.ports import WorkerError

EARLY = "40: 20 hit, 18 early, 2 late"
WEEK = 7 * 86_400
REPORTS: list[tuple[str, dict[str, Any]]] = [
    ("timing", {}),
    ("timing", {"what": LINK}),
    ("progress", {}),
    ("progress", {"what": LINK}),
]


async def practise(server: Server, member: Any) -> None:
    """Some of everything."""
    await log(member, server.channel, LINK, EARLY)
    await log(member, server.channel, LINK, "12: 4 hit, 6 early", where="ranked")
    await log(member, server.channel, ROUTE, "3/20")
    await log(member, server.channel, DRILL, "15/20")


@pytest.mark.parametrize(("command", "options"), [*REPORTS, ("plan", {"minutes": 20})])
async def test_with_no_log_at_all_one_is_told_to_log_first(
    world: World, command: str, options: dict[str, Any]
) -> None:
    salt = world.salt
    answer = await salt.ann.slash(salt.channel, command, **options)
    said = text_of(answer)
    assert answer.ephemeral
    assert "log a few" in said.casefold()
    assert "Log a tally" in labels_of(answer)
    assert files_of(answer) == []


SAID = [
    ("timing", {}, ["Over all your links you press about", "early", "5MP, 2MP: 24 of 52"]),
    ("timing", {"what": LINK}, ["You press 2MP about", "early after 5MP", "aim"]),
    ("timing", {"what": "Odrun: 5MP, 2MP xx 236HP"}, ["5MP", "236HP"]),
    ("timing", {"what": DRILL}, ["anti-airs is a drill and has no press to time"]),
    ("timing", {"what": "Odrun: 5LP, 5LP"}, ["You have not logged 5LP into 5LP"]),
    ("timing", {"what": "Odrun: 9QQ, 2MP"}, ["I cannot read"]),
    ("progress", {}, ["things you practise", "5MP, 2MP: lands about", "anti-airs", "Practised today"]),
    ("progress", {"what": LINK}, ["5MP, 2MP", "Training: 20 of 40 (50 %)", "Ranked matches: 4 of 12"]),
    ("progress", {"what": "ANTI-AIRS"}, ["anti-airs", "Training: 15 of 20 (75 %)"]),
    ("progress", {"what": "Odrun: 5LP, 5LP"}, ["Nothing of yours is logged for"]),
    ("progress", {"what": "Nobody: 5MP, 2MP"}, ["There is no character in"]),
    ("progress", {"what": LINK, "date": "in 3 weeks"}, ["When next?", "Jan 2026"]),
    ("progress", {"date": "in 3 weeks"}, ["When next?"]),
    ("progress", {"date": "soon"}, ["is no date I can read"]),
    ("progress", {"date": "2025-12-01"}, ["has passed"]),
    ("plan", {"minutes": 20}, ["20 minutes on", "What about my hands?", "Stop on pain"]),
    (
        "plan",
        {"minutes": 20, "what": LINK},
        ["20 minutes on 5MP, 2MP", "Break of", "landing is not the goal"],
    ),
    ("plan", {"minutes": 1, "what": LINK}, ["5MP, 2MP"]),
    ("plan", {"minutes": 240, "what": ROUTE}, ["236HP"]),
    ("plan", {"minutes": 20, "what": "anti-airs"}, ["anti-airs"]),
    ("plan", {"minutes": 20, "what": "Odrun: 9QQ, 2MP"}, ["I cannot read"]),
    ("plan", {"minutes": 20, "what": LINK, "date": "in 3 weeks"}, ["When next?"]),
    ("plan", {"minutes": 20, "date": "yesterday"}, ["has passed"]),
]


async def test_reports_say_what_the_log_says_and_refuse_what_it_does_not(world: World) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    for command, options, holds in SAID:
        answer = await salt.ann.slash(salt.channel, command, **options)
        said = text_of(answer).replace("\\", "")
        assert answer.ephemeral, (command, options)
        for words in holds:
            assert words in said, (command, options, said)
        assert "Log a tally" in labels_of(answer), (command, options)


@pytest.mark.parametrize("minutes", [0, 241, -5])
async def test_a_plan_is_for_one_minute_to_four_hours(world: World, minutes: int) -> None:
    """The platform refuses other numbers before they reach the bot."""
    with pytest.raises(simcord.OptionError, match="minutes"):
        await world.salt.ann.slash(world.salt.channel, "plan", minutes=minutes)


PICTURES = [
    ("timing", {}, ["timing.png"]),
    ("timing", {"what": LINK}, ["timing.png"]),
    ("progress", {"what": LINK}, ["progress.png"]),
    ("progress", {}, ["progress.png", "beside.png"]),
]


async def test_pictures_come_with_their_words_for_who_does_not_see_them(world: World) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    await world.env.advance_time(WEEK)
    await log(salt.ann, salt.channel, LINK, "20/30")
    for command, options, names in PICTURES:
        answer = await salt.ann.slash(salt.channel, command, **options)
        alts = alts_of(answer)
        assert files_of(answer) == names, (command, options)
        assert len(alts) == len(names)
        for alt in alts:
            assert 20 < len(alt) <= ALT_CHARACTERS
            assert any(digit in alt for digit in "0123456789")


@pytest.mark.parametrize("what", ["drill: " + "x" * 113, "drill: # **@everyone** <@1> \u202eabc"])
async def test_a_picture_of_anything_is_sent(world: World, what: str) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, what, "7/10")
    await log(salt.ann, salt.channel, what, "2/10", where="ranked")
    answer = await salt.ann.slash(salt.channel, "progress", what=what)
    assert files_of(answer) == ["progress.png"]
    assert "\u202e" not in "".join(alts_of(answer))


async def test_when_pictures_cannot_be_drawn_the_words_come(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    run = world.bot._worker.run

    async def fail(work: Any, *args: Any, **kwargs: Any) -> Any:
        if work.__module__.startswith("bot.render"):
            raise WorkerError("It died.")
        return await run(work, *args, **kwargs)

    monkeypatch.setattr(world.bot._worker, "run", fail)
    for command, options in REPORTS:
        answer = await salt.ann.slash(salt.channel, command, **options)
        assert "2MP" in text_of(answer)
        assert "went wrong" not in text_of(answer)
        assert files_of(answer) == alts_of(answer) == []


async def test_when_the_worker_is_dead_only_what_it_works_out_is_missing(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Timing is worked out there: it is told in one sentence that it has to wait, and asked for again."""
    salt = world.salt
    await practise(salt, salt.ann)

    async def fail(*_: Any, **__: Any) -> Any:
        raise WorkerError("It died.")

    monkeypatch.setattr(world.bot._worker, "run", fail)
    for command, options in (*REPORTS[2:], ("plan", {"minutes": 20})):
        answer = await salt.ann.slash(salt.channel, command, **options)
        assert "5MP, 2MP" in text_of(answer), (command, options)
    for command, options in REPORTS[:2]:
        answer = await salt.ann.slash(salt.channel, command, **options)
        assert answer.ephemeral
        assert "ask again in a moment" in text_of(answer)
        assert labels_of(answer) == ["My timing"]
    monkeypatch.undo()
    again = await salt.ann.click(answer.response, label="My timing")
    assert "ask again in a moment" not in text_of(again)


async def test_the_buttons_of_a_report_lead_to_the_next_one_about_the_same(world: World) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    told = await log(salt.ann, salt.channel, LINK, "3/4")
    progress = await salt.ann.click(told.response, label="My progress")
    assert text_of(progress) == text_of(await salt.ann.slash(salt.channel, "progress", what=LINK))
    timing = await salt.ann.click(progress.response, label="My timing")
    assert text_of(timing) == text_of(await salt.ann.slash(salt.channel, "timing", what=LINK))
    plan = await salt.ann.click(progress.response, label="Plan 20 minutes")
    assert text_of(plan) == text_of(await salt.ann.slash(salt.channel, "plan", minutes=20, what=LINK))


async def test_what_is_practised_is_offered_the_latest_first_with_saved_names(world: World) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
    for command in ("log", "timing", "progress"):
        offered = await salt.ann.autocomplete(salt.channel, command, "what", "")
        values = [one["value"] for one in offered]
        assert values[0] == "anti-airs"
        assert "bread" in values
        assert "Odrun Vale: 5MP, 2MP" in values
    assert await salt.bo.autocomplete(salt.channel, "log", "what", "") == []


async def test_reports_outlive_a_restart(world: World) -> None:
    salt = world.salt
    await practise(salt, salt.ann)
    before = [text_of(await salt.ann.slash(salt.channel, name, **options)) for name, options in REPORTS]
    await world.restart()
    await salt.mod.slash(salt.channel, "game choose")
    after = [text_of(await salt.ann.slash(salt.channel, name, **options)) for name, options in REPORTS]
    assert before == after
