"""What may follow a move: by link, chain or cancel, and how long there is to see the hit and decide."""

from __future__ import annotations

from dataclasses import dataclass

from core.cancels import CancelAnswer, cancel
from core.frames import contact_clock, free_clock, hits
from core.links import link
from core.model import Character, Contact, Game, Means, Move, milliseconds
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict


@dataclass(frozen=True, slots=True)
class FollowUp:
    """One move after another: the combined verdict on whether it combos (on block: is a true
    blockstring), the means it speaks of, and the answers it was made from."""

    move: Move
    verdict: Verdict
    means: Means | None
    link: Verdict
    cancel: CancelAnswer


def follow_up(game: Game, character: Character, first: Move, second: Move, contact: Contact) -> FollowUp:
    """Whether `first` into `second` combos by any means: yes if one does, and by which.

    A link and a cancel may both do; the verdict is then the cancel's, which may be pressed at once.
    Where both fail the reasons of both are given, the link's first.
    """
    by_cancel = cancel(game, character, first, second, contact)
    by_link = link(game, character, first, second, contact)
    if by_cancel.window is not None and by_cancel.combos.answer is Answer.YES:
        reasons = (*by_cancel.legal.reasons, *by_cancel.combos.reasons)
        evidence = by_cancel.legal.evidence.plus(**by_cancel.combos.evidence)
        verdict = Verdict(Answer.YES, reasons, evidence)
        return FollowUp(second, verdict, by_cancel.window.rule.means, by_link, by_cancel)
    if by_link.answer is Answer.YES:
        return FollowUp(second, by_link, Means.LINK, by_link, by_cancel)
    answer = Answer.UNKNOWN if Answer.UNKNOWN in (by_link.answer, by_cancel.combos.answer) else Answer.NO
    tried = (*by_link.reasons, *by_cancel.legal.reasons, *by_cancel.combos.reasons)
    reasons = tuple(dict.fromkeys(tried))
    return FollowUp(second, Verdict(answer, reasons, by_link.evidence), None, by_link, by_cancel)


def follow_ups(game: Game, character: Character, first: Move, contact: Contact) -> tuple[FollowUp, ...]:
    """Every move of the character judged as a follow-up, in the game file's order."""
    return tuple(
        follow_up(game, character, first, second, contact) for second in character.moves if hits(second)
    )


def confirm_time(game: Game, character: Character, first: Move, second: Move, contact: Contact) -> Verdict:
    """How long there is from the first contact to the last press that still combos, by the means that does.

    Evidence: `confirm_frames` and `confirm_ms`, hitstop included: the time to see the hit and decide.
    """
    found = follow_up(game, character, first, second, contact)
    if found.means is None:
        return found.verdict
    starts = contact_clock(first, contact, contact.first_hit)
    if isinstance(starts, Missing):
        return starts.verdict
    if found.means is Means.LINK:
        free, last = free_clock(first, contact), found.link.evidence.get("last_press_frames")
        if isinstance(free, Missing):
            return free.verdict
        if last is None:
            return Missing("", ("link_frames of [buffers]",)).verdict
        ends = free + int(last)
    else:
        window = found.cancel.window
        assert window is not None
        touches = contact_clock(first, contact, window.hit)
        last = found.cancel.combos.evidence.get("last_combo_press_from_contact_frames")
        if isinstance(touches, Missing):
            return touches.verdict
        if last is None and window.last_delay_frames is None:
            return Missing("", ("cancel_window_frames of [buffers]",)).verdict
        if last is None:
            return Missing(first.input, ("hitstop",)).verdict
        ends = touches + int(last)
    frames = ends - starts
    evidence = Facts(confirm_frames=frames, confirm_ms=round(milliseconds(game, frames), 1))
    facts = evidence.plus(first=first.input, second=second.input, means=found.means.value)
    return Verdict(Answer.YES, (Reason(Code.TIME_TO_CONFIRM, facts), *found.verdict.reasons), evidence)
