"""What moderators and coaches did, in words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.members import Names, called
from bot.render.reps import moment_words
from bot.render.wording import say
from bot.results.audit import Deed, Entry
from bot.results.setup import AuditPage
from core.model import Game


def audit_card(
    page: AuditPage, names: Names, things: Mapping[str, str], zone: tzinfo, game: Game, *, first: bool
) -> Card:
    """A page of the list. `things`: the names of roles and channels, by their ids as they are kept."""
    if not page.entries:
        return Card(say("audit", "lead-none"), (), (), source_of(game))
    lines = tuple(
        say(
            "audit",
            "line",
            moment=moment_words(entry.made_at, zone),
            name=called(names, entry.made_by),
            deed=_deed(entry, things),
        )
        for entry in page.entries
    )
    kept = Group(say("audit", "how-long"), (say("audit", "kept"),))
    groups = (Group(say("audit", "when"), lines), kept)
    lead = say("audit", "lead" if first else "lead-older")
    return Card(lead, groups, (), source_of(game))


def older_words() -> str:
    """What the button to the page before says."""
    return say("audit", "older")


def _deed(entry: Entry, things: Mapping[str, str]) -> str:
    what = entry.what
    if entry.deed is Deed.SETTING:
        name, _, value = what.partition("=")
        what = say("audit-settings", name, value=things.get(value, value) or None)
    return say("audit-deeds", entry.deed.value, what=what)
