"""Routes are looked for in chat, picked from a list, and gone on with from button to button."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from chat.faults import deliver_again, delivered_twice, events_seen
from chat.practice import alts_of, everything, files_of, forge, log, picked, rows
from chat.world import World, labels_of, text_of

from bot.ports import WorkerError

EVENT = "INTERACTION_CREATE"


async def find(world: World, starter: str = "Odrun: 5MP", **options: Any) -> Any:
    """Look for routes as Ann."""
    salt = world.salt
    return await salt.ann.slash(salt.channel, "route find", starter=starter, **options)


def break_searches(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on the worker does nothing."""

    async def run(work: Callable[..., Any], *_: Any, **__: Any) -> Any:
        raise WorkerError(f"{work.__name__} was given up after 10 seconds.")

    monkeypatch.setattr(world.bot._worker, "run", run)


async def test_from_a_starter_to_a_saved_route_without_its_notation_typed_twice(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="Odrun Vale")
    found = await find(world, "5MP", want="expected", gauge="none")
    assert found.ephemeral
    assert "What brings most on average from 5MP is" in text_of(found)
    offered = picked(found)
    assert len(offered) == 3
    assert "1,795 damage, lands nearly every time" in [one["description"] for one in offered]
    opened = await salt.ann.select(found.response, [offered[0]["value"]])
    route = offered[0]["label"]
    assert f"This works: {route} does" in text_of(opened)
    shown = await salt.ann.click(opened.response, label="Save it")
    saved = await salt.ann.submit_modal(shown, {"name": "first", "tags": ""})
    assert f"Saved as “first”: {route}" in text_of(saved)
    again = await salt.ann.slash(salt.channel, "route open", name="first")
    assert f"“first” works: {route} does" in text_of(again)


async def test_a_found_route_opens_after_a_restart(world: World) -> None:
    found = await find(world)
    option = picked(found)[0]
    await world.restart()
    opened = await world.salt.ann.select(found.response, [option["value"]])
    assert f"This works: {option['label']} does" in text_of(opened)


async def test_a_route_on_somebody_in_the_air_opens_as_it_was_found(world: World) -> None:
    kite = world.kite
    found = await kite.ann.slash(
        kite.channel, "route find", starter="Corbet: 5L", airborne=True, distance=0.5, want="expected"
    )
    option = picked(found)[0]
    assert "|a|0.5" in option["value"]
    opened = await kite.ann.select(found.response, [option["value"]])
    said = text_of(opened)
    assert "They are in the air already, 0.5 steps away" in said
    damage = option["description"].partition(" ")[0]
    assert f"does {damage} damage" in said


async def test_somebody_else_gets_a_clear_refusal_for_a_number_that_is_not_theirs(world: World) -> None:
    salt = world.salt
    value = picked(await find(world))[0]["value"]
    others = await salt.bo.slash(salt.channel, "route find", starter="Odrun: 2MP")
    for custom_id in (f"t1|route|{value}", f"t1|find|{value}"):
        forge(world, salt.channel, others, custom_id)
        refused = await salt.bo.click(others.response, custom_id=custom_id)
        assert refused.ephemeral
        assert "There is no such route of yours any more" in text_of(refused)


async def test_a_picture_shows_the_routes_and_says_the_same_in_words(world: World) -> None:
    found = await find(world, gauge="none", picture=True)
    assert files_of(found) == ["routes.png"]
    (alt,) = alts_of(found)
    assert alt.startswith("Damage against how often it lands, of 5MP. A: ")
    for option in picked(found):
        assert option["label"] in alt
    assert files_of(await find(world, gauge="none")) == []


async def test_a_search_that_fails_says_what_to_do(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    salt = world.salt
    break_searches(world, monkeypatch)
    before = everything(world)
    for answer in (
        await find(world),
        await salt.ann.slash(salt.channel, "route next", starter="Odrun: 5MP"),
    ):
        assert answer.ephemeral
        assert "The search could not be finished just now: try again" in text_of(answer)
        assert labels_of(answer) == ["My routes", "Shared routes"]
    assert everything(world) == before


async def test_a_picture_that_fails_leaves_the_words(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    async def draw(*_: Any, **__: Any) -> None:
        return None

    monkeypatch.setattr(world.bot, "draw", draw)
    found = await find(world, picture=True)
    assert files_of(found) == []
    assert "The picture could not be drawn this time" in text_of(found)
    assert picked(found)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"starter": "5MP"}, "choose your character with /character, or name one as in “Odrun Vale: 5LP”"),
        ({"starter": ""}, "choose your character with /character"),
        ({"starter": "Odrun: 5QQ"}, "I cannot read “5QQ” as a move"),
        ({"starter": "Odrun: 5MP, 2MP"}, "a route starts with one move"),
        ({"with_moves": "5MP, what"}, "I cannot read “what” as a move"),
        ({"without": "5QQ"}, "I cannot read “5QQ” as a move"),
        ({"gauge": "lots"}, "write it as “glow 100”, or “none”"),
        ({"state": "whiff"}, "it has counter hit, off balance"),
    ],
)
async def test_what_cannot_be_looked_for_is_refused_in_one_sentence(
    world: World, options: dict[str, Any], said: str
) -> None:
    refused = await find(world, **options)
    assert refused.ephemeral
    assert said in text_of(refused)
    assert picked(refused) == []
    assert rows(world, "subject") == []


async def test_nothing_that_fits_says_what_to_change(world: World) -> None:
    none = await find(world, at_least=99_999, gauge="none")
    assert "I found no route from 5MP that fits: ask for less damage, or allow more gauge." in text_of(none)
    assert picked(none) == []


async def test_a_search_delivered_twice_keeps_each_route_once(world: World) -> None:
    with delivered_twice(world.env, EVENT):
        await find(world, gauge="none")
    kept = [one["what"] for one in rows(world, "subject")]
    assert kept
    assert len(kept) == len(set(kept))
    with events_seen(world.env) as seen:
        await find(world, gauge="none")
    await world.restart()
    await deliver_again(world.env, seen, EVENT)
    assert [one["what"] for one in rows(world, "subject")] == kept
    assert rows(world, "tally") == []


async def test_routes_from_here_go_on_from_a_route_that_fails(world: World) -> None:
    salt = world.salt
    told = await salt.ann.slash(salt.channel, "route check", moves="Odrun: 5MP, 5HP")
    found = await salt.ann.click(told.response, label="Routes from here")
    assert "average from 5MP is" in text_of(found)
    assert picked(found)


async def test_moves_of_the_own_character_are_offered_as_starters(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="Odrun Vale")
    for command in ("route find", "route next"):
        offered = await salt.ann.autocomplete(salt.channel, command, "starter", "5M")
        assert "5MP" in [one["value"] for one in offered]
    offered = await salt.ann.autocomplete(salt.channel, "route find", "state", "count")
    assert [one["value"] for one in offered] == ["counter hit"]


async def test_the_next_route_names_what_is_new_and_goes_on_by_buttons(world: World) -> None:
    salt = world.salt
    first = await salt.ann.slash(salt.channel, "route next", starter="Odrun: 5MP")
    assert first.ephemeral
    assert "Begin with 5MP" in text_of(first)
    assert "You own no link or route of Odrun Vale yet" in text_of(first)
    await log(salt.ann, salt.channel, "Odrun: 5MP, 2MP", "60/60")
    await log(salt.ann, salt.channel, "Odrun: 5MP, 2MP xx 236HP", "60/60")
    found = await salt.ann.slash(salt.channel, "route next", starter="Odrun: 5MP")
    text = text_of(found)
    assert "Learn 5MP" in text
    assert "is new in it." in text
    assert "than 5MP, 2MP xx 236HP, the best that you own" in text
    assert labels_of(found)[:2] == ["Step by step", "Inputs"]
    opened = await salt.ann.click(found.response, label="Step by step")
    assert "This works: 5MP" in text_of(opened)


async def test_in_another_server_its_own_game_is_searched(world: World) -> None:
    kite = world.kite
    found = await kite.ann.slash(kite.channel, "route find", starter="Ossily Fenn")
    assert "Ossily Fenn in Kitewind" in text_of(found)
    assert picked(found)


async def test_the_example_of_whose_routes_is_a_move_of_the_server_s_game(world: World) -> None:
    kite = world.kite
    refused = await kite.ann.slash(kite.channel, "route find")
    assert "name one as in “Marrable Twill: 5L”." in text_of(refused)
