"""What the program needs of the world, as small protocols, with what they raise and for whom the present
task uses them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ParamSpec, Protocol, TypeVar

P = ParamSpec("P")
Result = TypeVar("Result")
Content = TypeVar("Content", contravariant=True)


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """The time now, aware, in UTC."""
        ...


class Gate(Protocol):
    """Says who may do what."""

    def allows(
        self,
        action: str,
        *,
        server_id: int | None,
        member_id: int,
        manages_server: bool,
        joined: bool,
        roles: Collection[int],
    ) -> bool:
        """Whether this member may do this here. `server_id` is None in a direct message; `manages_server`:
        the platform lets them manage the server; `joined`: the bot is a member of that server; `roles`: the
        ids of theirs there."""
        ...


class StorageError(Exception):
    """The database cannot be used; the message is one sentence for whoever runs the bot. `reference`: the one
    under which they find it in the log, empty where it was not logged. `unsure`: what was asked for may be
    stored all the same, or a part of it."""

    def __init__(self, sentence: str, reference: str = "", *, unsure: bool = False) -> None:
        super().__init__(sentence)
        self.reference = reference
        self.unsure = unsure


class WorkerError(Exception):
    """Work that was not done: it failed, took too long, or its process died."""


acting_for: ContextVar[int | None] = ContextVar("acting_for", default=None)
"""The member whom the present task answers; None where the bot acts by itself."""
may_be_stored: ContextVar[bool] = ContextVar("may_be_stored", default=False)
"""Whether something may be stored already of what the present task was asked for."""


class Worker(Protocol):
    """Does slow work in another process."""

    def start(self) -> None:
        """Get ready, in the background."""
        ...

    async def run(self, work: Callable[P, Result], *args: P.args, **kwargs: P.kwargs) -> Result:
        """What a function of some module makes of plain values. Raises WorkerError."""
        ...

    async def close(self) -> None:
        """End the processes; what still runs is given up."""
        ...


@dataclass(frozen=True, slots=True)
class Outgoing:
    """What is posted in chat. `view`: a card of the chat library, with one button of ours at least;
    `pictures`: those that it shows, each as (name of the file, PNG). `mention`: the one user who is pinged
    where the card names them; nobody else ever is."""

    view: Any
    pictures: tuple[tuple[str, bytes], ...] = ()
    mention: int | None = None


class NotReachableError(Exception):
    """Nothing can be posted there, now or later: the channel is gone, or its member takes no direct messages
    from us."""


class NotReadableError(Exception):
    """The channel's history may not be read, so that nobody can tell whether a post stands there."""


class Poster(Protocol[Content]):
    """Posts messages, each of which carries a marker in something that its channel's history keeps."""

    async def post(self, channel_id: int, marker: str, content: Content) -> int:
        """Post it, with the marker; the id of the message. Raises NotReachableError."""
        ...

    async def find(self, channel_id: int, marker: str, since: datetime) -> int | None:
        """The id of our own message with this marker in the channel's history since then; None where there
        is none, or no such channel any more. Raises NotReadableError."""
        ...


class Timer(Protocol):
    """Something that will be called."""

    def cancel(self) -> object:
        """Do not call it."""
        ...


class Timers(Protocol):
    """Calls later; an event loop does."""

    def call_later(self, delay: float, callback: Callable[[], object]) -> Timer:
        """Call it once, after so many seconds."""
        ...
