"""What commands and buttons need of the bot that they run in."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Collection, Mapping, Sequence
from typing import Any, ParamSpec, Protocol

import discord
from discord import app_commands

from bot.components.act import Act, CoachAct, ListAct, ModAct
from bot.components.drawn import Drawn
from bot.components.layout import Layout
from bot.results.place import Owner, Place
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
from bot.services.easier import EasierService
from bot.services.game_book import GameBook
from bot.services.game_desk import GameDesk
from bot.services.game_reports import GameReports
from bot.services.game_uploads import GameUploads
from bot.services.hands import TimingService
from bot.services.homework import HomeworkService
from bot.services.homework_review import ReviewService
from bot.services.leaving import LeavingService
from bot.services.library import LibraryService
from bot.services.log import LogService
from bot.services.notices import NoticeService
from bot.services.opening import RouteOpener
from bot.services.patch_telling import PatchTelling
from bot.services.patches import PatchService
from bot.services.plan import PlanService
from bot.services.playing import PlayService
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

P = ParamSpec("P")


class Names(Protocol):
    """What a server and its members are called there."""

    async def server(self, server_id: int) -> str | None:
        """The server's name; None where we are not in it, or are not told."""

    async def are_we_in(self, server_id: int) -> bool:
        """Whether we are in this server now. Raises what the platform's silence raises."""

    async def of(self, server_id: int, member_ids: Collection[int]) -> Mapping[int, str]:
        """Their names; who left the server is left out."""

    async def is_here(self, server_id: int, member_id: int) -> bool:
        """Whether they are a member now."""

    async def with_role(self, server_id: int, member_ids: Collection[int], role_id: int) -> tuple[int, ...]:
        """Those of them who have this role now."""


class Chat(Protocol):
    """The bot as its cogs and buttons see it."""

    desk: AskDesk
    game_book: GameBook
    book: SettingsBook
    log: LogService
    timing: TimingService
    progress: ProgressService
    plans: PlanService
    routes: RouteService
    library: LibraryService
    opener: RouteOpener
    finder: RouteFinder
    playing: PlayService
    drills: DrillService
    drill_desk: DrillDesk
    drill_part: DrillPartService
    drill_boards: DrillBoards
    drill_judging: DrillJudging
    coaching: CoachingService
    homework: HomeworkService
    easier: EasierService
    reviews: ReviewService
    boards: BoardService
    reminders: ReminderService
    patches: PatchService
    patch_telling: PatchTelling
    game_uploads: GameUploads
    game_desk: GameDesk
    game_reports: GameReports
    conversions: ConversionService
    sheets: SheetService
    quiz: QuizService
    privacy: PrivacyService
    audit: AuditService
    retention: RetentionService
    leaving: LeavingService
    notices: NoticeService
    drawn: Drawn
    drafts: Drafts
    acts: Mapping[Act, Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]]
    """What the buttons of the practice log do."""
    coach_acts: Mapping[CoachAct, Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]]
    """What the buttons for coaches do."""
    mod_acts: Mapping[ModAct, Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]]
    """What the buttons for moderators do."""
    list_acts: Mapping[
        ListAct, Callable[[Chat, discord.Interaction[Any], int, tuple[int, ...]], Awaitable[None]]
    ]
    """What the lists to pick several things from do."""

    @property
    def names(self) -> Names:
        """What members are called."""

    @property
    def user(self) -> discord.ClientUser | None:
        """The bot's own account; None before it has connected."""

    async def reply(
        self,
        interaction: discord.Interaction[Any],
        view: discord.ui.LayoutView,
        *,
        private: bool = False,
        files: Sequence[discord.File] = (),
    ) -> None:
        """Answer a command, a button or a form with a card; `private`: only who asked sees it."""

    async def reply_plainly(
        self,
        interaction: discord.Interaction[Any],
        content: str,
        view: discord.ui.View,
        *,
        private: bool = False,
        files: Sequence[discord.File] = (),
    ) -> None:
        """Answer with a plain message, its files and the buttons below it: only there can a sound be played.
        What others wrote must be escaped in `content`."""

    async def wait(self, interaction: discord.Interaction[Any], *, private: bool = False) -> None:
        """Say that the answer takes a moment; `reply` then gives it."""

    async def replace(self, interaction: discord.Interaction[Any], view: discord.ui.LayoutView) -> None:
        """Answer a button by changing the card that it stands on."""

    async def wait_in_place(self, interaction: discord.Interaction[Any]) -> None:
        """Take a press whose card `replace` is going to change in a moment."""

    async def show(self, interaction: discord.Interaction[Any], form: discord.ui.Modal) -> None:
        """Answer a command or a button with a form to fill in."""

    async def draw(self, work: Callable[P, bytes], *args: P.args, **kwargs: P.kwargs) -> bytes | None:
        """A picture, drawn in another process; None where that failed."""

    async def answer(self, message: discord.Message, view: discord.ui.LayoutView) -> None:
        """Answer a message with a card."""

    async def press(
        self, interaction: discord.Interaction[Any], action: str, work: Callable[[], Awaitable[None]]
    ) -> None:
        """Do what a button asks for, if it may; errors are told to who pressed it."""

    async def hear(self, message: discord.Message, action: str, work: Callable[[], Awaitable[None]]) -> None:
        """Do what a message asks for, if it may; errors are told to its author."""

    async def post_once(
        self,
        key: str,
        channel_id: int,
        layout: Layout,
        mention: int | None = None,
        home: int | None = None,
    ) -> int | None:
        """Post a card of our own accord, where none stands under this key: its message's id; None where
        nobody can post there. It needs one button at least. `mention`: who is called by it, as `Layout`'s;
        `home`: the server whose matter it is, so that moves are spelt as there."""

    async def edit_post(self, key: str, layout: Layout, home: int) -> bool:
        """Change the card that was posted under a key; False where it is gone, or never was."""

    async def direct_channel(self, member_id: int) -> int | None:
        """The channel of our direct messages with somebody; None where there is no such user."""

    def offer(
        self, interaction: discord.Interaction[Any], find: Callable[[], list[app_commands.Choice[str]]]
    ) -> list[app_commands.Choice[str]]:
        """What completes an option; nothing, and a note of the error, where that fails."""

    async def offer_stored(
        self,
        interaction: discord.Interaction[Any],
        find: Callable[[], Awaitable[list[app_commands.Choice[str]]]],
    ) -> list[app_commands.Choice[str]]:
        """The same, of what has to be looked up first."""


def place_of(chat: Chat, event: discord.Interaction[Any] | discord.Message) -> Place:
    """Where a command, a press or a message came from, and from whom; direct messages count as said in the
    member's server."""
    parent_id = event.channel.parent_id if isinstance(event.channel, discord.Thread) else None
    if isinstance(event, discord.Interaction):
        place = Place(event.guild_id, event.channel_id or 0, event.user.id, parent_id=parent_id)
    else:
        server_id = event.guild.id if event.guild else None
        place = Place(server_id, event.channel.id, event.author.id, parent_id=parent_id)
    return chat.book.home(place)


def place_of_owner(owner: Owner) -> Place:
    """Where a member is told something unasked: in no channel in particular."""
    return Place(owner.server_id, 0, owner.member_id)
