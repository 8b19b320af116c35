"""What members are told of their own accord about group drills."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping

from bot.components.act import Act
from bot.components.chat import Chat, place_of_owner
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons
from bot.render.drill_desk import lost_card, verdict_card
from bot.results.notice import NoticeKind
from bot.results.place import Owner

Told = tuple[Owner, Layout]
Notice = Callable[[Chat, int], Awaitable[Told | None]]
"""Whom to tell what; None where it is not to be told any more."""


async def _seen(chat: Chat, tally_id: int) -> Told | None:
    return await _verdict(chat, tally_id, struck=False)


async def _struck(chat: Chat, tally_id: int) -> Told | None:
    return await _verdict(chat, tally_id, struck=True)


async def _verdict(chat: Chat, tally_id: int, *, struck: bool) -> Told | None:
    """What a coach said of a tally; None where they said otherwise since: that is told, or nothing is."""
    verdict = await chat.drill_judging.verdict(tally_id)
    if verdict is None or struck != (verdict.result.reason is not None):
        return None
    buttons = practice_buttons(PracticeKey(Act.MY_PART, verdict.drill.id))
    game = chat.desk.game_of(place_of_owner(verdict.member))
    return verdict.member, Layout(verdict_card(verdict, game), None, buttons)


async def _lost(chat: Chat, drill_id: int) -> Told | None:
    board = await chat.drill_boards.board(drill_id)
    if board is None or board.drill.opened_by is None:
        return None
    to = Owner(board.drill.server_id, board.drill.opened_by)
    buttons = practice_buttons(PracticeKey(Act.GROUP_DRILL, drill_id))
    return to, Layout(lost_card(board.drill, chat.desk.game_of(place_of_owner(to))), None, buttons)


DRILL_NOTICES: Mapping[NoticeKind, Notice] = {
    NoticeKind.SEEN: _seen,
    NoticeKind.STRUCK: _struck,
    NoticeKind.DRILL_LOST: _lost,
}
