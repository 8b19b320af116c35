"""What is said of a tally: logged, changed, taken out, put back, listed, and why it cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from datetime import UTC, tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.hands import diagnosis_sentence
from bot.render.reps import character_of, date_words, day_words, rate_words, setup_words, what_words
from bot.render.wording import Fact, say
from bot.results.log import Changed, Listed, Logged, LogRefusal, PutBack, Undone
from bot.results.tally import Drops, KeptTally, SubjectKind, Tally
from core.learning.rates import ENOUGH_TRIES
from core.learning.tally import Context
from core.learning.wins import Win, WinCode
from core.model import Game
from core.text import quoted
from core.timing import Diagnosis

HOLDS_UP = 0.8
"""The share from which something is ready for more than training (common practice, no source)."""
SHOWN_GAPS = 20


def logged_card(result: Logged, game: Game) -> Card:
    """The card of a tally that was just logged."""
    tally = result.kept.tally
    where = _where(tally)
    so_far = rate_words(result.total_landed, result.total_tries)
    groups = [Group(say("log-questions", "so-far", where=where), (so_far,))]
    groups += _group("wins", [_win(win, tally) for win in _told(result.wins)])
    if result.timing is not None:
        groups += _group("timing", [diagnosis_sentence(result.timing)])
    groups += _group("next", _next(result))
    return _card("again" if result.again else "logged", result.kept, game, groups)


def changed_card(result: Changed, game: Game, zone: tzinfo = UTC) -> Card:
    """The card of a tally with new values."""
    return _card("changed", result.kept, game, _details(result.kept.tally, zone))


def undone_card(result: Undone, game: Game) -> Card:
    """The card of a tally that was taken out."""
    return _card("undone", result.kept, game, _group("then", [say("log-next", "undo")]))


def put_back_card(result: PutBack, game: Game) -> Card:
    """The card of a tally that is back."""
    return _card("put-back", result.kept, game, [])


def one_card(kept: KeptTally, game: Game, zone: tzinfo = UTC) -> Card:
    """The card of one tally with all that was said of it; times are those of `zone`."""
    return _card("one", kept, game, _details(kept.tally, zone))


def list_card(listed: Listed, game: Game, zone: tzinfo = UTC) -> Card:
    """The card of some tallies, the newest first."""
    lines = [
        say(
            "log-lines",
            "tally",
            60,
            day=date_words(kept.tally.made_at, zone),
            **_said(kept.tally),
        )
        for kept in listed.tallies
    ]
    one = len(lines) == 1 and not listed.older
    lead = say("log-leads", "listed-none" if not lines else "listed-one" if one else "listed")
    if listed.older:
        lines.append(say("log-lines", "more"))
    return Card(lead, tuple(_group("tallies", lines)), (), source_of(game))


def log_refusal_card(refusal: LogRefusal, game: Game) -> Card:
    """Why nothing was stored or changed."""
    facts: dict[str, Fact] = {
        name: fact for name, fact in refusal.facts.items() if fact != "" or name == "typed"
    }
    if "typed" in facts:
        facts["typed"] = quoted(str(facts["typed"]))
    if "field" in facts:
        facts["field"] = say("log-fields", str(facts["field"]))
    if facts.get("drops") == 0:
        del facts["drops"]
    return Card(say("log-refusals", refusal.code.value, 60, **facts), (), (), source_of(game))


def drops_words(tally: Tally) -> str | None:
    """Why tries dropped, such as `2 early, 1 late`; None where no reason was noted."""
    counts = {each.name: getattr(tally.drops, each.name) for each in fields(Drops)}
    if not tally.drops.total:
        return None
    counts["unknown"] = tally.tries - tally.landed - tally.drops.total
    return ", ".join(f"{count} {say('log-drops', name)}" for name, count in counts.items() if count)


def _card(lead: str, kept: KeptTally, game: Game, groups: list[Group]) -> Card:
    tally = kept.tally
    source = source_of(game, character_of(game, tally.subject))
    return Card(say("log-leads", lead, 60, **_said(tally)), tuple(groups), (), source)


def _said(tally: Tally) -> dict[str, Fact]:
    """What a line on a tally says of it."""
    return {
        "landed": tally.landed,
        "tries": tally.tries,
        "what": what_words(tally.subject),
        "where": _where(tally),
        "drops": drops_words(tally),
    }


def _where(tally: Tally) -> str:
    if tally.subject.kind is SubjectKind.CHOICE:
        return say("quiz-log", "where")
    return say("reps-contexts", tally.context.value)


def _told(wins: tuple[Win, ...]) -> Iterator[Win]:
    """All wins; but who landed it in a match for the first time need not hear that it was tried."""
    landed = any(win.code is WinCode.FIRST_LANDED_IN_MATCH for win in wins)
    for win in wins:
        if not (landed and win.code is WinCode.FIRST_TRIED_IN_MATCH):
            yield win


def _win(win: Win, tally: Tally) -> str:
    facts: dict[str, Fact] = dict(win.facts)
    if facts.get("tries_before") == 0:
        del facts["tries_before"]
    return say("log-wins", win.code.value, 60, **{**_said(tally), **facts})


def _next(result: Logged) -> list[str]:
    """What to do next: what most drops ask for, then where to go on."""
    tally = result.kept.tally
    drops = {each.name: getattr(tally.drops, each.name) for each in fields(Drops)}
    most = max(drops, key=lambda name: drops[name])
    said = []
    if drops[most] > 1 and most not in ("early", "late"):
        said.append(say("log-mend", most))
    if tally.context.is_match:
        return [*said, say("log-next", "in-match")]
    if result.total_tries < ENOUGH_TRIES:
        more = ENOUGH_TRIES - result.total_tries
        return [*said, say("log-next", "more-tries", more=more, where=_where(tally))]
    if result.total_landed < HOLDS_UP * result.total_tries:
        told = result.timing is not None and isinstance(result.timing.diagnosis, Diagnosis)
        return said if said and told else [*said, say("log-next", "steady")]
    loaded = tally.context is not Context.TRAINING
    return [*said, say("log-next", "to-match" if loaded else "under-load")]


def _details(tally: Tally, zone: tzinfo) -> list[Group]:
    """When and how it was made, and the note."""
    when = tally.made_at.astimezone(zone)
    lines = [say("log-lines", "when", day=day_words(when.date()), time=f"{when:%H:%M %Z}")]
    if tally.subject.kind is not SubjectKind.CHOICE:
        lines.append(say("log-lines", "presses-one" if tally.presses == 1 else "presses-two"))
    setup = setup_words(tally.setup)
    if setup is not None:
        lines.append(say("log-lines", "setup", setup=setup[0].upper() + setup[1:]))
    if tally.gap_frames:
        gaps = [str(gap) for gap in tally.gap_frames[:SHOWN_GAPS]]
        more = len(tally.gap_frames) - SHOWN_GAPS
        gaps += [say("chat", "more", count=more)] if more > 0 else []
        lines.append(say("log-lines", "gaps", gaps=", ".join(gaps)))
    if tally.game_version:
        lines.append(say("log-lines", "version", version=tally.game_version))
    return [*_group("how", lines), *_group("note", [tally.note] if tally.note else [])]


def _group(question: str, lines: list[str]) -> list[Group]:
    return [Group(say("log-questions", question), tuple(lines))] if lines else []
