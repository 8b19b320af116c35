"""A group drill as a coach typed it, understood or refused."""

from __future__ import annotations

from bot.results.drills import (
    DUMMY_CHARACTERS,
    GOAL_CHARACTERS,
    DrillAsked,
    DrillPlan,
    DrillRefusal,
    DrillRefusalCode,
    KeptDrill,
)
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.services.desk import AskDesk
from bot.services.evidence import called
from bot.storage.store import Reading
from core.learning.plan import REPS_CAP
from core.learning.rates import ENOUGH_TRIES
from core.text import clipped, one_line
from core.verdict import Facts, Value

MOST_AT_LEAST = 100
USUAL_CAP = 50
LEAST_CAP = 5

NO_SERVER = DrillRefusal(DrillRefusalCode.NO_SERVER)
NO_SUCH_DRILL = DrillRefusal(DrillRefusalCode.NO_SUCH_DRILL)


async def read_plan(
    reading: Reading, desk: AskDesk, place: Place, asked: DrillAsked
) -> DrillPlan | DrillRefusal | LogRefusal:
    """The plan, with what is usual where nothing was said; or the first thing in it that cannot be."""
    goal, dummy = one_line(asked.goal), one_line(asked.dummy)
    at_least = ENOUGH_TRIES if asked.at_least is None else asked.at_least
    daily_cap = USUAL_CAP if asked.daily_cap is None else asked.daily_cap
    for field, text, longest in (("goal", goal, GOAL_CHARACTERS), ("dummy", dummy, DUMMY_CHARACTERS)):
        if len(text) > longest:
            return refused(DrillRefusalCode.TOO_LONG, field=field, most=longest)
    for field, number, least, most in (
        ("at_least", at_least, 1, MOST_AT_LEAST),
        ("daily_cap", daily_cap, LEAST_CAP, REPS_CAP),
    ):
        if not least <= number <= most:
            return refused(DrillRefusalCode.BAD_NUMBER, field=field, number=number, least=least, most=most)
    if not one_line(asked.what):
        return refused(DrillRefusalCode.NOT_DRILLABLE, what=clipped(asked.what.strip()))
    found = await called(reading, desk, place, asked.what)
    if isinstance(found, LogRefusal):
        return found
    return DrillPlan(found.subject, asked.scoring, at_least, daily_cap, goal, dummy)


def refused(code: DrillRefusalCode, **facts: Value) -> DrillRefusal:
    """A refusal with its facts."""
    return DrillRefusal(code, Facts(**facts))


def not_open(drill: KeptDrill) -> DrillRefusal:
    """That a drill is not open, with the facts that say why."""
    closes = int(drill.closes_at.timestamp())
    return refused(DrillRefusalCode.NOT_OPEN, closes=closes, stage=drill.stage.value)
