"""Whatever changes in whatever order, and wherever it is cut short: in the end every member knows what became
of their routes."""

from __future__ import annotations

import asyncio
import random
from copy import copy
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from patched import CELLS, IVO, MOD, SALT, TAM, PatchDay, patch_day_at, patched_salt, salt, whom

from bot.results.games import EditionChange
from bot.results.patches import PatchNotice, PatchSheet
from bot.results.place import Place
from bot.services.privacy import PrivacyService
from bot.storage import settings

STEPS = 12
VERSIONS = (
    salt(),
    patched_salt(),
    patched_salt("1.4", CELLS[:1]),
    patched_salt("1.5", (("Garrow Thrupp", "5LP", "damage", "310"),)),
)


async def move_on(day: PatchDay, chance: random.Random) -> EditionChange | None:
    """Another version is used; None where it is the one that was used."""
    wanted = chance.choice(VERSIONS)
    present = day.game_book.game(MOD.server_id, "Saltglass")
    label = wanted.rules.partition('version = "')[2].partition('"')[0]
    if present is not None and present.version == label:
        return None
    number = await day.patches.since(MOD, label)
    if not isinstance(number, int):
        return await day.use(wanted)
    change = await day.game_desk.back(MOD, number, day.event())
    assert isinstance(change, EditionChange), change
    return change


async def unknown_to(day: PatchDay, place: Place, told: list[PatchNotice]) -> int:
    """How much of a member's changed since the version that they were told of last, or the first one."""
    heard = [one for one in told if one.to == place.owner]
    known = heard[-1].after.edition.id if heard else await day.patches.since(place, "1.2")
    assert isinstance(known, int)
    sheet = await day.patches.sheet(place, known)
    return len(sheet.mine) if isinstance(sheet, PatchSheet) else 0  # a refusal: it is the present one


@pytest.mark.parametrize("seed", range(6))
async def test_in_the_end_everybody_knows_what_became_of_their_routes(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    async with patch_day_at(tmp_path) as day:
        await day.save(TAM, "5MP, 2MK", "low")
        await day.save(IVO, "5MP, 2MP xx 236LK", "mine", "Mirrel Quay")
        told: list[PatchNotice] = []
        late: list[EditionChange] = []
        for _ in range(STEPS):
            change = await move_on(day, chance)
            if change is not None:
                late.append(change)
            chance.shuffle(late)
            while late and chance.random() < 0.6:
                done = late.pop()
                if chance.random() < 0.7:  # else the process died before it was announced
                    await day.telling.announce(MOD, done)
            told += filter(None, await day.go(timedelta(minutes=chance.choice([0, 1, 6, 12]))))
        told += filter(None, await day.go(timedelta(days=1)))
        for place in (TAM, IVO):
            assert await unknown_to(day, place, told) == 0, place
        assert all(one.mine for one in told)
        assert await day.jobs.next_due() is None


async def test_two_processes_that_settle_one_change_at_once_tell_everybody_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The job of one process comes due while the moderator's is at it."""
    async with patch_day_at(tmp_path) as day:
        await day.save(TAM, "5MP, 2MK", "low")
        change = await day.use(patched_salt())
        other = copy(day.telling)
        other._alone = asyncio.Lock()
        work_out = other._whose

        async def overtaken(*given: Any) -> list[int]:
            assert await day.telling.announce(MOD, change) == 1
            return await work_out(*given)

        monkeypatch.setattr(other, "_whose", overtaken)
        assert await other.settle(MOD.owner.server_id, SALT) == 0
        assert whom(await day.go(timedelta(days=1))) == [TAM.member_id]
        assert await day.jobs.next_due() is None


@pytest.mark.parametrize("at", ["_whose", "touched"])
async def test_who_is_erased_while_a_job_of_theirs_runs_leaves_no_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: str
) -> None:
    """While it is settled who is told, and while it is worked out what they are told."""
    async with patch_day_at(tmp_path) as day:
        await day.save(TAM, "5MP, 2MK", "low")
        await day.use(patched_salt())
        if at == "touched":
            assert await day.telling.settle(MOD.owner.server_id, SALT) == 1
        where: Any = day.telling if at == "_whose" else day.telling._views
        work_out = getattr(where, at)

        async def interrupted(*given: Any) -> Any:
            found = await work_out(*given)
            monkeypatch.setattr(where, at, work_out)
            assert await PrivacyService(day.store, day.book).erase(TAM) == 0
            return found

        monkeypatch.setattr(where, at, interrupted)
        await day.go(timedelta(days=1))
        async with day.store.read() as reading:
            assert await settings.all_members(reading, (TAM.owner,)) == {}
        assert await day.jobs.next_due() is None
