"""Patch day in words: for one member, for everybody, and for whoever is told unasked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from bot.limits import CHOICE_CHARACTERS
from bot.render.card import Card, Group, as_text, source_of
from bot.render.game_changes import change_lines, shown_changes
from bot.render.limits import cut, first_lines
from bot.render.patch_notes import (
    EACH,
    assigned_line,
    called,
    cancel_lines,
    link_lines,
    own_line,
    shared_line,
)
from bot.render.wording import Fact, counted, say
from bot.results.patches import Keep, PatchNotice, PatchSheet, Touched
from core.model import Game
from core.patches import LinkEffect, RouteEffect

SHOWN = 12
"""Lines under a question; the rest stands in the file that goes with the card."""
LONG = 3_000
"""Characters from which on a card is so long that the platform may not take all of it."""
_EVERYBODYS = (Keep.DRILL, Keep.LISTED, Keep.SHARED)


def sheet_card(sheet: PatchSheet, file: str | None = None) -> Card:
    """What changed, for one member: what is theirs first. `file`: what holds all of it, if a card cannot."""
    then = [_next(sheet)] if file is None else [_next(sheet), say("patch-next", "file", file=file)]
    groups = (*_sheet(sheet, whole=False), _group("next", then))
    return Card(_own_lead(sheet), groups, (), source_of(sheet.after.game))


def sheet_text(sheet: PatchSheet) -> str | None:
    """All of it, where a card cannot hold it."""
    lead, source = _own_lead(sheet), source_of(sheet.after.game)
    shown, whole = (as_text(Card(lead, _sheet(sheet, whole=each), (), source)) for each in (False, True))
    return whole if shown != whole or len(shown) > LONG else None


def post_card(sheet: PatchSheet) -> Card:
    """What changed, for everybody: no member is named."""
    game, concerns = sheet.after.game, sheet.concerns
    ours = [one for keep in _EVERYBODYS for one in concerns.kept_as(keep)]
    told = [one for one in ours if one.kept.keep is Keep.DRILL or one.change.effect is RouteEffect.BREAKS]
    lines = _first(shared_line(one, game) for one in told)
    rest = _named([one for one in ours if one not in told])
    groups = (
        _group("concerns", [*_members(sheet), *lines, *rest]),
        *_changes(sheet, whole=False),
        _group("next", [say("patch-next", "post")]),
    )
    return Card(_lead(sheet), _filled(groups), (), source_of(game))


def posted_card(sheet: PatchSheet, channel: str | None, *, again: bool) -> Card:
    """For who had it posted; `channel`: what it is called, where that is known. `again`: it stood there."""
    return _about_channel("posted-again" if again else "posted", channel, sheet.after.game)


def not_posted_card(sheet: PatchSheet, channel: str | None) -> Card:
    """For who wanted it posted where the bot may not write."""
    return _about_channel("not-posted", channel, sheet.after.game)


def working_card(done: int, whole: int, game: Game) -> Card:
    """How far the looking is."""
    return Card(say("patch", "working", done=done, whole=whole), (), (), source_of(game))


def failed_card(game: Game) -> Card:
    """For who asked when it could not be worked out."""
    return Card(say("patch", "failed"), (), (), source_of(game))


def patch_notice_card(notice: PatchNotice, server: str | None, *, at_home: bool) -> Card:
    """What a member is told unasked. `server`: its name; `at_home`: their direct messages are about it, so
    that what is pressed there counts there."""
    game = notice.after.game
    breaks = [one for one in notice.mine if one.change.effect is RouteEffect.BREAKS]
    facts: dict[str, Fact] = {"game": game.name, "version": notice.after.label, "server": server}
    key = "notice-breaks" if breaks else "notice"
    lead = say("patch", key, 60, things=_things(breaks or notice.mine), **facts)
    then = say("patch-next", "notice" if at_home else "notice-elsewhere", 60, **facts)
    groups = [
        _group("mine", _first(own_line(one, game) for one in notice.mine)),
        _group("next", [then]),
    ]
    return Card(lead, _filled(groups), (), source_of(game))


def open_label(one: Touched) -> tuple[str, str]:
    """One's own route in a list to pick from, and below it the moves that are opened."""
    effect = say("patch-effects", one.change.effect.value)
    return cut(f"{called(one)}: {effect}", CHOICE_CHARACTERS), cut(one.opens, CHOICE_CHARACTERS)


def open_hint() -> str:
    """What that list asks for."""
    return say("patch", "open")


def _about_channel(key: str, channel: str | None, game: Game) -> Card:
    return Card(say("patch", key, channel=channel), (), (), source_of(game))


def _own_lead(sheet: PatchSheet) -> str:
    breaks = [one for one in sheet.mine if one.change.effect is RouteEffect.BREAKS]
    facts: dict[str, Fact] = {"game": sheet.after.game.name, "version": sheet.after.label}
    if breaks:
        return say("patch-leads", "own-breaks", 60, things=_things(breaks), **facts)
    if sheet.mine:
        return say("patch-leads", "own-touched", 60, things=_things(sheet.mine), **facts)
    return say("patch-leads", "own-none", 60, **facts)


def _lead(sheet: PatchSheet) -> str:
    facts: dict[str, Fact] = {"game": sheet.after.game.name, "version": sheet.after.label}
    breaking = len(sheet.concerns.kept_as(Keep.SAVED, RouteEffect.BREAKS))
    links = sheet.follows.links
    lost = len({(one.character, one.first, one.second) for one in links if one.kind is LinkEffect.LOST})
    if breaking:
        routes = _counted(Keep.SAVED, breaking)
        return say("patch-leads", "breaks", 60, routes=routes, **facts)
    if lost:
        return say("patch-leads", "loses", 60, links=counted(lost, "link"), **facts)
    return say("patch-leads", "changes", 60, **facts)


def _sheet(sheet: PatchSheet, *, whole: bool) -> tuple[Group, ...]:
    mine = [own_line(one, sheet.after.game) for one in sheet.mine]
    assigned = dict.fromkeys(assigned_line(one, sheet.after.game) for one in sheet.assigned)
    groups = (
        _group("mine", mine if whole else _first(mine)),
        _group("students", assigned if whole else _first(assigned)),
        *_changes(sheet, whole=whole),
        _group("concerns", [*_members(sheet), *_named(sheet.concerns.touched)]),
    )
    return _filled(groups)


def _changes(sheet: PatchSheet, *, whole: bool) -> Iterator[Group]:
    each, follows, name = None if whole else EACH, sheet.follows, sheet.after.game.name
    links, cancels = tuple(link_lines(follows.links, each)), tuple(cancel_lines(follows.cancels, each))
    yield _group("links", links if whole else _first(links))
    yield _group("cancels", cancels if whole else _first(cancels))
    changed = change_lines(sheet.patch, name) if whole else shown_changes(sheet.patch, name, SHOWN)
    yield Group(
        say("patch-questions", "changed", before=sheet.before.label, version=sheet.after.label), changed
    )


def _members(sheet: PatchSheet) -> Iterator[str]:
    """How much of what members keep is touched."""
    for keep in (Keep.SAVED, Keep.HOMEWORK):
        touched = len(sheet.concerns.kept_as(keep))
        breaking = len(sheet.concerns.kept_as(keep, RouteEffect.BREAKS))
        if touched:
            key = "touched" if not breaking else "break" if breaking == touched else "some-break"
            if touched == 1:
                key = "breaks" if breaking else "touched-one"
            elif breaking == 1:
                key = "some-breaks"
            yield say("patch-concerns", key, what=_counted(keep, touched), breaking=breaking)


def _counted(keep: Keep, count: int) -> str:
    """So many of what members keep so."""
    return say("patch-concerns", keep.value if count > 1 else f"{keep.value}-one", count=count)


def _named(touched: Sequence[Touched]) -> Iterator[str]:
    """What of it is everybody's, by its names."""
    for keep in _EVERYBODYS:
        names = dict.fromkeys(called(one) for one in touched if one.kept.keep is keep)
        if names:
            yield say("patch-concerns", keep.value, names=", ".join(names))


def _things(touched: Iterable[Touched]) -> str:
    """How many routes and pieces of homework.

    >>> _things([])
    ''
    """
    keeps = [one.kept.keep for one in touched]
    homework = keeps.count(Keep.HOMEWORK)
    counts = {"route": len(keeps) - homework, "homework": homework}
    told = [
        say("patch-things", name if count > 1 else f"{name}-one", count=count)
        for name, count in counts.items()
        if count
    ]
    return say("patch-things", "and").join(told)


def _next(sheet: PatchSheet) -> str:
    if sheet.opens:
        return say("patch-next", "own")
    return say("patch-next", "students" if sheet.assigned else "nothing")


def _first(lines: Iterable[str]) -> tuple[str, ...]:
    return first_lines(lines, SHOWN, "patch")


def _group(question: str, lines: Iterable[str]) -> Group:
    return Group(say("patch-questions", question), tuple(lines))


def _filled(groups: Iterable[Group]) -> tuple[Group, ...]:
    return tuple(group for group in groups if group.lines)
