"""What the cards of a group drill say, and what they never say."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from demo import demo

from bot.render.card import as_text
from bot.render.drill_desk import drill_refusal_card
from bot.render.drill_recap import recap_card
from bot.render.drills import post_card
from bot.results.drills import (
    DrillBoard,
    DrillEnd,
    DrillPlan,
    DrillRefusal,
    DrillRefusalCode,
    DrillStage,
    KeptDrill,
)
from bot.results.tally import Subject, SubjectKind
from core.drills.drill import Drill, Scored, Scoring
from core.drills.recap import recap
from core.drills.standings import standings
from core.learning.tally import Context, Tally
from core.verdict import Facts

GAME = demo("saltglass")
OPENS = datetime(2026, 3, 2, 18, tzinfo=UTC)
CLOSES = OPENS + timedelta(days=7)
SUBJECT = Subject(GAME.name, "", SubjectKind.DRILL, "dash blocks")
NAMES = {number: f"Member{number}" for number in range(1, 30)}


def board_of(
    landed: Mapping[int, int],
    listed: Collection[int],
    scoring: Scoring = Scoring.BEST_TALLY,
    stage: DrillStage = DrillStage.OPEN,
) -> tuple[DrillBoard, list[Scored]]:
    """A drill in which each of these members landed so many of twenty, one an hour."""
    plan = DrillPlan(SUBJECT, scoring, 10, 50)
    kept = KeptDrill(1, 1, plan, True, 1, OPENS, CLOSES, stage)
    tallies = [
        Scored(member, Tally(OPENS + timedelta(hours=hour), SUBJECT.what, 20, count, Context.TRAINING))
        for hour, (member, count) in enumerate(landed.items())
    ]
    drill = Drill(SUBJECT.what, scoring, OPENS, CLOSES, UTC, 10, 50)
    found = standings(drill, tallies, {}, listed)
    return DrillBoard(kept, found, len(landed), ZoneInfo("UTC"), GAME.version), tallies


def end_of(landed: Mapping[int, int], listed: Collection[int], late: bool = False) -> DrillEnd:
    board, tallies = board_of(landed, listed, stage=DrillStage.CLOSED)
    return DrillEnd(board, recap(board.standings, tallies, {}), None, late)


def test_a_post_names_ten_and_counts_the_others() -> None:
    board, _ = board_of({number: number for number in range(1, 15)}, range(1, 15))
    said = as_text(post_card(board, NAMES))
    assert "1. Member14: 14 of 20" in said
    assert "10. Member5: 5 of 20" in said
    assert "Member4" not in said
    assert "4 more take part." in said


def test_who_has_no_place_yet_is_counted_and_not_named() -> None:
    board, _ = board_of({1: 9, 2: 0}, [1, 2])
    said = as_text(post_card(board, NAMES))
    assert "Member2" not in said
    assert "1 more takes part." in said


def test_equal_scores_share_a_place() -> None:
    board, _ = board_of({1: 9, 2: 9, 3: 5}, [1, 2, 3])
    said = as_text(post_card(board, NAMES))
    assert "1. Member1: 9 of 20" in said
    assert "1. Member2: 9 of 20" in said
    assert "3. Member3: 5 of 20" in said


def test_who_left_the_server_keeps_the_place_without_a_name() -> None:
    board, _ = board_of({99: 9}, [99])
    assert "1. someone who left: 9 of 20" in as_text(post_card(board, NAMES))


def test_a_drill_that_was_called_off_says_so_and_shows_no_standings() -> None:
    board, _ = board_of({1: 9}, [1], stage=DrillStage.CANCELLED)
    said = as_text(post_card(board, NAMES))
    assert "was called off" in said
    assert "Member1" not in said


def test_a_recap_names_who_won_and_the_reps_of_all() -> None:
    said = as_text(recap_card(end_of({1: 15, 2: 5}, [1]), NAMES))
    assert said.startswith("dash blocks is over: Member1 won it.")
    assert "20 reps landed in 40 tries, by 2 members." in said
    assert "Member2" not in said


def test_two_who_won_share_it() -> None:
    said = as_text(recap_card(end_of({1: 15, 2: 15}, [1, 2]), NAMES))
    assert said.startswith("dash blocks is over: Member1 and Member2 shared it.")


def test_a_recap_names_nobody_for_landing_nothing() -> None:
    said = as_text(recap_card(end_of({1: 15, 2: 0}, [1, 2]), NAMES))
    standing = said[: said.index("Who gained?")]
    assert "Member2" not in standing


def test_a_late_recap_says_that_it_is() -> None:
    assert "I was away when it ended" in as_text(recap_card(end_of({1: 5}, [1], late=True), NAMES))
    assert "I was away" not in as_text(recap_card(end_of({1: 5}, [1]), NAMES))


def test_a_drill_on_which_nobody_logged_ends_without_reproach() -> None:
    said = as_text(recap_card(end_of({}, []), NAMES))
    assert "the next one is a new chance" in said
    assert "Where did we end up?" not in said


@pytest.mark.parametrize("scoring", list(Scoring))
def test_each_scoring_is_told_in_a_sentence(scoring: Scoring) -> None:
    board, _ = board_of({1: 12}, [1], scoring)
    said = as_text(post_card(board, NAMES))
    counts = said[said.index("What counts?") : said.index("Where do we stand?")]
    assert len(counts.splitlines()) >= 3
    assert "{" not in said


@pytest.mark.parametrize("code", list(DrillRefusalCode))
def test_each_refusal_is_one_clear_sentence(code: DrillRefusalCode) -> None:
    said = {"stage": "closed", "field": "goal", "typed": "x", "what": "y", "channel": "talk", "weekday": 9}
    numbers = {"closes": 0, "days": 99, "most": 31, "number": 0, "least": 1, "run": 3}
    facts = Facts(**said, **numbers)
    card = drill_refusal_card(DrillRefusal(code, facts), GAME)
    assert card.lead.endswith(".")
    assert "{" not in card.lead
    assert not card.groups
