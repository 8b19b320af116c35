"""A question in plain words -> its possible readings.

Nothing is looked up here: a reading says how the moves were called, and whoever knows the moves
picks the reading that fits.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from bot.results.ask import QUESTION_CHARACTERS, QUESTION_WORDS, Phrase, Question, Said
from bot.words.patterns import Filled, Pattern, Phrases, matches
from bot.words.tables import Asking, Modifier, tables
from bot.words.tokens import Token, tokens, without
from core.model import ContactKind, Game

Vocabulary = Mapping[str, Phrases]
"""What fills the places of a fixed meaning, by the place's name."""

_NUMBER = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,3})?)(?:st|nd|rd|th|f)?")
_NUMBER_WORDS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
_NTH_WORDS = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"]
_WHOLE = ("active_frame", "hits_before", "delay_frames", "reversal_startup_frames")
_STEPS = (1, 2, 3)


class _Numbers(Phrases):
    """Numbers in digits or, up to ten, in words."""

    def __init__(self) -> None:
        words = (*enumerate(_NUMBER_WORDS, start=1), *enumerate(_NTH_WORDS, start=1))
        super().__init__({(word,): str(number) for number, word in words})

    def meaning(self, found: Sequence[Token]) -> str | None:
        """The number in digits."""
        digits = _NUMBER.fullmatch(found[0].word) if len(found) == 1 else None
        return digits[1] if digits else super().meaning(found)


def vocabulary(game: Game) -> Vocabulary:
    """The game's own names: hit states, control schemes, characters, the unit of distance."""
    states = {called: state.name for state in game.hit_states for called in (state.name, *state.aliases)}
    schemes = {called: scheme.name for scheme in game.schemes for called in (scheme.name, *scheme.aliases)}
    people = {called: who.name for who in game.characters for called in (who.name, *who.aliases)}
    unit = game.distance_unit
    units = dict.fromkeys((unit, unit.removesuffix("s"), "units"), unit)
    return {
        "state": _phrases(states),
        "scheme": _phrases(schemes),
        "character": _phrases(people),
        "unit": _phrases(units),
        "n": _Numbers(),
    }


def is_too_long(text: str) -> bool:
    """Whether a text has more than QUESTION_CHARACTERS or QUESTION_WORDS and so is not read."""
    return len(text) > QUESTION_CHARACTERS or len(tokens(text)) > QUESTION_WORDS


def readings(text: str, known: Vocabulary) -> Iterator[tuple[Question, ...]]:
    """The readings of a question, likelier ones first; a group is the ways in which one pattern fits.

    None for a text that is too long.
    """
    if is_too_long(text):
        return
    whole = tokens(text)
    before = None
    for step in _STEPS:
        taken = _take_modifiers(text, whole, known, step)
        if taken is None or taken == before:
            continue
        before = taken
        said, named, rest = taken
        rest = _without_ends(rest, tables().polite)
        for asking in tables().questions:
            meant = _with_contact(said, asking.on)
            for pattern in asking.patterns if meant is not None and rest else ():
                assert meant is not None
                ways = [places for end, places in matches(pattern, rest, known) if end == len(rest)]
                if ways:
                    group = (_question(text, asking, rest, places, meant, named) for places in ways)
                    yield tuple(dict.fromkeys(group))


def _question(
    text: str,
    asking: Asking,
    rest: Sequence[Token],
    places: Filled,
    said: Said,
    named: Sequence[Phrase],
) -> Question:
    called = [
        _phrase(text, _without_ends(tuple(rest[slice(*places[place])]), tables().around_moves))
        for place in ("a", "b")
        if place in places
    ]
    for who in named:
        next_to_move = not text[who.end : called[0].start].strip(" :")
        if next_to_move and said.owner is None:
            said = replace(said, owner=who)
        elif said.mine is None:
            said = replace(said, mine=who)
    return Question(text, asking.kind, called[0], called[1] if len(called) > 1 else None, said, asking.loose)


def _take_modifiers(
    text: str, found: tuple[Token, ...], known: Vocabulary, step: int
) -> tuple[Said, tuple[Phrase, ...], tuple[Token, ...]] | None:
    """What the modifiers say, characters just named, and the words left; None if they contradict."""
    sets: dict[str, object] = {}
    named: list[Phrase] = []
    for modifier in tables().modifiers:
        while modifier.step <= step and (match := _first_match(modifier, found, known)) is not None:
            start, end, places = match
            for field, value in modifier.sets.items():
                meant = _meant(text, field, value, found, places, known)
                if field == "named" and isinstance(meant, Phrase):
                    named.append(meant)
                elif meant is None or sets.setdefault(field, meant) != meant:
                    return None
            found = without(found, start, end)
    return Said(**sets), tuple(named), found  # type: ignore[arg-type]


def _first_match(
    modifier: Modifier, found: tuple[Token, ...], known: Vocabulary
) -> tuple[int, int, Filled] | None:
    """The first place where the modifier fits, and there its longest match."""
    for start in range(len(found)):
        ways = [
            (end, places)
            for pattern in modifier.patterns
            for end, places in matches(pattern, found, known, start)
            if not any(token.after_gap for token in found[start + 1 : end])
        ]
        if ways:
            end, places = max(ways, key=lambda way: way[0])
            return start, end, places
    return None


def _meant(
    text: str, field: str, value: object, found: tuple[Token, ...], places: Filled, known: Vocabulary
) -> object:
    """What a modifier sets a field to; None for a number that the field cannot have."""
    if field == "contact":
        return ContactKind(str(value))
    if not isinstance(value, str):
        return value
    place = value.strip("{}")
    words = found[slice(*places[place])]
    if place in ("character", "who"):
        return _phrase(text, words)
    meaning = known[place].meaning(words)
    if meaning is None or field not in (*_WHOLE, "distance"):
        return meaning
    if field == "distance":
        return float(meaning)
    return int(meaning) if meaning.isdigit() else None


def _with_contact(said: Said, implied: ContactKind | None) -> Said | None:
    """What is said, with the contact that the question's words imply; None if that contradicts."""
    if implied is None or said.contact is implied:
        return said
    return replace(said, contact=implied) if said.contact is None else None


def _without_ends(found: tuple[Token, ...], unwanted: Sequence[Pattern]) -> tuple[Token, ...]:
    """The words without unwanted ones before and after, as long as any would be left."""
    while (end := max(_fits(found, unwanted, 0), default=0)) and end < len(found):
        found = found[end:]
    while (start := _tail(found, unwanted)) is not None:
        found = found[:start]
    return found


def _tail(found: tuple[Token, ...], unwanted: Sequence[Pattern]) -> int | None:
    return next((at for at in range(1, len(found)) if len(found) in _fits(found, unwanted, at)), None)


def _fits(found: tuple[Token, ...], patterns: Sequence[Pattern], start: int) -> set[int]:
    return {end for pattern in patterns for end, _ in matches(pattern, found, {}, start)}


def _phrase(text: str, words: Sequence[Token]) -> Phrase:
    start, end = words[0].start, words[-1].end
    return Phrase(text[start:end], start, end)


def _phrases(meanings: Mapping[str, str]) -> Phrases:
    return Phrases({tuple(token.word for token in tokens(name)): meant for name, meant in meanings.items()})
