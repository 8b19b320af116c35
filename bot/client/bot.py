"""The bot: what it connects with, who is admitted, and what runs under the error policy."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, Sequence
from typing import TYPE_CHECKING, Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.client import sending
from bot.client.border import clean
from bot.client.gateway import ShardedBot
from bot.client.pace import Pace
from bot.client.policy import NOT_ALLOWED, RESTARTING, note, too_fast, uncaught
from bot.client.prompt import watch
from bot.client.respelling import respell_choices, respell_text, respell_view
from bot.client.seen import Seen
from bot.client.shards import SINGLE, Shards
from bot.client.tree import Tree, action_of
from bot.client.work import Doing, Outcome, Work
from bot.ports import Clock, Gate
from core.notation import Respell

if TYPE_CHECKING:
    from bot.client.metrics import Metrics

INTENTS = discord.Intents(guilds=True, guild_messages=True, dm_messages=True)
"""Nothing privileged: a message that mentions the bot, or is sent to it alone, comes with its text."""

LONGEST_HOLD_SECONDS = 30.0
"""How long the platform may hold us back for us to wait; where it is longer, that is told instead."""

log = logging.getLogger(__name__)

discord.VoiceClient.warn_nacl = discord.VoiceClient.warn_dave = False
"""The bot does not speak, so the library need not warn that it could not."""


def roles_of(user: discord.User | discord.Member) -> frozenset[int]:
    """The ids of the roles that the platform says somebody has where they are; none in direct messages."""
    return frozenset(role.id for role in user.roles) if isinstance(user, discord.Member) else frozenset()


class ChatBot(ShardedBot):
    """Runs the cogs and buttons that it is handed. Each cog is made with the bot; `gate` says who may do
    what; `spelling`: how what a member (the last number) reads in a server's channel is spelt just before it
    is sent, None for as it stands. `clock` is what its pace is told by. `shards`: those that this process
    holds; None for all, as many as the platform recommends."""

    def __init__(
        self,
        gate: Gate,
        cogs: Sequence[Callable[[Any], commands.Cog]],
        buttons: Sequence[type[discord.ui.DynamicItem[Any]]],
        spelling: Callable[[int | None, int, int], Respell | None],
        clock: Clock,
        shards: Shards | None = None,
    ) -> None:
        super().__init__(
            command_prefix=commands.when_mentioned,  # unused: there are no text commands
            help_command=None,
            intents=INTENTS,
            allowed_mentions=sending.NO_PINGS,
            tree_cls=Tree,
            max_ratelimit_timeout=LONGEST_HOLD_SECONDS,
            allowed_contexts=app_commands.AppCommandContext(guild=True, dm_channel=True),
            allowed_installs=app_commands.AppInstallationType(guild=True),
            shard_count=shards.count if shards is not None else None,
            shard_ids=list(shards.numbers) if shards is not None else None,
        )
        self.shards_held = shards or SINGLE
        self.work = Work()
        self._metrics: Metrics | None = None
        self._gate = gate
        self._spelling = spelling
        self._make_cogs = cogs
        self._buttons = buttons
        self._seen = Seen()
        self._pace = Pace()
        self._clock = clock

    wait = staticmethod(sending.wait)
    wait_in_place = staticmethod(sending.wait_in_place)
    show = staticmethod(sending.show)

    async def reply(
        self,
        interaction: discord.Interaction[Any],
        view: discord.ui.LayoutView,
        *,
        private: bool = False,
        files: Sequence[discord.File] = (),
    ) -> None:
        """Answer with a card, as `sending.reply` does."""
        self._spell(interaction, view)
        await sending.reply(interaction, view, private=private, files=files)

    async def reply_plainly(
        self,
        interaction: discord.Interaction[Any],
        content: str,
        view: discord.ui.View,
        *,
        private: bool = False,
        files: Sequence[discord.File] = (),
    ) -> None:
        """Answer with a plain message, as `sending.reply_plainly` does."""
        respell = self._spell(interaction, view)
        content = respell_text(content, respell) if respell is not None else content
        await sending.reply_plainly(interaction, content, view, private=private, files=files)

    async def replace(self, interaction: discord.Interaction[Any], view: discord.ui.LayoutView) -> None:
        """Change the card that a button stands on, as `sending.replace` does."""
        self._spell(interaction, view)
        await sending.replace(interaction, view)

    async def answer(self, message: discord.Message, view: discord.ui.LayoutView) -> None:
        """Answer a message with a card, as `sending.answer` does."""
        server_id = message.guild.id if message.guild else None
        respell = self._spelling(server_id, message.channel.id, message.author.id)
        if respell is not None:
            respell_view(view, respell)
        await sending.answer(message, view)

    def _spell(self, interaction: discord.Interaction[Any], view: discord.ui.view.BaseView) -> Respell | None:
        """Spell a view as it is read where the interaction came from; how that is."""
        respell = self._spelling_of(interaction)
        if respell is not None:
            respell_view(view, respell)
        return respell

    def _spelling_of(self, interaction: discord.Interaction[Any]) -> Respell | None:
        return self._spelling(interaction.guild_id, interaction.channel_id or 0, interaction.user.id)

    def measure(self, metrics: Metrics) -> None:
        """Count what is worked on, and serve that for as long as the bot runs."""
        self._metrics = metrics
        self.work.listen(metrics.work_ended)

    async def setup_hook(self) -> None:
        """Take up the cogs and buttons, and tell the platform the commands. Raises RunError where the metrics
        cannot be served."""
        if self._metrics is not None:
            await self._metrics.open()
        for make in self._make_cogs:
            await self.add_cog(make(self))
        self.add_dynamic_items(*self._buttons)
        if self.shards_held.holds(None):  # of several processes one tells the platform
            await self.tree.sync()

    async def drain(self) -> None:
        """Take no new work, and let what is running finish."""
        late = await self.work.drain()
        if late:
            log.warning("left while %d handlers were still running", late)

    async def close(self) -> None:
        """Leave the platform."""
        if self._metrics is not None:
            await self._metrics.close()
        await super().close()

    async def on_error(self, event: str, /, *args: Any, **kwargs: Any) -> None:  # noqa: ARG002 - others' words
        """Note what went wrong with an event that nobody waits for. It is no fault where the bot has gone
        meanwhile: the next one looks itself."""
        if self.is_closed():
            log.info("the event %s was not worked off, for the bot is gone", event)
        else:
            uncaught.exception("the event %s was not worked off", event)

    async def on_message(self, message: discord.Message, /) -> None:
        """No text commands: the cogs listen for themselves."""

    async def press(
        self, interaction: discord.Interaction[Any], action: str, work: Callable[[], Awaitable[None]]
    ) -> None:
        """Do what a button or a form asks for, if it may; errors are told to who pressed or sent it."""
        try:
            if await self.admit(interaction, action):
                await work()
        except Exception as error:
            await self.apologise(interaction, error, action)

    async def hear(self, message: discord.Message, action: str, work: Callable[[], Awaitable[None]]) -> None:
        """Do what a message asks for, if it may; errors are told to its author."""
        if not self._seen.is_new(message.id):
            return
        server_id = message.guild.id if message.guild else None
        taken = self.work.begin(Doing(action, server_id, message.author.id))
        try:
            if not taken:
                await sending.answer_plainly(message, RESTARTING)
                return
            author = message.author
            seconds = self._seconds_to_wait(author.id, server_id)
            if seconds:
                self.work.came_out(Outcome.TURNED_AWAY)
                if self._pace.is_to_be_told(author.id):
                    await sending.answer_plainly(message, too_fast(seconds))
                return
            may = self._gate.allows(
                action,
                server_id=server_id,
                member_id=author.id,
                manages_server=isinstance(author, discord.Member) and author.guild_permissions.manage_guild,
                joined=True,
                roles=roles_of(author),
            )
            if may:
                await work()
            else:
                self.work.came_out(Outcome.REFUSED)
                await sending.answer_plainly(message, NOT_ALLOWED)
        except discord.Forbidden as error:  # we may not speak there: nobody can be told
            self.work.came_out(Outcome.FAILED)
            note(error, action)
        except Exception as error:
            self.work.came_out(Outcome.FAILED)
            sentence = note(error, action)
            try:
                await sending.answer_plainly(message, sentence)
            except Exception as failed:
                note(failed, f"the apology for {action}")

    def offer(
        self, interaction: discord.Interaction[Any], find: Callable[[], list[app_commands.Choice[str]]]
    ) -> list[app_commands.Choice[str]]:
        """What completes an option; nothing, and a note of the error, where that fails: the library would
        swallow it."""
        try:
            return self._spelt(interaction, find())
        except Exception as error:
            self.work.came_out(Outcome.FAILED)
            note(error, action_of(interaction))
            return []

    async def offer_stored(
        self,
        interaction: discord.Interaction[Any],
        find: Callable[[], Awaitable[list[app_commands.Choice[str]]]],
    ) -> list[app_commands.Choice[str]]:
        """The same, of what has to be looked up first."""
        try:
            return self._spelt(interaction, await find())
        except Exception as error:
            self.work.came_out(Outcome.FAILED)
            note(error, action_of(interaction))
            return []

    def _spelt(
        self, interaction: discord.Interaction[Any], choices: list[app_commands.Choice[str]]
    ) -> list[app_commands.Choice[str]]:
        respell = self._spelling_of(interaction)
        return choices if respell is None else respell_choices(choices, respell)

    async def admit(self, interaction: discord.Interaction[Any], action: str) -> bool:
        """Whether this is to be worked on: not while the bot is going, not twice, not faster than is good for
        all, not by just anybody. If it is, it is acknowledged in time whatever comes."""
        typing = interaction.type is discord.InteractionType.autocomplete
        if not self._seen.is_new(interaction.id):
            return False
        clean(interaction)
        if not self.work.begin(Doing(action, interaction.guild_id, interaction.user.id)):
            refusal = RESTARTING
        elif seconds := self._seconds_to_wait(interaction.user.id, interaction.guild_id, typing=typing):
            self.work.came_out(Outcome.TURNED_AWAY)
            refusal = too_fast(seconds)
        elif not self._gate.allows(
            action,
            server_id=interaction.guild_id,
            member_id=interaction.user.id,
            manages_server=interaction.permissions.manage_guild,
            joined=interaction.guild_id is None or self.get_guild(interaction.guild_id) is not None,
            roles=roles_of(interaction.user),
        ):
            self.work.came_out(Outcome.REFUSED)
            refusal = NOT_ALLOWED
        else:
            watch(interaction, sending.acknowledge)
            return True
        await (sending.suggest(interaction, []) if typing else sending.tell(interaction, refusal))
        return False

    def _seconds_to_wait(self, member_id: int, server_id: int | None, *, typing: bool = False) -> float:
        """0 for what may be done now, which then counts."""
        now = self._clock.now().timestamp()
        return self._pace.wait_seconds(now, member_id, server_id, typing=typing)

    async def apologise(self, interaction: discord.Interaction[Any], error: Exception, action: str) -> None:
        """Note an error, and tell who asked that there was one."""
        self.work.came_out(Outcome.FAILED)
        sentence = note(error, action)
        try:
            if interaction.type is discord.InteractionType.autocomplete:
                await sending.suggest(interaction, [])
            else:
                await sending.tell(interaction, sentence)
        except Exception as failed:
            note(failed, f"the apology for {action}")
