"""Numbers that members say are wrong, in words: for who reports, for who decides, and what was decided."""

from __future__ import annotations

from datetime import tzinfo

from bot.render.card import Card, Group, source_of
from bot.render.members import Names, called
from bot.render.reps import date_words
from bot.render.wording import Fact, field_name, say
from bot.results.games import EditionChange, Report, ReportList
from bot.results.place import Owner
from core.model import Game


def reported_card(report: Report, game: Game) -> Card:
    """A report that was taken."""
    groups = [_group("next", say("game-reports", "next-reported"))]
    if report.note:
        groups.insert(0, _group("note", report.note))
    return Card(say("game-reports", "reported", 60, **_facts(report)), tuple(groups), (), source_of(game))


def reports_card(
    listed: ReportList, names: Names, zone: tzinfo, lead: str | None = None, after: str | None = None
) -> Card:
    """The reports that wait; `lead`: what was just decided, and `after` what can be done with that."""
    count = len(listed.reports) + listed.more
    if not count:
        lead = lead or say("game-reports", "list-none")
        return Card(lead, (_next(after, "next-none"),), (), source_of(listed.game))
    key = "list-one" if count == 1 else "list"
    lines = [_line(number, one, names, zone) for number, one in enumerate(listed.reports, 1)]
    if listed.more:
        lines.append(say("game-reports", "more", count=listed.more))
    groups = (_group("reports", *lines), _next(after, "next-list"))
    return Card(lead or say("game-reports", key, count=count), groups, (), source_of(listed.game))


def accepted_words(report: Report, change: EditionChange, names: Names, by: Owner) -> str:
    """That a report was accepted, for who did so."""
    version = change.edition.version
    return say(
        "game-reports", "accepted", 60, **_facts(report), version=version, name=_told(report, names, by)
    )


def dismissed_words(report: Report, names: Names, by: Owner) -> str:
    """That a report was left, for who did so."""
    return say("game-reports", "dismissed", 60, **_facts(report), name=_told(report, names, by))


def decided_card(report: Report, game: Game) -> Card:
    """For the member who reported it: what was decided."""
    told = report.stage.value
    lead = say("game-reports", f"told-{told}", 60, **_facts(report), game=report.game)
    return Card(lead, (_group("next", say("game-reports", f"next-{told}")),), (), source_of(game))


def accept_label(number: int) -> str:
    """What the button says that accepts a report of the list."""
    return say("game-reports", "accept", number=number)


def dismiss_label(number: int) -> str:
    """What the button says that leaves a report of the list."""
    return say("game-reports", "dismiss", number=number)


def _line(number: int, report: Report, names: Names, zone: tzinfo) -> str:
    line = say(
        "game-reports",
        "line",
        60,
        **_facts(report),
        number=number,
        game=report.game,
        version=report.version,
        name=called(names, report.member.member_id),
        day=date_words(report.made_at, zone),
    )
    return say("game-reports", "line-note", line=line, note=report.note) if report.note else line


def _told(report: Report, names: Names, by: Owner) -> str | None:
    """Who is told what was decided: nobody where they decided it themselves."""
    return None if report.member == by else called(names, report.member.member_id)


def _facts(report: Report) -> dict[str, Fact]:
    return {
        "whose": say("game-reports", "whose", character=report.character, input=report.input),
        "column": field_name(report.column),
        "found": say("game-reports", "not-found" if report.found else "not-given", found=report.found),
        "right": report.right,
    }


def _next(after: str | None, key: str) -> Group:
    told = say("game-reports", key)
    return _group("next", told) if after is None else _group("next", after, told)


def _group(question: str, *lines: str) -> Group:
    return Group(say("game-report-questions", question), lines)
