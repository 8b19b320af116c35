"""The gaps a game accepts between two presses, read off its links and cancels.

A gap is the number of whole frames from the start of the first move to the press of the second:
the press that is read on the first move's frame g + 1 has the gap g. Hitstop is inside.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.cancels import cancel
from core.frames import contact_clock, free_clock
from core.links import link
from core.model import Character, Contact, Game, Move
from core.verdict import Answer, Code, Missing, Verdict


@dataclass(frozen=True, slots=True)
class Window:
    """The accepted gaps, from `first_gap` to `last_gap`, both accepted.

    A press before `start_gap` is held and its move starts there; None: every press starts at once.
    `early_chains`: an earlier press is not lost but chains or cancels, which a second press cannot mend.
    """

    first_gap: int
    last_gap: int
    start_gap: int | None = None
    early_chains: bool = False

    def __post_init__(self) -> None:
        if self.last_gap < self.first_gap:
            raise ValueError(
                f"A window cannot end (gap {self.last_gap}) before it begins (gap {self.first_gap})."
            )

    @property
    def frames(self) -> int:
        """How many gaps are accepted."""
        return self.last_gap - self.first_gap + 1

    @property
    def middle_gap(self) -> float:
        """The best aim of one press: the middle of the accepted gaps.

        >>> Window(24, 27).middle_gap
        25.5
        """
        return (self.first_gap + self.last_gap) / 2

    def starts(self, gap: float) -> float:
        """The gap at which a press with this gap starts its move."""
        return gap if self.start_gap is None else max(gap, self.start_gap)


def link_window(
    game: Game, character: Character, first: Move, second: Move, contact: Contact
) -> Window | Verdict:
    """The gaps with which `second` links after `first`; the verdict where it does not, or is not known."""
    verdict = link(game, character, first, second, contact)
    if verdict.answer is not Answer.YES:
        return verdict
    free = free_clock(first, contact)
    if isinstance(free, Missing):
        return free.verdict
    opens, closes = verdict.evidence.get("first_press_frames"), verdict.evidence.get("last_press_frames")
    if opens is None or closes is None:
        return Missing("", ("link_frames of [buffers]",)).verdict
    start = free - 1
    chains = verdict.has(Code.EARLY_PRESS_CANCELS)
    return Window(max(1, start + int(opens)), start + int(closes), start, chains)


def cancel_window(
    game: Game, character: Character, first: Move, second: Move, contact: Contact
) -> Window | Verdict:
    """The gaps with which `second`, begun out of `first`, combos; the verdict where it does not."""
    answer = cancel(game, character, first, second, contact)
    window = answer.window
    if window is None or answer.combos.answer is not Answer.YES:
        return answer.combos
    touches = contact_clock(first, contact, window.hit)
    last = answer.combos.evidence.get("last_combo_press_from_contact_frames")
    if isinstance(touches, Missing):
        return touches.verdict
    if window.first_press_frames is None:
        return Missing("", ("cancel_frames of [buffers]",)).verdict
    if window.last_press_frames is None or window.last_delay_frames is None or last is None:
        known = window.last_delay_frames is None
        missing = Missing("", ("cancel_window_frames of [buffers]",))
        return (missing if known else Missing(first.input, ("hitstop",))).verdict
    start = window.last_press_frames - window.last_delay_frames + window.first_delay_frames
    before = touches - 1
    return Window(max(1, before + window.first_press_frames), before + int(last), before + start)
