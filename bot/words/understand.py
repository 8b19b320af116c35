"""A question in plain words -> its possible readings.

Nothing is looked up here: a reading says how the moves were called, and whoever knows the moves
picks the reading that fits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bot.results.ask import QUESTION_CHARACTERS, QUESTION_WORDS, Phrase, Question, Said
from bot.words.patterns import Filled, Patterns, matches
from bot.words.tables import OF_TWO, Asking, Modifier, tables
from bot.words.tokens import Token, tokens, without
from bot.words.vocabulary import Vocabulary
from core.model import ContactKind

_WHOLE = ("active_frame", "hits_before", "delay_frames", "reversal_startup_frames")
_STEPS = (1, 2, 3)


def is_too_long(text: str) -> bool:
    """Whether a text has more than QUESTION_CHARACTERS or QUESTION_WORDS and so is not read."""
    return len(text) > QUESTION_CHARACTERS or len(tokens(text)) > QUESTION_WORDS


def readings(text: str, known: Vocabulary) -> Iterator[tuple[Question, ...]]:
    """The readings of a question, likelier ones first; a group is the ways in which one pattern fits.

    First as it stands; then without words that add nothing ("actually", "bro"); then with slips of
    the keyboard put right. None for a text that is too long.
    """
    if is_too_long(text):
        return
    whole = tokens(text)
    fewer = _without_fillers(whole)
    yield from _readings(text, known.marked(whole), known)
    if fewer != whole:
        yield from _readings(text, known.marked(fewer), known)
    mended = known.lexicon.mend(fewer)
    if mended != fewer:
        yield from _readings(text, known.marked(mended), known)


def _readings(text: str, whole: tuple[Token, ...], known: Vocabulary) -> Iterator[tuple[Question, ...]]:
    before = None
    for step in _STEPS:
        taken = _take_modifiers(text, whole, known, step)
        if taken is None or taken == before:
            continue
        before = taken
        said, named, rest = taken
        rest = _without_ends(rest, tables().polite)
        words = {token.word for token in rest}
        for asking in tables().questions:
            meant = _with_contact(said, asking.on)
            for pattern in asking.patterns.beginning(rest[0].word) if meant is not None and rest else ():
                assert meant is not None
                if not pattern.may_fit(words):
                    continue
                ways = [places for end, places in matches(pattern, rest, known.places) if end == len(rest)]
                if ways:
                    group = (_question(text, asking, rest, places, meant, named) for places in ways)
                    yield tuple(dict.fromkeys(group))


def _without_fillers(found: tuple[Token, ...]) -> tuple[Token, ...]:
    """The words without those that add nothing."""
    for place in reversed(range(len(found))):
        if found[place].word in tables().fillers:
            found = without(found, place, place + 1)
    return found


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
        for place in ("a", "b", "pair")
        if place in places
    ]
    pair = "pair" in places
    if not called:  # "what punishes?", "any gap?": about what was asked before
        pair = asking.kind in OF_TWO
        called = [replace(_phrase(text, rest), mended="it")]
    for who in named:
        next_to_move = not text[who.end : called[0].start].strip(" :")
        if next_to_move and said.owner is None:
            said = replace(said, owner=who)
        elif said.mine is None:
            said = replace(said, mine=who)
        elif said.theirs is None:
            said = replace(said, theirs=who)
    if "character" in places and said.theirs is None:
        said = replace(said, theirs=_phrase(text, rest[slice(*places["character"])]))
    second = called[1] if len(called) > 1 else None
    return Question(text, asking.kind, called[0], second, said, asking.loose, pair)


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
    words = {token.word for token in found}
    for start, token in enumerate(found):
        if not (able := modifier.patterns.beginning(token.word)):
            continue
        ways = [
            (end, places)
            for pattern in able
            if pattern.may_fit(words)
            for end, places in matches(pattern, found, known.places, start)
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


def _without_ends(found: tuple[Token, ...], unwanted: Patterns) -> tuple[Token, ...]:
    """The words without unwanted ones before and after, as long as any would be left."""
    while (end := max(_fits(found, unwanted, 0), default=0)) and end < len(found):
        found = found[end:]
    while (start := _tail(found, unwanted)) is not None:
        found = found[:start]
    return found


def _tail(found: tuple[Token, ...], unwanted: Patterns) -> int | None:
    return next((at for at in range(1, len(found)) if len(found) in _fits(found, unwanted, at)), None)


def _fits(found: tuple[Token, ...], patterns: Patterns, start: int) -> set[int]:
    able = patterns.beginning(found[start].word) if start < len(found) else ()
    return {end for pattern in able for end, _ in matches(pattern, found, {}, start)}


def _phrase(text: str, words: Sequence[Token]) -> Phrase:
    start, end = words[0].start, words[-1].end
    mended = " ".join(token.word for token in words) if any(token.mended for token in words) else None
    return Phrase(text[start:end], start, end, mended)
