"""Connecting to the real platform, and leaving it again. What another try might mend is waited for; what it
cannot is one sentence."""

from __future__ import annotations

import asyncio
import logging
import random
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import discord

from bot.client.bot import ChatBot
from bot.client.gateway import BAD_TOKEN_CLOSE, INTENTS_CLOSES, SHARDS_CLOSES, STEADY_SECONDS, TROUBLE
from bot.client.policy import uncaught
from bot.client.waits import Waits
from bot.ports import StorageError

log = logging.getLogger(__name__)

LOGIN_SECONDS = 60.0
TOO_MANY_REQUESTS = 429

NO_TOKEN = "There is no token: set CORNERMAN_TOKEN, or token in the config file, to the bot's own."
BAD_TOKEN = "The platform did not take the token: copy it anew from the bot's page there."
NO_INTENTS = "The platform refused what the bot may hear (its intents): allow it on the bot's page there."
BAD_SHARDS = "The platform refused the shards {shards}: start all processes with a larger count."
NO_NETWORK = "The platform cannot be reached: check this machine's network, and whether the platform is up."
NOT_PLATFORM = "What answered is not the platform: check this machine's network and proxy."
REFUSED = "The platform refused the bot ({status} {reason}): check the bot's page there, then start again."
LOST = "The platform ended the connection ({code})."
ENDED = "The connection ended."
FAILED = "The bot met with an error of its own."


class RunError(Exception):
    """The bot cannot run; the message is one sentence for whoever started it. It ends the first try; where
    the bot was logged in once, it is waited for better times."""


class SettingsError(RunError):
    """The bot cannot run, nor could it ever, as it is set up."""


class _AwayError(Exception):
    """The bot cannot run now; the message is one sentence for the log."""


async def run(
    make_bot: Callable[[], ChatBot], token: str, chance: Callable[[], float] = random.random
) -> None:
    """Connect and stay until SIGTERM or SIGINT; a second one ends the process at once. Where the platform is
    away, or the connection is lost for good, it is tried again for ever, each time with a bot of its own and
    after a longer wait (`chance` as `Waits` has it).

    Raises RunError, and in the first try what `make_bot` and the opening of the database raise.
    """
    token = token.strip()
    if not token:
        raise SettingsError(NO_TOKEN)
    if not token.isascii() or not token.isprintable() or " " in token:
        raise SettingsError(BAD_TOKEN)
    with _told_to_stop() as stop, _errors_logged():
        await _Supervised(make_bot, token, Waits(chance), stop).stay()


class _Supervised:
    """One try after the other. `stop`: when it is set, they end."""

    def __init__(
        self, make_bot: Callable[[], ChatBot], token: str, waits: Waits, stop: asyncio.Event
    ) -> None:
        self._make_bot = make_bot
        self._token = token
        self._waits = waits
        self._stop = stop
        self._was_logged_in = False

    async def stay(self) -> None:
        """Try for ever. Raises as `run` does."""
        clock = asyncio.get_running_loop().time
        while not self._stop.is_set():
            began_at = clock()
            sentence = await self._try()
            if self._stop.is_set():
                return
            if self._was_logged_in and clock() - began_at >= STEADY_SECONDS:
                self._waits.reset()
            seconds = self._waits.next()
            log.warning("%s The next try is in %.0f s.", sentence, seconds)
            stopping = asyncio.create_task(self._stop.wait(), name="signal")
            await asyncio.wait((stopping,), timeout=seconds)
            stopping.cancel()

    async def _try(self) -> str:
        """Stay connected for as long as it lasts; why it did not. Raises what is not to be tried again."""
        try:
            async with self._make_bot() as bot:
                await self._stay(bot)
            return ENDED
        except _AwayError as error:
            return str(error)
        except SettingsError:
            raise
        except Exception as error:
            if not self._was_logged_in:
                raise
            if isinstance(error, RunError | StorageError):
                return str(error)
            log.exception("the bot failed, and begins anew")
            return FAILED

    async def _stay(self, bot: ChatBot) -> None:
        staying = asyncio.create_task(self._connect(bot), name="connection")
        stopping = asyncio.create_task(self._stop.wait(), name="signal")
        await asyncio.wait((staying, stopping), return_when=asyncio.FIRST_COMPLETED)
        stopping.cancel()
        await bot.drain()  # also where the connection is lost: answers go another way
        if not self._stop.is_set():
            staying.result()
            return
        staying.cancel()
        await asyncio.wait((staying,))
        if not staying.cancelled() and staying.exception() is not None:
            log.info("the connection ended while the bot was told to stop: %r", staying.exception())

    async def _connect(self, bot: ChatBot) -> None:
        """Log in, and stay connected. Raises RunError and _AwayError."""
        try:
            try:
                await asyncio.wait_for(bot.login(self._token), LOGIN_SECONDS)
            except (KeyError, TypeError, ValueError):
                raise RunError(NOT_PLATFORM) from None
            self._was_logged_in = True
            await bot.connect()
        except discord.LoginFailure:
            raise SettingsError(BAD_TOKEN) from None
        except discord.ConnectionClosed as error:
            raise _closed(error.code, bot) from None
        except discord.HTTPException as error:
            if error.status >= 500 or error.status == TOO_MANY_REQUESTS:
                raise _AwayError(NO_NETWORK) from None
            raise RunError(REFUSED.format(status=error.status, reason=error.response.reason)) from None
        except (*TROUBLE, discord.RateLimited):
            raise _AwayError(NO_NETWORK) from None


def _closed(code: int, bot: ChatBot) -> Exception:
    """What a close code of the gateway comes to."""
    if code == BAD_TOKEN_CLOSE:
        return SettingsError(BAD_TOKEN)
    if code in INTENTS_CLOSES:
        return SettingsError(NO_INTENTS)
    if code in SHARDS_CLOSES and bot.shard_ids is not None:  # else the platform says how many, each time
        return SettingsError(BAD_SHARDS.format(shards=bot.shards_held))
    return _AwayError(LOST.format(code=code))


@contextmanager
def _told_to_stop() -> Iterator[asyncio.Event]:
    """Within, SIGTERM and SIGINT set the event; whichever comes next ends the process, as it does outside."""
    loop, stop = asyncio.get_running_loop(), asyncio.Event()
    before = {name: signal.getsignal(name) for name in (signal.SIGINT, signal.SIGTERM)}

    def told() -> None:
        stop.set()
        for name in before:
            loop.remove_signal_handler(name)
            signal.signal(name, signal.SIG_DFL)
        log.info("told to stop; told again, it ends at once")

    try:
        for name in before:
            loop.add_signal_handler(name, told)
    except NotImplementedError:  # Windows: Ctrl-C comes as KeyboardInterrupt
        yield stop
        return
    try:
        yield stop
    finally:
        for name, handler in before.items():
            loop.remove_signal_handler(name)
            signal.signal(name, handler or signal.SIG_DFL)


@contextmanager
def _errors_logged() -> Iterator[None]:
    """Within, what no task caught comes to our own log."""
    loop = asyncio.get_running_loop()
    before = loop.get_exception_handler()

    def note(_: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        uncaught.error("%s", context.get("message"), exc_info=context.get("exception"))

    loop.set_exception_handler(note)
    try:
        yield
    finally:
        loop.set_exception_handler(before)
