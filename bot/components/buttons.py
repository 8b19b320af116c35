"""Questions asked by button, and how the answer to a question is sent."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.practice_buttons import show_gone
from bot.components.press import Press
from bot.components.question_ids import QUESTION_TEMPLATE, make_question_id, read_question_id
from bot.components.routes import show_lesson, show_next
from bot.limits import LABEL_CHARACTERS
from bot.render.ask import card
from bot.render.labels import label
from bot.render.limits import cut
from bot.results.ask import Asked, Refusal
from bot.results.key import QuestionKey
from bot.results.place import Place
from bot.services.desk import AskDesk
from bot.services.learn import asks_to_learn, asks_what_next, starter_of
from core.model import Game


class QuestionButton(Press, template=QUESTION_TEMPLATE):
    """Asks a question: publicly for whom the card answered, for everybody else in private."""

    ACTION = "question"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Answer the question from the server's present game."""
        key = read_question_id(self.custom_id)
        place = place_of(chat, interaction)
        if key is None:
            await show_gone(chat, interaction)
            return
        private = not is_for(interaction.message, interaction.user.id)
        await respond(chat, interaction, chat.desk.again(place, key), private=private)


async def respond(
    chat: Chat, interaction: discord.Interaction[Any], result: Asked | Refusal, *, private: bool = False
) -> None:
    """Answer a command or a button with the answer to a question. What only refuses is private, and what
    the asker's log says; what offers a choice is as public as the answer that will be chosen."""
    if asks_to_learn(result):
        await show_lesson(chat, interaction, starter_of(result))
        return
    if asks_what_next(result):
        await show_next(chat, interaction)
        return
    layout = answer_layout(chat.desk, place_of(chat, interaction), result)
    public = isinstance(result, Asked) or layout.offers
    await chat.reply(interaction, layout, private=private or not public)


def answer_layout(desk: AskDesk, place: Place, result: Asked | Refusal) -> Layout:
    """The answer to a question with the natural next ones, or a refusal with what can be chosen."""
    if isinstance(result, Asked):
        return Layout(card(result), result.answer, next_buttons(desk, result))
    return Layout(card(result), None, question_buttons(desk.choices(result, place), result.game))


def next_buttons(desk: AskDesk, asked: Asked) -> list[QuestionButton]:
    """Buttons for the natural next questions; whose moves they are about stands on the card."""
    return question_buttons(desk.next_questions(asked), asked.game, asked.character.name)


def question_buttons(keys: tuple[QuestionKey, ...], game: Game, told: str = "") -> list[QuestionButton]:
    """A button for each question, without those too long to be carried by one."""
    buttons: dict[str, QuestionButton] = {}
    for key in keys:
        custom_id = make_question_id(key)
        if custom_id is not None:
            text = cut(label(key, game, told), LABEL_CHARACTERS)
            buttons[custom_id] = QuestionButton(discord.ui.Button(label=text, custom_id=custom_id))
    return list(buttons.values())


def is_for(card: discord.Message | None, member_id: int) -> bool:
    """Whether a card stands in public as the answer to this member."""
    if card is None or card.flags.ephemeral:
        return False
    if card.interaction_metadata is not None:
        return card.interaction_metadata.user.id == member_id
    asked = card.reference.resolved if card.reference else None
    return isinstance(asked, discord.Message) and asked.author.id == member_id
