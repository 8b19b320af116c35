"""Presses of buttons and lists, and forms, with ids that no card of ours carries: as a forger sends them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import simcord
from chat.world import World
from simcord import interactions as payloads
from simcord.backend import serializers

ROW, BUTTON, LIST, FIELD, LABEL = 1, 2, 3, 4, 18
PRESS, FORM = 3, 5


async def press(world: World, member: Any, card: Any, custom_id: str) -> simcord.InteractionResult:
    """A button with this id, on the card of an answer."""
    data = {"custom_id": custom_id, "component_type": BUTTON}
    part = {"type": BUTTON, "custom_id": custom_id, "style": 1, "label": "forged"}
    return await _send(world, member, card, PRESS, data, part)


async def pick(
    world: World, member: Any, card: Any, custom_id: str, values: Sequence[str], kind: int = LIST
) -> simcord.InteractionResult:
    """These values, of a list with this id; `kind`: what sort of list it is to the platform."""
    data: dict[str, Any] = {"custom_id": custom_id, "component_type": kind, "values": list(values)}
    if kind != LIST:  # what was picked of channels and roles comes with what they are
        data["resolved"] = {}
    options = [{"label": value or "-", "value": value} for value in values]
    part = {"type": kind, "custom_id": custom_id, "options": options}
    return await _send(world, member, card, PRESS, data, part)


async def submit(
    world: World, member: Any, card: Any, custom_id: str, fields: dict[str, str]
) -> simcord.InteractionResult:
    """A form with this id, as if it had been opened from a card."""
    rows = [
        {
            "type": LABEL,
            "id": at,
            "component": {"type": FIELD, "id": 100 + at, "custom_id": name, "value": value},
        }
        for at, (name, value) in enumerate(fields.items())
    ]
    return await _send(world, member, card, FORM, {"custom_id": custom_id, "components": rows})


async def _send(
    world: World,
    member: Any,
    card: Any,
    kind: int,
    data: dict[str, Any],
    part: dict[str, Any] | None = None,
) -> simcord.InteractionResult:
    backend = world.env.backend
    stored = backend.get_message(card._interaction.channel_id, card.response.id)
    record, payload = payloads.base_payload(
        backend,
        type=kind,
        channel_id=stored.channel_id,
        guild_id=member.guild.id,
        user_id=member.id,
        data=data,
    )
    payload["message"] = dict(serializers.message_payload(backend, stored))
    if part is not None:  # the library looks for what was pressed on the card that comes along
        payload["message"]["components"] = [{"type": ROW, "components": [part]}]
    record.source_message_id = stored.id
    backend.emit("INTERACTION_CREATE", payload)
    await world.env.settle()
    return simcord.InteractionResult(world.env, record)
