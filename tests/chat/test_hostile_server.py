"""A server in which everything has a name that would format, link, mention or hide: all that the bot sends of
it, wherever it stands, is text and calls nobody."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import discord
import pytest
from chat.gaming import load
from chat.hostile import INVISIBLE, check_said
from chat.lessons import coached
from chat.world import Server, World, labels_of
from filed import RULES, WICK, WICK_MOVES

from bot.results.tally import Notation, ServerSettings
from bot.services.access import Standing

SIGNS = "@everyone <@1> [x](https://e.vil)"
"""As long as a name of a route, a tag or a member may be."""
MORE = "# > **b** ||s|| `c` ~~d~~ <t:1:R> <:a:1> @here <@&1>"
TURNED = "\u202e\u200bx\n# y"
WHO, MOVE = f"Wick {SIGNS}", f"tap {MORE}"
LINK = "Wick: 5MP, 5LP"
TEXT_DISPLAY = 10


def hostile_game() -> tuple[tuple[str, bytes], tuple[str, bytes]]:
    """A game whose names are all hostile, as far as its files let them."""
    rules = RULES + WICK
    for plain, odd in (("Lanterns", SIGNS), ("counter hit", f"counter {SIGNS}"), ("glow", f"glow {MORE}")):
        rules = rules.replace(f'name = "{plain}"', f'name = "{odd}"')
    rules = rules.replace('version = "1.0"', f'version = "{SIGNS}"')
    rules = rules.replace('name = "Wick"', f'name = "Wick"\naliases = ["{WHO}"]').replace(
        'aliases = ["the lamplighter"]\n', ""
    )
    moves = WICK_MOVES.replace(",tap,", f',"{MOVE}",').replace(",swing,", f',"swing {SIGNS}",')
    return ("game.toml", rules.encode()), ("wick.csv", moves.encode())


async def hostile_server(world: World, notation: Notation) -> Server:
    """A server in which everybody and everything has such a name, and its game as well."""
    env = world.env
    guild = env.create_guild(SIGNS)
    host = guild.create_role(f"host {SIGNS}", permissions=discord.Permissions(manage_guild=True))
    corner = guild.create_role(f"coach {SIGNS}")
    channel, other = guild.create_text_channel("frames"), guild.create_text_channel("talk")
    roles = {Standing.MEMBER: [], Standing.STUDENT: [], Standing.COACH: [corner], Standing.MODERATOR: [host]}
    people = {
        standing: guild.add_member(
            env.create_user(f"hostile-{at}", global_name=SIGNS),
            roles=roles[standing],
            nick=f"{SIGNS[:31]}{at}",
        )
        for at, standing in enumerate(roles)
    }
    await world.bot.book.set_server(
        guild.id, ServerSettings(coach_role=corner.id, moderator_role=host.id, notation=notation)
    )
    await env.settle()
    ann, bo = people[Standing.MEMBER], people[Standing.STUDENT]
    return Server(SIGNS, guild, channel, other, ann, bo, people)


def asked_by_members() -> list[tuple[str, dict[str, Any]]]:
    """Each command of members, with such words wherever it takes words of one's own."""
    wick = {"character": WHO}
    return [
        ("ask", {"question": f"does {WHO}'s 5MP link into 5LP?"}),
        ("ask", {"question": f"{MORE} {TURNED}"}),
        ("move", {"move": MOVE, **wick}),
        ("link", {"first": "5MP", "second": MOVE, "on": f"counter {SIGNS}", **wick}),
        ("cancel", {"first": "5MP", "second": MOVE, **wick}),
        ("gap", {"first": "5MP", "second": MOVE, **wick}),
        ("punish", {"move": MOVE, "their_character": WHO, "my_character": WHO}),
        ("follow", {"move": "5MP", **wick}),
        ("character", {"name": WHO}),
        ("log", {"what": LINK, "result": "7/10", "note": f"{MORE} {TURNED}"}),
        ("log", {"what": f"drill: {MORE} {TURNED}", "result": "20: 12 hit, 6 early, 2 late"}),
        ("tallies", {}),
        ("timing", {}),
        ("timing", {"what": LINK, "share": True}),
        ("progress", {"share": True}),
        ("progress", {"what": f"drill: {MORE} {TURNED}"}),
        ("plan", {"minutes": 20}),
        ("goal", {"share": MORE}),
        ("route save", {"moves": LINK, "name": SIGNS, "tags": "@everyone, <@1>, [x](//e)"}),
        ("route save", {"moves": "Wick: 5LP", "name": MORE[:39]}),
        ("route list", {}),
        ("route list", {"tag": "<@1>"}),
        ("route share", {"name": SIGNS}),
        ("route shared", {}),
        ("route open", {"name": SIGNS}),
        ("route check", {"moves": LINK}),
        ("route check", {"moves": MORE, "gauge": f"glow {MORE} 50"}),
        ("route find", {"starter": "5MP"}),
        ("route next", {}),
        ("route inputs", {"what": SIGNS}),
        ("route rhythm", {"what": SIGNS}),
        ("route clicks", {"what": SIGNS}),
        ("conversion set", {"starter": "5MP", "situation": f"counter {SIGNS}", "route": SIGNS}),
        ("conversion show", {"character": WHO}),
        ("conversion quiz", {}),
        ("wrong", {"move": "5MP", "column": "startup", "right": "5", "note": MORE, "character": WHO}),
        ("drill show", {}),
        ("homework list", {}),
        ("coach", {}),
        ("patch", {}),
        ("reminders", {}),
        ("mydata show", {}),
        ("mydata download", {}),
        ("route forget", {"name": MORE[:39]}),
    ]


def asked_by_staff(server: Server) -> list[tuple[Any, str, dict[str, Any]]]:
    """Each command of coaches and moderators, likewise; the first to come are what members then see."""
    coach, mod = server.by_standing[Standing.COACH], server.mod
    drill = {"what": f"drill: {MORE}", "scoring": "best-tally", "goal": MORE, "dummy": f"{SIGNS} {TURNED}"}
    due = {"target": "clean-reps", "amount": 20, "due": "in 5 days", "student": server.ann}
    return [
        (coach, "homework set", {"what": f"drill: {MORE}", "note": f"{SIGNS} {TURNED}", **due}),
        (coach, "homework set", {"what": LINK, "note": MORE, **due}),
        (coach, "homework review", {}),
        (coach, "students board", {}),
        (coach, "students page", {"member": server.ann}),
        (coach, "students stuck", {}),
        (coach, "drill open", {**drill, "channel": server.other_channel}),
        (coach, "drill plan", drill),
        (coach, "drill list", {}),
        (coach, "drill results", {}),
        (coach, "drill suggest", {}),
        (mod, "coaches", {}),
        (mod, "game choose", {}),
        (mod, "game versions", {}),
        (
            mod,
            "game edit",
            {"move": "5MP", "column": "startup", "number": "5", "reason": MORE, "character": WHO},
        ),
        (mod, "game reports", {}),
        (mod, "game download", {}),
        (mod, "server settings", {}),
        (mod, "server setup", {}),
        (mod, "server health", {}),
        (mod, "server audit", {}),
        (mod, "zone", {"name": MORE}),
    ]


def texts(payload: Any) -> Iterator[str]:
    """What of a payload is read as markdown."""
    match payload:
        case list():
            for one in payload:
                yield from texts(one)
        case dict():
            if payload.get("type") in (TEXT_DISPLAY, None) and isinstance(payload.get("content"), str):
                yield payload["content"]
            for one in payload.values():
                yield from texts(one)


def labels(payload: Any) -> Iterator[str]:
    """What of a payload stands on buttons, lists and forms, or below pictures: never markdown."""
    match payload:
        case list():
            for one in payload:
                yield from labels(one)
        case dict():
            names = ("label", "description", "placeholder", "title", "name")
            yield from (payload[name] for name in names if isinstance(payload.get(name), str))
            for one in payload.values():
                yield from labels(one)


def check_payload(payload: dict[str, Any]) -> None:
    """Nothing in it formats, hides or calls anybody but who is answered."""
    for said in texts(payload):
        check_said(said)
    for label in labels(payload):
        assert not INVISIBLE.search(label), label
        assert label.isprintable(), label
    if "allowed_mentions" in payload:
        pings = payload["allowed_mentions"]
        assert not pings.get("parse"), pings
        assert not pings.get("roles"), pings
        assert not pings.get("users"), pings


@pytest.mark.parametrize("notation", Notation)
async def test_nothing_of_such_a_server_formats_links_mentions_or_hides(
    world: World, notation: Notation
) -> None:
    server = world.servers["Saltglass"] = await hostile_server(world, notation)
    shown = await load(world, *hostile_game(), reason=f"{MORE} {TURNED}")
    await server.mod.click(shown.response, label="Use it")
    await server.mod.slash(server.channel, "game choose", name=SIGNS)
    await coached(world, server, server.ann)
    asked = [(server.ann, *one) for one in asked_by_members()]
    pressed = set[str]()
    for member, command, options in [*asked, *asked_by_staff(server), *asked]:
        answer = await member.slash(server.channel, command, **options)
        for label in labels_of(answer):
            kind = label.partition(":")[0]
            if kind not in pressed and "Erase" not in label:
                pressed.add(kind)
                fresh = await member.slash(server.channel, command, **options)
                if label in labels_of(fresh):
                    await member.click(fresh.response, label=label)
    await server.ann.send(server.channel, f"{world.mention} is {WHO}'s {MOVE} safe?")
    await server.ann.user.send_dm(f"is {WHO}'s {MOVE} safe?")
    await world.env.advance_time(9 * 3600)
    sent = [one.json for one in world.env.http_requests if isinstance(one.json, dict)]
    assert sum("e.vil" in said for said in texts(sent)) > 100
    assert sum("e.vil" in label for label in labels(sent)) > 10
    for payload in sent:
        if "dm_permission" not in payload:
            check_payload(payload)
