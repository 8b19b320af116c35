"""Holds the closed forms against the stepper: one pair of moves, one contact, frame by frame.

The stepper knows timing alone. What else decides (throws, juggle limits, reach) is left to the
closed forms: those pairs are compared in timing only where `refusal` finds nothing against them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from core.blocks import gaps
from core.cancels import CancelWindow, cancel, windows
from core.conditions import refusal
from core.frames import advantage, contact_clock, free_clock, hits, outcome, stun
from core.links import link
from core.model import Character, Contact, ContactKind, Effect, Game, Means, Move, Outcome, Range, Stance
from core.permission import permission
from core.stepper import Press, Started, Trace, punish, reversal, run
from core.verdict import Answer


@dataclass
class Count:
    """How many comparisons were made, so that a test can tell that it compared something."""

    runs: int = 0
    by: dict[str, int] = field(default_factory=dict)

    def add(self, what: str) -> None:
        self.runs += 1
        self.by[what] = self.by.get(what, 0) + 1


def in_time(second: Started) -> bool:
    """Whether a move touched somebody still in hitstun or blockstun, in the air, or on the ground."""
    return second.gap_frames is not None and second.gap_frames <= 0


class Pair:
    """Two moves and a contact, with the runs of the stepper on them."""

    def __init__(
        self, game: Game, character: Character, first: Move, second: Move, contact: Contact, count: Count
    ) -> None:
        self.game, self.character, self.first, self.second = game, character, first, second
        self.contact, self.count = contact, count
        self.frozen = first.freeze.frames if first.freeze else 0
        self.label = f"{game.name} {first.input} -> {second.input} {contact}"

    def permits(self, hit: int) -> tuple[object, ...]:
        allowed = permission(self.game, self.character, self.first, self.second, self.contact, hit)
        return allowed.rules

    def press(self, frame: int, what: str) -> Trace:
        self.count.add(what)
        return run(self.game, self.first, [Press(frame, self.second)], self.contact, self.permits)  # type: ignore[arg-type]

    def check(self) -> None:
        """Every comparison that this pair and contact allow."""
        if not self._whole():
            return
        free = free_clock(self.first, self.contact)
        assert isinstance(free, int)
        free += self.frozen
        self._alone(free)
        if not hits(self.second) or self.second.stance is Stance.AIRBORNE:
            return
        self._links(free)
        self._cancels()
        if self.contact.kind is ContactKind.BLOCK:
            self._gaps(free)

    def _whole(self) -> bool:
        """Whether the file gives every number that a run of this pair needs."""
        first, second, contact = self.first, self.second, self.contact
        if first.stance is Stance.AIRBORNE or not first.hits or not second.hits:
            return False
        if not isinstance(free_clock(first, contact), int) or second.total_frames is None:
            return False
        if any(hit.defender_hitstop_frames is None for hit in (*first.hits, *second.hits)):
            return False
        every = range(contact.first_hit, len(first.hits) + 1)
        whiff = contact.kind is ContactKind.WHIFF
        known = whiff or all(isinstance(stun(self.game, first, contact, hit), int) for hit in every)
        return known and self._second_is_whole()

    def _second_is_whole(self) -> bool:
        block = self.contact.kind is ContactKind.BLOCK
        on_whiff = self.contact.kind is ContactKind.WHIFF
        last = self.second.hits[-1]
        knocks = self.second.on_hit is not None and self.second.on_hit.effect is not Effect.STAND
        return all(
            on_whiff
            or (hit.blockstun_frames if block else hit.hitstun_frames) is not None
            or (not block and knocks and hit is last)
            for hit in self.second.hits
        )

    def _touch(self, hit: int) -> int:
        """The real frame on which a hit touches; on whiff the first active one."""
        whiff = self.contact.kind is ContactKind.WHIFF
        touch = contact_clock(
            self.first, Contact(self.contact.kind) if whiff else self.contact, 1 if whiff else hit
        )
        assert isinstance(touch, int)
        return touch + self.frozen

    def _alone(self, free: int) -> None:
        trace = run(self.game, self.first, (), self.contact)
        self.count.add("alone")
        assert trace.attacker_free_frame == free, self.label
        if self.contact.kind is ContactKind.WHIFF:
            assert trace.first.touch_frames == (), self.label
            return
        touches = tuple(self._touch(hit) for hit in range(self.contact.first_hit, len(self.first.hits) + 1))
        assert trace.first.touch_frames == touches, self.label
        lead = advantage(self.game, self.first, self.contact)
        assert isinstance(lead, Range), self.label
        assert trace.defender_free_frame is not None, self.label
        assert trace.defender_free_frame - free == lead.low, self.label
        if self.contact.kind is ContactKind.BLOCK and lead.low < 0:
            self._punished(-lead.low)

    def _punished(self, free_frames: int) -> None:
        if self.contact.first_hit == 1 and self.contact.active_frame == 1:
            self.count.add("punish")
            far = self.contact.distance
            assert punish(self.game, self.first, free_frames, distance=far), self.label
            assert not punish(self.game, self.first, free_frames + 1, distance=far), self.label

    def _links(self, free: int) -> None:
        if refusal(self.game, self.first, self.second, self.contact) is not None or self._knocks_down():
            return
        verdict = link(self.game, self.character, self.first, self.second, self.contact)
        if verdict.answer is Answer.YES:
            opens = int(verdict.evidence["first_press_frames"])
            closes = int(verdict.evidence["last_press_frames"])
            for frame in {opens, closes}:
                found = self.press(free + frame, "link")
                assert found.second is not None, self.label
                assert (found.second.means, in_time(found.second)) == (Means.LINK, True), self.label
            early = self.press(max(2, free + opens - 1), "link early")
            assert early.second is None or early.second.means is not Means.LINK, self.label
            late = self.press(free + closes + 1, "link late")
            assert late.second is not None, self.label
            assert (late.second.means, in_time(late.second)) == (Means.LINK, False), self.label
        elif "window_frames" in verdict.evidence and int(verdict.evidence["window_frames"]) < 1:
            soonest = self.press(free, "no link").second
            assert soonest is not None, self.label
            assert not (soonest.means is Means.LINK and in_time(soonest)), self.label

    def _knocks_down(self) -> bool:
        """The stepper lets nobody touch somebody lying down: which moves may is a rule, not timing."""
        result = outcome(self.game, self.first, self.contact)
        on_hit = self.contact.kind is ContactKind.HIT
        return on_hit and isinstance(result, Outcome) and result.effect is Effect.KNOCKDOWN

    def _cancels(self) -> None:
        found = windows(self.game, self.character, self.first, self.second, self.contact)
        if not found:
            second = self.press(max(2, self._touch(self.contact.first_hit)), "no cancel").second
            assert second is None or second.means is Means.LINK, self.label
            return
        if len({window.rule.means for window in found}) == 1 and len(found) == len({w.hit for w in found}):
            for number, window in enumerate(found):
                self._window(window, first_one=number == 0)

    def _window(self, window: CancelWindow, first_one: bool) -> None:
        touch = self._touch(window.hit)
        assert window.first_press_frames is not None
        assert window.last_press_frames is not None
        assert window.last_delay_frames is not None
        if window.last_delay_frames < window.first_delay_frames:
            return
        means = window.rule.means
        last = self.press(touch + window.last_press_frames, "cancel").second
        assert last is not None, self.label
        assert last.means is means, self.label
        if first_one and touch + window.first_press_frames >= 3:
            first = self.press(touch + window.first_press_frames, "cancel").second
            assert first is not None, self.label
            assert first.means is means, self.label
            begins = self._begin(touch, window)
            assert first.start_frame == begins, self.label
            early = self.press(touch + window.first_press_frames - 1, "cancel early").second
            assert early is None or early.means is Means.LINK, self.label
        self._combos(window, touch)

    def _begin(self, touch: int, window: CancelWindow) -> int:
        stop = self.first.hits[window.hit - 1].attacker_hitstop_frames or 0
        return touch + (0 if self.contact.kind is ContactKind.WHIFF else stop) + 1 + window.first_delay_frames

    def _combos(self, window: CancelWindow, touch: int) -> None:
        if self.contact.kind is ContactKind.WHIFF:
            return
        answer = cancel(self.game, self.character, self.first, self.second, self.contact)
        if answer.window != window:
            return
        if refusal(self.game, self.first, self.second, self.contact, window.hit) is not None:
            return
        last = answer.combos.evidence.get("last_combo_press_from_contact_frames")
        assert window.last_press_frames is not None
        if last is None:
            soonest = self.press(self._begin(touch, window), "cancel that does not combo").second
            assert soonest is not None, self.label
            assert not in_time(soonest), self.label
            return
        at_last = self.press(touch + int(last), "cancel that combos").second
        assert at_last is not None, self.label
        assert in_time(at_last), self.label
        if int(last) < window.last_press_frames:
            later = self.press(touch + int(last) + 1, "cancel too late to combo").second
            assert later is not None, self.label
            assert not in_time(later), self.label

    def _gaps(self, free: int) -> None:
        for gap in gaps(self.game, self.character, self.first, self.second, self.contact):
            if gap.verdict.answer is Answer.UNKNOWN or "gap_frames" not in gap.verdict.evidence:
                continue
            size = int(gap.verdict.evidence["gap_frames"])
            frame = free
            if gap.means is not Means.LINK:
                window = cancel(self.game, self.character, self.first, self.second, self.contact).window
                assert window is not None
                frame = self._begin(self._touch(window.hit), window)
            trace = self.press(frame, "gap")
            if trace.second is None or trace.second.means is not gap.means:
                continue  # a press that soon would cancel instead
            if self.first.projectile is None and self.contact == Contact(ContactKind.BLOCK):
                self._race(frame, size)
            assert trace.second.gap_frames is not None, self.label
            assert max(trace.second.gap_frames, 0) == max(size, 0), self.label

    def _race(self, frame: int, size: int) -> None:
        for speed, expected in ((size - 1, "beats"), (size, "trades"), (size + 1, "loses")):
            if speed >= 1:
                self.count.add("reversal")
                presses = [Press(frame, self.second)]
                found = reversal(self.game, self.first, presses, speed, self.permits)  # type: ignore[arg-type]
                assert found == expected, self.label
