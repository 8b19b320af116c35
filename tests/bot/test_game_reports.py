"""Numbers that members say are wrong: reported, accepted as a new version, or left as they are."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path

import pytest
from gamed import (
    DIRECT,
    ELSEWHERE,
    MARLOW,
    MONDAY,
    ODRUN,
    OTHER_MOD,
    WREN,
    Office,
    changed,
    office_at,
    refusal,
    reported,
    seen,
    toml,
)

from bot.render.card import as_text
from bot.render.export import as_json
from bot.render.privacy import what_is_kept_card
from bot.results.audit import Deed
from bot.results.games import GameRefusal, GameRefusalCode, Report, ReportStage
from bot.services import game_reports
from bot.storage import audit, editions, reports


@pytest.fixture
async def office(tmp_path: Path) -> AsyncIterator[Office]:
    async with office_at(tmp_path) as office:
        yield office


async def waiting(office: Office) -> list[Report]:
    return list((await office.reports.open_ones(MARLOW)).reports)


async def test_a_report_says_what_stands_there_and_what_is_right(office: Office) -> None:
    made = reported(await office.tell("5", note="  since  the patch "))
    assert made == Report(
        made.id,
        WREN.owner,
        "Saltglass",
        office.game().version,
        ODRUN,
        "5MP",
        "startup",
        "6",
        "5",
        "since the patch",
        MONDAY,
        ReportStage.OPEN,
    )
    assert await waiting(office) == [made]
    assert office.move().startup_frames == 6, "nothing is changed by a report"
    assert await office.deeds() == []


async def test_an_accepted_report_is_a_new_version_and_who_reported_it_is_told(office: Office) -> None:
    made = reported(await office.tell("5", note="from a clip of mine"))
    done = changed(await office.reports.accept(MARLOW, made.id, office.event()))
    assert office.move().startup_frames == 5
    assert (done.edition.made_by, done.edition.reason) == (
        MARLOW.member_id,
        "Odrun Vale 5MP startup 6 → 5",
    )
    assert await waiting(office) == []
    assert await office.notices() == [("report-decided", made.id)]
    decided = await office.reports.decided(made.id)
    assert decided == replace(made, stage=ReportStage.ACCEPTED)
    (deed,) = await office.deeds()
    assert (deed.made_by, deed.deed) == (MARLOW.member_id, Deed.REPORT_ACCEPTED)
    assert "clip" not in deed.what + done.edition.reason, "a note is its member's, and goes with them"


async def test_a_dismissed_report_changes_nothing_and_who_reported_it_is_told(office: Office) -> None:
    made = reported(await office.tell("5"))
    left = reported(await office.reports.dismiss(MARLOW, made.id, office.event()))
    assert left == replace(made, stage=ReportStage.DISMISSED)
    assert (await waiting(office), await office.rows()) == ([], [])
    assert await office.notices() == [("report-decided", made.id)]
    assert await office.reports.decided(made.id) == left
    assert [deed.deed for deed in await office.deeds()] == [Deed.REPORT_DISMISSED]


async def test_nobody_is_told_what_they_decided_themselves(office: Office) -> None:
    made = reported(await office.tell("5", place=MARLOW))
    changed(await office.reports.accept(MARLOW, made.id, office.event()))
    assert await office.notices() == []


async def test_a_report_that_waits_is_not_told_as_decided(office: Office) -> None:
    made = reported(await office.tell("5"))
    assert await office.reports.decided(made.id) is None
    assert await office.reports.decided(999) is None


async def test_what_cannot_be_is_refused_as_an_edit_is(office: Office) -> None:
    assert refusal(await office.tell("6")) is GameRefusalCode.SAME_NUMBER
    assert refusal(await office.tell("soon")) is GameRefusalCode.WRONG_NUMBER
    assert refusal(await office.tell(column="colour")) is GameRefusalCode.NO_SUCH_COLUMN
    assert refusal(await office.tell(move="5ZZ")) is GameRefusalCode.NO_SUCH_MOVE
    assert refusal(await office.tell(note="x" * 201)) is GameRefusalCode.TEXT_TOO_LONG
    for place in (DIRECT, replace(WREN, direct=True)):
        assert refusal(await office.tell(place=place)) is GameRefusalCode.NO_SERVER
    assert await office.rows("report") == []


async def test_a_member_has_five_reports_that_wait_and_no_more(office: Office) -> None:
    made = [reported(await office.tell(str(number))) for number in (5, 7, 8, 9, 10)]
    assert len(made) == game_reports.MOST_OPEN
    assert refusal(await office.tell("11")) is GameRefusalCode.TOO_MANY_REPORTS
    reported(await office.tell("11", place=replace(WREN, member_id=101)))
    reported(await office.reports.dismiss(MARLOW, made[0].id, office.event()))
    reported(await office.tell("11"))


async def test_the_same_report_twice_is_one(office: Office) -> None:
    first = reported(await office.tell("5", note="a"))
    assert reported(await office.tell("5", note="b")) == first
    event = office.event()
    once, again = [
        reported(await office.reports.report(WREN, "5MP", "damage", "650", "", "Odrun", event))
        for _ in range(2)
    ]
    assert once == again
    assert len(await office.rows("report")) == 2


async def test_the_same_press_twice_decides_once(office: Office) -> None:
    one, other = reported(await office.tell("5")), reported(await office.tell("650", column="damage"))
    event = office.event()
    done, again = [changed(await office.reports.accept(MARLOW, one.id, event)) for _ in range(2)]
    assert (again.edition, again.game, again.again) == (done.edition, done.game, True)
    event = office.event()
    left, same = [reported(await office.reports.dismiss(MARLOW, other.id, event)) for _ in range(2)]
    assert left == same
    assert (len(await office.rows()), len(await office.deeds()), len(await office.notices())) == (1, 2, 2)


async def test_what_was_decided_cannot_be_decided_again(office: Office) -> None:
    made = reported(await office.tell("5"))
    both = await asyncio.gather(
        *(office.reports.accept(place, made.id, office.event()) for place in (MARLOW, OTHER_MOD))
    )
    assert sum(isinstance(one, GameRefusal) for one in both) == 1
    for place in (MARLOW, OTHER_MOD):
        for decide in (office.reports.accept, office.reports.dismiss):
            refused = await decide(place, made.id, office.event())
            assert refusal(refused) is GameRefusalCode.NO_SUCH_REPORT
    assert len(await office.rows()) == 1


async def test_reports_of_another_server_do_not_exist(office: Office) -> None:
    made = reported(await office.tell("5"))
    assert (await office.reports.open_ones(ELSEWHERE)).reports == ()
    for decide in (office.reports.accept, office.reports.dismiss):
        assert refusal(await decide(ELSEWHERE, made.id, office.event())) is GameRefusalCode.NO_SUCH_REPORT
    assert await waiting(office) == [made]


@pytest.mark.parametrize("now", ["7", "5"])
async def test_a_number_that_changed_meanwhile_is_not_changed_again(office: Office, now: str) -> None:
    made = reported(await office.tell("5"))
    changed(await office.edit(now))
    refused = await office.reports.accept(MARLOW, made.id, office.event())
    assert refusal(refused) is GameRefusalCode.CHANGED_MEANWHILE
    assert isinstance(refused, GameRefusal)
    assert (refused.facts["found"], refused.facts["now"]) == ("6", now)
    assert await waiting(office) == [made], "it can still be left as it is"


async def test_a_report_of_a_move_that_is_gone_is_refused_in_words(office: Office) -> None:
    for version, move in (("1.0", "5A"), ("1.1", "5B")):
        shown = seen(await office.take(toml(version=version, move=move)))
        changed(await office.uploads.use(MARLOW, shown.upload_id, office.event()))
        if move == "5A":
            await office.desk.choose_game(MARLOW, "Tidewrack", office.event())
            told = await office.reports.report(WREN, "5A", "startup", "4", "", None, office.event())
    refused = await office.reports.accept(MARLOW, reported(told).id, office.event())
    assert refusal(refused) is GameRefusalCode.NO_SUCH_MOVE
    assert isinstance(refused, GameRefusal)
    assert (refused.facts["typed"], refused.facts["character"]) == ("5A", "Brine Olwen")


async def test_an_accepted_report_keeps_what_was_edited_since(office: Office) -> None:
    made = reported(await office.tell("5"))
    changed(await office.edit("650", column="damage"))
    changed(await office.reports.accept(MARLOW, made.id, office.event()))
    assert (office.move().startup_frames, office.move().hits[0].damage) == (5, 650)


@pytest.mark.parametrize(
    "broken", [(editions, "set_current"), (audit, "note"), (reports, "decide"), (editions, "add")]
)
async def test_a_failure_half_way_leaves_the_report_and_the_game(
    office: Office, monkeypatch: pytest.MonkeyPatch, broken: tuple[object, str]
) -> None:
    made, event = reported(await office.tell("5")), office.event()

    async def fail(*_: object, **__: object) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(*broken, fail)
        with pytest.raises(OSError, match="full"):
            await office.reports.accept(MARLOW, made.id, event)
    assert (await waiting(office), await office.rows(), await office.deeds()) == ([made], [], [])
    assert (office.move().startup_frames, await office.notices()) == (6, [])
    changed(await office.reports.accept(MARLOW, made.id, event))


async def test_many_reports_are_listed_the_oldest_first_with_how_many_more_there_are(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(game_reports, "MOST_LISTED", 3)
    made = [
        reported(await office.tell("5", place=replace(WREN, member_id=number))) for number in range(100, 105)
    ]
    found = await office.reports.open_ones(MARLOW)
    assert (list(found.reports), found.more, found.game) == (made[:3], 2, office.game())


async def test_reports_are_exported_and_erased_with_their_member(office: Office) -> None:
    made = reported(await office.tell("5", note="a secret"))
    exported = await office.privacy.export(WREN)
    (told,) = json.loads(as_json(exported, MONDAY))["reports"]
    assert (told["input"], told["found"], told["right"], told["note"]) == ("5MP", "6", "5", "a secret")
    line = "Numbers that you said are wrong"
    assert line in as_text(what_is_kept_card(exported))
    assert line not in as_text(what_is_kept_card(await office.privacy.export(MARLOW)))
    await office.privacy.erase(WREN)
    assert await office.rows("report") == []
    accepted = await office.reports.accept(MARLOW, made.id, office.event())
    assert refusal(accepted) is GameRefusalCode.NO_SUCH_REPORT


async def test_who_decided_can_be_erased_and_the_decision_stays(office: Office) -> None:
    made = reported(await office.tell("5"))
    await office.reports.dismiss(MARLOW, made.id, office.event())
    await office.privacy.erase(MARLOW)
    (row,) = await office.rows("report")
    assert (row.stage, row.decided_by, row.decided_at) == ("dismissed", None, MONDAY)
