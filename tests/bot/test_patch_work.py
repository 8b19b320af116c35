"""What is worked out for patch day in another process: character by character, with the same result as of
the whole game."""

from __future__ import annotations

import pickle
from itertools import product

import pytest
from patched import patched_salt, salt

from bot.gamefiles import game_of
from bot.services.patch_work import part_of, patch_of, routes_touched, what_follows
from core.model import Game
from core.patches import SavedText

EVERYBODY = (
    ("Odrun Vale", "5MP", "on_hit", "+6"),
    ("Mirrel Quay", "5MP", "startup", "7"),
    ("Garrow Thrupp", "5LP", "damage", "310"),
    ("Ninnet Sprae", "5MP", "on_hit", "+3"),
)
OLD, NEW = game_of(salt()), game_of(patched_salt("1.3", EVERYBODY))


def texts_of(game: Game, character: str) -> list[SavedText]:
    """Every two of a character's first moves as a link, whether or not they are one."""
    who = game.character(character)
    assert who is not None
    pairs = product([move.input for move in who.moves[:12]], repeat=2)
    return [SavedText(number, who.name, ", ".join(pair)) for number, pair in enumerate(pairs)]


@pytest.mark.parametrize("character", [who.name for who in OLD.characters])
def test_a_characters_routes_need_nothing_of_the_others(character: str) -> None:
    patch, _ = what_follows(OLD, NEW)
    texts = texts_of(OLD, character)
    whole = routes_touched(OLD, NEW, patch, texts)
    part = part_of(OLD, character), part_of(NEW, character), patch_of(patch, character)
    assert routes_touched(*part, texts) == whole


def test_each_character_has_routes_that_the_patch_touches() -> None:
    patch, _ = what_follows(OLD, NEW)
    for who in OLD.characters:
        assert routes_touched(OLD, NEW, patch, texts_of(OLD, who.name)), who.name


def test_all_of_it_can_be_sent_to_another_process_and_back() -> None:
    patch, follows = what_follows(OLD, NEW)
    changes = routes_touched(OLD, NEW, patch, texts_of(OLD, "Odrun Vale"))
    for value in (patch, follows, changes):
        assert pickle.loads(pickle.dumps(value)) == value


def test_a_text_is_read_under_its_own_controls_then_under_none_or_others() -> None:
    new = game_of(patched_salt("1.3", (("Odrun Vale", "2MP", "damage", "650"),)))
    patch, _ = what_follows(OLD, new)
    texts = [
        SavedText(0, "Odrun Vale", "2MP xx 4MP", "one-button"),
        SavedText(1, "Odrun Vale", "2MP xx 4MP"),
        SavedText(2, "Odrun Vale", "2MP xx 236MP", "one-button"),
        SavedText(3, "Odrun Vale", "2MP xx 236MP", "of another game"),
        SavedText(4, "Odrun Vale", "no such words"),
        SavedText(5, "Nobody", "2MP"),
    ]
    assert [key for key, _ in routes_touched(OLD, new, patch, texts)] == [0, 1, 2, 3]
