"""Work that is due at some moment, and the posts that such work makes."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do once, at `due_at`. `key`: there is one job of each; `kind`: whose work it is.

    `payload` goes through JSON. Neither it nor the key may name a member: jobs outlive the erasure of a
    member's data. They hold the ids of rows, which are looked up when the job is done.
    """

    key: str
    kind: str
    due_at: datetime
    payload: Mapping[str, Any] = field(default_factory=dict)
    server_id: int | None = None


Handler = Callable[[Job, timedelta], Awaitable[None]]
"""Does a job, given how late it is. It may be called again for a job that it did, in whole or in part, when
the process died before that was noted: what it does must be the same for once and for twice."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A job that somebody is at. `token`: of this claim alone; `failures`: how often it failed before."""

    id: int
    token: str
    job: Job
    failures: int


@dataclass(frozen=True, slots=True)
class Post:
    """A message that is to be posted once. `made_at`: since when it may stand in the channel;
    `message_id` and `sent_at` are None until it is known to stand there."""

    key: str
    channel_id: int
    made_at: datetime
    message_id: int | None = None
    sent_at: datetime | None = None
