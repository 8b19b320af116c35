"""What is said of saved routes, and of those that a server shares."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from bot.limits import CHOICE_CHARACTERS
from bot.render.card import Card, Group, source_of
from bot.render.limits import cut
from bot.render.wording import Fact, say
from bot.results.library import Forgotten, Kept, PickedShared, RouteList, Shared
from bot.results.tally import SavedRoute, SharedRoute
from core.model import Game

PICKED_FROM = 25
"""What a list to pick from can hold."""

Route = SavedRoute | SharedRoute


def saved_card(route: SavedRoute, game: Game) -> Card:
    """A route that was just saved."""
    groups = _group("routes", "how", say("routes", "log"), say("routes", "share"))
    if route.tags:
        groups += _group("routes", "tagged", say("routes", "find", tags=", ".join(route.tags)))
    return Card(_said("routes", "saved", route), groups, (), _source(route, game))


def routes_card(listed: RouteList, game: Game) -> Card:
    """A member's routes in this game, by character."""
    facts: dict[str, Fact] = {"tag": listed.tag or None}
    if not listed.routes:
        lead = say("routes", "none-tagged" if listed.tag else "none", game.fps, **facts)
        return Card(lead, _tags(listed), (), source_of(game))
    key = "some-tagged" if listed.tag else "some"
    lead = say("routes", key, game.fps, count=len(listed.routes), **facts)
    return Card(lead, _by_character(listed.routes, game), (), source_of(game))


def forgotten_card(gone: Forgotten, game: Game) -> Card:
    """A route that is no longer saved."""
    groups = _group("routes", "how", say("routes", "forgotten-slip"))
    if gone.conversions:
        went = say("routes", "forgotten-more", conversions=gone.conversions)
        groups = (*_group("routes", "forgotten-with", went), *groups)
    return Card(_said("routes", "forgotten", gone.route), groups, (), _source(gone.route, game))


def shared_card(shared: Shared, game: Game) -> Card:
    """A route that was just shared with the server."""
    lead = _said("library", "shared-again" if shared.again else "shared", shared.route)
    groups = _group("routes", "how", say("library", "see"))
    return Card(lead, groups, (), _source(shared.route, game))


def library_card(listed: RouteList, game: Game) -> Card:
    """The routes that a server shares, by character."""
    facts: dict[str, Fact] = {"character": listed.character or None, "tag": listed.tag or None}
    if listed.routes:
        lead = say("library", "some", game.fps, count=len(listed.routes), **facts)
        return Card(lead, _by_character(listed.routes, game), (), source_of(game))
    lead = say("library", "none-such" if listed.character or listed.tag else "none", game.fps, **facts)
    return Card(lead, _tags(listed), (), source_of(game))


def shared_route_card(picked: PickedShared, game: Game) -> Card:
    """One of them."""
    route = picked.route
    lines = [_tag_words(route)] if route.tags else []
    lines += [say("library", "own")] if picked.own else []
    if route.game_version != game.version:
        lines.append(say("library", "version", version=route.game_version, now=game.version))
    groups = _group("library", "about", *lines) if lines else ()
    lead = say("library", "one", name=route.name, character=route.character, notation=route.notation)
    return Card(lead, groups, (), _source(route, game))


def kept_card(kept: Kept, game: Game) -> Card:
    """A shared route that a member saved for themselves, or had saved already."""
    groups: tuple[Group, ...] = ()
    if kept.taken:
        taken = say("library", "taken", taken=kept.taken, name=kept.route.name)
        groups = _group("library", "why", taken)
    groups += _group("routes", "how", say("routes", "log"))
    lead = _said("library", "had" if kept.had else "kept", kept.route)
    return Card(lead, groups, (), _source(kept.route, game))


def tidied_card(route: SharedRoute, game: Game) -> Card:
    """A route that the server shares no longer."""
    groups = _group("library", "then", say("library", "copies"))
    return Card(_said("library", "tidied", route), groups, (), _source(route, game))


def route_pick_hint(*, shared: bool) -> str:
    """What a list of routes to pick from asks for."""
    return say("pick-route", "shared" if shared else "saved")


def route_pick_label(route: Route) -> tuple[str, str]:
    """A route in a list to pick from: its name and whose it is, and its moves below."""
    name = f"{route.name} ({route.character})"
    return cut(name, CHOICE_CHARACTERS), cut(route.notation, CHOICE_CHARACTERS)


def save_form_text(key: str) -> str:
    """A title, question or hint of the form that saves a route."""
    return say("save-form", key)


def _by_character(routes: Sequence[Route], game: Game) -> tuple[Group, ...]:
    """A line for each route, and what one may do with them."""
    groups = tuple(
        Group(who, tuple(_line(route, game) for route in own))
        for who, own in groupby(routes, key=lambda route: route.character)
    )
    if len(routes) <= PICKED_FROM:
        return groups
    told = say("routes", "pick-first", most=PICKED_FROM, count=len(routes))
    return (*_group("routes", "pick", told), *groups)


def _line(route: Route, game: Game) -> str:
    more = [_tag_words(route)] if route.tags else []
    if route.game_version != game.version:
        more.append(say("routes", "older", version=route.game_version))
    return _said("routes", "line", route, more="; ".join(more) or None)


def _tags(listed: RouteList) -> tuple[Group, ...]:
    """Which tags there are, for who asked for one that is on no route."""
    if not (listed.tag and listed.tags):
        return ()
    return _group("routes", "your-tags", ", ".join(listed.tags))


def _tag_words(route: Route) -> str:
    return say("routes", "tags", tags=", ".join(route.tags))


def _said(section: str, key: str, route: Route, more: str | None = None) -> str:
    return say(section, key, name=route.name, notation=route.notation, more=more)


def _group(section: str, question: str, *lines: str) -> tuple[Group, ...]:
    return (Group(say(section, question), lines),)


def _source(route: Route, game: Game) -> str:
    return source_of(game, game.character(route.character))
