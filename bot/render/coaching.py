"""Coaches and their students in words: who asks whom, how it ends, and why something cannot be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.log import log_refusal_card
from bot.render.members import Names, called
from bot.render.reps import date_words
from bot.render.wording import Fact, say
from bot.results.coaching import Coaching, CoachRefusal, CoachRefusalCode, Ended
from bot.results.log import LogRefusal
from bot.results.place import Owner
from core.model import Game
from core.text import quoted

SHOWN = 8
"""So many coaches are on a card, those who ask first: each takes one or two of its buttons."""


def coach_refusal_card(refusal: CoachRefusal | LogRefusal, game: Game) -> Card:
    """Why nothing was stored or changed."""
    if isinstance(refusal, LogRefusal):
        return log_refusal_card(refusal, game)
    facts: dict[str, Fact] = {name: fact for name, fact in refusal.facts.items() if fact != ""}
    if "typed" in refusal.facts:
        facts["typed"] = quoted(str(refusal.facts["typed"]))
    if "field" in facts:
        facts["field"] = say("coach-fields", str(facts["field"]))
    key = refusal.code.value
    if refusal.code is CoachRefusalCode.WRONG_STAGE:
        key = f"{key}-{facts.pop('stage')}"
    return Card(say("coach-refusals", key, 60, **facts), (), (), source_of(game))


def member_name(names: Names, owner: Owner | None) -> str:
    """What a member is called, also where they left or erased their data."""
    return called(names, owner.member_id if owner else None)


def asked_card(name: str, game: Game) -> Card:
    """For the coach who asked somebody."""
    return _card("asked", name, game, _group("next", "asked-then"))


def asks_card(name: str, server: str | None, game: Game) -> Card:
    """For the member whom a coach asked; `server`: its name."""
    lead = say("coaching-leads", "asks" if server else "asks-left", name=name, server=server)
    return Card(lead, (what_is_seen(), _group("next", "asks-then")), (), source_of(game))


def said_yes_card(name: str, game: Game) -> Card:
    """For the coach whom a member accepted."""
    return _card("said-yes", name, game, _group("next", "said-yes-then"))


def accepted_card(name: str, game: Game) -> Card:
    """For the member who said yes."""
    return _card("accepted", name, game, what_is_seen(), _group("next", "accepted-then"))


def ended_card(ended: Ended, name: str, game: Game) -> Card:
    """For who ended it, or said no; `name`: the other one's."""
    if ended.coaching.accepted_at is None and not ended.by_coach:
        return _card("refused", name, game, _group("next", "refused-then"))
    who = _other(ended.by_coach)
    return _card(f"ended-{who}", name, game, _group("stays", f"stays-{who}"), _group("next", "ended-then"))


def confirm_end_card(name: str, by_coach: bool, game: Game) -> Card:
    """Before it is ended."""
    who = _other(by_coach)
    lost = ("lost",) if by_coach else ()
    return _card(f"ask-end-{who}", name, game, _group("stays", f"stays-{who}", *lost))


def my_coaches_card(
    coachings: Sequence[Coaching], names: Names, servers: Mapping[int, str], game: Game, zone: tzinfo
) -> Card:
    """A member's coaches, and who asks to be one. `servers`: names of servers, where those are of several."""
    asks = [one for one in coachings if one.accepted_at is None]
    shown = shown_coachings(coachings)
    groups = []
    for key, question, some in (
        ("asks", "asks", [one for one in shown if one.accepted_at is None]),
        ("coach", "coaches", [one for one in shown if one.accepted_at is not None]),
    ):
        lines = [_line(key, one, names, servers, zone) for one in some]
        if lines:
            groups.append(Group(say("coaching-questions", question), tuple(lines)))
    if len(coachings) > len(shown):
        more = say("coaching-lines", "more", count=len(coachings) - len(shown))
        groups[-1] = Group(groups[-1].question, (*groups[-1].lines, more))
    groups.append(what_is_seen() if coachings else _group("next", "none-then"))
    told, key = (asks, "mine-asked") if asks else (coachings, "mine")
    if not told:
        lead = say("coaching-leads", "mine-none")
    elif len(told) == 1:
        name = member_name(names, told[0].coach)
        lead = say("coaching-leads", "mine-asked" if asks else "mine-one", name=name)
    else:
        lead = say("coaching-leads", f"{key}-several", count=len(told))
    return Card(lead, tuple(groups), (), source_of(game))


def shown_coachings(coachings: Sequence[Coaching]) -> tuple[Coaching, ...]:
    """Those that are on the card and have buttons, those who ask first."""
    return tuple(sorted(coachings, key=lambda one: one.accepted_at is not None)[:SHOWN])


def coaches_card(role: str | None, channel: str | None, key: str, game: Game) -> Card:
    """Which role makes coaches in a server, and where those are called whose messages are closed; `key` of
    the line about that channel."""
    lead = say("coaching-leads", "role-none") if role is None else say("coaching-leads", "role-is", role=role)
    calls = Group(say("coaching-questions", "calls"), (say("coaching-lines", key, channel=channel),))
    then = _group("next", "role-none-then" if role is None else "role-then")
    return Card(lead, (calls, then), (), source_of(game))


def not_a_coach_role_card(game: Game) -> Card:
    """For the role that everybody has."""
    return Card(say("coaching-leads", "role-everyone"), (), (), source_of(game))


def cannot_call_card(channel: str, game: Game) -> Card:
    """For a channel in which we may not write."""
    return Card(say("coaching-leads", "cannot-call", channel=channel), (), (), source_of(game))


def what_is_seen() -> Group:
    """What a coach sees of a student."""
    return _group("sees", "sees", "no-change")


def _card(key: str, name: str, game: Game, *groups: Group) -> Card:
    return Card(say("coaching-leads", key, name=name), groups, (), source_of(game))


def _group(question: str, *lines: str) -> Group:
    return Group(say("coaching-questions", question), tuple(say("coaching-lines", line) for line in lines))


def _line(key: str, one: Coaching, names: Names, servers: Mapping[int, str], zone: tzinfo) -> str:
    server = servers.get(one.coach.server_id)
    return say(
        "coaching-lines",
        f"{key}-of" if server else key,
        name=member_name(names, one.coach),
        day=date_words(one.accepted_at or one.asked_at, zone),
        server=server,
    )


def _other(by_coach: bool) -> str:
    return "student" if by_coach else "coach"
