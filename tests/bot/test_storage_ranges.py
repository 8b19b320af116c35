"""What members may give fits the columns that keep it: PostgreSQL refuses what SQLite would take."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from moved import TEXTS
from sqlalchemy import BigInteger, Integer, SmallInteger, Table
from sqlalchemy.types import TypeEngine
from stored import LINK, NOW, WREN, opened, tally

from bot.results.drills import DrillPlan
from bot.results.place import Owner
from bot.results.tally import (
    LONGEST_GAP_FRAMES,
    MOST_GAPS,
    MOST_TRIES,
    WHAT_CHARACTERS,
    Drops,
    SavedRoute,
    ServerSettings,
    Subject,
    SubjectKind,
)
from bot.services.drill_plans import MOST_AT_LEAST
from bot.services.game_labels import LABEL_CHARACTERS
from bot.services.homework_asked import AMOUNTS
from bot.services.homework_review import LONGEST_CLIP_SECONDS
from bot.services.jobs import MOST_FAILURES
from bot.services.retention import LONGEST_DAYS
from bot.services.routes import NAME_CHARACTERS
from bot.storage import drills, editions, library, routes, settings, tallies
from bot.storage.schema import clip_comment, drill, drill_tally, homework, job, metadata, server, total
from core.drills.drill import Scoring
from core.gamefile.cells import MAX_NAME_LENGTH
from core.learning.plan import REPS_CAP

SEED = 20260101
LARGEST_ID = 2**63 - 1
LARGEST: dict[type[TypeEngine[Any]], int] = {
    SmallInteger: 2**15 - 1,
    Integer: 2**31 - 1,
    BigInteger: LARGEST_ID,
}
TALLIES_OF_A_LIFE = 1_000_000
"""Far more than one member logs of one thing."""


def largest(table: Table, name: str) -> int:
    """What the column holds at most."""
    return LARGEST[type(table.c[name].type)]


def test_what_may_be_given_fits_its_column() -> None:
    for table, name, most in (
        (drill_tally, "run", MOST_TRIES),
        (drill, "at_least", MOST_AT_LEAST),
        (drill, "daily_cap", REPS_CAP),
        (homework, "amount", max(most for _, most in AMOUNTS.values())),
        (clip_comment, "at_seconds", LONGEST_CLIP_SECONDS),
        (server, "keep_days", LONGEST_DAYS),
        (job, "attempts", MOST_FAILURES),
        *(
            (total, column.name, MOST_TRIES * TALLIES_OF_A_LIFE)
            for column in total.columns
            if not column.primary_key
        ),
    ):
        assert most <= largest(table, name), (table.name, name)


def test_ids_of_the_platform_and_our_own_have_64_bits() -> None:
    for table in metadata.sorted_tables:
        for column in table.columns:
            if column.name == "id" or column.name.endswith("_id") or column.foreign_keys:
                if not isinstance(column.type, Integer | SmallInteger):
                    continue
                assert isinstance(column.type, BigInteger), (table.name, column.name)


async def test_the_largest_that_may_be_given_is_kept_and_read_again(tmp_path: Path) -> None:
    owner = Owner(LARGEST_ID, LARGEST_ID - 1)
    drops = Drops(early=MOST_TRIES)
    made = tally(0, MOST_TRIES, drops=drops, presses=2, gap_frames=(LONGEST_GAP_FRAMES,) * MOST_GAPS)
    async with opened(tmp_path) as store:
        async with store.write(LARGEST_ID) as writing:
            kept = await tallies.add(writing, owner, made, LARGEST_ID, NOW)
            plan = DrillPlan(LINK, Scoring.TOTAL_CLEAN, MOST_AT_LEAST, REPS_CAP)
            week = timedelta(days=7)
            held = await drills.add(
                writing,
                owner.server_id,
                plan,
                LARGEST_ID,
                NOW,
                NOW + week,
                weekly=True,
                opened_by=owner.member_id,
            )
            await drills.note_run(writing, kept.id, held.id, MOST_TRIES)
            chosen = ServerSettings(coach_role=LARGEST_ID, keep_days=LONGEST_DAYS)
            await settings.set_server(writing, owner.server_id, chosen)
        async with store.read() as reading:
            assert await tallies.by_event(reading, owner, LARGEST_ID) == kept
            assert await drills.get(reading, held.id) == held
            assert (await settings.all_servers(reading))[owner.server_id] == chosen
            assert await tallies.get(reading, owner, LARGEST_ID) is None
            assert await tallies.tries_since(reading, owner, NOW) == MOST_TRIES


async def test_any_text_that_can_be_typed_is_kept_and_found_as_it_is(tmp_path: Path) -> None:
    route = SavedRoute(0, "Saltglass", "1", "Mirrel", "", "5A", NOW)
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            saved = [await routes.save(writing, WREN, replace(route, name=each[:40])) for each in TEXTS]
            logged = [await tallies.add(writing, WREN, tally(note=note), None, NOW) for note in TEXTS]
        async with store.read() as reading:
            listed = await routes.listed(reading, WREN, "Saltglass")
            assert list(listed) == sorted(saved, key=lambda each: each.name)
            assert list(await tallies.listed(reading, WREN, 100)) == logged[::-1]


async def test_the_longest_names_fit_an_index(tmp_path: Path) -> None:
    """PostgreSQL takes at most 2,704 bytes into an index, once packed: these letters have four each, and no
    order."""
    chance = random.Random(SEED)

    def letters(number: int) -> str:
        return "".join(chr(chance.randrange(0x10000, 0x10FFFE)) for _ in range(number))

    game, who = letters(MAX_NAME_LENGTH), letters(MAX_NAME_LENGTH)
    about = Subject(game, who, SubjectKind.ROUTE, letters(WHAT_CHARACTERS))
    route = SavedRoute(0, game, "1", who, letters(NAME_CHARACTERS), "5A", NOW)
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            kept = await tallies.add(writing, WREN, tally(subject=about), None, NOW)
            saved = await routes.save(writing, WREN, route)
            shared = await library.share(writing, WREN, saved, NOW)
            label = letters(LABEL_CHARACTERS)
            edition = await editions.add(writing, WREN.server_id, game, label, "{}", "ab", None, NOW)
        async with store.read() as reading:
            assert await tallies.find_subject(reading, WREN, about) == kept.subject_id
            assert await routes.listed(reading, WREN, game) == (saved,)
            assert await library.listed(reading, WREN.server_id, game) == (shared,)
            assert await editions.by_label(reading, WREN.server_id, game, label) == edition


async def test_moments_come_back_as_they_were_whatever_zone_the_server_has(tmp_path: Path) -> None:
    moments = [NOW + timedelta(microseconds=1), NOW.replace(year=1970), NOW.replace(year=9000)]
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            kept = [await tallies.add(writing, WREN, tally(made_at=moment), None, NOW) for moment in moments]
        async with store.read() as reading:
            assert list(await tallies.listed(reading, WREN, 9)) == kept[::-1]
            assert [each.tally.made_at.utcoffset() for each in kept] == [timedelta()] * 3
