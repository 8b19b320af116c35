"""Every query is served by an index: the plans of all statements that the functions run."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from databases import uses_postgresql
from explained import Plan, plans_of, statements_of
from stored import DRILL, LINK, NOW, ROUTE, WREN, opened, tally

from bot.results.job import Claim, Job
from bot.results.place import Owner
from bot.results.tally import MemberSettings, SavedRoute, ServerSettings
from bot.storage import editions, jobs, library, posts, privacy, routes, settings, tallies
from bot.storage.store import Store

WHOLE = {
    "SELECT member.id, member.server_id": "member",
    "SELECT server.id, server.game": "server",
    "SELECT game.server_id, game.game, edition.id": "game",
    "SELECT channel.id, channel.server_id": "channel",
}
"""The queries that read all settings, and which game is played where, once at the start; and their table."""
BIG = (
    *("tally", "subject", "total", "event", "route", "library", "conversion", "quiz", "job", "post"),
    "edition",
)
FUNCTIONS = {
    module: {
        name
        for name, value in vars(module).items()
        if callable(value)
        and not isinstance(value, type)
        and getattr(value, "__module__", "") == module.__name__
        and not name.startswith("_")
    }
    for module in (tallies, settings, routes, library, privacy, jobs, posts, editions)
}


def fault(plan: Plan, sql: str = "") -> bool:
    """Whether it reads all of a table, or all that a member has in order to sort it."""
    allowed = {table for start, table in WHOLE.items() if sql.replace("\n", "").startswith(start)}
    if allowed == {"game"} and uses_postgresql():
        allowed = set(plan.whole[:1]) & {"game", "edition"}  # whichever it takes to be smaller; never both
    return not allowed.issuperset(plan.whole) or (plan.sorts and "tally" in plan.found)


async def run_everything(store: Store) -> set[str]:
    """Calls every function of the storage; which ones."""
    called: set[str] = set()

    async def call(function: Any, *args: Any, **options: Any) -> Any:
        called.add(f"{function.__module__}.{function.__name__}")
        return await function(*args, **options)

    route = SavedRoute(0, "Saltglass", "1", "Mirrel", "bread", "5A", NOW)
    async with store.write(1) as writing:
        kept = await call(tallies.add, writing, WREN, tally(), 1, NOW)
        await call(tallies.add_all, writing, WREN, [tally(), tally(subject=ROUTE)], NOW)
        await call(tallies.enter_subject, writing, WREN, DRILL)
        saved = await call(routes.save, writing, WREN, route)
        await call(routes.rename, writing, WREN, saved.id, "Bread")
        shared = await call(library.share, writing, WREN, saved, NOW)
        await call(library.share, writing, WREN, saved, NOW, shared.id)
        await call(settings.set_member, writing, WREN, MemberSettings(goal=0.7))
        await call(settings.set_server, writing, WREN.server_id, ServerSettings("Saltglass"))
        await call(tallies.change, writing, WREN, kept.id, tally(subject=ROUTE))
        await call(tallies.undo, writing, WREN, kept.id)
        await call(tallies.put_back, writing, WREN, kept.id)
        await call(jobs.add, writing, Job("drill 1 end", "drill end", NOW))
        await call(jobs.add, writing, Job("drill 1 end", "drill end", NOW - timedelta(hours=1)))
        await call(posts.reserve, writing, "drill 1 recap", 9, NOW)
        await call(posts.note_sent, writing, "drill 1 recap", 99, NOW)
        edition = await call(editions.add, writing, 5, "Saltglass", "1.3", "{}", "ab", WREN, NOW, "patch")
        await call(editions.set_current, writing, 5, "Saltglass", edition.id)
        await call(editions.set_channel, writing, 5, 9, "Saltglass")
    async with store.read() as reading:
        await call(tallies.by_event, reading, WREN, 1)
        await call(tallies.get, reading, WREN, kept.id)
        await call(tallies.get, reading, WREN, kept.id, undone=True)
        await call(tallies.latest, reading, WREN)
        for before_id in (None, kept.id):
            for subject_id in (None, kept.subject_id):
                await call(tallies.listed, reading, WREN, 10, before_id, subject_id)
        await call(tallies.of_subject, reading, WREN, kept.subject_id, 10)
        await call(tallies.of_links, reading, WREN, "Saltglass", 10)
        await call(tallies.marks, reading, WREN, 10)
        await call(tallies.totals, reading, WREN, "Saltglass")
        await call(tallies.subject_of, reading, WREN, kept.subject_id)
        await call(tallies.find_subject, reading, WREN, LINK)
        await call(tallies.tries_since, reading, WREN, NOW)
        await call(settings.all_members, reading)
        await call(settings.of_member, reading, WREN)
        await call(settings.all_servers, reading)
        if uses_postgresql():  # a file has one process, which reads no settings anew
            await call(settings.all_members, reading, [WREN])
        await call(settings.all_servers, reading, [WREN.server_id])
        await call(routes.listed, reading, WREN, "Saltglass")
        await call(routes.get, reading, WREN, saved.id)
        await call(library.listed, reading, WREN.server_id, "Saltglass")
        await call(library.get, reading, WREN.server_id, shared.id)
        await call(privacy.everything, reading, WREN)
        await call(jobs.earliest, reading)
        await call(jobs.waiting, reading, NOW)
        await call(jobs.unfinished, reading, "notice:patch:")
        await call(posts.find, reading, "drill 1 recap")
        await call(editions.get, reading, edition.id)
        await call(editions.content, reading, edition.id)
        await call(editions.by_label, reading, 5, "Saltglass", "1.3")
        await call(editions.last_by, reading, WREN)
        await call(editions.made_by, reading, 1)
        await call(editions.labels, reading, 5, "Saltglass")
        for before_id in (None, edition.id):
            await call(editions.listed, reading, 5, "Saltglass", before_id, 10)
        await call(editions.games_of, reading, 5)
        await call(editions.used, reading)
        await call(editions.current, reading, 5, "Saltglass")
        await call(editions.channels, reading)
        await call(editions.used, reading, [5])
        await call(editions.channels, reading, [9])
    async with store.write(2) as writing:
        await call(routes.forget, writing, WREN, saved.id)
        await call(library.remove, writing, WREN.server_id, shared.id)
        await call(editions.drop_channel, writing, 9)
        await call(privacy.erase, writing, WREN)
        (claim,) = await call(jobs.claim, writing, "a", NOW, timedelta(minutes=3))
        assert isinstance(claim, Claim)
        await call(jobs.failed, writing, claim, NOW)
        await call(jobs.given_up, writing, claim, NOW)
        await call(jobs.done, writing, claim, NOW)
        await call(jobs.prune, writing, NOW)
        await call(jobs.cancel, writing, "drill 1 end")
        await call(jobs.cancel_all, writing, "drill 1")
    return called


async def test_every_query_is_served_by_an_index(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            for number in range(60):
                owner = Owner(number % 3, number % 7)
                about = (LINK, ROUTE, DRILL)[number % 3]
                made = tally(subject=about, made_at=NOW - timedelta(hours=number))
                await tallies.add(writing, owner, made, number + 100, NOW)
        asked = statements_of(store)
        called = await run_everything(store)
        async with store.write() as writing:
            await store._prune(writing.connection)
    assert called == {f"{module.__name__}.{name}" for module, names in FUNCTIONS.items() for name in names}
    assert len(asked) > 25
    plans = plans_of(store.address, asked)
    assert {sql: plan for sql, plan in plans.items() if fault(plan, sql)} == {}
    assert sum(sql.replace("\n", "").startswith(tuple(WHOLE)) for sql in asked) >= 4


async def test_a_query_without_an_index_would_be_seen(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        pass

    def plan(sql: str) -> Plan:
        return plans_of(store.address, {sql: ()})[sql]

    for table in BIG:
        assert plan(f"SELECT * FROM {table}") == Plan(whole=(table,))
    assert fault(plan("SELECT * FROM tally WHERE owner_id = 1 ORDER BY note"))
    assert fault(plan("SELECT * FROM tally WHERE note = 'x'"))
    assert not fault(plan("SELECT * FROM tally WHERE id = 1"))
