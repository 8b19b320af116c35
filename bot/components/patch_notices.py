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
from bot.services.patches import JOB


async def _patch(chat: Chat, number: int) -> Told | None:
    notice = await chat.patches.notice(number)
    if notice is None:
        return None
    to = notice.to
    at_home = chat.book.home(Place(None, 0, to.member_id)).owner == to
    card = patch_notice_card(notice, chat.names.server(to.server_id), at_home=at_home)
    buttons = homework_buttons(notice.mine)
    if at_home:  # elsewhere it would be about another server
        buttons += practice_buttons(PracticeKey(Act.PATCH, notice.before.edition.id))
    buttons += act_buttons(Act.REMINDERS)
    pick = routes_pick(notice.mine, notice.opens) if at_home else None
    return to, Layout(card, None, buttons, pick=pick)


PATCH_NOTICES: Mapping[NoticeKind, Notice] = {NoticeKind.PATCH: _patch}


def patch_jobs(chat: Chat) -> Mapping[str, Handler]:
    """Who tells members of a change where that was cut short. It may be done again, with the same effect."""

    async def tell(job: Job, _late_by: timedelta) -> None:
        change = job.payload
        assert job.server_id is not None
        await chat.patches.tell(job.server_id, change["game"], int(change["before"]), int(change["edition"]))

    return {JOB: tell}
