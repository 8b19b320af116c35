"""Who somebody is in a server, and what the table of who may do what says of them."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from bot.services.access import TABLE, Access, Standing


@pytest.mark.parametrize(
    ("who", "standing"),
    [
        ({"server_id": None, "manages_server": True, "joined": True}, Standing.GUEST),
        ({"server_id": 1, "manages_server": False, "joined": True}, Standing.MEMBER),
        ({"server_id": 1, "manages_server": True, "joined": True}, Standing.MODERATOR),
        ({"server_id": 1, "manages_server": True, "joined": False}, Standing.OTHER_SERVER),
        ({"server_id": 2, "manages_server": False, "joined": True, "roles": {7, 8}}, Standing.COACH),
        ({"server_id": 2, "manages_server": False, "joined": True, "roles": {7}}, Standing.MEMBER),
        ({"server_id": 3, "manages_server": False, "joined": True, "roles": {8}}, Standing.STUDENT),
        ({"server_id": 2, "manages_server": True, "joined": True, "roles": {8}}, Standing.MODERATOR),
        ({"server_id": 3, "manages_server": False, "joined": True}, Standing.STUDENT),
        ({"server_id": 2, "manages_server": False, "joined": True, "roles": {6, 8}}, Standing.MODERATOR),
        ({"server_id": 3, "manages_server": False, "joined": True, "roles": {6}}, Standing.STUDENT),
        ({"server_id": 2, "manages_server": False, "joined": False, "roles": {6}}, Standing.OTHER_SERVER),
        ({"server_id": None, "manages_server": False, "joined": True, "roles": {6}}, Standing.GUEST),
    ],
)
def test_a_standing_is_of_one_server(who: dict[str, Any], standing: Standing) -> None:
    access = Access({2: 8}.get, lambda server_id, member_id: (server_id, member_id) == (3, 9), {2: 6}.get)
    assert access.standing(member_id=9, **who) is standing


def test_what_has_no_row_is_refused_to_everybody() -> None:
    for manages in (False, True):
        assert not Access().allows("command x", server_id=1, member_id=1, manages_server=manages, joined=True)


def test_from_a_server_that_has_not_joined_nothing_is_allowed() -> None:
    assert not any(
        Access().allows(action, server_id=1, member_id=1, manages_server=True, joined=False)
        for action in Access().rows
    )


def test_the_table_names_each_action_once_and_only_known_groups() -> None:
    table = tomllib.loads(TABLE.read_text("utf-8"))
    groups = table.pop("who")
    assert {who for rows in table.values() for who in rows.values()} <= set(groups)
