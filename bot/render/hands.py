"""What a member's log says of their timing: one link, a route, all links."""

from __future__ import annotations

from collections.abc import Iterable

from bot.render.card import Card, Group, source_of
from bot.render.reps import character_of, is_linked, link_moves, rate_words
from bot.render.wording import Fact, say, say_reason
from bot.results.practice import AllTiming, LinkTiming, RouteStep, RouteTiming
from core.model import Game
from core.timing import Bottleneck, Diagnosis, TapAdvice, TapReason, Tendency, TooFew, Window
from core.timing.fit import ENOUGH_TRIES, Estimate
from core.verdict import Answer, Verdict

AT_ONCE_FRAMES = 0.5
"""An aim this near the moment at which the move can come out is at that moment."""
MENDED = 0.02
"""What being on time has to add to a chance before it is spoken of."""
SHOWN_LINKS = 10


def diagnosis_sentence(timing: LinkTiming) -> str:
    """How the presses stand, where to aim, and one press or two, in one sentence."""
    return _Link(timing).sentence()


def link_timing_card(timing: LinkTiming) -> Card:
    """The card of one link."""
    link = _Link(timing)
    if isinstance(timing.window, Verdict):
        reasons = tuple(say_reason(reason, timing.game) for reason in timing.window.reasons)
        return _card(timing, link.sentence(), (), reasons)
    found = timing.diagnosis
    if not isinstance(found, Diagnosis):
        few = (
            _group("aim", [_accepted(link, timing.window)]),
            _group("far", [link.line("log-sides"), *_lost(timing)]),
        )
        return _card(timing, link.sentence(), few)
    groups = (
        _group("patterns", _patterns(link, found, timing.window)),
        _group("tap", _tap(link, found.two_advised)),
        _group("aim", _aim(link, found, timing.window)),
        _group("sure", _sure(link, found)),
    )
    return _card(timing, link.sentence(), groups)


def route_timing_card(timing: RouteTiming) -> Card:
    """The card of a route: which press it drops at."""
    found = timing.bottleneck
    if not isinstance(found, Bottleneck):
        if found is None:
            return _card(timing, say("hands-route", "none"))
        lead = say("hands-route", "few", tries=found.tries, needed=found.needed)
        return _card(timing, lead, [_group("far", [say("hands-lines", "log-sides"), *_lost(timing)])])
    weakest = timing.steps[timing.timed[found.step]]
    lead = say(
        "hands-route",
        "one-step" if len(timing.timed) == 1 else "weakest",
        first=weakest.first,
        second=weakest.second,
        hit=found.steps[found.step].hit,
        whole=found.whole,
        without=found.whole_without,
    )
    chances = dict(zip(timing.timed, found.steps, strict=True))
    lines = []
    for place, step in enumerate(timing.steps):
        chance = chances.get(place)
        if chance is None:
            lines.append(_step("step-untimed", step))
            continue
        sides = "" if abs(chance.early - chance.late) < MENDED else "-late"
        key = "step-early" if sides and chance.early > chance.late else f"step{sides}"
        lines.append(_step(key, step, hit=chance.hit))
    return _card(timing, lead, [_group("steps", lines)])


def all_timing_card(timing: AllTiming) -> Card:
    """The card of all links, the weakest first."""
    found = next((link.diagnosis for link in timing.links if link.diagnosis is not None), None)
    if found is None:
        key = "few" if timing.links else "none"
        lead = say("hands-stand-all", key, tries=timing.tries, needed=ENOUGH_TRIES)
    else:
        lead = _stand_all(timing.game, found)
    lines = [_link_line(link) for link in timing.links[:SHOWN_LINKS]]
    groups = [_group("links", lines)] if lines else []
    if isinstance(found, Diagnosis):
        if found.tendency in (Tendency.EARLY, Tendency.LATE):
            lead = "; ".join([lead, say("hands-aim-all", _key(found.tendency))])
        groups.append(_group("sure", [_between(found.bias_frames)]))
    else:
        groups.append(_group("far", [say("hands-lines", "log-first"), *_lost(timing)]))
    return Card(f"{lead}.", tuple(groups), (), source_of(timing.game))


class _Link:
    """Says things about one link: knows its two moves and the game's speed."""

    def __init__(self, timing: LinkTiming) -> None:
        self.timing = timing
        self.first, self.second = link_moves(timing.subject.what)

    def __call__(self, section: str, key: str, **facts: Fact) -> str:
        given: dict[str, Fact] = {
            "what": self.timing.subject.what,
            "first": self.first,
            "second": self.second,
        }
        return say(section, key, self.timing.game.fps, **{**given, **facts})

    def line(self, key: str, **facts: Fact) -> str:
        """One line of the card."""
        return self("hands-lines", key, **facts)

    def sentence(self) -> str:
        """The diagnosis."""
        window, found = self.timing.window, self.timing.diagnosis
        if isinstance(window, Verdict) or found is None:
            unknown = isinstance(window, Verdict) and window.answer is Answer.UNKNOWN
            return self("hands-stand", "unknown-window" if unknown else "no-window") + "."
        if isinstance(found, TooFew):
            return self("hands-stand", "few", tries=found.tries, needed=found.needed) + "."
        where = self.where(found.aim_gap, window)
        if self.timing.tries == 0:
            stand = self("hands-stand", "not-tried", one=found.one.hit)
        elif self.timing.tries < ENOUGH_TRIES:
            stand = _stand_all(self.timing.game, found)
        else:
            stand = self("hands-stand", _key(found.tendency), **_off(found))
        aim = self("hands-aim", _key(found.tendency), where=where)
        advice = found.two_advised
        why = _why(advice.reasons[0], advice) if advice.reasons else None
        tap = self("hands-tap", advice.answer.value, one=found.one.hit, two=found.two.hit, why=why)
        return "; ".join([stand, aim, tap]) + "."

    def where(self, gap: float, window: Window) -> str:
        """Where a press with this gap falls."""
        if window.start_gap is None:
            return self("hands-where", "gap", gap=gap)
        off = gap - window.start_gap
        side = "at" if abs(off) <= AT_ONCE_FRAMES else "before" if off < 0 else "after"
        seen = "over" if is_linked(self.timing.subject.what) else "start"
        return self("hands-where", f"{side}-{seen}", off=abs(off))


def _patterns(link: _Link, found: Diagnosis, window: Window) -> Iterable[str]:
    """One press, two presses and mashing, side by side."""
    mended = "-mended" if found.one_mended.hit - found.one.hit >= MENDED else ""
    yield link.line(f"one{mended}", one=found.one.hit, mended=found.one_mended.hit)
    mended = "-mended" if found.two_mended.hit - found.two.hit >= MENDED else ""
    yield link.line(
        f"two{mended}",
        spacing=found.spacing_frames,
        where=link.where(found.two_aim_gap, window),
        two=found.two.hit,
        mended=found.two_mended.hit,
    )
    if found.hole_frames > 0:
        yield link.line("hole", hole=found.hole_frames)
    mash = link.timing.mashing
    if mash is not None:
        yield link.line(
            "mash" if mash.works else "mash-never",
            rate=link.timing.mash_rate,
            works=mash.works,
            presses=round(mash.presses, 1),
            unwanted=round(mash.unwanted, 1),
        )


def _tap(link: _Link, advice: TapAdvice) -> Iterable[str]:
    """Whether to press twice: every reason against it once; that it is safe, the advice has said."""
    if advice.answer is Answer.YES:
        yield link.line("either")
        return
    for why in dict.fromkeys(_why(reason, advice) for reason in advice.reasons):
        yield link.line("not-safe", why=why)
    for reason in advice.missing:
        yield say_reason(reason, link.timing.game)


def _aim(link: _Link, found: Diagnosis, window: Window) -> Iterable[str]:
    yield _accepted(link, window)
    if found.tendency in (Tendency.EARLY, Tendency.LATE):
        yield link.line(f"aim-shift-{found.tendency.value}", **_off(found))


def _accepted(link: _Link, window: Window) -> str:
    return link.line("aim-one", frames=window.frames, where=link.where(window.middle_gap, window))


def _sure(link: _Link, found: Diagnosis) -> Iterable[str]:
    timing = link.timing
    yield _between(found.bias_frames)
    yield link.line("spread", spread=found.spread_frames.value)
    if timing.tries:
        yield link.line("landed-here", rate=rate_words(timing.landed, timing.tries), tries=found.tries)
    else:
        yield link.line("no-tries", tries=found.tries)


def _lost(timing: LinkTiming | RouteTiming | AllTiming) -> Iterable[str]:
    """Why there are fewer tries than the member logged."""
    if timing.lost_tries:
        yield say("hands-lines", "lost-tries", tries=timing.lost_tries)


def _between(bias: Estimate) -> str:
    """The interval of a bias in words: below 0 is early."""
    low, high = round(bias.low, 1), round(bias.high, 1)
    if low < 0 < high:
        return say("hands-lines", "between-both", early=-low, late=high)
    side = "early" if low < 0 else "late"
    near, far = sorted((abs(low), abs(high)))
    return say("hands-lines", f"between-{side}" if near else f"between-on-{side}", near=near, far=far)


def _stand_all(game: Game, found: Diagnosis | TooFew) -> str:
    if isinstance(found, TooFew):
        return say("hands-stand-all", "few", tries=found.tries, needed=found.needed)
    return say("hands-stand-all", _key(found.tendency), game.fps, **_off(found))


def _off(found: Diagnosis) -> dict[str, Fact]:
    """How far off the presses are."""
    return {"off": abs(found.bias_frames.value), "off_ms": f"{abs(found.bias_ms.value):.0f} ms"}


def _key(tendency: Tendency) -> str:
    return tendency.value.replace(" ", "-")


def _why(reason: TapReason, advice: TapAdvice) -> str:
    """Why a second press is safe or not; a rule is named once for all contacts it allows."""
    rule = reason.facts.get("rule")
    same = [other.facts["contact"] for other in advice.reasons if rule and other.facts.get("rule") == rule]
    facts: dict[str, Fact] = {**reason.facts, "contacts": " or ".join(map(str, same))}
    return say("hands-why", reason.code.value, 60, **facts)


def _step(key: str, step: RouteStep, **facts: Fact) -> str:
    return say("hands-lines", key, 60, first=step.first, second=step.second, **facts)


def _link_line(link: LinkTiming) -> str:
    what, side = link.subject.what, link.sides
    if not link.tries:
        one = link.diagnosis.one.hit if isinstance(link.diagnosis, Diagnosis) else None
        if one is not None:
            return say("hands-lines", "link-tried-not", what=what, one=one)
    rate = rate_words(link.landed, link.tries)
    if side is None or not side.early + side.late:
        return say("hands-lines", "link", what=what, rate=rate)
    key = "sides-unknown" if side.unknown else "sides"
    sides = say("hands-lines", key, early=side.early, late=side.late, unknown=side.unknown)
    return say("hands-lines", "link-sides", what=what, rate=rate, sides=sides)


def _group(question: str, lines: Iterable[str]) -> Group:
    return Group(say("hands-questions", question), tuple(lines))


def _card(
    timing: LinkTiming | RouteTiming,
    lead: str,
    groups: Iterable[Group] = (),
    reasons: tuple[str, ...] = (),
) -> Card:
    kept = tuple(group for group in groups if group.lines)
    return Card(lead, kept, reasons, source_of(timing.game, character_of(timing.game, timing.subject)))
