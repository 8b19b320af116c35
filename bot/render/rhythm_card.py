"""When to press a route: the card around the rhythm sheet, the same in words, and what is said with a click
track."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.pictures import rhythm_lines
from bot.render.wording import say, say_reason
from bot.results.playing import ClickTrack, NoTrack, RhythmSheet, Unplayable
from bot.results.route import OpenRoute
from core.model import Means
from core.notation import format_route
from core.rhythm import Schedule, TimedPress

SHOWN_REASONS = 4
EASY_FRAMES = 12
"""With so many accepted frames a press is not tight (ours)."""
STEM_CHARACTERS = 60


def route_name(opened: OpenRoute) -> str:
    """What the member calls the route; its moves where they did not save it."""
    return opened.name or format_route(opened.check.route)


def sheet_card(sheet: RhythmSheet, *, drawn: bool) -> Card:
    """The card of a rhythm sheet; where the picture could not be `drawn`, its words stand in for it."""
    groups = [_aims(sheet)]
    if not drawn:
        groups.insert(0, _presses(sheet.schedule))
    return Card(sheet_lead(sheet), tuple(groups), (), _source(sheet.opened))


def presses_card(sheet: RhythmSheet) -> Card:
    """The rhythm sheet in words alone."""
    return Card(sheet_lead(sheet), (_presses(sheet.schedule), _aims(sheet)), (), _source(sheet.opened))


def sheet_lead(sheet: RhythmSheet) -> str:
    """Where the route is tightest."""
    name, timed = route_name(sheet.opened), sheet.schedule
    tightest = min(timed.presses[1:], key=_width)
    width = _width(tightest)
    return say(
        "rhythm-leads",
        "easy" if width >= EASY_FRAMES else "tightest-single" if width == 1 else "tightest",
        timed.fps,
        name=name,
        input=tightest.input,
        after=tightest.after,
        gap=tightest.gap_frames,
        count=width,
    )


def unplayable_card(route: Unplayable) -> Card:
    """A route that has no rhythm, and why."""
    checked = route.opened.check
    last = checked.failing or 0
    moves = checked.route.moves
    lead = say(
        "rhythm-leads",
        "no" if checked.verdict.answer.value == "no" else "unknown",
        name=route_name(route.opened),
        move=moves[last].input,
        after=moves[last - 1].input if last else None,
    )
    told = dict.fromkeys(say_reason(reason, checked.game) for reason in checked.verdict.reasons)
    return Card(lead, (), tuple(told)[:SHOWN_REASONS], _source(route.opened))


def clicks_text(made: ClickTrack) -> str:
    """What is said with a click track: sentences of our own, with the route's name in them."""
    speed = round(made.track.speed * 100)
    told = [
        say(
            "clicks",
            "lead",
            name=route_name(made.opened),
            speed=speed,
            seconds=round(made.track.seconds),
            count=made.track.loops,
        ),
        say("clicks", "sounds" if made.directions else "sounds-no-directions"),
    ]
    if made.track.loops < made.wanted_loops:
        told.append(say("clicks", "fewer", count=made.track.loops, wanted=made.wanted_loops))
    if made.schedule.untold:
        told.append(say("clicks", "untold", input=made.schedule.untold[0]))
    if speed < 100:
        told.append(say("rhythm", "slow"))
    return " ".join(told)


def no_track_card(none: NoTrack) -> Card:
    """Why there is no click track."""
    key = "failed" if none.failed else "too-long"
    return Card(say("clicks", key, name=route_name(none.opened)), (), (), _source(none.opened))


def clicks_file(opened: OpenRoute, speed: float) -> str:
    """The name of a click track's file."""
    return f"{file_stem(route_name(opened))}-{round(speed * 100)}.wav"


def file_stem(name: str) -> str:
    """A name as a file may have it on any system: ASCII letters, digits and hyphens, never empty.

    >>> file_stem("5MP, 2MP xx 236HP"), file_stem("ê/../?")
    ('5MP-2MP-xx-236HP', 'route')
    """
    kept = "".join(char if char.isascii() and char.isalnum() else " " for char in name)
    return "-".join(kept.split())[:STEM_CHARACTERS].strip("-") or "route"


def _presses(timed: Schedule) -> Group:
    return Group(say("rhythm-questions", "presses"), rhythm_lines(timed))


def _aims(sheet: RhythmSheet) -> Group:
    """Where the aims stand, and why some are double taps."""
    lines = [say("rhythm-card", "aims")]
    for one in sheet.twice:
        lines.append(say("rhythm-card", "own-twice" if one.own else "twice", input=one.input))
    if any(press.means is Means.LINK for press in sheet.schedule.presses) and not sheet.twice:
        lines.append(say("rhythm-card", "once"))
    steps = sheet.opened.check.route.steps
    if any(
        press.means in (Means.CANCEL, Means.CHAIN) and not step.delayed
        for press, step in zip(sheet.schedule.presses, steps, strict=False)
    ):
        lines.append(say("rhythm-card", "cancels"))
    if any(step.delayed for step in steps):
        lines.append(say("rhythm-card", "delayed"))
    if sheet.schedule.untold:
        lines.append(say("rhythm", "untold", input=sheet.schedule.untold[0]))
    return Group(say("rhythm-questions", "aims"), tuple(lines))


def _width(press: TimedPress) -> int:
    return press.last_frame - press.first_frame + 1


def _source(opened: OpenRoute) -> str:
    return source_of(opened.check.game, opened.check.character)
