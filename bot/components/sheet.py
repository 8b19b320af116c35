"""The sheet of conversions in chat: shown, filled in, taken back."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import (
    TAKE_TEMPLATE,
    PracticeKey,
    TakeKey,
    make_practice_id,
    make_take_id,
    read_take_id,
)
from bot.components.layout import Layout, Picture
from bot.components.practice_buttons import PracticeButton, act_buttons, show_gone
from bot.components.press import Press
from bot.render.conversions import (
    cleared_card,
    conversion_refusal_card,
    proposal_label,
    set_card,
    sheet_card,
)
from bot.render.log import log_refusal_card
from bot.render.pictures import sheet_alt, sheet_picture
from bot.results.conversion import (
    ClearedConversion,
    ConversionRefusal,
    ConversionRefusalCode,
    Proposal,
    SetConversion,
    Sheet,
)
from bot.results.log import LogRefusal
from bot.results.place import Place

PICTURE = "conversions.png"
_NEXT = {
    ConversionRefusalCode.NO_ROUTES: (Act.LIBRARY, Act.SAVED),
    ConversionRefusalCode.OVER: (Act.QUIZ, Act.CONVERSIONS),
    ConversionRefusalCode.BUSY: (Act.CONVERSIONS,),
    ConversionRefusalCode.NO_CONVERSIONS: (Act.CONVERSIONS, Act.SAVED),
    ConversionRefusalCode.ONE_ROUTE: (Act.SAVED, Act.LIBRARY),
}
_ELSE = (Act.SAVED, Act.CONVERSIONS)

Result = SetConversion | ClearedConversion | ConversionRefusal | LogRefusal


class TakeButton(Press, template=TAKE_TEMPLATE):
    """Keeps one of the presser's saved routes for a situation."""

    ACTION = "conversion"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Keep it."""
        key, place = read_take_id(self.custom_id), place_of(chat, interaction)
        if key is None:
            await show_gone(chat, interaction)
            return
        result = await chat.conversions.take(place, key.route_id, key.situation, interaction.id)
        await reply_with(chat, interaction, result)


async def show_conversions(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """The presser's sheet."""
    await show_sheet(chat, interaction)


async def show_sheet(
    chat: Chat,
    interaction: discord.Interaction[Any],
    character: str | None = None,
    *,
    private: bool = True,
) -> None:
    """A member's sheet of this character, their own where none is named. In public it offers nothing to
    take."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=private)
    sheet = await chat.sheets.of(place, character)
    if isinstance(sheet, ConversionRefusal):
        await chat.reply(interaction, conversion_layout(chat, place, sheet), private=private)
        return
    if not private:
        sheet = replace(sheet, proposals=())  # what else the member saved, or could learn, is theirs to see
    pictures = await _picture(chat, sheet)
    layout = Layout(sheet_card(sheet), None, sheet_buttons(sheet, private), pictures=pictures)
    files = [picture.file() for picture in pictures]
    await chat.reply(interaction, layout, private=private, files=files)


async def reply_with(chat: Chat, interaction: discord.Interaction[Any], result: Result) -> None:
    """Say what came of it, to who did it alone."""
    layout = conversion_layout(chat, place_of(chat, interaction), result)
    await chat.reply(interaction, layout, private=True)


def conversion_layout(chat: Chat, place: Place, result: Result) -> Layout:
    """What came of it, with what one may do next."""
    match result:
        case SetConversion():
            return Layout(set_card(result), None, act_buttons(Act.CONVERSIONS, Act.QUIZ))
        case ClearedConversion():
            return Layout(cleared_card(result), None, act_buttons(Act.CONVERSIONS, Act.SAVED))
        case ConversionRefusal():
            acts = _NEXT.get(result.code, _ELSE)
            return Layout(conversion_refusal_card(result), None, act_buttons(*acts))
        case LogRefusal():
            card = log_refusal_card(result, chat.desk.game_of(place))
            return Layout(card, None, act_buttons(*_ELSE))


async def _picture(chat: Chat, sheet: Sheet) -> list[Picture]:
    """The sheet as a picture; none where nothing is kept, or where it could not be drawn."""
    if not sheet.filled + sheet.broken:
        return []
    name, rows, columns = sheet.character.name, sheet.rows, sheet.columns
    png = await chat.draw(sheet_picture, name, rows, columns)
    return [Picture(PICTURE, png, sheet_alt(name, rows, columns))] if png else []


def sheet_buttons(sheet: Sheet, private: bool) -> list[Any]:
    """One button for each thing to take or to look at: what was found for two gaps may be the same."""
    made = [button for one in sheet.proposals if (button := _proposed(one))] if private else []
    offers = {button.custom_id: button for button in reversed(made)}
    quiz = [Act.QUIZ] if sheet.filled else []
    return [*reversed(offers.values()), *act_buttons(*quiz, Act.SAVED)]


def _proposed(proposal: Proposal) -> Press | None:
    """A saved route can be taken at once; one that was found is looked at first, where it can be saved."""
    label = proposal_label(proposal)
    if proposal.route is None:
        custom_id = make_practice_id(PracticeKey(Act.ROUTE, proposal.subject_id))
        return PracticeButton(discord.ui.Button(label=label, custom_id=custom_id))
    taking = make_take_id(TakeKey(proposal.route.id, proposal.situation.name))
    return TakeButton(discord.ui.Button(label=label, custom_id=taking)) if taking else None
