"""Answers that name many moves: what follows, what punishes. Best first, cut after a few."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bot.render.card import Card, Group
from bot.render.parts import Words, is_yes, link_window, number, short_of, spare_of
from bot.results.ask import Asked, Followers, Kind, Punishes
from core.blocks import Punish, damage
from core.followups import FollowUp
from core.model import ContactKind
from core.verdict import Answer, Code, Verdict

SHOWN = 6
SHOWN_EACH = 3


def followers_card(asked: Asked, found: Followers) -> Card:
    """A card on what links, cancels or does either after a move."""
    words = Words(asked)
    links = _links(found.moves)
    cancels = _cancels(found.moves)
    combos = [move for move in cancels if is_yes(move.cancel.combos)]
    groups: tuple[Group, ...] = ()
    if asked.kind is not Kind.CANCELS_AFTER:
        groups += _link_groups(words, links)
    if asked.kind is not Kind.LINKS_AFTER:
        groups += _cancel_groups(words, cancels, combos)
    groups += words.group("unknown", _unknown(words, found.moves))
    lead = _lead(words, found, links, cancels, combos)
    return words.card(lead, groups)


def punish_card(asked: Asked, found: Punishes) -> Card:
    """A card on what punishes a blocked move, by one character or by each."""
    words = Words(asked)
    whose = f"{asked.character.name}'s"
    one = found.by[0] if len(found.by) == 1 else None
    tail = "" if one else "-all"
    free = number(found.by[0].answer.verdict.evidence, "free_frames")
    if asked.answer is Answer.UNKNOWN:
        lead = words.lead("punish-unknown", whose=whose)
    else:
        key = f"punish-{'yes' if asked.answer is Answer.YES else 'no'}{tail}"
        who = found.by[0].character.name
        lead = words.lead(key, whose=whose, free=free, character=who)
    groups: tuple[Group, ...] = ()
    if one:
        moves = one.answer.moves
        known = any(move.reaches is not None for move in moves)
        lines = _cut(words, [_punish(words, move, known) for move in moves], SHOWN)
        groups = words.group("with", lines if known or not lines else [*lines, words.line("no-reach")])
    elif asked.answer is Answer.YES:
        lines = [
            words.line(
                "punish-by",
                character=by.character.name,
                moves=_named(words, [option.move.input for option in by.answer.moves]),
            )
            for by in found.by
        ]
        groups = words.group("who-punishes", lines)
    told = [by for by in found.by if by.answer.verdict.answer is asked.answer] or list(found.by)
    if one is None and asked.answer is Answer.YES:
        told = []
    reasons = [reason for by in told for reason in by.answer.verdict.reasons]
    return words.card(lead, groups, words.reasons(reasons))


def safe_card(asked: Asked, found: Verdict) -> Card:
    """A card on whether a blocked move is safe."""
    words = Words(asked)
    advantage = number(found.evidence, "advantage_on_block_frames")
    if advantage is None and found.answer is Answer.NO:
        return words.card(words.reasons(found.reasons)[0])
    if advantage is None:
        lead = words.lead("safe-unknown")
    else:
        given = asked.moves[0].on_block
        by_height = given is not None and not given.exact
        key = "safe-no" if not is_yes(found) else "safe-yes-height" if by_height else "safe-yes"
        low = given.low if given else None
        lead = words.lead(key, advantage=advantage, low=low, free=max(0, -advantage))
    return words.card(lead, reasons=words.reasons(found.reasons))


def best_links(found: Sequence[FollowUp]) -> list[str]:
    """What links, the widest window first."""
    return [move.move.input for move in _links(found)]


def best_cancels(found: Sequence[FollowUp]) -> list[str]:
    """What cancels or chains and combos, most damage first."""
    return [move.move.input for move in _cancels(found) if is_yes(move.cancel.combos)]


def named(words: Words, inputs: Sequence[str], shown: int = SHOWN) -> str:
    """Inputs in a row, cut after a few."""
    return _named(words, inputs, shown)


def _lead(
    words: Words,
    found: Followers,
    links: Sequence[FollowUp],
    cancels: Sequence[FollowUp],
    combos: Sequence[FollowUp],
) -> str:
    kind, answer, among = words.asked.kind, words.asked.answer, words.asked.among
    if among is not None:
        return _lead_among(words, found, among)
    block = words.asked.contact.kind is ContactKind.BLOCK
    if answer is not Answer.YES:
        return words.lead(f"{kind.value}-{answer}")
    plural = words("pieces", "combo-plural-block" if block else "combo-plural")
    if kind is Kind.LINKS_AFTER:
        return words.lead(
            "links-after-yes", count=len(links), best=links[0].move.input, window=link_window(links[0])
        )
    if kind is Kind.CANCELS_AFTER:
        if words.asked.contact.kind is ContactKind.WHIFF:
            return words.lead("cancels-after-yes-whiff", count=len(cancels))
        told = {"combos": plural} if len(combos) != 1 else {}
        told["which"] = words(
            "pieces", "all-them" if len(combos) == len(cancels) > 1 else "some-them", combo_count=len(combos)
        )
        unknown = sum(move.cancel.combos.answer is Answer.UNKNOWN for move in cancels)
        return words.lead(
            "cancels-after-yes-unknown" if unknown else "cancels-after-yes",
            count=len(cancels),
            combo_count=len(combos),
            unknown_count=unknown,
            **told,
        )
    whole = sum(is_yes(move.verdict) for move in found.moves)
    verb = plural if whole != 1 else None
    return words.lead(
        f"{kind.value}-yes",
        count=whole,
        links=len(links),
        cancels=len(combos),
        **({"combos": verb} if verb else {}),
    )


def _lead_among(words: Words, found: Followers, among: str) -> str:
    """The advice on a kind of moves: how many there are, and how many of them do what was asked."""
    asked = words.asked
    if not found.moves:
        return words.lead("among-none", among=among)
    verdicts = [_asked_of(asked.kind, move)[0] for move in found.moves]
    count = sum(is_yes(verdict) for verdict in verdicts)
    key = {Kind.CANCELS_AFTER: "cancel", Kind.LINKS_AFTER: "link"}.get(asked.kind, "combo")
    if not count:
        unknown = any(verdict.answer is Answer.UNKNOWN for verdict in verdicts)
        return words.lead(f"among-{'unknown' if unknown else 'no'}-{key}", among=among)
    some = "all-of" if count > 2 else "both-of"
    key_of_count = some if count == len(verdicts) else "some-of"
    whole = words("pieces", key_of_count, count=count, all=len(verdicts))
    return words.lead(f"among-yes-{key}", among=among, whole=whole)


def _link_groups(words: Words, links: Sequence[FollowUp]) -> tuple[Group, ...]:
    if not links:
        return ()
    lines = []
    shown = 0
    for window in sorted({link_window(move) or 0 for move in links}, reverse=True):
        inputs = [move.move.input for move in links if link_window(move) == window]
        take = inputs[: max(0, 2 * SHOWN - shown)]
        shown += len(take)
        if take:
            text = ", ".join(take)
            lines.append(words.line("by-window", moves=text, window=window))
    if shown < len(links):
        lines.append(words.line("more", count=len(links) - shown))
    buffer = words.asked.game.link_buffer_frames
    if buffer:
        lines.append(words.line("with-buffer", buffer=buffer))
    return words.group("links", lines)


def _cancel_groups(
    words: Words, cancels: Sequence[FollowUp], combos: Sequence[FollowUp]
) -> tuple[Group, ...]:
    only = [move for move in cancels if move.cancel.combos.answer is Answer.NO]
    groups: tuple[Group, ...] = ()
    if words.asked.contact.kind is ContactKind.WHIFF:
        return words.group("whiff", _cut(words, [_not(words, move) for move in only], SHOWN))
    block = words.asked.contact.kind is ContactKind.BLOCK
    plural = words("pieces", "combo-plural-block" if block else "combos")
    said = [
        words.line("option-spare", move=move.move.input, name=move.move.name, spare=spare_of(move))
        for move in combos
    ]
    groups += words.group("cancels-combo", _cut(words, said, SHOWN), combos=plural)
    groups += words.group("cancels-only", _cut(words, [_not(words, move) for move in only], SHOWN_EACH))
    return groups


def _not(words: Words, move: FollowUp) -> str:
    short = short_of(move)
    key = "option-not" if short is None else "option-short"
    return words.line(key, move=move.move.input, name=move.move.name, short_frames=short)


def _unknown(words: Words, found: Sequence[FollowUp]) -> list[str]:
    """What is not known, apart by why: the game file leaves a number out, or the height decides."""
    height: list[str] = []
    missing: list[str] = []
    for move in found:
        verdicts = [
            verdict for verdict in _asked_of(words.asked.kind, move) if verdict.answer is Answer.UNKNOWN
        ]
        if verdicts:
            by_height = verdicts[0].has(Code.DEPENDS_ON_HEIGHT) or verdicts[0].has(Code.AIR_TO_AIR_LINK)
            (height if by_height else missing).append(move.move.input)
    return [
        words.line(key, moves=_named(words, inputs))
        for key, inputs in (("unknown-of", missing), ("unknown-height", height))
        if inputs
    ]


def _asked_of(kind: Kind, move: FollowUp) -> tuple[Verdict, ...]:
    """The verdicts on a follow-up that a question of this kind asks for."""
    if kind is Kind.LINKS_AFTER:
        return (move.link,)
    if kind in (Kind.FOLLOW_UPS, Kind.LEARN):
        return (move.verdict,)
    return (move.cancel.legal, move.cancel.combos) if is_yes(move.cancel.legal) else (move.cancel.legal,)


def _links(found: Iterable[FollowUp]) -> list[FollowUp]:
    """What links, the widest window first, then most damage."""
    links = [move for move in found if is_yes(move.link)]
    return sorted(links, key=lambda move: (-(link_window(move) or 0), -(damage(move.move) or 0)))


def _cancels(found: Iterable[FollowUp]) -> list[FollowUp]:
    """What cancels or chains: what combos first, then most damage."""
    legal = [move for move in found if is_yes(move.cancel.legal)]
    return sorted(legal, key=lambda move: (not is_yes(move.cancel.combos), -(damage(move.move) or 0)))


def _punish(words: Words, option: Punish, say_reach: bool) -> str:
    details = [words.line("starts-in", frames=option.move.startup_frames)]
    details.append(
        words.line("spare", spare=option.spare_frames) if option.spare_frames else words.line("spare-none")
    )
    if option.damage is not None:
        details.append(words.line("damage", damage=option.damage))
    if option.move.costs:
        costs = " and ".join(f"{amount} {gauge}" for gauge, amount in option.move.costs)
        details.append(words.line("costs", costs=costs))
    if option.reaches is None and say_reach:
        details.append(words.line("reach-unknown"))
    return words.line(
        "punish-option", move=option.move.input, name=option.move.name, details=", ".join(details)
    )


def _cut(words: Words, lines: Sequence[str], shown: int) -> list[str]:
    """The first few lines, and how many more there are."""
    if len(lines) <= shown + 1:
        return list(lines)
    return [*lines[:shown], words.line("more", count=len(lines) - shown)]


def _named(words: Words, inputs: Sequence[str], shown: int = SHOWN_EACH) -> str:
    if not inputs:
        return words.line("nothing")
    if len(inputs) <= shown + 1:
        return ", ".join(inputs)
    return f"{', '.join(inputs[:shown])} {words.line('more', count=len(inputs) - shown)}"
