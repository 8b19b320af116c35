"""What members are told of their own accord on patch day, and the work behind it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from bot.components.act import Act
from bot.components.chat import Chat
from bot.components.drill_notices import Notice, Told
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.patches import homework_buttons, routes_pick
from bot.components.practice_buttons import act_buttons, practice_buttons
from bot.render.patches import patch_notice_card
from bot.results.job import Handler, Job
from bot.results.notice import NoticeKind
from bot.results.place import Place
from bot.services.patch_telling import JOB


async def _patch(chat: Chat, number: int) -> Told | None:
    notice = await chat.patch_telling.notice(number)
    if notice is None:
        return None
    to = notice.to
    at_home = chat.book.home(Place(None, 0, to.member_id)).owner == to
    card = patch_notice_card(notice, await chat.names.server(to.server_id), at_home=at_home)
    buttons = homework_buttons(notice.mine)
    if at_home:  # elsewhere it would be about another server
        buttons += practice_buttons(PracticeKey(Act.PATCH, notice.before.edition.id))
    buttons += act_buttons(Act.REMINDERS)
    pick = routes_pick(notice.mine, notice.opens) if at_home else None
    return to, Layout(card, None, buttons, pick=pick)


PATCH_NOTICES: Mapping[NoticeKind, Notice] = {NoticeKind.PATCH: _patch}


def patch_jobs(chat: Chat) -> Mapping[str, Handler]:
    """Who settles what members are told of a change where that was cut short. It may be done again, with the
    same effect."""

    async def settle(job: Job, _late_by: timedelta) -> None:
        assert job.server_id is not None
        await chat.patch_telling.settle(job.server_id, job.payload["game"])

    return {JOB: settle}
