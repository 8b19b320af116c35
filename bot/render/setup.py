"""The set-up of a server in words: each step, and all that was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from bot.render.card import Card, Group, source_of
from bot.render.health import amiss_lines
from bot.render.welcome import welcome_card
from bot.render.wording import say
from bot.results.ask import Welcome
from bot.results.setup import Health, Step
from bot.results.tally import Notation
from core.learning.quiet import USUAL, Quiet
from core.model import Game

STEPS: tuple[Step, ...] = tuple(step for step in Step if step is not Step.DONE)


@dataclass(frozen=True, slots=True)
class Chosen:
    """What a server chose in a step, in words. `value`: None where nothing is, or it is `gone`."""

    value: str | None = None
    gone: bool = False


def quiet_words(quiet: Quiet) -> str:
    """Quiet hours, or that there are none."""
    return say("setup", "any-hour") if quiet.start == quiet.end else str(quiet)


def notation_words(notation: Notation) -> str:
    """How moves are written, with examples."""
    return say("setup-values", notation.value)


def channel_words(name: str) -> str:
    """A channel as it is shown."""
    return say("setup", "channel", channel=name)


def pick_words(step: Step) -> str:
    """What the list of a step asks for."""
    return say("setup-picks", _key(step))


def step_words(step: Step) -> str:
    """The step in a word or two, for a button."""
    return say("setup-short", _key(step))


def button_words(key: str) -> str:
    """What a button that leads through the steps says."""
    return say("setup-labels", key)


def step_card(step: Step, chosen: Chosen, game: Game) -> Card:
    """One step: what is chosen, what for, and how."""
    key = _key(step)
    name = say("setup-names", key)
    lead = say("setup", "lead", number=step + 1, count=len(STEPS), name=name)
    if chosen.value is not None:
        now = chosen.value
    else:
        now = say("setup", "gone") if chosen.gone else say("setup", "nothing", usual=_usual(step, game))
    groups = [
        _group("now", now),
        _group("for", say("setup-for", key)),
        _group("how", say("setup-how", key)),
    ]
    return Card(lead, tuple(groups), (), source_of(game))


def done_card(server: str, health: Health, moderators: str | None, game: Game) -> Card:
    """The end of the steps. `moderators`: the name of their role."""
    groups = [] if health.is_well else [_group("amiss", *amiss_lines(health))]
    groups.append(_group("next", *(say("setup", f"next-{key}") for key in _NEXT)))
    if moderators is not None:
        who = say("setup", "who-role", role=moderators)
    else:
        who = say("setup", "who-none", number=Step.MODERATORS + 1)
    lead = say("setup", "lead-done" if health.is_well else "lead-done-ill", server=server)
    return Card(lead, (*groups, _group("who", who)), (), source_of(game))


def settings_card(server: str, chosen: Mapping[Step, Chosen], keep_days: int | None, game: Game) -> Card:
    """All that a server chose."""
    lines = [_line(step, chosen[step], game) for step in STEPS]
    kept = "kept" if keep_days is not None else "kept-for-ever"
    lines.append(say("setup", kept, days=keep_days))
    lead = say("setup", "lead-settings", server=server)
    return Card(lead, (_group("now", *lines),), (), source_of(game))


def setup_refusal_card(key: str, game: Game, **facts: str) -> Card:
    """Why what was picked is not chosen."""
    return Card(say("setup-refusals", key, 60, **facts), (), (), source_of(game))


def joined_card(welcome: Welcome) -> Card:
    """The first words in a server: those of a welcome, and where its moderators begin."""
    card = welcome_card(welcome)
    begin = Group(say("joined", "moderators"), (say("joined", "begin"), say("joined", "leaves")))
    return replace(card, groups=(*card.groups, begin))


_NEXT = ("game", "drill", "students", "help", "settings")


def _line(step: Step, chosen: Chosen, game: Game) -> str:
    name = say("setup-short", _key(step))
    if chosen.value is not None:
        return say("setup", "line", name=name, value=chosen.value)
    if chosen.gone:
        return say("setup", "line-gone", name=name)
    return say("setup", "line-nothing", name=name, usual=_usual(step, game))


def _usual(step: Step, game: Game) -> str:
    return say("setup-usual", _key(step), game=game.name, quiet=str(USUAL))


def _group(question: str, *lines: str) -> Group:
    return Group(say("setup", question), lines)


def _key(step: Step) -> str:
    return step.name.lower()
