"""Versions of games for tests: sources of the demo games, edited, and kept as a server's own."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from demo import GAMES, demo
from inline import Bench

from bot.gamefiles import Source, as_json, digest, find_game, game_of, read_source, with_cell, with_version
from bot.ports import Clock
from bot.results.games import Edition
from bot.results.place import Owner
from bot.services.game_book import GameBook
from bot.services.settings import SettingsBook
from bot.storage import editions
from bot.storage.store import Store

Cells = Mapping[tuple[str, str, str], str]
"""Texts of cells, by the character's name, the move's input and the column."""


@cache
def source_of(name: str) -> Source:
    """The source of the demo game of this name."""
    return read_source(find_game(name))


def edited(source: Source, label: str, cells: Cells) -> Source:
    """The source with other cells, under another label."""
    for (character, written, column), text in cells.items():
        source = with_cell(source, character, written, column, text)
    return with_version(source, label)


def hosting(store: Store, clock: Clock, book: SettingsBook, **sources: Source) -> GameBook:
    """A book, still to be loaded, whose host has the demo games, or these sources in their place."""
    host = {**{name: source_of(name) for name in GAMES}, **sources}
    games = {name: game_of(sources[name]) if name in sources else demo(name) for name in host}
    return GameBook(store, clock, book, games, host)


async def keep(
    bench: Bench, games: GameBook, server_id: int, source: Source, label: str, *, used: bool = True
) -> Edition:
    """The source kept as a version of this server's, which uses it from now on or does not."""
    game, kept = game_of(source), with_version(source, label)
    by = Owner(server_id, 900)
    async with bench.store.write() as writing:
        edition = await editions.add(
            writing, server_id, game.name, label, as_json(kept), digest(kept), by, bench.clock.now()
        )
        if used:
            await editions.set_current(writing, server_id, game.name, edition.id)
    if used:
        games.hold(server_id, game.name, edition.id, game_of(kept))
    return edition
