"""The invented community is complete and holds together."""

from __future__ import annotations

from collections import Counter

import discord
from demo import demo

from bot.room.community import read_community

COMMUNITY = read_community()
FIRST = COMMUNITY.servers[0]


def test_the_first_server_has_everybody_one_may_want_to_be() -> None:
    standing = Counter(member.role for member in FIRST.members)
    assert standing == {"Moderator": 1, "Coach": 1, "Student": 2, None: 2}
    assert FIRST.members[0].role is None  # a newcomer looks through the eyes of a plain member


def test_it_has_a_channel_for_each_thing_that_people_do() -> None:
    assert {"welcome", "ask-the-corner", "drills", "general"} <= {channel.name for channel in FIRST.channels}


def test_names_lead_to_one_place_only() -> None:
    for names in (COMMUNITY.channel_names, COMMUNITY.member_names):
        assert len({name.casefold() for name in names}) == len(names)
        assert all(len(name.split()) == 1 for name in names)  # one word each, for the terminal


def test_nobody_is_called_like_a_character_of_a_demo_game() -> None:
    characters = {who.name.casefold() for game in ("saltglass", "kitewind") for who in demo(game).characters}
    words = {word for name in characters for word in name.split()}
    assert not words & {name.casefold() for name in COMMUNITY.member_names}


def test_each_server_greets_in_a_channel_it_has_and_gives_permissions_there_are() -> None:
    for server in COMMUNITY.servers:
        assert server.welcome in {channel.name for channel in server.channels}
        assert {member.role for member in server.members} - {None} <= set(server.roles)
        for permissions in server.roles.values():
            assert set(permissions) <= set(discord.Permissions.VALID_FLAGS)
        assert discord.Permissions(**dict.fromkeys(server.roles[server.host.role or ""], True)).manage_guild


def test_a_second_server_plays_another_game() -> None:
    assert [server.game for server in COMMUNITY.servers] == [None, demo("kitewind").name]


def test_the_page_says_through_whose_eyes_one_looks() -> None:
    assert {member.shown for member in FIRST.members} >= {"Brindle", "Ivo (student)", "Marlow (moderator)"}
