"""What the bot may write to a member unasked, in words."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from bot.results.tally import MemberSettings
from core.learning.quiet import USUAL
from core.model import Game

_ABOUT = ("homework", "coaches", "drills", "patches", "reports")


def reminders_card(settings: MemberSettings, zone: str, game: Game, *, everywhere: bool = False) -> Card:
    """Whether, and when. `everywhere`: what is chosen here holds for all servers."""
    quiet = settings.quiet or USUAL
    never = quiet.start == quiet.end
    lines = [
        say("reminders", "any-hour") if never else say("reminders", "quiet", quiet=str(quiet), zone=zone)
    ]
    groups = [] if settings.muted else [Group(say("reminders", "when"), tuple(lines))]
    if not settings.muted:
        about = tuple(say("reminders", key) for key in _ABOUT)
        groups.insert(0, Group(say("reminders", "about"), about))
    where = say("reminders", "everywhere" if everywhere else "here")
    groups.append(Group(say("reminders", "how"), (say("reminders", "change"), where)))
    lead = say("reminders", "muted" if settings.muted else "wanted")
    return Card(lead, tuple(groups), (), source_of(game))
