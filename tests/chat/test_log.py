"""Logging by command and by button: what is stored, what is said, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import deliver_again, delivered_twice, events_seen, failing_after
from chat.practice import (
    DRILL,
    LINK,
    RESULT,
    ROUTE,
    everything,
    id_of,
    log,
    picked,
    rows,
    tallies_of,
)
from chat.world import World, labels_of, text_of
from net import error_records

from bot.ports import WorkerError

NEXT = ["Landed it again", "Dropped it again", "Log more of it", "Undo", "My progress"]
EVENT = "INTERACTION_CREATE"


def numbers(world: World, member: Any) -> list[tuple[int, int]]:
    """Landed of tries, in the order of logging."""
    return [(one["landed"], one["tries"]) for one in tallies_of(world, member)]


async def test_a_tally_is_logged_by_command_and_told_to_who_made_it_alone(world: World) -> None:
    salt = world.salt
    told = await log(
        salt.ann,
        salt.channel,
        result=RESULT,
        where="sparring",
        presses=2,
        gaps="24, 21 25f",
        side="left",
        controller="stick",
        controls="one-button",
        note="after warming up",
        when="2025-12-31 21:00",
    )
    assert told.ephemeral
    assert text_of(told).strip().startswith("### Logged: 7 of 10 on 5MP, 2MP in sparring (2 early, 1 late).")
    assert labels_of(told) == NEXT
    (kept,) = tallies_of(world, salt.ann)
    assert {name: kept[name] for name in ("tries", "landed", "early", "late", "context", "presses")} == {
        "tries": 10,
        "landed": 7,
        "early": 2,
        "late": 1,
        "context": "sparring",
        "presses": 2,
    }
    assert (kept["side"], kept["controller"], kept["controls"]) == ("left", "stick", "one-button")
    assert (kept["note"], str(kept["made_at"])[:16]) == ("after warming up", "2025-12-31 21:00")


@pytest.mark.parametrize("what", [LINK, ROUTE, DRILL])
async def test_links_routes_and_drills_are_logged_alike(world: World, what: str) -> None:
    salt = world.salt
    assert "Logged: 7 of 10" in text_of(await log(salt.ann, salt.channel, what))
    assert numbers(world, salt.ann) == [(7, 10)]


async def test_the_platform_lists_what_can_be_chosen(world: World) -> None:
    """Where, presses, side and controller are picked from a list: no other value can arrive."""
    root = world.env.backend.find_command("log", world.salt.guild.id, type=1)
    choices = {one["name"]: len(one["choices"]) for one in root["options"] if one.get("choices")}
    assert choices == {"where": 5, "presses": 2, "side": 2, "controller": 4}


async def test_one_more_try_is_a_press_and_changes_the_card_in_place(world: World) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel, where="ranked", presses=2)
    await salt.ann.click(card.response, label="Landed it again")
    assert "Logged: 1 of 1 on 5MP, 2MP in ranked matches." in text_of(card)
    assert "8 of 11" in text_of(card)
    await salt.ann.click(card.response, label="Dropped it again")
    assert "8 of 12" in text_of(card)
    assert labels_of(card) == NEXT
    assert numbers(world, salt.ann) == [(7, 10), (1, 1), (0, 1)]
    assert {(one["context"], one["presses"]) for one in tallies_of(world, salt.ann)} == {("ranked", 2)}


CANNOT_BE = [
    ({"result": "12/10"}, "12 landed are more than 10 tries: 10 can land at most."),
    ({"result": "10: 7 hit, 4 early"}, "are more than 10 tries"),
    ({"result": "-3/10"}, "is no count I can read"),
    ({"result": "0/0"}, "One tally has 1 to 1,000 tries, not 0"),
    ({"result": "1/1001"}, "not 1,001"),
    ({"result": "9" * 300}, "is no count I can read"),
    ({"result": "often"}, "is no count I can read"),
    ({"gaps": "24, -1"}, "are no gaps I can read"),
    ({"gaps": "24, 0"}, "A gap of 0 frames cannot be"),
    ({"gaps": "24, 601"}, "A gap of 601 frames cannot be"),
    ({"gaps": "24 " * 11}, "11 gaps are more than 10 tries"),
    ({"when": "2027-01-01 10:00"}, "has not come yet"),
    ({"when": "1999-01-01 10:00"}, "is too long ago"),
    ({"when": "whenever"}, "is no time I can read"),
    ({"note": "x" * 201}, "The note is too long"),
    ({"controls": "pedals"}, "is no control scheme of this game"),
    ({"what": "5MP, 2MP"}, "fits more than one character"),
    ({"what": "Nobody: 5MP, 2MP"}, "There is no character in"),
    ({"what": "Odrun: 5MP"}, "a single move has no press to time"),
    ({"what": "drill:"}, "Words are missing"),
    ({"what": "drill: " + "x" * 121}, "too long"),
]


@pytest.mark.parametrize(("options", "said"), CANNOT_BE, ids=[str(options)[:40] for options, _ in CANNOT_BE])
async def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_stored(
    world: World, options: dict[str, str], said: str
) -> None:
    salt = world.salt
    refused = await log(salt.ann, salt.channel, **options)
    lead, source = text_of(refused).strip().splitlines()
    assert refused.ephemeral
    assert said in lead.replace("\\", "")
    assert source.startswith("-# Saltglass")
    assert labels_of(refused) == ["Mend it"]
    assert rows(world, "tally") == rows(world, "subject") == rows(world, "total") == []


async def test_early_and_late_and_gaps_reach_the_sentence_on_timing(world: World) -> None:
    salt = world.salt
    early = await log(salt.ann, salt.channel, result="60: 30 hit, 29 early, 1 late")
    late = await log(salt.bo, salt.channel, result="60: 30 hit, 1 early, 29 late")
    assert "early after 5MP" in text_of(early)
    assert "late after 5MP" in text_of(late)
    gaps = await log(salt.mod, salt.channel, result="30/60", gaps="18 " * 30)
    assert "early after 5MP" in text_of(gaps)


async def test_below_ten_tries_nothing_is_claimed(world: World) -> None:
    told = await log(world.salt.ann, world.salt.channel, result="9: 1 hit, 8 early")
    assert "too few tries to tell" in text_of(told).casefold()


async def test_the_first_that_lands_after_a_bout_without_any_is_told(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="0/20")
    told = await log(salt.ann, salt.channel, result="5/20")
    assert "The first time this landed, after 20 tries without." in text_of(told)
    assert "up from 0 of 20" in text_of(told)


async def test_a_command_delivered_twice_at_once_logs_once(world: World) -> None:
    salt = world.salt
    with delivered_twice(world.env, EVENT):
        told = await log(salt.ann, salt.channel)
    assert "Logged: 7 of 10" in text_of(told)
    assert numbers(world, salt.ann) == [(7, 10)]


@pytest.mark.parametrize("restarted", [False, True])
async def test_a_command_delivered_again_later_logs_once(world: World, restarted: bool) -> None:
    salt = world.salt
    with events_seen(world.env) as seen:
        told = await log(salt.ann, salt.channel)
    if restarted:
        await world.restart()
    before = everything(world)
    await deliver_again(world.env, seen, EVENT)
    assert everything(world) == before
    assert numbers(world, salt.ann) == [(7, 10)]
    assert "7 of 10 on 5MP, 2MP" in text_of(told)
    assert told.followups == []


BUTTONS = {
    "Landed it again": [(7, 10), (1, 1)],
    "Dropped it again": [(7, 10), (0, 1)],
    "Undo": [],
    "Put it back": [(7, 10)],
}


@pytest.mark.parametrize("restarted", [None, False, True], ids=["at once", "later", "after a restart"])
@pytest.mark.parametrize("label", BUTTONS)
async def test_a_press_delivered_twice_acts_once(world: World, label: str, restarted: bool | None) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel)
    if label == "Put it back":
        await salt.ann.click(card.response, label="Undo")
    if restarted is None:
        with delivered_twice(world.env, EVENT):
            await salt.ann.click(card.response, label=label)
    else:
        with events_seen(world.env) as seen:
            await salt.ann.click(card.response, label=label)
        if restarted:
            await world.restart()
        await deliver_again(world.env, seen, EVENT)
    assert numbers(world, salt.ann) == BUTTONS[label]
    assert "went wrong" not in text_of(card)


async def test_undo_delivered_again_after_a_restart_does_not_take_out_the_one_before(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="1/10")
    await log(salt.ann, salt.channel, result="2/10")
    with events_seen(world.env) as seen:
        await salt.ann.slash(salt.channel, "undo")
    await world.restart()
    await deliver_again(world.env, seen, EVENT)
    assert numbers(world, salt.ann) == [(1, 10)]


LOST = [("POST", "/interactions/*/callback", 502, 0), ("POST", "/interactions/*/callback", 400, 40060)]


@pytest.mark.parametrize(("method", "path", "status", "code"), LOST, ids=["never came", "sent again"])
async def test_a_command_whose_first_receipt_is_lost_logs_once_and_is_told_once(
    world: World, method: str, path: str, status: int, code: int
) -> None:
    """The platform took that we are at it, and we never heard so."""
    salt = world.salt
    lost = failing_after(world.env, method, path, status=status, code=code)
    with error_records("bot") as records, lost as hit:
        told = await log(salt.ann, salt.channel)
    assert hit
    assert "Logged: 7 of 10" in text_of(told)
    assert told.followups == records == []
    assert numbers(world, salt.ann) == [(7, 10)]


@pytest.mark.parametrize(("method", "path", "status", "code"), LOST, ids=["never came", "sent again"])
async def test_a_press_whose_first_receipt_is_lost_logs_once_and_is_told_once(
    world: World, method: str, path: str, status: int, code: int
) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel)
    lost = failing_after(world.env, method, path, status=status, code=code)
    with error_records("bot") as records, lost as hit:
        pressed = await salt.ann.click(card.response, label="Landed it again")
    assert hit
    assert "Logged: 1 of 1" in text_of(card)
    assert pressed.followups == records == []
    assert numbers(world, salt.ann) == [(7, 10), (1, 1)]


async def test_an_answer_that_is_lost_at_last_leaves_one_tally_and_one_number(world: World) -> None:
    """The card arrived; that it did was lost, and all the library's tries after it: one apology stands beside
    it, and nothing is logged again."""
    salt = world.salt
    with (
        error_records("bot.client.policy") as records,
        failing_after(world.env, "PATCH", "/webhooks/*/messages/@original") as hit,
    ):
        told = await log(salt.ann, salt.channel)
    assert hit
    assert "Logged: 7 of 10" in text_of(told)
    assert ["reference" in one.content for one in told.followups] == [True]
    assert len(records) == 1
    assert numbers(world, salt.ann) == [(7, 10)]
    _ = world.env.errors  # simcord notes it although it was handled: reading acknowledges it


async def test_undo_takes_out_the_last_and_it_can_be_put_back(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, result="1/10")
    await log(salt.ann, salt.channel, result="2/10")
    undone = await salt.ann.slash(salt.channel, "undo")
    assert undone.ephemeral
    assert "Taken out: 2 of 10" in text_of(undone)
    assert numbers(world, salt.ann) == [(1, 10)]
    await salt.ann.click(undone.response, label="Put it back")
    assert "Back in the log: 2 of 10" in text_of(undone)
    assert numbers(world, salt.ann) == [(1, 10), (2, 10)]


async def test_undo_with_nothing_logged_says_so(world: World) -> None:
    refused = await world.salt.ann.slash(world.salt.channel, "undo")
    assert refused.ephemeral
    assert "no tally of yours here to take out" in text_of(refused)
    assert labels_of(refused) == ["Log a tally"]


async def test_twelve_tallies_are_listed_on_two_pages_and_each_can_be_picked(world: World) -> None:
    salt = world.salt
    for landed in range(1, 13):
        await log(salt.ann, salt.channel, result=f"{landed}/20")
    first = await salt.ann.slash(salt.channel, "tallies")
    assert first.ephemeral
    second = await salt.ann.click(first.response, label="Older ones")
    assert second.ephemeral
    assert (len(picked(first)), len(picked(second))) == (10, 2)
    assert "Older ones" not in labels_of(second)
    assert ["2MP, 12 of 20" in text_of(one) for one in (first, second)] == [True, False]
    assert ["2MP, 1 of 20" in text_of(one) for one in (first, second)] == [False, True]
    one = await salt.ann.select(second.response, [picked(second)[-1]["value"]])
    assert one.ephemeral
    assert text_of(one).strip().startswith("### 1 of 20 on 5MP, 2MP in training.")
    assert labels_of(one) == ["Change it", "Undo", "Log more of it", "My tallies"]


async def test_buttons_and_lists_outlive_a_restart(world: World) -> None:
    salt = world.salt
    card = await log(salt.ann, salt.channel, result=RESULT)
    shown = await salt.ann.slash(salt.channel, "tallies")
    await world.restart()
    one = await salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert "7 of 10 on 5MP, 2MP" in text_of(one)
    assert "5MP, 2MP" in text_of(await salt.ann.click(card.response, label="My progress"))
    await salt.ann.click(card.response, label="Landed it again")
    assert "8 of 11" in text_of(card)
    assert id_of(card, "Undo").endswith("|2")


async def test_when_the_worker_fails_the_tally_is_logged_and_told_all_the_same(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fail(*_: object, **__: object) -> None:
        raise WorkerError("It died.")

    monkeypatch.setattr(world.bot._worker, "run", fail)
    salt = world.salt
    told = await log(salt.ann, salt.channel, result=RESULT)
    assert "Logged: 7 of 10 on 5MP, 2MP in training (2 early, 1 late)." in text_of(told)
    assert numbers(world, salt.ann) == [(7, 10)]
    await salt.ann.click(told.response, label="Dropped it again")
    assert "7 of 11" in text_of(told)


async def test_a_members_own_character_need_not_be_named(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="odrun")
    assert "Logged: 7 of 10 on 5MP, 2MP" in text_of(await log(salt.ann, salt.channel, "5MP, 2MP"))
    offered = await salt.ann.autocomplete(salt.channel, "log", "what", "5m")
    assert [one["value"] for one in offered] == ["5MP, 2MP"]
