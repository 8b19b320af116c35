"""A route is judged in chat: typed, saved, failing, mended, and opened again."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import delivered_twice
from chat.practice import everything, forge, picked, rows
from chat.world import World, labels_of, text_of

BNB = "Odrun: 5MP, 2MP xx 236HP"
FAILS = "Odrun: 5MP, 5HP xx 236HP"
EVENT = "INTERACTION_CREATE"


async def check(world: World, moves: str = BNB, **options: Any) -> Any:
    """Check a route as Ann."""
    salt = world.salt
    return await salt.ann.slash(salt.channel, "route check", moves=moves, **options)


def values(answer: Any) -> dict[str, str]:
    """What a list offers: labels with what is sent."""
    return {one["label"]: one["value"] for one in picked(answer)}


async def test_a_route_that_works_is_told_step_by_step_in_private(world: World) -> None:
    told = await check(world)
    text = text_of(told)
    assert told.ephemeral
    assert "This works: 5MP, 2MP xx 236HP does 1,710 damage." in text
    assert "2MP links: press it 28 to 32 frames after 5MP; it must start in a window of 2 frames" in text
    assert "236HP cancels: press it any time up to 19 frames after 2MP." in text
    assert "Typical hands land it about 87 % of the time" in text
    assert labels_of(told) == [
        "Inputs", "Rhythm sheet", "Click track", "Log a tally", "Make it a drill", "Save it"
    ]  # fmt: skip
    assert picked(told) == []


async def test_a_route_that_fails_says_why_and_each_repair_opens_in_its_own_notation(world: World) -> None:
    salt = world.salt
    told = await check(world, FAILS)
    assert "5HP starts 3 frames too late after 5MP, but 5MP fits there." in text_of(told)
    assert "Step by step" not in labels_of(told)
    assert "Rhythm sheet" not in labels_of(told)
    assert "Routes from here" in labels_of(told)
    mended = values(told)
    assert list(mended) == [
        "5MP, 5MP xx 236HP",
        "off balance 5MP, 5HP xx 236HP",
        "meaty(4) 5MP, 5HP xx 236HP",
    ]
    for route, number in mended.items():
        opened = await salt.ann.select(told.response, [number])
        assert opened.ephemeral
        assert f"This works: {route} does" in text_of(opened)


async def test_repairs_open_after_a_restart(world: World) -> None:
    told = await check(world, FAILS)
    number = values(told)["5MP, 5MP xx 236HP"]
    await world.restart()
    opened = await world.salt.ann.select(told.response, [number])
    assert "This works: 5MP, 5MP xx 236HP does" in text_of(opened)


async def test_the_hit_state_of_a_check_stays_with_the_route(world: World) -> None:
    told = await check(world, "Odrun: 5MP, 5HP", state="off balance")
    assert "This works: off balance 5MP, 5HP does" in text_of(told)
    assert [one["what"] for one in rows(world, "subject")] == ["off balance 5MP, 5HP"]


async def test_gauge_distance_and_the_air_are_taken_as_given(world: World) -> None:
    ex = "Odrun: 5HP xx 214KK"
    assert "your gauges are full" in text_of(await check(world, ex))
    short = text_of(await check(world, ex, gauge="salt 30"))
    assert "does not work: 214KK costs 40 salt, and there is" in short
    assert "you have 200 glow and 30 salt" in short
    assert "you have no gauge" in text_of(await check(world, BNB, gauge="none"))
    far = text_of(await check(world, BNB, distance=9.0))
    assert "9 steps away" in far
    assert "does not work" in far
    assert "in the air already" in text_of(await check(world, BNB, airborne=True))


@pytest.mark.parametrize(
    ("moves", "options", "said"),
    [
        ("Odrun: 9QQ, 2MP", {}, "I cannot read “9QQ, 2MP”"),
        ("Odrun: 5MP", {}, "a single move has no press to time"),
        ("5MP, 2MP", {}, "fits more than one character"),
        ("drill: block", {}, "a drill in words has no moves to look at"),
        (BNB, {"gauge": "pepper 3"}, "this game has glow, salt"),
        (BNB, {"gauge": "salt 500"}, "that gauge holds 120 at most"),
        (BNB, {"state": "blocked"}, "it has counter hit, off balance"),
        ("x" * 3000, {}, "too long"),
    ],
)
async def test_what_cannot_be_checked_is_refused_in_one_sentence(
    world: World, moves: str, options: dict[str, Any], said: str
) -> None:
    refused = await check(world, moves, **options)
    assert refused.ephemeral
    assert said in text_of(refused)
    assert labels_of(refused) == ["My routes", "Shared routes"]
    assert rows(world, "subject") == []


async def test_a_saved_route_is_opened_by_its_name(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=BNB, name="bread")
    offered = await salt.ann.autocomplete(salt.channel, "route open", "name", "br")
    assert [one["value"] for one in offered] == ["bread"]
    opened = await salt.ann.slash(salt.channel, "route open", name="BREAD")
    assert "“bread” works: 5MP, 2MP xx 236HP does 1,710 damage." in text_of(opened)
    assert "Share it" in labels_of(opened)
    assert "Save it" not in labels_of(opened)
    refused = await salt.ann.slash(salt.channel, "route open", name="butter")
    assert "No route of yours is saved as “butter”" in text_of(refused)
    other = await salt.bo.slash(salt.channel, "route open", name="bread")
    assert "No route of yours is saved as “bread”" in text_of(other)


async def test_hit_states_of_the_server_s_game_are_offered(world: World) -> None:
    salt = world.salt
    offered = await salt.ann.autocomplete(salt.channel, "route check", "state", "")
    assert [one["value"] for one in offered] == ["counter hit", "off balance"]


async def test_checking_twice_or_delivered_twice_keeps_one_subject_and_no_tally(world: World) -> None:
    with delivered_twice(world.env, EVENT):
        await check(world)
    await check(world, "Odrun: 5MP > 2MP > 236HP")
    assert [one["what"] for one in rows(world, "subject")] == ["5MP, 2MP xx 236HP"]
    assert rows(world, "tally") == []


async def test_a_number_of_somebody_else_opens_nothing(world: World) -> None:
    salt = world.salt
    await check(world)
    (ann,) = rows(world, "subject")
    others = await salt.bo.slash(salt.channel, "route check", moves="Odrun: 5MP, 2MP")
    forge(world, salt.channel, others, f"t1|route|{ann['id']}")
    refused = await salt.bo.click(others.response, custom_id=f"t1|route|{ann['id']}")
    assert refused.ephemeral
    assert "There is no such route of yours any more" in text_of(refused)
    assert "236HP" not in text_of(refused)


async def test_a_list_of_another_version_opens_nothing(world: World) -> None:
    salt = world.salt
    told = await check(world, FAILS)
    number = values(told)["5MP, 5MP xx 236HP"]
    forge(world, salt.channel, told, "o2", kind=3)
    before = everything(world)
    gone = await salt.ann.select(told.response, [number])
    assert gone.ephemeral
    assert "This works" not in text_of(gone)
    assert everything(world) == before


async def test_what_works_on_somebody_in_the_air_alone_says_so_first(world: World) -> None:
    kite = world.kite
    told = await kite.ann.slash(kite.channel, "route check", moves="Marrable: 5L, 5L")
    assert "This works on somebody in the air: 5L, 5L does 45 damage." in text_of(told)
    assert "They are in the air already" in text_of(told)
