"""A group drill in words: its post, and one member's part in it."""

from __future__ import annotations

from collections.abc import Iterator

from bot.render.card import Card, Group
from bot.render.members import Names, called
from bot.render.reps import date_words, moment_words, what_words, whose_words
from bot.render.wording import say
from bot.results.drills import DrillBoard, DrillPart, DrillPlan, DrillStage, KeptDrill
from bot.results.log import Logged
from bot.results.tally import SubjectKind
from core.drills.drill import Scoring
from core.drills.scores import Entry
from core.drills.scores import Group as Among
from core.drills.standings import Row, Standings

SHOWN = 10
"""So many rows of the standings are on a post."""


def scoring_name(scoring: Scoring) -> str:
    """What counts, in few words.

    >>> scoring_name(Scoring.BEST_TALLY)
    'best bout'
    """
    return say("drill-desk", f"scored-{scoring.value}")


def drill_source(drill: KeptDrill, game_version: str) -> str:
    """The game and the version of its file."""
    subject = drill.plan.subject
    if not game_version:
        return subject.game
    return say(
        "pieces", "version", game=subject.game, version=game_version, character=subject.character or None
    )


def post_card(board: DrillBoard, names: Names) -> Card:
    """The card under which members join and log."""
    drill, zone = board.drill, board.zone
    key = drill.stage.value
    if drill.stage is DrillStage.OPEN and not drill.weekly:
        key = "open-once"
    lead = say(
        "group-drill-leads",
        key,
        what=whose_words(drill.plan.subject),
        closes=moment_words(drill.closes_at, zone),
        opens=moment_words(drill.opens_at, zone),
    )
    if drill.stage is DrillStage.CANCELLED:
        return Card(lead, (), (), drill_source(drill, board.game_version))
    groups = [Group(say("group-drill-questions", "standings"), tuple(standing_lines(board, names)))]
    if drill.stage is not DrillStage.CLOSED:
        groups = [
            Group(say("group-drill-questions", "what"), tuple(_what(drill.plan))),
            Group(say("group-drill-questions", "scored"), tuple(_scored(drill.plan))),
            *groups,
            Group(say("group-drill-questions", "hands"), (say("group-drill", "hands"),)),
        ]
    return Card(lead, tuple(groups), (), drill_source(drill, board.game_version))


def part_card(part: DrillPart, logged: Logged | None = None) -> Card:
    """How one member stands, for their own eyes; `logged`: what they just logged."""
    drill, zone = part.drill, part.zone
    what = whose_words(drill.plan.subject)
    if logged is not None:
        tally = logged.kept.tally
        key = "logged-again" if logged.again else "logged"
        lead = say("drill-part", key, landed=tally.landed, tries=tally.tries)
    elif drill.stage is not DrillStage.OPEN:
        lead = say("drill-part", "over", what=what)
    else:
        key = "joined" if part.joined else "not-joined"
        lead = say("drill-part", key, what=what, closes=moment_words(drill.closes_at, zone))
    groups = [Group(say("group-drill-questions", "yours"), tuple(_own(part)))]
    if part.joined:
        named = say("drill-part", "listed" if part.listed else "unlisted")
        groups.append(Group(say("group-drill-questions", "named"), (named,)))
    if part.struck:
        lines = tuple(
            say(
                "drill-part",
                "struck",
                landed=kept.tally.landed,
                tries=kept.tally.tries,
                day=date_words(kept.tally.made_at, zone),
                reason=reason,
            )
            for kept, reason in part.struck
        )
        groups.append(Group(say("group-drill-questions", "struck"), lines))
    if drill.stage is DrillStage.OPEN:
        then = say("drill-part", "log" if part.joined else "join")
        groups.append(Group(say("group-drill-questions", "next"), (then,)))
    return Card(lead, tuple(groups), (), drill_source(drill, part.game_version))


def standing_lines(board: DrillBoard, names: Names) -> Iterator[str]:
    """The first rows of the standings; those without a place, and who is not named, are only counted."""
    shown = [row for row in board.standings.rows if row.place is not None][:SHOWN]
    for row in shown:
        key = "new" if row.entry.group is Among.NEW else "place"
        name = called(names, row.entry.member)
        yield say(
            "group-drill", key, place=row.place, name=name, score=score_words(row.entry, board.drill.plan)
        )
    others = board.members - len(shown)
    if others:
        yield say("group-drill", "others", others=others, take="takes" if others == 1 else "take")
    elif not shown:
        yield say("group-drill", "nobody")


def shown_members(standings: Standings) -> tuple[int, ...]:
    """Whose names a post shows."""
    return tuple(row.entry.member for row in standings.rows if row.place is not None)[:SHOWN]


def score_words(entry: Entry, plan: DrillPlan) -> str:
    """A score; there must be one."""
    assert entry.score is not None
    key = plan.scoring.value
    if entry.group is Among.NEW:
        key += "-new"
    return say(
        "group-drill-scores",
        key,
        landed=entry.score.landed,
        tries=entry.score.tries,
        share=entry.landed / entry.tries,
    )


def _what(plan: DrillPlan) -> Iterator[str]:
    subject = plan.subject
    key = {SubjectKind.LINK: "link", SubjectKind.ROUTE: "route"}.get(subject.kind, "task")
    yield say("group-drill", key, what=what_words(subject))
    if plan.goal:
        yield say("group-drill", "goal", goal=plan.goal)
    if plan.dummy:
        yield say("group-drill", "dummy", dummy=plan.dummy)
    yield say("group-drill", "log")


def _scored(plan: DrillPlan) -> Iterator[str]:
    facts = {"at_least": plan.at_least, "daily_cap": plan.daily_cap}
    yield say("group-drill", plan.scoring.value, 60, **facts)
    yield say("group-drill", "ties")


def _own(part: DrillPart) -> Iterator[str]:
    row, plan = part.row, part.drill.plan
    if row is None:
        yield say("drill-part", "none")
    else:
        yield _place(row, part)
    if plan.scoring is Scoring.TOTAL_CLEAN and part.drill.stage is DrillStage.OPEN:
        full = part.today >= plan.daily_cap
        today = min(part.today, plan.daily_cap)
        yield say("drill-part", "today-full" if full else "today", today=today, cap=plan.daily_cap)


def _place(row: Row, part: DrillPart) -> str:
    entry, plan = row.entry, part.drill.plan
    if row.place is None:
        needs = say("drill-part", f"needs-{plan.scoring.value}", at_least=plan.at_least)
        return say("drill-part", "no-place", landed=entry.landed, tries=entry.tries, needs=needs)
    key = "place-new" if entry.group is Among.NEW else "place"
    score = score_words(entry, plan)
    return say("drill-part", key, place=row.place, score=score, tallies=part.tallies)
