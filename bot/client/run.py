"""Connecting to the real platform, and leaving it again. What goes wrong is one sentence."""

from __future__ import annotations

import asyncio
import logging
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from typing import cast

import aiohttp
import discord

from bot.client.bot import ChatBot

log = logging.getLogger(__name__)

LOGIN_SECONDS = READY_SECONDS = 60.0
BAD_TOKEN_CLOSE, INTENTS_CLOSES = 4004, (4013, 4014)  # the platform's close codes

NO_TOKEN = "There is no token: set CORNERMAN_TOKEN, or token in the config file, to the bot's own."
BAD_TOKEN = "The platform did not take the token: copy it anew from the bot's page there."
NO_INTENTS = "The platform refused what the bot may hear (its intents): allow it on the bot's page there."
NO_NETWORK = "The platform cannot be reached: check this machine's network, and whether the platform is up."
NOT_PLATFORM = "What answered is not the platform: check this machine's network and proxy."
REFUSED = "The platform refused the bot ({status} {reason}): check the bot's page there, then start again."


class RunError(Exception):
    """The bot cannot run; the message is one sentence for whoever started it."""


class _OnceReady:
    """Tells the library, which asks at each loss, to reconnect once the bot has been connected."""

    def __init__(self, bot: ChatBot) -> None:
        self._bot = bot

    def __bool__(self) -> bool:
        return self._bot.is_ready()


async def run(bot: ChatBot, token: str) -> None:
    """Connect and stay until SIGTERM or SIGINT, or until the platform ends it. Raises RunError."""
    token = token.strip()
    if not token:
        raise RunError(NO_TOKEN)
    if not token.isascii() or not token.isprintable() or " " in token:
        raise RunError(BAD_TOKEN)
    stop = asyncio.Event()
    logging.getLogger("discord.client").addFilter(_in_one_line)
    with _signals_set(stop):
        async with bot:
            staying = asyncio.create_task(_stay(bot, token), name="connection")
            stopping = asyncio.create_task(stop.wait(), name="signal")
            await asyncio.wait((staying, stopping), return_when=asyncio.FIRST_COMPLETED)
            stopping.cancel()
            if not staying.done():
                await leave(bot)
                staying.cancel()
                await asyncio.wait((staying,))
            if not staying.cancelled():
                staying.result()


async def leave(bot: ChatBot) -> None:
    """Take no new work, let what is running finish, then go."""
    late = await bot.work.drain()
    if late:
        log.warning("left while %d handlers were still running", late)
    await bot.close()


async def _stay(bot: ChatBot, token: str) -> None:
    """Connect, which must work at once; after that the library reconnects by itself."""
    try:
        try:
            await asyncio.wait_for(bot.login(token), LOGIN_SECONDS)
        except (KeyError, TypeError, ValueError):
            raise RunError(NOT_PLATFORM) from None
        await _connect(bot)
    except discord.LoginFailure:
        raise RunError(BAD_TOKEN) from None
    except discord.PrivilegedIntentsRequired:
        raise RunError(NO_INTENTS) from None
    except discord.ConnectionClosed as error:
        closes = {BAD_TOKEN_CLOSE: BAD_TOKEN} | dict.fromkeys(INTENTS_CLOSES, NO_INTENTS)
        raise RunError(closes.get(error.code, NO_NETWORK)) from None
    except discord.DiscordServerError:
        raise RunError(NO_NETWORK) from None
    except discord.HTTPException as error:
        raise RunError(REFUSED.format(status=error.status, reason=error.response.reason)) from None
    except (aiohttp.ClientError, OSError, TimeoutError, discord.GatewayNotFound):
        raise RunError(NO_NETWORK) from None


async def _connect(bot: ChatBot) -> None:
    """Stay connected. A connection that is never ready would be tried again for ever by the library."""
    connection = asyncio.create_task(bot.connect(reconnect=cast(bool, _OnceReady(bot))))
    ready = asyncio.create_task(bot.wait_until_ready())
    try:
        await asyncio.wait((connection, ready), timeout=READY_SECONDS, return_when=asyncio.FIRST_COMPLETED)
        if not connection.done() and not bot.is_ready():
            raise RunError(NO_NETWORK)
        await connection
    finally:
        for task in (connection, ready):
            task.cancel()
        await asyncio.wait((connection, ready))


@contextmanager
def _signals_set(stop: asyncio.Event) -> Iterator[None]:
    """Within, SIGTERM and SIGINT set the event."""
    loop, taken = asyncio.get_running_loop(), list[signal.Signals]()
    for name in (signal.SIGINT, signal.SIGTERM):
        try:
            loop.add_signal_handler(name, stop.set)
        except NotImplementedError:  # Windows: Ctrl-C comes as KeyboardInterrupt
            break
        taken.append(name)
    try:
        yield
    finally:
        for name in taken:
            loop.remove_signal_handler(name)


def _in_one_line(record: logging.LogRecord) -> bool:
    """A lost connection is no fault of the program: it is logged with its cause, without a traceback."""
    if record.exc_info and record.exc_info[0] and str(record.msg).startswith("Attempting a reconnect"):
        record.msg = f"{record.msg} (%s)"
        record.args = (*cast(tuple[object, ...], record.args or ()), record.exc_info[0].__name__)
        record.exc_info = None
    return True
