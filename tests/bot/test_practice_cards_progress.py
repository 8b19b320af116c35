"""What a member reads of their progress and their plan, and of what is kept of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import pytest
from demo import demo

from bot.render.card import as_text
from bot.render.limits import LINE_CHARACTERS, fit_card
from bot.render.plan import mixed_words, plan_card
from bot.render.privacy import confirm_erase_card, erased_card, export_card, what_is_kept_card
from bot.render.progress import goal_card, overview_card, practice_refusal_card, subject_card
from bot.render.reps import next_words
from bot.render.wording import say
from bot.results.practice import (
    Overview,
    PlannedSession,
    PracticeRefusal,
    PracticeRefusalCode,
    Practised,
    SubjectProgress,
    WeekPoint,
)
from bot.results.tally import (
    Controller,
    Everything,
    JoinedDrill,
    KeptConversion,
    KeptTally,
    MemberSettings,
    SavedRoute,
    Setup,
    SharedRoute,
    Side,
    Subject,
    SubjectKind,
)
from bot.results.tally import Tally as LoggedTally
from core.learning.calendar import Row, Standing, Week
from core.learning.contexts import Gap, GapCode, by_context, training_to_match
from core.learning.owned import ownership
from core.learning.plan import BlockKind, Homework, Note, Plan, Skill, plan
from core.learning.rates import TooFew, measure, tell
from core.learning.recency import recent_rate
from core.learning.spacing import NextPractice, When
from core.learning.tally import Context, Tally
from core.verdict import Facts

GAME = demo("saltglass")
WHO = GAME.characters[0].name
NOW = datetime(2026, 1, 20, 19, tzinfo=UTC)
TODAY = NOW.date()
LINK = Subject(GAME.name, WHO, SubjectKind.LINK, "5MP, 2MP")
ROUTE = Subject(GAME.name, WHO, SubjectKind.ROUTE, "5MP, 2MP xx 236LP")
DRILL = Subject(GAME.name, "", SubjectKind.DRILL, "dash blocks")
BREAD = SavedRoute(1, GAME.name, GAME.version, WHO, "bread", "5MP, 2MP", NOW)
HANDS = "Stop on pain or numbness, and see a doctor or hand therapist if it stays."


def tallies(landed: int, tries: int, context: Context = Context.TRAINING, count: int = 1) -> list[Tally]:
    return [Tally(NOW - timedelta(days=3 * n), "1", tries, landed, context) for n in range(count)]


def progress(
    made: Sequence[Tally],
    goal: float = 0.8,
    subject: Subject = LINK,
    points: tuple[WeekPoint, ...] = (),
    gap: Gap | None = None,
    next_: NextPractice | None = None,
) -> str:
    recent = recent_rate(made, NOW)
    counted = tell(sum(one.landed for one in made), sum(one.tries for one in made))
    return as_text(
        subject_card(
            SubjectProgress(
                GAME,
                subject,
                1,
                by_context(made),
                recent,
                ownership(counted, goal),
                gap or training_to_match(made),
                points,
                len(made),
                TODAY,
                next_,
            )
        )
    )


def test_rates_are_counts_with_a_share_by_context_and_no_interval() -> None:
    told = progress(tallies(8, 10, count=5) + tallies(3, 7, Context.SPARRING))
    assert "  Training: 40 of 50 (80 %).\n" in told
    assert "  Sparring: 3 of 7, too few tries to tell.\n" in told
    assert "Ranked" not in told
    assert "between" not in told


def test_what_is_owned_says_so_and_what_is_not_says_what_it_takes() -> None:
    assert progress(tallies(10, 10, count=6)).startswith("5MP, 2MP is yours: it surely lands more often")
    close = progress(tallies(10, 10))
    clean = ownership(measure(10, 10), 0.8).clean_more
    assert close.startswith(
        f"5MP, 2MP is not yours yet: another {clean} tries without a drop would make it so."
    )
    far = progress(tallies(6, 10, count=5))
    assert re.match(
        r"5MP, 2MP is not yours yet: it lands about 60 % of the time, and your goal is 80 %\.", far
    )
    assert "it takes fewer drops" in far
    assert "that land as often as now" in progress(tallies(9, 10, count=2))


def test_too_few_tries_are_told_as_such() -> None:
    told = progress(tallies(2, 4))
    assert told.startswith("There are too few tries to tell how 5MP, 2MP goes: 4 so far, and 10 are enough.")
    assert "%" not in told


@pytest.mark.parametrize("code", GapCode)
def test_training_beside_matches_has_a_sentence_for_every_case(code: GapCode) -> None:
    known = measure(40, 50), measure(4, 12)
    gap = Gap(code, known[0], TooFew(1, 3) if code is GapCode.TOO_FEW_IN_MATCHES else known[1])
    assert "Does it carry over into matches?\n  " in progress(tallies(8, 10, count=5), gap=gap)


def test_a_real_drop_in_matches_brings_plain_advice_and_a_chance_one_does_not() -> None:
    training = tallies(9, 10, count=5)
    real = progress(training + tallies(4, 12, Context.RANKED))
    assert "45 of 50 (90 %) in training and 4 of 12 (33 %) in matches" in real
    assert "reaction drills, then sparring" in real
    chance = progress(training + tallies(10, 12, Context.RANKED))
    assert "do not differ by more than chance" in chance
    assert "reaction drills, then" not in chance


def test_the_last_weeks_are_told_where_there_are_two() -> None:
    points = tuple(WeekPoint(Week(2026, n), False, 20, 10 + n, 0.1, 0.9) for n in (1, 2, 3, 4))
    told = progress(tallies(8, 10), points=points)
    assert "Week of 19 Jan 2026: 14 of 20 (70 %) in training." in told
    assert told.count("Week of") == 3
    assert "Week of" not in progress(tallies(8, 10), points=points[:1])


@pytest.mark.parametrize("code", When)
def test_the_next_practice_has_a_sentence_for_every_case(code: When) -> None:
    day = None if code is When.OVER else date(2026, 1, 24)
    told = progress(tallies(8, 10), next_=NextPractice(code, day, 21))
    assert f"When next?\n  {next_words(NextPractice(code, day, 21))}" in told


@pytest.mark.parametrize("subject", [LINK, ROUTE, DRILL])
def test_every_kind_of_subject_has_a_card(subject: Subject) -> None:
    # Choosing has no card of its own: it is a group of the overview.
    assert {LINK.kind, ROUTE.kind, DRILL.kind, SubjectKind.CHOICE} == set(SubjectKind)
    assert progress(tallies(8, 10), subject=subject).startswith(subject.what)


ROW = Row(1, 2, 9, Standing.KEPT)


def overview(*practised: Practised, days: Row = ROW) -> str:
    weeks = Row(0, 4, 9, Standing.RESTING)
    return as_text(overview_card(Overview(GAME, practised, days, weeks, 166, (), 0.8)))


WEAK = Practised(LINK, 1, 120, measure(60, 120), False, 3, TODAY)
OWNED = Practised(ROUTE, 2, 40, measure(39, 40), True, 0, TODAY)
NEW = Practised(DRILL, 3, 6, TooFew(2, 6), False, 0, TODAY)


def test_the_overview_says_how_much_is_owned_the_weakest_and_the_untried() -> None:
    told = overview(WEAK, OWNED, NEW)
    assert told.startswith("1 of the 3 things you practise is yours.")
    assert "5MP, 2MP: lands about 50 %; last on 20 Jan 2026." in told
    assert "dash blocks: too few tries to tell (6 tries)" in told
    assert "5MP, 2MP lands least often of late: begin the next session with it." in told
    assert "has not been tried in a match: go for it three times; landing is not the goal." in told
    assert overview(OWNED).startswith("The one thing you practise is yours.")
    assert overview(WEAK, NEW).startswith("Nothing is yours yet of the 2 things")


@pytest.mark.parametrize("standing", Standing)
@pytest.mark.parametrize("now", [1, 5])
def test_a_row_of_days_never_blames(standing: Standing, now: int) -> None:
    row = Row(0 if standing is Standing.RESTING else now, 8, 23, standing)
    told = overview(WEAK, days=row)
    assert "8 days" in told
    assert not re.search(r"\b(lost|missed|broke|broken|only|failed|sorry|0 days)\b", told)


def test_the_goal_is_told_in_percent() -> None:
    assert goal_card(GAME, 0.85).lead.startswith("Your goal is 85 %:")


@pytest.mark.parametrize("code", PracticeRefusalCode)
def test_every_refusal_says_what_would_be_right(code: PracticeRefusalCode) -> None:
    card = practice_refusal_card(
        PracticeRefusal(GAME, code, Facts(typed="someday", what="5MP, 2MP", near="Europe/Paris"))
    )
    assert card.lead.endswith(".")
    assert len(card.lead) > 25


LINKS = (Skill("5MP, 2MP", 30, 50), Skill("2MP xx 236LP", 40, 44))
DUE = (Homework("2MP, 5LP", 30, date(2026, 1, 25)),)


def planned(made: Plan, minutes: int = 20, next_: NextPractice | None = None) -> str:
    card = plan_card(PlannedSession(GAME, ROUTE, minutes, made, "5MP, 2MP", next_))
    assert fit_card(card) == card
    return as_text(card)


def test_a_session_begins_with_the_weakest_link_and_ends_in_matches() -> None:
    told = planned(plan(20, ROUTE.what, LINKS))
    assert told.startswith("20 minutes on 5MP, 2MP xx 236LP: begin slowly with 5MP, 2MP, and at the end go")
    blocks = told.split("What do I do?\n")[1].split("\n\n")[0].splitlines()
    assert "of 5MP, 2MP alone, your weakest link" in blocks[0]
    assert blocks[-1].endswith("In matches, 3 times: go for 5MP, 2MP xx 236LP; landing is not the goal.")
    assert "  Break of 1 minute: hands off, shake them out." in blocks


@pytest.mark.parametrize("minutes", [1, 5, 20, 60, 90])
@pytest.mark.parametrize("reps_today", [0, 150, 198, 200])
@pytest.mark.parametrize("homework", [(), DUE])
def test_every_plan_fits_and_warns_about_the_hands(
    minutes: int, reps_today: int, homework: tuple[Homework, ...]
) -> None:
    made = plan(minutes, ROUTE.what, LINKS, ("2HP, 5MP", "2HP, 2MP"), homework, reps_today)
    told = planned(made, minutes)
    assert told.count(HANDS) == 1
    assert all(len(line) <= LINE_CHARACTERS for line in told.splitlines())
    assert told.count("Break of") == sum(block.kind is BlockKind.BREAK for block in made.blocks)


def test_a_day_with_its_reps_done_is_a_day_of_rest() -> None:
    told = planned(plan(20, ROUTE.what, LINKS, reps_today=200))
    assert told.startswith("Rest today:")
    assert "200 reps, which is enough for one day" in told
    assert HANDS in told


@pytest.mark.parametrize("kind", BlockKind)
def test_every_kind_of_block_has_its_words(kind: BlockKind) -> None:
    made = [plan(60, ROUTE.what, LINKS, homework=DUE), plan(60, ROUTE.what, LINKS)]
    assert kind in {block.kind for one in made for block in one.blocks}
    assert say("plan-first", kind.value, name="5MP, 2MP")
    for one in made:
        assert "{" not in planned(one)


@pytest.mark.parametrize("note", Note)
def test_every_note_has_its_words(note: Note) -> None:
    assert say("plan-notes", note.value, cap=200).endswith(".")


def test_mixed_order_is_told_by_rounds_and_not_rep_by_rep() -> None:
    names = ("a", "b", "the route")
    order = tuple(names[(rep + rep // 3) % 3] for rep in range(40))
    told = mixed_words(order, "the route")
    assert told == (
        "(a), (b), (all of it); then (b), (all of it), (a); and on like that, each round beginning one later"
    )
    assert mixed_words(("a", "b") * 9, "c") == "a and b by turns"
    assert mixed_words(("a", "b", "c"), "c") == "(a), (b), (all of it)"
    assert len(mixed_words(tuple("x" * 60 + str(n % 5) for n in range(30)), "")) < LINE_CHARACTERS


def test_what_is_kept_names_every_choice_and_who_sees_it() -> None:
    setup = Setup(Side.LEFT, Controller.PAD, "simple")
    tally = KeptTally(1, 1, LoggedTally(DRILL, NOW, 1, 1))
    kept = Everything((tally,), (BREAD, BREAD), MemberSettings(WHO, 0.8, setup))
    told = as_text(what_is_kept_card(kept))
    assert told.startswith("Kept of you here: 1 tally, 2 routes, and what you chose; only you see them.")
    for said in ("Odrun Vale", "80 %", "facing left, on pad, simple controls", "You alone"):
        assert said in told
    assert "Nothing yet." in as_text(what_is_kept_card(Everything()))
    assert "conversion" not in told


def test_what_others_see_and_what_is_on_the_sheet_is_told_where_there_is_any() -> None:
    shared = SharedRoute(1, "Saltglass", "1.2", WHO, "bread", "5MP, 2MP", (), 100, NOW)
    conversion = KeptConversion(1, "Saltglass", WHO, "5MP", "on hit", BREAD)
    words = Subject("Saltglass", "", SubjectKind.DRILL, "block ten")
    joined = JoinedDrill(1, words, NOW, NOW, NOW, left=False)
    kept = Everything(shared=(shared,), conversions=(conversion,), drills=(joined,))
    told = as_text(what_is_kept_card(kept))
    assert "Your part in 1 drill." in told
    assert "only you see them, but for what you shared." in told
    assert "1 route that you shared with the server" in told
    assert "1 conversion on your sheet" in told


def test_erasing_is_asked_first_and_told_after() -> None:
    assert confirm_erase_card(120).lead.startswith("This erases 120 tallies, your routes and your choices")
    assert "cannot be undone" in confirm_erase_card(120).lead
    assert "shared" not in as_text(confirm_erase_card(120))
    unshared = as_text(confirm_erase_card(120, 2))
    assert "2 routes that you shared with the server will be taken out there too" in unshared
    assert "copies that others saved stay theirs" in unshared
    assert erased_card(120).lead.startswith("Erased: 120 tallies")
    assert "no tallies" in erased_card(0).lead
    assert "1 tally" in export_card(1).lead
