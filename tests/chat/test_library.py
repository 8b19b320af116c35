"""Routes that members share with everybody in their server."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import deliver_again, delivered_twice, events_seen
from chat.practice import LINK, ROUTE, everything, forge, id_of, picked, pings_nobody, rows
from chat.world import Server, World, labels_of, text_of

EVENT = "INTERACTION_CREATE"
ONE_OF_ANN = "“bread” of Odrun Vale: 5MP, 2MP xx 236HP."


async def share(member: Any, channel: Any, moves: str = ROUTE, name: str = "bread", **options: Any) -> Any:
    """A route saved and shared."""
    await member.slash(channel, "route save", moves=moves, name=name, **options)
    return await member.slash(channel, "route share", name=name)


async def open_shared(member: Any, salt: Server) -> Any:
    """The first route of the library, as this member sees it."""
    listed = await member.slash(salt.channel, "route shared")
    return await member.select(listed.response, [picked(listed)[0]["value"]])


def names(world: World, table: str = "library") -> list[str]:
    return [one["name"] for one in rows(world, table)]


async def test_a_route_is_shared_seen_by_another_member_and_kept(world: World) -> None:
    salt = world.salt
    assert "Nobody has shared a route here yet" in text_of(await salt.bo.slash(salt.channel, "route shared"))
    shared = await share(salt.ann, salt.channel, tags="corner")
    assert shared.ephemeral
    assert "Shared with everybody in the server: “bread”, 5MP, 2MP xx 236HP." in text_of(shared)
    listed = await salt.bo.slash(salt.channel, "route shared")
    assert not listed.ephemeral
    assert pings_nobody(world, salt.channel, listed)
    assert "**Odrun Vale**\n- bread: 5MP, 2MP xx 236HP (tags: corner)" in text_of(listed)
    (option,) = picked(listed)
    shown = await salt.bo.select(listed.response, [option["value"]])
    assert shown.ephemeral
    assert ONE_OF_ANN in text_of(shown)
    assert "tags: corner" in text_of(shown)
    assert labels_of(shown) == ["Save it for me", "Step by step"]
    opened = await salt.bo.click(shown.response, label="Step by step")
    assert "5MP" in text_of(opened)
    kept = await salt.bo.click(shown.response, label="Save it for me")
    assert kept.ephemeral
    assert "Saved for you as “bread”: 5MP, 2MP xx 236HP." in text_of(kept)
    assert "Inputs" in labels_of(kept)
    own = text_of(await salt.bo.slash(salt.channel, "route list"))
    assert "- bread: 5MP, 2MP xx 236HP (tags: corner)" in own


async def test_the_library_is_listed_by_character_and_tag_which_are_offered(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel, tags="corner")
    await share(salt.bo, salt.channel, "Mirrel: 5MP, 2MP", "meaty start", tags="meaty")
    of_mirrel = await salt.ann.slash(salt.channel, "route shared", character="Mirrel Quay")
    assert "Shared here: 1 route of Mirrel Quay." in text_of(of_mirrel)
    assert "bread" not in text_of(of_mirrel)
    assert labels_of(of_mirrel) == ["Shared routes", "My routes"]
    tagged = text_of(await salt.ann.slash(salt.channel, "route shared", tag="#corner"))
    assert "Shared here: 1 route with the tag corner." in tagged
    none = await salt.ann.slash(salt.channel, "route shared", character="mirrel", tag="corner")
    assert none.ephemeral
    assert "No shared route of Mirrel Quay has the tag corner." in text_of(none)
    unknown = await salt.ann.slash(salt.channel, "route shared", character="zzzz")
    assert unknown.ephemeral
    assert "There is no character in “zzzz”" in text_of(unknown)
    for option, typed, value in (("tag", "me", "meaty"), ("character", "mirr", "Mirrel Quay")):
        offered = await salt.ann.autocomplete(salt.channel, "route shared", option, typed)
        assert [one["value"] for one in offered] == [value]
    offered = await salt.ann.autocomplete(salt.channel, "route share", "name", "br")
    assert [one["value"] for one in offered] == ["bread"]


async def test_a_route_is_shared_by_its_button_and_named_first_where_it_has_no_name(world: World) -> None:
    salt = world.salt
    saved = await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
    button = id_of(saved, "Share it")
    shared = await salt.ann.click(saved.response, custom_id=button)
    assert "Shared with everybody" in text_of(shared)
    assert names(world) == ["bread"]
    await salt.ann.click(shared.response, label="Take it out")
    await salt.ann.slash(salt.channel, "route forget", name="bread")
    form = await salt.ann.click(saved.response, custom_id=button)
    again = await salt.ann.submit_modal(form, {"name": "butter", "tags": ""})
    assert "Share it" in labels_of(again)
    assert names(world) == []
    await salt.ann.click(again.response, label="Share it")
    assert names(world) == ["butter"]


async def test_a_name_is_the_server_s(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    refused = await share(salt.bo, salt.channel, LINK, "Bread")
    assert refused.ephemeral
    assert "Somebody else has shared a route of Odrun Vale as “bread”" in text_of(refused)
    again = await share(salt.ann, salt.channel, LINK, "bread")
    assert "Shared again, in place of what you had shared as “bread” before: 5MP, 2MP." in text_of(again)
    assert [one["notation"] for one in rows(world, "library")] == ["5MP, 2MP"]


async def test_a_copy_leaves_what_one_has_of_that_name_alone(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    await salt.bo.slash(salt.channel, "route save", moves=LINK, name="bread")
    card = await open_shared(salt.bo, salt)
    kept = text_of(await salt.bo.click(card.response, label="Save it for me"))
    assert "Saved for you as “bread 2”" in kept
    assert "Another route of yours is called “bread”, so this one is “bread 2”." in kept
    again = text_of(await salt.bo.click(card.response, label="Save it for me"))
    assert "You have this already, saved as “bread 2”" in again
    assert sorted(names(world, "route")) == ["bread", "bread", "bread 2"]


async def test_who_shared_a_route_takes_it_out_and_copies_stay(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    other = await open_shared(salt.bo, salt)
    await salt.bo.click(other.response, label="Save it for me")
    card = await open_shared(salt.ann, salt)
    assert "You shared it." in text_of(card)
    gone = await salt.ann.click(card.response, label="Take it out")
    assert "“bread” is taken out of the shared routes" in text_of(gone)
    assert names(world) == []
    assert names(world, "route") == ["bread", "bread"]
    late = await salt.bo.click(other.response, label="Save it for me")
    assert "not among the server's shared routes any more" in text_of(late)


async def test_a_moderator_takes_out_what_others_shared_and_a_plain_member_may_not(world: World) -> None:
    salt = world.salt
    shared = await share(salt.ann, salt.channel)
    forged = id_of(shared, "Take it out")
    own = await salt.bo.slash(salt.channel, "route list")
    forge(world, salt.channel, own, forged)
    refused = await salt.bo.click(own.response, custom_id=forged)
    assert refused.ephemeral
    assert "only they or a moderator of the server can take it out" in text_of(refused)
    assert names(world) == ["bread"]
    card = await open_shared(salt.mod, salt)
    assert labels_of(card) == ["Save it for me", "Step by step", "Take it out"]
    await salt.mod.click(card.response, label="Take it out")
    assert names(world) == []


async def test_who_moderated_when_the_card_came_and_does_not_any_more_is_refused(world: World) -> None:
    """Authority comes with the press, never with the card that shows the button."""
    salt = world.salt
    await share(salt.ann, salt.channel)
    card = await open_shared(salt.mod, salt)
    world.env.backend.guilds[salt.guild.id].members[salt.mod.id].role_ids.clear()
    refused = await salt.mod.click(card.response, label="Take it out")
    assert "only they or a moderator" in text_of(refused)
    assert names(world) == ["bread"]


async def test_a_moderator_of_another_server_finds_nothing_here(world: World) -> None:
    salt, kite = world.salt, world.kite
    shared = await share(salt.ann, salt.channel)
    before = everything(world)
    assert "Nobody has shared" in text_of(await kite.mod.slash(kite.channel, "route shared"))
    for button in (id_of(shared, "Take it out"), "t1|keep|1"):
        own = await kite.mod.slash(kite.channel, "route list")
        forge(world, kite.channel, own, button)
        said = await kite.mod.click(own.response, custom_id=button)
        assert "not among the server's shared routes" in text_of(said)
    assert everything(world) == before


@pytest.mark.parametrize("what", ["share", "keep", "tidy"])
async def test_what_is_delivered_twice_acts_once(world: World, what: str) -> None:
    salt = world.salt
    if what == "share":
        await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
        with delivered_twice(world.env, EVENT):
            await salt.ann.slash(salt.channel, "route share", name="bread")
        assert names(world) == ["bread"]
        return
    await share(salt.ann, salt.channel)
    card = await open_shared(salt.mod, salt)
    with delivered_twice(world.env, EVENT):
        await salt.mod.click(card.response, label="Save it for me" if what == "keep" else "Take it out")
    assert len(names(world)) == (1 if what == "keep" else 0)
    assert len(names(world, "route")) == (2 if what == "keep" else 1)


@pytest.mark.parametrize("what", ["share", "keep"])
async def test_an_event_from_before_a_restart_brings_nothing_back(world: World, what: str) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread")
    if what == "share":
        with events_seen(world.env) as seen:
            shared = await salt.ann.slash(salt.channel, "route share", name="bread")
        await salt.ann.click(shared.response, label="Take it out")
    else:
        await salt.ann.slash(salt.channel, "route share", name="bread")
        card = await open_shared(salt.bo, salt)
        with events_seen(world.env) as seen:
            await salt.bo.click(card.response, label="Save it for me")
        await salt.bo.slash(salt.channel, "route forget", name="bread")
    before = everything(world)
    await world.restart()
    await deliver_again(world.env, seen, EVENT)
    assert everything(world) == before


async def test_the_lists_outlive_a_restart(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    listed = await salt.bo.slash(salt.channel, "route shared")
    await world.restart()
    shown = await salt.bo.select(listed.response, [picked(listed)[0]["value"]])
    assert ONE_OF_ANN in text_of(shown)


async def test_in_direct_messages_it_is_the_library_of_the_member_s_server(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    listed = await salt.ann.user.slash("route shared")
    assert "bread: 5MP, 2MP xx 236HP" in text_of(listed)
    moderator = salt.mod
    await share(moderator, salt.channel, LINK, "of the moderator")
    shown = await moderator.user.slash("route shared")
    value = next(one["value"] for one in picked(shown) if one["label"].startswith("bread"))
    card = await moderator.user.select(shown.response, [value])
    assert "Take it out" not in labels_of(card)  # nobody moderates in direct messages


async def test_where_no_server_is_known_sharing_is_refused_with_where_to_go(world: World) -> None:
    alone = world.salt.ann.user
    await alone.slash("route save", moves=ROUTE, name="bread")
    for refused in (await alone.slash("route share", name="bread"), await alone.slash("route shared")):
        assert "Shared routes belong to a server" in text_of(refused)
    assert names(world) == []


async def test_what_was_shared_is_told_before_it_is_erased_and_goes_with_it(world: World) -> None:
    salt = world.salt
    await share(salt.ann, salt.channel)
    card = await open_shared(salt.bo, salt)
    await salt.bo.click(card.response, label="Save it for me")
    assert "1 route that you shared with the server" in text_of(
        await salt.ann.slash(salt.channel, "mydata show")
    )
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    assert "copies that others saved stay theirs" in text_of(asked)
    await salt.ann.click(asked.response, label="Yes, erase everything")
    assert names(world) == []
    assert names(world, "route") == ["bread"]
    assert "Nobody has shared" in text_of(await salt.bo.slash(salt.channel, "route shared"))


async def test_what_members_wrote_is_shown_as_it_is_and_calls_nobody(world: World) -> None:
    salt = world.salt
    name = "@everyone **bold** <@1> `x`"
    await share(salt.ann, salt.channel, name=name, tags="@here #<#1>")
    for shown in (
        await salt.bo.slash(salt.channel, "route shared"),
        await salt.ann.slash(salt.channel, "route list"),
    ):
        assert pings_nobody(world, salt.channel, shown)
        assert "**bold**" not in text_of(shown)
        assert "@everyone" not in text_of(shown)
        assert "@here" not in text_of(shown)
