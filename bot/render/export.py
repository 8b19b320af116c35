"""Everything that is kept of a member as files: JSON for programs, CSV for spreadsheets."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import asdict, fields
from datetime import UTC, datetime

from bot.results.audit import Entry
from bot.results.coaching import KeptCoachData, KeptHomework
from bot.results.games import KeptGameData
from bot.results.tally import (
    Drops,
    Everything,
    JoinedDrill,
    KeptConversion,
    KeptTally,
    SavedRoute,
    Setup,
    SharedRoute,
)
from core.learning.homework import CleanReps, MatchAttempts, RateOver, Target

FORMAT_VERSION = 1
"""Raised whenever a key is renamed, taken away or changes its meaning."""
RUNS = ("=", "+", "-", "@", "\t", "\r")
"""What a cell begins with that a spreadsheet would run as a formula."""

Json = dict[str, object]


def as_json(everything: Everything, now: datetime) -> bytes:
    """All of it as UTF-8 JSON: moments in UTC as ISO 8601 writes them, the same keys in the same order.

    `now`: the moment of the export, aware.
    """
    settings = everything.settings
    whole: Json = {
        "format_version": FORMAT_VERSION,
        "exported_at": _iso(now),
        "settings": {
            "character": settings.character,
            "goal": settings.goal,
            "setup": _setup(settings.setup),
            "zone": settings.zone,
            "quiet": str(settings.quiet) if settings.quiet else None,
            "listed": settings.listed,
            "muted": settings.muted,
        },
        "tallies": [_tally(kept, undone) for kept, undone in _all(everything)],
        "routes": [_route(route) for route in everything.routes],
        "shared_routes": [_shared(route) for route in everything.shared],
        "conversions": [_conversion(kept) for kept in everything.conversions],
        "drills": [_drill(joined) for joined in everything.drills],
        **_coaching(everything.coaching or KeptCoachData()),
        **_games(everything.games or KeptGameData()),
        "deeds": [_deed(entry) for entry in everything.deeds],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2).encode()


def as_csv(everything: Everything) -> bytes:
    """The tallies as a table of RFC 4180, in UTF-8 with a byte order mark, by which spreadsheets know it.

    Texts a member wrote that a spreadsheet would run as formulas have a `'` before them.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for kept, undone in _all(everything):
        row = _flat(_tally(kept, undone))
        table.writerow([_cell(row[name], plain=name not in WRITTEN) for name in COLUMNS])
    return out.getvalue().encode("utf-8-sig")


COLUMNS = (
    "id",
    "made_at",
    "game",
    "game_version",
    "character",
    "kind",
    "what",
    "context",
    "tries",
    "landed",
    *(each.name for each in fields(Drops)),
    "presses",
    "side",
    "controller",
    "controls",
    "gap_frames",
    "note",
    "undone",
)
WRITTEN = ("what", "controls", "note")
"""The columns with texts that a member wrote."""


def _all(everything: Everything) -> Iterator[tuple[KeptTally, bool]]:
    """Every tally, and whether it was taken out of the log."""
    yield from ((kept, False) for kept in everything.tallies)
    yield from ((kept, True) for kept in everything.undone)


def _tally(kept: KeptTally, undone: bool) -> Json:
    tally, subject = kept.tally, kept.tally.subject
    return {
        "id": kept.id,
        "made_at": _iso(tally.made_at),
        "game": subject.game,
        "game_version": tally.game_version,
        "character": subject.character,
        "kind": subject.kind.value,
        "what": subject.what,
        "context": tally.context.value,
        "tries": tally.tries,
        "landed": tally.landed,
        "drops": asdict(tally.drops),
        "presses": tally.presses,
        "setup": _setup(tally.setup),
        "gap_frames": list(tally.gap_frames),
        "note": tally.note,
        "undone": undone,
    }


def _setup(setup: Setup) -> Json:
    side, controller = setup.side, setup.controller
    return {
        "side": side and side.value,
        "controller": controller and controller.value,
        "controls": setup.controls,
    }


def _route(route: SavedRoute) -> Json:
    return {**_named(route), "saved_at": _iso(route.saved_at)}


def _shared(route: SharedRoute) -> Json:
    return {**_named(route), "shared_at": _iso(route.shared_at)}


def _named(route: SavedRoute | SharedRoute) -> Json:
    """What both kinds of routes have."""
    return {
        "id": route.id,
        "game": route.game,
        "game_version": route.game_version,
        "character": route.character,
        "name": route.name,
        "notation": route.notation,
        "tags": list(route.tags),
    }


def _conversion(kept: KeptConversion) -> Json:
    """`route_id`: of which of the routes."""
    return {
        "id": kept.id,
        "game": kept.game,
        "character": kept.character,
        "starter": kept.starter,
        "situation": kept.situation,
        "route_id": kept.route.id,
        "step": kept.step,
        "due_at": _iso(kept.due_at) if kept.due_at else None,
    }


def _drill(joined: JoinedDrill) -> Json:
    """`tally_id`: of which of the tallies."""
    return {
        "id": joined.id,
        "game": joined.subject.game,
        "character": joined.subject.character,
        "kind": joined.subject.kind.value,
        "what": joined.subject.what,
        "opens_at": _iso(joined.opens_at),
        "closes_at": _iso(joined.closes_at),
        "joined_at": _iso(joined.joined_at),
        "left": joined.left,
        "tallies": [asdict(note) for note in joined.notes],
    }


def _coaching(kept: KeptCoachData) -> Json:
    """What is kept of them as a student and as a coach. Members by their ids; what students wrote when they
    handed in is theirs, and in their export."""
    comments: dict[int, list[Json]] = {}
    for number, said in kept.comments:
        told: Json = {"at_seconds": said.at_seconds, "text": said.text, "made_at": _iso(said.made_at)}
        comments.setdefault(number, []).append(told)
    return {
        "coachings": [
            {
                "id": one.id,
                "coach": one.coach.member_id,
                "student": one.student.member_id,
                "asked_at": _iso(one.asked_at),
                "accepted_at": _iso(one.accepted_at) if one.accepted_at else None,
            }
            for one in kept.coachings
        ],
        "homework": [
            {
                **_homework(one),
                "coach": one.coach and one.coach.member_id,
                "hand_in_note": one.hand_in_note,
                "clip": one.clip,
                "easier": one.easier,
                "comments": comments.get(one.id, []),
            }
            for one in kept.homework
        ],
        "homework_for_students": [
            {**_homework(one), "student": one.student.member_id} for one in kept.set_for_others
        ],
        "notes_on_students": [
            {"id": note.id, "student": of.member_id, "text": note.text, "made_at": _iso(note.made_at)}
            for of, note in kept.notes
        ],
    }


def _homework(kept: KeptHomework) -> Json:
    return {
        "id": kept.id,
        "game": kept.subject.game,
        "character": kept.subject.character,
        "kind": kept.subject.kind.value,
        "what": kept.subject.what,
        "target": _target(kept.target),
        "note": kept.note,
        "set_at": _iso(kept.set_at),
        "due_at": _iso(kept.due_at),
        "stage": kept.stage.value,
        "handed_in_at": _iso(kept.handed_in_at) if kept.handed_in_at else None,
        "reviewed_at": _iso(kept.reviewed_at) if kept.reviewed_at else None,
        "review_note": kept.review_note,
    }


def _games(kept: KeptGameData) -> Json:
    """What they reported, and the versions of games that they made. Files that they sent and have not
    confirmed are named: they have them."""
    return {
        "reports": [
            {
                "id": one.id,
                "game": one.game,
                "game_version": one.version,
                "character": one.character,
                "input": one.input,
                "column": one.column,
                "found": one.found,
                "right": one.right,
                "note": one.note,
                "made_at": _iso(one.made_at),
                "stage": one.stage.value,
            }
            for one in kept.reports
        ],
        "versions_made": [
            {
                "id": one.id,
                "game": one.game,
                "version": one.version,
                "made_at": _iso(one.made_at),
                "reason": one.reason,
            }
            for one in kept.made
        ],
        "files_sent": list(kept.files),
    }


def _deed(entry: Entry) -> Json:
    return {
        "id": entry.id,
        "made_at": _iso(entry.made_at),
        "deed": entry.deed.value,
        "what": entry.what,
    }


def _target(target: Target) -> Json:
    match target:
        case CleanReps(reps):
            return {"clean_reps": reps}
        case RateOver(rate, tries):
            return {"rate": rate, "tries": tries}
        case MatchAttempts(tries):
            return {"tries_in_matches": tries}


def _flat(row: Json) -> Json:
    """The values of nested objects beside the others."""
    flat: Json = {}
    for name, value in row.items():
        flat |= value if isinstance(value, dict) else {name: value}
    return flat


def _cell(value: object, plain: bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    text = "" if value is None else str(value)
    return text if plain or not text.startswith(RUNS) else f"'{text}"


def _iso(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat()
