"""Every kind of button, list and form, sent with ids that a forger thinks of: what is another member's or
another server's is neither shown nor changed, and nothing ends in an error."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest
from chat import forging
from chat.forged import ALL, KNOWN, SECRET, filled, forged_forms, forged_picks, forged_presses
from chat.practice import everything
from chat.world import Server, World, text_of

from bot.client.policy import NOT_ALLOWED
from bot.components import ids
from bot.components.act import Act, ModAct
from bot.results.setup import Step

NUMBERS = ["0", "1", "2", "9223372036854775807"]
"""Numbers of rows, those of others' among them, and of none."""
ODD = [
    "",
    "-1",
    "9223372036854775808",
    "1" * 90,
    "\u0661",
    "1.0",
    "1e3",
    " 1",
    "+1",
    "x",
    "1|1",
    "NaN",
    "\u200b1",
]
"""What is the number of no row at all."""

OWN_PRACTICE = {Act.ERASE_NOW, Act.MUTE, Act.UNMUTE, Act.JOIN, Act.LEAVE, Act.LIST_ME, Act.UNLIST_ME}
"""What changes something of whoever presses it, whatever or whichever open drill its number says."""
OWN_SERVER = {ModAct.KEEP_NOW, ModAct.CHOOSE_GAME}
"""What changes something of the server that it is pressed in."""
OWN: set[Any] = OWN_PRACTICE | OWN_SERVER


async def a_card(server: Server, member: Any) -> Any:
    """Some card that the bot sent, for the presses to come from."""
    return await member.slash(server.channel, "help")


def shown_by(answer: Any, sent: object) -> str:
    """All that came of it, in private; a form's fields among it. It says something, and no error."""
    if answer.modal:
        return f"{answer.modal}"
    said = text_of(answer).strip()
    assert said, sent
    assert answer.response.ephemeral, sent
    assert "went wrong" not in said, sent
    return said


Send = Callable[..., Any]
Rows = dict[str, list[dict[str, Any]]]


def changed(world: World, before: Rows, member: Any) -> list[tuple[str, dict[str, Any]]]:
    """What is new or gone in the database, but for the member's own log, the routes they looked
    at, and their part in their server's drills."""
    now = everything(world)
    own = {
        row["id"]
        for row in now["member"]
        if row["server_id"] == member.guild.id and row["member_id"] == member.id
    }
    found = [(name, row) for name in now for row in _either(now[name], before[name])]
    subjects, tallies = (
        {row["id"] for row in now[name] if row["owner_id"] in own} for name in ("subject", "tally")
    )
    theirs = {
        "member": ("id", own),
        "subject": ("owner_id", own),
        "tally": ("owner_id", own),
        "entry": ("owner_id", own),
        "total": ("subject_id", subjects),
        "drill_tally": ("tally_id", tallies),
    }
    nobody: tuple[str, set[int]] = ("id", set())
    ofs = [(name, row, *theirs.get(name, nobody)) for name, row in found]
    return [(name, row) for name, row, key, whose in ofs if row.get(key) not in whose]


def _either(some: list[dict[str, Any]], others: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [row for row in some if row not in others] + [row for row in others if row not in some]


STRANGERS = ["another member", "Ann herself elsewhere", "who hosts and coaches elsewhere"]


async def stranger(world: World, who: str) -> tuple[Server, Any]:
    """Somebody whom nothing in Saltglass' server is of, and where they are."""
    if who == "another member":
        return world.salt, world.salt.guild.add_member(world.env.create_user("eve"))
    if who == "Ann herself elsewhere":
        return world.kite, world.kite.guild.add_member(world.salt.ann.user)
    return world.kite, world.kite.mod


async def tried(world: World, who: str, send: Send, forged: Iterable[Any]) -> None:
    """Send all of these ids as this stranger: each is answered, and nothing of others is shown or changed."""
    await filled(world)
    server, member = await stranger(world, who)
    card = await a_card(server, member)
    before, writes = everything(world), world.bot.store.writes
    for one in forged:
        said = shown_by(await send(world, member, card, *one), one)
        assert SECRET not in said, one
        assert KNOWN not in said or server is world.salt, one
        if world.bot.store.writes != writes:
            assert not changed(world, before, member), one
            writes = world.bot.store.writes
        for_staff = one[0].startswith((ids.COACH, ids.MOD, ids.SETUP_PICK))
        if for_staff and who != STRANGERS[2]:
            assert said == NOT_ALLOWED, one


@pytest.mark.parametrize("who", STRANGERS)
async def test_a_forged_press_shows_and_changes_nothing_of_others(world: World, who: str) -> None:
    await tried(world, who, forging.press, forged_presses(NUMBERS, ALL - OWN))


@pytest.mark.parametrize("who", STRANGERS)
async def test_a_forged_pick_shows_and_changes_nothing_of_others(world: World, who: str) -> None:
    await tried(world, who, forging.pick, forged_picks(NUMBERS))


@pytest.mark.parametrize("who", STRANGERS)
async def test_a_forged_form_shows_and_changes_nothing_of_others(world: World, who: str) -> None:
    await tried(world, who, forging.submit, forged_forms(NUMBERS))


async def test_what_changes_ones_own_changes_nothing_of_others(world: World) -> None:
    """Whoever erases, mutes, keeps or chooses does it for themselves and for the server that they are in."""
    await filled(world)
    server, member = await stranger(world, STRANGERS[2])
    card = await a_card(server, member)
    before = everything(world)
    others = [row["id"] for row in before["edition"] if row["server_id"] == world.salt.guild.id]
    assert others
    numbers = [*NUMBERS, *map(str, others)]
    for one in forged_presses(numbers, OWN):
        shown_by(await forging.press(world, member, card, *one), one)
    here = {row["id"] for row in before["member"] if row["server_id"] == server.guild.id}
    for name, row in changed(world, before, member):
        of = row["id"] if name == "server" else row.get("server_id")
        assert of == server.guild.id or row.get("owner_id") in here, (name, row)


@pytest.mark.parametrize("at", range(3))
async def test_a_number_that_is_none_is_told_kindly_whatever_carries_it(world: World, at: int) -> None:
    """As moderator, coach and owner of all that there is: so that nobody is stopped before."""
    await filled(world)
    salt, member = world.salt, world.salt.mod
    card = await a_card(salt, member)
    before = everything(world)
    send, forged = (
        (forging.press, forged_presses(ODD, ALL)),
        (forging.pick, forged_picks(ODD)),
        (forging.submit, forged_forms(ODD)),
    )[at]
    for one in forged:
        shown_by(await send(world, member, card, *one), one)
    assert not changed(world, before, member)


async def test_a_server_is_set_up_with_its_own_channels_and_roles_alone(world: World) -> None:
    """Whatever is picked beside the id of a list of the set-up, and at whichever step."""
    salt, member = world.salt, world.kite.mod
    card = await a_card(world.kite, member)
    before = everything(world)
    theirs = [salt.channel.id, salt.mod.id, world.bot.book.server(salt.guild.id).coach_role]
    for step in Step:
        for value in [*map(str, theirs), *NUMBERS[-1:], *ODD]:
            for kind in (3, 6, 8):
                one = (f"{ids.SETUP_PICK}|{step.value}", [value], kind)
                shown_by(await forging.pick(world, member, card, *one), one)
    assert not changed(world, before, member)
    assert NOT_ALLOWED in shown_by(
        await forging.pick(world, salt.ann, await a_card(salt, salt.ann), f"{ids.SETUP_PICK}|2", ["0"]),
        "a member",
    )
