"""What a forger thinks of: ids of every kind of button, list and form; and a server that has something to
lose."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from chat.gaming import faster, load
from chat.lessons import ask, coach_of, coached, given
from chat.practice import LINK, log
from chat.world import World

from bot.components import ids
from bot.components.act import Act, CoachAct, FormAct, ListAct, ModAct
from bot.components.ids import PickFrom
from bot.components.question_ids import QUESTION

SECRET, KNOWN = "secret", "known in the server"
QUIET_SECONDS = 130
"""After that no refresh of the drill's post is due: one would ring in the middle of a long test."""
FIELDS = {
    "what": LINK,
    "result": "7/10",
    "name": "forged",
    "tags": "",
    "reason": "forged",
    "hand-in-note": "forged",
    "clip": "",
    "review-note": "forged",
    "clip-time": "0:01",
    "comment": "forged",
    "student-note": "forged",
    "columns": "a = startup",
    "zone": "Europe/Paris",
    "quiet": "22:00-08:00",
}
"""What the forms ask for, all at once."""
ALL: set[Any] = {*Act, *CoachAct, *ModAct}


async def filled(world: World) -> None:
    """Saltglass' server has one of all: a secret of Ann's in each thing that may hold words."""
    salt, ann = world.salt, world.salt.ann
    coach = coach_of(salt)
    await log(ann, salt.channel, f"drill: {SECRET}", note=SECRET)
    await log(ann, salt.channel)
    await ann.slash(salt.channel, "route save", moves=LINK, name=SECRET)
    await ann.slash(salt.channel, "route save", moves="Odrun: 2HP, 5HP", name=f"{SECRET} two")
    await ann.slash(salt.channel, "conversion set", starter="5MP", situation="hit", route=SECRET)
    await ann.slash(salt.channel, "conversion quiz")
    await ann.slash(salt.channel, "wrong", move="5MP", column="startup", right="5", character="Odrun Vale")
    await coached(world, salt, ann)
    await ask(salt, salt.bo)
    await given(salt, ann, note=SECRET)
    card = await coach.slash(salt.channel, "students page", member=ann)
    form = await coach.click(card.response, label="Note something")
    await coach.submit_modal(form, {"student-note": SECRET})
    await coach.slash(
        salt.channel, "drill open", what=LINK, scoring="best-tally", goal=KNOWN, channel=salt.other_channel
    )
    await load(world, faster(), reason=SECRET)
    shown = await load(world, faster("4", "18"), reason=SECRET)
    await salt.mod.click(shown.response, label="Use it")
    await world.env.advance_time(QUIET_SECONDS)


def forged_presses(numbers: list[str], acts: Collection[Any]) -> Iterator[tuple[str]]:
    """The id of each kind of button with each of these numbers."""
    heads = {Act: ids.PRACTICE, CoachAct: ids.COACH, ModAct: ids.MOD}
    for number in numbers:
        yield from ((f"{heads[type(act)]}|{act.value}|{number}",) for act in acts)
        yield (f"{ids.ANSWER}|{number}|{number}|3",)
        yield (f"{ids.TAKE}|{number}|hit",)
        yield (f"{QUESTION}|li|Saltglass|Odrun Vale|5MP|2MP|h|a{number}",)


def forged_picks(numbers: list[str]) -> Iterator[tuple[str, list[str]]]:
    """The id of each kind of list, and what is picked."""
    for number in numbers:
        yield ids.PICK, [number]
        yield ids.OPEN, [number]
        yield from ((ids.make_route_pick_id(kept), [number]) for kept in PickFrom)
        yield from ((f"{ids.LIST}|{act.value}|{number}", [number, number + "1"]) for act in ListAct)


def forged_forms(numbers: list[str]) -> Iterator[tuple[str, dict[str, str]]]:
    """The id of each kind of form, and what is filled in."""
    for number in numbers:
        yield f"{ids.FORM}|{number}|", FIELDS
        yield f"{ids.FORM}|{number}|d", FIELDS
        yield f"{ids.SAVE_FORM}|{number}", FIELDS
        yield from ((f"{ids.WORDS}|{act.value}|{number}", FIELDS) for act in FormAct)
