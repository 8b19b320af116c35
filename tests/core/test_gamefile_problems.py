"""The loader of game files names every mistake, and whatever the data raises nothing else."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from loading import CASES, INLINE, TEXTS, loaded, problems_of, rules_of

from core.gamefile import GameFileError, Problem, Table, load, table_names
from core.gamefile.schema import COLUMNS, GameSection, keys_of
from core.model import Order


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
