"""A game's rules, its characters, and how a first move met the defender."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from core.model.moves import ContactKind, Means, Move, MoveKind, Stance, WhichHit


@dataclass(frozen=True, slots=True)
class Selector:
    """Which moves a rule speaks of: each part that is given must fit, by any one of its values.

    `without_tags` must all be absent. An empty selector fits every move.
    """

    kinds: frozenset[MoveKind] = frozenset()
    strengths: frozenset[str] = frozenset()
    levels: frozenset[int] = frozenset()
    stances: frozenset[Stance] = frozenset()
    tags: frozenset[str] = frozenset()
    without_tags: frozenset[str] = frozenset()
    moves: frozenset[str] = frozenset()


class Order(StrEnum):
    """How the second move's strength must stand to the first's."""

    ANY = "any"
    RISING = "rising"
    NOT_FALLING = "not falling"


@dataclass(frozen=True, slots=True)
class CancelRule:
    """One permission: from these moves into those, on this contact.

    The second move begins on frame `first_frame` to `last_frame` after contact, hitstop left out:
    frame 1 is the first one after hitstop. None as last frame: as the game's cancel window has it.
    Limits: `order` of strengths, whether a move may follow itself, `per_route` uses, and
    `not_after`, the means by which the first move itself must not have come out.
    `jump`: from the ground into the air, by a jump that begins in place of the second move; the
    second comes out once the character's frames before leaving the ground are over.
    """

    name: str
    means: Means
    source: Selector
    into: Selector
    contact: frozenset[ContactKind]
    first_frame: int = 1
    last_frame: int | None = None
    order: Order = Order.ANY
    same_move: bool = True
    per_route: int | None = None
    not_after: frozenset[Means] = frozenset()
    jump: bool = False


@dataclass(frozen=True, slots=True)
class Button:
    """A button, the group it belongs to (punch, kick ...) and its strength, where it has them."""

    name: str
    group: str | None = None
    strength: str | None = None


@dataclass(frozen=True, slots=True)
class HitState:
    """A named way of being hit (counter hit ...): the frames it adds to hitstun, and to which hit."""

    name: str
    aliases: tuple[str, ...] = ()
    bonus_frames: int | None = None
    applies_to: WhichHit = WhichHit.FIRST


@dataclass(frozen=True, slots=True)
class Scaling:
    """Damage of the route's n-th hit in percent (the last step goes on), and floors by move kind."""

    steps_percent: tuple[int, ...]
    floor_percent: int = 0
    floors_percent: tuple[tuple[MoveKind, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge: its most, what it starts a round with, and the size of one bar."""

    name: str
    maximum: int
    start: int = 0
    bar: int | None = None


@dataclass(frozen=True, slots=True)
class Motion:
    """A motion and the forms the game accepts for it, as numpad digits.

    `step_frames`: most frames between two steps; `button_frames`: from the last direction to the
    button; `charge_frames`: how long the first direction is held; higher `priority` wins.
    """

    name: str
    forms: tuple[str, ...]
    step_frames: int | None = None
    button_frames: int | None = None
    charge_frames: int | None = None
    priority: int = 0


@dataclass(frozen=True, slots=True)
class Scheme:
    """A control scheme a player may choose."""

    name: str
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JuggleRules:
    """The highest juggle count at which a move without its own limit still hits, and how many
    hits a downed opponent takes from moves tagged `hits-downed`."""

    limit: int
    downed_hits: int = 0


@dataclass(frozen=True, slots=True)
class Jump:
    """A character's jump: frames before leaving the ground, in the air, and after landing."""

    before_frames: int
    air_frames: int
    landing_frames: int

    @property
    def total_frames(self) -> int:
        """From the press to the last frame on which the player can do nothing, not even block."""
        return self.before_frames + self.air_frames + self.landing_frames


@dataclass(frozen=True, slots=True)
class Character:
    """A character: moves in the file's order, and rules of its own on top of the game's."""

    name: str
    aliases: tuple[str, ...] = ()
    moves: tuple[Move, ...] = ()
    rules: tuple[CancelRule, ...] = ()
    jump: Jump | None = None


@dataclass(frozen=True, slots=True)
class Game:
    """One game: its rules and characters, as one version of its file has them.

    `cancel_window_frames`: the second move of a cancel begins at most this many frames after the
    first one possible. A press counts for a cancel from `cancel_buffer_frames` before contact, for
    a link from `link_buffer_frames` before the player is free (None: not known). With
    `keeps_newest_press` a held press is replaced by a newer one. `hitstun_decay_frames` are taken
    off the hitstun of the route's first, second ... hit; the last step goes on.
    `strengths` run from weakest to strongest.
    """

    name: str
    version: str
    fps: float
    buttons: tuple[Button, ...]
    strengths: tuple[str, ...] = ()
    link_buffer_frames: int | None = None
    cancel_buffer_frames: int | None = None
    cancel_window_frames: int | None = None
    keeps_newest_press: bool = True
    hitstun_decay_frames: tuple[int, ...] = ()
    hit_states: tuple[HitState, ...] = ()
    scaling: Scaling | None = None
    gauges: tuple[Gauge, ...] = ()
    rules: tuple[CancelRule, ...] = ()
    motions: tuple[Motion, ...] = ()
    directions_used_up: bool = False
    schemes: tuple[Scheme, ...] = ()
    juggle: JuggleRules | None = None
    distance_unit: str = "units"
    characters: tuple[Character, ...] = ()

    def hit_state(self, name: str) -> HitState | None:
        """The hit state of this name."""
        return next((state for state in self.hit_states if state.name == name), None)

    def character(self, name: str) -> Character | None:
        """The character of this very name."""
        return next((who for who in self.characters if who.name == name), None)


@dataclass(frozen=True, slots=True)
class Contact:
    """How the first move met the defender.

    `state`: a hit state's name. `first_hit`: number of the first span that touches (earlier ones
    whiffed). `active_frame`: the frame of that span on which it touches (meaty: 2 and more).
    `distance`: between the two before contact, None for point blank. `hits_before`: hits of the
    route before this move (hitstun decay). `juggle_count`: None for a grounded defender.
    `came_by` and `rules_used`: how the first move itself came out, and the rules the route used up.
    """

    kind: ContactKind = ContactKind.HIT
    state: str | None = None
    first_hit: int = 1
    active_frame: int = 1
    distance: float | None = None
    hits_before: int = 0
    juggle_count: int | None = None
    came_by: Means | None = None
    rules_used: tuple[str, ...] = ()


def milliseconds(game: Game, frames: float) -> float:
    """Frames as milliseconds at the game's speed.

    >>> round(milliseconds(Game("g", "1", 60, ()), 3), 4)
    50.0
    """
    return frames * 1000 / game.fps
