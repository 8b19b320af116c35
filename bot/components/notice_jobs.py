"""What the bot tells members of its own accord: in direct messages, or with a call where those are closed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from bot.components.act import Act
from bot.components.chat import Chat, place_of_owner
from bot.components.coaching import name_of
from bot.components.drill_notices import DRILL_NOTICES, Told
from bot.components.game_reports import GAME_NOTICES
from bot.components.homework import homework_buttons, names_in, numbered
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.patch_notices import PATCH_NOTICES
from bot.components.practice_buttons import PracticeButton, act_buttons, practice_buttons
from bot.render.card import Card
from bot.render.coaching import asks_card, said_yes_card
from bot.render.homework import called_card, notice_card
from bot.results.coaching import Coaching, CoachNotice
from bot.results.job import Handler, Job
from bot.results.notice import NoticeKind
from bot.services.notices import JOB
from core.model import Game

_NOTICES = {**DRILL_NOTICES, **GAME_NOTICES, **PATCH_NOTICES}


def notice_jobs(chat: Chat) -> Mapping[str, Handler]:
    """Who does the jobs that tell. Each may be done again, with the same effect."""

    async def tell(job: Job, _late_by: timedelta) -> None:
        kind, number = NoticeKind(job.payload["kind"]), int(job.payload["number"])
        told = await _told(chat, kind, number)
        if told is None:
            return
        to, layout = told
        if not chat.notices.wanted(to) or not await chat.names.is_here(to.server_id, to.member_id):
            return
        key = f"notice:{kind.value}:{number}:{int(job.due_at.timestamp())}"
        channel_id = await chat.direct_channel(to.member_id)
        home = to.server_id
        if channel_id is not None and await chat.post_once(key, channel_id, layout, home=home) is not None:
            return
        called_in = chat.book.server(to.server_id).notice_channel
        if called_in is not None:
            game = chat.desk.game_of(place_of_owner(to))
            buttons = practice_buttons(_shows(kind, number))
            call = Layout(called_card(game), None, buttons, calls=to.member_id)
            await chat.post_once(f"{key}:called", called_in, call, to.member_id, home)

    return {JOB: tell}


async def _told(chat: Chat, kind: NoticeKind, number: int) -> Told | None:
    """Whom to tell what; None where it is not to be told any more."""
    if kind in _NOTICES:
        return await _NOTICES[kind](chat, number)
    notice = await chat.reminders.notice(kind, number)
    return None if notice is None else (notice.to, await _layout(chat, notice))


async def _layout(chat: Chat, notice: CoachNotice) -> Layout:
    game = chat.desk.game_of(place_of_owner(notice.to))
    if notice.coaching is not None:
        card, buttons = await _of_coaching(chat, notice.kind, notice.coaching, game)
    else:
        assert notice.view is not None
        names = await names_in(chat, notice.view.homework)
        card = notice_card(notice, names, chat.book.zone(notice.to), game)
        to_coach = notice.to != notice.view.homework.student
        view = notice.view if to_coach else await numbered(chat, place_of_owner(notice.to), notice.view)
        buttons = homework_buttons(view, to_coach=to_coach)
    return Layout(card, None, [*buttons, *act_buttons(Act.REMINDERS)])


async def _of_coaching(
    chat: Chat, kind: NoticeKind, coaching: Coaching, game: Game
) -> tuple[Card, list[PracticeButton]]:
    if kind is NoticeKind.COACH_ASKS:
        server = await chat.names.server(coaching.coach.server_id)
        answers = [PracticeKey(act, coaching.id) for act in (Act.ACCEPT_COACH, Act.REFUSE_COACH)]
        return asks_card(await name_of(chat, coaching.coach), server, game), practice_buttons(*answers)
    card = said_yes_card(await name_of(chat, coaching.student), game)
    return card, practice_buttons(PracticeKey(Act.STUDENT, coaching.id))


def _shows(kind: NoticeKind, number: int) -> PracticeKey:
    """The button that shows the same to the one who is called, and to nobody else."""
    if kind in DRILL_NOTICES:
        return PracticeKey(Act.GROUP_DRILL)
    if kind is NoticeKind.REPORT_DECIDED:
        return PracticeKey(Act.MY_REPORT, number)
    if kind is NoticeKind.PATCH:
        return PracticeKey(Act.PATCH)
    if kind is NoticeKind.COACH_ASKS:
        return PracticeKey(Act.MY_COACHES)
    if kind is NoticeKind.COACH_ACCEPTED:
        return PracticeKey(Act.STUDENTS)
    return PracticeKey(Act.ONE_HOMEWORK, number)
