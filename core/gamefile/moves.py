"""From a move's cells to the move."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from core.gamefile import arithmetic
from core.gamefile.cells import CellError, Hitstop, Span, outcome
from core.gamefile.problems import Place, Problems
from core.gamefile.schema import COLUMNS, MoveRow, validated
from core.gamefile.setting import Setting
from core.gamefile.tables import Cells
from core.model import Hit, HitLevel, Juggle, Move, MoveKind, Outcome, Range, Stance
from core.notation import NotationError, ParsedInput, read_input
from core.text import shown

# What a move that never hits has no use for.
HITTING_FIELDS = (
    "startup", "cancelled_startup", "freeze", "active", "recovery", "on_hit", "on_block", "on_air_hit",
    "hitstun", "blockstun", "cancellable_hits", "hitstop", "damage", "projectile",
)  # fmt: skip
# What is kept by hit, so that it needs the hits.
HIT_FIELDS = ("hitstun", "blockstun", "cancellable_hits", "hitstop", "damage")

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Row:
    """A move's cells as values, those of hit states apart by column. `sound`: all could be read."""

    place: Place
    cells: MoveRow
    states: dict[str, Outcome]
    sound: bool


def read_row(cells: Cells, problems: Problems) -> Row:
    """Each cell as a value, after noting the ones that cannot be read."""
    before = len(problems)
    plain = {column: value for column, value in cells.values.items() if column in COLUMNS}
    row = validated(MoveRow, plain, cells.place, problems) or MoveRow()
    states = {}
    for column, value in cells.values.items():
        if column not in COLUMNS:
            try:
                states[column] = outcome(value)
            except CellError as error:
                problems.add(cells.place, column, error.wrong, error.right)
    return Row(cells.place, row, states, cells.whole and len(problems) == before)


def merged(base: Row, move: Move, change: Row) -> Row:
    """A move under a control scheme: the filled cells of `change` in place of the move's. Strength and
    stance stay the move's, whatever the other input; the total and the last hit's stun follow anew."""
    cells = {column: getattr(base.cells, column) for column in COLUMNS}
    cells |= {"scheme": None, "same_as": None, "strength": move.strength, "stance": move.stance}
    if move.kind is not MoveKind.MOVEMENT:
        cells |= {"recovery": move.recovery_frames, "total": None}
        for column in ("hitstun", "blockstun"):
            cells[column] = (*cells[column][:-1], None) if cells[column] else None
    cells |= {column: value for column in COLUMNS if (value := getattr(change.cells, column)) is not None}
    return Row(
        change.place,
        MoveRow.model_construct(**cells),
        {**base.states, **change.states},
        base.sound and change.sound,
    )


def build_move(row: Row, setting: Setting, problems: Problems) -> Move:
    """The move, after noting what in it does not agree with itself or with the game."""
    cells = row.cells
    notes = _Notes(row, problems)
    kind = cells.kind or MoveKind.NORMAL
    given = notes.tried("input", lambda: _input(cells, setting), None)
    _check_kind(row, kind, given, problems)
    if given and not given.pressed:
        kind = MoveKind.MOVEMENT  # noted above; so that its length is not taken for a mistake too
    strength = _strength(row, given, setting, problems)
    startup = _plus(cells.startup, setting.startup_added)
    _check_startup(row, startup, problems)
    spans = cells.active or (((0, 1),) if cells.projectile else ())
    facts = _Facts(
        stance=cells.stance or (given.stance if given else Stance.STANDING),
        spans=spans,
        hitstops=notes.tried(
            "hitstop", lambda: _hitstops(cells, kind, strength, len(spans), setting), (None,) * len(spans)
        ),
        recovery=notes.tried("total", lambda: _recovery(row, kind, startup, spans), cells.recovery),
    )
    added = facts.hitstop_difference if setting.hitstop_left_out else 0
    on_hit, on_block, hits = _hits(
        facts,
        _seen(notes, "on_hit", cells.on_hit, added),
        _seen_range(notes, "on_block", cells.on_block, added),
        notes,
    )
    states = setting.states or {}
    outcomes = (
        (states.get(column), _seen(notes, column, found, added)) for column, found in row.states.items()
    )
    return Move(
        input=cells.input or "",
        name=cells.name or "",
        kind=kind,
        aliases=cells.aliases or (),
        stance=facts.stance,
        strength=strength,
        level=cells.level,
        hit_level=cells.hit_level or (HitLevel.THROW if kind is MoveKind.THROW else HitLevel.HIGH),
        tags=cells.tags or frozenset(),
        startup_frames=startup,
        cancelled_startup_frames=_plus(cells.cancelled_startup, setting.startup_added),
        freeze=cells.freeze,
        hits=hits,
        recovery_frames=facts.recovery,
        on_hit=on_hit,
        on_block=on_block,
        on_air_hit=_seen(notes, "on_air_hit", cells.on_air_hit, added),
        outcomes=tuple((state, found) for state, found in outcomes if state and found),
        projectile=cells.projectile,
        reach=cells.reach,
        pushback_on_hit=cells.pushback_on_hit,
        pushback_on_block=cells.pushback_on_block,
        juggle=Juggle(
            0 if cells.juggle_start is None else cells.juggle_start,
            1 if cells.juggle_add is None else cells.juggle_add,
            cells.juggle_limit,
        ),
        gains=_amounts(row, "gain", cells.gain, setting, problems),
        costs=_amounts(row, "cost", cells.cost, setting, problems),
        travel=cells.travel,
    )


@dataclass(frozen=True, slots=True)
class _Notes:
    """Notes what goes wrong with the cells of one row."""

    row: Row
    problems: Problems

    def tried(self, field: str, read: Callable[[], Found], otherwise: Found) -> Found:
        """What `read` finds; `otherwise` after noting that it fails."""
        try:
            return read()
        except CellError as error:
            self.problems.add(self.row.place, field, error.wrong, error.right)
            return otherwise


@dataclass(frozen=True, slots=True)
class _Facts:
    """What a move's stun and advantages hang on."""

    stance: Stance
    spans: tuple[Span, ...]
    hitstops: tuple[Hitstop, ...]
    recovery: int | None

    @property
    def hitstop_difference(self) -> int | None:
        """Defender's less attacker's hitstop over all hits; None where not known."""
        return arithmetic.hitstop_difference(self.hitstops) if self.hitstops else None

    @property
    def lead(self) -> int | None:
        """How much more the last hit's stun is than the advantage; None where it does not follow."""
        difference = self.hitstop_difference
        if self.stance is Stance.AIRBORNE or self.recovery is None or difference is None:
            return None
        return self.spans[-1][1] - 1 + self.recovery - difference


def _hits(
    facts: _Facts, on_hit: Outcome | None, on_block: Range | None, notes: _Notes
) -> tuple[Outcome | None, Range | None, tuple[Hit, ...]]:
    """The hits, and the advantages with what follows from the stun of the last one."""
    count = len(facts.spans)
    if not count:
        return on_hit, on_block, ()
    cells = notes.row.cells
    hitstuns = _by_hit(notes, "hitstun", cells.hitstun, count)
    blockstuns = _by_hit(notes, "blockstun", cells.blockstun, count)
    damages = _by_hit(notes, "damage", cells.damage, count)
    last_only: tuple[bool | None, ...] = (*(None,) * (count - 1), True)
    listed = cells.cancellable_hits
    allowed = notes.tried(
        "cancellable_hits",
        lambda: last_only if listed is None else arithmetic.marked(listed, count),
        last_only,
    )
    unsettled: tuple[Outcome | None, int | None] = on_hit, None
    seen, hitstun = notes.tried(
        "hitstun", lambda: arithmetic.settled_outcome(on_hit, hitstuns[-1], facts.lead), unsettled
    )
    unsettled_range: tuple[Range | None, int | None] = on_block, None
    seen_on_block, blockstun = notes.tried(
        "blockstun",
        lambda: arithmetic.settled_range("on_block", on_block, blockstuns[-1], facts.lead),
        unsettled_range,
    )
    hitstuns, blockstuns = (*hitstuns[:-1], hitstun), (*blockstuns[:-1], blockstun)
    hits = []
    for index, (gap, active) in enumerate(facts.spans):
        attacker, defender = facts.hitstops[index] or (None, None)
        hits.append(
            Hit(
                active_frames=active,
                gap_frames=gap,
                hitstun_frames=hitstuns[index],
                blockstun_frames=blockstuns[index],
                cancellable=allowed[index],
                damage=damages[index],
                attacker_hitstop_frames=attacker,
                defender_hitstop_frames=defender,
            )
        )
    return seen, seen_on_block, tuple(hits)


def _by_hit(
    notes: _Notes, field: str, values: tuple[int | None, ...] | None, count: int
) -> tuple[int | None, ...]:
    unknown: tuple[int | None, ...] = (None,) * count
    return (
        unknown if values is None else notes.tried(field, lambda: arithmetic.by_hit(values, count), unknown)
    )


def _seen(notes: _Notes, field: str, found: Outcome | None, added: int | None) -> Outcome | None:
    """An outcome with its advantage as seen in play."""
    if found is None or found.advantage is None or added == 0:
        return found
    return replace(found, advantage=_seen_range(notes, field, found.advantage, added))


def _seen_range(notes: _Notes, field: str, advantage: Range | None, added: int | None) -> Range | None:
    """`added`: the hitstop difference that the file leaves out; None where it is not known."""
    if advantage is None or added is not None:
        return advantage + added if advantage is not None and added else advantage
    if notes.row.sound:
        notes.problems.add(
            notes.row.place,
            field,
            "leaves hitstop out, as the file says, but the hits or their hitstop are not known",
            "give active, and hitstop here or in [hitstop]",
        )
    return advantage


def _plus(frames: int | None, added: int) -> int | None:
    return None if frames is None else frames + added


def _input(cells: MoveRow, setting: Setting) -> ParsedInput | None:
    if cells.input is None:
        return None
    try:
        given = read_input(cells.input, setting.buttons)
    except NotationError as error:
        raise CellError(error.reason, error.right) from None
    setting.check_motion(cells.input, given)
    return given


def _check_kind(row: Row, kind: MoveKind, given: ParsedInput | None, problems: Problems) -> None:
    """Cells that the move's kind has no use for, or that others need. Only for a row that could
    be read whole: otherwise one wrong cell would bring up others."""
    cells, place = row.cells, row.place
    if not row.sound:
        return
    if cells.level is not None and kind is not MoveKind.SUPER:
        problems.add(
            place, "level", f"{cells.level} for a move of the kind {kind}", "give levels to supers only"
        )
    if given and not given.pressed and kind is not MoveKind.MOVEMENT:
        problems.add(
            place, "input", f"{shown(cells.input)} has no button", "add one, or write movement as kind"
        )
    if kind is MoveKind.MOVEMENT:
        for field in HITTING_FIELDS:
            if getattr(cells, field) is not None:
                problems.add(
                    place, field, "has no meaning for movement", "leave it out; its length is the total"
                )
        return
    if cells.travel is not None and given and given.pressed:
        wrong = f"says how far movement goes, and this is a move of the kind {kind}"
        problems.add(place, "travel", wrong, "leave it out, or write movement as kind")
    if not cells.active and not cells.projectile:
        for field in HIT_FIELDS:
            if getattr(cells, field):
                problems.add(place, field, "says something of hits, and active is missing", "give active too")


def _check_startup(row: Row, startup: int | None, problems: Problems) -> None:
    """`startup` is the number of the first active frame, however the file counts."""
    freeze = row.cells.freeze
    if startup == 0:
        problems.add(row.place, "startup", "0 is no first active frame", "write 1 or more")
    elif freeze and startup is not None and freeze.before_frames > startup:
        wrong = f"comes after {freeze.before_frames} frames of startup, which has {startup}"
        problems.add(row.place, "freeze", wrong, f"write {freeze.frames} after {startup} or less")


def _strength(row: Row, given: ParsedInput | None, setting: Setting, problems: Problems) -> str | None:
    written = row.cells.strength
    if written is None:
        pressed = given.buttons if given else ()
        strengths = {button.strength for button in setting.buttons or () if button.name in pressed}
        return strengths.pop() if len(strengths) == 1 else None
    if setting.strengths is not None and written not in setting.strengths:
        problems.unknown(row.place, "strength", written, "strength of this game", setting.strengths)
    return written


def _hitstops(
    cells: MoveRow, kind: MoveKind, strength: str | None, hits: int, setting: Setting
) -> tuple[Hitstop, ...]:
    if cells.hitstop is None:
        return (setting.hitstop_of(strength, kind, projectile=cells.projectile is not None),) * hits
    if len(cells.hitstop) == 1:
        return cells.hitstop * hits
    return arithmetic.by_hit(cells.hitstop, hits) if hits else ()


def _recovery(row: Row, kind: MoveKind, startup: int | None, spans: tuple[Span, ...]) -> int | None:
    total, recovery = row.cells.total, row.cells.recovery
    if kind is MoveKind.MOVEMENT:
        return total
    if total is None:
        return recovery
    if startup is not None and spans:
        return arithmetic.recovery_frames(startup, spans, recovery, total)
    if row.sound:
        raise CellError(f"{total} says nothing without startup and active", "give those too, or leave it out")
    return recovery


def _amounts(
    row: Row, field: str, pairs: tuple[tuple[str, int], ...] | None, setting: Setting, problems: Problems
) -> tuple[tuple[str, int], ...]:
    names = [gauge for gauge, _ in pairs or ()]
    for gauge, amount in pairs or ():
        if names.count(gauge) > 1:
            problems.add(
                row.place, field, f"{shown(gauge)} is there twice", "write one amount for each gauge"
            )
        if setting.gauges is None:
            continue
        if gauge not in setting.gauges:
            problems.unknown(row.place, field, gauge, "gauge of this game", setting.gauges)
        elif field == "cost" and amount > (most := setting.gauges[gauge] or amount):
            problems.add(
                row.place, field, f"{amount} is above the maximum of {gauge}", f"write at most {most}"
            )
    return tuple(pairs or ())
