"""The quiz in chat: a question, its answers as buttons, and what came of one in its place."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import ANSWER_TEMPLATE, AnswerKey, PracticeKey, make_answer_id, read_answer_id
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons, show_gone
from bot.components.press import Press
from bot.components.sheet import conversion_layout
from bot.render.conversions import answer_card, choice_label, question_card
from bot.results.conversion import ConversionRefusal, Question, QuizAnswer
from bot.services.quiz import LIMIT_SECONDS


class AnswerButton(Press, template=ANSWER_TEMPLATE):
    """Answers the question that the presser has before them."""

    ACTION = "quiz"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Take the answer. A question that is over leaves its card as it is."""
        key, place = read_answer_id(self.custom_id), place_of(chat, interaction)
        if key is None:
            await show_gone(chat, interaction)
            return
        result = await chat.quiz.answer(
            place, key.question_id, key.route_id, key.limit_seconds, interaction.id
        )
        if isinstance(result, ConversionRefusal):
            await chat.reply(interaction, conversion_layout(chat, place, result), private=True)
            return
        card = answer_card(result, chat.book.zone(place.owner))
        await chat.replace(interaction, Layout(card, None, _after(result)))


async def ask_next(chat: Chat, interaction: discord.Interaction[Any], seconds: int = 0) -> None:
    """The next question; `seconds` are in time, as many as usual for 0."""
    place = place_of(chat, interaction)
    result = await chat.quiz.ask(place, interaction.id, seconds or LIMIT_SECONDS)
    if isinstance(result, ConversionRefusal):
        await chat.reply(interaction, conversion_layout(chat, place, result), private=True)
        return
    await chat.reply(interaction, Layout(question_card(result), None, _choices(result)), private=True)


def _choices(question: Question) -> list[AnswerButton]:
    return [
        AnswerButton(
            discord.ui.Button(
                label=choice_label(route),
                custom_id=make_answer_id(AnswerKey(question.id, route.id, question.limit_seconds)),
                style=discord.ButtonStyle.primary,
            )
        )
        for route in question.choices
    ]


def _after(answer: QuizAnswer) -> list[Any]:
    seconds = 0 if answer.limit_seconds == LIMIT_SECONDS else answer.limit_seconds
    steps = [PracticeKey(Act.ROUTE, answer.subject_id)] if answer.subject_id else []
    return practice_buttons(PracticeKey(Act.QUIZ, seconds), PracticeKey(Act.CONVERSIONS), *steps)
