"""Game files that moderators sent and have not confirmed yet: one lot of each."""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ScalarSelect, delete, insert, select, update

from bot.results.files import Upload
from bot.results.place import Owner
from bot.storage.rows import Found, enter, new_id, number_of
from bot.storage.schema import upload
from bot.storage.store import Reading, Writing


@dataclass(frozen=True, slots=True)
class KeptUpload:
    """What was sent. `columns`: what its moderator said that columns are, None: left out; `character`: whose
    moves a sheet has that names nobody; `game`: what its channel was about then."""

    id: int
    files: tuple[Upload, ...]
    columns: Mapping[str, str | None]
    character: str | None
    game: str
    reason: str
    made_at: datetime


async def put(writing: Writing, owner: Owner, sent: KeptUpload) -> int:
    """Keeps what somebody sent in place of what they sent before; its number, which no other ever had."""
    number = await enter(writing, owner)
    await writing.connection.execute(delete(upload).where(upload.c.owner_id == number))
    files = [[file.name, b64encode(file.data).decode("ascii")] for file in sent.files]
    values = {
        "owner_id": number,
        "files": json.dumps({"game": sent.game, "files": files}),
        "columns": json.dumps(dict(sent.columns)),
        "character": sent.character,
        "reason": sent.reason,
        "made_at": sent.made_at,
    }
    return new_id(await writing.connection.execute(insert(upload), values))


async def get(reading: Reading, owner: Owner, upload_id: int) -> KeptUpload | None:
    """What this member sent under this number."""
    query = select(upload).where(upload.c.id == upload_id, upload.c.owner_id == number_of(owner))
    row = (await reading.connection.execute(query)).one_or_none()
    return _kept(row) if row is not None else None


async def of_owner(reading: Reading, owner: Owner) -> KeptUpload | None:
    """What this member sent last."""
    query = select(upload).where(upload.c.owner_id == number_of(owner))
    row = (await reading.connection.execute(query)).one_or_none()
    return _kept(row) if row is not None else None


async def set_columns(writing: Writing, upload_id: int, columns: Mapping[str, str | None]) -> None:
    """Keeps what its moderator says that the columns are."""
    changed = update(upload).where(upload.c.id == upload_id).values(columns=json.dumps(dict(columns)))
    await writing.connection.execute(changed)


async def drop(writing: Writing, upload_id: int) -> None:
    """Forgets it."""
    await writing.connection.execute(delete(upload).where(upload.c.id == upload_id))


async def prune(writing: Writing, before: datetime) -> int:
    """Forgets what was sent before this moment; how many lots."""
    gone = await writing.connection.execute(delete(upload).where(upload.c.made_at < before))
    return gone.rowcount


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """Forgets what the member with this number sent."""
    await writing.connection.execute(delete(upload).where(upload.c.owner_id == number))


def _kept(row: Found) -> KeptUpload:
    sent = json.loads(row.files)
    files = tuple(Upload(name, b64decode(data)) for name, data in sent["files"])
    columns = json.loads(row.columns)
    return KeptUpload(row.id, files, columns, row.character, sent["game"], row.reason, row.made_at)
