"""Which cancels and chains a patch loses and gains."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from core.cancels import cancel
from core.conditions import HITS_DOWNED, cannot_touch, juggle_count, juggle_limit
from core.frames import distance_after, frames_left, hits, outcome, stun
from core.model import Character, Contact, ContactKind, Effect, Game, HitLevel, Move, Stance
from core.patches.effects import CancelChange
from core.patches.pairs import Group, Numbers, Twins, grouped
from core.permission import fits
from core.verdict import Answer, Missing

CONTACTS = tuple(Contact(kind) for kind in ContactKind)
"""The contacts that are asked about, by number."""
KNOWN = {Answer.YES: True, Answer.NO: False, Answer.UNKNOWN: None}


@dataclass(frozen=True, slots=True)
class Before:
    """All that a cancel on one contact can tell of its first move, apart from which rules speak of it.

    `hits`: of each, what is left of the move, the stun, and whether it may be cancelled. `whole`: the move
    itself where it is a projectile, which goes on by itself.
    """

    touches: bool
    airborne: bool
    rank: int | None
    hits: tuple[tuple[int | None, int | None, bool | None], ...]
    effect: Effect | None
    count: int
    pushed: float | None
    whole: Move | None


@dataclass(frozen=True, slots=True)
class After:
    """All that a cancel can tell of its second move, apart from which rules speak of it."""

    hits: bool
    airborne: bool
    rank: int | None
    throw: bool
    downed: bool
    projectile: bool
    startup: int | None
    cancelled_startup: int | None
    reach: float | None
    juggle_limit: int | None
    jump_frames: int | None


@dataclass(frozen=True, slots=True)
class Allowed:
    """Whether a cancel is legal and combos (None: not known), and the rule by which it is."""

    legal: bool | None
    combos: bool | None
    rule: str


Key = tuple[int, int]
"""The rules that speak of a move, a bit for each, and the number of its `Before` or `After`."""


class Rules:
    """The rules of both versions, each a bit: the same rule has one bit, a changed one has two."""

    def __init__(self, games: Iterable[Game], characters: Iterable[Character]) -> None:
        every = [rule for game in games for rule in game.rules]
        every += [rule for who in characters for rule in who.rules]
        self._bits = {rule: 1 << number for number, rule in enumerate(dict.fromkeys(every))}
        self._named = {name for rule in self._bits for name in (*rule.source.moves, *rule.into.moves)}
        self._known: dict[tuple[object, ...], tuple[int, int]] = {}

    def of(self, game: Game, character: Character, kind: ContactKind) -> int:
        """The rules of a version that allow something on this contact."""
        rules = (*character.rules, *game.rules)
        return sum(self._bits[rule] for rule in dict.fromkeys(rules) if kind in rule.contact)

    def masks(self, move: Move) -> tuple[int, int]:
        """The rules whose source the move is, and those into which it goes, of both versions."""
        name = move.input if move.input in self._named else ""
        key = (move.kind, move.strength, move.level, move.stance, move.tags, name)
        if key not in self._known:
            source = sum(bit for rule, bit in self._bits.items() if fits(rule.source, move))
            into = sum(bit for rule, bit in self._bits.items() if fits(rule.into, move))
            self._known[key] = source, into
        return self._known[key]


class Cancels:
    """Answers about the cancels of one version, each worked out once for all moves alike.

    `befores` and `afters` number the keys, for both versions alike.
    """

    def __init__(self, game: Game, befores: Numbers[Before], afters: Numbers[After]) -> None:
        self.game = game
        self._befores, self._afters = befores, afters
        self._known: dict[tuple[Key, Key, ContactKind, bool], Allowed] = {}

    def before(self, move: Move, contact: Contact) -> int:
        """The key of a first move on this contact."""
        touches = cannot_touch(move, contact) is None
        last = range(1, len(move.hits) + 1) if touches else ()
        whiff = contact.kind is ContactKind.WHIFF
        spans = tuple(
            (
                _known(frames_left(move, contact, 1 if whiff else hit)),
                None if whiff else _known(stun(self.game, move, contact, hit)),
                move.hits[hit - 1].cancellable,
            )
            for hit in last
        )
        result = outcome(self.game, move, contact) if contact.kind is ContactKind.HIT and touches else None
        effect = None if result is None or isinstance(result, Missing) else result.effect
        return self._befores(
            Before(
                touches,
                move.stance is Stance.AIRBORNE,
                self._rank(move),
                spans,
                effect,
                juggle_count(move, contact) if effect is Effect.LAUNCH else 0,
                distance_after(move, contact),
                None if move.projectile is None else replace(move, input="", name="", aliases=()),
            )
        )

    def after(self, character: Character, move: Move) -> int:
        """The key of a second move."""
        rules, airborne = self.game.juggle, move.stance is Stance.AIRBORNE
        return self._afters(
            After(
                hits(move),
                airborne,
                self._rank(move),
                move.hit_level is HitLevel.THROW,
                HITS_DOWNED in move.tags,
                move.projectile is not None,
                move.startup_frames,
                move.cancelled_startup_frames,
                move.reach,
                None if rules is None else juggle_limit(rules, move),
                character.jump.before_frames if character.jump and airborne else None,
            )
        )

    def allowed(
        self, character: Character, first: Move, second: Move, keys: tuple[Key, Key], contact: Contact
    ) -> Allowed:
        """Whether the cancel is legal and combos."""
        known = (*keys, contact.kind, first is second)
        if known not in self._known:
            answer = cancel(self.game, character, first, second, contact)
            self._known[known] = Allowed(
                KNOWN[answer.legal.answer],
                KNOWN[answer.combos.answer],
                answer.window.rule.name if answer.window else "",
            )
        return self._known[known]

    def _rank(self, move: Move) -> int | None:
        strengths = self.game.strengths
        return strengths.index(move.strength) if move.strength in strengths else None


def cancel_changes(old: Game, new: Game, characters: list[Twins]) -> tuple[CancelChange, ...]:
    """The cancels and chains of moves that both versions have: the lost before the gained, and last of either
    those that only began or ceased to combo; each by character and moves in the old order."""
    rules = Rules((old, new), (who for one in characters for who in (one.old, one.new)))
    befores, afters = Numbers[Before](), Numbers[After]()
    was, now = Cancels(old, befores, afters), Cancels(new, befores, afters)
    found: list[tuple[tuple[int, ...], CancelChange]] = []
    for who in characters:
        for number, contact in enumerate(CONTACTS):
            for first, second, gained, told, still in _changes(was, now, rules, who, contact):
                names = who.new.name, who.moves[first][1].input, who.moves[second][1].input
                change = CancelChange(*names, contact.kind, told.rule, gained, told.combos, still)
                found.append(((gained, still, who.place, first, second, number), change))
    return tuple(change for _, change in sorted(found, key=lambda one: one[0]))


def _changes(
    old: Cancels, new: Cancels, rules: Rules, who: Twins, contact: Contact
) -> Iterator[tuple[int, int, bool, Allowed, bool]]:
    """Places of both moves, whether it was gained, the answer of the version that has it, and whether both
    versions allow it."""
    was, now = old.game, new.game
    same_body = was.juggle == now.juggle and (
        (was.cancel_window_frames is None) == (now.cancel_window_frames is None)
    )
    same_first = was.strengths == now.strengths and was.hitstun_decay_frames == now.hitstun_decay_frames
    same_second = was.strengths == now.strengths and same_body and who.old.jump == who.new.jump
    of_old, of_new = rules.of(old.game, who.old, contact.kind), rules.of(new.game, who.new, contact.kind)
    firsts: list[tuple[Key, Key]] = []
    seconds: list[tuple[Key, Key]] = []
    for move, then in who.moves:
        same = move == then
        (source, into), (source_new, into_new) = rules.masks(move), rules.masks(then)
        before, after = old.before(move, contact), old.after(who.old, move)
        before_new = before if same and same_first else new.before(then, contact)
        after_new = after if same and same_second else new.after(who.new, then)
        firsts.append(((source & of_old, before), (source_new & of_new, before_new)))
        seconds.append(((into & of_old, after), (into_new & of_new, after_new)))
    groups = grouped(seconds)
    for one in grouped(firsts):
        (source, before), (source_new, before_new) = one.old, one.new
        for other in groups:
            (into, after), (into_new, after_new) = other.old, other.new
            shared, shared_new = source & into, source_new & into_new
            if not shared and not shared_new:
                continue
            if same_body and shared == shared_new and before == before_new and after == after_new:
                continue
            yield from _between(old, new, who, one, other, contact)


def _between(
    old: Cancels, new: Cancels, who: Twins, one: Group[Key], other: Group[Key], contact: Contact
) -> Iterator[tuple[int, int, bool, Allowed, bool]]:
    """What changed between two groups; a move into itself is asked by itself, for rules may forbid that."""
    alike: tuple[bool, Allowed, bool] | None = None
    asked = False
    for first in one.places:
        for second in other.places:
            if asked and first != second:
                told = alike
            else:
                told = _told(old, new, who, (first, second), (one, other), contact)
            if first != second:
                asked, alike = True, told
            if told is not None:
                yield first, second, *told


def _told(
    old: Cancels,
    new: Cancels,
    who: Twins,
    places: tuple[int, int],
    groups: tuple[Group[Key], Group[Key]],
    contact: Contact,
) -> tuple[bool, Allowed, bool] | None:
    """Whether it was gained, the answer of the version that has it, whether both allow it; None if not."""
    (first, first_new), (second, second_new) = who.moves[places[0]], who.moves[places[1]]
    was = old.allowed(who.old, first, second, (groups[0].old, groups[1].old), contact)
    now = new.allowed(who.new, first_new, second_new, (groups[0].new, groups[1].new), contact)
    if was.legal is None or now.legal is None:
        return None
    if was.legal != now.legal:
        return now.legal, now if now.legal else was, False
    if not now.legal or contact.kind is not ContactKind.HIT or None in (was.combos, now.combos):
        return None
    if was.combos == now.combos:
        return None
    return bool(now.combos), now if now.combos else was, True


def _known(frames: int | Missing) -> int | None:
    return None if isinstance(frames, Missing) else frames
