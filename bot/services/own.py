"""Choosing one's own character and controls by what was typed."""

from __future__ import annotations

from bot.results.ask import UnknownName
from bot.results.place import Place
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from core.model import Game

TAKES_BACK = "none"


def choose_own(
    desk: AskDesk, place: Place, character: str | None, controls: str | None
) -> UnknownName | None:
    """Choose what is given and leave the rest; "none" takes a choice back. A name that is not known is
    refused, and then nothing is changed."""
    before = desk.character_of(place)
    if character is not None:
        refused = desk.choose_character(place, _name(character))
        if isinstance(refused, UnknownName):
            return refused
    if controls is not None:
        unknown = desk.choose_controls(place, _name(controls))
        if isinstance(unknown, UnknownName):
            desk.choose_character(place, before.name if before else None)
            return unknown
    return None


def _name(typed: str) -> str | None:
    return None if typed.strip().casefold() == TAKES_BACK else typed


def complete_controls(game: Game, typed: str) -> tuple[str, ...]:
    """Control schemes of the game that the text may become, best first."""
    return complete_names([(one.name, (one.name, *one.aliases)) for one in game.schemes], typed)
