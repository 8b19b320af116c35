"""A server's games in words: their versions, what changed, and why something cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

from bot.limits import CHOICE_CHARACTERS
from bot.render.card import Card, Group, source_of
from bot.render.game_changes import change_lines, shown_changes
from bot.render.limits import cut
from bot.render.members import Names, called
from bot.render.reps import date_words
from bot.render.wording import Fact, field_name, say
from bot.results.games import Edition, EditionChange, EditionList, GameRefusal, GameRefusalCode
from bot.results.place import DIRECT_MESSAGES
from core.model import Game
from core.patches import Patch
from core.text import quoted, shown

MOST_CHANGES = 10

_NAMELESS = {
    GameRefusalCode.NO_SUCH_HEADER: "near",
    GameRefusalCode.NO_SUCH_COLUMN: "near",
    GameRefusalCode.NO_SUCH_CHARACTER: "near",
    GameRefusalCode.NO_SUCH_MOVE: "near",
    GameRefusalCode.SAME_NUMBER: "number",
}
"""Refusals that have another sentence where this fact is empty."""


def games_card(of_all: Game, here: Game, channel: str | None, games: Sequence[str]) -> Card:
    """The server's game `of_all` and that of a channel; `channel`: the name of the one that was asked about,
    None for the one where it was asked. `games`: those that there are."""
    if channel is not None:
        lead = say("game-desk", "channel", channel=channel, game=here.name)
    elif here.name != of_all.name:
        lead = say("game-desk", "this-channel", here=here.name, game=of_all.name)
    else:
        lead = say("chat", "game", game=of_all.name)
    how = [say("chat", "how-game", games=", ".join(games)), say("game-desk", "how-channel")]
    return Card(
        lead, (Group(say("chat", "how"), tuple(how)),), (), source_of(of_all if channel is None else here)
    )


def changed_card(change: EditionChange, told: int, *, back: bool = False) -> Card:
    """A game that has another version now; `told`: how many members were told of their own routes."""
    edition, game = change.edition, change.game
    facts: dict[str, Fact] = {"game": edition.game, "version": edition.version}
    if change.again:
        return Card(say("game-desk", "again", 60, **facts), (), (), source_of(game))
    lines = change_lines(change.patch, edition.game) if change.patch else ()
    if change.patch is None:
        lead = say("game-desk", "changed-new", 60, **facts)
    elif back:
        lead = say("game-desk", "changed-back", 60, **facts)
    elif len(lines) == 1:
        lead = say("game-desk", "changed-number", 60, change=lines[0], **facts)
    else:
        lead = say("game-desk", "changed", 60, **facts)
    groups = []
    if change.patch is not None and (back or len(lines) > 1):
        groups.append(_changes("changed", change.patch, edition.game))
    if told:
        groups.append(_group("told", say("game-desk", "told" if told > 1 else "told-one", told=told)))
    before = change.before.version if change.before else None
    groups.append(_group("next", say("game-desk", "next-new") if before is None else after_change(before)))
    return Card(lead, tuple(groups), (), source_of(game))


def after_change(before: str) -> str:
    """What can be done once another version counts than the one `before`."""
    return say("game-desk", "next-changed", version=before)


def back_label(version: str) -> str:
    """What the button says that undoes a change."""
    return say("game-desk", "back-to", version=version)


def editions_card(listed: EditionList, names: Names, zone: tzinfo) -> Card:
    """The versions of a game."""
    lines = [edition_line(one, one.id == listed.current, names, zone) for one in listed.editions]
    lead = say("game-desk", "current", game=listed.game.name, version=listed.game.version)
    groups = (_group("versions", *lines), _group("next", say("game-desk", "next-versions")))
    return Card(lead, groups, (), source_of(listed.game))


def edition_option(edition: Edition, current: bool, names: Names, zone: tzinfo) -> str:
    """A version in a list to pick from."""
    return cut(edition_line(edition, current, names, zone), CHOICE_CHARACTERS)


def edition_line(edition: Edition, current: bool, names: Names, zone: tzinfo) -> str:
    """A version, and who made it when."""
    key = "edition-current" if current else "edition"
    return say("game-desk", key, version=edition.version, how=_how(edition, names, zone))


def edition_card(edition: Edition, game: Game, names: Names, zone: tzinfo, *, current: bool) -> Card:
    """One version; `game`: the one of the channel."""
    lead = say("game-desk", "one-current" if current else "one", game=edition.game, version=edition.version)
    groups = (
        _group("what", edition_line(edition, current, names, zone)),
        _group("next", say("game-desk", "next-edition")),
    )
    return Card(lead, groups, (), source_of(game))


def ask_back_card(edition: Edition, game: Game, patch: Patch | None) -> Card:
    """Is this version to be used again? `patch`: from the present one to it."""
    lead = say("game-desk", "ask-back", game=edition.game, version=edition.version)
    groups = () if patch is None else (_changes("would-change", patch, edition.game),)
    return Card(lead, groups, (), source_of(game))


def files_card(name: str, version: str, rules: str, moves: str, game: Game) -> Card:
    """The files of a version; `rules` and `moves` are their names."""
    lead = say("game-desk", "files", game=name, version=version)
    what = say("game-desk", "file-rules", rules=rules, moves=moves)
    groups = (_group("what", what), _group("next", say("game-desk", "next-file", moves=moves)))
    return Card(lead, groups, (), source_of(game))


def template_card(rules: str, moves: str, guide: str, game: Game) -> Card:
    """The files of a game to begin with."""
    what = (
        say("game-desk", "file-rules", rules=rules, moves=moves),
        say("game-desk", "template-guide", guide=guide),
    )
    then = say("game-desk", "next-template", rules=rules, moves=moves)
    groups = (_group("what", *what), _group("next", then))
    return Card(say("game-desk", "template"), groups, (), source_of(game))


def column_option(column: str) -> str:
    """A column of a game file in a list to pick from.

    >>> column_option("startup"), column_option("on_hit")
    ('startup', 'on_hit: advantage on hit')
    """
    name = field_name(column)
    return column if name == column.replace("_", " ") else f"{column}: {name}"


def game_refusal_card(refusal: GameRefusal) -> Card:
    """Why nothing was done."""
    facts: dict[str, Fact] = {"game": refusal.game.name, **dict(refusal.facts.items())}
    key = refusal.code.value
    if refusal.code is GameRefusalCode.NO_SUCH_VERSION and not facts.get("typed"):
        key += "-button"
    if refusal.code is GameRefusalCode.NO_SUCH_MOVE and not facts.get("character"):
        key += "-anybody"
    empty = _NAMELESS.get(refusal.code)
    if empty is not None and not facts.get(empty):
        key += "-none"
    if refusal.code is GameRefusalCode.CHANGED_MEANWHILE:
        for name in ("found", "now"):
            facts[name] = facts[name] or say("game-refusals", "not-given")
    if refusal.code is GameRefusalCode.WRONG_NUMBER:
        facts["wrong"] = _of_it(str(facts["wrong"]), str(facts["typed"]))
    if "column" in facts:
        facts["column"] = field_name(str(facts["column"]))
    if "typed" in facts:
        facts["typed"] = quoted(str(facts["typed"]))
    return Card(_capital(say("game-refusals", key, 60, **facts)), (), (), source_of(refusal.game))


def _how(edition: Edition, names: Names, zone: tzinfo) -> str:
    day = date_words(edition.made_at, zone)
    if edition.server_id == DIRECT_MESSAGES:
        return say("game-desk", "by-host", day=day)
    facts: dict[str, Fact] = {"name": called(names, edition.made_by), "day": day, "reason": edition.reason}
    return say("game-desk", "by-reason" if edition.reason else "by", 60, **facts)


def _changes(question: str, patch: Patch, name: str) -> Group:
    return _group(question, *shown_changes(patch, name, MOST_CHANGES))


def _group(question: str, *lines: str) -> Group:
    return Group(say("game-desk-questions", question), lines)


def _of_it(wrong: str, typed: str) -> str:
    """What is wrong with what was typed, without quoting that once more.

    >>> _of_it('"six" is not a number of frames', "six")
    'it is not a number of frames'
    """
    quote = f"{shown(typed)} "
    return f"it {wrong.removeprefix(quote)}" if wrong.startswith(quote) else wrong


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
