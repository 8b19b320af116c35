"""How the database finds what is asked of it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import asyncpg
from databases import in_thread, name_of
from sqlalchemy import event

from bot.storage.address import Address
from bot.storage.store import Store

KINDS = ("SELECT", "UPDATE", "DELETE")
AVOIDED = ("seqscan", "hashjoin", "mergejoin", "material")
"""What PostgreSQL does where a table is small, or where no index serves: avoided, it is for the latter."""
SORTING = ("sort", "incremental_sort")


@dataclass(frozen=True, slots=True)
class Plan:
    """The tables that are read whole, those of which an index finds rows, and whether anything is sorted."""

    whole: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    sorts: bool = False


def statements_of(store: Store) -> dict[str, Any]:
    """What the store asks from now on, with the values it was asked with last."""
    asked: dict[str, Any] = {}

    @event.listens_for(store._opened.plain.sync_engine, "before_cursor_execute")
    def keep(_c: Any, _cursor: Any, sql: str, parameters: Any, _context: Any, many: bool) -> None:
        if sql.startswith(KINDS):
            asked[sql] = parameters[0] if many else parameters

    return asked


def scans(store: Store, asked: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """The statements that read whole tables, and which."""
    plans = plans_of(store.address, asked)
    return {sql: plan.whole for sql, plan in plans.items() if plan.whole}


def plans_of(address: Address, asked: dict[str, Any]) -> dict[str, Plan]:
    """What the database would do for each of these statements, with the values for it."""
    if address.file is None:
        made: dict[str, Plan] = in_thread(_on_postgresql(address, asked))
        return made
    with closing(sqlite3.connect(address.file)) as raw:
        told = {
            sql: [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {sql}", given)]
            for sql, given in asked.items()
        }
    return {sql: _sqlite_plan(lines) for sql, lines in told.items()}


def _sqlite_plan(lines: list[str]) -> Plan:
    ways = [line.split()[:2] for line in lines]
    return Plan(
        tuple(table for way, table in ways if way == "SCAN"),
        tuple(table for way, table in ways if way == "SEARCH"),
        any("TEMP B-TREE" in line for line in lines),
    )


async def _on_postgresql(address: Address, asked: dict[str, Any]) -> dict[str, Plan]:
    connection = await asyncpg.connect(name_of(address))

    async def told(avoided: tuple[str, ...]) -> dict[str, list[dict[str, Any]]]:
        for name in avoided:
            await connection.execute(f"SET enable_{name} = off")
        plans = {
            sql: await connection.fetchval(f"EXPLAIN (FORMAT JSON) {sql}", *given)
            for sql, given in asked.items()
        }
        return {sql: [*_nodes(json.loads(plan)[0]["Plan"])] for sql, plan in plans.items()}

    try:
        plans, unsorted = await told(AVOIDED), await told(SORTING)
    finally:
        await connection.close()
    return {sql: _postgresql_plan(nodes, unsorted[sql]) for sql, nodes in plans.items()}


def _postgresql_plan(nodes: list[dict[str, Any]], unsorted: list[dict[str, Any]]) -> Plan:
    """By what it does, and by what it would do in order to sort nothing."""
    (whole, found), (instead, _) = _reads(nodes), _reads(unsorted)
    return Plan(whole, found, any("Sort" in node["Node Type"] for node in unsorted) or instead != whole)


def _reads(nodes: list[dict[str, Any]]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The tables that are read whole, and those of which an index finds rows."""
    reads = [node for node in nodes if "Relation Name" in node and "Scan" in node["Node Type"]]
    # An index that is read from its one end to the other serves no better than the table.
    found = [node for node in reads if node.keys() & {"Index Cond", "Recheck Cond"}]
    whole = [node for node in reads if node not in found]
    return tuple(node["Relation Name"] for node in whole), tuple(node["Relation Name"] for node in found)


def _nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for below in node.get("Plans", ()):
        yield from _nodes(below)
