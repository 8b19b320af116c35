"""A member's own data: seen, taken out whole, and erased for good."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest
from chat.faults import deliver_again, events_seen
from chat.practice import DRILL, LINK, ROUTE, TABLES, everything, files_of, log, rows, tallies_of
from chat.world import World, labels_of, text_of

NOTE = "a note that must not stay"


async def fill(member: Any, channel: Any) -> None:
    """Three tallies, one of them taken out, routes that are saved, shared and converted into, a question
    of the quiz, and choices."""
    await log(member, channel, LINK, "10: 7 hit, 2 early", note=NOTE, controller="pad")
    await log(member, channel, DRILL, "1/2")
    await log(member, channel, ROUTE, "3/4")
    await member.slash(channel, "undo")
    await member.slash(channel, "route save", moves=ROUTE, name="bread", tags="corner")
    await member.slash(channel, "route save", moves=LINK, name="link")
    await member.slash(channel, "route share", name="bread")
    await member.slash(channel, "character", name="Odrun")
    await member.slash(channel, "conversion set", starter="5MP", situation="hit", route="bread")
    await member.slash(channel, "conversion quiz")
    await member.slash(channel, "goal", share="70")


async def sent_files(world: World, monkeypatch: pytest.MonkeyPatch, member: Any, channel: Any) -> Any:
    """The files of a download as they went out, by name: the simulator keeps only their names."""
    sent: dict[str, bytes] = {}
    reply = world.bot.reply

    async def noting(interaction: Any, view: Any, *, private: bool = False, files: Any = ()) -> None:
        for file in files:
            sent[file.filename] = file.fp.read()
            file.fp.seek(0)
        await reply(interaction, view, private=private, files=files)

    monkeypatch.setattr(world.bot, "reply", noting)
    answer = await member.slash(channel, "mydata download")
    assert answer.ephemeral
    assert files_of(answer) == ["cornerman.json", "cornerman.csv"]
    return sent


async def test_what_is_kept_is_told_with_what_can_be_done_about_it(world: World) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    shown = await salt.ann.slash(salt.channel, "mydata show")
    assert shown.ephemeral
    assert "2 tallies, 2 routes" in text_of(shown)
    assert "1 route that you shared with the server" in text_of(shown)
    assert "1 conversion on your sheet" in text_of(shown)
    assert "Your goal: 70 %." in text_of(shown)
    assert "You alone" in text_of(shown)
    assert labels_of(shown) == ["Send me everything", "Erase everything"]
    pressed = await salt.ann.click(shown.response, label="Send me everything")
    assert pressed.ephemeral
    assert files_of(pressed) == ["cornerman.json", "cornerman.csv"]


async def test_both_files_hold_all_of_the_member_and_nothing_of_others(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    await log(salt.bo, salt.channel, "drill: of another", "1/2")
    sent = await sent_files(world, monkeypatch, salt.ann, salt.channel)
    whole = json.loads(sent["cornerman.json"])
    table = list(csv.DictReader(io.StringIO(sent["cornerman.csv"].decode("utf-8-sig"))))
    assert [one["landed"] for one in whole["tallies"]] == [7, 1, 3]
    assert [one["landed"] for one in table] == ["7", "1", "3"]
    assert [one["note"] for one in table] == [NOTE, "", ""]
    assert [(one["name"], one["tags"]) for one in whole["routes"]] == [("bread", ["corner"]), ("link", [])]
    assert [one["name"] for one in whole["shared_routes"]] == ["bread"]
    assert [one["starter"] for one in whole["conversions"]] == ["5MP"]
    assert whole["settings"]["goal"] == 0.7
    assert b"of another" not in sent["cornerman.json"] + sent["cornerman.csv"]


async def test_with_nothing_kept_the_files_are_empty_and_erasing_says_so(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    sent = await sent_files(world, monkeypatch, salt.ann, salt.channel)
    assert json.loads(sent["cornerman.json"])["tallies"] == []
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    await salt.ann.click(asked.response, label="Yes, erase everything")
    assert "there were no tallies" in text_of(asked)


async def test_asking_to_erase_erases_nothing_until_it_is_confirmed(world: World) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    before = everything(world)
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    assert asked.ephemeral
    assert "This erases 2 tallies, your routes and your choices" in text_of(asked)
    assert labels_of(asked) == ["Yes, erase everything", "Send me everything"]
    assert everything(world) == before


async def test_what_is_erased_is_gone_from_every_table_and_from_the_file_at_once(world: World) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    assert all(rows(world, table) for table in TABLES)
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    await salt.ann.click(asked.response, label="Yes, erase everything")
    assert "Erased: 3 tallies" in text_of(asked)
    assert labels_of(asked) == []
    whose = [table for table in TABLES if table != "member"]
    assert {table: rows(world, table) for table in whose} == {table: [] for table in whose}
    left = [one["member_id"] for one in rows(world, "member")]
    assert left == [world.kite.mod.id], "who chose the other server's game stands on its list of deeds"
    for file in world.folder.glob("cornerman.db*"):
        assert NOTE.encode() not in file.read_bytes(), file.name
    assert "Nothing yet." in text_of(await salt.ann.slash(salt.channel, "mydata show"))
    await world.restart()
    assert "0 tallies, 0 routes" in text_of(await salt.ann.slash(salt.channel, "mydata show"))


async def test_erasing_twice_or_delivered_twice_harms_nobody(world: World) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    await log(salt.bo, salt.channel)
    cards = [await salt.ann.slash(salt.channel, "mydata erase") for _ in range(2)]
    with events_seen(world.env) as seen:
        for card in cards:
            await salt.ann.click(card.response, label="Yes, erase everything")
    assert "Erased: 3 tallies" in text_of(cards[0])
    assert "there were no tallies" in text_of(cards[1])
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert len(tallies_of(world, salt.bo)) == 1


async def test_what_is_logged_after_erasing_outlives_the_press_delivered_again(world: World) -> None:
    salt = world.salt
    await fill(salt.ann, salt.channel)
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    with events_seen(world.env) as seen:
        await salt.ann.click(asked.response, label="Yes, erase everything")
    await log(salt.ann, salt.channel, result="1/1")
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert [one["tries"] for one in tallies_of(world, salt.ann)] == [1]


async def test_buttons_of_erased_tallies_bring_nothing_back(world: World) -> None:
    salt = world.salt
    cards = [await log(salt.ann, salt.channel) for _ in range(4)]
    undone = await salt.ann.slash(salt.channel, "undo")
    refused = await log(salt.ann, salt.channel, result="12/10", note=NOTE)
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    await salt.ann.click(asked.response, label="Yes, erase everything")
    for card, label in zip(
        cards, ("Landed it again", "Dropped it again", "Undo", "My progress"), strict=True
    ):
        pressed = await salt.ann.click(card.response, label=label)
        assert "no such tally of yours" in text_of(pressed), label
    await salt.ann.click(undone.response, label="Put it back")
    mending = await salt.ann.click(refused.response, label="Mend it")
    assert "12/10" not in str(mending.modal)
    assert rows(world, "tally") == []
