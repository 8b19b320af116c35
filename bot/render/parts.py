"""Pieces that several answers share: how the touch happened, when to press, reasons by question."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bot.render.card import Card, Group, source_of
from bot.render.wording import Fact, say, say_reason
from bot.results.ask import Asked
from core.followups import FollowUp
from core.frames import free_clock
from core.model import ContactKind, Means
from core.verdict import Answer, Code, Facts, Reason, Verdict

SHOWN_REASONS = 4

_BESIDES = {
    Code.IN_REACH_UP_TO: "far",
    Code.COSTS_GAUGE: "cost",
    Code.WOULD_LINK_IN_STATE: "else",
    Code.WOULD_LINK_MEATY: "else",
}
"""Reasons that answer a question of their own."""


class Words:
    """Says things about one answer: knows its moves, its contact and the game's speed."""

    def __init__(self, asked: Asked) -> None:
        self.asked = asked
        block = asked.contact.kind is ContactKind.BLOCK
        self._facts: dict[str, Fact] = {
            "first": asked.moves[0].input,
            "second": asked.moves[-1].input,
            "move": asked.moves[0].input,
            "name": asked.moves[0].name,
            "character": asked.character.name,
            "contact": asked.contact.state or asked.contact.kind.value,
            "combos": say("pieces", "combos-block" if block else "combos"),
            "combos_not": say("pieces", "combos-not-block" if block else "combos-not"),
            "unit": asked.game.distance_unit,
            "how": _how(asked),
        }

    def __call__(self, section: str, key: str, **facts: Fact) -> str:
        return say(section, key, self.asked.game.fps, **{**self._facts, **facts})

    def lead(self, key: str, **facts: Fact) -> str:
        """One of the sentences of advice."""
        return self("leads", key, **facts)

    def line(self, key: str, **facts: Fact) -> str:
        """One line below it."""
        return self("lines", key, **facts)

    def group(self, question: str, lines: Iterable[str], **facts: Fact) -> tuple[Group, ...]:
        """The lines under their question; nothing where there are none."""
        kept = tuple(lines)
        return (Group(self("questions", question, **facts), kept),) if kept else ()

    def reasons(self, given: Iterable[Reason]) -> tuple[str, ...]:
        """The reasons that are no answer to a question of their own, the first few."""
        said = [self._reason(reason) for reason in given if reason.code not in _BESIDES]
        return tuple(dict.fromkeys(said))[:SHOWN_REASONS]

    def besides(self, given: Sequence[Reason]) -> tuple[Group, ...]:
        """The reasons that answer questions of their own, under those."""
        groups: tuple[Group, ...] = ()
        for question in dict.fromkeys(_BESIDES.values()):
            said = [self._reason(reason) for reason in given if _BESIDES.get(reason.code) == question]
            groups += self.group(question, dict.fromkeys(said))
        return groups

    def card(self, lead: str, groups: tuple[Group, ...] = (), reasons: tuple[str, ...] = ()) -> Card:
        """The whole answer: what stands under the lead, and whose moves and which game it is about."""
        asked = self.asked
        called = " and ".join(dict.fromkeys(move.input for move in asked.moves))
        whose = [self.line("only-choice", moves=called)] if asked.only_choice else []
        return Card(
            lead, (*groups, *self.group("whose", whose)), reasons, source_of(asked.game, asked.character)
        )

    def _reason(self, reason: Reason) -> str:
        return say_reason(reason, self.asked.game, self.asked.contact.state)


def fact(verdict: Verdict, code: Code, name: str) -> int | None:
    """A number out of the first reason with this code; None where there is none."""
    for reason in verdict.reasons:
        if reason.code is code and name in reason.facts:
            return int(reason.facts[name])
    return None


def number(facts: Facts, *names: str) -> int | None:
    """The first of these numbers that is known."""
    return next((int(facts[name]) for name in names if name in facts), None)


def is_yes(verdict: Verdict) -> bool:
    """Whether the answer is yes."""
    return verdict.answer is Answer.YES


def spare_of(found: FollowUp) -> int | None:
    """By how many frames a cancel combos."""
    return fact(found.cancel.combos, Code.STUN_LASTS, "spare_frames")


def short_of(found: FollowUp) -> int | None:
    """By how many frames a cancel comes too late."""
    return fact(found.cancel.combos, Code.STUN_ENDS, "short_frames")


def link_window(found: FollowUp) -> int | None:
    """W of the link, the lowest where it depends on height."""
    return number(found.link.evidence, "window_frames", "window_low_frames")


def means_of(found: FollowUp) -> str:
    """How it is begun before the first move is over: as a cancel or a chain."""
    return (found.cancel.window.rule.means if found.cancel.window else Means.CANCEL).value


def link_groups(words: Words, found: FollowUp, alone: bool = True) -> tuple[Group, ...]:
    """How tight a link is and when to press it. `alone`: no cancel is told of beside it."""
    evidence, window = found.link.evidence, link_window(found)
    game, tail = words.asked.game, "" if alone else "-link"
    if fact(found.link, Code.LINK_TOO_LATE, "short_frames") is not None and alone:
        return words.group("tight", [words.line("no-window")])
    if not is_yes(found.link) or window is None:
        return ()
    tight = [words.line("must-exactly" if window == 1 else "must", window=window)]
    first, last = number(evidence, "first_press_frames"), number(evidence, "last_press_frames")
    if first is None or last is None:
        return words.group(f"tight{tail}", tight)
    accepted, buffer = last - first + 1, game.link_buffer_frames or 0
    if accepted != window + buffer:
        tight.append(words.line("may-cut", accepted=accepted))
    elif buffer:
        tight.append(words.line("may", accepted=accepted, buffer=buffer))
    else:
        tight.append(words.line("may-no-buffer", accepted=accepted))
    press = [
        words.line(
            "press-relative", first_press=_press(words, first), last_press=_press(words, last, is_end=True)
        )
    ]
    free = free_clock(words.asked.moves[0], words.asked.contact)
    if isinstance(free, int):
        key = "press-clock-one" if first == last else "press-clock"
        press.append(words.line(key, from_frame=free + first - 1, to_frame=free + last - 1))
    return (*words.group(f"tight{tail}", tight), *words.group(f"press{tail}", press))


def cancel_groups(words: Words, found: FollowUp, alone: bool = True, told: bool = False) -> tuple[Group, ...]:
    """Whether a legal cancel combos, how tight it is and when to press it. `told`: the advice has
    said so."""
    if not is_yes(found.cancel.legal):
        return ()
    means, evidence, combos = means_of(found), found.cancel.legal.evidence, found.cancel.combos
    spare, short = spare_of(found), short_of(found)
    block = words.asked.contact.kind is ContactKind.BLOCK
    whiff = words.asked.contact.kind is ContactKind.WHIFF
    said: list[str] = []
    if not whiff and not told:
        if spare is not None:
            said.append(words.line("legal-combos", spare=spare))
        elif short is not None:
            said.append(words.line("legal-combos-not", short_frames=short))
        else:
            unknown = combos.answer is Answer.UNKNOWN
            said.append(words.line("legal-combos-unknown" if unknown else "legal-combos-refused"))
    tight: list[str] = []
    start = number(evidence, "first_start_after_hitstop_frames")
    end = number(evidence, "last_start_after_hitstop_frames")
    last_combo = number(combos.evidence, "last_combo_start_after_hitstop_frames")
    if start is not None and end is not None:
        key = "starts-after" if end > start else "starts-after-one"
        key += "-whiff" if whiff else ""
        tight.append(words.line(key, from_frame=start, to_frame=end, starts=end - start + 1))
        if last_combo is not None and last_combo < end:
            tight.append(words.line("starts-combo", to_frame=last_combo, starts=last_combo - start + 1))
    if "from_hit" in evidence:
        tight.append(words.line("from-hit", hit=evidence["from_hit"]))
    tail = "" if alone else "-cancel"
    return (
        *words.group("string" if block else "combo", said),
        *words.group(f"tight{tail}", tight, means=means),
        *words.group(f"press{tail}", _cancel_presses(words, found), means=means),
    )


def accepted_for_combo(found: FollowUp) -> int | None:
    """Over how many frames a cancel's press is taken and still combos."""
    first = number(found.cancel.legal.evidence, "first_press_from_contact_frames")
    last = number(found.cancel.combos.evidence, "last_combo_press_from_contact_frames")
    return None if first is None or last is None else last - first + 1


def _cancel_presses(words: Words, found: FollowUp) -> list[str]:
    evidence = found.cancel.legal.evidence
    first = number(evidence, "first_press_from_contact_frames")
    last = number(evidence, "last_press_from_contact_frames")
    if first is None or last is None:
        return []
    ends = {"first_press": _from_contact(words, first), "last_press": _from_contact(words, last)}
    said = [words.line("cancel-press", accepted=last - first + 1, **ends)]
    combo = number(found.cancel.combos.evidence, "last_combo_press_from_contact_frames")
    if combo is not None and combo < last:
        said.append(words.line("cancel-press-combo", last_press=_from_contact(words, combo)))
    if first < 0 and words.asked.contact.kind is not ContactKind.WHIFF:
        said.append(words.line("at-once"))
    return said


def _press(words: Words, press: int, is_end: bool = False) -> str:
    if press == 0:
        return words("pieces", "that-frame" if is_end else "when-free")
    return words("pieces", "before-free" if press < 0 else "after-free", frames=abs(press))


def _from_contact(words: Words, press: int) -> str:
    if press == 0:
        return words("pieces", "at-contact")
    whiff = "-whiff" if words.asked.contact.kind is ContactKind.WHIFF else ""
    return words("pieces", f"before-contact{whiff}" if press < 0 else "after-contact", frames=abs(press))


def _how(asked: Asked) -> str:
    """How the first move touches, in words."""
    contact, said, game = asked.contact, asked.question.said, asked.game
    parts = [
        say("pieces", "on-state", state=contact.state)
        if contact.state
        else say("pieces", f"on-{contact.kind.value}")
    ]
    if said.meaty and asked.moves[0].hits:
        frame = said.active_frame or asked.moves[0].active_frames
        parts.append(say("pieces", "on-frame", frame=frame))
    if said.hits_before:
        parts.append(say("pieces", "after-hits", hits=said.hits_before))
    if contact.distance is not None:
        parts.append(say("pieces", "from-distance", distance=contact.distance, unit=game.distance_unit))
    if said.scheme is not None:
        parts.append(say("pieces", "under-scheme", scheme=said.scheme))
    return " ".join(parts)
