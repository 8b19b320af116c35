"""The form that logs or changes a tally.

What is sent is read off the interaction alone, so that a form that was opened before a restart still logs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, cast

import discord

from bot.components.ids import FormKey, make_form_id
from bot.render.forms import context_name, form_text
from bot.results.tally import MOST_GAPS, NOTE_CHARACTERS, WHAT_CHARACTERS
from bot.services.log import Entry
from core.learning.tally import Context

RESULT_CHARACTERS = 100
EMPTY, NEW = Entry("", ""), FormKey()
WHAT, RESULT, WHERE, PRESSES = "what", "result", "where", "presses"
GAPS, NOTE, WHEN, CONTROLS = "gaps", "note", "when", "controls"
LAST = {GAPS: 5 * MOST_GAPS, NOTE: NOTE_CHARACTERS, WHEN: 100, CONTROLS: 100}
"""What the last field may ask for, and its characters: a form has room for one of them."""


class LogForm(discord.ui.Modal):
    """Asks for a tally; filled in with `entry`. `last`: what the last field asks for, one of LAST."""

    def __init__(self, entry: Entry = EMPTY, key: FormKey = NEW, last: str = GAPS) -> None:
        title = form_text("title-change" if key.tally_id else "title")
        super().__init__(title=title, custom_id=make_form_id(key), timeout=None)
        self._ask(WHAT, entry.what, WHAT_CHARACTERS, required=True)
        self._ask(RESULT, entry.result, RESULT_CHARACTERS, required=True)
        contexts = {context.value: context_name(context) for context in Context}
        self._choose(WHERE, contexts, entry.context)
        presses = {"1": form_text("once"), "2": form_text("twice")}
        self._choose(PRESSES, presses, str(entry.presses) if entry.presses else None)
        self._ask(last, getattr(entry, last) or "", LAST[last], required=False)

    def _ask(self, name: str, value: str, most: int, required: bool) -> None:
        field: discord.ui.TextInput[LogForm] = discord.ui.TextInput(
            custom_id=name,
            default=value[:most] or None,
            placeholder=form_text(f"{name}-hint"),
            max_length=most,
            required=required,
        )
        self.add_item(discord.ui.Label(text=form_text(name), component=field))

    def _choose(self, name: str, choices: Mapping[str, str], chosen: str | None) -> None:
        """A choice that may be left open: then it is as it was the last time."""
        options = [
            discord.SelectOption(label=label, value=value, default=value == chosen)
            for value, label in choices.items()
        ]
        pick: discord.ui.Select[LogForm] = discord.ui.Select(
            custom_id=name, options=options, required=False, min_values=0
        )
        self.add_item(discord.ui.Label(text=form_text(name), component=pick))


def read_form(interaction: discord.Interaction[Any], rest: Entry = EMPTY) -> Entry:
    """What was filled in; what the form does not ask for is as in `rest`."""
    given = filled_in(interaction)
    context, presses = given.get(WHERE), given.get(PRESSES)
    return replace(
        rest,
        what=given.get(WHAT, ""),
        result=given.get(RESULT, ""),
        context=Context(context) if context in set(Context) else None,
        presses=int(presses) if presses in ("1", "2") else None,
        gaps=given.get(GAPS, rest.gaps),
        note=given.get(NOTE, rest.note),
        when=given.get(WHEN, rest.when),
        controls=given.get(CONTROLS, rest.controls),
    )


def form_sent(interaction: discord.Interaction[Any]) -> str:
    """The id of the form that an interaction brings; empty where it brings none."""
    if interaction.type is not discord.InteractionType.modal_submit:
        return ""
    return str(cast("dict[str, Any]", interaction.data or {}).get("custom_id"))


def filled_in(interaction: discord.Interaction[Any]) -> dict[str, str]:
    """What was typed into each field of a form, or picked first."""
    return dict(_fields(interaction.data))


def _fields(part: Any) -> Iterator[tuple[str, str]]:
    """Each field with what was typed, or picked first."""
    if isinstance(part, list):
        for one in part:
            yield from _fields(one)
    elif isinstance(part, dict):
        name, values = part.get("custom_id"), part.get("values") or [part.get("value")]
        if "type" in part and name is not None and isinstance(values[0], str):
            yield name, values[0]
        yield from _fields(part.get("components"))
        yield from _fields(part.get("component"))
