"""The words of the trade as frozen values: moves, characters, games and their rules.

Numbers are frames unless the name says otherwise. `startup_frames` is the number of the first
active frame; the frame on which a press is read is frame 1 of its move. Frame numbers leave
hitstop out; advantages are as seen in play. `None` means that the game file leaves the number
out: the engine then says what it cannot answer and never guesses. The loader (`core.gamefile`)
has already converted other ways of counting and filled in what follows from given numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class MoveKind(StrEnum):
    """What a move is. A normal is any punch, kick or other plain button; movement never hits."""

    NORMAL = "normal"
    SPECIAL = "special"
    ENHANCED = "enhanced special"
    SUPER = "super"
    THROW = "throw"
    MOVEMENT = "movement"


class Stance(StrEnum):
    """The attacker's stance while the move is done."""

    STANDING = "standing"
    CROUCHING = "crouching"
    AIRBORNE = "airborne"


class HitLevel(StrEnum):
    """How the move must be blocked: high either way, low crouching, overhead standing."""

    HIGH = "high"
    LOW = "low"
    OVERHEAD = "overhead"
    THROW = "throw"
    UNBLOCKABLE = "unblockable"


class ContactKind(StrEnum):
    """What the first move did to the defender."""

    HIT = "hit"
    BLOCK = "block"
    WHIFF = "whiff"


class Means(StrEnum):
    """How one move follows another."""

    LINK = "link"
    CANCEL = "cancel"
    CHAIN = "chain"


class Effect(StrEnum):
    """What a hit does: leaves standing, launches into the air, or knocks down."""

    STAND = "stand"
    LAUNCH = "launch"
    KNOCKDOWN = "knockdown"


class WhichHit(StrEnum):
    """Which of the hits that land a hit state's bonus belongs to."""

    FIRST = "first"
    LAST = "last"
    EVERY = "every"


@dataclass(frozen=True, slots=True)
class Range:
    """A whole number that may depend on the height of contact: from `low` to `high`, both reached."""

    low: int
    high: int

    def __add__(self, frames: int) -> Range:
        return Range(self.low + frames, self.high + frames)

    @property
    def exact(self) -> bool:
        """Whether it is one number."""
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a hit leads to.

    stand: `advantage` (frames the attacker is free before the defender; negative: after).
    launch: `air_frames`, how long after hitstop the defender can still be hit in the air.
    knockdown: `advantage` is the attacker's lead until the defender can be hit standing up.
    """

    effect: Effect
    advantage: Range | None = None
    air_frames: int | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """One active span; it hits once.

    `gap_frames` are the frames without a hit between the span before it and this one: the move
    2(6)3 has spans of 2 and 3 frames and a gap of 6 before the second. Stun counts after hitstop.
    The last hit's stun follows from the move's advantage and is filled in by the loader; an
    earlier hit's stun must stand in the file. `cancellable` is this hit's own permission, on top
    of the game's rules: None is not known. Hitstop: frames for which contact freezes each side.
    """

    active_frames: int
    gap_frames: int = 0
    hitstun_frames: int | None = None
    blockstun_frames: int | None = None
    cancellable: bool | None = True
    damage: int | None = None
    attacker_hitstop_frames: int | None = None
    defender_hitstop_frames: int | None = None


@dataclass(frozen=True, slots=True)
class Projectile:
    """A thing that leaves its owner. `speed`: distance units a frame; None: only point blank is known."""

    speed: float | None = None


@dataclass(frozen=True, slots=True)
class Freeze:
    """A super freeze: after `before_frames` of startup everything stops for `frames`; no stun runs."""

    frames: int
    before_frames: int


@dataclass(frozen=True, slots=True)
class Juggle:
    """A move's juggle numbers: the count a launch by it starts at, what its hit in the air adds,
    and the highest count at which it still hits (None: the game's limit)."""

    start: int = 0
    add: int = 1
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """One move of a character.

    `input` is its numpad notation as the game file writes it, and names it: 5MP, 2HK, j.HP,
    236HP, [4]6LP. `outcomes` holds what differs in a named hit state. `gains` and `costs` are
    pairs of gauge name and amount. `by_scheme` holds the whole move as another control scheme
    has it, with its own input and numbers. `travel`: how far a movement brings the two together
    (below 0: apart).
    """

    input: str
    name: str
    kind: MoveKind
    aliases: tuple[str, ...] = ()
    stance: Stance = Stance.STANDING
    strength: str | None = None
    level: int | None = None
    hit_level: HitLevel = HitLevel.HIGH
    tags: frozenset[str] = frozenset()
    startup_frames: int | None = None
    cancelled_startup_frames: int | None = None
    freeze: Freeze | None = None
    hits: tuple[Hit, ...] = ()
    recovery_frames: int | None = None
    on_hit: Outcome | None = None
    on_block: Range | None = None
    on_air_hit: Outcome | None = None
    outcomes: tuple[tuple[str, Outcome], ...] = ()
    projectile: Projectile | None = None
    reach: float | None = None
    pushback_on_hit: float | None = None
    pushback_on_block: float | None = None
    juggle: Juggle = Juggle()
    gains: tuple[tuple[str, int], ...] = ()
    costs: tuple[tuple[str, int], ...] = ()
    by_scheme: tuple[tuple[str, Move], ...] = ()
    travel: float | None = None

    @property
    def active_frames(self) -> int | None:
        """Frames from the first to the last active one, gaps inside included; None if not known."""
        return sum(hit.gap_frames + hit.active_frames for hit in self.hits) if self.hits else None

    @property
    def total_frames(self) -> int | None:
        """startup - 1 + active + recovery; for movement its whole length (kept as recovery)."""
        if self.kind is MoveKind.MOVEMENT:
            return self.recovery_frames
        if self.startup_frames is None or self.active_frames is None or self.recovery_frames is None:
            return None
        return self.startup_frames - 1 + self.active_frames + self.recovery_frames

    def outcome(self, state: str | None) -> Outcome | None:
        """What the file says of a hit in this state itself, before any bonus; None where nothing."""
        return dict(self.outcomes).get(state) if state is not None else self.on_hit

    def under(self, scheme: str | None) -> Move:
        """The move as a control scheme has it; itself where the scheme changes nothing."""
        return dict(self.by_scheme).get(scheme, self) if scheme is not None else self
