"""The world of the stepper: an attacker, a defender and projectiles, one tick a frame."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from core.model import CancelRule, Contact, ContactKind, Game, Means, Move
from core.stepper.parts import Defender, Log, Shot, Touch
from core.stepper.sheet import NumberMissingError, Sheet, known, lay_out, meet
from core.stepper.stun import Condition, block_effect, hit_effect

LONGEST_RUN_FRAMES = 36_000
"""A run that is not over by then is refused."""

Permits = Callable[[int], tuple[CancelRule, ...]]
"""Number of the last hit that touched (first: 1) -> the rules that now let the next move follow."""


def no_rules(_hit: int) -> tuple[CancelRule, ...]:
    """Permits that allow nothing but links."""
    return ()


@dataclass(frozen=True, slots=True)
class Press:
    """A press of `move`'s button on a real frame.

    `permits` says which rules let this move follow the one then running. None: after the first
    move what the run says, after a later one nothing.
    """

    frame: int
    move: Move
    permits: Permits | None = None


@dataclass(slots=True, eq=False)
class World:
    """Both players and the clock. `begin` the first move, then `tick` until `over`.

    `to_come` are the presses still to be made, in order. `answer_startup_frames`: the defender begins
    a move of this startup on the first free frame; `answer_frame` is the real frame on which it would
    touch. `bare`: no touch stuns.
    """

    game: Game
    contact: Contact
    to_come: deque[Press] = field(default_factory=deque)
    permits: Permits = no_rules
    lands_after_frames: int | None = None
    answer_startup_frames: int | None = None
    bare: bool = False

    frame: int = 0
    super_freeze: int = 0
    defender: Defender = field(default_factory=Defender)
    shots: list[Shot] = field(default_factory=list)
    logs: list[Log] = field(default_factory=list)
    first_log: Log | None = None
    landed: int = 0
    answer_frame: int = 0

    # The attacker: the running move with its own frame counter, and its newest touch.
    sheet: Sheet | None = None
    own: int = 0
    end: int = 0
    end_known: bool = True
    freeze: int = 0
    spent: int = 0
    touch_hit: int = 0
    touch_own: int = 0
    touch_frame: int = 0
    first_free_frame: int = 0
    waits: bool = False

    # The slot, the rules its press has from the newest touch, and the presses that started a move.
    slot: Press | None = None
    rules: tuple[CancelRule, ...] | None = None
    used: list[Press] = field(default_factory=list)

    @property
    def over(self) -> bool:
        """Whether nothing can happen any more."""
        return (
            self.waits and not self.to_come and not self.shots and self.defender.condition is Condition.FREE
        )

    @property
    def settled(self) -> bool:
        """Whether nothing more can start or touch."""
        return (
            self.slot is None
            and not self.to_come
            and not any(shot.to_come for shot in self.shots)
            and not (self.sheet and self._touch_to_come(self.sheet))
        )

    def play(self, *, until_settled: bool = False) -> None:
        """Tick until nothing can happen any more, or until it is settled what starts and touches.

        Raises NumberMissingError; ValueError when that takes longer than LONGEST_RUN_FRAMES.
        """
        while True:
            self.tick()
            if self.waits and self.over:
                return
            if until_settled and self.settled:
                return

    def begin(self, move: Move) -> None:
        """Let the attacker start the first move on frame 1."""
        sheet = meet(lay_out(move, None, self.contact.distance), self.contact)
        self.first_log = self._start(sheet, None, 1)

    def tick(self) -> None:
        """One real frame."""
        self.frame += 1
        frame = self.frame
        if frame > LONGEST_RUN_FRAMES:
            raise ValueError(f"The run is not over after {LONGEST_RUN_FRAMES} frames: shorten its moves.")
        if self.to_come and self.to_come[0].frame == frame:
            self._put_in_slot(self.to_come.popleft())
        moves = False
        if not self.super_freeze:
            if self.freeze:
                self.freeze -= 1
                self.waits = False
            else:
                moves = self._attacker_acts()
        if self.super_freeze:
            self.super_freeze -= 1
            return
        defender = self.defender
        defender.tick(frame)
        if defender.free_frames and defender.free_frames == self.answer_startup_frames:
            self.answer_frame = frame
        sheet = self.sheet
        if moves and sheet is not None:
            self._body(sheet)
        if self.shots:
            self._shots_fly()

    # The attacker

    def _start(self, sheet: Sheet, means: Means | None, frame: int) -> Log:
        """Put the attacker at the doorstep of the move: its first frame has not been lived yet."""
        log = Log(sheet.move, frame, means)
        self.logs.append(log)
        self.sheet, self.own, self.end, self.end_known = sheet, 0, len(sheet.body), sheet.ends
        self.spent = self.touch_hit = self.touch_own = self.touch_frame = 0
        self.waits = False
        freeze = sheet.move.freeze
        if freeze is not None and freeze.before_frames == 0:
            self.super_freeze = freeze.frames
        return log

    def _attacker_acts(self) -> bool:
        """The attacker's next own frame: cancel, go on, end, or start. True: it is in a move."""
        if self.sheet is not None:
            frame_next = self.own + 1
            if frame_next <= self.end:
                means = self._permission(frame_next) if self.touch_own and self.slot else None
                if means is None:
                    self.own = frame_next
                else:
                    self._follow(means)
                return True
            if not self.end_known:
                raise NumberMissingError(f"{self.sheet.move.input} has no recovery: the stepper needs it.")
            self.sheet = None
        if not self.first_free_frame:
            self.first_free_frame = self.frame
        if self.slot is not None and self._in_link_buffer(self.slot):
            self._follow(Means.LINK)
            return True
        self.waits = True
        return False

    def _follow(self, means: Means) -> None:
        """Start the slot's move on this frame."""
        press = self.slot
        assert press is not None
        self._start(lay_out(press.move, means, self.contact.distance), means, self.frame)
        self.used.append(press)
        self.slot = None
        if not self.super_freeze:
            self.own = 1

    def _body(self, sheet: Sheet) -> None:
        """What the attacker's own frame does: touch, let a projectile go, freeze the world."""
        own, log = self.own, self.logs[-1]
        if own == sheet.startup_frames:
            if sheet.projectile:
                self.shots.append(Shot(log, sheet.projectile, sheet.travel_frames))
            if log is self.first_log and self.contact.kind is ContactKind.WHIFF:
                self._note_touch(1)
        span = sheet.body[own - 1] if own <= len(sheet.body) else 0
        if span > self.spent and self.defender.condition is not Condition.DOWN:
            self.spent = span
            self._touch(log, span, own - (sheet.startup_frames - 1))
        freeze = sheet.move.freeze
        if freeze is not None and own == freeze.before_frames:
            self.super_freeze = freeze.frames

    # The slot

    def _put_in_slot(self, press: Press) -> None:
        if self.slot is None or self.game.keeps_newest_press or not self._still_held(self.slot):
            self.slot = press
            self.rules = None

    def _in_link_buffer(self, press: Press) -> bool:
        age = self.frame - press.frame
        return age == 0 or age <= known(self.game.link_buffer_frames, self.game.name, "link buffer")

    def _held_for_cancel(self, press: Press) -> bool:
        early = self.touch_frame - press.frame
        return early <= 0 or early <= known(self.game.cancel_buffer_frames, self.game.name, "cancel buffer")

    def _still_held(self, press: Press) -> bool:
        """Whether a press in the slot may still come out: by link, by the cancel that is open, or by
        the cancel from a hit to come."""
        if self._in_link_buffer(press):
            return True
        if self.sheet is None:
            return False
        frame_next = self.own + 1
        if self.touch_own and frame_next <= self.end and self._held_for_cancel(press):
            after = frame_next - self.touch_own
            if any(after <= self._last_frame(rule) for rule in self._rules_for(press)):
                return True
        age = self.frame - press.frame
        return self._touch_to_come(self.sheet) and age <= known(
            self.game.cancel_buffer_frames, self.game.name, "cancel buffer"
        )

    def _touch_to_come(self, sheet: Sheet) -> bool:
        """Whether the running move has an active span before it that did not touch yet."""
        if self.own < sheet.startup_frames or any(span > self.spent for span in sheet.body[self.own :]):
            return True
        return any(shot.to_come for shot in self.shots if shot.log is self.logs[-1])

    def _rules_for(self, press: Press) -> tuple[CancelRule, ...]:
        if self.rules is None:
            permits = press.permits
            if permits is None:
                permits = self.permits if self.logs[-1] is self.first_log else no_rules
            self.rules = permits(self.touch_hit)
        return self.rules

    def _last_frame(self, rule: CancelRule) -> int:
        if rule.last_frame is not None:
            return rule.last_frame
        window = self.game.cancel_window_frames
        if rule.means is Means.CANCEL and window is not None:
            return rule.first_frame + window
        return LONGEST_RUN_FRAMES

    def _permission(self, frame_next: int) -> Means | None:
        """By which means the slot's move begins in place of the move's next own frame, or None."""
        press = self.slot
        assert press is not None
        after = frame_next - self.touch_own
        for rule in self._rules_for(press):
            if rule.first_frame <= after <= self._last_frame(rule) and self._held_for_cancel(press):
                return rule.means
        return None

    # Touches

    def _shots_fly(self) -> None:
        for shot in tuple(self.shots):
            if shot.freeze:
                shot.freeze -= 1
            elif shot.wait:
                shot.wait -= 1
            else:
                span = shot.spans[shot.at]
                shot.at += 1
                if shot.at == len(shot.spans):
                    self.shots.remove(shot)
                if span > shot.spent and self.defender.condition is not Condition.DOWN:
                    shot.spent = span
                    shot.freeze = self._touch(shot.log, span, shot.at)

    def _note_touch(self, number: int) -> None:
        """The running move touched on this frame: from here its rules count."""
        self.touch_hit, self.touch_own, self.touch_frame = number, self.own, self.frame
        self.rules = None

    def _touch(self, log: Log, number: int, active_frame: int) -> int:
        """Hit `number` of the move touches now; returns the defender's hitstop."""
        defender, move = self.defender, log.move
        first = log is self.first_log
        in_combo = defender.condition in (Condition.HITSTUN, Condition.LAUNCHED)
        if not log.touches and not first:
            log.combined = in_combo
            if defender.touched:
                left = defender.freeze + defender.stun
                log.gap_frames = -left if defender.held else defender.free_frames
        log.touches.append(Touch(self.frame, active_frame))
        if log is self.logs[-1] and self.sheet is not None:
            self._note_touch(number)
            if first and self.lands_after_frames is not None and len(log.touches) == 1:
                self.end, self.end_known = self.own + self.lands_after_frames, True
        if first:
            self.answer_frame = 0
        hit = move.hits[number - 1]
        name = f"hit {number} of {move.input}"
        self.freeze = max(self.freeze, known(hit.attacker_hitstop_frames, name, "attacker's hitstop"))
        hitstop = known(hit.defender_hitstop_frames, name, "defender's hitstop")
        condition, stun = self._effect(log, number, in_combo)
        defender.take(condition, hitstop, stun)
        return hitstop

    def _effect(self, log: Log, number: int, in_combo: bool) -> tuple[Condition, int]:
        if self.bare:
            return Condition.HITSTUN, 0
        first = log is self.first_log
        blocked = self.contact.kind is ContactKind.BLOCK if first else not in_combo
        if blocked:
            return block_effect(log.move, number)
        airborne = in_combo and self.defender.condition is Condition.LAUNCHED
        if first and not self.defender.touched:
            airborne = self.contact.juggle_count is not None
        self.landed += 1
        return hit_effect(
            self.game,
            log.move,
            number,
            state=self.contact.state if first else None,
            first_touch=len(log.touches) == 1,
            airborne=airborne,
            hits_before=self.contact.hits_before + self.landed - 1,
            bare_advantage=self._bare_advantage,
        )

    def _bare_advantage(self, move: Move) -> int:
        """How far ahead the attacker is free after the move alone, if its touches did not stun."""
        world = World(self.game, Contact(), bare=True)
        world.begin(move)
        world.play()
        return world.defender.free_since - world.first_free_frame
