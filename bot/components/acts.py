"""What each button of the practice log does."""

from __future__ import annotations

from collections.abc import Mapping

from bot.components import (
    data,
    drill_judging,
    drills,
    log,
    playing,
    quiz,
    reports,
    routes,
    saving,
    sheet,
)
from bot.components.act import Act, CoachAct
from bot.components.coach_buttons import CoachHandler
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
    Act.LOG_OF: log.open_of,
    Act.ROUTE: routes.open_route,
    Act.FIND: routes.find_from,
    Act.INPUTS: playing.show_inputs,
    Act.INPUTS_RIGHT: playing.show_inputs_right,
    Act.INPUTS_LEFT: playing.show_inputs_left,
    Act.SHEET: playing.show_sheet,
    Act.PRESSES: playing.show_presses,
    Act.CLICKS: playing.send_clicks,
    Act.CLICKS_75: playing.send_clicks_75,
    Act.CLICKS_50: playing.send_clicks_50,
    Act.DRILL: playing.make_drill,
    Act.SAVE: saving.open_save_form,
    Act.SHARE: saving.share_route,
    Act.LIBRARY: saving.show_library,
    Act.KEEP: saving.keep_shared,
    Act.TIDY: saving.tidy_shared,
    Act.SAVED: saving.show_saved,
    Act.CONVERSIONS: sheet.show_conversions,
    Act.QUIZ: quiz.ask_next,
    Act.EXPORT: data.send_export,
    Act.ERASE: data.ask_to_erase,
    Act.ERASE_NOW: data.erase_now,
    Act.JOIN: drills.join,
    Act.LEAVE: drills.leave,
    Act.DRILL_LOG: drills.open_log,
    Act.MY_PART: drills.my_part,
    Act.LIST_ME: drills.list_me,
    Act.UNLIST_ME: drills.unlist_me,
    Act.GROUP_DRILL: drills.show_drill,
    Act.DRILL_RHYTHM: drills.rhythm,
}

COACH_ACTS: Mapping[CoachAct, CoachHandler] = {
    CoachAct.RESULTS: drill_judging.show_results,
    CoachAct.OLDER_RESULTS: drill_judging.show_older,
    CoachAct.RESULT: drill_judging.show_result,
    CoachAct.SEE: drill_judging.see,
    CoachAct.STRIKE: drill_judging.open_strike,
    CoachAct.UNSTRIKE: drill_judging.unstrike,
    CoachAct.SUGGEST: drill_judging.suggest,
    CoachAct.CANCEL_DRILL: drill_judging.ask_to_cancel,
    CoachAct.CANCEL_DRILL_NOW: drill_judging.cancel,
    CoachAct.PLANNED: drill_judging.show_planned,
}
