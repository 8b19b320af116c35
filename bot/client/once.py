"""Sending what must not be sent twice: a message beside an answer, for which the platform takes no key."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import aiohttp
import discord

SERVER_ERROR = 500  # the least of the statuses by which the platform says that the fault is its own


class Once:
    """Passes requests on, for the library, which sends again what the platform failed at: here that is an
    error at once, for what failed may have been done all the same."""

    def __init__(self, session: aiohttp.ClientSession) -> None:
        self._session = session

    @asynccontextmanager
    async def request(self, *args: Any, **kwargs: Any) -> AsyncIterator[aiohttp.ClientResponse]:
        """As the session's. Raises DiscordServerError, and ConnectionError where the connection was lost."""
        try:
            async with self._session.request(*args, **kwargs) as response:
                if response.status >= SERVER_ERROR:
                    raise discord.DiscordServerError(response, await response.text())
                yield response
        except OSError as error:  # without its number, by which the library would know what to send again
            raise ConnectionError(f"the connection was lost: {error!r}") from error
