"""What happens to servers by itself: what is old is removed, and what was left is forgotten."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from bot.components.chat import Chat
from bot.results.job import Handler, Job
from bot.services import leaving, retention


def server_jobs(chat: Chat) -> Mapping[str, Handler]:
    """Who does the jobs of servers, by their kinds. Each may be done again, with the same effect."""

    async def prune(_job: Job, _late_by: timedelta) -> None:
        await chat.retention.plan()  # first: what fails now is tried again, and done the next time anyway
        await chat.retention.prune()

    async def forget(job: Job, _late_by: timedelta) -> None:
        server_id = int(job.payload["server"])
        if not await chat.names.are_we_in(server_id):  # taken back meanwhile: nobody may have told us
            await chat.leaving.forget(server_id)

    return {retention.JOB: prune, leaving.JOB: forget}
