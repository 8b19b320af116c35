"""The pictures in words, for whoever does not see them: the same numbers, in at most 1,024 characters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from string import ascii_uppercase

from bot.limits import ALT_CHARACTERS
from bot.render.board_lines import BoardLine
from bot.render.conversions import situation_words
from bot.render.limits import cut
from bot.render.pictures.names import ROWS, day, link_names, percent
from bot.render.wording import say
from bot.results.conversion import Cell, StarterRow
from bot.results.finding import Choice, Finding
from bot.results.practice import Beside, LinkSides, WeekPoint
from core.learning.rates import Rate
from core.notation import format_route
from core.rhythm import Schedule, TimedPress
from core.situations import Situation

LISTED_WEEKS = 4
"""So many weeks are told one by one, more of them by the first, last, best and worst."""

RHYTHM_ROWS = 12
"""So many presses are on a rhythm sheet."""

NAME_CHARACTERS = (60, 30, 20, 12, 6, 3)
"""To how many characters the names are cut until it fits; the numbers stay whole."""


def progress_alt(name: str, points: tuple[WeekPoint, ...], goal: float) -> str:
    """`progress_picture` in words."""

    def told(most: int) -> str:
        lines = [say("picture-alt", "progress", name=cut(name, most))]
        for in_match, where in ((False, "training"), (True, "matches")):
            lines += _series([point for point in points if point.in_match is in_match], where)
        if not points:
            lines.append(say("picture-progress", "nothing"))
        return " ".join([*lines, say("picture-alt", "goal", percent=percent(goal))])

    return _fitting(told)


def sides_alt(sides: tuple[LinkSides, ...]) -> str:
    """`sides_picture` in words."""

    def told(most: int) -> str:
        lines = [
            _link(cut(name, most), one)
            for name, one in zip(link_names(sides[:ROWS]), sides[:ROWS], strict=True)
        ]
        return " ".join([say("picture-alt", "sides"), *(lines or [say("picture-sides", "nothing")])])

    return _fitting(told)


def board_alt(lines: Sequence[BoardLine]) -> str:
    """`board_picture` in words."""

    def told(most: int) -> str:
        rows = [
            say(
                "picture-board-alt",
                "row",
                name=cut(line.name, most),
                work=line.work,
                last=line.last,
                gap=line.gap,
                stuck=cut(line.stuck, most),
            )
            for line in lines
        ]
        return " ".join([say("picture-board-alt", "board"), *rows])

    return _fitting(told)


def beside_alt(rows: tuple[Beside, ...]) -> str:
    """`beside_picture` in words."""

    def told(most: int) -> str:
        lines = [
            say(
                "picture-alt",
                "both",
                name=cut(row.name, most),
                training=_rate(row.training),
                matches=_rate(row.match),
            )
            for row in rows[:ROWS]
        ]
        return " ".join([say("picture-alt", "beside"), *(lines or [say("picture-beside", "nothing")])])

    return _fitting(told)


def sheet_alt(name: str, rows: tuple[StarterRow, ...], columns: tuple[Situation, ...]) -> str:
    """`sheet_picture` in words."""

    def told(most: int) -> str:
        lines = [say("picture-sheet-alt", "sheet", name=name)]
        for row in rows[:ROWS]:
            cells = "; ".join(_cells([cell for cell in row.cells if cell.situation in columns], most))
            lines.append(say("picture-sheet-alt", "row", starter=row.starter, cells=cells))
        if len(rows) > ROWS:
            lines.append(say("picture-sheet", "more", count=len(rows) - ROWS))
        return " ".join(lines)

    return _fitting(told)


def front_routes(found: Finding) -> list[tuple[str, Choice]]:
    """The routes of `front_picture` with their letters, the one with most damage first."""
    shown = sorted(found.routes[:ROWS], key=lambda one: (-one.damage, -one.chance))
    return list(zip(ascii_uppercase, shown, strict=False))


def front_alt(found: Finding) -> str:
    """`front_picture` in words."""

    def told(most: int) -> str:
        name = found.starter or found.character.name
        lines = [say("picture-front-alt", "head", name=cut(name, most))]
        for letter, one in front_routes(found):
            route = cut(format_route(one.route), most)
            worth = {"damage": one.damage, "chance": one.chance}
            lines.append(say("picture-front-alt", "route", letter=letter, route=route, **worth))
        return " ".join([*lines, *([] if found.routes else [say("picture-front", "nothing")])])

    return _fitting(told)


def rhythm_alt(name: str, schedule: Schedule) -> str:
    """`rhythm_picture` in words: as `rhythm_lines`, in short where that is too long, and of so many presses
    as fit."""
    head = say("rhythm-short", "head", name=cut(name, NAME_CHARACTERS[0]), rate=round(schedule.fps, 2))
    told = [head, *rhythm_lines(schedule)]
    short = _pressed("rhythm-short", schedule)
    while len(" ".join(told)) > ALT_CHARACTERS and short:
        notes = rhythm_notes("rhythm", schedule, len(short))
        told = [head, say("rhythm-short", "units"), f"{'; '.join(short)}.", *notes]
        short.pop()
    return cut(" ".join(told), ALT_CHARACTERS)


def rhythm_lines(schedule: Schedule) -> tuple[str, ...]:
    """When to press: a sentence for each of the first RHYTHM_ROWS presses, and what is left out."""
    return (*(f"{line}." for line in _pressed("rhythm", schedule)), *rhythm_notes("rhythm", schedule))


def rhythm_row(press: TimedPress, schedule: Schedule) -> str:
    """What a row of the rhythm sheet says of its press."""
    return _press("picture-rhythm", press, schedule, press.after)


def rhythm_notes(section: str, schedule: Schedule, shown: int = RHYTHM_ROWS) -> tuple[str, ...]:
    """What is left out besides so many presses, in this section's words: more of them, and moves that lack a
    number."""
    more = len(schedule.presses) - shown
    notes = [say(section, "more", count=more)] if more > 0 else []
    if schedule.untold:
        notes.append(say(section, "untold", input=schedule.untold[0]))
    return tuple(notes)


def _pressed(section: str, schedule: Schedule) -> list[str]:
    """The presses with what the buffer holds and when they touch, counted from the press before."""
    lines = []
    twice = False
    for press in schedule.presses[:RHYTHM_ROWS]:
        after = say("rhythm", "first-of-two", input=press.after) if twice else press.after
        line = _press(section, press, schedule, after)
        if press.at_once_frame is not None:
            line += say(section, "held", at_once=press.at_once_frame - press.after_frame)
        if press.contact_frame is not None:
            line += say(section, "touches", touch=press.contact_frame - press.frame)
        lines.append(line)
        twice = press.second_frame is not None
    return lines


def _press(section: str, press: TimedPress, schedule: Schedule, after: str | None) -> str:
    if after is None:
        return say(section, "first", input=press.input)
    origin, second = press.after_frame, press.second_frame
    first, last = press.first_frame - origin, press.last_frame - origin
    return say(
        section,
        "one" if second is None else "two",
        schedule.fps,
        input=press.input,
        means=say(section, press.means.value if press.means else "unknown"),
        after=after,
        aim=press.gap_frames,
        aim_ms=round(schedule.ms(press.gap_frames)),
        second=None if second is None else second - origin,
        accepted=say(section, "single" if first == last else "several", first=first, last=last),
    )


def _series(points: Sequence[WeekPoint], where: str) -> list[str]:
    if not points:
        return []
    where, points = say("picture", where), sorted(points, key=lambda point: point.week)
    if len(points) <= LISTED_WEEKS:
        rates = [
            say("picture-alt", "week", week=day(point.week.monday), rate=_week(point)) for point in points
        ]
        return [say("picture-alt", "listed", where=where, rates="; ".join(rates))]
    by_share = sorted(points, key=lambda point: point.landed / point.tries)
    return [
        say(
            "picture-alt",
            "series",
            where=where,
            weeks=len(points),
            first=day(points[0].week.monday),
            last=day(points[-1].week.monday),
            first_rate=_week(points[0]),
            last_rate=_week(points[-1]),
            best_rate=_week(by_share[-1]),
            worst_rate=_week(by_share[0]),
        )
    ]


def _week(point: WeekPoint) -> str:
    return _rate(Rate(point.landed, point.tries, point.low, point.high))


def _rate(rate: Rate | None) -> str:
    if rate is None:
        return say("picture-alt", "too-few")
    return say(
        "picture-alt",
        "rate",
        percent=percent(rate.share),
        landed=round(rate.landed),
        tries=round(rate.tries),
        low=percent(rate.low),
        high=percent(rate.high),
    )


def _link(name: str, one: LinkSides) -> str:
    text = say(
        "picture-alt",
        "link",
        name=name,
        window=one.window.frames,
        early=one.early,
        hit=one.hit,
        late=one.late,
        unknown=one.unknown or None,
    )
    if one.mean_off_frames is not None:
        off = round(one.mean_off_frames, 1)
        side = "early" if off < 0 else "late"
        key = "on-average" if off else "in-the-middle"
        text += say("picture-alt", key, off=abs(off), side=side)
        if one.spread_frames is not None:
            text += say("picture-alt", "spread", spread=round(one.spread_frames, 1))
    return f"{text}."


def _cells(cells: Sequence[Cell], most: int) -> list[str]:
    """What is kept for a starter, then its gaps together."""
    told, gaps = [], []
    for cell in cells:
        on = situation_words(cell.situation, "conversion-short")
        if cell.route is None:
            gaps.append(on)
        else:
            name = cut(cell.route.name, most)
            told.append(say("picture-sheet-alt", cell.state.value, on=on, name=name, damage=cell.damage))
    return [*told, *([say("picture-sheet-alt", "gap", on=", ".join(gaps))] if gaps else [])]


def _fitting(told: Callable[[int], str]) -> str:
    """What is told with names as long as fit."""
    for most in NAME_CHARACTERS:
        text = told(most)
        if len(text) <= ALT_CHARACTERS:
            return text
    return cut(text, ALT_CHARACTERS)
