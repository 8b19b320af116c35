"""Puts the program together: games, storage, services, cogs, buttons. `run`, the room and tests call it."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import partial
from typing import ParamSpec

import discord

from bot.client.bot import ChatBot
from bot.client.metrics import Metrics, Readings
from bot.client.names import Names
from bot.client.poster import ChannelPoster
from bot.client.respelling import respell_view
from bot.client.shards import Shards
from bot.cogs.every import COGS
from bot.components.acts import ACTS, COACH_ACTS, LIST_ACTS, MOD_ACTS
from bot.components.drawn import Drawn
from bot.components.drill_jobs import drill_jobs, refresh_drill
from bot.components.every import BUTTONS
from bot.components.joining import joined
from bot.components.layout import Layout
from bot.components.notice_jobs import notice_jobs
from bot.components.patch_notices import patch_jobs
from bot.components.server_jobs import server_jobs
from bot.config import Settings
from bot.gamefiles import Source, game_file, own_games, packaged_games, read_both, read_game
from bot.ports import Clock, NotReachableError, Outgoing, Worker, WorkerError
from bot.render.pictures import warm_up
from bot.results.place import Place
from bot.results.tally import Notation
from bot.scheduler.refresher import Refresher
from bot.scheduler.scheduler import Scheduler
from bot.services.access import Access
from bot.services.audit import AuditService
from bot.services.coach_board import BoardService
from bot.services.coaching import CoachingService
from bot.services.conversions import ConversionService
from bot.services.desk import AskDesk
from bot.services.drafts import Drafts
from bot.services.drill_boards import DrillBoards
from bot.services.drill_desk import DrillDesk
from bot.services.drill_judging import DrillJudging
from bot.services.drill_part import DrillPartService
from bot.services.drill_watch import DrillWatch
from bot.services.easier import EasierService
from bot.services.game_book import GameBook
from bot.services.game_changes import GameChanges
from bot.services.game_desk import GameDesk
from bot.services.game_reports import GameReports
from bot.services.game_uploads import GameUploads
from bot.services.hands import TimingService
from bot.services.homework import HomeworkService
from bot.services.homework_review import ReviewService
from bot.services.in_step import InStep
from bot.services.jobs import JobService
from bot.services.leaving import LeavingService
from bot.services.library import LibraryService
from bot.services.log import LogService
from bot.services.notices import NoticeService
from bot.services.opening import RouteOpener
from bot.services.patch_telling import PatchTelling
from bot.services.patch_views import PatchViews
from bot.services.patches import PatchService
from bot.services.plan import PlanService
from bot.services.playing import PlayService
from bot.services.posts import PostService, marker_of
from bot.services.privacy import PrivacyService
from bot.services.progress import ProgressService
from bot.services.quiz import QuizService
from bot.services.reminders import ReminderService
from bot.services.retention import RetentionService
from bot.services.route_drill import DrillService
from bot.services.route_finder import RouteFinder
from bot.services.routes import RouteService
from bot.services.settings import SettingsBook
from bot.services.sheets import SheetService
from bot.storage.address import address_of
from bot.storage.store import Store
from bot.worker import WorkerPool
from core.gamefile import GameFileError
from core.model import Game
from core.notation import Respell, letters_for

P = ParamSpec("P")

log = logging.getLogger(__name__)


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The time now, aware, in UTC."""
        return datetime.now(UTC)


class Cornerman(ChatBot):
    """The bot with all that it does. It opens its database when it connects, and closes it when it goes."""

    acts = ACTS
    coach_acts = COACH_ACTS
    list_acts = LIST_ACTS
    mod_acts = MOD_ACTS

    def __init__(
        self,
        games: Mapping[str, Game],
        sources: Mapping[str, Source],
        default_game: str,
        store: Store,
        clock: Clock,
        worker: Worker,
        shards: Shards | None = None,
    ) -> None:
        self.book = SettingsBook(store, clock)
        self.access = Access(
            lambda server_id: self.book.server(server_id).coach_role,
            lambda server_id, member_id: self.coaching.is_student(server_id, member_id),
            lambda server_id: self.book.server(server_id).moderator_role,
        )
        super().__init__(self.access, COGS, BUTTONS, self.spelling, clock, shards)
        self.store = store
        self._worker = worker
        self.names = Names(self)
        self._poster = ChannelPoster(self)
        self._posts = PostService(store, clock, self._poster)
        self.jobs = JobService(store, clock)
        self.notices = NoticeService(self.jobs, self.book, clock)
        self.game_book = GameBook(store, clock, self.book, games, sources)
        self.desk = AskDesk(self.book, self.game_book, default_game, clock)
        self.timing = TimingService(store, self.desk, self.book, clock, worker)
        self.log = LogService(store, self.desk, self.book, clock, self.timing)
        self.progress = ProgressService(store, self.desk, self.book, clock)
        self.plans = PlanService(store, self.desk, self.book, clock)
        self.routes = RouteService(store, self.desk, self.book, clock)
        self.opener = RouteOpener(store, self.desk, self.timing)
        self.finder = RouteFinder(store, self.desk, self.book, clock, self.timing, self.opener, worker)
        self.playing = PlayService(store, self.desk, self.book, worker)
        self.drills = DrillService(store, self.book, clock, worker)
        self.drill_watch = DrillWatch(store, lambda server_id: self.shards_held.holds(server_id))
        self.log.listen(self.drill_watch.changed)
        self.game_book.listen(self.drill_watch.game_changed)
        groups = (store, self.desk, self.book, clock)
        self.drill_desk = DrillDesk(*groups, self.jobs, self.drill_watch)
        self.drill_part = DrillPartService(*groups, self.log, self.drill_watch)
        self.drill_boards = DrillBoards(*groups, self.jobs, self.notices, self.drill_watch)
        self.drill_judging = DrillJudging(store, self.book, clock, self.notices, self.drill_watch)
        self.coaching = CoachingService(store, self.book, clock, self.notices)
        self.homework = HomeworkService(*groups, self.notices, self.log)
        self.easier = EasierService(self.homework, self.opener, self.finder)
        self.reviews = ReviewService(*groups, self.notices)
        self.boards = BoardService(*groups)
        self.reminders = ReminderService(store, self.book, clock, self.notices)
        views = PatchViews(store, self.game_book, self.book, worker)
        self.patches = PatchService(store, self.desk, self.game_book, self.book, clock, views)
        self.patch_telling = PatchTelling(store, self.game_book, views, clock, self.jobs, self.notices)
        self.library = LibraryService(store, self.routes, self.desk, self.book, clock)
        self.conversions = ConversionService(store, self.desk, self.routes)
        changes = GameChanges(store, self.game_book, self.book, clock)
        changes.tell_with(self.patch_telling.owe)
        self.game_uploads = GameUploads(store, self.desk, self.game_book, self.book, clock, worker, changes)
        self.game_desk = GameDesk(store, self.desk, self.game_book, changes)
        self.game_reports = GameReports(
            store, self.desk, self.game_desk, changes, self.book, clock, self.notices
        )
        self.sheets = SheetService(store, self.desk, self.timing, worker)
        self.quiz = QuizService(store, self.desk, clock)
        self.privacy = PrivacyService(store, self.book)
        self.privacy.listen(self.drill_watch.touch)
        self.privacy.forget_with(self.coaching.drop)
        self.audit = AuditService(store)
        self.retention = RetentionService(store, self.book, self.jobs, clock)
        self.leaving = LeavingService(store, self.jobs, clock)
        self.leaving.forget_with(
            self.book.drop_server,
            self.coaching.drop_server,
            self.drill_watch.drop_server,
            self.game_book.forget_server,
        )
        self.drafts = Drafts()
        self.drawn = Drawn()
        handlers = {**drill_jobs(self), **notice_jobs(self), **patch_jobs(self), **server_jobs(self)}
        self.scheduler = Scheduler(self.jobs, clock, handlers)
        self.refresher = Refresher(partial(refresh_drill, self))
        self.drill_watch.listen(self.refresher.touch)
        self.in_step = InStep(store, self.book, self.game_book, self.coaching, self.drill_watch)
        self.in_step.ring_with(self.scheduler.arm)
        self.in_step.forget_with(self.drafts.forget)
        self._shards_to_compare = Refresher(self._compare)
        self._servers_to_compare = Refresher(self._compare_server)

    async def setup_hook(self) -> None:
        """Open the database, read the settings, then take up commands and buttons. Raises StorageError."""
        await self.store.open()
        await self.in_step.open()
        self._worker.start()
        await super().setup_hook()

    async def on_shard_ready(self, shard: int) -> None:
        """Begin to do what is due, once one of our shards is connected: what is posted goes another way. Then
        take up what happened in its servers while it was not; called again after each time that it was lost
        for long; later, where the database cannot be used."""
        if self.work.draining:  # whoever comes next sees to it
            return
        self.scheduler.start()
        await self._shards_to_compare.now(shard)

    async def _compare(self, shard: int) -> None:
        """Of servers on other shards we know nothing."""

        def ours(server_id: int) -> bool:
            return self.shards_held.of(server_id) == shard

        for drill_id in await self.drill_boards.open_drills(ours):
            self.refresher.touch(drill_id)
        await self.retention.plan()
        await self.leaving.compare([guild.id for guild in self.guilds], ours)

    async def drain(self) -> None:
        """Take no new work and begin no job and no refresh; let what is being done finish."""
        await asyncio.gather(super().drain(), self._rest())

    async def _rest(self) -> None:
        refreshers = (self.refresher, self._shards_to_compare, self._servers_to_compare)
        await asyncio.gather(self.scheduler.stop(), *(each.stop() for each in refreshers))

    async def on_guild_join(self, guild: discord.Guild) -> None:
        """A server has taken us, for the first time or back."""
        await self._servers_to_compare.now(guild.id)

    async def on_guild_remove(self, guild: discord.Guild) -> None:
        """A server has sent us away, or is gone."""
        await self._servers_to_compare.now(guild.id)

    async def _compare_server(self, server_id: int) -> None:
        guild = self.get_guild(server_id)
        if guild is not None:
            await joined(self, guild)
        else:
            await self.leaving.left(server_id)

    def spelling(self, server_id: int | None, channel_id: int, member_id: int) -> Respell | None:
        """Moves are written as the server has it; in direct messages as the member's home does."""
        place = self.book.home(Place(server_id, channel_id, member_id))
        if self.book.server(place.server_id).notation is not Notation.LETTERS:
            return None
        return letters_for(self.desk.game_of(place).buttons)

    def _spell_post(self, channel_id: int, layout: Layout, home: int | None) -> None:
        """The same for what is posted unasked; `home`: the server whose matter it is."""
        respell = self.spelling(home, channel_id, 0)
        if respell is not None:
            respell_view(layout, respell)

    async def post_once(
        self,
        key: str,
        channel_id: int,
        layout: Layout,
        mention: int | None = None,
        home: int | None = None,
    ) -> int | None:
        """Post a card under a key, where none stands under it: its message's id; None where nobody can post
        there."""
        self._spell_post(channel_id, layout, home)
        try:
            return await self._posts.post_once(key, channel_id, _outgoing(layout, mention))
        except NotReachableError:
            return None

    async def edit_post(self, key: str, layout: Layout, home: int) -> bool:
        """Change the card that was posted under a key; False where it is gone, or never was."""
        post = await self._posts.noted(key)
        if post is None or post.message_id is None:
            return False
        self._spell_post(post.channel_id, layout, home)
        return await self._poster.edit(post.channel_id, post.message_id, marker_of(key), _outgoing(layout))

    async def direct_channel(self, member_id: int) -> int | None:
        """The channel of our direct messages with somebody; None where there is no such user."""
        return await self._poster.direct(member_id)

    async def draw(self, work: Callable[P, bytes], *args: P.args, **kwargs: P.kwargs) -> bytes | None:
        """A picture, drawn in another process; None where that failed."""
        try:
            return await self._worker.run(work, *args, **kwargs)
        except WorkerError:
            return None

    def readings(self) -> Readings:
        """What the metrics look up."""
        return Readings(
            self.jobs.waiting, lambda: self.store.writes, lambda: self.latency, lambda: len(self.guilds)
        )

    async def close(self) -> None:
        """Finish what is being done, leave the platform, then close what was opened."""
        await self._rest()
        await super().close()
        await self.in_step.close()
        await self.store.close()
        await self._worker.close()


def _outgoing(layout: Layout, mention: int | None = None) -> Outgoing:
    pictures = tuple((picture.name, picture.png) for picture in layout.pictures)
    return Outgoing(layout, pictures, mention)


def build(
    settings: Settings, clock: Clock, worker: Worker | None = None, shards: Shards | None = None
) -> Cornerman:
    """The bot, not connected. `worker`: None for processes of its own, which start when they are needed;
    `shards`: those that it holds, None for all, as many as the platform recommends. Raises GameFileError and
    GameNotFoundError, for a member of staff to read."""
    files = {**packaged_games(), **own_games(settings.games_folder)}
    default = game_file(settings.default_game, settings.games_folder)
    name = next((name for name, file in files.items() if file == default), settings.default_game)
    games: dict[str, Game] = {}
    sources: dict[str, Source] = {}
    for called, file in {**files, name: default}.items():
        try:
            sources[called], games[called] = read_both(file)
        except GameFileError as error:
            games[called] = read_game(file)  # readable by itself, but not as a spreadsheet
            log.warning("No versions of %s are kept: %s", file, error)
    store = Store(address_of(settings.database))
    bot = Cornerman(games, sources, name, store, clock, worker or WorkerPool(warm_up), shards)
    if settings.metrics_port:
        metrics = Metrics(settings.metrics_port, bot.readings())
        bot.measure(metrics)
        bot.scheduler.listen(metrics.job_ended)
    return bot
