"""The two demo games keep to their ranges, agree with themselves, and answer what was worked by hand."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator

import pytest
from demo import BLOCK, COUNTER, GAMES, HIT, OFF_BALANCE, WHIFF, demo, move, owner

from bot.gamefiles import GAMES as FOLDER
from core.blocks import safe
from core.cancels import cancel
from core.knockdown import safe_jump
from core.links import link
from core.model import Contact, Effect, Game, Means, Move, MoveKind, Stance
from core.notation import format_route, parse_route
from core.routes import check
from core.timing import Window
from core.verdict import Answer


def moves(game: Game) -> Iterator[Move]:
    """Every move of the game, and as other control schemes have it."""
    for character in game.characters:
        for one in character.moves:
            yield one
            yield from (other for _, other in one.by_scheme)


def rows(name: str) -> Iterator[dict[str, str]]:
    """Every row of the game's tables as a spreadsheet shows it."""
    for table in sorted((FOLDER / name).glob("*.csv")):
        with table.open(encoding="utf-8", newline="") as text:
            yield from ({**row, "table": table.stem} for row in csv.DictReader(text))


# --- ranges ---------------------------------------------------------------------------------------


def is_normal(strength: str | None) -> Callable[[Move], bool]:
    return lambda one: one.kind is MoveKind.NORMAL and one.strength == strength


def is_kind(*kinds: MoveKind) -> Callable[[Move], bool]:
    return lambda one: one.kind in kinds


def attacks(one: Move) -> bool:
    return one.kind is not MoveKind.MOVEMENT


def startups(one: Move) -> list[float]:
    return [n for n in (one.startup_frames, one.cancelled_startup_frames) if n is not None]


def on_block(one: Move) -> list[float]:
    return [one.on_block.low, one.on_block.high] if one.on_block else []


def on_hit_standing(one: Move) -> list[float]:
    given = one.on_hit
    return (
        [given.advantage.low, given.advantage.high]
        if given and given.effect is Effect.STAND and given.advantage
        else []
    )


def hitstops(one: Move) -> list[float]:
    frames = [hit.defender_hitstop_frames for hit in one.hits]
    if one.projectile is None:
        frames += [hit.attacker_hitstop_frames for hit in one.hits]
    return [-1 if n is None else n for n in frames]


def reaches(one: Move) -> list[float]:
    return [] if one.reach is None else [one.reach]


def pushbacks(one: Move) -> list[float]:
    return [n for n in (one.pushback_on_hit, one.pushback_on_block) if n is not None]


SPECIALS = (MoveKind.SPECIAL, MoveKind.ENHANCED)
RANGES = [
    ("startup of lights", is_normal("light"), startups, 4, 6),
    ("startup of mediums", is_normal("medium"), startups, 6, 9),
    ("startup of heavies", is_normal("heavy"), startups, 9, 16),
    ("startup of specials", is_kind(*SPECIALS), startups, 10, 25),
    ("startup of supers", is_kind(MoveKind.SUPER), startups, 5, 14),
    ("normals on hit", is_kind(MoveKind.NORMAL), on_hit_standing, 1, 8),
    ("normals on block", is_kind(MoveKind.NORMAL), on_block, -12, 3),
    ("specials and supers on block", is_kind(*SPECIALS, MoveKind.SUPER), on_block, -25, 3),
    ("hitstop", attacks, hitstops, 8, 14),
    ("reach", attacks, reaches, 1.0, 4.0),
    ("pushback", attacks, pushbacks, 0.2, 0.8),
]


@pytest.mark.parametrize("name", GAMES)
@pytest.mark.parametrize(("what", "chosen", "numbers", "low", "high"), RANGES, ids=[row[0] for row in RANGES])
def test_numbers_stay_in_their_range(
    name: str,
    what: str,
    chosen: Callable[[Move], bool],
    numbers: Callable[[Move], list[float]],
    low: float,
    high: float,
) -> None:
    found = [(one.input, one.name, n) for one in moves(demo(name)) if chosen(one) for n in numbers(one)]
    assert found, what
    assert [entry for entry in found if not low <= entry[2] <= high] == []


@pytest.mark.parametrize(("name", "buttons"), [("saltglass", 6), ("kitewind", 4)])
def test_each_game_has_four_characters_of_at_least_25_moves(name: str, buttons: int) -> None:
    game = demo(name)
    assert len(game.buttons) == buttons
    assert len(game.characters) == 4
    assert [one.name for one in game.characters if len(one.moves) < 25 or one.jump is None] == []


# What keeps the two games apart: what is asked, of Saltglass, of Kitewind.
RULES: list[tuple[str, Callable[[Game], object], object, object]] = [
    ("link buffer", lambda game: game.link_buffer_frames, 3, 0),
    ("a newer press replaces a held one", lambda game: game.keeps_newest_press, True, False),
    ("hitstun decays", lambda game: any(game.hitstun_decay_frames), False, True),
    ("directions are used up", lambda game: game.directions_used_up, False, True),
    ("motions without their diagonals", lambda game: "26" in game.motions[0].forms, True, False),
    ("gauges", lambda game: [gauge.name for gauge in game.gauges], ["glow", "salt"], ["wind"]),
    (
        "super levels",
        lambda game: {one.level for one in moves(game) if one.kind is MoveKind.SUPER},
        {1, 2},
        {1},
    ),
    ("control schemes", lambda game: [scheme.name for scheme in game.schemes], ["one-button"], []),
    (
        "tags of moves that cancel into specials",
        lambda game: {rule.source.tags for rule in game.rules if rule.into.kinds & set(SPECIALS)},
        {frozenset({"special-cancellable"})},
        {frozenset({"special-cancellable"})},
    ),
]


@pytest.mark.parametrize(("what", "ask", "saltglass", "kitewind"), RULES, ids=[row[0] for row in RULES])
def test_the_two_games_have_rules_of_their_own(
    what: str, ask: Callable[[Game], object], saltglass: object, kitewind: object
) -> None:
    assert (ask(demo("saltglass")), ask(demo("kitewind"))) == (saltglass, kitewind), what


def test_a_simpler_input_comes_out_later_and_hurts_less() -> None:
    found = 0
    for character in demo("saltglass").characters:
        for full in character.moves:
            simple = full.under("one-button")
            if simple is not full:
                found += 1
                assert (simple.startup_frames or 0) > (full.startup_frames or 99), full.name
                assert _damage(simple) < _damage(full), full.name
                assert simple.input != full.input
    assert found >= 4


def _damage(one: Move) -> int:
    return sum(hit.damage or 0 for hit in one.hits)


# --- the numbers agree with each other --------------------------------------------------------------


def spans_of(active: str) -> tuple[list[int], int]:
    """Lengths of the active spans, and frames from the first to the last active one: 2(6)3 is [2, 3], 11."""
    numbers = [int(n) for n in re.findall(r"\d+", active or "1")]
    return numbers[::2], sum(numbers)


@pytest.mark.parametrize("name", GAMES)
def test_the_totals_in_the_tables_agree_with_startup_active_and_recovery(name: str) -> None:
    found = 0
    for row in rows(name):
        loaded = move(owner(demo(name), row["table"]), row.get("same_as") or row["input"])
        loaded = loaded.under(row.get("scheme") or None)
        assert loaded.total_frames == int(row["total"]), row["name"]
        if row["startup"] and row["recovery"]:
            _, active = spans_of(row["active"])
            assert int(row["startup"]) - 1 + active + int(row["recovery"]) == int(row["total"]), row["name"]
            found += 1
    assert found > 100


@pytest.mark.parametrize(("column", "stun_column"), [("on_hit", "hitstun"), ("on_block", "blockstun")])
@pytest.mark.parametrize("name", GAMES)
def test_stun_agrees_with_advantage_and_recovery(name: str, column: str, stun_column: str) -> None:
    """After hitstop, stun = advantage + (A_last - 1) + R, less what hitstop holds the defender longer."""
    game, found = demo(name), 0
    for row in rows(name):
        loaded = move(owner(game, row["table"]), row["input"]) if not row.get("scheme") else None
        if loaded is None or loaded.stance is Stance.AIRBORNE or not re.fullmatch(r"[+-]?\d+", row[column]):
            continue
        spans, _ = spans_of(row["active"])
        held = sum((h.defender_hitstop_frames or 0) - (h.attacker_hitstop_frames or 0) for h in loaded.hits)
        expected = int(row[column]) + spans[-1] - 1 + int(row["recovery"]) - held
        last = loaded.hits[-1]
        assert (last.hitstun_frames if column == "on_hit" else last.blockstun_frames) == expected, row["name"]
        written = row[stun_column].split(";")[-1].strip()
        assert written in ("", "?", str(expected)), row["name"]
        assert expected > 0
        found += 1
    assert found > 50


@pytest.mark.parametrize("name", GAMES)
def test_projectiles_hold_the_defender_alone(name: str) -> None:
    thrown = [one for one in moves(demo(name)) if one.projectile is not None]
    assert len(thrown) >= 4
    for one in thrown:
        assert {hit.attacker_hitstop_frames for hit in one.hits} == {0}
        assert one.projectile is not None
        assert one.projectile.speed


# --- worked by hand from the tables ---------------------------------------------------------------------

# W = advantage - startup + 1, and how many presses are accepted: W + 3 in Saltglass, W in Kitewind.
LINKS = [
    ("saltglass", "odrun", "5MP", "5LP", HIT, 4, 7),  # 7 - 4 + 1
    ("saltglass", "odrun", "5MP", "2LK", HIT, 3, 6),  # 7 - 5 + 1
    ("saltglass", "odrun", "5MP", "5MP", HIT, 2, 5),  # 7 - 6 + 1
    ("saltglass", "odrun", "5MP", "2MK", HIT, 1, 4),  # 7 - 7 + 1
    ("saltglass", "odrun", "5MP", "5MK", HIT, 0, None),  # 7 - 8 + 1
    ("saltglass", "odrun", "5MP", "5MK", COUNTER, 2, 5),  # 7 + 2 - 8 + 1
    ("saltglass", "odrun", "2MP", "5MP", HIT, 0, None),  # 5 - 6 + 1
    ("saltglass", "odrun", "2MP", "5MP", Contact(active_frame=3), 2, 5),  # 5 + 2 - 6 + 1
    ("saltglass", "odrun", "5MK", "5MP", HIT, -1, None),  # 4 - 6 + 1
    ("saltglass", "odrun", "5MK", "5MP", OFF_BALANCE, 2, 5),  # 4 + 3 - 6 + 1
    ("kitewind", "ossily", "5X", "5L", HIT, 4, 4),  # 7 - 4 + 1
    ("kitewind", "ossily", "4M", "5L", HIT, 3, 3),  # 6 - 4 + 1
    ("kitewind", "ossily", "5X", "5M", HIT, 2, 2),  # 7 - 6 + 1
    ("kitewind", "ossily", "5L", "5L", HIT, 1, 1),  # 4 - 4 + 1
    ("kitewind", "ossily", "5L", "5L", Contact(hits_before=3), 0, None),  # 4 - 1 of decay - 4 + 1
    ("kitewind", "ossily", "2L", "5L", HIT, 0, None),  # 3 - 4 + 1
    ("kitewind", "ossily", "2L", "5L", COUNTER, 3, 3),  # 3 + 3 - 4 + 1
    ("kitewind", "marrable", "2X", "j.L", HIT, 12, 12),  # (50 - 4 - 26) - (4 of jump + 5) + 1
]


@pytest.mark.parametrize(("name", "who", "first", "second", "contact", "frames", "presses"), LINKS)
def test_links_worked_by_hand(
    name: str, who: str, first: str, second: str, contact: Contact, frames: int, presses: int | None
) -> None:
    character = owner(demo(name), who)
    verdict = link(demo(name), character, move(character, first), move(character, second), contact)
    assert verdict.answer is (Answer.YES if frames > 0 else Answer.NO)
    assert verdict.evidence["window_frames"] == frames
    assert verdict.evidence.get("accepted_presses_frames") == presses


AFTER_CHAIN = Contact(came_by=Means.CHAIN)
CANCELS = [
    # first, second, contact, legal, combos: startup against hitstun (on block against blockstun)
    ("saltglass", "odrun", "5MP", "236LP", HIT, True, True),  # 14 against 7 + 3 + 11 = 21
    ("saltglass", "odrun", "5LP", "214LK", HIT, True, True),  # 14 against 5 + 2 + 7 = 14
    ("saltglass", "odrun", "5LP", "214HK", HIT, True, False),  # 16 once cancelled into, against 14
    ("saltglass", "odrun", "5LP", "214HK", COUNTER, True, True),  # 16 against 14 + 2
    ("saltglass", "odrun", "5MP", "236LP", WHIFF, False, False),  # no rule on whiff
    ("saltglass", "odrun", "5MK", "236LP", HIT, False, False),  # not special-cancellable
    ("saltglass", "odrun", "5LP", "2LP", HIT, True, True),  # light chain
    ("saltglass", "odrun", "2LP", "236LP", AFTER_CHAIN, False, False),  # not after a chain
    ("saltglass", "odrun", "5MP", "236236HP", HIT, True, True),  # first tier from a normal
    ("saltglass", "odrun", "214KK", "236236HP", HIT, False, False),  # not from an enhanced special
    ("saltglass", "odrun", "214KK", "214214HK", HIT, True, True),  # second tier from one
    ("saltglass", "odrun", "214LK", "214214HK", HIT, False, False),  # nor from a plain special
    ("kitewind", "marrable", "5L", "5M", HIT, True, True),  # 7 + 1 against 3 + 2 + 9 = 14
    ("kitewind", "marrable", "5M", "5L", HIT, False, False),  # a chain must rise
    ("kitewind", "marrable", "5M", "236L", HIT, False, False),  # only heavies
    ("kitewind", "marrable", "5H", "236L", BLOCK, True, True),  # 14 against -3 + 3 + 19 = 19
    ("kitewind", "marrable", "j.L", "j.M", Contact(juggle_count=1), True, True),  # 7 against 20 in the air
    ("kitewind", "marrable", "j.M", "j.H", Contact(juggle_count=2), True, True),  # 9 against 24, count 4 of 5
    ("kitewind", "marrable", "j.M", "j.H", Contact(juggle_count=4), True, False),  # count 6 of 5
    ("kitewind", "ossily", "5X", "214L", WHIFF, True, False),  # her own rule
    ("kitewind", "ossily", "5X", "214L", HIT, False, False),  # and only on whiff
    ("kitewind", "marrable", "5X", "214L", WHIFF, False, False),  # nobody else's
]


@pytest.mark.parametrize(("name", "who", "first", "second", "contact", "legal", "combos"), CANCELS)
def test_cancels_worked_by_hand(
    name: str, who: str, first: str, second: str, contact: Contact, legal: bool, combos: bool
) -> None:
    character = owner(demo(name), who)
    answer = cancel(demo(name), character, move(character, first), move(character, second), contact)
    assert (answer.legal.answer, answer.combos.answer) == tuple(
        Answer.YES if expected else Answer.NO for expected in (legal, combos)
    )


def test_ossily_skips_out_of_a_fold_that_hit() -> None:
    """The second hit of 5H stuns for 24 frames: 4 of 5L and 14 of the skip leave 6. The first stuns 15."""
    game = demo("kitewind")
    ossily = owner(game, "ossily")
    found = check(game, ossily, parse_route("5H > 66 > 5L", game, ossily))
    assert format_route(found.route) == "5H xx 66, 5L"
    skip, press = (step.window for step in found.steps[1:])
    assert isinstance(skip, Window)
    assert isinstance(press, Window)
    # 5H touches on its 9th and 16th frames and has 12 of hitstop each time; the cancel window is 1 frame long
    assert (skip.start_gap, skip.last_gap) == (16 + 2 * 12, 16 + 2 * 12 + 1)
    # no buffer for links in this game
    assert press == Window(14, 14 + 6, 14)
    twice = check(game, ossily, parse_route("5H > 66 > 5H > 66 > 5L", game, ossily))
    assert twice.failing == 4


def test_unknown_numbers_are_left_out_on_purpose() -> None:
    salt, kite = demo("saltglass"), demo("kitewind")
    garrow, ninnet, corbet = owner(salt, "garrow"), owner(salt, "ninnet"), owner(kite, "corbet")
    assert safe(salt, move(garrow, "6HK"), BLOCK).answer is Answer.UNKNOWN
    assert safe(kite, move(corbet, "6H"), BLOCK).answer is Answer.UNKNOWN
    first, second = move(ninnet, "5HK").hits
    assert (first.hitstun_frames, second.hitstun_frames) == (None, 27)  # 5 + 2 + 20


def test_every_step_says_how_far_it_goes() -> None:
    for name in GAMES:
        steps = {move.input: [] for move in moves(demo(name)) if not attacks(move)}
        for one in moves(demo(name)):
            if not attacks(one):
                assert one.travel is not None, one.name
                steps[one.input].append(one.travel)
            else:
                assert one.travel is None
        assert all(1.0 <= travel <= 2.0 for travel in steps.pop("66"))
        assert all(-1.5 <= travel <= -1.0 for travel in steps.pop("44"))
        assert not steps


def test_a_sweep_of_40_frames_is_a_safe_jump_against_reversals_of_6_and_more() -> None:
    """A jump of 4 + 38 + 3 frames ends on frame 45; the reversal touches on frame 40 + 6."""
    game = demo("saltglass")
    odrun = owner(game, "odrun")
    sweep, jumping = move(odrun, "2HK"), move(odrun, "j.HK")
    answers = {frames: safe_jump(game, odrun, sweep, jumping, frames, HIT).answer for frames in (5, 6)}
    assert answers == {5: Answer.NO, 6: Answer.YES}
