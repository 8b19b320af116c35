"""The loader of game files: what it derives and converts, and that it names every mistake."""

from __future__ import annotations

import copy
import csv
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.gamefile import GameFileError, Problem, Table, load, table_names
from core.gamefile.schema import COLUMNS, GameSection, keys_of
from core.model import (
    Button,
    ContactKind,
    Effect,
    Game,
    HitLevel,
    Means,
    Move,
    MoveKind,
    Order,
    Outcome,
    Range,
    Stance,
)

DATA = Path(__file__).parents[1] / "data"
TEXTS = {path.name: path.read_text("utf-8") for path in sorted((DATA / "games" / "tinwhistle").iterdir())}
INLINE = {"game.toml": (DATA / "games" / "tinwhistle_inline.toml").read_text("utf-8")}
CASES: list[dict[str, Any]] = tomllib.loads((DATA / "broken_games.toml").read_text("utf-8"))["case"]


def table(text: str) -> Table:
    delimiter = ";" if ";" in text.split("\n", 1)[0] else ","
    rows = [tuple(row) for row in csv.reader(text.splitlines(), delimiter=delimiter)]
    return Table(rows[0], tuple(rows[1:]))


def loaded(texts: dict[str, str]) -> Game:
    tables = {name: table(text) for name, text in texts.items() if name != "game.toml"}
    return load(tomllib.loads(texts["game.toml"]), tables)


def rules_of(**changes: Any) -> dict[str, Any]:
    """A small game with one character, whose moves are `moves`."""
    moves = changes.pop("moves", [{"input": "5A", "name": "tap"}])
    return {
        "name": "Small",
        "version": "1",
        "fps": 60,
        "strengths": ["light"],
        "buttons": {"A": {"strength": "light"}, "B": {}},
        "hitstop": {"light": 10, "special": 12},
        "character": [{"name": "One", "move": moves}],
        **changes,
    }


def move_of(*, game: dict[str, Any] | None = None, **cells: Any) -> Move:
    """The move that these cells of a game's only row make."""
    changes = {"moves": [{"input": "5A", "name": "tap", **cells}], **(game or {})}
    return load(rules_of(**changes), {}).characters[0].moves[0]


def problems_of(rules: dict[str, Any], tables: dict[str, Table] | None = None) -> tuple[Problem, ...]:
    with pytest.raises(GameFileError) as raised:
        load(rules, tables or {})
    return raised.value.problems


# What a sound file gives


def test_tables_beside_the_file_and_moves_inside_it_give_the_same_game() -> None:
    assert loaded(TEXTS) == loaded(INLINE)


def test_everything_at_the_top_of_the_file_reaches_the_game() -> None:
    game = loaded(TEXTS)
    assert (game.name, game.version, game.fps, game.distance_unit) == ("Tinwhistle", "0.3", 60, "paces")
    assert (game.link_buffer_frames, game.cancel_buffer_frames, game.cancel_window_frames) == (3, 6, 2)
    assert (game.keeps_newest_press, game.directions_used_up) == (False, True)
    assert game.hitstun_decay_frames == (0, 1, 2)
    assert game.buttons[0] == Button("LA", "arm", "light")
    assert [(state.name, state.aliases, state.bonus_frames) for state in game.hit_states] == [
        ("counter hit", ("counter", "CH"), 2)
    ]
    assert game.scaling is not None
    assert game.scaling.floors_percent == ((MoveKind.SUPER, 40),)
    assert [(motion.forms, motion.charge_frames) for motion in game.motions] == [
        (("236", "26"), None),
        (("46",), 40),
    ]
    assert game.juggle is not None
    assert (game.juggle.limit, game.juggle.downed_hits) == (3, 1)
    assert game.characters[0].jump is not None
    assert game.characters[0].jump.total_frames == 45


def test_rules_keep_their_limits_and_name_moves_by_their_inputs() -> None:
    cancel, chain = loaded(TEXTS).rules
    assert (cancel.means, cancel.first_frame, cancel.last_frame) == (Means.CANCEL, 1, None)
    assert cancel.contact == {ContactKind.HIT, ContactKind.BLOCK}
    assert (chain.means, chain.first_frame, chain.last_frame) == (Means.CHAIN, 2, 6)
    assert (chain.order, chain.per_route, chain.not_after) == (Order.NOT_FALLING, 2, {Means.CANCEL})
    assert chain.into.moves == {"5LA", "5HA"}, "the file calls the first one jab"
    assert [rule.name for rule in loaded(TEXTS).characters[0].rules] == ["own cancel"]


def test_a_cancel_without_a_last_frame_leaves_it_to_the_game_s_cancel_window() -> None:
    rule = {"name": "c", "from": {}, "into": {}, "contact": ["hit"]}
    game = load(rules_of(cancel=[rule], buffers={"cancel_window_frames": 4}), {})
    assert (game.rules[0].last_frame, game.cancel_window_frames) == (None, 4)
    own = load(rules_of(cancel=[{**rule, "last_frame": 9}]), {})
    assert (own.rules[0].last_frame, own.cancel_window_frames) == (9, None)


@pytest.mark.parametrize(
    ("written", "stance", "strength"),
    [
        ("5A", Stance.STANDING, "light"),
        ("2A", Stance.CROUCHING, "light"),
        ("3A", Stance.CROUCHING, "light"),
        ("6A", Stance.STANDING, "light"),
        ("j.2A", Stance.AIRBORNE, "light"),
        ("22A", Stance.STANDING, "light"),
        ("A+B", Stance.STANDING, None),
        ("B", Stance.STANDING, None),
    ],
)
def test_stance_and_strength_follow_from_the_input(
    written: str, stance: Stance, strength: str | None
) -> None:
    motions = {"motion": [{"name": "twice", "forms": ["22"]}]} if written == "22A" else {}
    move = move_of(game=motions, input=written)
    assert (move.stance, move.strength) == (stance, strength)


def test_a_given_stance_strength_and_hit_level_win_over_derived_ones() -> None:
    move = move_of(input="2B", stance="airborne", strength="light", hit_level="low")
    assert (move.stance, move.strength, move.hit_level) == (Stance.AIRBORNE, "light", HitLevel.LOW)
    assert move_of(kind="throw").hit_level is HitLevel.THROW
    assert move_of().hit_level is HitLevel.HIGH


def test_buttons_together_have_a_strength_only_where_it_is_the_same() -> None:
    light, heavy = {"strength": "light"}, {"strength": "heavy"}
    buttons = {"A": light, "B": heavy, "C": light}
    game = {"strengths": ["light", "heavy"], "buttons": buttons}
    assert move_of(game=game, input="A+B").strength is None
    assert move_of(game=game, input="A+C").strength == "light"


def test_letters_stand_for_as_many_buttons_as_their_group_has() -> None:
    punches = {"buttons": {name: {"group": "punch", "strength": "light"} for name in ("L", "H")}}
    assert move_of(game=punches, input="5PP").strength is None
    for written in ("5PPP", "5K"):
        moves = [{"input": written, "name": "tap"}]
        (problem,) = problems_of(rules_of(moves=moves, **punches))
        assert written in problem.wrong


def test_two_spellings_of_one_input_are_taken_for_the_same() -> None:
    for first, second in (("5A", "a"), ("A+B", "5BA"), ("j.A", "jA"), ("5[A]", "[a]")):
        moves = [{"input": first, "name": "tap"}, {"input": second, "name": "other tap"}]
        (problem,) = problems_of(rules_of(moves=moves))
        assert problem.wrong == f'"{second}" is taken by 1st entry of One ({first})'
    apart = [{"input": "5A", "name": "tap"}, {"input": "5[A]", "name": "held tap"}]
    assert len(load(rules_of(moves=apart), {}).characters[0].moves) == 2


def test_a_button_may_begin_as_an_airborne_input_does() -> None:
    jab = {"buttons": {"J": {"strength": "light"}}}
    for written, stance in (("J", Stance.STANDING), ("2J", Stance.CROUCHING), ("j.J", Stance.AIRBORNE)):
        move = move_of(game=jab, input=written)
        assert (move.stance, move.strength) == (stance, "light")


@pytest.mark.parametrize("written", ["5A", "J", "j.QQ", "236K+LP", "5[X]", "66"])
def test_inputs_are_not_judged_by_buttons_that_cannot_be_read(written: str) -> None:
    moves = [{"input": written, "name": "tap", "kind": "movement" if written == "66" else "normal"}]
    motions = [{"name": "wave", "forms": ["236"]}]
    (problem,) = problems_of(rules_of(moves=moves, motion=motions, buttons=[]))
    assert problem.table == "[buttons]"


def test_numbers_that_the_file_leaves_out_stay_unknown() -> None:
    move = move_of()
    assert (move.startup_frames, move.recovery_frames, move.total_frames, move.hits) == (None, None, None, ())
    assert (move.on_hit, move.on_block, move.reach, move.freeze) == (None, None, None, None)
    half_known = move_of(active=3, on_hit=4, startup="?", damage="")
    assert half_known.hits[0].hitstun_frames is None, "the recovery is not known"
    assert (half_known.startup_frames, half_known.hits[0].damage) == (None, None)
    assert load(rules_of(), {}).link_buffer_frames is None


def test_spans_with_gaps_become_hits() -> None:
    hits = move_of(active="2(6)3(0)1").hits
    assert [(hit.gap_frames, hit.active_frames) for hit in hits] == [(0, 2), (6, 3), (0, 1)]


def test_only_the_last_hit_is_cancellable_as_far_as_a_silent_file_tells() -> None:
    def cancellable(**cells: Any) -> list[bool | None]:
        return [hit.cancellable for hit in move_of(active="2(6)3", **cells).hits]

    assert cancellable() == [None, True]
    assert cancellable(cancellable_hits=1) == [True, False]
    assert cancellable(cancellable_hits="none") == [False, False]
    assert cancellable(cancellable_hits="1; 2") == [True, True]


def test_hitstop_comes_from_the_move_else_its_strength_else_its_kind() -> None:
    def hitstop(**cells: Any) -> list[tuple[int | None, int | None]]:
        hits = move_of(active="1(1)1", **cells).hits
        return [(hit.attacker_hitstop_frames, hit.defender_hitstop_frames) for hit in hits]

    assert hitstop() == [(10, 10)] * 2
    assert hitstop(kind="special") == [(10, 10)] * 2
    assert hitstop(kind="special", input="5B") == [(12, 12)] * 2
    assert hitstop(input="5B") == [(None, None)] * 2
    assert hitstop(hitstop="7") == [(7, 7)] * 2
    assert hitstop(hitstop="7; 0/9") == [(7, 7), (0, 9)]
    assert hitstop(projectile="yes") == [(0, 10)] * 2


def test_a_projectile_freezes_its_owner_by_what_the_file_says() -> None:
    hit = move_of(game={"hitstop": {"light": 10, "projectile_attacker": 3}}, projectile=True).hits[0]
    assert (hit.active_frames, hit.attacker_hitstop_frames, hit.defender_hitstop_frames) == (1, 3, 10)
    assert move_of(projectile="no", active=2).projectile is None


# Derived numbers, worked by hand from
# stun = advantage + (A_last - 1) + R - the sum over hits of (defender's - attacker's hitstop).


@pytest.mark.parametrize(
    ("cells", "hitstun", "blockstun"),
    [
        # 5 + (3 - 1) + 8 = 15 and 1 + 2 + 8 = 11
        ({"active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, 15, 11),
        # only the last span counts: 3 + (3 - 1) + 16 = 21 and -4 + 2 + 16 = 14
        ({"active": "2(6)3", "recovery": 16, "on_hit": "+3", "on_block": "-4"}, 21, 14),
        # a projectile stops the defender alone: 6 + 0 + 30 - 10 = 26 and -2 + 30 - 10 = 18
        ({"projectile": "yes", "recovery": 30, "on_hit": 6, "on_block": -2}, 26, 18),
        # both hits' hitstop counts: 2 + (3 - 1) + 20 - (4 + 6) = 14 and -3 + 2 + 20 - 10 = 9
        ({"active": "2(6)3", "recovery": 20, "hitstop": "2/6; 1/7", "on_hit": 2, "on_block": -3}, 14, 9),
        # by height, airborne, knockdown: nothing follows for the hit
        ({"active": 3, "recovery": 8, "on_hit": "2..8", "on_block": "0..5"}, None, None),
        ({"input": "j.A", "active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, None, None),
        ({"active": 3, "recovery": 8, "on_hit": "KD 38", "on_block": 0}, None, 10),
        # a launch holds for its frames in the air
        ({"active": 3, "recovery": 8, "on_hit": "launch 45"}, 45, None),
        # without hitstop in the file nothing is known of the difference
        ({"input": "5B", "active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, None, None),
    ],
)
def test_stun_of_the_last_hit_follows_from_the_advantage(
    cells: dict[str, Any], hitstun: int | None, blockstun: int | None
) -> None:
    last = move_of(**cells).hits[-1]
    assert (last.hitstun_frames, last.blockstun_frames) == (hitstun, blockstun)


def test_an_advantage_left_out_follows_from_the_stun_of_the_last_hit() -> None:
    move = move_of(active="2(6)3", recovery=16, hitstun="14; 21", blockstun="11; 14")
    assert move.on_hit == Outcome(Effect.STAND, Range(3, 3))
    assert move.on_block == Range(-4, -4)
    assert [hit.hitstun_frames for hit in move.hits] == [14, 21]
    assert move_of(active=3, hitstun=14).on_hit is None, "the recovery is not known"


def test_an_airborne_moves_stun_may_be_given_for_its_cancels() -> None:
    move = move_of(input="j.A", active=3, recovery=2, on_hit="2..8", hitstun=20)
    assert move.hits[0].hitstun_frames == 20
    assert move.on_hit == Outcome(Effect.STAND, Range(2, 8))


def test_a_total_gives_a_missing_recovery() -> None:
    assert move_of(startup=5, active=3, total=19).recovery_frames == 12
    assert move_of(startup=5, active="1(2)3", recovery=9, total=19).recovery_frames == 9
    assert move_of(input="66", kind="movement", total=18).total_frames == 18


def test_outcomes_are_read_in_each_form() -> None:
    states = {"hit_state": [{"name": "counter hit"}]}
    move = move_of(game=states, on_hit="KD 30..38", on_air_hit="launch", on_counter_hit="−2")
    assert move.on_hit == Outcome(Effect.KNOCKDOWN, Range(30, 38))
    assert move.on_air_hit == Outcome(Effect.LAUNCH)
    assert move.outcomes == (("counter hit", Outcome(Effect.STAND, Range(-2, -2))),)


# Other ways of counting


def test_startup_that_counts_frames_before_active_becomes_the_first_active_frame() -> None:
    counts = {"startup_counts": "frames before active"}
    cells = {"startup": 4, "cancelled_startup": 2, "active": 3, "recovery": 8, "total": 15}
    move = move_of(game=counts, **cells)
    assert (move.startup_frames, move.cancelled_startup_frames, move.total_frames) == (5, 3, 15)
    assert move_of(game=counts, startup=0).startup_frames == 1
    kept = move_of(**{**cells, "total": 14})
    assert (kept.startup_frames, kept.cancelled_startup_frames, kept.total_frames) == (4, 2, 14)


def test_advantages_that_leave_hitstop_out_become_those_seen_in_play() -> None:
    counts = {"advantage_counts": "hitstop left out", "hit_state": [{"name": "crush"}]}
    cells = {"active": "2(6)3", "recovery": 20, "hitstop": "2/6; 1/7", "on_hit": 2, "on_block": "-3..1"}
    more = {"on_air_hit": "KD 20", "on_crush": "launch 30"}
    move = move_of(game=counts, **cells, **more)
    # the defender is stopped 4 + 6 = 10 frames longer
    assert move.on_hit == Outcome(Effect.STAND, Range(12, 12))
    assert move.on_block == Range(7, 11)
    assert move.on_air_hit == Outcome(Effect.KNOCKDOWN, Range(30, 30))
    assert move.outcomes == (("crush", Outcome(Effect.LAUNCH, air_frames=30)),)
    # stun is 2 + (3 - 1) + 20 = 24 either way of counting
    assert move.hits[-1].hitstun_frames == 24
    assert move_of(game=counts, active=3, on_hit=2).on_hit == Outcome(Effect.STAND, Range(2, 2))


def test_an_advantage_that_leaves_unknown_hitstop_out_is_a_mistake() -> None:
    moves = [{"input": "5B", "name": "tap", "active": 3, "on_hit": 2}]
    (problem,) = problems_of(rules_of(moves=moves, advantage_counts="hitstop left out"))
    assert (problem.field, problem.right) == ("on_hit", "give active, and hitstop here or in [hitstop]")


# Control schemes


def test_a_scheme_row_holds_the_whole_move_with_its_own_numbers() -> None:
    gust = next(move for move in loaded(TEXTS).characters[0].moves if move.input == "236HA")
    short = gust.under("short")
    assert (short.input, short.name, short.startup_frames) == ("236SB", "gust", 18)
    assert (short.kind, short.strength, short.recovery_frames) == (MoveKind.SPECIAL, "heavy", 30)
    assert short.hits == gust.hits
    assert gust.under("full") is gust
    assert gust.startup_frames == 14


def test_what_follows_from_a_changed_number_follows_anew_under_the_scheme() -> None:
    schemes = {"scheme": [{"name": "short"}]}
    base = {"input": "5A", "name": "tap", "startup": 4, "active": 3, "total": 14, "on_hit": 5, "hitstun": 15}
    change = {"scheme": "short", "same_as": "5A", "startup": 6, "on_hit": 2}
    move = load(rules_of(moves=[base, change], **schemes), {}).characters[0].moves[0]
    short = move.under("short")
    assert (move.total_frames, move.hits[0].hitstun_frames) == (14, 15)
    # the recovery stays 8: 6 - 1 + 3 + 8 = 16, and 2 + (3 - 1) + 8 = 12
    assert (short.total_frames, short.hits[0].hitstun_frames) == (16, 12)


# Mistakes


def problems_or_none(rules: dict[str, Any], tables: dict[str, Table] | None = None) -> tuple[Problem, ...]:
    """Every problem, none for a sound game. Any other exception gets through."""
    try:
        load(rules, tables or {})
    except GameFileError as error:
        assert error.problems  # noqa: PT017 - what is raised is optional here
        return error.problems
    return ()


@pytest.mark.parametrize("case", CASES, ids=[case["what"] for case in CASES])
def test_each_mistake_gets_its_line_and_brings_up_no_other(case: dict[str, Any]) -> None:
    texts = dict(INLINE if case["file"] == "inline" else TEXTS)
    file = "game.toml" if case["file"] == "inline" else case["file"]
    if "find" in case:
        assert case["find"] in texts[file]
        texts[file] = texts[file].replace(case["find"], case["put"], 1)
    else:
        texts[file] = case["put"]
    with pytest.raises(GameFileError) as raised:
        loaded(texts)
    assert [str(problem) for problem in raised.value.problems] == case["lines"]
    assert str(raised.value) == "\n".join(case["lines"])


def test_ten_mistakes_all_come_at_once() -> None:
    texts = dict(TEXTS)
    chosen = [
        "no frames a second",
        "a negative buffer",
        "hitstop of an unknown thing",
        "a gauge that starts above its maximum",
        "a chain that ends before it begins",
        "a rule for an unknown move",
        "a form that is no row of directions",
        "active frames that cannot be read",
        "an unknown kind",
        "a row with too few cells",
        "a cost above the maximum",
    ]
    cases = [case for case in CASES if case["what"] in chosen]
    for case in cases:
        texts[case["file"]] = texts[case["file"]].replace(case["find"], case["put"], 1)
    with pytest.raises(GameFileError) as raised:
        loaded(texts)
    found = {str(problem) for problem in raised.value.problems}
    expected = {line for case in cases for line in case["lines"]}
    # A row that is left out takes what rules may name with it: that line comes once the row is there.
    (hidden,) = (case["lines"][0] for case in cases if case["what"] == "a rule for an unknown move")
    assert len(cases) == len(chosen)
    assert found == expected - {hidden}


def test_problems_hold_their_place_in_parts() -> None:
    (problem,) = problems_of(rules_of(moves=[{"input": "5A", "name": "tap", "startup": "x"}]))
    assert problem == Problem(
        file="game.toml",
        table="[[character.move]]",
        row="1st entry of One (5A)",
        field="startup",
        wrong='"x" is not a number of frames',
        right="write a whole number such as 5",
    )


def test_no_words_of_the_validator_reach_the_reader() -> None:
    jargon = ("input should be", "valid", "pydantic", "type=", "extra", "forbidden", "instance", "nonetype")
    for case in CASES:
        for line in case["lines"]:
            assert not [word for word in jargon if word in line.lower()], line


def test_a_character_has_at_most_400_moves_and_a_game_50_characters() -> None:
    moves = [{"input": "5A", "name": "tap"}] + [
        {"input": f"{direction}{digit}", "name": f"step {direction}{digit}{more}", "kind": "movement"}
        for more in range(5)
        for direction in range(1, 10)
        for digit in range(1, 10)
    ]
    assert any(
        "keep at most 400 a character" in str(problem) for problem in problems_of(rules_of(moves=moves))
    )
    cast = [{"name": f"C{number}", "move": [{"input": "5A", "name": "tap"}]} for number in range(51)]
    (problem,) = problems_of(rules_of(character=cast))
    assert (problem.wrong, problem.right) == ("has 51 characters", "keep at most 50")
    assert len(load(rules_of(character=cast[:50]), {}).characters) == 50


@pytest.mark.parametrize("character", [None, [], "One", [3], {"name": "One"}])
def test_characters_of_another_shape_are_a_mistake(character: Any) -> None:
    assert any(problem.table == "[[character]]" for problem in problems_of(rules_of(character=character)))


def test_an_order_of_strengths_needs_strengths() -> None:
    rule = {"name": "c", "from": {}, "into": {}, "contact": ["hit"], "order": "rising"}
    bare = {"strengths": [], "buttons": {"A": {}}, "hitstop": {}, "cancel": [rule]}
    (problem,) = problems_of(rules_of(**bare))
    assert (problem.field, problem.wrong) == ("order", "needs strengths, and the game has none")
    assert load(rules_of(cancel=[rule]), {}).rules[0].order is Order.RISING


def test_blank_lines_count_as_rows_of_the_sheet() -> None:
    rows = Table(("input", "name", "startup"), (("5A", "tap", "4"), (), ("", "", ""), ("5B", "nod", "x")))
    (problem,) = problems_of(rules_of(character=[{"name": "One", "moves": "one.csv"}]), {"one.csv": rows})
    assert (problem.file, problem.row) == ("one.csv", "row 5 (5B)")


def test_table_names_are_those_that_characters_name_each_once() -> None:
    cast = [{"moves": "a.csv"}, {"moves": " b.csv"}, {"moves": "a.csv"}, {"moves": 3}, "x"]
    assert table_names({"character": cast}) == ("a.csv", "b.csv")
    assert table_names({"character": 4}) == table_names({}) == ()


# Any data at all

ATOMS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["5A", "light", "2(6)3", "launch 4", "hit", "?", "one.csv", "a; b", "x 5"])
)
KEYS = st.sampled_from([*keys_of(GameSection), *COLUMNS, "on_crush", "from", "into"]) | st.text(max_size=5)
JSON = st.recursive(
    ATOMS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=5), max_leaves=12
)
TABLES = st.lists(st.lists(st.sampled_from(COLUMNS) | st.text(max_size=6), max_size=6).map(tuple), max_size=4)


@given(st.dictionaries(KEYS, JSON, max_size=8))
def test_no_data_raises_anything_but_a_game_file_error(rules: dict[str, Any]) -> None:
    lines = [str(problem) for problem in problems_or_none(rules)]
    assert lines
    assert all(line.isprintable() for line in lines)


@given(st.data())
def test_no_change_to_a_sound_file_raises_anything_but_a_game_file_error(data: st.DataObject) -> None:
    rules: Any = copy.deepcopy(tomllib.loads(INLINE["game.toml"]))
    for _ in range(data.draw(st.integers(1, 3))):
        place = rules
        while True:
            keys = list(place) if isinstance(place, dict) else list(range(len(place)))
            if not keys:
                break
            key = data.draw(st.sampled_from(keys))
            if isinstance(place[key], dict | list) and data.draw(st.booleans()):
                place = place[key]
                continue
            place[key] = data.draw(JSON)
            break
    assert all(str(problem).isprintable() for problem in problems_or_none(rules))


@given(TABLES)
def test_no_table_raises_anything_but_a_game_file_error(rows: list[tuple[str, ...]]) -> None:
    found = Table(rows[0] if rows else (), tuple(rows[1:]))
    problems = problems_or_none(rules_of(character=[{"name": "One", "moves": "one.csv"}]), {"one.csv": found})
    assert all(problem.file for problem in problems)
