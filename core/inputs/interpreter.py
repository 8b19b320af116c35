"""What the game reads out of directions and buttons, frame after frame.

A direction is read when it is entered. A form of a motion matches where its directions were entered
in this order; others may lie between. From one step to the next at most `step_frames` pass: from
the last frame on which the direction was held, so that a held one keeps its place (neutral is not
held: from its first frame), to the frame on which the next is entered. The press comes at most
`button_frames` after the last was entered (0: on the same frame). For a charge one of the forms'
first directions is held for `charge_frames`, and changing from one of them to another does not
break it; the next then follows as any step does.

Of several moves that match, the motion of the highest priority wins, then the longest form, then
the motion that the file has first, then the move of more buttons, then the file's order. Without a
motion the held direction decides: the move of more buttons, then the one written with just this direction,
else a standing move for 4, 5 and 6, a crouching one for 1, 2 and 3. Buttons belong together if they
are pressed on one frame. Where the game uses directions up, a motion that came out takes all that
was entered and charged until then, the held direction too: it must be entered anew, and charges
from nothing while it stays held.

A move without a button (66) comes out when its last direction is entered; a lone direction
without a button is no move here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from core.inputs.commands import BUTTON_FRAMES, LONGEST_WINDOW, STEP_FRAMES, Command, commands_of
from core.inputs.directions import NEUTRAL, Facing, facing
from core.model import Character, Game, Motion, Move

# A state keeps, for every first part of every form, one byte: how many frames it is good for still.
# The high bit marks a part whose last direction is held: it ages only once that is let go.
_HELD = 128
_AGED = bytes(value if value >= _HELD else max(value - 1, 0) for value in range(256))
_LET_GO = bytes(value - _HELD if value >= _HELD else max(value - 1, 0) for value in range(256))


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame of the hands: the direction as seen facing right, and the buttons pressed anew on it."""

    direction: int = NEUTRAL
    pressed: frozenset[str] = frozenset()
    airborne: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """All that the game still knows of what was entered: the direction held, how far each form has
    come (see above), and the frames charged for each charge motion."""

    direction: int
    progress: bytes
    charged_frames: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Recognised:
    """A move that comes out; `form` as the file has it, None where the held direction decided."""

    command: Command
    form: str | None = None

    @property
    def move(self) -> Move:
        return self.command.move


@dataclass(frozen=True, slots=True)
class _Slot:
    """One form and its place in a state: `first` is the byte of its first direction alone."""

    motion: Motion
    form: str
    first: int

    @property
    def last(self) -> int:
        """The byte of the whole form."""
        return self.first + len(self.form) - 1


class Interpreter:
    """Reads the moves of `commands`; made once. It holds nothing of what was entered: see `State`.

    `uses_up`: whether the game uses directions up. `start` is the state before anything is entered.
    """

    def __init__(self, game: Game, commands: Sequence[Command]) -> None:
        self.commands = tuple(commands)
        self.uses_up = game.directions_used_up
        self._slots: dict[str, list[_Slot]] = {}
        self._entered: dict[int, list[tuple[int, int | None, int]]] = {n: [] for n in range(1, 10)}
        self._charges: list[tuple[frozenset[int], int, tuple[int, ...], int]] = []
        length = 0
        for motion in {c.motion.name: c.motion for c in self.commands if c.motion}.values():
            length = self._add(motion, length)
        self._ways: dict[tuple[frozenset[str], bool], tuple[tuple[int, Recognised], ...]] = {}
        self._plain: dict[tuple[frozenset[str], bool, int], Recognised | None] = {}
        self._movement = _ranked(self._slots, [c for c in self.commands if c.motion and not c.choices])
        self._just_entered = {
            slot: window_of(r.command.motion)[1] + 1 for slot, r in self._movement if r.command.motion
        }
        self.start = State(NEUTRAL, bytes(length), (0,) * len(self._charges))

    def _add(self, motion: Motion, place: int) -> int:
        """Give a motion's forms their places in a state, from `place` on; where the next begins."""
        step, button = window_of(motion)
        slots = self._slots.setdefault(motion.name, [])
        for form in motion.forms:
            slots.append(_Slot(motion, form, place))
            for k, digit in enumerate(form):
                if k == 0 and motion.charge_frames:
                    continue
                good = button + 1 if k == len(form) - 1 else step + (1 if digit == "5" else _HELD)
                self._entered[int(digit)].append((place + k, place + k - 1 if k else None, good))
            place += len(form)
        if motion.charge_frames:
            firsts = frozenset(int(form[0]) for form in motion.forms)
            places = tuple(slot.first for slot in slots)
            self._charges.append((firsts, motion.charge_frames, places, _HELD + step))
        return place

    def forms_of(self, motion: Motion) -> tuple[tuple[str, int], ...]:
        """The forms of a motion, and where each begins in a state's progress."""
        return tuple((slot.form, slot.first) for slot in self._slots[motion.name])

    def places_of(self, motion: Motion) -> frozenset[int]:
        """The bytes of a state's progress that belong to this motion."""
        return frozenset(slot.first + k for slot in self._slots[motion.name] for k in range(len(slot.form)))

    @property
    def longest_memory(self) -> int:
        """Frames after which a direction that is held changes nothing more."""
        return max([LONGEST_WINDOW + 2, *(needed for _, needed, _, _ in self._charges)])

    def resting(self, direction: int) -> State:
        """The state after this direction alone has been held for long."""
        state = self.moved(self.start, direction)
        while (later := self.moved(state, direction)) != state:
            state = later
        return state

    def moved(self, state: State, direction: int) -> State:
        """The state one frame later, with this direction."""
        changed = direction != state.direction
        progress = state.progress.translate(_LET_GO if changed else _AGED)
        entered = self._entered[direction] if changed else ()
        charged = state.charged_frames
        if entered or charged:
            parts = bytearray(progress)
            for place, before, good in entered:
                if before is None or progress[before]:
                    parts[place] = good
            if charged:
                charged = self._charge(charged, direction, parts)
            progress = bytes(parts)
        return State(direction, progress, charged)

    def _charge(self, charged: tuple[int, ...], direction: int, parts: bytearray) -> tuple[int, ...]:
        """The frames charged one frame later; a full charge is marked as held."""
        after = []
        for frames, (firsts, needed, places, good) in zip(charged, self._charges, strict=True):
            held = min(frames + 1, needed) if direction in firsts else 0
            after.append(held)
            if held == needed:
                for place in places:
                    parts[place] = good
        return tuple(after)

    def pressed(self, state: State, buttons: frozenset[str], airborne: bool = False) -> Recognised | None:
        """What comes out of these buttons, pressed on the frame of this state."""
        ways = self._ways.get((buttons, airborne))
        if ways is None:
            fitting = [c for c in self.commands if c.motion and c.fits(buttons, airborne)]
            ways = self._ways[buttons, airborne] = _ranked(self._slots, fitting)
        for place, recognised in ways:
            if state.progress[place]:
                return recognised
        key = buttons, airborne, state.direction
        if key not in self._plain:
            self._plain[key] = self._by_direction(*key)
        return self._plain[key]

    def _by_direction(self, buttons: frozenset[str], airborne: bool, direction: int) -> Recognised | None:
        fitting = [
            c
            for c in self.commands
            if not c.motion and direction in c.directions and c.fits(buttons, airborne)
        ]
        best = min(fitting, key=lambda c: (-c.button_count, c.direction != direction, c.order), default=None)
        return Recognised(best) if best else None

    def entered(self, state: State) -> Recognised | None:
        """The move without a button that comes out on the frame of this state, if one does."""
        for place, recognised in self._movement:
            if state.progress[place] == self._just_entered[place]:
                return recognised
        return None

    def after(self, state: State, recognised: Recognised | None) -> State:
        """The state once this came out: the same, or with the directions used up."""
        if recognised is None or recognised.form is None or not self.uses_up:
            return state
        return State(state.direction, bytes(len(state.progress)), (0,) * len(state.charged_frames))

    def step(self, state: State, frame: Frame) -> tuple[State, Recognised | None]:
        """The state one frame later, and what comes out on it."""
        state = self.moved(state, frame.direction)
        if frame.pressed:
            recognised = self.pressed(state, frame.pressed, frame.airborne)
        else:
            recognised = self.entered(state)
        return self.after(state, recognised), recognised


def window_of(motion: Motion) -> tuple[int, int]:
    """The frames a motion allows between steps and to the button; the usual ones where it gives none."""
    step = STEP_FRAMES if motion.step_frames is None else motion.step_frames
    button = BUTTON_FRAMES if motion.button_frames is None else motion.button_frames
    return min(step, LONGEST_WINDOW), min(button, LONGEST_WINDOW)


def _ranked(slots: dict[str, list[_Slot]], commands: Iterable[Command]) -> tuple[tuple[int, Recognised], ...]:
    """The commands' forms by their last byte in a state, the one that wins first."""
    ways = [
        (-slot.motion.priority, -len(slot.form), c.place, -c.button_count, c.order, slot.last, slot.form, c)
        for c in commands
        if c.motion
        for slot in slots[c.motion.name]
    ]
    return tuple((last, Recognised(c, form)) for *_, last, form, c in sorted(ways, key=lambda way: way[:6]))


@dataclass(frozen=True, slots=True)
class Entered:
    """A direction and the frame on which it was entered; on frame 0 what was held from the start."""

    direction: int
    frame: int


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one press, or of a motion without one, on `frame` (the first frame is 0).

    `move` None: nothing comes out. `form`: the form of its motion, with the directions it `took`;
    without a form, `took` is the held direction.
    """

    frame: int
    pressed: frozenset[str]
    move: Move | None
    form: str | None
    took: tuple[Entered, ...]


def read(
    game: Game,
    character: Character,
    frames: Sequence[Frame],
    scheme: str | None = None,
    side: Facing = Facing.RIGHT,
) -> tuple[Result, ...]:
    """What comes out of a whole history of frames, which begins with nothing held before. Facing
    left, its directions are as entered there; those of the results too."""
    interpreter = Interpreter(game, commands_of(game, character, scheme))
    return tuple(replayed(interpreter, frames, side))


def replayed(interpreter: Interpreter, frames: Sequence[Frame], side: Facing = Facing.RIGHT) -> list[Result]:
    """What an interpreter makes of these frames: see `read`."""
    state, since = interpreter.start, 0
    entries: list[Entered] = []
    results: list[Result] = []
    for number, frame in enumerate(frames):
        seen = replace(frame, direction=facing(frame.direction, side))
        if seen.direction != state.direction:
            entries.append(Entered(seen.direction, number))
        state, recognised = interpreter.step(state, seen)
        if recognised is None and not frame.pressed:
            continue
        took = _taken(recognised, entries, number, since)
        results.append(
            Result(
                number,
                frame.pressed,
                recognised.move if recognised else None,
                recognised.form if recognised else None,
                tuple(replace(one, direction=facing(one.direction, side)) for one in took),
            )
        )
        if interpreter.after(state, recognised) is not state and recognised and recognised.form:
            since = number + 1
    return results


def _taken(
    recognised: Recognised | None, entries: Sequence[Entered], frame: int, since: int
) -> tuple[Entered, ...]:
    """The directions that a move took: the last ones that match. Those before `since` are used up."""
    if recognised is None:
        return ()
    motion, form = recognised.command.motion, recognised.form
    if motion is None or form is None:
        return (entries[-1],) if entries else ()
    step, button = window_of(motion)

    def good(index: int, k: int) -> bool:
        """Whether this entry can be the form's k-th direction, by itself."""
        if k == 0 and motion.charge_frames:
            return _charged(motion, entries, index, since)
        return entries[index].direction == int(form[k]) and entries[index].frame >= since

    def before(index: int, k: int) -> tuple[Entered, ...] | None:
        """The form up to its k-th direction, which is this entry; None where it does not match."""
        if not good(index, k):
            return None
        if k == 0:
            return (entries[index],)
        for earlier in range(index - 1, -1, -1):
            if entries[index].frame - (entries[earlier + 1].frame - 1) > step:
                break
            if entries[earlier].direction == NEUTRAL and entries[index].frame - entries[earlier].frame > step:
                continue
            found = before(earlier, k - 1)
            if found is not None:
                return (*found, entries[index])
        return None

    for index in range(len(entries) - 1, -1, -1):
        if frame - entries[index].frame > button:
            break
        found = before(index, len(form) - 1)
        if found is not None:
            return found
    raise AssertionError(f"{form} was recognised but is not in what was entered")


def _charged(motion: Motion, entries: Sequence[Entered], index: int, since: int) -> bool:
    """Whether a charge is full when this entry is let go."""
    firsts = {int(form[0]) for form in motion.forms}
    if entries[index].direction not in firsts or index + 1 == len(entries):
        return False
    begin = index
    while begin and entries[begin - 1].direction in firsts:
        begin -= 1
    held_frames = entries[index + 1].frame - max(entries[begin].frame, since)
    return motion.charge_frames is not None and held_frames >= motion.charge_frames
