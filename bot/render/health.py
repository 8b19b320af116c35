"""What the bot may not do in a server, in words, and how it is granted."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from bot.results.setup import ChannelHealth, Health, Need
from core.model import Game


def health_card(server: str, health: Health, game: Game) -> Card:
    """Channel by channel, with what to do."""
    amiss = [one for one in health.channels if one.missing or one.name is None]
    count = len(amiss) + len(health.roles_gone)
    lead = say("health", "well", server=server) if health.is_well else None
    lead = lead or say("health", "ill", server=server, count=count)
    groups = [Group(say("health", "channels"), tuple(map(_line, health.channels)))]
    if health.roles_gone:
        groups.append(Group(say("health", "roles"), tuple(_roles(health))))
    needs = [need for need in Need if any(need in one.missing for one in health.channels)]
    how = []
    if needs:
        named = ", ".join(say("health-permissions", need.value) for need in needs)
        how.append(say("health", "how-channel", needs=named))
    if health.roles_gone or any(one.name is None for one in health.channels):
        how.append(say("health", "how-settings"))
    if how:
        groups.append(Group(say("health", "how"), tuple(how)))
    commands = tuple(say("health", f"commands-{key}") for key in ("scope", "hidden"))
    groups.append(Group(say("health", "commands"), commands))
    return Card(lead, tuple(groups), (), source_of(game))


def amiss_lines(health: Health) -> list[str]:
    """Only what is missing, a line for each."""
    return [_line(one) for one in health.channels if one.missing or one.name is None] + _roles(health)


def _roles(health: Health) -> list[str]:
    return [
        say("health", "role-gone", name=say("setup-short", step.name.lower())) for step in health.roles_gone
    ]


def _line(one: ChannelHealth) -> str:
    used = ", ".join(say("health-used", use.value) for use in one.used)
    if one.name is None:
        return say("health", "line-gone", used=used)
    if not one.missing:
        return say("health", "line-well", channel=one.name, used=used)
    needs = _listed([say("health-needs", need.value) for need in one.missing])
    return say("health", "line-ill", channel=one.name, used=used, needs=needs)


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]
