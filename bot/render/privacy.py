"""What is kept of a member, taken out and erased. No game is named: it is about all of them."""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.card import Card, Group
from bot.render.reps import setup_words
from bot.render.wording import say
from bot.results.tally import Everything, MemberSettings


def what_is_kept_card(kept: Everything) -> Card:
    """What is kept of the member who asks."""
    lead = say(
        "privacy-leads",
        "kept-shared" if kept.shared else "kept",
        tallies=len(kept.tallies),
        routes=len(kept.routes),
    )
    groups = [("chosen", _chosen(kept.settings)), ("who", [_line("who")]), ("do", [_line("do")])]
    more = [say("privacy-lines", "drills", drills=len(kept.drills))] if kept.drills else []
    if kept.conversions:
        more.insert(0, say("privacy-lines", "conversions", conversions=len(kept.conversions)))
    if kept.coaching is not None:
        more.append(_line("coaching"))
    if kept.games is not None:
        more.append(_line("games"))
    if kept.deeds:
        more.append(say("privacy-lines", "deeds", count=len(kept.deeds)))
    if more:
        groups.insert(0, ("more", more))
    if kept.shared:
        groups.insert(0, ("shared", [say("privacy-lines", "shared", routes=len(kept.shared))]))
    return _card(lead, *groups)


def export_card(tallies: int) -> Card:
    """What goes with the two files of an export."""
    lead = say("privacy-leads", "export", tallies=tallies)
    return _card(lead, ("files", [_line("json"), _line("csv")]))


def confirm_erase_card(tallies: int, shared: int = 0) -> Card:
    """What is asked before everything is erased; `shared`: how many routes the member shared."""
    lead = say("privacy-leads", "confirm", tallies=tallies)
    lines = [say("privacy-lines", "unshare", routes=shared)] if shared else []
    return _card(lead, ("sure", [*lines, _line("take-out"), _line("only-here")]))


def erased_card(tallies: int) -> Card:
    """What is said once everything is gone; `tallies`: how many there were."""
    lead = say("privacy-leads", "erased" if tallies else "erased-none", tallies=tallies)
    return _card(lead, ("next", [_line("again"), _line("only-here")]))


def _chosen(settings: MemberSettings) -> list[str]:
    lines = []
    if settings.character is not None:
        lines.append(say("privacy-lines", "character", character=settings.character))
    if settings.goal is not None:
        lines.append(say("privacy-lines", "goal", goal=settings.goal))
    setup = setup_words(settings.setup)
    if setup is not None:
        lines.append(say("privacy-lines", "hands", setup=setup))
    return lines or [_line("nothing")]


def _line(key: str) -> str:
    return say("privacy-lines", key)


def _card(lead: str, *groups: tuple[str, Sequence[str]]) -> Card:
    asked = tuple(Group(say("privacy-questions", question), tuple(lines)) for question, lines in groups)
    return Card(lead, asked, (), _line("source"))
