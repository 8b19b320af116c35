"""What a new version of a game does to what is kept in a server, and who is told: by a patch whose
consequences are known by hand."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from patched import (
    CELLS,
    ELSEWHERE,
    IVO,
    MOD,
    PELL,
    TAM,
    PatchDay,
    muted,
    patch_day_at,
    patched_salt,
    refusal,
    whom,
)
from sqlalchemy import select

from bot.results.patches import Keep, PatchNotice
from bot.results.tally import MemberSettings, Setup
from bot.services.privacy import PrivacyService
from bot.storage import tallies
from bot.storage.schema import patch_notice
from core.learning.quiet import Quiet
from core.patches import LinkEffect, RouteEffect

MIRREL = "Mirrel Quay"


@pytest.fixture
async def day(tmp_path: Path) -> AsyncIterator[PatchDay]:
    async with patch_day_at(tmp_path) as day:
        yield day


async def breaking(day: PatchDay) -> None:
    """Routes that the patch touches: two of Tamsin's, one of Ivo's; and one of Pell's that it does not."""
    await day.save(TAM, "5MP, 2MK xx 236LP", "low confirm")
    await day.save(TAM, "5MP, 2MP", "steady")
    await day.save(IVO, "5MP, 2MP xx 236LK", "mine", MIRREL)
    await day.save(PELL, "5LP, 2LK", "other")


async def test_a_sheet_tells_the_numbers_the_links_and_the_routes_that_a_patch_touches(day: PatchDay) -> None:
    await breaking(day)
    await day.use(patched_salt())
    sheet = await day.sheet()
    assert (sheet.before.label, sheet.after.label) == ("1.2", "1.3")
    links = {(one.first, one.second): one for one in sheet.follows.links if one.state is None}
    assert links["5MP", "2MK"].kind is LinkEffect.LOST
    two_mp = links["5MP", "2MP"]
    assert (two_mp.kind, two_mp.old_frames, two_mp.new_frames) == (LinkEffect.TIGHTER, 2, 1)
    assert {first for first, _ in links} == {"5MP"}
    assert [(one.kept.name, one.change.effect) for one in sheet.mine] == [
        ("low confirm", RouteEffect.BREAKS),
        ("steady", RouteEffect.HARDER),
    ]
    broken = sheet.mine[0].change
    assert (broken.failing, broken.failing_move) == (1, "2MK")
    assert broken.repaired is not None
    (damage,) = sheet.concerns.of(IVO.member_id)
    assert damage.change.effect is RouteEffect.DAMAGE
    assert sheet.concerns.of(PELL.member_id) == ()
    assert len(sheet.concerns.kept_as(Keep.SAVED)) == 3
    assert len(sheet.concerns.kept_as(Keep.SAVED, RouteEffect.BREAKS)) == 1


async def test_a_route_that_breaks_is_opened_as_it_is_mended_and_others_as_they_are(day: PatchDay) -> None:
    await breaking(day)
    await day.use(patched_salt())
    sheet = await day.sheet()
    opens = dict(sheet.opens)
    async with day.store.read() as reading:
        found = [await tallies.subject_of(reading, TAM.owner, opens[at]) for at in range(2)]
    assert [one.what for one in found if one is not None] == [sheet.mine[0].change.repaired, "5MP, 2MP"]


async def test_homework_drills_and_shared_routes_are_among_what_it_concerns(day: PatchDay) -> None:
    given = await day.give(TAM, "5MP, 2MK")
    drill = await day.drill("5MP, 2MP")
    await day.drill("5LP, 2LK")
    await day.use(patched_salt())
    concerns = (await day.sheet()).concerns
    assert [one.kept.id for one in concerns.kept_as(Keep.HOMEWORK, RouteEffect.BREAKS)] == [given.id]
    assert [one.kept.id for one in concerns.kept_as(Keep.DRILL)] == [drill.id]
    assert [one.kept.keep for one in concerns.of(TAM.member_id)] == [Keep.HOMEWORK]


async def test_versions_are_compared_by_name_and_refused_where_there_is_nothing_to_compare(
    day: PatchDay,
) -> None:
    assert refusal(await day.patches.sheet(TAM)) == "one-version"
    await day.use(patched_salt())
    first = await day.patches.since(TAM, " 1.2 ")
    assert isinstance(first, int)
    await day.use(patched_salt("1.4", (("Odrun Vale", "5LP", "damage", "310"),)))
    assert (await day.sheet()).before.label == "1.3"
    sheet = await day.sheet(before_id=first)
    assert (sheet.before.label, sheet.after.label) == ("1.2", "1.4")
    assert refusal(await day.patches.since(TAM, "9.9")) == "no-such-version"
    beta = await day.use(patched_salt("1.5 Beta", (("Odrun Vale", "5LP", "damage", "320"),)))
    assert await day.patches.since(TAM, "1.5 beta") == beta.edition.id
    await day.back(sheet.after.edition.id)
    assert refusal(await day.patches.sheet(TAM, sheet.after.edition.id)) == "is-current"
    assert refusal(await day.patches.sheet(TAM, 999)) == "no-such-version"


async def test_after_going_back_the_version_before_is_the_one_that_was_left(day: PatchDay) -> None:
    change = await day.use(patched_salt())
    assert change.before_id is not None
    await day.back(change.before_id)
    sheet = await day.sheet()
    assert (sheet.before.label, sheet.after.label) == ("1.3", "1.2")


async def test_members_whose_routes_are_touched_are_told_once(day: PatchDay) -> None:
    await breaking(day)
    change = await day.use(patched_salt())
    assert await day.telling.announce(MOD, change) == 2
    assert await day.telling.announce(MOD, change) == 0  # again, and nothing more comes of it
    told = await day.go()
    assert whom(told) == [TAM.member_id, IVO.member_id]
    notice = next(one for one in told if one is not None and one.to == TAM.owner)
    assert [one.kept.name for one in notice.mine] == ["low confirm", "steady"]
    assert (notice.before.label, notice.after.label) == ("1.2", "1.3")
    assert len(notice.opens) == 2
    await day.telling.announce(MOD, change)
    assert await day.go() == []


async def test_a_student_is_told_of_homework_and_nobody_of_a_drill(day: PatchDay) -> None:
    await day.give(TAM, "5MP, 2MK")
    await day.drill("5MP, 2MP")
    assert await day.patch() == 1
    assert whom(await day.go()) == [TAM.member_id]


async def test_who_wants_to_be_left_in_peace_is_not_told_also_when_they_say_so_late(day: PatchDay) -> None:
    await breaking(day)
    await muted(day, TAM.owner)
    assert await day.patch() == 1
    await muted(day, IVO.owner)
    assert whom(await day.go()) == []


async def test_quiet_hours_are_waited_for(day: PatchDay) -> None:
    await breaking(day)
    noon = day.clock.now().time()
    quiet = Quiet(noon, noon.replace(hour=15))
    await day.book.set_member(TAM.owner, MemberSettings(quiet=quiet))
    await day.patch()
    assert whom(await day.go(timedelta(hours=2))) == [IVO.member_id]
    assert whom(await day.go(timedelta(hours=2))) == [TAM.member_id]


async def test_nothing_is_told_of_a_version_that_was_left_before_anybody_heard_of_it(day: PatchDay) -> None:
    await breaking(day)
    change = await day.use(patched_salt())
    await day.telling.announce(MOD, change)
    assert change.before_id is not None
    assert await day.back(change.before_id) == 0
    assert await day.go() == []


async def test_a_change_is_told_though_the_process_died_before_anybody_was(day: PatchDay) -> None:
    await breaking(day)
    await day.use(patched_salt())
    assert whom(await day.go()) == [TAM.member_id, IVO.member_id]


@pytest.mark.parametrize("late", [False, True])
async def test_a_change_that_was_not_told_is_told_with_the_next_one(day: PatchDay, late: bool) -> None:
    """Whichever of the two is told of first."""
    await breaking(day)
    first = await day.use(patched_salt())
    second = await day.use(patched_salt("1.4", (*CELLS, ("Garrow Thrupp", "5LP", "damage", "310"))))
    for change in (second, first) if late else (first, second):
        await day.telling.announce(MOD, change)
    told = await day.go()
    assert whom(told) == [TAM.member_id, IVO.member_id]
    assert {(one.before.label, one.after.label) for one in told if one is not None} == {("1.2", "1.4")}


async def test_two_changes_in_a_row_are_told_as_one_since_what_was_known_before(day: PatchDay) -> None:
    """The second touches nothing of theirs by itself."""
    await breaking(day)
    await day.patch()
    more = (*CELLS, ("Garrow Thrupp", "5LP", "damage", "310"))
    assert await day.patch(source=patched_salt("1.4", more)) == 2
    told = await day.go()
    assert whom(told) == [TAM.member_id, IVO.member_id]
    assert {(one.before.label, one.after.label) for one in told if one is not None} == {("1.2", "1.4")}


async def test_after_they_were_told_going_back_is_told_too(day: PatchDay) -> None:
    await breaking(day)
    change = await day.use(patched_salt())
    await day.telling.announce(MOD, change)
    await day.go()
    assert change.before_id is not None
    assert await day.back(change.before_id) == 2
    effects = [
        one.change.effect
        for notice in await day.go()
        if notice is not None and notice.to == TAM.owner
        for one in notice.mine
    ]
    assert effects == [RouteEffect.MENDED, RouteEffect.EASIER]


async def test_servers_know_nothing_of_each_others_versions(day: PatchDay) -> None:
    there = replace(TAM, server_id=ELSEWHERE.server_id)
    await breaking(day)
    await day.save(there, "5MP, 2MK", "abroad")
    change = await day.use(patched_salt())
    assert await day.telling.announce(MOD, change) == 2
    assert refusal(await day.patches.sheet(there)) == "one-version"
    assert refusal(await day.patches.sheet(there, change.edition.id)) == "no-such-version"
    assert refusal(await day.patches.sheet(there, 0, change.edition.id)) == "no-such-version"
    assert refusal(await day.patches.since(there, "1.3")) == "no-such-version"
    assert all(one is None or one.to.server_id == MOD.server_id for one in await day.go())
    assert await day.patch(ELSEWHERE) == 1
    (notice,) = await day.go()
    assert isinstance(notice, PatchNotice)
    assert notice.to == there.owner


async def test_what_could_not_be_worked_out_is_told_later_by_itself(day: PatchDay) -> None:
    await breaking(day)
    change = await day.use(patched_salt())
    day.worker.fails = True
    assert await day.telling.announce(MOD, change) == 0
    assert await day.patches.sheet(TAM) is None
    day.worker.fails = False
    assert whom(await day.go()) == [TAM.member_id, IVO.member_id]
    assert len((await day.sheet()).mine) == 2


async def test_a_route_that_was_mended_by_its_owner_meanwhile_is_not_told_of(day: PatchDay) -> None:
    await day.save(TAM, "5MP, 2MK")
    await day.patch()
    await day.save(TAM, "5LP, 2LK")
    assert whom(await day.go()) == []


async def test_an_erased_member_is_told_nothing_and_leaves_no_row(day: PatchDay) -> None:
    await breaking(day)
    await day.patch()
    await PrivacyService(day.store, day.book).erase(TAM)
    async with day.store.read() as reading:
        assert len((await reading.connection.execute(select(patch_notice))).all()) == 1
    assert whom(await day.go()) == [IVO.member_id]


async def test_a_text_is_read_as_its_owner_plays(day: PatchDay) -> None:
    """4MP is a way to do 236MP under this control scheme alone."""
    cells = (("Odrun Vale", "2MP", "damage", "650"),)
    simple = MemberSettings(setup=Setup(controls="one-button"))
    await day.book.set_member(TAM.owner, simple)
    await day.save(TAM, "2MP xx 4MP", "easy")
    await day.use(patched_salt("1.3", cells))
    (one,) = (await day.sheet()).mine
    assert one.kept.name == "easy"
    assert one.change.effect is RouteEffect.DAMAGE


async def test_progress_is_told_and_a_second_look_takes_no_work(day: PatchDay) -> None:
    await breaking(day)
    await day.use(patched_salt())
    seen: list[tuple[int, int]] = []

    async def progress(done: int, whole: int) -> None:
        seen.append((done, whole))

    await day.patches.sheet(TAM, progress=progress)
    assert seen[-1] == (4, 4)
    seen.clear()
    day.worker.fails = True
    assert await day.patches.sheet(IVO, progress=progress) is not None
    assert seen == []
