"""Cancel and chain rules: reading them, and checking that what they name exists."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from core.gamefile.entries import read_entries
from core.gamefile.problems import Place, Problems
from core.gamefile.schema import CancelSection, ChainSection, SelectorSection
from core.model import CancelRule, Means, Move, Order, Selector, Stance


@dataclass(frozen=True, slots=True)
class Nameable:
    """What the moves a rule speaks of have: `words` are their inputs, names and aliases, `inputs`
    the inputs that each word in lower case stands for. None where what there is cannot be read
    whole, so that nothing is judged by it."""

    strengths: tuple[str, ...] | None
    tags: Collection[str] | None
    words: Collection[str] | None
    inputs: Mapping[str, frozenset[str]]


def nameable(
    strengths: tuple[str, ...] | None, moves: Sequence[Move], tags: Collection[str] | None
) -> Nameable:
    """What rules about these moves may name; `tags` are the ones that their rows carry, None where
    some rows are missing."""
    named = tags is not None and all(move.input and move.name for move in moves)
    words: dict[str, None] = {}
    inputs: dict[str, set[str]] = {}
    for move in moves:
        for word in (move.input, move.name, *move.aliases):
            words[word] = None
            inputs.setdefault(word.casefold(), set()).add(move.input)
    return Nameable(
        strengths, tags, words if named else None, {word: frozenset(found) for word, found in inputs.items()}
    )


def read_rules(
    file: str,
    prefix: str,
    owner: str,
    cancels: object,
    chains: object,
    known: Nameable,
    problems: Problems,
) -> list[tuple[Place, CancelRule]]:
    """The rules of [[cancel]] and [[chain]], or of a character's (`prefix`: "character.")."""
    read = [
        (means, place, section)
        for means, data, model in (
            (Means.CANCEL, cancels, CancelSection),
            (Means.CHAIN, chains, ChainSection),
        )
        for place, section in read_entries(file, f"[[{prefix}{means}]]", model, data, problems, owner)
    ]
    return [(place, _rule(means, place, section, known, problems)) for means, place, section in read]


def _rule(
    means: Means,
    place: Place,
    section: CancelSection,
    known: Nameable,
    problems: Problems,
) -> CancelRule:
    last_frame = section.last_frame
    if last_frame is not None and last_frame < section.first_frame:
        problems.add(
            place,
            "last_frame",
            f"{last_frame} comes before first_frame, which is {section.first_frame}",
            f"write {section.first_frame} or more",
        )
    if section.order is not Order.ANY and known.strengths == ():
        problems.add(
            place, "order", "needs strengths, and the game has none", "add strengths = [...] at the top"
        )
    if section.jump and section.into.stances and Stance.AIRBORNE not in section.into.stances:
        given = ", ".join(section.into.stances)
        wrong = f"leads into moves done in the air, and into names the stances {given}"
        problems.add(place, "jump", wrong, 'write stances = ["airborne"] in into, or leave jump out')
    return CancelRule(
        name=section.name,
        means=means,
        source=_selector(place, "from", section.source, known, problems),
        into=_selector(place, "into", section.into, known, problems),
        contact=frozenset(section.contact),
        first_frame=section.first_frame,
        last_frame=last_frame,
        order=section.order,
        same_move=section.same_move,
        per_route=section.per_route,
        not_after=frozenset(section.not_after),
        jump=section.jump,
    )


def _selector(
    place: Place, field: str, section: SelectorSection, known: Nameable, problems: Problems
) -> Selector:
    for strength in section.strengths:
        if known.strengths is not None and strength not in known.strengths:
            problems.unknown(place, f"{field}.strengths", strength, "strength of this game", known.strengths)
    for part, tags in (("tags", section.tags), ("without_tags", section.without_tags)):
        for tag in tags:
            if known.tags is not None and tag not in known.tags:
                problems.unknown(place, f"{field}.{part}", tag, "tag that a move carries", sorted(known.tags))
    inputs: set[str] = set()
    for move in section.moves:
        found = known.inputs.get(move.casefold())
        if found is None and known.words is not None:
            problems.unknown(place, f"{field}.moves", move, "move", known.words)
        inputs.update(found or ())
    return Selector(
        kinds=frozenset(section.kinds),
        strengths=frozenset(section.strengths),
        levels=frozenset(section.levels),
        stances=frozenset(section.stances),
        tags=frozenset(section.tags),
        without_tags=frozenset(section.without_tags),
        moves=frozenset(inputs),
    )
