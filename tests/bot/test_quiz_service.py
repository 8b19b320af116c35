"""The quiz: what is asked, what an answer changes, and that it is logged as choosing alone."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from inline import HERE, ODRUN, Bench, InlineWorker, bench_at, link

from bot.render.export import as_csv, as_json
from bot.results.conversion import (
    ConversionRefusal,
    ConversionRefusalCode,
    Outcome,
    Question,
    QuizAnswer,
    SetConversion,
)
from bot.results.log import Logged, LogRefusal, LogRefusalCode, PutBack, Undone
from bot.results.practice import (
    AllTiming,
    Overview,
    PlannedSession,
    PracticeRefusal,
    PracticeRefusalCode,
)
from bot.results.tally import KeptTally, SavedRoute, SubjectKind, Tally
from bot.services.conversions import ConversionService
from bot.services.hands import TimingService
from bot.services.log import Entry, LogService
from bot.services.plan import PlanService
from bot.services.privacy import PrivacyService
from bot.services.progress import ProgressService
from bot.services.quiz import LIMIT_SECONDS, QuizService
from bot.services.routes import RouteService
from bot.services.subjects import found_of
from bot.storage import conversions, tallies
from core.learning.choosing import BREAKS_DAYS, SLOW_BREAK, WRONG_BREAK
from core.learning.tally import Context

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
BREAD, LOW, LIFT = "5MP, 2MP xx 214LK", "5MP, 2MK xx 236LP", "2HP, 5HP"
OTHER = replace(HERE, member_id=HERE.member_id + 1)
SECOND = timedelta(seconds=1)


@dataclass
class Table:
    """The services at work together, and event ids that never come twice."""

    bench: Bench
    events: int = 100

    def __post_init__(self) -> None:
        bench, worker = self.bench, InlineWorker()
        parts = bench.store, bench.desk, bench.book, bench.clock
        self.routes = RouteService(*parts)
        self.conversions = ConversionService(bench.store, bench.desk, self.routes)
        self.quiz = QuizService(bench.store, bench.desk, bench.clock)
        self.timing = TimingService(*parts, worker)
        self.log = LogService(*parts, self.timing)
        self.progress = ProgressService(*parts)
        self.plans = PlanService(*parts)

    @property
    def event(self) -> int:
        self.events += 1
        return self.events

    async def keep(self, moves: str, name: str, situation: str = "", place: Any = HERE) -> SavedRoute:
        """A saved route, and where a situation is named, a conversion into it."""
        saved = await self.routes.save(place, moves, name, self.event)
        assert isinstance(saved, SavedRoute)
        if situation:
            taken = await self.conversions.take(place, saved.id, situation, self.event)
            assert isinstance(taken, SetConversion), taken
        return saved

    async def ask(self, **options: Any) -> Question:
        question = await self.quiz.ask(HERE, self.event, **options)
        assert isinstance(question, Question), question
        return question

    async def answer(self, question: Question, *, right: bool = True, seconds: float = 1) -> QuizAnswer:
        """An answer after so many seconds."""
        mine = question.conversion.route
        wrong = next(one for one in question.choices if one.id != mine.id)
        self.bench.clock.time += seconds * SECOND
        chosen = mine if right else wrong
        told = await self.quiz.answer(HERE, question.id, chosen.id, question.limit_seconds, self.event)
        assert isinstance(told, QuizAnswer), told
        return told

    async def over(self, *args: Any) -> bool:
        told = await self.quiz.answer(*args)
        return isinstance(told, ConversionRefusal) and told.code is ConversionRefusalCode.OVER

    async def tallies(self) -> list[KeptTally]:
        async with self.bench.store.read() as reading:
            return list(await tallies.listed(reading, HERE.owner, 100))

    async def step_of(self, question: Question) -> tuple[int, datetime | None]:
        async with self.bench.store.read() as reading:
            kept = await conversions.listed(reading, HERE.owner, "Saltglass")
        found = next(one for one in kept if one.id == question.conversion.id)
        return found.step, found.due_at


@pytest.fixture
async def table(tmp_path: Path) -> AsyncIterator[Table]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        yield Table(bench)


async def code_of(table: Table) -> ConversionRefusalCode:
    refused = await table.quiz.ask(HERE, table.event)
    assert isinstance(refused, ConversionRefusal)
    return refused.code


async def test_there_must_be_something_to_ask_and_to_choose_between(table: Table) -> None:
    assert await code_of(table) is ConversionRefusalCode.NO_CONVERSIONS
    await table.keep(BREAD, "bread", "hit")
    assert await code_of(table) is ConversionRefusalCode.ONE_ROUTE
    await table.keep(BREAD, "the same moves")
    await table.keep("Mirrel: 5MP, 2MP", "hers")
    assert await code_of(table) is ConversionRefusalCode.ONE_ROUTE
    await table.keep(LIFT, "lift")
    assert (await table.ask()).conversion.route.name == "bread"


async def test_a_question_offers_the_right_route_and_at_most_three_others_none_twice(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(BREAD, "bread again")
    for number, moves in enumerate((LOW, LIFT, "5LP, 2LK", "2MP, 5LK", "5MP, 2MK")):
        await table.keep(moves, f"other {number}")
    orders = set()
    for _ in range(12):
        question = await table.ask()
        names = [one.name for one in question.choices]
        assert len(question.choices) == 4
        assert len({one.notation for one in question.choices}) == 4
        assert "bread" in names
        # Those that begin with 5MP too are the likeliest to be mistaken for it.
        assert {"other 0", "other 4"} <= set(names)
        orders.add(names.index("bread"))
    assert len(orders) > 1


async def test_the_order_of_one_event_is_always_the_same(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    for number, moves in enumerate((LOW, LIFT, "5LP, 2LK")):
        await table.keep(moves, f"other {number}")
    first = await table.quiz.ask(HERE, 7)
    again = await table.quiz.ask(HERE, 7)
    assert isinstance(first, Question)
    assert again == first


async def test_asking_again_by_the_same_event_opens_nothing_new_once_it_is_answered(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift")
    question = await table.quiz.ask(HERE, 7)
    assert isinstance(question, Question)
    await table.answer(question)
    again = await table.quiz.ask(HERE, 7)
    assert isinstance(again, ConversionRefusal)
    assert again.code is ConversionRefusalCode.OVER


async def test_right_and_in_time_goes_up_slow_stays_and_wrong_goes_back(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift")
    clock = table.bench.clock
    question = await table.ask()
    told = await table.answer(question, seconds=LIMIT_SECONDS)
    assert (told.outcome, told.seconds) == (Outcome.RIGHT, LIMIT_SECONDS)
    day = clock.time + timedelta(days=BREAKS_DAYS[0])
    assert told.asked_again_at == day
    assert await table.step_of(question) == (1, day)
    clock.time = day
    slow = await table.answer(await table.ask(), seconds=LIMIT_SECONDS + 0.1)
    assert slow.outcome is Outcome.SLOW
    assert await table.step_of(question) == (1, clock.time + SLOW_BREAK)
    wrong = await table.answer(await table.ask(), right=False)
    assert (wrong.outcome, wrong.chosen and wrong.chosen.name) == (Outcome.WRONG, "lift")
    assert await table.step_of(question) == (0, clock.time + WRONG_BREAK)


async def test_more_seconds_may_be_asked_for_within_bounds(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift")
    assert (await table.answer(await table.ask(limit_seconds=15), seconds=14)).outcome is Outcome.RIGHT
    assert (await table.ask(limit_seconds=900)).limit_seconds == 15
    assert (await table.ask(limit_seconds=0)).limit_seconds == 2


async def test_what_was_answered_wrong_comes_before_what_was_right(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift", "hit")
    right = await table.ask()
    await table.answer(right)
    wrong = await table.ask()
    assert wrong.conversion.id != right.conversion.id
    await table.answer(wrong, right=False)
    again = await table.ask()
    assert again.conversion.id == wrong.conversion.id
    assert again.ahead
    table.bench.clock.time += WRONG_BREAK
    assert not (await table.ask()).ahead


async def test_each_question_takes_one_answer_of_its_own_member(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift")
    old, question = await table.ask(), await table.ask()
    mine = question.conversion.route.id
    assert await table.over(HERE, old.id, mine, 3, table.event)
    assert await table.over(OTHER, question.id, mine, 3, table.event)
    assert await table.over(HERE, question.id, mine + 1000, 3, table.event)
    assert await table.tallies() == []
    await table.answer(question)
    assert await table.over(HERE, question.id, mine, 3, table.event)
    assert len(await table.tallies()) == 1


async def test_the_same_event_answers_once(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LIFT, "lift")
    question = await table.ask()
    await table.quiz.answer(HERE, question.id, question.conversion.route.id, 3, 5000)
    after = await table.step_of(question)
    assert await table.over(HERE, question.id, question.conversion.route.id, 3, 5000)
    assert (await table.step_of(question), len(await table.tallies())) == (after, 1)


async def test_a_route_that_does_not_work_any_more_is_not_asked_about(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    await table.keep(LOW, "low")
    await table.routes.save(HERE, LIFT, "bread", table.event)
    assert await code_of(table) is ConversionRefusalCode.NONE_WORKS
    await table.keep(LOW, "low", "hit")
    assert (await table.ask()).conversion.route.name == "low"


async def test_forgetting_a_route_ends_the_question_that_offers_it(table: Table) -> None:
    await table.keep(BREAD, "bread", "hit")
    lift = await table.keep(LIFT, "lift")
    question = await table.ask()
    await table.routes.forget(HERE, "lift", table.event)
    assert await table.over(HERE, question.id, lift.id, 3, table.event)


# Choosing is no practice of the hands.


async def chosen(table: Table) -> QuizAnswer:
    """One right answer, and nothing else in the log."""
    await table.keep(BREAD, "bread", "counter hit")
    await table.keep(LIFT, "lift")
    return await table.answer(await table.ask())


async def test_an_answer_is_logged_as_a_choice_on_reaction(table: Table) -> None:
    told = await chosen(table)
    await table.answer(await table.ask(), right=False)
    await table.answer(await table.ask(), seconds=10)
    made = [kept.tally for kept in reversed(await table.tallies())]
    assert [(tally.tries, tally.landed) for tally in made] == [(1, 1), (1, 0), (1, 0)]
    about = made[0].subject
    assert (about.kind, about.character, about.what) == (SubjectKind.CHOICE, ODRUN, "5MP, counter hit")
    assert {tally.context for tally in made} == {Context.REACTION}
    assert told.subject_id


async def test_choosing_is_not_in_the_timing_nor_the_plan(table: Table) -> None:
    await chosen(table)
    timing = await table.timing.of(HERE, None)
    assert isinstance(timing, PracticeRefusal)
    assert timing.code is PracticeRefusalCode.NO_LINKS
    assert (await table.timing.hands(HERE)).tries == 0
    plan = await table.plans.of(HERE, 20)
    assert isinstance(plan, PracticeRefusal)
    assert plan.code is PracticeRefusalCode.NO_ROUTE


async def test_choosing_uses_up_none_of_the_days_reps(table: Table) -> None:
    await chosen(table)
    before = await planned(table)
    async with table.bench.store.write() as writing:
        choice = (await table.tallies())[0].tally
        for _ in range(400):
            await tallies.add(writing, HERE.owner, choice, None, NOW)
    assert await planned(table) == before
    async with table.bench.store.read() as reading:
        assert await tallies.tries_since(reading, HERE.owner, NOW - timedelta(days=1)) == 0


async def planned(table: Table) -> PlannedSession:
    plan = await table.plans.of(HERE, 20, "5MP, 2MP")
    assert isinstance(plan, PlannedSession)
    return plan


async def test_however_much_is_chosen_the_plan_still_knows_what_the_hands_did(table: Table) -> None:
    await table.bench.log(Tally(link("5MP, 2MP"), NOW - timedelta(days=3), 10, 7))
    await chosen(table)
    async with table.bench.store.write() as writing:
        choice = (await table.tallies())[0].tally
        await tallies.add_all(writing, HERE.owner, [choice] * 600, NOW)
    plan = await table.plans.of(HERE, 20)
    assert isinstance(plan, PlannedSession)
    assert plan.subject.what == "5MP, 2MP"


async def test_the_overview_lists_choosing_by_itself_and_counts_its_days(table: Table) -> None:
    await table.bench.log(Tally(link("5MP, 2MP"), NOW - timedelta(days=1), 10, 7))
    alone = await overview(table)
    await chosen(table)
    both = await overview(table)
    assert [one.subject.what for one in both.practised] == ["5MP, 2MP"]
    assert [(one.subject.what, one.tries) for one in both.choosing] == [("5MP, counter hit", 1)]
    assert (both.tries, both.points, both.beside) == (alone.tries, alone.points, alone.beside)
    assert (alone.days.total, both.days.total) == (1, 2)


async def test_an_overview_of_choosing_alone_has_nothing_of_the_hands(table: Table) -> None:
    await chosen(table)
    found = await table.progress.of(HERE, None, "in 3 weeks")
    assert isinstance(found, Overview)
    assert (found.practised, found.points, found.tries) == ((), (), 0)


async def overview(table: Table) -> Overview:
    found = await table.progress.of(HERE, None)
    assert isinstance(found, Overview)
    return found


async def test_a_choice_in_the_log_can_be_taken_out_and_put_back_and_nothing_else(table: Table) -> None:
    await chosen(table)
    (kept,) = await table.tallies()
    for refused in (
        await table.log.again(HERE, kept.id, True, table.event),
        await table.log.change(HERE, kept.id, Entry("", "9/9"), table.event),
        await table.log.entry_of(HERE, kept.id),
        await table.log.typed(HERE, kept.subject_id),
    ):
        assert isinstance(refused, LogRefusal)
        assert refused.code is LogRefusalCode.CHOICE
    assert await table.tallies() == [kept]
    assert isinstance(await table.log.undo(HERE, kept.id, table.event), Undone)
    assert await table.tallies() == []
    assert isinstance(await table.log.put_back(HERE, kept.id, table.event), PutBack)


async def test_choosing_has_no_moves_of_its_own(table: Table) -> None:
    await chosen(table)
    (kept,) = await table.tallies()
    assert found_of(table.bench.desk, 1, kept.tally.subject) is None


async def test_a_choice_is_not_offered_to_be_logged(table: Table) -> None:
    await chosen(table)
    offered = await table.log.complete_what(HERE, "")
    assert offered == ("bread", "lift")
    refused = await table.log.log(HERE, Entry("5MP, counter hit", "7/10"), table.event)
    assert isinstance(refused, LogRefusal)


async def test_a_choice_is_no_small_win_of_the_hands(table: Table) -> None:
    await chosen(table)
    logged = await table.log.log(HERE, Entry("5MP, 2MP", "0/10"), table.event)
    assert isinstance(logged, Logged)
    assert logged.wins == ()
    assert (logged.total_tries, logged.total_landed) == (10, 0)
    timing = await table.timing.of(HERE, None)
    assert isinstance(timing, AllTiming)
    assert timing.tries == 10


async def test_the_export_says_what_it_is(table: Table) -> None:
    await chosen(table)
    whole = await PrivacyService(table.bench.store, table.bench.book).export(HERE)
    assert b'"kind": "choice"' in as_json(whole, NOW)
    assert b",choice," in as_csv(whole)
