"""How a server has its moves written: in numbers or in letters, and that both are read."""

from __future__ import annotations

import re
from typing import Any

from chat.lessons import coached, given, morning, plain, told
from chat.practice import LINK, alts_of, id_of, log, open_form, picked, rows
from chat.world import World, answers_in, labels_of, parts, text_of, walk

from bot.results.tally import Notation, ServerSettings
from bot.services.access import Standing

NUMBERS = re.compile(r"(?<![\w.])(?:j\.)?[1-9]+[LMH][PK]\b")
"""A move of Saltglass in numbers."""


async def letters(world: World) -> None:
    """Harbour writes moves in letters."""
    salt = world.salt
    kept = world.bot.book.server(salt.guild.id)
    await world.bot.book.set_server(
        salt.guild.id, ServerSettings(coach_role=kept.coach_role, notation=Notation.LETTERS)
    )


def read(answer: Any) -> str:
    """All that is read in an answer: its text, its buttons, its lists, what its pictures say."""
    response = getattr(answer, "response", answer)
    options = [option for one in walk(parts(response)) for option in one.get("options", ())]
    lists = [text for option in options for text in (option["label"], option.get("description") or "")]
    return "\n".join([plain(answer), *labels_of(answer), *lists])


async def test_an_answer_is_in_letters_its_buttons_too_and_they_still_ask(world: World) -> None:
    salt = world.salt
    await letters(world)
    card = await salt.ann.slash(salt.channel, "ask", question="does Odrun's 5MP link into 2MP?")
    assert "st.MP" in read(card)
    assert "cr.MP" in read(card)
    assert NUMBERS.findall(read(card)) == []
    assert "5MP" in id_of(card, labels_of(card)[0]), "what a button carries stays"
    for label in labels_of(card):
        again = await salt.ann.click(card.response, label=label)
        assert NUMBERS.findall(read(again)) == [], label


async def test_another_server_is_written_to_in_numbers_as_before(world: World) -> None:
    await letters(world)
    kite = world.kite
    card = await kite.ann.slash(kite.channel, "ask", question="does Marrable's 5M link into 2M?")
    assert "5M" in read(card)
    assert "st.M" not in read(card)


async def test_what_is_written_in_letters_is_understood_when_it_is_typed(world: World) -> None:
    salt = world.salt
    await letters(world)
    numbers = text_of(await salt.ann.slash(salt.channel, "ask", question="does Odrun's 5MP link into 2MP?"))
    for question in ("does Odrun's st.MP link into cr.MP?", "does odruns st mp link into cr mp"):
        asked = await salt.ann.slash(salt.channel, "ask", question=question)
        assert text_of(asked) == numbers, question
    await log(salt.ann, salt.channel, what="Odrun: st.MP, cr.MP xx qcf+HP")
    (subject,) = rows(world, "subject")
    assert subject["what"] == "5MP, 2MP xx 236HP", "it is kept in numbers"
    charged = await salt.ann.slash(salt.channel, "move", move="charge b f+LP", character="Ninnet")
    assert "charge b f+LP" in plain(charged)


async def test_what_is_offered_is_shown_in_letters_and_sent_in_numbers(world: World) -> None:
    salt = world.salt
    await letters(world)
    found = await salt.ann.autocomplete(salt.channel, "move", "move", "cr.m")
    assert found
    for one in found:
        assert NUMBERS.findall(one["name"]) == []
        assert "cr." not in one["value"]


async def test_a_list_is_in_letters_with_what_stands_below_each_entry(world: World) -> None:
    salt = world.salt
    await letters(world)
    await salt.ann.slash(salt.channel, "route save", moves="Odrun: 5MP, 2MP xx 236LP", name="bread")
    shown = await salt.ann.slash(salt.channel, "route list")
    assert picked(shown)[0]["description"] == "st.MP, cr.MP xx qcf+LP"
    assert NUMBERS.findall(read(shown)) == []
    opened = await salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert "qcf+LP" in read(opened)


async def test_pictures_say_in_letters_what_they_show(world: World) -> None:
    salt = world.salt
    await letters(world)
    shown = await salt.ann.slash(salt.channel, "route rhythm", what=LINK)
    (alt,) = alts_of(shown)
    assert "st.MP" in alt
    assert NUMBERS.findall(alt) == []


async def test_plain_messages_with_a_sound_are_in_letters(world: World) -> None:
    salt = world.salt
    await letters(world)
    sent = await salt.ann.slash(salt.channel, "route clicks", what=LINK)
    assert "st.MP" in sent.response.content
    assert NUMBERS.findall(sent.response.content) == []


async def test_a_message_is_answered_in_letters(world: World) -> None:
    salt = world.salt
    await letters(world)
    await salt.ann.send(salt.channel, f"{world.mention} does Odrun's 5MP link into 2MP?")
    assert "st.MP" in plain(salt.channel.last_message)
    assert NUMBERS.findall(read(salt.channel.last_message)) == []


async def test_what_is_posted_and_changed_later_is_in_letters(world: World) -> None:
    salt = world.salt
    await letters(world)
    coach = salt.by_standing[Standing.COACH]
    await coach.slash(salt.channel, "drill open", what=LINK, scoring="best-tally")
    await world.env.settle()
    (post,) = answers_in(salt.channel, world.bot)
    assert "st.MP, cr.MP" in plain(post)
    await salt.ann.click(post, label="Join")
    await log(salt.ann, salt.channel)
    await world.env.advance_time(3600)
    (post,) = answers_in(salt.channel, world.bot)
    assert NUMBERS.findall(read(post)) == []


async def test_direct_messages_are_as_the_server_has_it_whose_matter_it_is(world: World) -> None:
    salt, kite = world.salt, world.kite
    await letters(world)
    there = kite.guild.add_member(salt.ann.user)
    await log(there, kite.channel, "Marrable: 5M, 2M", "3/4")  # their home is the other server
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    await morning(world)
    news = [one for one in told(salt.ann) if "homework" in plain(one)]
    assert news
    for one in news:
        assert NUMBERS.findall(read(one)) == [], plain(one)


async def test_forms_and_files_stay_in_numbers(world: World) -> None:
    salt = world.salt
    await letters(world)
    opened = await open_form(salt.ann, salt.channel)
    assert "5MP" in str(opened.modal)


async def test_going_back_to_numbers_is_at_once(world: World) -> None:
    salt = world.salt
    await letters(world)
    await world.bot.book.set_server(salt.guild.id, ServerSettings(notation=Notation.NUMPAD))
    card = await salt.ann.slash(salt.channel, "ask", question="does Odrun's 5MP link into 2MP?")
    assert "5MP" in read(card)
    assert "st.MP" not in read(card)
