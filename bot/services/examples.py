"""Questions that one game answers, to show where a question was not understood."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, permutations, tee

from bot.results.ask import Kind
from bot.words.tables import tables
from core.blocks import safe
from core.cancels import cancel
from core.followups import follow_ups
from core.links import link
from core.model import Character, Contact, ContactKind, Game, Move, MoveKind
from core.verdict import Answer

EXAMPLES = 3


def find_examples(game: Game, character: Character | None, named: bool) -> tuple[str, ...]:
    """Three questions about the moves of this character (else of the first) that have an answer;
    `named`: they say whose moves they are."""
    who = character or (game.characters[0] if game.characters else None)
    if who is None:
        return ()
    found = []
    for example in tables().examples:
        moves = next(_fitting(game, who, example.kind), None)
        if moves is not None:
            whose = f"{who.name}'s" if named or example.kind is Kind.PUNISH else "my"
            found.append(example.text.format(who=whose, a=moves[0].input, b=moves[-1].input))
    return tuple(found[:EXAMPLES])


def _fitting(game: Game, who: Character, kind: Kind) -> Iterator[tuple[Move, ...]]:
    """Moves about which a question of this kind has the answer yes, the plainest first."""
    pairs, hit = permutations(who.moves, 2), Contact()
    match kind:
        case Kind.LINK:
            links, also = tee((a, b) for a, b in pairs if _yes(link(game, who, a, b, hit).answer))
            alone = ((a, b) for a, b in links if not _yes(cancel(game, who, a, b, hit).legal.answer))
            return chain(alone, also)
        case Kind.CANCEL:
            block = Contact(ContactKind.BLOCK)
            specials = ((a, b) for a, b in pairs if b.kind is not MoveKind.NORMAL)
            return ((a, b) for a, b in specials if _yes(cancel(game, who, a, b, block).legal.answer))
        case Kind.PUNISH:
            block = Contact(ContactKind.BLOCK)
            return ((a,) for a in who.moves if safe(game, a, block).answer is Answer.NO)
        case Kind.FOLLOW_UPS:
            return (
                (a,)
                for a in who.moves
                if any(_yes(found.verdict.answer) for found in follow_ups(game, who, a, hit))
            )
        case _:
            return ((a,) for a in who.moves)


def _yes(answer: Answer) -> bool:
    return answer is Answer.YES
