"""Answers about one move into another: links, cancels, combos, windows, gaps, confirms, meaties."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bot.render.card import Card, Group
from bot.render.parts import (
    Words,
    accepted_for_combo,
    cancel_groups,
    fact,
    is_yes,
    link_groups,
    link_window,
    means_of,
    number,
    short_of,
    spare_of,
)
from bot.results.ask import Asked, Gaps, Kind
from core.followups import FollowUp
from core.model import ContactKind, Means
from core.verdict import Answer, Code, Reason, Verdict


def follow_up_card(asked: Asked, found: FollowUp) -> Card:
    """A card on a link, a cancel, a combo or a window."""
    words = Words(asked)
    tell: dict[Kind, Callable[[Words, FollowUp], tuple[str, tuple[Group, ...], Sequence[Reason]]]] = {
        Kind.LINK: _link,
        Kind.CANCEL: _cancel,
        Kind.COMBO: _combo,
        Kind.WINDOW: _window,
    }
    lead, groups, reasons = tell[asked.kind](words, found)
    return _card(words, lead, groups, reasons)


def gap_card(asked: Asked, found: Gaps) -> Card:
    """A card on the gap between two blocked moves."""
    words = Words(asked)
    first = found.ways[0]
    delay = asked.question.said.delay_frames
    late = words("pieces", "late", delay=delay) if delay else ""
    gap = number(first.verdict.evidence, "gap_frames")
    if gap is not None:
        lead = words.lead("gap-yes" if gap > 0 else "gap-none", late=late, means=first.means.value, gap=gap)
    else:
        lead = words.lead("gap-unknown" if first.verdict.answer is Answer.UNKNOWN else "gap-not")
    groups: tuple[Group, ...] = ()
    reasons: list[Reason] = []
    for way in found.ways:
        gap = number(way.verdict.evidence, "gap_frames")
        reasons += way.verdict.reasons if way is first else ()
        if gap is None:
            continue
        question = "through" if len(found.ways) == 1 else "through-by"
        groups += words.group(question, _through(words, gap), means=way.means.value)
    return _card(words, lead, groups, reasons)


def confirm_card(asked: Asked, found: Verdict) -> Card:
    """A card on the time to confirm a hit."""
    words = Words(asked)
    if not is_yes(found):
        key = "confirm-unknown" if found.answer is Answer.UNKNOWN else "confirm-no"
        return _card(words, words.lead(key), words.besides(found.reasons), found.reasons)
    confirm = number(found.evidence, "confirm_frames")
    lead = words.lead("confirm-yes", confirm=confirm, means=str(found.reasons[0].facts["means"]))
    said = [words.line("confirm-note"), words.line("confirm-skill")]
    groups = (*words.group("confirm", said), *words.besides(found.reasons))
    return _card(words, lead, groups, found.reasons[1:])


def knockdown_card(asked: Asked, found: Verdict) -> Card:
    """A card on a meaty or a safe jump."""
    words = Words(asked)
    kind, delay = asked.kind.value, asked.question.said.delay_frames
    first, last = number(found.evidence, "first_delay_frames"), number(found.evidence, "last_delay_frames")
    late = words("pieces", "begun-late", delay=delay) if delay is not None else ""
    groups: tuple[Group, ...] = ()
    if not is_yes(found):
        key = "unknown" if found.answer is Answer.UNKNOWN else "no"
        lead = words.lead(f"{kind}-{key}", late=late)
    elif delay is not None or first is None or last is None:
        lead = words.lead(f"{kind}-yes", late=late)
    else:
        key = "at-once" if last == 0 else "after" if first == last else "between"
        when = words("pieces", key, first=first, last=last, delay=last)
        lead = words.lead("meaty-yes-when" if asked.kind is Kind.MEATY else "safe-jump-yes", when=when)
    if first is not None and last is not None and (delay is not None or first != last):
        when_line = words.line("meaty-when", first_delay=first, last_delay=last)
        best = [words.line("meaty-best")] if asked.kind is Kind.MEATY else []
        groups += words.group("when", [when_line, *best])
    if asked.reversal_startup_frames is not None and asked.question.said.reversal_startup_frames is None:
        whose = words("pieces", "whose-fastest")
        reversal = words.line("reversal", reversal=asked.reversal_startup_frames, whose=whose)
        groups += words.group("against", [reversal])
    return _card(words, lead, groups, found.reasons)


def _link(words: Words, found: FollowUp) -> tuple[str, tuple[Group, ...], Sequence[Reason]]:
    link, window = found.link, link_window(found)
    if is_yes(link):
        if words.asked.contact.kind is ContactKind.BLOCK:
            lead = words.lead("link-string", window=window)
        else:
            lead = words.lead(
                "link-yes" if "window_frames" in link.evidence else "link-yes-height", window=window
            )
    elif link.answer is Answer.UNKNOWN:
        lead = words.lead("link-unknown")
    elif is_yes(found.cancel.combos):
        lead = words.lead("link-no-but", means=means_of(found))
    else:
        short = fact(link, Code.LINK_TOO_LATE, "short_frames")
        lead = words.lead("link-no" if short is None else "link-no-short", short_frames=short)
    cancel = cancel_groups(words, found, alone=not is_yes(link)) if is_yes(found.cancel.combos) else ()
    alone = not cancel
    groups = (*link_groups(words, found, alone), *cancel, *words.besides(link.reasons))
    return lead, groups, link.reasons


def _cancel(words: Words, found: FollowUp) -> tuple[str, tuple[Group, ...], Sequence[Reason]]:
    legal, combos = found.cancel.legal, found.cancel.combos
    if not is_yes(legal):
        if legal.answer is Answer.UNKNOWN:
            return words.lead("cancel-unknown"), (), legal.reasons
        if not is_yes(found.link) or link_window(found) is None:
            return words.lead("cancel-no"), (), legal.reasons
        lead = words.lead("cancel-no-but", window=link_window(found))
        return lead, link_groups(words, found), legal.reasons
    spare, short = spare_of(found), short_of(found)
    if words.asked.contact.kind is ContactKind.WHIFF:
        key = "cancel-yes-whiff"
    elif is_yes(combos):
        key = "cancel-yes-combo"
    elif combos.answer is Answer.UNKNOWN:
        key = "cancel-yes-unknown"
    else:
        key = "cancel-yes-not" if short is None else "cancel-yes-alone"
    lead = words.lead(key, means=means_of(found), spare=spare, short_frames=short)
    reasons = (*legal.reasons, *combos.reasons)
    return lead, (*cancel_groups(words, found, told=True), *words.besides(reasons)), reasons


def _combo(words: Words, found: FollowUp) -> tuple[str, tuple[Group, ...], Sequence[Reason]]:
    means, spare, short = means_of(found), spare_of(found), short_of(found)
    if found.means is Means.LINK:
        lead = words.lead("combo-yes-link", window=link_window(found))
    elif found.means is not None:
        lead = words.lead("combo-yes-cancel", means=means, spare=spare)
    elif found.verdict.answer is Answer.UNKNOWN:
        lead = words.lead("combo-unknown")
    elif is_yes(found.cancel.legal):
        key = "combo-no-legal-not" if short is None else "combo-no-legal"
        lead = words.lead(key, means=means, short_frames=short)
    else:
        too_late = fact(found.link, Code.LINK_TOO_LATE, "short_frames")
        lead = words.lead("combo-no" if too_late is None else "combo-no-short", short_frames=too_late)
    return lead, _both_ways(words, found, told=found.means is not Means.LINK), found.verdict.reasons


def _window(words: Words, found: FollowUp) -> tuple[str, tuple[Group, ...], Sequence[Reason]]:
    if found.means is Means.LINK:
        accepted = number(found.link.evidence, "accepted_presses_frames")
        key = "window-link-bare" if accepted is None else "window-link"
        lead = words.lead(key, window=link_window(found), accepted=accepted)
    elif found.means is not None:
        accepted = accepted_for_combo(found)
        key = "window-cancel-bare" if accepted is None else "window-cancel"
        lead = words.lead(key, means=means_of(found), accepted=accepted, spare=spare_of(found))
    else:
        unknown = found.verdict.answer is Answer.UNKNOWN
        lead = words.lead("window-unknown" if unknown else "window-none")
    return lead, _both_ways(words, found), found.verdict.reasons


def _both_ways(words: Words, found: FollowUp, told: bool = False) -> tuple[Group, ...]:
    """The numbers of the cancel, where it is legal, and of the link, where it is one."""
    both = is_yes(found.link) and is_yes(found.cancel.legal)
    either = is_yes(found.link) or not is_yes(found.cancel.legal)
    return (
        *cancel_groups(words, found, alone=not both, told=told),
        *(link_groups(words, found, alone=not both) if either else ()),
        *words.besides((*found.verdict.reasons, *found.link.reasons)),
    )


def _through(words: Words, gap: int) -> list[str]:
    if gap <= 0:
        return [words.line("gap-none")]
    beats = words.line("gap-beats", beats=gap - 1) if gap > 1 else words.line("gap-nothing")
    return [beats, words.line("gap-trades", gap=gap)]


def _card(words: Words, lead: str, groups: tuple[Group, ...], reasons: Sequence[Reason]) -> Card:
    return words.card(lead, groups, words.reasons(reasons))
