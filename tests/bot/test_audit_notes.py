"""What moderators and coaches did is noted in the transaction that does it, once, and without other members'
names."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from coached import COACH, ELSEWHERE, MONDAY, ROUTE, WREN, School, school_at
from grouped import COACH as DRILL_COACH
from grouped import OTHER_WHAT, WHAT, Group, group_at, member
from grouped import plan as listed
from inline import Bench

from bot.render.card import as_text
from bot.render.export import as_json
from bot.render.privacy import what_is_kept_card
from bot.results.audit import Deed, Entry
from bot.results.drills import DrillAsked
from bot.results.place import Place
from bot.results.tally import SavedRoute
from bot.services.audit import PAGE, AuditService
from bot.services.library import LibraryService
from bot.services.routes import RouteService
from bot.storage import audit
from core.drills.drill import Scoring
from core.learning.homework import Step

CLEAN = Scoring.TOTAL_CLEAN


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        yield school


@pytest.fixture
async def group(tmp_path: Path) -> AsyncIterator[Group]:
    async with group_at(tmp_path) as group:
        yield group


async def noted(bench: Bench, place: Place = COACH) -> list[tuple[Deed, str]]:
    """What is noted of a server, the first first."""
    entries = (await AuditService(bench.store).page(place)).entries
    return [(one.deed, one.what) for one in reversed(entries)]


async def test_what_a_coach_does_with_drills_is_noted(group: Group) -> None:
    drill = await group.open()
    await listed(group, OTHER_WHAT)
    await group.desk.start_weekly(DRILL_COACH, 5, 1, "18:00", group.event())
    await group.desk.move(DRILL_COACH, drill.id, "in 3 days", group.event())
    await group.desk.cancel(DRILL_COACH, drill.id, group.event())
    await group.desk.stop_weekly(DRILL_COACH, group.event())
    await group.desk.remove(DRILL_COACH, OTHER_WHAT, group.event())
    assert await noted(group.bench, DRILL_COACH) == [
        (Deed.DRILL_OPENED, "Odrun Vale: 5MP, 2MP"),
        (Deed.DRILL_PLANNED, "Mirrel Quay: 5MP, 2MP"),
        (Deed.DRILL_WEEKLY, "Mirrel Quay: 5MP, 2MP"),
        (Deed.DRILL_MOVED, "Odrun Vale: 5MP, 2MP"),
        (Deed.DRILL_CANCELLED, "Odrun Vale: 5MP, 2MP"),
        (Deed.DRILL_STOPPED, ""),
        (Deed.DRILL_UNPLANNED, "Mirrel Quay: 5MP, 2MP"),
    ]


async def test_the_same_event_again_and_what_was_refused_are_not_noted(group: Group) -> None:
    for _ in range(2):
        await group.desk.open(DRILL_COACH, DrillAsked(WHAT, CLEAN), 5, 7, 7)
    await group.desk.open(DRILL_COACH, DrillAsked("5XX, 2MP", CLEAN), 5, 7, group.event())
    await group.desk.stop_weekly(DRILL_COACH, group.event())
    assert [deed for deed, _ in await noted(group.bench, DRILL_COACH)] == [Deed.DRILL_OPENED]


async def test_judging_is_noted_without_whose_tally_it_was(group: Group) -> None:
    await group.open()
    tally_id = await group.tally(100, "7/10")
    await group.judging.see(DRILL_COACH, tally_id, group.event())
    await group.judging.strike(DRILL_COACH, tally_id, "another combo", group.event())
    await group.judging.unstrike(DRILL_COACH, tally_id, group.event())
    await group.judging.see(DRILL_COACH, tally_id, group.event())  # it is seen already
    what = "Odrun Vale: 5MP, 2MP"
    assert (await noted(group.bench, DRILL_COACH))[1:] == [
        (Deed.TALLY_SEEN, what),
        (Deed.TALLY_STRUCK, what),
        (Deed.TALLY_COUNTED, what),
    ]


async def test_what_a_coach_does_with_students_is_noted_and_what_students_do_is_not(school: School) -> None:
    coaching = await school.coached()
    first = await school.given()
    await school.handed_in(first)
    await school.reviews.review(COACH, first.id, Step.SEND_BACK, "wait for the hit", school.event())
    await school.handed_in(first)
    await school.reviews.review(COACH, first.id, Step.ACCEPT, "", school.event())
    await school.coaching.end(COACH, coaching.id, school.event())
    again = await school.coached()
    await school.coaching.end(WREN, again.id, school.event())
    what = "Odrun Vale: 5MP, 2MP"
    assert await noted(school.bench) == [
        (Deed.STUDENT_ASKED, ""),
        (Deed.HOMEWORK_SET, what),
        (Deed.HOMEWORK_RETURNED, what),
        (Deed.HOMEWORK_ACCEPTED, what),
        (Deed.COACHING_ENDED, ""),
        (Deed.STUDENT_ASKED, ""),
    ]
    assert await noted(school.bench, ELSEWHERE) == [], "another server's list has none of it"


async def test_a_shared_route_is_noted_where_another_member_takes_it_out(school: School) -> None:
    bench = school.bench
    own = RouteService(bench.store, bench.desk, bench.book, bench.clock)
    library = LibraryService(bench.store, own, bench.desk, bench.book, bench.clock)
    for name in ("bread", "butter"):
        assert isinstance(await own.save(WREN, ROUTE, name, school.event()), SavedRoute)
    for name, by in (("bread", WREN), ("butter", COACH)):
        shared = await library.share(WREN, name, school.event())
        await library.tidy(by, shared.route.id, school.event(), moderates=True)  # type: ignore[union-attr]
    assert await noted(bench) == [(Deed.ROUTE_REMOVED, "butter")]


async def test_settings_are_noted_each_by_its_name_and_only_what_changed(school: School) -> None:
    book = school.bench.book
    await book.change_server(COACH, {"zone": "Asia/Tokyo", "coach_role": 7}, 1)
    await book.change_server(COACH, {"zone": "Asia/Tokyo", "coach_role": 8}, 2)
    await book.change_server(COACH, {"zone": "Europe/Lisbon"}, 2)  # the same event again
    await book.change_server(COACH, {"coach_role": None, "game": "Kitewind"}, 3)
    assert await noted(school.bench) == [
        (Deed.SETTING, "zone=Asia/Tokyo"),
        (Deed.SETTING, "coach_role=7"),
        (Deed.SETTING, "coach_role=8"),
        (Deed.SETTING, "coach_role="),
        (Deed.GAME_CHOSEN, "Kitewind"),
    ]
    await book.load()
    settings = book.server(1)
    assert (settings.zone, settings.coach_role, settings.game) == ("Asia/Tokyo", None, "Kitewind")


async def test_who_erased_their_data_is_named_no_more_and_what_they_did_stays(school: School) -> None:
    await school.coached()
    await school.given()
    await school.privacy.erase(COACH, school.event())
    page = await AuditService(school.bench.store).page(COACH)
    assert [(one.deed, one.made_by) for one in page.entries] == [
        (Deed.HOMEWORK_SET, None),
        (Deed.STUDENT_ASKED, None),
    ]


async def test_a_page_goes_on_where_the_one_before_ended(school: School) -> None:
    async with school.bench.store.write() as writing:
        for number in range(2 * PAGE + 1):
            await audit.note(writing, COACH.owner, MONDAY, Deed.SETTING, f"zone={number}")
    found: list[Entry] = []
    before, older = 0, True
    while older:
        page = await AuditService(school.bench.store).page(COACH, before)
        found += page.entries
        before, older = page.entries[-1].id, page.older
    assert [one.what for one in found] == [f"zone={number}" for number in reversed(range(2 * PAGE + 1))]


async def test_words_of_others_are_cut_and_on_one_line(school: School) -> None:
    async with school.bench.store.write() as writing:
        await audit.note(writing, COACH.owner, MONDAY, Deed.ROUTE_REMOVED, "a\nb" + 500 * "x")
    ((_, what),) = await noted(school.bench)
    assert what.startswith("a b")
    assert len(what) == 200


async def test_what_fails_leaves_no_note(group: Group, monkeypatch: pytest.MonkeyPatch) -> None:
    async def fail(*_: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr("bot.storage.audit.note", fail)
    with pytest.raises(RuntimeError):
        await group.open()
    monkeypatch.undo()
    assert await noted(group.bench, DRILL_COACH) == []
    assert (await group.desk.listed(member(900))).open == ()  # type: ignore[union-attr]


async def test_what_somebody_did_is_handed_out_to_them_and_not_to_others(school: School) -> None:
    await school.coached()
    await school.given()
    kept = await school.privacy.export(COACH)
    assert [one.deed for one in kept.deeds] == [Deed.STUDENT_ASKED, Deed.HOMEWORK_SET]
    assert "2 in all" in as_text(what_is_kept_card(kept))
    (asked, _) = json.loads(as_json(kept, MONDAY))["deeds"]
    assert (asked["deed"], asked["what"]) == ("student-asked", "")
    assert (await school.privacy.export(WREN)).deeds == ()
