"""What a member does when a starter lands, as cards; the quiz and what its answers are called."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, timedelta, tzinfo

from bot.limits import LABEL_CHARACTERS
from bot.render.card import Card, Group, source_of
from bot.render.limits import cut
from bot.render.reps import date_words
from bot.render.wording import Fact, say, say_reason
from bot.results.conversion import (
    Cell,
    CellState,
    ClearedConversion,
    ConversionRefusal,
    Outcome,
    Proposal,
    Question,
    QuizAnswer,
    SetConversion,
    Sheet,
    StarterRow,
)
from bot.results.tally import SavedRoute
from core.model import Character, Game
from core.situations import Situation, SituationKind
from core.text import quoted

SOON = timedelta(hours=1)
"""What comes again sooner than this is told of in minutes."""


def situation_words(situation: Situation, section: str = "conversion-and") -> str:
    """A situation in the words of a section."""
    name, key = situation.name, situation.kind.value
    if situation.kind is SituationKind.STATE and name.casefold().endswith(("hit", "counter")):
        key = "state-hit"
    return say(section, key, state=name)


def set_card(result: SetConversion) -> Card:
    """A conversion that is kept now."""
    kept, where = result.conversion, result.situation
    lead = say(
        "conversion-leads",
        "set",
        starter=kept.starter,
        situation=situation_words(where),
        name=kept.route.name,
        damage=result.check.damage,
    )
    like = [_like_a_hit([where])] if where.like_a_hit else []
    groups = (
        _group("route", _route(kept.route)),
        *([_group("count", *like)] if like else []),
        _group("how", say("conversion-lines", "learn")),
    )
    return Card(lead, groups, (), _source(result.game, kept.character))


def cleared_card(result: ClearedConversion) -> Card:
    """A conversion that is no longer kept."""
    kept = result.conversion
    situation = situation_words(result.situation)
    lead = say("conversion-leads", "cleared", starter=kept.starter, situation=situation)
    groups = (_group("route", _route(kept.route), say("conversion-lines", "kept-route")),)
    return Card(lead, groups, (), _source(result.game, kept.character))


def sheet_card(sheet: Sheet) -> Card:
    """The whole sheet, a group for each starter."""
    groups = [
        Group(say("conversion-questions", "starter", starter=row.starter), tuple(_row(row, sheet)))
        for row in sheet.rows
    ]
    if not sheet.filled:
        how = (say("conversion-lines", "set"), say("conversion-lines", "quiz"))
        groups.append(_group("add", *how))
    notes = [say("conversion-lines", "gauge")] if sheet.game.gauges else []
    same = [cell.situation for row in sheet.rows[:1] for cell in row.cells if cell.situation.like_a_hit]
    notes += [_like_a_hit(same)] if same else []
    notes += [] if sheet.searched else [say("conversion-lines", "not-searched")]
    if notes:
        groups.append(_group("count", *notes))
    return Card(_sheet_lead(sheet), tuple(groups), (), source_of(sheet.game, sheet.character))


def question_card(question: Question) -> Card:
    """A question of the quiz: short, for the clock runs."""
    lead = say(
        "conversion-leads",
        "question",
        starter=question.conversion.starter,
        situation=situation_words(question.situation),
    )
    lines = [say("conversion-lines", "limit", limit=question.limit_seconds)]
    lines += [say("conversion-lines", "ahead")] if question.ahead else []
    return Card(lead, (_group("time", *lines),), (), _source(question.game, question.conversion.character))


def answer_card(answer: QuizAnswer, zone: tzinfo = UTC) -> Card:
    """What came of an answer; days are those of `zone`."""
    kept = answer.conversion
    seconds = f"{answer.seconds:.1f}"
    late = answer.outcome is Outcome.WRONG and answer.seconds > answer.limit_seconds
    lead = say(
        "conversion-leads",
        "wrong-slow" if late else answer.outcome.value,
        seconds=seconds,
        name=kept.route.name,
        limit=answer.limit_seconds,
    )
    lines = [_route(kept.route)]
    if answer.outcome is Outcome.WRONG and answer.chosen is not None:
        chosen = answer.chosen
        lines.append(say("conversion-lines", "chosen", name=chosen.name, notation=chosen.notation))
    landed = "logged-right" if answer.outcome is Outcome.RIGHT else "logged-wrong"
    groups = (
        _group("route", *lines),
        _group("seconds", say("conversion-lines", "took", seconds=seconds, limit=answer.limit_seconds)),
        _group("again", _again(answer, zone)),
        _group("log", say("conversion-lines", landed)),
    )
    return Card(lead, groups, (), _source(answer.game, kept.character))


def conversion_refusal_card(refusal: ConversionRefusal) -> Card:
    """Why nothing was kept, shown or asked."""
    facts: dict[str, Fact] = dict(refusal.facts)
    if "typed" in facts:
        facts["typed"] = quoted(str(facts["typed"]))
    if refusal.situation is not None:
        facts["situation"] = situation_words(refusal.situation)
    why: tuple[str, ...] = ()
    if refusal.check is not None:
        state = refusal.situation.start.state if refusal.situation else None
        why = tuple(say_reason(one, refusal.game, state) for one in refusal.check.verdict.reasons)
    lead = say("conversion-refusals", refusal.code.value, 60, **facts)
    return Card(lead, (), tuple(dict.fromkeys(why)), source_of(refusal.game))


def choice_label(route: SavedRoute) -> str:
    """A route as an answer of the quiz."""
    return cut(route.name, LABEL_CHARACTERS)


def proposal_label(proposal: Proposal) -> str:
    """A proposal as a button: taken where the route is saved, else looked at."""
    if proposal.route is None:
        notation = proposal.found.what if proposal.found else ""
        return cut(say("conversion-buttons", "look", notation=notation), LABEL_CHARACTERS)
    situation = situation_words(proposal.situation, "conversion-short")
    name = proposal.route.name
    text = say("conversion-buttons", "take", starter=proposal.starter, situation=situation, name=name)
    return cut(text, LABEL_CHARACTERS)


def _sheet_lead(sheet: Sheet) -> str:
    who, filled, broken = sheet.character.name, sheet.filled, sheet.broken
    if broken:
        works = "works" if broken == 1 else "work"
        facts: dict[str, Fact] = {"broken": broken, "works": works}
        key = "sheet-broken" if filled else "sheet-all-broken"
        return say("conversion-leads", key, 60, character=who, filled=filled, **facts)
    if not filled:
        return say("conversion-leads", "sheet-none", character=who)
    gaps = len(sheet.proposals) or None
    return say("conversion-leads", "sheet", character=who, filled=filled, gaps=gaps)


def _row(row: StarterRow, sheet: Sheet) -> Iterator[str]:
    """What is kept, what could fill a gap, and the other gaps in one line."""
    proposed = {one.situation.name: one for one in sheet.proposals if one.starter == row.starter}
    gaps = []
    for cell in row.cells:
        if cell.state is not CellState.GAP:
            yield _kept(cell)
        elif cell.situation.name in proposed:
            yield _proposed(proposed[cell.situation.name])
        elif not cell.situation.like_a_hit:
            gaps.append(situation_words(cell.situation, "conversion-short"))
    if gaps:
        yield say("conversion-lines", "gaps", situations=", ".join(gaps))


def _kept(cell: Cell) -> str:
    assert cell.route is not None
    return say(
        "conversion-lines",
        cell.state.value,
        on=situation_words(cell.situation, "conversion-on"),
        name=cell.route.name,
        notation=cell.route.notation,
        damage=cell.damage,
    )


def _proposed(proposal: Proposal) -> str:
    facts: dict[str, Fact] = {"damage": proposal.damage}
    if proposal.route is not None:
        facts["name"] = proposal.route.name
    elif proposal.found is not None:
        facts["notation"] = proposal.found.what
    on = situation_words(proposal.situation, "conversion-on")
    return say("conversion-lines", "found" if proposal.route is None else "own", 60, on=on, **facts)


def _like_a_hit(situations: Sequence[Situation]) -> str:
    told = ", ".join(situation_words(one, "conversion-short") for one in situations)
    return say("conversion-lines", "like-a-hit", situations=told)


def _again(answer: QuizAnswer, zone: tzinfo) -> str:
    wait = answer.asked_again_at - answer.answered_at
    if wait < SOON:
        return say("conversion-lines", "soon", minutes=max(1, round(wait / timedelta(minutes=1))))
    return say("conversion-lines", "day", day=date_words(answer.asked_again_at, zone))


def _route(route: SavedRoute) -> str:
    return say("conversion-lines", "route", name=route.name, notation=route.notation)


def _source(game: Game, character: str) -> str:
    who: Character | None = game.character(character)
    return source_of(game, who)


def _group(question: str, *lines: str) -> Group:
    return Group(say("conversion-questions", question), tuple(lines))
