"""What an export holds of coaches, students and homework."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from coached import COACH, MONDAY, WREN, School, school_at

from bot.render.card import as_text
from bot.render.export import as_json
from bot.render.privacy import what_is_kept_card
from bot.results.coaching import TargetKind
from bot.results.place import Place
from core.learning.homework import Step


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        coaching = await school.coached()
        kept = await school.given(target=TargetKind.RATE, amount=30, rate=90, note="slow first")
        await school.homework.hand_in(WREN, kept.id, "done", "https://clips.example/a", school.event())
        await school.reviews.comment(COACH, kept.id, "0:42", "late here", school.event())
        await school.reviews.review(COACH, kept.id, Step.ACCEPT, "well done", school.event())
        await school.boards.note(COACH, coaching.id, "shy", school.event())
        yield school


async def exported(school: School, place: Place) -> dict[str, Any]:
    read = json.loads(as_json(await school.privacy.export(place), MONDAY))
    assert isinstance(read, dict)
    return read


async def test_a_student_gets_their_homework_with_what_was_said_of_it(school: School) -> None:
    read = await exported(school, WREN)
    (homework,) = read["homework"]
    assert homework["target"] == {"rate": 0.9, "tries": 30}
    assert datetime.fromisoformat(homework["due_at"]) > MONDAY + timedelta(days=3)
    assert (homework["what"], homework["stage"], homework["coach"]) == ("5MP, 2MP", "accepted", 900)
    assert (homework["note"], homework["hand_in_note"], homework["clip"], homework["review_note"]) == (
        "slow first",
        "done",
        "https://clips.example/a",
        "well done",
    )
    assert [(said["at_seconds"], said["text"]) for said in homework["comments"]] == [(42, "late here")]
    assert [(one["coach"], one["student"]) for one in read["coachings"]] == [(900, WREN.member_id)]
    assert (read["homework_for_students"], read["notes_on_students"]) == ([], [])
    assert "shy" not in json.dumps(read), "the coach's notes are the coach's"


async def test_a_coach_gets_what_they_set_and_noted_and_not_what_students_wrote(school: School) -> None:
    read = await exported(school, COACH)
    assert read["homework"] == []
    (given,) = read["homework_for_students"]
    assert (given["student"], given["note"], given["review_note"]) == (
        WREN.member_id,
        "slow first",
        "well done",
    )
    (note,) = read["notes_on_students"]
    assert (note["student"], note["text"]) == (WREN.member_id, "shy")
    assert "clips.example" not in json.dumps(read)


async def test_the_list_of_what_is_kept_names_homework_where_there_is_any(school: School) -> None:
    line = "Your homework, your coaches and students"
    assert line in as_text(what_is_kept_card(await school.privacy.export(WREN)))
    stranger = Place(1, 10, 555)
    assert line not in as_text(what_is_kept_card(await school.privacy.export(stranger)))
