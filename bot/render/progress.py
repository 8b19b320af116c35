"""How practice goes: one link, route or drill, everything someone practises, and their goal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.render.card import Card, Group, source_of
from bot.render.reps import character_of, counts_words, day_words, next_words, recent_words
from bot.render.wording import Fact, say
from bot.results.practice import Overview, PracticeRefusal, Practised, SubjectProgress, WeekPoint
from core.learning.calendar import Row
from core.learning.contexts import Gap
from core.learning.rates import ENOUGH_TRIES, Rate, TooFew
from core.model import Game
from core.text import quoted

SHOWN_WEEKS = 3
SHOWN_PRACTISED = 10
SHOWN_CHOSEN = 5
LIKELY_TRIES = 60
"""More tries than these without a drop are not worth naming: nobody makes them at the present rate."""
CLOSE_TRIES = 30
"""Up to this many tries without a drop are told of in the advice; more of them is a better rate."""


def subject_card(progress: SubjectProgress) -> Card:
    """The card of one link, route or drill."""
    game, subject = progress.game, progress.subject
    groups = [
        *_group("rates", _rates(progress)),
        *_group("match", [_gap(progress.gap)] if progress.tallies else []),
        *_group("yours", _yours(progress)),
        *_group("weeks", _weeks(progress.points)),
        *_group("next", _when(progress)),
    ]
    return Card(_lead(progress), tuple(groups), (), source_of(game, character_of(game, subject)))


def overview_card(overview: Overview) -> Card:
    """The card of everything someone practises."""
    shown = overview.practised[:SHOWN_PRACTISED]
    several = len({line.subject.character for line in overview.practised if line.subject.character}) > 1
    lines = [_practised(line, several) for line in shown]
    if len(overview.practised) > len(shown):
        lines.append(say("progress-lines", "more-practised", count=len(overview.practised) - len(shown)))
    row = [
        *([say("progress-lines", "all-tries", tries=overview.tries)] if overview.practised else []),
        _row("progress-days", overview.days),
        _row("progress-weeks", overview.weeks),
    ]
    groups = [
        *_group("practised", lines),
        *_group("then", _then(overview.practised)),
        *_group("choosing", _choosing(overview)),
        *_group("row", row),
        *_group("next", [next_words(overview.next)] if overview.next else []),
    ]
    return Card(_overview_lead(overview), tuple(groups), (), source_of(overview.game))


def goal_card(game: Game, goal: float) -> Card:
    """The card of a member's goal, a rate above 0 and below 1."""
    lines = [say("progress-lines", "goal-few")]
    return Card(say("progress-leads", "goal", goal=goal), tuple(_group("goal", lines)), (), source_of(game))


def practice_refusal_card(refusal: PracticeRefusal) -> Card:
    """Why there is nothing to tell."""
    facts: dict[str, Fact] = {name: fact for name, fact in refusal.facts.items() if fact != ""}
    if "typed" in facts:
        facts["typed"] = quoted(str(facts["typed"]))
    lead = say("progress-refusals", refusal.code.value, 60, **facts)
    return Card(lead, (), (), source_of(refusal.game))


def _lead(progress: SubjectProgress) -> str:
    owned, recent = progress.ownership, progress.recent
    if owned.owned:
        key = "owned"
    elif isinstance(recent, TooFew):
        key = "few"
    else:
        key = "close" if owned.clean_more <= CLOSE_TRIES else "better"
    return say(
        "progress-leads",
        key,
        what=progress.subject.what,
        goal=owned.goal,
        clean=owned.clean_more,
        recent=recent_words(recent),
        tries=round(recent.tries),
        needed=recent.needed if isinstance(recent, TooFew) else None,
    )


def _rates(progress: SubjectProgress) -> Iterator[str]:
    """One line for each context with a try, from calm to serious, then the rate of late."""
    for context, rate in progress.by_context.items():
        if rate.tries:
            name = say("reps-context-names", context.value)
            yield say("progress-lines", "context", context=name, rate=counts_words(rate))
    if isinstance(progress.recent, Rate):
        yield say("progress-lines", "recent", recent=recent_words(progress.recent))


def _gap(gap: Gap) -> str:
    """What is to be told of training beside matches."""
    return say(
        "progress-gap",
        gap.code.value,
        training=_short(gap.training),
        match=_short(gap.match),
        tries=round(gap.match.tries),
    )


def _short(rate: Rate | TooFew) -> str:
    """A rate within a sentence."""
    return say("reps", "rate" if isinstance(rate, Rate) else "bare", 60, **_counts(rate))


def _counts(rate: Rate | TooFew) -> dict[str, Fact]:
    share = rate.share if isinstance(rate, Rate) else None
    return {"landed": rate.landed, "tries": rate.tries, "share": share}


def _yours(progress: SubjectProgress) -> Iterator[str]:
    """What it would still take to own it."""
    owned = progress.ownership
    if owned.owned:
        yield say("progress-lines", "is-yours")
        return
    if owned.clean_more <= LIKELY_TRIES:
        yield say("progress-lines", "clean", clean=owned.clean_more)
    if owned.more_at_this_rate is not None:
        yield say("progress-lines", "at-rate", more=owned.more_at_this_rate)
    elif isinstance(progress.recent, Rate):
        yield say("progress-lines", "better-rate")


def _weeks(points: Sequence[WeekPoint]) -> list[str]:
    """The last weeks with practice; a single week is no course of things."""
    if len({point.week for point in points}) < 2:
        return []
    lines = []
    for week in sorted({point.week for point in points})[-SHOWN_WEEKS:]:
        here = {point.in_match: point for point in points if point.week == week}
        told = {
            name: say("reps", "rate" if point.tries >= ENOUGH_TRIES else "bare", 60, **_share(point))
            for name, point in (("rate", here.get(False)), ("match", here.get(True)))
            if point is not None
        }
        key = "week-both" if len(told) == 2 else "week" if "rate" in told else "week-match"
        lines.append(say("progress-lines", key, 60, day=day_words(week.monday), **told))
    return lines


def _share(point: WeekPoint) -> dict[str, Fact]:
    return {"landed": point.landed, "tries": point.tries, "share": point.landed / point.tries}


def _when(progress: SubjectProgress) -> Iterator[str]:
    if progress.next is not None:
        yield next_words(progress.next)
    if progress.last_day is not None:
        yield say("progress-lines", "last", day=day_words(progress.last_day))


def _overview_lead(overview: Overview) -> str:
    count, owned = len(overview.practised), sum(line.owned for line in overview.practised)
    if not count:
        return say("progress-leads", "overview-choosing")
    if count == 1:
        return say("progress-leads", "overview-one-all" if owned else "overview-one-none")
    if owned in (0, count):
        return say("progress-leads", "overview-all" if owned and count else "overview-none", count=count)
    return say("progress-leads", "overview", count=count, owned=owned, are="is" if owned == 1 else "are")


def _choosing(overview: Overview) -> Iterator[str]:
    """What is chosen in the quiz, the latest first."""
    several = len({line.subject.character for line in overview.choosing}) > 1
    shown = overview.choosing[:SHOWN_CHOSEN]
    for line in shown:
        yield say(
            "progress-lines",
            "chosen-few" if isinstance(line.recent, TooFew) else "chosen",
            what=_named(line, several),
            recent=recent_words(line.recent),
            tries=line.tries,
            day=day_words(line.last_day),
        )
    if more := len(overview.choosing) - len(shown):
        yield say("progress-lines", "more-practised", count=more)


def _practised(line: Practised, several: bool) -> str:
    key = "practised-owned" if line.owned else "practised"
    if isinstance(line.recent, TooFew):
        key = "practised-few"
    return say(
        "progress-lines",
        key,
        what=_named(line, several),
        recent=recent_words(line.recent),
        tries=line.tries,
        day=day_words(line.last_day),
    )


def _named(line: Practised, several: bool) -> str:
    """What is practised, with its character where there are several."""
    what, character = line.subject.what, line.subject.character
    return say("reps", "of", what=what, character=character) if several and character else what


def _then(practised: Sequence[Practised]) -> Iterator[str]:
    """The weakest of what is not owned, and the latest that is owned and was never tried in a match."""
    rated = [
        (line.recent.share, line) for line in practised if isinstance(line.recent, Rate) and not line.owned
    ]
    if rated:
        weakest = min(rated, key=lambda pair: pair[0])[1]
        yield say("progress-lines", "weakest", what=weakest.subject.what)
    untried = next((line for line in practised if line.owned and not line.match_tries), None)
    if untried is not None:
        yield say("progress-lines", "untried", what=untried.subject.what)


def _row(section: str, row: Row) -> str:
    key = f"{row.standing.value}-one" if row.now == 1 else row.standing.value
    return say(section, key, now=row.now, best=row.best, total=row.total)


def _group(question: str, lines: Iterator[str] | Sequence[str]) -> list[Group]:
    kept = tuple(lines)
    return [Group(say("progress-questions", question), kept)] if kept else []
