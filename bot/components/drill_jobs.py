"""What happens to group drills by itself: they are posted, brought up to date and recapped."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from bot.components.chat import Chat
from bot.components.drill_post import post_key, post_layout, recap_key, recap_layout
from bot.results.drills import DrillStage
from bot.results.job import Handler, Job
from bot.services.drill_weeks import CLOSE_JOB, OPEN_JOB


def drill_jobs(chat: Chat) -> Mapping[str, Handler]:
    """Who does the jobs of drills, by their kinds. Each may be done again, with the same effect."""

    async def open_one(job: Job, _late_by: timedelta) -> None:
        drill_id = job.payload["drill"]
        board = await chat.drill_boards.opening(drill_id)
        if board is None:
            return
        layout, drill = await post_layout(chat, board), board.drill
        if await chat.post_once(post_key(drill_id), drill.channel_id, layout, home=drill.server_id) is None:
            await chat.drill_boards.lost(drill_id)
        # Whoever logged while it was on its way does not stand in it.
        chat.drill_boards.touch(drill)

    async def close_one(job: Job, late_by: timedelta) -> None:
        drill_id = job.payload["drill"]
        end = await chat.drill_boards.closing(drill_id, late_by)
        if end is None:
            return
        layout, drill = await recap_layout(chat, end), end.board.drill
        if await chat.post_once(recap_key(drill_id), drill.channel_id, layout, home=drill.server_id) is None:
            await chat.drill_boards.lost(drill_id)
        await chat.edit_post(post_key(drill_id), await post_layout(chat, end.board), drill.server_id)
        # A refresh that had read it while it was open may have come after that.
        chat.drill_boards.touch(drill)

    return {OPEN_JOB: open_one, CLOSE_JOB: close_one}


async def refresh_drill(chat: Chat, drill_id: int) -> None:
    """Bring the post of a drill up to date, and its recap once it is over. A post that somebody took away
    stays away."""
    board = await chat.drill_boards.board(drill_id)
    if board is None:
        return
    home = board.drill.server_id
    await chat.edit_post(post_key(drill_id), await post_layout(chat, board), home)
    if board.drill.stage is DrillStage.CLOSED:
        end = await chat.drill_boards.closing(drill_id, timedelta())
        if end is not None:
            await chat.edit_post(recap_key(drill_id), await recap_layout(chat, end), home)
