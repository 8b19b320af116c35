"""What is said of routes that were looked for, and of the next one to learn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from bot.limits import CHOICE_CHARACTERS
from bot.render.card import Card, Group, source_of
from bot.render.limits import cut
from bot.render.route_check import amounts, given_words, landing
from bot.render.wording import say
from bot.results.finding import MOST_MOVES, Choice, Finding, Lesson, NextUp, NothingNext
from bot.results.route import SURE, Mended
from core.notation import format_route
from core.routes import Aim, JointKey

RARE = 0.05
"""From this chance down something hardly ever lands."""


def finding_card(found: Finding, picture_failed: bool = False) -> Card:
    """The card of what a search found: few routes to choose from."""
    groups = _groups(found)
    if picture_failed:
        last = groups.pop()
        groups.append(Group(last.question, (*last.lines, say("found-lines", "picture-failed"))))
    return Card(_lead(found), tuple(groups), (), source_of(found.game, found.character))


def lesson_card(lesson: Lesson) -> Card:
    """What to learn from a starter: one step up, and the routes to choose from."""
    card, up = finding_card(lesson.finding), lesson.next
    if not isinstance(up, NextUp):
        return card
    first = _group("next", "why-it", [*_brings(up), *_builds(up)])
    return Card(_next_lead(up), (first, *card.groups), card.reasons, card.source)


def next_card(found: NextUp | NothingNext) -> Card:
    """The card of the next route to learn."""
    if isinstance(found, NothingNext):
        where = _where(found.starter, found.character.name)
        lead = say("next-leads", "none" if found.owned else "none-owned", where=where, moves=MOST_MOVES)
        return Card(lead, (), (), source_of(found.game, found.character))
    checked, step = found.opened.check, found.step
    new = [_joint(joint) for joint in step.new]
    groups = (
        _group("next", "new", [f"{line[0].upper()}{line[1:]}." for line in new]),
        _group("next", "brings", _brings(found)),
        _group("next", "builds", _builds(found)),
        _group("found", "given", [given_words(checked.game, checked.start)]),
    )
    return Card(_next_lead(found), groups, (), source_of(checked.game, checked.character))


def lands_words(chance: float) -> str:
    """How often something lands, in plain words.

    >>> lands_words(0.99), lands_words(0.6)
    ('nearly every time', 'about 60 % of the time')
    """
    key = "sure" if chance >= SURE else "rare" if chance <= RARE else "about"
    return say("found-lands", key, chance=chance)


def open_hint(mended: bool = False) -> str:
    """What a list of routes to open asks for; `mended`: they are repairs of one that fails."""
    return say("found-pick", "mend" if mended else "placeholder")


def choice_label(choice: Choice) -> tuple[str, str]:
    """A found route in a list to pick from: its notation, and a line below it."""
    below = say("found-pick", "below", damage=choice.damage, lands=lands_words(choice.chance))
    return cut(format_route(choice.route), CHOICE_CHARACTERS), cut(below, CHOICE_CHARACTERS)


def next_label(found: NextUp) -> tuple[str, str]:
    """The next route to learn in a list to pick from."""
    below = say("found-pick", "next" if found.owned else "first")
    return cut(format_route(found.opened.check.route), CHOICE_CHARACTERS), below


def mended_label(mended: Mended) -> str:
    """A mended route in a list to pick from."""
    return cut(format_route(mended.repair.route), CHOICE_CHARACTERS)


def _groups(found: Finding) -> list[Group]:
    if not found.routes:
        return [_group("found", "given", _given(found))]
    lines = [_choice(one) for one in found.choices]
    if len(lines) == 1:
        only = found.choices[0]
        lines = [_worth("only-this", only)]
    return [
        _group("found", "which" if len(lines) > 1 else "one", lines),
        _group("found", "whole", _whole(found)),
        _group("found", "given", [*_given(found), _whose(found)]),
    ]


def _lead(found: Finding) -> str:
    if not found.routes:
        return _nothing(found)
    best = found.routes[0]
    aim = found.aim
    return say(
        "found-leads",
        f"{aim.value}-typical" if aim is Aim.EXPECTED and not found.hands.tries else aim.value,
        where=_where(found.starter, found.character.name),
        route=format_route(best.route),
        damage=best.damage,
        lands=lands_words(best.chance),
        seconds=None if best.seconds is None else f"{best.seconds:.1f}",
    )


def _nothing(found: Finding) -> str:
    where = _where(found.starter, found.character.name)
    if not found.complete:
        return say("found-leads", "nothing-cut-short", where=where)
    changes = [say("found-changes", limit.value) for limit in found.limits]
    if not changes:
        return say("found-leads", "nothing-air" if found.start.airborne else "nothing-plain", where=where)
    return say("found-leads", "nothing", where=where, change=", or ".join(changes))


def _where(starter: str, character: str) -> str:
    if starter:
        return say("found-where", "starter", starter=starter)
    return say("found-where", "anywhere", character=character)


def _choice(one: Choice) -> str:
    assert one.role is not None
    role = say("found-roles", one.role.value)
    return _worth("choice", one, role=role, route=format_route(one.route))


def _worth(key: str, one: Choice, **facts: str) -> str:
    lands, cost = lands_words(one.chance), _cost(one.spent)
    return say("found-lines", key, 60, damage=one.damage, lands=lands, cost=cost, why=_easy(one), **facts)


def _cost(spent: Iterable[tuple[str, int]]) -> str:
    told = amounts(spent)
    return say("found-lines", "costs", spent=told) if told else say("found-lines", "costs-none")


def _easy(one: Choice) -> str:
    if one.hard is None:
        return say("found-lines", "easy")
    return say("found-lines", "hard", first=one.hard.first, second=one.hard.second)


def _whole(found: Finding) -> Iterator[str]:
    if found.complete:
        yield say("found-lines", "complete", moves=found.most_moves)
    else:
        yield say("found-lines", "incomplete")
    if found.left_out:
        yield say("found-lines", "left-out", moves=", ".join(found.left_out))


def _given(found: Finding) -> Iterator[str]:
    yield given_words(found.game, found.start)
    if found.spend:
        told = [
            say("found-lines", "spends-most" if amount else "spends-no", amount=amount, gauge=name)
            for name, amount in found.spend
        ]
        nothing = len(told) == len(found.game.gauges) and not any(amount for _, amount in found.spend)
        spent = say("found-lines", "spends-none") if nothing else " and ".join(told)
        yield say("found-lines", "spends", spent=spent)


def _whose(found: Finding) -> str:
    if found.hands.tries:
        return say("found-lines", "own-hands", tries=found.hands.tries)
    kept = any(one.subject_id for one in found.routes)
    return say("found-lines", "typical-hands-log" if kept else "typical-hands")


def _next_lead(found: NextUp) -> str:
    new = [_joint(joint) for joint in found.step.new]
    told = " and ".join(filter(None, [", ".join(new[:-1]), new[-1]]))
    steps = found.step.route.route.steps
    joints = {(a.move.input, b.move.input, b.joined) for a, b in pairwise(steps)}
    if not found.owned:
        key = "first" if len(new) == 1 else "first-some"
    elif len(joints) == len(new):
        key = "new-all"
    else:
        key = "new-one" if len(new) == 1 else "new-some"
    return say("next-leads", key, route=format_route(found.opened.check.route), new=told)


def _joint(joint: JointKey) -> str:
    first, second, means = joint
    return say("next-lines", f"joint-{means.value}", first=first, second=second)


def _brings(found: NextUp) -> Iterator[str]:
    route, step = found.step.route, found.step
    chance, cost = landing(found.opened), _cost(found.opened.check.spent)
    lands = lands_words(route.chance if chance is None else chance)
    yield say("next-lines", "damage", damage=route.damage, lands=lands, cost=cost)
    gain = round(step.gain_damage)
    if step.instead_of is None:
        yield say("next-lines", "more", gain=gain)
    else:
        yield say("next-lines", "more-than", gain=gain, instead=format_route(step.instead_of))


def _builds(found: NextUp) -> Iterator[str]:
    step = found.step
    if not found.owned:
        yield say("next-lines", "owned-none", character=found.opened.check.character.name)
    elif step.builds_on is None:
        yield say("next-lines", "builds-nothing")
    else:
        yield say("next-lines", "builds", route=format_route(step.builds_on), shared=step.shared_moves)
    if not step.complete:
        yield say("next-lines", "incomplete")


def _group(section: str, question: str, lines: Iterable[str]) -> Group:
    return Group(say(f"{section}-questions", question), tuple(lines))
