"""Logging by the form: empty, for more of the same, to change a tally, and to mend what was refused."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import deliver_again, delivered_twice, events_seen, failing_after
from chat.practice import (
    LINK,
    RESULT,
    everything,
    filled,
    forge_form,
    form,
    log,
    open_form,
    picked,
    rows,
    tallies_of,
)
from chat.world import World, labels_of, text_of
from net import error_records

EVENT = "INTERACTION_CREATE"
ALL = {"where": ["ranked"], "presses": ["2"], "gaps": "24, 21"}
BESIDE = {"note": "tired", "side": "left", "controller": "pad", "when": "2025-12-31 21:00"}
"""What the form does not ask for."""


def beside(kept: dict[str, Any]) -> dict[str, Any]:
    return {
        "note": kept["note"],
        "side": kept["side"],
        "controller": kept["controller"],
        "when": str(kept["made_at"])[:16],
    }


async def change_last(member: Any, channel: Any) -> Any:
    """The form that changes the member's last tally."""
    shown = await member.slash(channel, "tallies")
    one = await member.select(shown.response, [picked(shown)[0]["value"]])
    return await member.click(one.response, label="Change it")


async def test_a_tally_is_logged_by_form_and_told_to_who_filled_it_in_alone(world: World) -> None:
    salt = world.salt
    shown = await open_form(salt.ann, salt.channel)
    assert shown.modal is not None
    assert shown.modal["title"] == "Log a tally"
    assert set(filled(shown).values()) == {""}
    told = await salt.ann.submit_modal(shown, form(result=RESULT, **ALL))
    assert told.ephemeral
    assert "Logged: 7 of 10 on 5MP, 2MP in ranked matches (2 early, 1 late)." in text_of(told)
    (kept,) = tallies_of(world, salt.ann)
    assert (kept["context"], kept["presses"], kept["gap_frames"]) == ("ranked", 2, "24 21")


async def test_what_is_left_open_is_as_the_last_time(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, where="sparring", presses=2, side="right")
    await salt.ann.submit_modal(await open_form(salt.ann, salt.channel), form(result="1/2"))
    kept = tallies_of(world, salt.ann)[-1]
    assert (kept["context"], kept["presses"], kept["side"]) == ("sparring", 2, "right")


async def test_more_of_it_opens_a_form_for_the_same(world: World) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel, where="ranked", presses=2, gaps="24", note="once")
    shown = await salt.ann.click(card.response, label="Log more of it")
    assert filled(shown) == {"what": LINK_TYPED, "result": "", "where": "ranked", "presses": "2", "gaps": ""}
    await salt.ann.submit_modal(shown, form(LINK_TYPED, "1/3", where=["ranked"], presses=["2"]))
    assert [(one["landed"], one["tries"], one["note"]) for one in tallies_of(world, salt.ann)] == [
        (7, 10, "once"),
        (1, 3, ""),
    ]


LINK_TYPED = "Odrun Vale: 5MP, 2MP"


async def test_changing_shows_the_tally_and_keeps_what_the_form_does_not_ask_for(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result=RESULT, where="ranked", presses=2, gaps="24, 21", **BESIDE)
    before = tallies_of(world, salt.ann)
    shown = await change_last(salt.ann, salt.channel)
    assert shown.modal["title"] == "Change a tally"
    now = filled(shown)
    assert (now["what"], now["where"], now["presses"], now["gaps"]) == (LINK_TYPED, "ranked", "2", "24, 21")
    told = await salt.ann.submit_modal(shown, form(LINK_TYPED, "8/10", where=["sparring"], gaps="22"))
    assert told.ephemeral
    assert "Changed: it now says 8 of 10 on 5MP, 2MP in sparring." in text_of(told)
    (kept,) = tallies_of(world, salt.ann)
    assert kept["id"] == before[0]["id"]
    assert (kept["landed"], kept["early"], kept["context"], kept["gap_frames"]) == (8, 0, "sparring", "22")
    assert kept["made_at"] == before[0]["made_at"]
    assert beside(kept) == beside(before[0])


async def test_the_result_of_a_changed_form_means_what_it_shows(world: World) -> None:
    """Sent back as it was opened, it changes nothing."""
    salt = world.salt
    await log(salt.ann, salt.channel, result="10: 5 hit, 2 early, 1 mashed", where="ranked", **BESIDE)
    before = everything(world)
    shown = await change_last(salt.ann, salt.channel)
    now = filled(shown)
    await salt.ann.submit_modal(shown, {**now, "where": [now["where"]], "presses": [now["presses"]]})
    assert everything(world) == before


@pytest.mark.parametrize("by", ["command", "form"])
async def test_mending_shows_all_that_was_typed_and_keeps_what_the_form_does_not_ask_for(
    world: World, by: str
) -> None:
    salt = world.salt
    if by == "command":
        typed = {"where": "ranked", "presses": 2, "gaps": "24, 21", **BESIDE}
        refused = await log(salt.ann, salt.channel, result="12/10", **typed)
    else:
        shown = await open_form(salt.ann, salt.channel)
        refused = await salt.ann.submit_modal(shown, form(result="12/10", **ALL))
    assert refused.ephemeral
    assert rows(world, "tally") == []
    shown = await salt.ann.click(refused.response, label="Mend it")
    assert filled(shown) == {
        "what": LINK,
        "result": "12/10",
        "where": "ranked",
        "presses": "2",
        "gaps": "24, 21",
    }
    told = await salt.ann.submit_modal(shown, form(result="2/10", **ALL))
    assert "Logged: 2 of 10" in text_of(told)
    (kept,) = tallies_of(world, salt.ann)
    nothing = {"note": "", "side": None, "controller": None, "when": "2026-01-01 00:00"}
    assert beside(kept) == (BESIDE if by == "command" else nothing)


async def test_a_change_that_is_refused_is_mended_as_a_change(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, **BESIDE)
    refused = await salt.ann.submit_modal(
        await change_last(salt.ann, salt.channel), form(LINK_TYPED, "12/10")
    )
    assert labels_of(refused) == ["Mend it"]
    shown = await salt.ann.click(refused.response, label="Mend it")
    assert shown.modal["title"] == "Change a tally"
    await salt.ann.submit_modal(shown, form(LINK_TYPED, "9/10"))
    (kept,) = tallies_of(world, salt.ann)
    assert kept["landed"] == 9
    assert beside(kept) == BESIDE


async def test_what_was_refused_to_one_is_not_shown_to_another(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="12/10", note="mine")
    refused = await log(salt.bo, salt.channel, result="often")
    shown = await salt.bo.click(refused.response, label="Mend it")
    assert filled(shown)["result"] == "often"


async def test_after_a_restart_mending_begins_with_an_empty_form(world: World) -> None:
    salt = world.salt
    refused = await log(salt.ann, salt.channel, result="12/10")
    await world.restart()
    shown = await salt.ann.click(refused.response, label="Mend it")
    assert set(filled(shown).values()) == {""}
    assert "Logged: 7 of 10" in text_of(await salt.ann.submit_modal(shown, form()))


@pytest.mark.parametrize("restarted", [None, False, True], ids=["at once", "later", "after a restart"])
async def test_a_form_delivered_twice_logs_once(world: World, restarted: bool | None) -> None:
    salt = world.salt
    shown = await open_form(salt.ann, salt.channel)
    if restarted is None:
        with delivered_twice(world.env, EVENT):
            told = await salt.ann.submit_modal(shown, form())
    else:
        with events_seen(world.env) as seen:
            told = await salt.ann.submit_modal(shown, form())
        if restarted:
            await world.restart()
        await deliver_again(world.env, seen, EVENT)
    assert "7 of 10 on 5MP, 2MP" in text_of(told)
    assert told.followups == []
    assert len(tallies_of(world, salt.ann)) == 1


async def test_a_form_whose_receipt_is_lost_logs_once_and_is_told_once(world: World) -> None:
    salt = world.salt
    shown = await open_form(salt.ann, salt.channel)
    with (
        error_records("bot") as records,
        failing_after(world.env, "POST", "/interactions/*/callback") as hit,
    ):
        told = await salt.ann.submit_modal(shown, form())
    assert hit
    assert "Logged: 7 of 10" in text_of(told)
    assert told.followups == records == []
    assert len(tallies_of(world, salt.ann)) == 1


@pytest.mark.parametrize("change", [False, True])
async def test_a_form_that_was_opened_before_a_restart_is_taken_after_it(world: World, change: bool) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="1/10", note="kept")
    opened = change_last if change else open_form
    shown = await opened(salt.ann, salt.channel)
    await world.restart()
    told = await salt.ann.submit_modal(shown, form(result="8/10"))
    assert ("Changed: it now says" if change else "Logged:") in text_of(told)
    kept = [(one["landed"], one["note"]) for one in tallies_of(world, salt.ann)]
    assert kept == ([(8, "kept")] if change else [(1, "kept"), (8, "")])


async def test_a_tally_that_is_gone_is_not_changed(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    shown = await change_last(salt.ann, salt.channel)
    await salt.ann.slash(salt.channel, "undo")
    refused = await salt.ann.submit_modal(shown, form(result="8/10"))
    assert refused.ephemeral
    assert "no such tally of yours" in text_of(refused)
    assert tallies_of(world, salt.ann) == []


FORGED = [
    "f1|1|",
    "f1|1|d",
    "f1|-1|",
    "f1|9223372036854775807|",
    "f1|9223372036854775808|",
    "f1|9999999999999999999|",
    "f1|" + "9" * 90 + "|",
    "f1|1|x",
    "f1|",
    "f1|1|d|",
    "f1|１|",
    "f1|one|",
    "f0|1|",
    "f9|1|",
]


async def test_a_form_that_is_forged_changes_nothing_of_others(world: World) -> None:
    """Tally 1 is Ann's."""
    salt = world.salt
    await log(salt.ann, salt.channel)
    before = everything(world)
    for custom_id in FORGED:
        shown = await open_form(salt.bo, salt.channel)
        forge_form(shown, custom_id)
        said = await salt.bo.submit_modal(shown, form(result="1/1"))
        assert said.ephemeral, custom_id
        assert "Saltglass, version" in text_of(said), custom_id
        assert everything(world) == before, custom_id


@pytest.mark.parametrize(
    ("field", "wrong", "right", "kept_as"),
    [
        ("when", "some day", "2025-12-31 21:00", ("made_at", "2025-12-31 21:00")),
        ("note", "n" * 201, "a short one", ("note", "a short one")),
        ("controls", "telepathy", "one-button", ("controls", "one-button")),
    ],
)
async def test_what_the_form_has_no_room_for_is_asked_for_where_it_was_refused(
    world: World, field: str, wrong: str, right: str, kept_as: tuple[str, str]
) -> None:
    salt = world.salt
    refused = await salt.ann.slash(salt.channel, "log", what=LINK, result=RESULT, **{field: wrong})
    shown = await salt.ann.click(refused.response, label="Mend it")
    assert filled(shown)[field] == wrong[:200]
    told = await salt.ann.submit_modal(shown, {"what": LINK, "result": RESULT, field: right})
    assert "Logged: 7 of 10" in text_of(told)
    (kept,) = tallies_of(world, salt.ann)
    column, value = kept_as
    assert str(kept[column])[: len(value)] == value
