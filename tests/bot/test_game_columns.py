"""What the columns of a sheet are taken for, as a moderator reads it and says otherwise."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from gamed import MARLOW, ODRUN, Office, office_at, refusal, seen, sheet

from bot.results.games import GameRefusalCode
from bot.services.game_columns import BadLine, column_lines, read_columns


@pytest.fixture
async def office(tmp_path: Path) -> AsyncIterator[Office]:
    async with office_at(tmp_path) as office:
        yield office


async def test_columns_can_be_chosen_where_the_guess_is_wrong(office: Office) -> None:
    moves = office.game().characters[0].moves
    rows = [f"{move.input},move {number},7" for number, move in enumerate(moves)]
    named = sheet("input,name,Wait", *rows)
    shown = seen(await office.take(named, character=ODRUN))
    assert {one.header: one.column for one in shown.columns}["Wait"] is None
    guesses = await office.uploads.guesses(MARLOW, shown.upload_id)
    assert guesses == shown.columns
    lines = column_lines(shown.columns)
    assert "Wait = leave out" in lines
    text = lines.replace("Wait = leave out", "wait = Startup")
    again = seen(await office.uploads.columns(MARLOW, shown.upload_id, text))
    assert {one.header: one.column for one in again.columns}["Wait"] == "startup"
    assert await office.uploads.guesses(MARLOW, shown.upload_id) == again.columns
    kept = seen(await office.uploads.preview(MARLOW, shown.upload_id))
    assert kept == again, "and it stays so"


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("Wait startup", GameRefusalCode.BAD_COLUMN_LINE),
        ("Wait =", GameRefusalCode.BAD_COLUMN_LINE),
        ("= startup", GameRefusalCode.BAD_COLUMN_LINE),
        ("Weit = startup", GameRefusalCode.NO_SUCH_HEADER),
        ("Wait = begin", GameRefusalCode.NO_SUCH_COLUMN),
    ],
)
async def test_a_line_that_cannot_be_read_is_refused_and_nothing_is_changed(
    office: Office, line: str, code: GameRefusalCode
) -> None:
    shown = seen(await office.take(sheet("input,name,Wait", "5MP,lamp swing,6"), character=ODRUN))
    refused = await office.uploads.columns(MARLOW, shown.upload_id, f"input = input\n{line}")
    assert refusal(refused) is code
    after = seen(await office.uploads.preview(MARLOW, shown.upload_id))
    assert after.columns == shown.columns


def test_a_header_may_hold_an_equals_sign_and_blank_lines_are_nothing() -> None:
    assert read_columns("a = b = startup\n \n", ["a = b"]) == {"a = b": "startup"}
    wrong = read_columns("\nStart = startup", ["Start-up"])
    assert isinstance(wrong, BadLine)
    assert {**wrong.facts} == {"typed": "Start", "near": "Start-up"}
