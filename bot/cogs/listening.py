"""Questions that are written to the bot: where it is mentioned, and in direct messages."""

from __future__ import annotations

import re
import unicodedata

import discord
from discord.ext import commands

from bot.components.buttons import answer_layout
from bot.components.chat import Chat, place_of
from bot.components.routes import lesson_layout
from bot.components.welcome import welcome_layout
from bot.render.welcome import help_card
from bot.services.learn import asks_to_learn, asks_what_next, starter_of

UNSEEN = ("Cf", "Cs")
"""The kinds of characters that format others, and of halves of characters."""


class Listening(commands.Cog):
    """Answers messages."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @commands.Cog.listener()
    async def on_message(self, message: discord.Message) -> None:
        """Answer a message that is for the bot, and leave all others alone."""
        me = self._chat.user
        ordinary = message.type in (discord.MessageType.default, discord.MessageType.reply)
        if me is None or message.author.bot or not ordinary:
            return
        if message.guild is None:
            await self._chat.hear(message, "message direct", lambda: self._answer(message, message.content))
        elif (text := called(message.content, me.id)) is not None:
            await self._chat.hear(message, "message mention", lambda: self._answer(message, text))

    async def _answer(self, message: discord.Message, text: str) -> None:
        desk, place = self._chat.desk, place_of(self._chat, message)
        text = readable(text)
        if not text:
            await self._chat.answer(message, welcome_layout(desk, place, help_card))
            return
        result = desk.ask(place, text)
        if asks_to_learn(result) or asks_what_next(result):  # for typical hands: everybody sees the answer
            starter, mine = starter_of(result) if asks_to_learn(result) else "", message.guild is None
            layout = await lesson_layout(self._chat, place, starter, message.id, own_hands=mine)
        else:
            layout = answer_layout(desk, place, result)
        await self._chat.answer(message, layout)


def called(content: str, bot_id: int) -> str | None:
    """What is asked in a message that names the bot; None where it does not. A mere reply to the bot, or
    @everyone, does not name it.

    >>> called("<@7> 5MP, <@!7>?", 7), called("5MP?", 7)
    ('  5MP,  ?', None)
    """
    text, count = re.subn(rf"<@!?{bot_id}>", " ", content)
    return text if count else None


def readable(text: str) -> str:
    """The words of a message, without its mentions, time stamps and emoji, and without what is not seen or
    cannot be written, such as half a character.

    >>> readable(" <@12> is 236HK safe? <:wave:34> ")
    'is 236HK safe?'
    """
    seen = "".join(sign for sign in text if unicodedata.category(sign) not in UNSEEN and sign != "\0")
    return " ".join(re.sub(r"<(?:@[!&]?|#|a?:\w+:|t:)-?\d+(?::\w)?>", " ", seen).split())
