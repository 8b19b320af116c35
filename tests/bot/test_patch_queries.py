"""What patch day asks of the database is served by indexes, however much others keep."""

from __future__ import annotations

from pathlib import Path

from explained import scans, statements_of
from patched import CELLS, IVO, MOD, TAM, PatchDay, patch_day_at, patched_salt

from bot.services.privacy import PrivacyService


async def use_all(day: PatchDay) -> None:
    """Everything that is done on patch day, once."""
    change = await day.use(patched_salt())
    assert change.before_id is not None
    await day.telling.announce(MOD, change)
    more = patched_salt("1.4", (*CELLS, ("Odrun Vale", "5LP", "damage", "310")))
    await day.telling.announce(MOD, await day.use(more))
    assert any(await day.go())
    await day.patches.since(TAM, "1.2")
    sheet = await day.sheet()
    await day.patches.note_posted(MOD, sheet, day.event())
    await day.back(change.before_id)
    await PrivacyService(day.store, day.book).erase(TAM)


async def test_every_query_of_patch_day_is_served_by_an_index(tmp_path: Path) -> None:
    async with patch_day_at(tmp_path) as day:
        for number, place in enumerate((TAM, IVO)):
            await day.save(place, "5MP, 2MK", f"bread {number}")
            await day.give(place, "5MP, 2MP")
        await day.drill("5MP, 2MP")
        asked = statements_of(day.store)
        await use_all(day)
    assert len(asked) > 25
    assert scans(day.store, asked) == {}
