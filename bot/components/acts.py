"""What each button of the practice log does."""

from __future__ import annotations

from collections.abc import Mapping

from bot.components import data, log, reports
from bot.components.ids import Act
from bot.components.practice_buttons import Handler

ACTS: Mapping[Act, Handler] = {
    Act.LOG: log.open_form,
    Act.LOG_MORE: log.open_more,
    Act.RETRY: log.open_draft,
    Act.LANDED: log.landed_again,
    Act.DROPPED: log.dropped_again,
    Act.UNDO: log.undo,
    Act.PUT_BACK: log.put_back,
    Act.CHANGE: log.open_change,
    Act.ONE: log.show_one,
    Act.LIST: log.show_list,
    Act.OLDER: log.show_list,
    Act.TIMING: reports.timing_of,
    Act.PROGRESS: reports.progress_of,
    Act.PLAN: reports.plan_of,
    Act.EXPORT: data.send_export,
    Act.ERASE: data.ask_to_erase,
    Act.ERASE_NOW: data.erase_now,
}
