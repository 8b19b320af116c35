"""What coaches decide on group drills, in words, and why something cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.drills import scoring_name
from bot.render.log import log_refusal_card
from bot.render.members import Names, called
from bot.render.reps import date_words, moment_words, weekday_name, whose_words
from bot.render.wording import Fact, say
from bot.results.drills import (
    DrillList,
    DrillRefusal,
    DrillRefusalCode,
    DrillResult,
    DrillResults,
    DrillVerdict,
    Exercise,
    KeptDrill,
    Series,
    Suggested,
)
from bot.results.log import LogRefusal
from core.model import Game
from core.text import quoted


def decided_card(key: str, drill: KeptDrill, game: Game, zone: tzinfo, channel: str | None = None) -> Card:
    """A drill that was opened, moved or called off; `key` of [drill-desk]."""
    closes = moment_words(drill.closes_at, zone)
    lead = say("drill-desk", key, what=whose_words(drill.plan.subject), closes=closes, channel=channel)
    then = (_next(say("drill-desk", "next-post")),) if key == "opened" else ()
    return Card(lead, then, (), source_of(game))


def exercise_card(key: str, exercise: Exercise, game: Game) -> Card:
    """A drill that was put on the list, or taken out."""
    lead = say("drill-desk", key, what=whose_words(exercise.plan.subject))
    return Card(lead, (_next(say("drill-desk", "add")),), (), source_of(game))


def series_card(series: Series, drill: KeptDrill, game: Game, zone: tzinfo, channel: str) -> Card:
    """A weekly series that was begun or changed."""
    lead = say(
        "drill-desk",
        "weekly",
        weekday=weekday_name(series.weekday),
        at=f"{series.at:%H:%M}",
        channel=channel,
        what=whose_words(drill.plan.subject),
        closes=moment_words(drill.closes_at, zone),
    )
    return Card(lead, (_next(say("drill-desk", "next-post")),), (), source_of(game))


def stopped_card(game: Game) -> Card:
    """A weekly series that was ended."""
    return Card(say("drill-desk", "stopped"), (), (), source_of(game))


def list_card(listed: DrillList, game: Game) -> Card:
    """The server's list, its series, and what is open."""
    count = len(listed.exercises)
    key = "list-none" if not count else "list-one" if count == 1 else "list"
    groups = []
    if listed.exercises:
        groups.append(_group("list", _exercises(listed)))
    groups.append(_group("series", [_series(listed)]))
    live = [
        say(
            "drill-desk",
            "open-one",
            what=whose_words(drill.plan.subject),
            closes=moment_words(drill.closes_at, listed.zone),
        )
        for drill in listed.open
    ]
    groups.append(_group("open", live or [say("drill-desk", "open-none")]))
    groups.append(_next(say("drill-desk", "add")))
    return Card(say("drill-desk", key, count=count), tuple(groups), (), source_of(game))


def results_card(found: DrillResults, names: Names, game: Game) -> Card:
    """What was logged on a drill, for coaches."""
    what = whose_words(found.drill.plan.subject)
    if not found.results:
        return Card(say("drill-desk", "results-none", what=what), (), (), source_of(game))
    lines = [result_line(result, names, found.zone) for result in found.results]
    groups = (_group("tallies", lines), _next(say("drill-desk", "judge")))
    return Card(say("drill-desk", "results", what=what), groups, (), source_of(game))


def result_card(result: DrillResult, names: Names, game: Game, zone: tzinfo, key: str | None = None) -> Card:
    """One tally of a drill; `key` of [drill-desk]: what was just said of it."""
    name = called(names, result.member_id)
    lead = say(
        "drill-desk",
        key or "one",
        name=name,
        landed=result.kept.tally.landed,
        tries=result.kept.tally.tries,
        day=date_words(result.kept.tally.made_at, zone),
    )
    groups = (_group("tallies", [result_line(result, names, zone)]), _next(say("drill-desk", "judge")))
    return Card(lead, groups, (), source_of(game))


def result_line(result: DrillResult, names: Names, zone: tzinfo) -> str:
    """A tally in a list for coaches."""
    tally = result.kept.tally
    line = say(
        "drill-desk",
        "result" if result.run is None else "result-run",
        name=called(names, result.member_id),
        landed=tally.landed,
        tries=tally.tries,
        run=result.run,
        day=date_words(result.kept.tally.made_at, zone),
    )
    if tally.note:
        line = say("drill-desk", "result-note", line=line, note=tally.note)
    if result.reason is not None:
        return say("drill-desk", "result-struck", line=line, reason=result.reason)
    return say("drill-desk", "result-seen", line=line) if result.seen else line


def judge_label(result: DrillResult, names: Names) -> str:
    """What the button says that opens a tally."""
    tally = result.kept.tally
    return say(
        "drill-desk", "label", name=called(names, result.member_id), landed=tally.landed, tries=tally.tries
    )


def suggested_card(found: Suggested, game: Game) -> Card:
    """What most members drop."""
    if not found.found:
        return Card(say("drill-desk", "suggest-none"), (), (), source_of(game))
    (subject, best), *_ = found.found
    lines = [
        say(
            "drill-desk",
            "suggested",
            what=whose_words(about),
            below=one.below,
            members=one.members,
            share=one.landed / one.tries,
        )
        for about, one in found.found
    ]
    typed = f"{subject.character}: {subject.what}" if subject.character else f"drill: {subject.what}"
    lead = say(
        "drill-desk",
        "suggest",
        what=whose_words(subject),
        below=best.below,
        members=best.members,
    )
    groups = (_group("list", lines), _group("how", [say("drill-desk", "suggest-how", what=typed)]))
    return Card(lead, groups, (), source_of(game))


def drill_refusal_card(refusal: DrillRefusal | LogRefusal, game: Game) -> Card:
    """Why nothing was done."""
    if isinstance(refusal, LogRefusal):
        return log_refusal_card(refusal, game)
    facts: dict[str, Fact] = dict(refusal.facts.items())
    for name in ("typed", "what"):
        if name in facts:
            facts[name] = quoted(str(facts[name]))
    if "field" in facts:
        facts["field"] = say("drill-fields", str(facts["field"]))
    key = refusal.code.value
    if refusal.code is DrillRefusalCode.NOT_OPEN:
        key += f"-{facts['stage']}"
    return Card(say("drill-refusals", key, 60, **facts), (), (), source_of(game))


def verdict_card(verdict: DrillVerdict, game: Game) -> Card:
    """For the member whose tally a coach has seen or struck."""
    tally, reason = verdict.result.kept.tally, verdict.result.reason
    what = whose_words(verdict.drill.plan.subject)
    facts: dict[str, Fact] = {"landed": tally.landed, "tries": tally.tries, "what": what, "reason": reason}
    if reason is None:
        return Card(say("drill-notices", "seen", 60, **facts), (), (), source_of(game))
    then = _next(say("drill-notices", "struck-then"))
    return Card(say("drill-notices", "struck", 60, **facts), (then,), (), source_of(game))


def lost_card(drill: KeptDrill, game: Game) -> Card:
    """For who opened a drill that could not be posted."""
    lead = say("drill-notices", "lost", what=whose_words(drill.plan.subject))
    return Card(lead, (_next(say("drill-notices", "lost-then")),), (), source_of(game))


def _exercises(listed: DrillList) -> Iterator[str]:
    for number, exercise in enumerate(listed.exercises, 1):
        scored = scoring_name(exercise.plan.scoring)
        what = whose_words(exercise.plan.subject)
        if exercise.used_at is None:
            yield say("drill-desk", "exercise", number=number, what=what, scored=scored)
        else:
            day = date_words(exercise.used_at, listed.zone)
            yield say("drill-desk", "used", number=number, what=what, scored=scored, day=day)


def _series(listed: DrillList) -> str:
    series = listed.series
    if series is None:
        return say("drill-desk", "no-series")
    weekday, at = weekday_name(series.weekday), f"{series.at:%H:%M}"
    return say("drill-desk", "series", weekday=weekday, at=at, zone=listed.zone.key)


def _next(line: str) -> Group:
    return Group(say("group-drill-questions", "next"), (line,))


def _group(question: str, lines: list[str] | Iterator[str]) -> Group:
    return Group(say("group-drill-questions", question), tuple(lines))
