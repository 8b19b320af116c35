"""Routes that members keep under names of their own."""

from __future__ import annotations

from chat.faults import deliver_again, delivered_twice, events_seen
from chat.practice import DRILL, LINK, ROUTE, log, rows, tallies_of
from chat.world import World, labels_of, text_of

EVENT = "INTERACTION_CREATE"


async def test_a_route_is_saved_listed_logged_by_its_name_and_forgotten(world: World) -> None:
    salt = world.salt
    assert "no saved routes" in text_of(await salt.ann.slash(salt.channel, "route list"))
    saved = await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread and butter")
    assert saved.ephemeral
    assert "Saved as “bread and butter”: 5MP, 2MP xx 236HP." in text_of(saved)
    listed = await salt.ann.slash(salt.channel, "route list")
    assert "bread and butter: 5MP, 2MP xx 236HP (Odrun Vale, game file" in text_of(listed)
    logged = await log(salt.ann, salt.channel, "Bread  AND butter")
    assert "Logged: 7 of 10 on 5MP, 2MP xx 236HP" in text_of(logged)
    offered = await salt.ann.autocomplete(salt.channel, "route forget", "name", "bre")
    assert [one["value"] for one in offered] == ["bread and butter"]
    gone = await salt.ann.slash(salt.channel, "route forget", name="bread and butter")
    assert "“bread and butter” is forgotten" in text_of(gone)
    assert rows(world, "route") == []
    assert len(tallies_of(world, salt.ann)) == 1
    refused = await log(salt.ann, salt.channel, "bread and butter")
    assert labels_of(refused) == ["Mend it"]


async def test_routes_and_their_names_outlive_a_restart(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=LINK, name="bread")
    await world.restart()
    assert "bread: 5MP, 2MP" in text_of(await salt.ann.slash(salt.channel, "route list"))
    assert "7 of 10 on 5MP, 2MP" in text_of(await log(salt.ann, salt.channel, "bread"))
    assert "5MP, 2MP" in text_of(await salt.ann.slash(salt.channel, "progress", what="bread"))


async def test_a_name_that_is_used_again_means_the_new_route(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=LINK, name="bread")
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="BREAD")
    assert [one["notation"] for one in rows(world, "route")] == ["5MP, 2MP xx 236HP"]


async def test_routes_of_others_are_neither_found_nor_offered_nor_forgotten(world: World) -> None:
    salt = world.salt
    there = world.kite.guild.add_member(salt.ann.user)
    await salt.ann.slash(salt.channel, "route save", moves=LINK, name="bread")
    for member, channel in ((salt.bo, salt.channel), (there, world.kite.channel)):
        assert "bread" not in text_of(await member.slash(channel, "route list"))
        assert await member.autocomplete(channel, "route forget", "name", "") == []
        refused = await member.slash(channel, "route forget", name="bread")
        assert "No route of yours is saved as" in text_of(refused)
        assert "Logged" not in text_of(await log(member, channel, "bread"))
    assert len(rows(world, "route")) == 1


async def test_what_is_no_route_or_no_name_is_refused_in_private(world: World) -> None:
    salt = world.salt
    for moves, name, said in (
        (DRILL, "bread", "only moves can be saved"),
        ("Odrun: 9QQ, 2MP", "bread", "I cannot read"),
        ("5MP, 2MP", "bread", "fits more than one character"),
        (LINK, "  ", "there is none"),
        (LINK, "x" * 200, "is too long"),
    ):
        refused = await salt.ann.slash(salt.channel, "route save", moves=moves, name=name)
        assert refused.ephemeral
        assert said in text_of(refused)
    assert rows(world, "route") == []


async def test_saving_and_forgetting_delivered_twice_act_once(world: World) -> None:
    salt = world.salt
    with delivered_twice(world.env, EVENT):
        await salt.ann.slash(salt.channel, "route save", moves=LINK, name="bread")
    assert len(rows(world, "route")) == 1
    with events_seen(world.env) as seen:
        await salt.ann.slash(salt.channel, "route forget", name="bread")
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
    await world.restart()
    await deliver_again(world.env, seen, EVENT)
    assert [one["notation"] for one in rows(world, "route")] == ["5MP, 2MP xx 236HP"]
