"""Why it dropped: the button that did not come out, and the one that came out and did not combo."""

from __future__ import annotations

from bot.render.card import Card, Group
from bot.render.parts import (
    Words,
    cancel_groups,
    is_yes,
    link_groups,
    link_window,
    means_of,
    number,
)
from bot.results.ask import Asked, Kind
from core.followups import FollowUp
from core.model import Means
from core.verdict import Answer, Code


def timing_card(asked: Asked, found: FollowUp) -> Card:
    """A card on early and late, with this pair's own numbers."""
    words = Words(asked)
    kind = asked.kind.value
    if found.means is None:
        unknown = found.verdict.answer is Answer.UNKNOWN
        lead = words.lead("timing-unknown" if unknown else f"{kind}-never")
        groups = words.besides(found.link.reasons)
        reasons = words.reasons(found.verdict.reasons)
        return words.card(lead, groups, reasons)
    if found.means is Means.LINK:
        lead = words.lead(f"{kind}-link", window=link_window(found))
        groups = (*_sides(words, found), *link_groups(words, found))
    else:
        lead = words.lead(f"{kind}-cancel", means=means_of(found))
        groups = cancel_groups(words, found, told=True)
    by_cancel = "" if found.means is Means.LINK else "-cancel"
    groups += words.group("try", [words.line(f"try-{kind}{by_cancel}")])
    return words.card(lead, groups, (words.line("timing-rule"),))


def _sides(words: Words, found: FollowUp) -> tuple[Group, ...]:
    """What happens to a press before and after the accepted ones."""
    first = number(found.link.evidence, "first_press_frames")
    last = number(found.link.evidence, "last_press_frames")
    if first is None or last is None:
        return ()
    early = words.line("too-early" if first else "too-early-free", frames=-first)
    if found.link.has(Code.EARLY_PRESS_CANCELS):
        early = words.line("too-early-cancels")
    late = words.line("too-late" if last else "too-late-free", frames=last)
    both = [early, late] if words.asked.kind is Kind.EARLY else [late, early]
    return words.group("sides", both) if is_yes(found.link) else ()
