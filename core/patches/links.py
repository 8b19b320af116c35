"""Which links a patch loses, gains, tightens and loosens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.conditions import HITS_DOWNED, juggle_count, juggle_limit, refusal
from core.frames import advantage, distance_after, hits, outcome
from core.links import air_to_air, link_startup, window
from core.model import Character, Contact, Effect, Game, HitLevel, Move, Stance
from core.patches.effects import LinkChange, LinkEffect
from core.patches.pairs import Group, Numbers, Twins, grouped
from core.verdict import Answer, Missing

ORDER = tuple(LinkEffect)


@dataclass(frozen=True, slots=True)
class Body:
    """All that tells what the first move of a link on hit lets touch after it. `effect`: None where it is not
    known what the hit does."""

    hits: bool
    airborne: bool
    effect: Effect | None
    count: int
    pushed: float | None


@dataclass(frozen=True, slots=True)
class Reach:
    """All that tells what the second move of a link on hit can touch after."""

    hits: bool
    airborne: bool
    throw: bool
    downed: bool
    projectile: bool
    reach: float | None
    juggle_limit: int | None


Before = tuple[int, int | None]
"""The number of a `Body`, and the advantage, the least where it is a range; None where not known."""
After = tuple[int, int | None]
"""The number of a `Reach`, and the startup from the first free frame; None where not known."""


class Links:
    """Answers about the links of one version. Whether a move can touch after another is worked out once for
    all moves alike; the rest is arithmetic. `bodies` and `reaches` are numbered for both versions alike."""

    def __init__(self, game: Game, bodies: Numbers[Body], reaches: Numbers[Reach]) -> None:
        self.game = game
        self._bodies, self._reaches = bodies, reaches
        self._refused: dict[tuple[int, int, str | None], Answer | None] = {}

    def before(self, move: Move, state: str | None) -> Before:
        """The key of a first move in this hit state."""
        contact = Contact(state=state)
        airborne = move.stance is Stance.AIRBORNE
        if not hits(move):
            return self._bodies(Body(False, airborne, None, 0, None)), None
        result, lead = outcome(self.game, move, contact), advantage(self.game, move, contact)
        effect = None if isinstance(result, Missing) else result.effect
        count = juggle_count(move, contact) if effect is Effect.LAUNCH else 0
        body = Body(True, airborne, effect, count, distance_after(move, contact))
        return self._bodies(body), None if isinstance(lead, Missing) else lead.low

    def after(self, character: Character, move: Move) -> After:
        """The key of a second move."""
        startup = link_startup(character, move, Contact())
        rules = self.game.juggle
        reach = Reach(
            hits(move),
            move.stance is Stance.AIRBORNE,
            move.hit_level is HitLevel.THROW,
            HITS_DOWNED in move.tags,
            move.projectile is not None,
            move.reach,
            None if rules is None else juggle_limit(rules, move),
        )
        return self._reaches(reach), None if isinstance(startup, Missing) else startup

    def frames(self, moves: tuple[Move, Move], before: Before, after: After, state: str | None) -> int | None:
        """W of the link, 0 where there is none at every height, None where that is not known."""
        known = before[0], after[0], state
        if known not in self._refused:
            refused = refusal(self.game, *moves, Contact(state=state)) or air_to_air(*moves)
            self._refused[known] = None if refused is None else refused.answer
        answer, lead, startup = self._refused[known], before[1], after[1]
        if answer is Answer.NO:
            return 0
        if answer is Answer.UNKNOWN or lead is None or startup is None:
            return None
        return max(0, window(lead, startup))


def link_changes(old: Game, new: Game, characters: list[Twins]) -> tuple[LinkChange, ...]:
    """The links of moves that both versions have, on hit and in the hit states of both: the lost before the
    gained, the tighter, the looser; each by character and moves in the old order."""
    states = (None, *(state.name for state in old.hit_states if new.hit_state(state.name)))
    bodies, reaches = Numbers[Body](), Numbers[Reach]()
    before, after = Links(old, bodies, reaches), Links(new, bodies, reaches)
    found: list[tuple[tuple[int, ...], LinkChange]] = []
    for who in characters:
        for first, second, state, frames in _changes(before, after, who, states):
            names = who.moves[first][1].input, who.moves[second][1].input
            change = LinkChange(who.new.name, *names, states[state], *frames)
            found.append(((ORDER.index(change.kind), who.place, first, second, state), change))
    return tuple(change for _, change in sorted(found, key=lambda one: one[0]))


def _changes(
    old: Links, new: Links, who: Twins, states: tuple[str | None, ...]
) -> Iterator[tuple[int, int, int, tuple[int, int]]]:
    """Places of both moves and of the hit state, and the frames before and after."""
    same_body = old.game.juggle == new.game.juggle
    same_lead = old.game.hit_states == new.game.hit_states and (
        old.game.hitstun_decay_frames == new.game.hitstun_decay_frames
    )
    same_after = same_body and who.old.jump == who.new.jump
    firsts: list[tuple[tuple[Before, ...], tuple[Before, ...]]] = []
    seconds: list[tuple[After, After]] = []
    for move, then in who.moves:
        same = move == then
        before = tuple(old.before(move, state) for state in states)
        after = old.after(who.old, move)
        again = same and same_lead
        firsts.append((before, before if again else tuple(new.before(then, state) for state in states)))
        seconds.append((after, after if same and same_after else new.after(who.new, then)))
    groups = grouped(seconds)
    for one in grouped(firsts):
        for other in groups:
            if same_body and not one.changed and not other.changed:
                continue
            told = _between(old, new, who, one, other, states)
            for first in one.places if told else ():
                for second in other.places:
                    for state, frames in told:
                        yield first, second, state, frames


def _between(
    old: Links,
    new: Links,
    who: Twins,
    one: Group[tuple[Before, ...]],
    other: Group[After],
    states: tuple[str | None, ...],
) -> list[tuple[int, tuple[int, int]]]:
    """What changed between two groups, by hit state: the plain hit, and each that did not change like it."""
    (first, first_new), (second, second_new) = who.moves[one.places[0]], who.moves[other.places[0]]
    told: list[tuple[int, tuple[int, int]]] = []
    plain: LinkEffect | None = None
    for place, state in enumerate(states):
        was = old.frames((first, second), one.old[place], other.old, state)
        now = new.frames((first_new, second_new), one.new[place], other.new, state)
        if was is None or now is None or was == now:
            continue
        kind = LinkChange("", "", "", None, was, now).kind
        if state is None:
            plain = kind
        if state is None or kind is not plain:
            told.append((place, (was, now)))
    return told
