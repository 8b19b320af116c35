"""A group drill's post and its recap, as layouts."""

from __future__ import annotations

from bot.components.act import Act
from bot.components.chat import Chat
from bot.components.ids import PracticeKey
from bot.components.layout import Layout, Picture
from bot.components.practice_buttons import practice_buttons
from bot.render.drill_recap import recap_card, recap_members
from bot.render.drills import post_card, shown_members
from bot.render.pictures import rhythm_alt, rhythm_picture
from bot.render.reps import whose_words
from bot.results.drills import DrillBoard, DrillEnd, DrillStage


async def post_layout(chat: Chat, board: DrillBoard) -> Layout:
    """The post under which members join and log, with the picture of the rhythm; when it is over, how it
    ended."""
    drill = board.drill
    names = await chat.names.of(drill.server_id, shown_members(board.standings))
    acts = [Act.MY_PART]
    if drill.stage is DrillStage.OPEN:
        acts = [Act.JOIN, Act.DRILL_LOG, Act.MY_PART]
    pictures = await _rhythm(chat, board)
    if pictures:
        acts.append(Act.DRILL_RHYTHM)
    buttons = practice_buttons(*(PracticeKey(act, drill.id) for act in acts))
    return Layout(post_card(board, names), None, buttons, pictures=pictures)


async def recap_layout(chat: Chat, end: DrillEnd) -> Layout:
    """The last post of a drill."""
    drill = end.board.drill
    names = await chat.names.of(drill.server_id, recap_members(end))
    return Layout(recap_card(end, names), None, practice_buttons(PracticeKey(Act.MY_PART, drill.id)))


def post_key(drill_id: int) -> str:
    """Under which key the post of a drill stands."""
    return f"drill:{drill_id}"


def recap_key(drill_id: int) -> str:
    """Under which key its recap stands."""
    return f"recap:{drill_id}"


async def _rhythm(chat: Chat, board: DrillBoard) -> list[Picture]:
    """The rhythm sheet for typical hands; none of a task in words, and of what is over."""
    drill, subject = board.drill, board.drill.plan.subject
    is_open = drill.stage is DrillStage.OPEN
    sheet = chat.playing.typical(drill.server_id, subject) if is_open else None
    if sheet is None:
        return []
    name = whose_words(subject)
    png = await chat.drawn.of((name, sheet.schedule), lambda: chat.draw(rhythm_picture, name, sheet.schedule))
    return [Picture("rhythm.png", png, rhythm_alt(name, sheet.schedule))] if png else []
