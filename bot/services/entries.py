"""Tallies as they are typed: understood, refused with the reason, and written again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import (
    LONGEST_GAP_FRAMES,
    MOST_GAPS,
    MOST_TRIES,
    NOTE_CHARACTERS,
    Controller,
    Setup,
    Side,
    Tally,
)
from bot.services.subjects import typed_as
from bot.words.counts import Count, read_count, write_count
from bot.words.moments import AHEAD, read_moment
from core.learning.tally import Context
from core.model import Game
from core.notation.tokens import fold, name_key
from core.text import clipped, one_line
from core.verdict import Facts, Value

OLDEST = timedelta(days=3_652)
GAPS_CHARACTERS = 1_200

_GAP = re.compile(r"([0-9]{1,6})f?")
_BETWEEN_GAPS = re.compile(r"[\s,;/]+")


@dataclass(frozen=True, slots=True)
class Entry:
    """A tally as it was typed; what is None or empty was not said."""

    what: str
    result: str
    context: Context | None = None
    presses: int | None = None
    gaps: str = ""
    side: Side | None = None
    controller: Controller | None = None
    controls: str | None = None
    note: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True)
class Said:
    """What an entry says, understood. `made_at` is None where it says none."""

    count: Count
    gaps: tuple[int, ...]
    made_at: datetime | None
    setup: Setup
    note: str


def read_entry(
    game: Game, entry: Entry, now: datetime, zone: tzinfo, before: Tally | None = None
) -> Said | LogRefusal:
    """The entry understood, or the first thing in it that cannot be. `before`: the tally that it changes."""
    if before is not None and not entry.result.strip():
        count: Count | None = Count(before.tries, before.landed, before.drops)
    else:
        count = read_count(entry.result)
    gaps = _gaps(entry.gaps)
    when, note = entry.when.strip(), one_line(entry.note)
    made_at = read_moment(when, now, zone) if when else None
    controls = scheme_named(game, entry.controls) if entry.controls else None
    if count is None:
        return _refused(LogRefusalCode.NO_COUNT, typed=clipped(entry.result))
    refusal = _not_a_count(count) or _not_gaps(entry.gaps, gaps, count.tries)
    if refusal is not None or gaps is None:
        return refusal or _refused(LogRefusalCode.NO_GAPS, typed=clipped(entry.gaps))
    if len(note) > NOTE_CHARACTERS:
        return _refused(LogRefusalCode.TOO_LONG, field="note", most=NOTE_CHARACTERS)
    if when and made_at is None:
        return _refused(LogRefusalCode.NO_TIME, typed=clipped(when))
    if made_at is not None and made_at > now + AHEAD:
        return _refused(LogRefusalCode.IN_FUTURE, typed=clipped(when))
    if made_at is not None and made_at < now - OLDEST:
        return _refused(LogRefusalCode.TOO_OLD, typed=clipped(when))
    stays = before is not None and entry.controls == before.setup.controls
    if entry.controls and controls is None and not stays:
        known = ", ".join(scheme.name for scheme in game.schemes)
        return _refused(LogRefusalCode.UNKNOWN_CONTROLS, typed=clipped(entry.controls), known=known)
    return Said(count, gaps, made_at, Setup(entry.side, entry.controller, controls), note)


def entry_of(tally: Tally, zone: tzinfo) -> Entry:
    """The tally as it could have been typed: what `read_entry` reads the same from, to the minute."""
    return Entry(
        typed_as(tally.subject),
        write_count(Count(tally.tries, tally.landed, tally.drops)),
        tally.context,
        tally.presses,
        ", ".join(map(str, tally.gap_frames)),
        tally.setup.side,
        tally.setup.controller,
        tally.setup.controls,
        tally.note,
        tally.made_at.astimezone(zone).strftime("%Y-%m-%d %H:%M"),
    )


def over(before: Setup, given: Setup) -> Setup:
    """The setup with what is given in place of what was before."""
    return Setup(
        given.side or before.side, given.controller or before.controller, given.controls or before.controls
    )


def _not_a_count(count: Count) -> LogRefusal | None:
    """Why these numbers cannot be."""
    tries, landed, drops = count.tries, count.landed, count.drops.total
    if not 1 <= tries <= MOST_TRIES:
        return _refused(LogRefusalCode.TRIES_RANGE, tries=tries, most=MOST_TRIES)
    if landed + drops > tries:
        return _refused(LogRefusalCode.MORE_THAN_TRIES, landed=landed, drops=drops, tries=tries)
    return None


def _not_gaps(typed: str, gaps: Sequence[int] | None, tries: int) -> LogRefusal | None:
    """Why these gaps cannot be those of so many tries."""
    if len(typed) > GAPS_CHARACTERS:
        return _refused(LogRefusalCode.TOO_LONG, field="gaps", most=GAPS_CHARACTERS)
    for gap in gaps or ():
        if not 1 <= gap <= LONGEST_GAP_FRAMES:
            return _refused(LogRefusalCode.GAP_RANGE, gap=gap, most=LONGEST_GAP_FRAMES)
    if gaps is not None and len(gaps) > min(tries, MOST_GAPS):
        return _refused(LogRefusalCode.MORE_GAPS, gaps=len(gaps), tries=min(tries, MOST_GAPS))
    return None


def _gaps(typed: str) -> tuple[int, ...] | None:
    """Frame numbers as they are read off an input history: "24, 21f 25"; None where something is none."""
    if len(typed) > GAPS_CHARACTERS:
        return None
    parts = [part for part in _BETWEEN_GAPS.split(fold(typed).chars) if part]
    found = [_GAP.fullmatch(part) for part in parts]
    return None if None in found else tuple(int(match[1]) for match in found if match)


def scheme_named(game: Game, typed: str) -> str | None:
    """The control scheme of this name or alias, in any case."""
    key = name_key(fold(typed).chars)
    for scheme in game.schemes:
        if key in {name_key(fold(called).chars) for called in (scheme.name, *scheme.aliases)}:
            return scheme.name
    return None


def _refused(code: LogRefusalCode, **facts: Value) -> LogRefusal:
    return LogRefusal(code, Facts(**facts))
