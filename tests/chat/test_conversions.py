"""What one does when a starter lands: kept, shown, taken back, in chat."""

from __future__ import annotations

from typing import Any

import pytest
from chat.faults import delivered_twice
from chat.practice import alts_of, files_of, forge, rows
from chat.world import BEGIN, World, labels_of, text_of
from demo import demo
from net import error_records

from bot.components.sheet import sheet_buttons
from bot.limits import ALT_CHARACTERS
from bot.ports import WorkerError
from bot.results.conversion import Proposal, Sheet
from bot.results.tally import SavedRoute, Subject, SubjectKind
from bot.services.sheets import fits, look_for
from core.situations import situations

BREAD, LOW, LIFT = "Odrun: 5MP, 2MP xx 214LK", "Odrun: 5MP, 2MK xx 236LP", "Odrun: 2HP, 5HP"
SAVED = SavedRoute(1, "Saltglass", "1.2", "Odrun Vale", "bread", "5MP, 2MP", BEGIN)


async def save(world: World, member: Any, **moves: str) -> None:
    """Routes by name."""
    for name, notation in moves.items():
        await member.slash(world.salt.channel, "route save", moves=notation, name=name)


async def keep(world: World, member: Any, starter: str, situation: str, route: str) -> Any:
    return await member.slash(
        world.salt.channel, "conversion set", starter=starter, situation=situation, route=route
    )


async def test_from_a_saved_route_to_a_sheet_with_its_gaps(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD, low=LOW)
    answer = await keep(world, salt.ann, "5MP", "hit", "bread")
    assert answer.ephemeral
    assert "Kept: you land 5MP, and it is a plain hit, then you play “bread” for 1,795 damage." in text_of(
        answer
    )
    assert labels_of(answer) == ["My conversions", "Quiz me"]
    shown = await salt.ann.click(answer.response, label="My conversions")
    said = text_of(shown)
    assert shown.ephemeral
    assert "When 5MP lands" in said
    assert "On a plain hit: “bread” (5MP, 2MP xx 214LK), 1,795 damage." in said
    assert "On a counter hit: nothing yet, and your “bread” works there" in said
    assert files_of(shown) == ["conversions.png"]
    (alt,) = alts_of(shown)
    assert "5MP: plain hit bread, 1,795 damage" in alt
    assert len(alt) <= ALT_CHARACTERS


async def test_a_gap_is_filled_with_a_button_and_a_counter_hit_has_its_own_route(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD)
    await keep(world, salt.ann, "5MP", "hit", "bread")
    shown = await salt.ann.slash(salt.channel, "conversion show")
    taken = await salt.ann.click(shown.response, label="5MP, counter hit: bread")
    assert taken.ephemeral
    assert "Kept: you land 5MP, and it is a counter hit" in text_of(taken)
    assert [(one["starter"], one["situation"]) for one in rows(world, "conversion")] == [
        ("5MP", "hit"),
        ("5MP", "counter hit"),
    ]


async def test_what_was_found_is_opened_step_by_step_where_it_can_be_saved(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, dear="Odrun: 5MP, 2MP xx 236PP")
    shown = await salt.ann.slash(salt.channel, "conversion show")
    looks = [label for label in labels_of(shown) if label.startswith("Look at ")]
    assert looks
    opened = await salt.ann.click(shown.response, label=looks[0])
    assert looks[0].removeprefix("Look at ") in text_of(opened).replace("\\", "")
    assert "Save it" in labels_of(opened)


def test_what_was_found_for_two_gaps_has_one_button() -> None:
    """The platform refuses a card with the same button twice."""
    game = demo("saltglass")
    found = Subject(game.name, game.characters[0].name, SubjectKind.LINK, "5MP, 2MP")
    two = situations(game)[:2]
    proposals = tuple(Proposal("5MP", one, 1, found=found, subject_id=7) for one in two)
    own = Proposal("5MP", two[0], 1, route=SAVED)
    sheet = Sheet(game, game.characters[0], (), (own, *proposals))
    labels = [one.item.label for one in sheet_buttons(sheet, private=True)]
    assert labels == ["5MP, plain hit: bread", "Look at 5MP, 2MP", "My routes"]
    assert [one.item.label for one in sheet_buttons(sheet, private=False)] == ["My routes"]


async def test_a_new_member_is_told_what_to_do_first(world: World) -> None:
    salt = world.salt
    nobody = await salt.ann.slash(salt.channel, "conversion show")
    assert "choose your character with /character" in text_of(nobody)
    await salt.ann.slash(salt.channel, "character", name="Odrun")
    empty = await salt.ann.slash(salt.channel, "conversion show")
    assert "You have no saved routes with Odrun Vale yet" in text_of(empty)
    assert empty.ephemeral
    assert "My routes" in labels_of(empty)


@pytest.mark.parametrize(
    ("starter", "situation", "route", "says"),
    [
        ("5MP", "airborne", "bread", "it does not work when you land 5MP, and they are in the air"),
        ("2MK", "hit", "bread", "begins with 5MP, not with 2MK"),
        ("5QQ", "hit", "bread", "as a starter"),
        ("5MP", "sideways", "bread", "is no situation that I know here: take one of hit, counter hit"),
        ("5MP", "hit", "cheese", "No route of yours is saved as “cheese”"),
        ("5MP", "hit", "# **@everyone** \u202e" + "x" * 90, "No route of yours is saved as"),
    ],
)
async def test_what_cannot_be_kept_is_refused_in_one_sentence(
    world: World, starter: str, situation: str, route: str, says: str
) -> None:
    await save(world, world.salt.ann, bread=BREAD)
    refused = await keep(world, world.salt.ann, starter, situation, route)
    assert refused.ephemeral
    assert says in text_of(refused).replace("\\", "")
    assert "@everyone" not in text_of(refused)
    assert rows(world, "conversion") == []


async def test_a_conversion_is_cleared_and_its_route_stays(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD)
    await keep(world, salt.ann, "5MP", "counter hit", "bread")
    gone = await salt.ann.slash(salt.channel, "conversion clear", starter="5mp", situation="CH")
    assert "Taken back" in text_of(gone)
    assert rows(world, "conversion") == []
    assert len(rows(world, "route")) == 1
    missed = await salt.ann.slash(salt.channel, "conversion clear", starter="5MP", situation="hit")
    assert "Nothing is kept for 5MP and hit" in text_of(missed)


async def test_only_a_shared_sheet_is_seen_by_others_and_it_takes_nothing(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD, secret=LIFT)
    await keep(world, salt.ann, "5MP", "hit", "bread")
    own = await salt.ann.slash(salt.channel, "conversion show")
    assert own.ephemeral
    assert "your “secret” works there" in text_of(own)
    shared = await salt.ann.slash(salt.channel, "conversion show", share=True)
    assert not shared.ephemeral
    assert "secret" not in text_of(shared)
    assert "would work there" not in text_of(shared)
    assert labels_of(shared) == ["Quiz me", "My routes"]
    asked = await salt.bo.click(shared.response, label="Quiz me")
    assert asked.ephemeral
    assert "nothing to ask you yet" in text_of(asked)


@pytest.mark.parametrize(
    "custom_id", ["c1|999999|hit", "c1|1|sideways", "c1|x|hit", "c1|1", "c2|1|hit", "c1||", "c1|1|%F0%9F"]
)
async def test_a_forged_button_keeps_nothing(world: World, custom_id: str) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD)
    await save(world, salt.bo, bread=BREAD)
    shown = await salt.ann.slash(salt.channel, "conversion show")
    forge(world, salt.channel, shown, custom_id)
    answer = await salt.ann.click(shown.response, custom_id=custom_id)
    assert answer.ephemeral
    assert rows(world, "conversion") == []


async def test_nobody_takes_anothers_route(world: World) -> None:
    salt = world.salt
    await save(world, salt.bo, bread=BREAD)
    (hers,) = rows(world, "route")
    await save(world, salt.ann, low=LOW)
    shown = await salt.ann.slash(salt.channel, "conversion show")
    forged = f"c1|{hers['id']}|hit"
    forge(world, salt.channel, shown, forged)
    refused = await salt.ann.click(shown.response, custom_id=forged)
    assert "There is no such route of yours any more" in text_of(refused)
    assert rows(world, "conversion") == []


async def test_keeping_delivered_twice_keeps_one(world: World) -> None:
    await save(world, world.salt.ann, bread=BREAD)
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await keep(world, world.salt.ann, "5MP", "hit", "bread")
    assert len(rows(world, "conversion")) == 1


async def test_the_sheet_and_its_buttons_outlive_a_restart(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD)
    shown = await salt.ann.slash(salt.channel, "conversion show")
    await world.restart()
    taken = await salt.ann.click(shown.response, label="5MP, plain hit: bread")
    assert "Kept: you land 5MP" in text_of(taken)


@pytest.mark.parametrize(
    ("given_up", "says"),
    [
        ((fits,), "I could not work that out just now"),
        ((look_for,), "I could not look for other routes just now"),
        (("sheet_picture",), "When 5MP lands"),
    ],
)
async def test_work_that_is_given_up_is_said_in_a_sentence(
    world: World, given_up: tuple[Any, ...], says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await save(world, salt.ann, dear="Odrun: 5MP, 2MP xx 236PP")
    await keep(world, salt.ann, "5MP", "gauge", "dear")
    run = world.bot._worker.run

    async def giving_up(work: Any, *args: Any, **kwargs: Any) -> Any:
        if work in given_up or work.__name__ in given_up:
            raise WorkerError("given up")
        return await run(work, *args, **kwargs)

    monkeypatch.setattr(world.bot._worker, "run", giving_up)
    with error_records("bot"):
        shown = await salt.ann.slash(salt.channel, "conversion show")
    assert says in text_of(shown)


async def test_what_is_typed_is_completed(world: World) -> None:
    salt = world.salt
    await save(world, salt.ann, bread=BREAD)

    async def offered(option: str, typed: str, command: str = "conversion set") -> list[str]:
        found = await salt.ann.autocomplete(salt.channel, command, option, typed)
        return [one["value"] for one in found]

    assert (await offered("situation", ""))[:2] == ["hit", "counter hit"]
    assert await offered("situation", "off", "conversion clear") == ["off balance"]
    assert "5MP" in await offered("starter", "5m")
    assert await offered("route", "br") == ["bread"]
    assert await offered("character", "odr", "conversion show") == ["Odrun Vale"]


async def test_it_works_in_direct_messages_too(world: World) -> None:
    user = world.salt.ann.user
    await user.slash("route save", moves=BREAD, name="bread")
    kept = await user.slash("conversion set", starter="5MP", situation="hit", route="bread")
    assert "Kept: you land 5MP" in text_of(kept)
    assert "When 5MP lands" in text_of(await user.slash("conversion show"))
