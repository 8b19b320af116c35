"""A patch of a demo game made by hand, against what was worked out by hand to follow from it."""

from __future__ import annotations

import csv
import io
import tomllib
from typing import Any

import pytest
from loading import DATA, loaded

from bot.gamefiles import GAMES
from core.model import ContactKind, Game
from core.notation import format_route
from core.patches import (
    CancelChange,
    Consequences,
    LinkChange,
    LinkEffect,
    NumberChange,
    Patch,
    RouteEffect,
    SavedText,
    apply,
    compare,
    consequences,
    number_changes,
    route_changes,
    rule_changes,
)

TIDE: dict[str, Any] = tomllib.loads((DATA / "patch_tide.toml").read_text("utf-8"))
WHO = TIDE["character"]


def tide() -> tuple[Game, Game]:
    """Saltglass, and Saltglass with the patch written into its files."""
    texts = {path.name: path.read_text("utf-8") for path in sorted((GAMES / "saltglass").iterdir())}
    rows = list(csv.DictReader(io.StringIO(texts["odrun.csv"])))
    moved = dict(TIDE["renamed"])
    for written, column, old, new in TIDE["cells"]:
        (row,) = [row for row in rows if row["input"] == written]
        assert row[column] == old
        row[column] = new
        row["total"] = ""  # it follows from the others
    for row in rows:
        row["input"] = moved.get(row["input"], row["input"])
    kept = [row for row in rows if row["input"] not in TIDE["removed"]]
    assert len(kept) == len(rows) - len(TIDE["removed"])
    out = io.StringIO()
    table = csv.DictWriter(out, list(rows[0]))
    table.writeheader()
    table.writerows(kept)
    rules = texts["game.toml"].replace('version = "1.2"', f'version = "{TIDE["version"]}"')
    return loaded(texts), loaded(texts | {"odrun.csv": out.getvalue(), "game.toml": rules})


@pytest.fixture(scope="module")
def games() -> tuple[Game, Game]:
    return tide()


@pytest.fixture(scope="module")
def patch(games: tuple[Game, Game]) -> Patch:
    return compare(*games)


@pytest.fixture(scope="module")
def follows(games: tuple[Game, Game], patch: Patch) -> Consequences:
    return consequences(*games, patch)


def test_the_patch_holds_what_was_changed_and_nothing_else(games: tuple[Game, Game], patch: Patch) -> None:
    old, new = games
    assert apply(patch, old) == new
    assert [(change.field, change.new) for change in patch.changes] == [("version", "1.3")]
    (odrun,) = patch.characters
    assert odrun.name == WHO
    assert [move.input for move in odrun.removed] == TIDE["removed"]
    assert [[one.old.input, one.new.input] for one in odrun.renamed] == TIDE["renamed"]
    assert (patch.added, patch.removed, patch.order) == ((), (), None)
    assert (odrun.added, odrun.changes, odrun.order) == ((), (), None)
    inputs = [move.input for move in old.characters[0].moves]
    cells = sorted(TIDE["cells"], key=lambda cell: inputs.index(cell[0]))
    assert number_changes(patch) == tuple(NumberChange(WHO, *cell) for cell in cells)
    assert rule_changes(patch) == ()


def test_its_links_are_those_worked_out_by_hand(follows: Consequences) -> None:
    expected = {
        LinkChange(WHO, first, second, state or None, old, new)
        for first, second, state, old, new in TIDE["links"]
    }
    assert set(follows.links) == expected
    assert len(follows.links) == len(expected) == len(TIDE["links"])


def test_its_cancels_are_those_worked_out_by_hand(follows: Consequences) -> None:
    told = TIDE["cancels"]
    expected = {
        CancelChange(WHO, first, "214LK", ContactKind.HIT, "special cancel", False, True, still_legal=True)
        for first in told["no_longer_combo"]
    }
    for rule in ("special cancel", "first tier cancel", "second tier cancel"):
        for into in told[rule]:
            for kind in (ContactKind.HIT, ContactKind.BLOCK):
                lost = CancelChange(WHO, told["from_lost"], into, kind, rule, False, True)
                combos = into not in told[f"too_slow_on_{kind}"]
                gained = CancelChange(WHO, told["from_gained"], into, kind, rule, True, combos)
                expected |= {lost, gained}
    assert set(follows.cancels) == expected
    assert len(follows.cancels) == len(expected)


def test_what_is_lost_comes_first(games: tuple[Game, Game], follows: Consequences) -> None:
    order = list(LinkEffect)
    inputs = [move.input for move in games[1].characters[0].moves]
    keys = [
        (order.index(one.kind), inputs.index(one.first), inputs.index(one.second)) for one in follows.links
    ]
    assert keys == sorted(keys)
    assert [one.gained for one in follows.cancels] == sorted(one.gained for one in follows.cancels)


@pytest.mark.parametrize("case", TIDE["route"], ids=lambda case: case["text"])
def test_its_routes_come_out_as_worked_out_by_hand(
    games: tuple[Game, Game], patch: Patch, case: dict[str, Any]
) -> None:
    found = dict(route_changes(*games, patch, [SavedText(7, WHO, case["text"])]))
    if case["effect"] in ("same", "unread"):
        assert found == {}
        return
    change = found[7]
    assert change.effect is RouteEffect(case["effect"])
    assert change.failing == case.get("failing")
    assert change.failing_move == case.get("move")
    reasons = {reason.code for reason in change.reasons}
    assert {case["reason"]} <= reasons if "reason" in case else not reasons
    if "repaired" in case:
        assert change.repaired == case["repaired"]
    if change.repair is not None:
        assert change.repaired == format_route(change.repair.route)
    if "frames" in case:
        assert [change.old_frames, change.new_frames] == case["frames"]
    if "damage" in case:
        assert [change.old_damage, change.new_damage] == case["damage"]
