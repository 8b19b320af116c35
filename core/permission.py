"""Which of a game's cancel and chain rules let one move follow another: rule data in, reasons out."""

from __future__ import annotations

from dataclasses import dataclass

from core.model import (
    CancelRule,
    Character,
    Contact,
    ContactKind,
    Game,
    Move,
    Order,
    Selector,
    Stance,
)
from core.verdict import Code, Facts, Missing, Reason


@dataclass(frozen=True, slots=True)
class Permission:
    """The rules that allow it; where there are none, the reasons that forbid, nearest rule first."""

    rules: tuple[CancelRule, ...]
    refusals: tuple[Reason, ...] = ()
    missing: Missing | None = None


def fits(selector: Selector, move: Move) -> bool:
    """Whether a rule's selector speaks of this move."""
    return not misfit(selector, move)


def misfit(selector: Selector, move: Move) -> str:
    """The first part of a selector that the move does not fit, in the game file's words; empty if it fits."""
    checks: tuple[tuple[str, frozenset[str], bool], ...] = (
        ("moves", selector.moves, move.input in selector.moves),
        ("kinds", frozenset(selector.kinds), move.kind in selector.kinds),
        ("strengths", selector.strengths, move.strength in selector.strengths),
        ("levels", frozenset(map(str, selector.levels)), move.level in selector.levels),
        ("stances", frozenset(selector.stances), move.stance in selector.stances),
        ("tags", selector.tags, bool(move.tags & selector.tags)),
    )
    for part, wanted, fit in checks:
        if wanted and not fit:
            return f"{part}: {', '.join(sorted(wanted))}"
    unwanted = move.tags & selector.without_tags
    return f"without_tags: {', '.join(sorted(unwanted))}" if unwanted else ""


def permission(
    game: Game, character: Character, first: Move, second: Move, contact: Contact, hit: int
) -> Permission:
    """What the rules say of `second` begun out of `first` after its `hit`-th span met the defender."""
    grounding = _grounding(first, second)
    jumps = grounding is not None and grounding.code is Code.NEEDS_AIR
    into = [
        rule for rule in (*character.rules, *game.rules) if fits(rule.into, second) and rule.jump == jumps
    ]
    if grounding is not None and not (jumps and into):
        return Permission((), (grounding,))
    allowing: list[CancelRule] = []
    refusals: list[tuple[int, Reason]] = []
    for rule in into:
        nearness, reason = _forbids(rule, game, first, second, contact)
        if reason is None:
            allowing.append(rule)
        else:
            refusals.append((nearness, reason))
    if allowing:
        return _per_hit(tuple(allowing), first, contact, hit)
    if not refusals:
        return Permission((), (Reason(Code.NO_RULE_INTO, Facts(move=second.input, kind=second.kind.value)),))
    refusals.sort(key=lambda refusal: -refusal[0])
    return Permission((), tuple(reason for _, reason in refusals))


def _grounding(first: Move, second: Move) -> Reason | None:
    """A move begun out of another starts where that one is, in the air or on the ground, unless a jump
    comes before it."""
    air = (first.stance is Stance.AIRBORNE, second.stance is Stance.AIRBORNE)
    if air[0] == air[1]:
        return None
    code = Code.NEEDS_AIR if air[1] else Code.NEEDS_GROUND
    return Reason(code, Facts(first=first.input, second=second.input))


def _forbids(
    rule: CancelRule, game: Game, first: Move, second: Move, contact: Contact
) -> tuple[int, Reason | None]:
    """The first condition of the rule that fails, and how far the rule was met before it."""
    missed = misfit(rule.source, first)
    facts = Facts(rule=rule.name, first=first.input, second=second.input)
    if missed:
        return 0, Reason(Code.SOURCE_NOT_IN_RULE, facts.plus(missed=missed))
    if contact.kind not in rule.contact:
        allowed = ", ".join(kind.value for kind in ContactKind if kind in rule.contact)
        return 1, Reason(Code.CONTACT_NOT_IN_RULE, facts.plus(contact=contact.kind.value, allowed=allowed))
    if first.input == second.input and not rule.same_move:
        return 2, Reason(Code.SAME_MOVE, facts)
    if not _in_order(rule.order, game, first, second):
        return 2, Reason(Code.ORDER_FORBIDS, facts.plus(order=rule.order.value))
    if contact.came_by in rule.not_after:
        return 3, Reason(Code.NOT_AFTER, facts.plus(means=str(contact.came_by)))
    if rule.per_route is not None and contact.rules_used.count(rule.name) >= rule.per_route:
        return 4, Reason(Code.USED_UP, facts.plus(uses=rule.per_route))
    return 5, None


def _in_order(order: Order, game: Game, first: Move, second: Move) -> bool:
    if order is Order.ANY:
        return True
    if first.strength not in game.strengths or second.strength not in game.strengths:
        return False
    rise = game.strengths.index(second.strength) - game.strengths.index(first.strength)
    return rise > 0 if order is Order.RISING else rise >= 0


def _per_hit(rules: tuple[CancelRule, ...], first: Move, contact: Contact, hit: int) -> Permission:
    if contact.kind is ContactKind.WHIFF:
        return Permission(rules)
    own = first.hits[hit - 1].cancellable
    if own is None:
        return Permission((), (), Missing(first.input, (f"cancellable_hits (hit {hit})",)))
    if not own:
        return Permission((), (Reason(Code.HIT_NOT_CANCELLABLE, Facts(move=first.input, hit=hit)),))
    return Permission(rules)
