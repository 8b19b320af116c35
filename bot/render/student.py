"""What a coach reads of a student's log, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.forms import context_name
from bot.render.reps import date_words, whose_words
from bot.render.wording import say
from bot.results.tally import KeptTally
from core.model import Game


def as_student_reads(card: Card, name: str) -> Card:
    """A card that speaks to the student, for their coach."""
    return replace(card, lead=say("student", "reads", name=name, lead=card.lead))


def student_tallies_card(tallies: Sequence[KeptTally], name: str, zone: tzinfo, game: Game) -> Card:
    """What a student logged last."""
    if not tallies:
        return Card(say("student", "tallies-none", name=name), (), (), source_of(game))
    group = Group(say("student-questions", "latest"), tuple(tally_line(kept, zone) for kept in tallies))
    return Card(say("student", "tallies", name=name), (group,), (), source_of(game))


def tally_line(kept: KeptTally, zone: tzinfo) -> str:
    """One tally of a student."""
    tally = kept.tally
    return say(
        "student",
        "tally",
        landed=tally.landed,
        tries=tally.tries,
        what=whose_words(tally.subject),
        where=context_name(tally.context),
        day=date_words(tally.made_at, zone),
    )
