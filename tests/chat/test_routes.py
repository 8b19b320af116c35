"""Routes that members keep under names of their own."""

from __future__ import annotations

from typing import Any

from chat.faults import deliver_again, delivered_twice, events_seen
from chat.practice import DRILL, LINK, ROUTE, filled, forge, forge_form, id_of, log, picked, rows, tallies_of
from chat.world import World, labels_of, text_of, walk

EVENT = "INTERACTION_CREATE"


async def test_a_route_is_saved_listed_logged_by_its_name_and_forgotten(world: World) -> None:
    salt = world.salt
    assert "no saved routes" in text_of(await salt.ann.slash(salt.channel, "route list"))
    saved = await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name="bread and butter")
    assert saved.ephemeral
    assert "Saved as “bread and butter”: 5MP, 2MP xx 236HP." in text_of(saved)
    listed = await salt.ann.slash(salt.channel, "route list")
    assert "**Odrun Vale**\n- bread and butter: 5MP, 2MP xx 236HP" in text_of(listed)
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
        assert labels_of(refused) == ["My routes", "Shared routes"]
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


async def save(member: Any, channel: Any, moves: str = ROUTE, name: str = "bread", **options: Any) -> Any:
    return await member.slash(channel, "route save", moves=moves, name=name, **options)


async def test_a_saved_route_goes_on_without_its_notation_typed_again(world: World) -> None:
    salt = world.salt
    saved = await save(salt.ann, salt.channel)
    assert labels_of(saved) == [
        "Step by step",
        "Inputs",
        "Rhythm sheet",
        "Click track",
        "Log a tally",
        "Make it a drill",
        "Share it",
        "My routes",
    ]
    opened = await salt.ann.click(saved.response, label="Log a tally")
    assert filled(opened)["what"] == "Odrun Vale: 5MP, 2MP xx 236HP"
    shown = await salt.ann.click(saved.response, label="Step by step")
    assert shown.ephemeral
    assert "5MP" in text_of(shown)


async def test_routes_are_listed_by_tag_and_tags_are_offered(world: World) -> None:
    salt = world.salt
    saved = await save(salt.ann, salt.channel, tags="#Corner, punish")
    assert "under corner, punish" in text_of(saved)
    await save(salt.ann, salt.channel, LINK, "link", tags="meaty")
    everything = text_of(await salt.ann.slash(salt.channel, "route list"))
    assert "You have 2 routes saved here." in everything
    assert "- bread: 5MP, 2MP xx 236HP (tags: corner, punish)" in everything
    listed = await salt.ann.slash(salt.channel, "route list", tag="CORNER")
    assert "1 route saved with the tag corner" in text_of(listed)
    assert "link:" not in text_of(listed)
    assert [one["label"] for one in picked(listed)] == ["bread (Odrun Vale)"]
    none = text_of(await salt.ann.slash(salt.channel, "route list", tag="anti-air"))
    assert "No saved route of yours has the tag anti-air." in none
    assert "- corner, meaty, punish" in none
    offered = await salt.ann.autocomplete(salt.channel, "route list", "tag", "p")
    assert [one["value"] for one in offered] == ["punish"]
    offered = await salt.ann.autocomplete(salt.channel, "route save", "tags", "corner, m")
    assert [one["value"] for one in offered] == ["corner meaty"]


async def test_tags_that_cannot_be_are_told_in_one_sentence(world: World) -> None:
    salt = world.salt
    refused = await save(salt.ann, salt.channel, tags="a b c d e f")
    assert "at most 5 words of at most 20 letters" in text_of(refused)
    assert rows(world, "route") == []


async def test_a_route_is_picked_from_the_list_and_opened(world: World) -> None:
    salt = world.salt
    await save(salt.ann, salt.channel)
    listed = await salt.ann.slash(salt.channel, "route list")
    (option,) = picked(listed)
    assert (option["label"], option["description"]) == ("bread (Odrun Vale)", "5MP, 2MP xx 236HP")
    shown = await salt.ann.select(listed.response, [option["value"]])
    assert shown.ephemeral
    assert "5MP" in text_of(shown)
    assert "Share it" in labels_of(shown)


async def test_a_list_holds_what_the_platform_takes_and_says_so(world: World) -> None:
    salt = world.salt
    for number in range(27):
        await save(salt.ann, salt.channel, name=f"route {number:02} " + "x" * 30)
    listed = await salt.ann.slash(salt.channel, "route list")
    assert len(picked(listed)) == 25
    assert "the first 25 of 27" in text_of(listed)
    assert "27 routes saved" in text_of(listed)


async def shown_form(world: World, member: Any, channel: Any) -> Any:
    """The form to save what was just forgotten, with nothing saved."""
    await save(member, channel, tags="corner")
    gone = await member.slash(channel, "route forget", name="bread")
    assert labels_of(gone) == ["Save it", "My routes"]
    assert rows(world, "route") == []
    return await member.click(gone.response, label="Save it")


async def test_a_route_forgotten_by_a_slip_is_saved_again_with_one_press(world: World) -> None:
    salt = world.salt
    shown = await shown_form(world, salt.ann, salt.channel)
    assert filled(shown) == {"name": "bread", "tags": "corner"}
    assert "5MP, 2MP xx 236HP" in str(shown.modal)
    saved = await salt.ann.submit_modal(shown, {"name": "bread", "tags": "corner"})
    assert saved.ephemeral
    assert "Saved as “bread”: 5MP, 2MP xx 236HP." in text_of(saved)
    assert [(one["name"], one["tags"]) for one in rows(world, "route")] == [("bread", "corner")]


async def test_a_form_that_is_refused_is_mended_with_what_was_filled_in(world: World) -> None:
    salt = world.salt
    shown = await shown_form(world, salt.ann, salt.channel)
    refused = await salt.ann.submit_modal(shown, {"name": "my bread", "tags": "a b c d e f"})
    assert "cannot be tags" in text_of(refused)
    again = await salt.ann.click(refused.response, label="Save it")
    assert filled(again) == {"name": "my bread", "tags": "a b c d e f"}
    await salt.ann.submit_modal(again, {"name": "my bread", "tags": "a"})
    assert [(one["name"], one["tags"]) for one in rows(world, "route")] == [("my bread", "a")]


async def test_what_was_forgotten_is_not_offered_any_more_once_all_is_erased(world: World) -> None:
    salt = world.salt
    await save(salt.ann, salt.channel, name="a secret name")
    gone = await salt.ann.slash(salt.channel, "route forget", name="a secret name")
    asked = await salt.ann.slash(salt.channel, "mydata erase")
    await salt.ann.click(asked.response, label="Yes, erase everything")
    said = await salt.ann.click(gone.response, label="Save it")
    assert said.modal is None
    assert "no such route of yours" in text_of(said)


async def test_a_form_opened_before_a_restart_still_saves_and_twice_is_once(world: World) -> None:
    salt = world.salt
    shown = await shown_form(world, salt.ann, salt.channel)
    await world.restart()
    with delivered_twice(world.env, EVENT):
        await salt.ann.submit_modal(shown, {"name": "bread", "tags": ""})
    assert [(one["name"], one["tags"]) for one in rows(world, "route")] == [("bread", "")]


async def test_a_forged_form_saves_nothing_of_others(world: World) -> None:
    salt = world.salt
    await save(salt.ann, salt.channel)
    number = id_of(await save(salt.ann, salt.channel), "Step by step").rpartition("|")[2]
    for custom_id in (f"g1|{number}", "g1|99", "g1|", "g1|x", "g2|1", "g0|1"):
        await save(salt.bo, salt.channel, LINK, "bo")
        gone = await salt.bo.slash(salt.channel, "route forget", name="bo")
        shown = await salt.bo.click(gone.response, label="Save it")
        forge_form(shown, custom_id)
        said = await salt.bo.submit_modal(shown, {"name": "stolen", "tags": ""})
        assert said.ephemeral, custom_id
        assert "went wrong" not in text_of(said), custom_id
        assert [one["name"] for one in rows(world, "route")] == ["bread"], custom_id


async def test_a_forged_pick_opens_nothing_of_others(world: World) -> None:
    salt = world.salt
    await save(salt.ann, salt.channel, name="a secret name")
    await save(salt.bo, salt.channel, LINK, "bo")
    for custom_id in ("p1|saved", "p1|shared", "p1|x", "p1|", "p0|saved", "p2|saved"):
        listed = await salt.bo.slash(salt.channel, "route list")
        forge(world, salt.channel, listed, custom_id, kind=3)
        stored = world.env.backend.get_message(salt.channel.id, listed.response.id)
        pick = next(one for one in walk(stored.components) if one["type"] == 3)
        pick["options"][0]["value"] = "1"
        said = await salt.bo.select(listed.response, ["1"], custom_id=custom_id)
        assert said.ephemeral, custom_id
        assert "secret" not in text_of(said), custom_id
        assert "236HP" not in text_of(said), custom_id
        assert "went wrong" not in text_of(said), custom_id


async def test_a_route_of_several_names_opens_under_the_one_that_was_typed(world: World) -> None:
    salt = world.salt
    for name in ("a first name", "bread"):
        await salt.ann.slash(salt.channel, "route save", moves=ROUTE, name=name)
    for name in ("bread", "A first name", "Odrun: bread"):
        opened = await salt.ann.slash(salt.channel, "route open", name=name)
        assert f"“{name.removeprefix('Odrun: ').lower()}” works" in text_of(opened)
