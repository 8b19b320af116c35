"""The pictures in words, for whoever does not see them: the same numbers, in at most 1,024 characters."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bot.render.limits import ALT_CHARACTERS, cut
from bot.render.pictures.names import ROWS, day, link_names, percent
from bot.render.wording import say
from bot.results.practice import Beside, LinkSides, WeekPoint
from core.learning.rates import Rate

LISTED_WEEKS = 4
"""So many weeks are told one by one, more of them by the first, last, best and worst."""

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


def _fitting(told: Callable[[int], str]) -> str:
    """What is told with names as long as fit."""
    for most in NAME_CHARACTERS:
        text = told(most)
        if len(text) <= ALT_CHARACTERS:
            return text
    return cut(text, ALT_CHARACTERS)
