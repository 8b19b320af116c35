"""Whatever changes in whatever order, and wherever it is cut short: in the end every member knows what became
of their routes."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import pytest
from patched import CELLS, IVO, MOD, TAM, PatchDay, patch_day_at, patched_salt, salt

from bot.results.games import EditionChange
from bot.results.patches import PatchNotice, PatchSheet
from bot.results.place import Place

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
