"""Between records and rows."""

from __future__ import annotations

from dataclasses import fields
from datetime import time
from typing import Any

from sqlalchemy import ColumnElement, CursorResult, Row, ScalarSelect, and_, insert, select

from bot.results.place import Owner
from bot.results.tally import (
    Controller,
    Drops,
    KeptConversion,
    KeptTally,
    MemberSettings,
    Notation,
    SavedRoute,
    ServerSettings,
    Setup,
    SharedRoute,
    Side,
    Subject,
    SubjectKind,
    Tally,
)
from bot.storage.base import upsert
from bot.storage.schema import conversion, library, member, route, server, subject
from bot.storage.store import Reading, Writing
from core.learning.quiet import Quiet
from core.learning.tally import Context

Found = Row[*tuple[Any, ...]]
REASONS = tuple(each.name for each in fields(Drops))


def number_of(owner: Owner) -> ScalarSelect[int]:
    """The number that the owner's rows carry, as a part of a query; no row matches where there is none."""
    return select(member.c.id).where(is_of(owner)).scalar_subquery()


def is_of(owner: Owner) -> ColumnElement[bool]:
    """Whether a row of `member` is the owner's."""
    return and_(member.c.server_id == owner.server_id, member.c.member_id == owner.member_id)


async def entered(reading: Reading, owner: Owner) -> int | None:
    """The owner's number; None where nothing is kept of them."""
    query = select(member.c.id).where(is_of(owner))
    number: int | None = (await reading.connection.execute(query)).scalar_one_or_none()
    return number


async def enter(writing: Writing, owner: Owner) -> int:
    """The owner's number; a new one where nothing is kept of them yet."""
    found = await entered(writing, owner)
    if found is not None:
        return found
    known = upsert(writing.dialect, server, ("id",))
    await writing.connection.execute(known, {"id": owner.server_id})
    values = {"server_id": owner.server_id, "member_id": owner.member_id}
    return new_id(await writing.connection.execute(insert(member), values))


def new_id(added: CursorResult[Any]) -> int:
    """The number that the database gave to an inserted row."""
    key = added.inserted_primary_key
    assert key is not None
    return int(key[0])


def kept_tally(row: Found) -> KeptTally:
    """The record of a tally's row, joined with its subject's."""
    return KeptTally(
        row.id,
        row.subject_id,
        Tally(
            subject=subject_of_row(row),
            made_at=row.made_at,
            tries=row.tries,
            landed=row.landed,
            drops=Drops(**{reason: getattr(row, reason) for reason in REASONS}),
            context=Context(row.context),
            presses=row.presses,
            setup=setup_of_row(row),
            gap_frames=tuple(map(int, row.gap_frames.split())),
            note=row.note,
            game_version=row.game_version,
        ),
    )


def tally_values(tally: Tally) -> dict[str, Any]:
    """The columns of a tally, without whose it is, its subject and when it was logged."""
    return {
        "made_at": tally.made_at,
        "context": tally.context.value,
        "presses": tally.presses,
        "tries": tally.tries,
        "landed": tally.landed,
        **{reason: getattr(tally.drops, reason) for reason in REASONS},
        **setup_values(tally.setup),
        "gap_frames": " ".join(map(str, tally.gap_frames)),
        "note": tally.note,
        "game_version": tally.game_version,
    }


SUBJECT = (subject.c.game, subject.c.character, subject.c.kind, subject.c.what)
"""The columns of a subject that `subject_of_row` reads."""


def subject_of_row(row: Found) -> Subject:
    """What is practised, by the columns of `subject`."""
    return Subject(row.game, row.character, SubjectKind(row.kind), row.what)


def subject_values(about: Subject) -> dict[str, str]:
    """The columns of a subject, without whose it is."""
    return {"game": about.game, "character": about.character, "kind": about.kind.value, "what": about.what}


def setup_of_row(row: Found) -> Setup:
    """How the member played, by the columns side, controller and controls."""
    return Setup(
        Side(row.side) if row.side is not None else None,
        Controller(row.controller) if row.controller is not None else None,
        row.controls,
    )


def setup_values(setup: Setup) -> dict[str, str | None]:
    """The columns of a setup."""
    return {
        "side": setup.side.value if setup.side else None,
        "controller": setup.controller.value if setup.controller else None,
        "controls": setup.controls,
    }


def saved_route(row: Found, prefix: str = "") -> SavedRoute:
    """The record of a route's row; `prefix`: what stands before the names of its columns."""
    columns = {column.name: getattr(row, prefix + column.name) for column in route.c}
    del columns["owner_id"]
    return SavedRoute(**{**columns, "tags": tuple(columns["tags"].split())})


def shared_route(row: Found) -> SharedRoute:
    """The record of a row of the library, joined with the `member_id` of who shared it."""
    return SharedRoute(
        row.id,
        row.game,
        row.game_version,
        row.character,
        row.name,
        row.notation,
        tuple(row.tags.split()),
        row.member_id,
        row.shared_at,
    )


CONVERTED = "its_"
"""What stands before the columns of a route that are read beside those of a conversion."""
ROUTE_OF_CONVERSION = tuple(column.label(CONVERTED + column.name) for column in route.c)
CONVERSIONS = select(conversion, *ROUTE_OF_CONVERSION).join_from(conversion, route)
"""Conversions as `kept_conversion` reads them."""
SHARED = select(library, member.c.member_id).join_from(library, member)
"""Shared routes as `shared_route` reads them."""


def kept_conversion(row: Found) -> KeptConversion:
    """The record of a conversion's row, read together with `ROUTE_OF_CONVERSION`."""
    return KeptConversion(
        row.id,
        row.game,
        row.character,
        row.starter,
        row.situation,
        saved_route(row, CONVERTED),
        row.step,
        row.due_at,
    )


def member_settings(row: Found) -> MemberSettings:
    """What a member chose, by their row."""
    quiet = _quiet(row.quiet)
    setup = setup_of_row(row)
    return MemberSettings(row.character, row.goal, setup, row.zone, quiet, row.listed, row.muted)


def member_values(settings: MemberSettings) -> dict[str, Any]:
    """The columns of what a member chose."""
    return {
        "character": settings.character,
        "goal": settings.goal,
        **setup_values(settings.setup),
        "zone": settings.zone,
        "quiet": str(settings.quiet) if settings.quiet else None,
        "listed": settings.listed,
        "muted": settings.muted,
    }


def server_settings(row: Found) -> ServerSettings:
    """What a server chose, by its row."""
    columns = {each.name: getattr(row, each.name) for each in fields(ServerSettings)}
    notation = Notation(row.notation) if row.notation is not None else None
    return ServerSettings(**{**columns, "notation": notation, "quiet": _quiet(row.quiet)})


def server_values(settings: ServerSettings) -> dict[str, Any]:
    """The columns of what a server chose."""
    columns = {each.name: getattr(settings, each.name) for each in fields(ServerSettings)}
    notation = settings.notation.value if settings.notation else None
    return {**columns, "notation": notation, "quiet": str(settings.quiet) if settings.quiet else None}


def _quiet(written: str | None) -> Quiet | None:
    return None if written is None else Quiet(*map(time.fromisoformat, written.split("-")))
