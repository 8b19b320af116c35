"""An export holds everything, as it was logged, and no spreadsheet runs what a member wrote."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from datetime import UTC, datetime, time, timedelta, timezone

import pytest

from bot.render.export import COLUMNS, as_csv, as_json
from bot.results.tally import (
    Controller,
    DrillNote,
    Drops,
    Everything,
    JoinedDrill,
    KeptConversion,
    KeptTally,
    MemberSettings,
    SavedRoute,
    Setup,
    SharedRoute,
    Side,
    Subject,
    SubjectKind,
    Tally,
)
from core.learning.quiet import Quiet
from core.learning.tally import Context

NOW = datetime(2026, 1, 20, 20, tzinfo=timezone(timedelta(hours=1)))
SETUP = Setup(Side.RIGHT, Controller.STICK, "full")
FULL = Tally(
    Subject("Saltglass", "Odrun Vale", SubjectKind.LINK, "5MP, 2MP"),
    NOW,
    20,
    9,
    Drops(1, 2, 1, 1, 1, 1, 1, 1),
    Context.RANKED,
    2,
    SETUP,
    (24, 21, 25),
    'cold hands, “late” and "quoted"\nénd',
    "1.2",
)
BARE = Tally(Subject("Saltglass", "", SubjectKind.DRILL, "dash blocks"), NOW, 10, 0)
ROUTE = SavedRoute(
    3, "Saltglass", "1.2", "Odrun Vale", "bread", "5MP, 2MP xx 236LP", NOW, ("corner", "punish")
)
SHARED = SharedRoute(9, "Saltglass", "1.1", "Odrun Vale", "bread", "5MP, 2MP xx 236LP", ("corner",), 100, NOW)
ASKED = KeptConversion(4, "Saltglass", "Odrun Vale", "5MP", "on hit", ROUTE, 2, NOW)
NOTES = (DrillNote(1, 5, True, "no"),)
JOINED = JoinedDrill(6, FULL.subject, NOW, NOW + timedelta(days=7), NOW, True, NOTES)
NEVER_ASKED = KeptConversion(5, "Saltglass", "Odrun Vale", "2MK", "on hit", ROUTE)
ALL = Everything(
    (KeptTally(1, 7, FULL), KeptTally(2, 8, BARE)),
    (ROUTE,),
    MemberSettings("Odrun Vale", 0.85, SETUP, "Europe/Berlin", Quiet(time(21, 30), time(7)), listed=True),
    (KeptTally(5, 7, FULL),),
    (SHARED,),
    (ASKED, NEVER_ASKED),
    (JOINED,),
)


def rows(everything: Everything) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(everything).decode("utf-8-sig"), newline="")))


def test_json_gives_back_every_value() -> None:
    read = json.loads(as_json(ALL, NOW).decode("utf-8"))
    assert read["format_version"] == 1
    assert datetime.fromisoformat(read["exported_at"]) == NOW
    setup = {"side": "right", "controller": "stick", "controls": "full"}
    wishes = {"zone": "Europe/Berlin", "quiet": "21:30-07:00", "listed": True, "muted": False}
    assert read["settings"] == {"character": "Odrun Vale", "goal": 0.85, "setup": setup, **wishes}
    assert [one["id"] for one in read["tallies"]] == [1, 2, 5]
    assert [one["undone"] for one in read["tallies"]] == [False, False, True]
    for told, kept in zip(read["tallies"], (*ALL.tallies, *ALL.undone), strict=True):
        side, controller = told["setup"]["side"], told["setup"]["controller"]
        again = Tally(
            Subject(told["game"], told["character"], SubjectKind(told["kind"]), told["what"]),
            datetime.fromisoformat(told["made_at"]),
            told["tries"],
            told["landed"],
            Drops(**told["drops"]),
            Context(told["context"]),
            told["presses"],
            Setup(side and Side(side), controller and Controller(controller), told["setup"]["controls"]),
            tuple(told["gap_frames"]),
            told["note"],
            told["game_version"],
        )
        assert again == kept.tally
    (route,) = read["routes"]
    route["saved_at"] = datetime.fromisoformat(route["saved_at"])
    assert SavedRoute(**{**route, "tags": tuple(route["tags"])}) == ROUTE
    (shared,) = read["shared_routes"]
    shared |= {"shared_at": datetime.fromisoformat(shared["shared_at"]), "tags": tuple(shared["tags"])}
    assert SharedRoute(**shared, shared_by=100) == SHARED
    for told, conversion in zip(read["conversions"], (ASKED, NEVER_ASKED), strict=True):
        assert told.pop("route_id") == ROUTE.id
        due_at = told.pop("due_at")
        due_at = due_at and datetime.fromisoformat(due_at)
        assert KeptConversion(**told, route=ROUTE, due_at=due_at) == conversion
    (told,) = read["drills"]
    assert [DrillNote(**note) for note in told["tallies"]] == list(JOINED.notes)
    assert (told["id"], told["what"], told["left"]) == (6, FULL.subject.what, True)
    moments = [datetime.fromisoformat(told[name]) for name in ("opens_at", "closes_at", "joined_at")]
    assert moments == [JOINED.opens_at, JOINED.closes_at, JOINED.joined_at]


def test_moments_are_written_in_utc() -> None:
    assert json.loads(as_json(ALL, NOW))["tallies"][0]["made_at"] == "2026-01-20T19:00:00+00:00"


def test_csv_gives_back_every_value_of_every_tally() -> None:
    assert as_csv(ALL).startswith(b"\xef\xbb\xbfid,made_at,")
    read = rows(ALL)
    assert [row["id"] for row in read] == ["1", "2", "5"]
    assert [row["undone"] for row in read] == ["no", "no", "yes"]
    for row, kept in zip(read, (*ALL.tallies, *ALL.undone), strict=True):
        tally = kept.tally
        assert tuple(row) == COLUMNS
        assert datetime.fromisoformat(row["made_at"]) == tally.made_at
        assert {name: int(row[name]) for name in asdict(tally.drops)} == asdict(tally.drops)
        assert tuple(int(gap) for gap in row["gap_frames"].split(", ") if gap) == tally.gap_frames
        side, controller = tally.setup.side, tally.setup.controller
        told = {name: row[name] for name in COLUMNS if name not in ("id", "made_at", "gap_frames", "undone")}
        assert told == {
            "game": tally.subject.game,
            "game_version": tally.game_version,
            "character": tally.subject.character,
            "kind": tally.subject.kind.value,
            "what": tally.subject.what,
            "context": tally.context.value,
            "tries": str(tally.tries),
            "landed": str(tally.landed),
            **{name: str(count) for name, count in asdict(tally.drops).items()},
            "presses": str(tally.presses),
            "side": side.value if side else "",
            "controller": controller.value if controller else "",
            "controls": tally.setup.controls or "",
            "note": tally.note,
        }


def test_csv_ends_each_row_as_rfc_4180_says() -> None:
    lines = as_csv(Everything((KeptTally(2, 8, BARE),))).split(b"\r\n")
    assert len(lines) == 3
    assert lines[-1] == b""


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
@pytest.mark.parametrize("column", ["note", "what", "controls"])
def test_a_text_that_a_spreadsheet_would_run_is_disarmed(start: str, column: str) -> None:
    written = f"{start}HYPERLINK(1)"
    tally = Tally(
        Subject("Saltglass", "", SubjectKind.DRILL, written if column == "what" else "blocks"),
        NOW,
        10,
        1,
        setup=Setup(controls=written if column == "controls" else None),
        note=written if column == "note" else "a=b",
    )
    (row,) = rows(Everything((KeptTally(1, 1, tally),)))
    assert row[column] == f"'{written}"
    assert column == "note" or row["note"] == "a=b"
    told = json.loads(as_json(Everything((KeptTally(1, 1, tally),)), NOW))["tallies"][0]
    assert written in (told["note"], told["what"], told["setup"]["controls"])


def test_nothing_kept_is_an_export_of_nothing() -> None:
    assert rows(Everything()) == []
    assert json.loads(as_json(Everything(), NOW))["tallies"] == []
    assert datetime.fromisoformat(json.loads(as_json(Everything(), NOW))["exported_at"]).tzinfo == UTC
