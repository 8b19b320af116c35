"""What is said of one route: whether it works and why, each step, what it comes to, and for whose hands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from bot.render.card import Card, Group, source_of
from bot.render.wording import Fact, say, say_reason
from bot.results.route import SURE, KnownHands, Mended, OpenRoute
from core.model import Effect, Game, Means
from core.notation import format_route
from core.routes import Repair, RouteCheck, Start, StepCheck, reliability
from core.routes.check import in_player_time
from core.timing import Window
from core.verdict import Answer, Code, Reason, Verdict

_LATE = (Code.LINK_TOO_LATE, Code.STUN_ENDS)
_ASIDE = (Code.IN_REACH_UP_TO, Code.COSTS_GAUGE)
"""Reasons of a step that works which nobody asks for: they stand under other questions."""


def route_card(opened: OpenRoute, mended: Sequence[Mended] = ()) -> Card:
    """The card of a route; `mended`: what would mend it, where it fails."""
    checked = opened.check
    repairs = [one.repair for one in mended] or list(checked.repairs)
    groups = [_group("mend", _mends(checked, repairs))] if not checked.works else []
    groups += [_group("steps", _steps(checked))]
    groups += [_group("sum" if checked.works else "sum-so-far", _sum(checked))]
    if checked.works:
        groups += [_group("hands", chance_lines(opened))]
    notes = [say_reason(note, checked.game) for note in checked.notes]
    groups += [_group("given", [given_words(checked.game, checked.start), *notes])]
    shown = tuple(group for group in groups if group.lines)
    return Card(_lead(opened, repairs), shown, _reasons(checked), source_of(checked.game, checked.character))


def check_answer(checked: RouteCheck) -> Answer:
    """Whether it works, as an answer."""
    return Answer.YES if checked.works else checked.verdict.answer


def given_words(game: Game, start: Start) -> str:
    """How a route is taken to begin.

    "They are standing, right in front of you, and your gauges are full."
    """
    unit = game.distance_unit
    where = say("route-given", "point-blank")
    if start.distance:
        where = say("route-given", "apart", distance=start.distance, unit=unit)
    defender = say("route-given", "air" if start.airborne else "standing")
    return say("route-given", "all", defender=defender, where=where, gauges=_have(game, start))


def amounts(pairs: Iterable[tuple[str, int]]) -> str:
    """Amounts of gauges in words; empty where there is nothing.

    >>> amounts([("salt", 40), ("glow", 0)])
    '40 salt'
    """
    told = [say("route-pieces", "amount", amount=amount, gauge=name) for name, amount in pairs if amount]
    return " and ".join(told)


def chance_lines(opened: OpenRoute) -> list[str]:
    """How likely these hands land the route, and which press costs most."""
    checked, hands = opened.check, opened.hands
    lands = reliability(checked, hands.spread, hands.bias_frames)
    if isinstance(lands, Verdict):
        return [say("route-hands", "untold", why=_why(checked.game, lands.reasons))]
    lines = [_whole(lands.whole, hands)]
    if lands.whole >= SURE:
        return lines
    worst = lands.bottleneck
    hit = lands.steps[worst].hit
    first, second = checked.steps[worst].step.move.input, checked.steps[worst + 1].step.move.input
    if sum(step.hit < SURE for step in lands.steps) == 1:
        lines.append(say("route-hands", "only", first=first, second=second))
    else:
        lines.append(say("route-hands", "costs-most", first=first, second=second, hit=hit))
        if hit > 0:
            lines.append(say("route-hands", "without", without=min(1.0, lands.whole / hit)))
    if opened.subject_id and not hands.tries:
        lines.append(say("route-hands", "log"))
    return lines


def link_frames(window: Window) -> int:
    """Over how many frames a link may start, what the buffer holds left out."""
    return window.last_gap - (window.first_gap if window.start_gap is None else window.start_gap) + 1


def landing(opened: OpenRoute) -> float | None:
    """The chance that these hands land all of it; None where it is not known."""
    lands = reliability(opened.check, opened.hands.spread, opened.hands.bias_frames)
    return None if isinstance(lands, Verdict) else min(1.0, lands.whole)


def _whole(chance: float, hands: KnownHands) -> str:
    """How likely all of a route lands, for the member's own or for typical hands."""
    key = "sure" if chance >= SURE else "own"
    typical = {"sure": "sure-typical", "own": "typical"}
    return say("route-hands", key if hands.tries else typical[key], chance=chance)


def _lead(opened: OpenRoute, repairs: Sequence[Repair]) -> str:
    checked = opened.check
    route = format_route(checked.route)
    if checked.works:
        air = "-air" if checked.start.airborne else ""
        key = f"works{air}" if checked.damage is not None else f"works{air}-untold"
        return say("route-leads", key, name=opened.name or None, route=route, damage=checked.damage)
    reasons = checked.verdict.reasons
    if checked.verdict.answer is Answer.NO and reasons and reasons[0].code in _LATE:
        other = next((one for one in repairs if one.kind == "move" and one.whole), None)
        move = other.route.steps[other.step].move.input if other else None
        facts: dict[str, Fact] = dict(reasons[0].facts)
        return say("route-leads", "late", 60, **{**facts, "move": move})
    key = "no" if checked.verdict.answer is Answer.NO else "unknown"
    return say("route-leads", key, route=route, why=_why(checked.game, reasons))


def _why(game: Game, reasons: Sequence[Reason]) -> str:
    """The decisive reason, as it goes on after a colon."""
    told = say_reason(reasons[0], game) if reasons else ""
    word = told.split(" ")[0]
    return told[:1].lower() + told[1:] if word.isalpha() and word.istitle() else told


def _steps(checked: RouteCheck) -> Iterator[str]:
    for number, step in enumerate(checked.steps):
        yield _step(checked, number, step)
    rest = checked.route.steps[len(checked.steps) :]
    if rest:
        yield say("route-steps", "unjudged", moves=", ".join(step.move.input for step in rest))


def _step(checked: RouteCheck, number: int, step: StepCheck) -> str:
    move = step.step.move.input
    if number == checked.failing:
        unknown = "-unknown" if step.verdict.answer is Answer.UNKNOWN else ""
        if number == 0:
            return say("route-steps", f"fails-first{unknown}", move=move)
        before = checked.steps[number - 1].step.move.input
        return say("route-steps", f"fails{unknown}", move=move, before=before)
    if number == 0:
        return _first(checked, step)
    before_step = checked.steps[number - 1]
    before, means = before_step.step.move.input, step.means or Means.LINK
    way = means.value if step.step.move.hits else "dash"
    if not isinstance(step.window, Window):
        return say("route-steps", f"untimed-{way}", move=move)
    window = in_player_time(step.window, before_step.freeze_frames)
    facts: dict[str, Fact] = {
        "move": move, "before": before, "first": window.first_gap, "last": window.last_gap,
        "accepted": window.frames,
    }  # fmt: skip
    if way != Means.LINK.value:
        early = window.first_gap == 1 and means is not Means.LINK
        return say("route-steps", f"{way}-early" if early else way, 60, **facts)
    facts["window"] = link_frames(window)
    bare = "-one" if window.frames == 1 else "-bare" if facts["window"] == window.frames else ""
    return say("route-steps", f"link{bare}", 60, **facts)


def _first(checked: RouteCheck, step: StepCheck) -> str:
    said, start = step.step, checked.start
    frame = (said.meaty_frame or said.move.active_frames) if said.meaty else start.active_frame
    late = frame if frame is not None and frame > 1 else None
    state = said.state or start.state
    return say("route-steps", "first", move=said.move.input, state=state, active_frame=late)


def _mends(checked: RouteCheck, repairs: Sequence[Repair]) -> Iterator[str]:
    for repair in repairs:
        told = _mend(checked, repair)
        yield told if repair.whole else say("route-mends", "part", mend=told)
    if not repairs:
        yield say("route-mends", "none", first=checked.route.steps[0].move.input)


def _mend(checked: RouteCheck, repair: Repair) -> str:
    first, step = repair.route.steps[0], repair.route.steps[repair.step]
    failing = checked.route.steps[repair.step].move.input
    facts: dict[str, Fact] = {"route": format_route(repair.route), "failing": failing}
    match repair.kind:
        case "move":
            return say("route-mends", "move", 60, move=step.move.input, **facts)
        case "means":
            if checked.route.steps[repair.step].delayed and not step.delayed:
                return say("route-mends", "at-once", 60, **facts)
            changed = step.joined is not checked.route.steps[repair.step].joined
            means = f"means-{step.joined.value}" if changed and step.joined else "means"
            return say("route-mends", means, 60, **facts)
        case "gauge":
            had = dict(checked.start.gauges)
            for name, amount in repair.start.gauges:
                gauge = next(one for one in checked.game.gauges if one.name == name)
                if (more := amount - had.get(name, gauge.start)) > 0:
                    return say("route-mends", "gauge", more=more, gauge=name)
            return say("route-mends", "means", 60, **facts)
        case "state":
            return say("route-mends", "state", 60, state=first.state, **facts)
        case _:
            late = first.meaty_frame
            return say("route-mends", "meaty", 60, first=first.move.input, active_frame=late, **facts)


def _sum(checked: RouteCheck) -> Iterator[str]:
    ending = checked.ending
    if ending is None:
        return
    yield say("route-sum", "damage" if ending.damage is not None else "damage-untold", damage=ending.damage)
    spent, gained = amounts(checked.spent), amounts(checked.gained)
    if checked.game.gauges:
        key = ("spends-gains" if gained else "spends") if spent else ("gains" if gained else "spends-none")
        yield say("route-sum", key, spent=spent, gained=gained)
    if checked.seconds is not None:
        yield say("route-sum", "time", seconds=f"{checked.seconds:.1f}")
    if not checked.works:
        return
    count = checked.directions
    directions = say("route-pieces", "directions-one" if count == 1 else "directions", count=count)
    yield say("route-sum", "inputs", presses=checked.presses, directions=directions)
    yield from _left(checked)


def _left(checked: RouteCheck) -> Iterator[str]:
    """How it leaves the defender."""
    ending, unit = checked.ending, checked.game.distance_unit
    assert ending is not None
    lead = ending.lead_frames
    match ending.effect:
        case Effect.STAND:
            side = "" if lead is None else "-plus" if lead > 0 else "-even" if lead == 0 else "-minus"
            yield say("route-sum", f"stand{side}", frames=abs(lead or 0))
        case Effect.LAUNCH | Effect.KNOCKDOWN:
            yield say("route-sum", ending.effect.value, frames=lead)
    if unit and ending.distance > 0:
        yield say("route-sum", "distance", distance=ending.distance, unit=unit)


def _have(game: Game, start: Start) -> str:
    if not game.gauges:
        return say("route-given", "no-gauges")
    given = dict(start.gauges)
    have = [(gauge.name, given.get(gauge.name, gauge.start)) for gauge in game.gauges]
    if all(amount == gauge.maximum for gauge, (_, amount) in zip(game.gauges, have, strict=True)):
        return say("route-given", "gauges-full")
    if not given:
        return say("route-given", "gauges-start")
    told = amounts(have)
    return say("route-given", "gauges", amounts=told) if told else say("route-given", "gauges-none")


def _reasons(checked: RouteCheck) -> tuple[str, ...]:
    if not checked.works:
        reasons: Iterable[Reason] = checked.verdict.reasons
    else:
        every = (reason for step in checked.steps for reason in step.verdict.reasons)
        reasons = (reason for reason in every if reason.code not in _ASIDE)
    return tuple(dict.fromkeys(say_reason(reason, checked.game) for reason in reasons))


def _group(question: str, lines: Iterable[str]) -> Group:
    return Group(say("route-questions", question), tuple(lines))
